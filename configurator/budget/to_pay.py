"""What is to be paid, as the optimiser sees it: exact where a sum decides it, else bounded.

Where adjustments are on the whole package and one tax rate or none comes on top, what is to be paid
never falls when the sum of the lines after package deals rises. The sum then stands for it, and how
large it may be is found by halving with the same functions that price a selection.

Otherwise the lines are taken by class: those with the same group, tax rate and adjustment of their
own. Deals, adjustments, rounding and tax become whole numbers of the currency's smallest unit with
every value that rounding and sharing out may give them. What is to be paid is then one of the
values that the model allows; whoever asks prices what the model proposes, and asks on.
"""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from itertools import chain
from math import ceil, floor
from typing import Any, TypeAlias

from configurator.catalogue.fields import Pick
from configurator.engine.optimum import Optimum
from configurator.money import Money, exponent
from configurator.pricing.adjustments import adjustment_amount, group_of, rounding_amount
from configurator.pricing.tax import TaxedAmount, tax_total
from configurator.pricing.whole import price
from configurator.selection.picks import Adjustment, Selection
from configurator.selection.resolved import Resolved

Enough: TypeAlias = Callable[[Money], bool]
LineClass: TypeAlias = tuple[str, str, str]
"""Group, ``choice=option`` and tax rate of lines; empty where it makes no difference."""

_FAR_BELOW = -(10**12)
"""Less than any amount, in smallest units."""

_MOST_PRODUCT = 1 << 61
"""The largest product that is put to CP-SAT, whose whole numbers have 64 bits."""


class ToPay:
    """What is to be paid for the selection after changes that add no line.

    Attributes:
        exact: the sum of the lines after deals decides it.
    """

    def __init__(self, build: Resolved) -> None:
        self.build = build
        self.exact = _sum_decides(build)
        self.digits = exponent(build.catalogue.currency)

    def measure(self, optimum: Optimum) -> Any:
        """What stands for it in the model: the sum, or what may be to pay; in smallest units."""
        if self.exact:
            return optimum.sum(optimum.price_terms())
        return _Relaxed(self, optimum).to_pay()

    def measured(self, selection: Selection) -> int:
        """The same of a selection as it is priced."""
        priced = price(self.build.having(selection))
        if not self.exact:
            return self.units(priced.to_pay)
        listed = sum(self.units(line.amount) for line in priced.lines)
        return listed - sum(self.units(deal.saving) for deal in priced.deals)

    def most(self, enough: Enough) -> int | None:
        """The largest measure that is enough; None when hardly any is."""
        if not enough(self._from(_FAR_BELOW)):
            return None
        low, high = _FAR_BELOW, -_FAR_BELOW
        if enough(self._from(high)):
            return high
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if enough(self._from(middle)) else (low, middle)
        return low

    def least_alike(self, measure: int) -> int:
        """The smallest measure after which as much is to be paid."""
        same = self._from(measure)
        low, high = _FAR_BELOW, measure
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if self._from(middle) >= same else (middle, high)
        return high

    def units(self, money: Money | None) -> int:
        """Smallest units of an amount; none for an open one."""
        return 0 if money is None else int(money.amount.scaleb(self.digits))

    def _from(self, measure: int) -> Money:
        """What is to be paid where the measure is so much."""
        left = Money(Decimal(measure).scaleb(-self.digits), self.build.catalogue.currency)
        if not self.exact:
            return left
        for adjustment in self.build.selection.adjustments:
            left += adjustment_amount(adjustment, left)
        left += rounding_amount(self.build.catalogue, left)
        tax = self.build.catalogue.tax
        if tax.included:
            total = left.rounded()
        else:
            total = tax_total(tax, [TaxedAmount(left, tax.rates[0][0])], left.currency).total
        return total - self.trade_ins

    @property
    def trade_ins(self) -> Money:
        """What is taken in payment."""
        taken = (
            Money(t.amount, self.build.catalogue.currency).rounded()
            for t in self.build.selection.trade_ins
        )
        return Money.total(taken, self.build.catalogue.currency)


def _sum_decides(build: Resolved) -> bool:
    whole = all(not a.group and not a.line for a in build.selection.adjustments)
    falls = all(a.percent is None or a.percent >= -100 for a in build.selection.adjustments)
    tax = build.catalogue.tax
    return whole and falls and (tax.included or (len(tax.rates) == 1 and tax.basis != "line"))


_NO_LINE: LineClass = ("", "", "")
"""What falls on no line; it is taxed at the usual rate."""


class _Relaxed:
    """Variables for what is left of each class while deals, adjustments and rounding are entered.

    Attributes:
        left: what is left of each class, in smallest units.
        on_nothing: what fell on no line.
    """

    def __init__(self, asked: ToPay, optimum: Optimum) -> None:
        self.asked, self.optimum, self.model = asked, optimum, optimum.model
        self.build = asked.build
        self.lines = len(price(self.build).lines) + 1
        self.adjusted = {a.line for a in self.build.selection.adjustments if a.line}
        self.by_group = any(a.group for a in self.build.selection.adjustments)
        self.by_rate = (
            not self.build.catalogue.tax.included and len(self.build.catalogue.tax.rates) > 1
        )
        terms: dict[LineClass, list[tuple[int, int]]] = {}
        for key, some in optimum.line_terms():
            terms.setdefault(self._class(*key), []).extend(some)
        deals = list(optimum.deal_terms())
        weights = chain(*terms.values(), *(some for _, some in deals))
        self.most = 2 * sum(abs(weight) for weight, _ in weights) + 1
        fixed = (a.amount for a in self.build.selection.adjustments if a.amount is not None)
        self.most += sum(ceil(abs(amount).scaleb(asked.digits)) for amount in fixed)
        rises = (a.percent for a in self.build.selection.adjustments if a.percent is not None)
        for percent in rises:
            self.most = ceil(self.most * (1 + abs(percent) / 100))
        self.most = 2 * self.most + 10**6
        self.left = {each: optimum.sum(some) for each, some in sorted(terms.items())}
        self.on_nothing: Any = 0
        self.nearly = self.lines * (len(deals) + len(self.build.selection.adjustments) + 2)
        self.steady = self._is(optimum.least_line() >= 0)
        for keys, some in deals:
            self._deal({self._class(*key) for key in keys}, some)

    def _class(self, choice: str, option: str) -> LineClass:
        line = Pick(choice, option)
        known = self.build.catalogue.by_id[choice]
        usual = self.build.catalogue.tax.rates[0][0]
        return (
            group_of(self.build.catalogue, known, known.by_id[option]) if self.by_group else "",
            line.name if line in self.adjusted else "",
            (known.by_id[option].tax or usual) if self.by_rate else "",
        )

    def to_pay(self) -> Any:
        """What may be to pay, in smallest units, once everything is entered."""
        for adjustment in self.build.selection.adjustments:
            self._adjust(adjustment)
        self._round()
        package = self.package
        total = package if self.build.catalogue.tax.included else package + self._tax()
        return total - self.asked.units(self.asked.trade_ins)

    @property
    def package(self) -> Any:
        """Everything together."""
        return sum(self.left.values()) + self.on_nothing

    def _new(self, low: int, high: int) -> Any:
        return self.model.new_int_var(low, high, "")

    def _is(self, holds: bool) -> Any:
        return self.model.new_constant(int(holds))

    def _enter(self, shares: dict[LineClass, Any], nothing: Any, amount: Any) -> None:
        self.model.add(sum(shares.values()) + nothing == amount)
        for each, share in shares.items():
            self.left[each] += share
        self.on_nothing += nothing

    def _deal(self, classes: set[LineClass], terms: list[tuple[int, int]]) -> None:
        """What deals save, shared out over the classes of their picks in any way."""
        saved = self.optimum.sum(terms)
        most = sum(abs(weight) for weight, _ in terms) + self.lines
        shares = {each: self._new(-most, self.lines) for each in sorted(classes)}
        self._enter(shares, 0, saved)

    def _adjust(self, adjustment: Adjustment) -> None:
        over = [each for each in self.left if self._is_on(adjustment, each)]
        base = sum(self.left[each] for each in over)
        shares = {each: self._new(-self.most, self.most) for each in over}
        if adjustment.percent is not None:
            share = Fraction(adjustment.percent) / 100
            amount: Any = self._new(-self.most, self.most)
            self._near(amount, base, share, Fraction(1, 2))
            near = self.nearly * (1 + abs(share))
            for each in over:
                self._near(shares[each], self.left[each], share, near, self.steady)
            self._enter(shares, 0, amount)
            if share < -1:
                self.steady = self._is(False)
            return
        money = adjustment_amount(adjustment, Money.zero(self.build.catalogue.currency))
        units = self.asked.units(money)
        nothing = self._new(min(units, 0), max(units, 0))
        if over:
            whole = self._new(-self.most, self.most)
            self.model.add(whole == base)
            self._in_proportion(shares, whole, units)
            self.model.add(nothing == 0).only_enforce_if(self._at_least(whole, 1))
            if units < 0:
                self.steady = self._both(self.steady, self._at_least(whole, -units))
        self._enter(shares, nothing, units)

    def _is_on(self, adjustment: Adjustment, each: LineClass) -> bool:
        group, line, _ = each
        if adjustment.line:
            return line == adjustment.line.name
        return not adjustment.group or group == adjustment.group

    def _near(self, share: Any, of: Any, ratio: Fraction, near: Fraction, when: Any = None) -> None:
        """The share is the ratio of it, give or take so much."""
        top, bottom = ratio.numerator, ratio.denominator
        if self.most * max(abs(top), bottom) > _MOST_PRODUCT:
            return
        off = share * bottom - of * top
        room = floor(near * bottom)
        constraint = self.model.add_linear_constraint(off, -room, room)
        if when is not None:
            constraint.only_enforce_if(when)

    def _in_proportion(self, shares: dict[LineClass, Any], whole: Any, units: int) -> None:
        """Shares of a fixed amount are in proportion to what is left, but for rounding."""
        if self.most * self.most > _MOST_PRODUCT:
            return
        when = self._both(self.steady, self._at_least(whole, 1))
        for each, share in shares.items():
            product = self._new(-self.most * self.most, self.most * self.most)
            self.model.add_multiplication_equality(product, [share, whole])
            off = product - units * self.left[each]
            room = abs(units) * self.nearly
            self.model.add(off <= self.nearly * whole + room).only_enforce_if(when)
            self.model.add(off >= -self.nearly * whole - room).only_enforce_if(when)

    def _at_least(self, whole: Any, bound: int) -> Any:
        literal = self.model.new_bool_var("")
        self.model.add(whole >= bound).only_enforce_if(literal)
        self.model.add(whole < bound).only_enforce_if(~literal)
        return literal

    def _both(self, one: Any, other: Any) -> Any:
        literal = self.model.new_bool_var("")
        self.model.add_bool_and([one, other]).only_enforce_if(literal)
        self.model.add_bool_or([~one, ~other, literal])
        return literal

    def _round(self) -> None:
        """The package becomes a round amount; in which way it is shared out is left open."""
        rounding = self.build.catalogue.rounding
        if rounding is None:
            return
        step = Fraction(rounding.to) * 10**self.asked.digits
        most = ceil(step) + 1
        amount = self._new(-most, most)
        if step.denominator == 1:
            steps = self._new(-self.most, self.most)
            self.model.add(self.package + amount == int(step) * steps)
            if rounding.mode == "nearest":
                self.model.add_linear_constraint(2 * amount, -int(step), int(step))
            else:
                self.model.add_linear_constraint(amount, 1 - int(step), int(step) - 1)
                rises = self.model.add(amount >= 0 if rounding.mode == "up" else amount <= 0)
                rises.only_enforce_if(self._at_least(self.package, 0))
        shares = {each: self._new(-most - self.lines, most + self.lines) for each in self.left}
        self._enter(shares, self._new(-most, most), amount)

    def _tax(self) -> Any:
        """Tax that comes on top, give or take what rounding may do to it."""
        tax = self.build.catalogue.tax
        percents = {name: Fraction(percent) for name, percent in tax.rates}
        usual = tax.rates[0][0]
        taxes: dict[str, Any] = {usual: self.on_nothing}
        for (_, _, rate), left in self.left.items():
            taxes[rate or usual] = taxes.get(rate or usual, 0) + left
        scale = 1
        for percent in percents.values():
            scale = scale * percent.denominator
        exact = sum(int(percents[rate] * scale) * left for rate, left in taxes.items())
        near = Fraction(1)
        if tax.basis == "category":
            near += len(tax.rates)
        if tax.basis == "line":
            digits = self.asked.digits if tax.line_decimals is None else tax.line_decimals
            near += self.lines * Fraction(10) ** (self.asked.digits - digits)
        amount = self._new(-self.most, self.most)
        room = floor(near * 100 * scale)
        self.model.add_linear_constraint(amount * 100 * scale - exact, -room, room)
        return amount
