"""Prices that their owner hardly means: below nothing, below cost, deals that save nothing.

An option is priced for every answer of the choices that its price or cost depends on, by the same
code that prices a quote, on the day whose prices the catalogue stands at. What depends on more
than a thousand answers is passed over.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from itertools import islice, product
from math import prod
from typing import TypeAlias

from configurator.catalogue.model import Catalogue, Choice, Option, Part, Pick, named_option
from configurator.engine.figures import determiners_of, states_of
from configurator.errors import Location, Problem
from configurator.money import Money
from configurator.pricing.lines import option_price
from configurator.pricing.margin import cost_of
from configurator.pricing.tax import TaxedAmount, without_tax
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved

__all__ = ["price_cautions"]

_MOST_CASES = 1000

Case: TypeAlias = tuple[Decimal, Decimal, Decimal | None, str]
"""Price of one, the same without tax, its cost, and the picks that make them, in words."""


def price_cautions(catalogue: Catalogue) -> Iterator[Problem]:
    """Cautions on prices, package deals and rounding; amounts in the catalogue's currency."""
    dearest = Decimal(0)
    for choice in catalogue.by_id.values():
        for option in choice.options:
            cases = list(_cases(catalogue, choice, option))
            yield from _amounts(choice, option, cases)
            dearest = max([dearest, *(case[0] for case in cases)])
    yield from _deals(catalogue)
    rounding = catalogue.rounding
    if rounding is not None and dearest and rounding.to * 2 > dearest:
        yield _caution(
            rounding.at,
            f"packages are rounded to {rounding.to}; the dearest option costs {dearest}",
            "rounding-step",
            "round to a step that is small beside what a package costs",
        )


def _caution(at: Location, sentence: str, code: str, hint: str) -> Problem:
    return Problem(at, sentence, code, hint, level="caution")


def _selections(catalogue: Catalogue, parts: tuple[Part, ...]) -> Iterator[tuple[Selection, str]]:
    """Every set of picks that the parts depend on, and in words; none where there are too many."""
    answers = []
    for choice, options in determiners_of(catalogue, parts).items():
        states = states_of(catalogue.by_id[choice], options)
        answers.append([(choice, state) for state in islice(states, _MOST_CASES + 1)])
    if prod(map(len, answers)) > _MOST_CASES:
        return
    for case in product(*answers):
        picks = [Pick(choice, option, n) for choice, state in case for option, n in state]
        yield Selection(catalogue.id, tuple(picks)), " and ".join(map(str, picks))


def _cases(catalogue: Catalogue, choice: Choice, option: Option) -> Iterator[Case]:
    """The price and cost of one wherever both its price and what it depends on are known.

    What takes another option's price off is passed over: less than its cost is usual there.
    """
    if any(part.kind == "credit" for part in option.price):
        return
    trade = catalogue.trade_of(choice.id, option.id)
    quantities = {step.first for part in option.price for step in part.steps} or {1}
    for selection, told in _selections(catalogue, (*option.price, *trade.cost)):
        for quantity in sorted(quantities):
            line = option_price(Resolved(catalogue, selection), choice, option, quantity)
            if line.each is None:
                continue
            cost = cost_of(Resolved(catalogue, selection), option, line)
            taxed = TaxedAmount(line.each, line.rate)
            (net,) = without_tax(catalogue.tax, [taxed], catalogue.currency)
            many = f"from {quantity} of it" if quantity > 1 else ""
            where = " and ".join(filter(None, (told, many)))
            yield (
                line.each.amount,
                net.amount,
                None if cost is None else cost.rounded().amount,
                where,
            )


def _amounts(choice: Choice, option: Option, cases: list[Case]) -> Iterator[Problem]:
    name = named_option(choice, option)
    below = [case for case in cases if case[0] < 0]
    if below:
        price, _, _, where = min(below)
        yield _caution(
            option.at,
            f"the price of {name} is {price}, below zero{_with(where)}",
            "negative-price",
            "write what it costs; what replaces another option takes its price off as a credit",
        )
    losing = [
        (net - cost, net, cost, where)
        for price, net, cost, where in cases
        if cost is not None and price > 0 and net < cost
    ]
    if losing:
        loss, net, cost, where = min(losing)
        yield _caution(
            option.at,
            f"{name} is sold for {net} without tax, {-loss} below its cost of {cost}{_with(where)}",
            "below-cost",
            "check both amounts; costs are without tax",
        )


def _with(picks: str) -> str:
    return f", with {picks}" if picks else ""


def _deals(catalogue: Catalogue) -> Iterator[Problem]:
    for deal in catalogue.package_deals:
        options = [catalogue.option(pick.choice, pick.option) for pick in deal.picks]
        parts = tuple(part for option in options for part in option.price)
        price = Money(deal.price, catalogue.currency).rounded().amount
        sums = []
        for selection, _ in _selections(catalogue, parts):
            prices = [
                option_price(
                    Resolved(catalogue, selection),
                    catalogue.by_id[pick.choice],
                    option,
                    pick.quantity,
                ).amount
                for pick, option in zip(deal.picks, options, strict=True)
            ]
            known = [amount.amount for amount in prices if amount is not None]
            if len(known) == len(prices):
                sums.append(sum(known, Decimal(0)))
        if sums and max(sums) <= price:
            yield _caution(
                deal.at,
                f'package deal "{deal.id}" costs {price}; its parts come to {max(sums)}, '
                "so it never saves anything",
                "deal-saves-nothing",
                "lower its price, or leave the deal out",
            )
