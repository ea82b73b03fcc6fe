"""Rates and ratios of pricing, comparing and budgeting; run by hand, prints and never fails.

python tests/benchmarks/money.py
"""

from __future__ import annotations

import datetime as dt
import time
from collections.abc import Callable, Iterable
from decimal import Decimal
from functools import partial
from itertools import cycle, islice

from attrs import evolve, frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Catalogue
from configurator.catalogue.reading import shipped
from configurator.pricing.price import price
from configurator.report.budget import budget_paper
from configurator.report.comparison import compare
from configurator.selection.changes import applied, possible_changes
from configurator.selection.picks import Selection
from configurator.selection.reading import read_selection
from configurator.selection.resolved import Resolved
from tests.support.shipped import read_catalogue

SELECTIONS, AT_ONCE = 10_000, 1_000
DAY = dt.date(2026, 11, 2)


@frozen
class Row:
    """As many fields as a priced line has."""

    choice: str
    option: str
    title: str
    text: str
    quantity: int
    each: Decimal
    amount: Decimal
    rate: str
    why_open: str
    notes: tuple[str, ...]


def took(work: Callable[[], object]) -> float:
    """Process seconds of the work."""
    start = time.process_time()
    work()
    return time.process_time() - start


def price_all(shop: Catalogue, selections: Iterable[Selection]) -> None:
    """Price every one of them."""
    for selection in selections:
        price(Resolved(shop, selection))


def show(figure: str) -> None:
    """Print a figure as soon as it is known."""
    print(figure, flush=True)


def main() -> None:
    """Print the figures."""
    show(f"pricing {SELECTIONS} selections")
    shop = read_catalogue(shipped("catalogues") / "quandong.yaml").on(DAY)
    touring = read_selection(shipped("catalogues") / "selections" / "touring.yaml")
    changes = possible_changes(Resolved(shop, touring))
    varied = [applied(touring, [change]) for change in changes]
    many = list(islice(cycle(varied), SELECTIONS))
    # each a value of its own, so that nothing is remembered from one to the next
    fresh = [
        evolve(s, picks=tuple(Pick(p.choice, p.option, p.quantity) for p in s.picks)) for s in many
    ]
    lines = len(price(Resolved(shop, touring)).lines)
    one = Decimal("12.50")

    def rows() -> None:
        for _ in range(SELECTIONS):
            for _ in range(lines):
                Row("choice", "option", "A title", "A text", 1, one, one, "standard", "", ())

    pricing = 0.0
    for first in range(0, SELECTIONS, AT_ONCE):
        spent = took(partial(price_all, shop, fresh[first : first + AT_ONCE]))
        pricing += spent
        show(f"    {AT_ONCE} of them: {AT_ONCE / spent:.0f} a second")
    show(f"{SELECTIONS} selections priced, {lines} lines each: {SELECTIONS / pricing:.0f} a second")
    building = took(rows)
    show(f"as a ratio to building as many attrs values of that size: {pricing / building:.1f}")
    once = pricing / SELECTIONS
    six = [touring, *varied[:5]]
    comparing = took(
        lambda: compare([Resolved(shop, one) for one in six], [f"s{n}" for n in range(6)])
    )
    show(f"a comparison of six: {comparing / once:.0f} prices")
    reckoning = took(lambda: budget_paper(Resolved(shop, touring), with_savings=False))
    show(f"a budget without savings: {reckoning / once:.0f} prices")
    saving = took(lambda: budget_paper(Resolved(shop, touring)))
    show(f"a budget with savings, {len(changes)} single changes: {saving / once:.0f} prices")


if __name__ == "__main__":
    main()
