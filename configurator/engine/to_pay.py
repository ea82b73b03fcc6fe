"""What is to be paid, as the optimiser sees it: exact where a sum decides it, else bounded.

Where adjustments are on the whole package and one tax rate or none comes on top, what is to be paid
never falls when the sum of the lines after package deals rises. The sum then stands for it, and how
large it may be is found by halving with the same functions that price a selection.

Otherwise the lines are taken by class: those with the same group, tax rate and adjustment of their
own. Deals, adjustments, rounding and tax become whole numbers of the currency's smallest unit with
every value that rounding and sharing out may give them. What is to be paid is then one of the
values that the model allows; whoever asks prices what the model proposes, and tells it.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterable
from decimal import Decimal
from fractions import Fraction
from itertools import chain
from math import ceil, floor, prod
from typing import Any, TypeAlias

import attrs

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Catalogue, Choice, Option
from configurator.catalogue.parts import FixedPrice, OnApplication
from configurator.catalogue.shop import Rounding
from configurator.engine.optimum import Optimum
from configurator.money import Money, exponent
from configurator.pricing.changes import adjustment_amount, group_of, rounding_amount
from configurator.pricing.price import price
from configurator.pricing.tax import TaxedAmount, tax_total
from configurator.selection.picks import Adjustment
from configurator.selection.resolved import Resolved

LineClass: TypeAlias = tuple[str, str, str]
"""Group, ``choice=option`` and tax rate of lines; empty where it makes no difference."""

_MEASURES = range(-(10**12), 10**12)
"""Every measure that counts, in smallest units."""

_MOST_PRODUCT = 1 << 61
"""The largest product that is put to CP-SAT, whose whole numbers have 64 bits."""


class ToPay:
    """What is to be paid for the selection after changes of its picks.

    Attributes:
        lines: how many it has at most then; without, no change adds one.
        exact: the sum of the lines after deals decides it. A percentage of amounts that fell on
            no line is none, so that where one follows an amount some line has to be there.
    """

    def __init__(self, build: Resolved, lines: int | None = None) -> None:
        self.build, self.lines = build, lines
        tax, adjustments = build.catalogue.tax, build.selection.adjustments
        self.exact = (tax.included or (len(tax.rates) == 1 and tax.basis != "line")) and all(
            not (a.group or a.line or a.tax) for a in adjustments
        )
        if _percent_after_amount(adjustments):
            self.exact = self.exact and self._has_a_line()
        self.digits = exponent(build.catalogue.currency)
        taken = (Money(t.amount, build.catalogue.currency) for t in build.selection.trade_ins)
        self.trade_ins = Money.total((t.rounded() for t in taken), build.catalogue.currency)

    def _has_a_line(self) -> bool:
        """Whether a line with an amount is there, whatever else is picked."""
        if self.lines is not None and any(line.amount for line in price(self.build).lines):
            return True
        return any(
            choice.pick == "one" and all(map(_always_priced, choice.options))
            for choice in self.build.catalogue.choices
        )

    def measure(self, optimum: Optimum) -> Any:
        """What stands for it in the model: the sum, or what may be to pay; in smallest units."""
        if self.exact:
            return optimum.sum(optimum.price_terms())
        return _Bounded(self, optimum).to_pay()

    def most(self, enough: Callable[[Money], bool]) -> int | None:
        """The largest measure that is enough; None when hardly any is."""
        place = bisect_left(_MEASURES, True, key=lambda one: not enough(self._from(one)))
        return _MEASURES[place - 1] if place else None

    def least_alike(self, measure: int) -> int:
        """The smallest measure after which as much is to be paid."""
        to_pay = self._from(measure).amount
        return _MEASURES[bisect_left(_MEASURES, to_pay, key=lambda one: self._from(one).amount)]

    def units(self, money: Money) -> int:
        """Smallest units of an amount."""
        return int(money.amount.scaleb(self.digits))

    def _from(self, measure: int) -> Money:
        """What is to be paid where the measure is so much."""
        left = Money(Decimal(measure).scaleb(-self.digits), self.build.catalogue.currency)
        if not self.exact:
            return left
        for adjustment in self.build.selection.adjustments:
            left += adjustment_amount(adjustment, left)
        left += rounding_amount(self.build.catalogue.rounding, left)
        tax = self.build.catalogue.tax
        if tax.included:
            total = left.rounded()
        else:
            total = tax_total(tax, [TaxedAmount(left, tax.rates[0][0])], left.currency).total
        due = total - self.trade_ins
        return due + rounding_amount(self.build.catalogue.payable_rounding, due)


def _percent_after_amount(adjustments: Iterable[Adjustment]) -> bool:
    kinds = [a.percent is not None for a in adjustments]
    return kinds != sorted(kinds, reverse=True)


def _always_priced(option: Option) -> bool:
    """Whether its price is a plain amount on every day."""
    return bool(option.price) and all(
        isinstance(part, FixedPrice) and not (part.first or part.until) for part in option.price
    )


class _Bounded:
    """Variables for what is left of each class while deals, adjustments and rounding are entered.

    Attributes:
        left: what is left of each class, in smallest units.
        on_nothing: what fell on no line, by the rate that it is taxed at.
        most: more than any of these can be.
        shared: more than the lines that an amount is shared out over.
        entries: more than the amounts that are entered.
        nearly: what rounding may do to all of them.
        steady: no line can fall below zero, so that what is shared out is so in proportion.
    """

    def __init__(self, asked: ToPay, optimum: Optimum) -> None:
        self.asked, self.optimum, self.model = asked, optimum, optimum.model
        self.build, self.tax = asked.build, asked.build.catalogue.tax
        adjustments = self.build.selection.adjustments
        self.adjusted = {str(a.line) for a in adjustments if a.line}
        self.by_group = any(a.group for a in adjustments)
        several = len(self.tax.rates) > 1 and not self.tax.included
        self.by_rate = several or any(a.tax for a in adjustments)
        terms: dict[LineClass, list[tuple[int, int]]] = {}
        for key, some in optimum.line_terms():
            terms.setdefault(self._class(*key), []).extend(some)
        deals = list(optimum.deal_terms())
        lines = len(price(self.build).lines) if asked.lines is None else asked.lines
        self.shared, self.entries = lines + 1, len(deals) + len(adjustments) + 2
        self.nearly = self.shared * self.entries
        weights = chain(*terms.values(), *(some for _, some in deals))
        fixed = [a.amount.scaleb(asked.digits) for a in adjustments if a.amount is not None]
        percents = [a.percent for a in adjustments if a.percent is not None]
        most = 10**6 + 2 * sum(abs(weight) for weight, _ in weights) + ceil(sum(map(abs, fixed)))
        self.most = 2 * ceil(most * prod(1 + abs(percent) / 100 for percent in percents))
        self.steady = all(amount >= 0 for amount in fixed) and not any(
            optimum.search.price(choice, option, quantity).least < 0
            for choice in optimum.encoding.choices
            for option in choice.options
            for quantity, _ in enumerate(optimum.encoding.quantities[choice.id, option.id], 1)
        )
        self.left = {each: optimum.sum(some) for each, some in sorted(terms.items())}
        self.on_nothing: dict[str, Any] = {}
        for keys, some in deals:
            self._enter(optimum.sum(some), {self._class(*key) for key in keys})

    def _class(self, choice: str, option: str) -> LineClass:
        line, known = str(Pick(choice, option)), self.build.catalogue.by_id[choice]
        return (
            group_of(self.build.catalogue, known, known.by_id[option]) if self.by_group else "",
            line if line in self.adjusted else "",
            (known.by_id[option].tax or self.tax.rates[0][0]) if self.by_rate else "",
        )

    def to_pay(self) -> Any:
        """What may be to pay, in smallest units, once everything is entered."""
        catalogue = self.build.catalogue
        for adjustment in self.build.selection.adjustments:
            self._adjust(adjustment)
        if catalogue.rounding is not None:
            amount = self._to_round(self.package, catalogue.rounding)
            self._enter(amount, self.left, beside=ceil(self._step(catalogue.rounding)) + 1)
        total = self.package if self.tax.included else self.package + self._taxed()
        due = total - self.asked.units(self.asked.trade_ins)
        if catalogue.payable_rounding is None:
            return due
        return due + self._to_round(due, catalogue.payable_rounding)

    @property
    def package(self) -> Any:
        """Everything together."""
        return sum(self.left.values()) + sum(self.on_nothing.values())

    def _within(self, most: int) -> Any:
        return self.model.new_int_var(-most, most, "")

    def _not_negative(self, amount: Any) -> Any:
        """A variable for whether the amount is zero or more."""
        literal = self.model.new_bool_var("")
        self.model.add(amount >= 0).only_enforce_if(literal)
        self.model.add(amount < 0).only_enforce_if(~literal)
        return literal

    def _enter(
        self,
        amount: Any,
        over: Iterable[LineClass],
        percent: Fraction | None = None,
        beside: int = 0,
        rate: str = "",
    ) -> None:
        """Share the amount out over classes: no share has another sign than the amount has.

        Args:
            amount: what is entered.
            over: the classes.
            percent: the amount's part of the classes, of which each share then is the same part.
            beside: how much of it may fall on nothing, where none of their lines is there.
            rate: what it is taxed at then; empty for the usual.
        """
        nothing, shares = self._within(beside), {}
        rises = self._not_negative(amount)
        for each in sorted(over):
            shares[each] = self._within(self.most)
            if percent is not None and self.steady:
                self._near(shares[each], self.left[each], percent, self._rounded_shares(percent))
        for share in (nothing, *shares.values()):
            self.model.add(share >= -self.nearly).only_enforce_if(rises)
            self.model.add(share <= self.nearly).only_enforce_if(~rises)
        self.model.add(sum(shares.values()) + nothing == amount)
        for each, share in shares.items():
            self.left[each] += share
        rate = rate or self.tax.rates[0][0]
        self.on_nothing[rate] = self.on_nothing.get(rate, 0) + nothing

    def _rounded_shares(self, percent: Fraction) -> Fraction:
        """What rounding may do to shares in proportion, and credits of few cents that it left."""
        return Fraction(self.shared, 2) * (1 + 2 * abs(percent) * self.entries)

    def _near(self, share: Any, of: Any, ratio: Fraction, near: Fraction) -> None:
        """The share is the ratio of it, give or take so much."""
        top, bottom = ratio.numerator, ratio.denominator
        if self.most * max(abs(top), bottom) <= _MOST_PRODUCT:
            room = floor(near * bottom)
            self.model.add_linear_constraint(share * bottom - of * top, -room, room)

    def _adjust(self, adjustment: Adjustment) -> None:
        over = [
            each
            for each in self.left
            if (adjustment.line is None or adjustment.line.name == each[1])
            and adjustment.group in ("", each[0])
            and adjustment.tax in ("", each[2])
        ]
        if adjustment.percent is None:
            zero = Money.zero(self.build.catalogue.currency)
            units = self.asked.units(adjustment_amount(adjustment, zero))
            self._enter(units, over, beside=abs(units), rate=adjustment.tax)
            return
        percent, amount = Fraction(adjustment.percent) / 100, self._within(self.most)
        self._near(amount, sum(self.left[each] for each in over), percent, Fraction(1, 2))
        self._enter(amount, over, percent)

    def _step(self, rounding: Rounding) -> Fraction:
        """The round amount, in smallest units."""
        return Fraction(rounding.to.scaleb(self.asked.digits))

    def _to_round(self, whole: Any, rounding: Rounding) -> Any:
        """What makes a round amount of it."""
        step = self._step(rounding)
        amount = self._within(ceil(step) + 1)
        if step.denominator == 1:
            steps = self._within(self.most)
            self.model.add(whole + amount == int(step) * steps)
            if rounding.mode == "nearest":
                self.model.add_linear_constraint(2 * amount, -int(step), int(step))
            else:
                self.model.add_linear_constraint(amount, 1 - int(step), int(step) - 1)
                further = self.model.add(amount >= 0 if rounding.mode == "up" else amount <= 0)
                further.only_enforce_if(self._not_negative(whole))
        return amount

    def _taxed(self) -> Any:
        """Tax that comes on top, give or take what rounding may do to it."""
        percents = {name: Fraction(percent) for name, percent in self.tax.rates}
        usual = self.tax.rates[0][0]
        taxes = dict(self.on_nothing)
        for (_, _, rate), left in self.left.items():
            taxes[rate or usual] = taxes.get(rate or usual, 0) + left
        scale = prod(percent.denominator for percent in percents.values())
        exact = sum(int(percents[rate] * scale) * left for rate, left in taxes.items())
        near = Fraction(1) if self.tax.mode == "down" else Fraction(1, 2)
        if self.tax.basis == "category":
            near *= len(percents)
        if self.tax.basis == "line":
            decimals = self.tax.line_decimals
            coarse = 0 if decimals is None else self.asked.digits - decimals
            near += self.nearly * Fraction(10) ** coarse
        amount, room = self._within(self.most), floor(near * 100 * scale)
        self.model.add_linear_constraint(amount * 100 * scale - exact, -room, room)
        return amount


def with_named_prices(build: Resolved) -> Catalogue:
    """The catalogue with the prices that the selection names for what is priced on application."""
    named = {price.line: price.amount for price in build.selection.named_prices}

    def option(choice: Choice, known: Option) -> Option:
        line = Pick(choice.id, known.id)
        if line not in named:
            return known
        rest = [part for part in known.price if not isinstance(part, OnApplication)]
        return attrs.evolve(known, price=(*rest, FixedPrice(named[line])))

    def with_prices(choice: Choice) -> Choice:
        options = tuple(option(choice, known) for known in choice.options)
        return attrs.evolve(choice, options=options)

    if not named:
        return build.catalogue
    return attrs.evolve(
        build.catalogue,
        choices=tuple(map(with_prices, build.catalogue.choices)),
        add_ons=with_prices(build.catalogue.add_ons),
    )
