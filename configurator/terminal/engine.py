"""The engine's answers as a terminal shows them."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from configurator.answers.engine import reason_for
from configurator.catalogue.model import Catalogue, Pick
from configurator.engine.availability import Options
from configurator.engine.conflicts import Conflict
from configurator.engine.search import Search
from configurator.engine.ways_out import Fix, Within
from configurator.engine.wording import argument, change_words, fix_words
from configurator.money import Money
from configurator.pricing.whole import Price, price
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved
from configurator.terminal.common import new_console
from configurator.terminal.tables import new_table
from configurator.words import amount, amount_with_currency, plain, signed_amount

__all__ = [
    "show_completion",
    "show_contradiction",
    "show_fixes",
    "show_options",
    "show_why",
    "show_within",
]


_STATES = {"ruled-out": "ruled out", "instead": "available instead"}
"""States that a terminal does not show as they are."""


def show_options(search: Search, found: Options, selection: Selection) -> None:
    """The options by choice, each with its state; why where it is ruled out.

    Of what is available instead of a pick, what it would do to the total.
    """
    screen = new_console()
    if found.conflict is not None:
        screen.print("These picks cannot be completed.")
        screen.print(Text(str(argument(search.catalogue, found.conflict, whole=True))))
        screen.print()
    shown = new_table("", "state", search.catalogue.currency, "why not")
    choice_id = ""
    for state in found.states:
        choice = search.catalogue.by_id[state.choice]
        if state.choice != choice_id:
            choice_id = state.choice
            shown.add_row(Text(f"{choice.title} ({choice.id})", style="bold"), "", "", "")
        difference = "" if state.difference is None else signed_amount(state.difference)
        title = f"  {choice.by_id[state.option].title} ({state.option})"
        word = _STATES.get(state.state, state.state)
        shown.add_row(title, word, difference, reason_for(search, state))
    screen.print(shown)


def show_why(
    search: Search,
    wanted: Pick,
    conflict: Conflict | None,
    selection: Selection,
    replaced: Pick | None,
    difference: Money | None,
) -> None:
    """The argument, a premise on each line; or what the option would replace."""
    screen = new_console()
    option = search.catalogue.option(wanted.choice, wanted.option)
    if conflict is None and replaced is None:
        screen.print(Text(f"{option.title} is available with these picks."))
        return
    if conflict is None and replaced is not None:
        present = search.catalogue.option(replaced.choice, replaced.option)
        more = "" if difference is None else f": {signed_amount(difference)} {difference.currency}"
        screen.print(Text(f"{option.title} is available instead of {present.title}{more}"))
        return
    assert conflict is not None
    told = argument(search.catalogue, conflict, whole=True)
    for index, premise in enumerate(told.premises):
        screen.print(Text(f"{'and' if index else 'Because'} {premise},"))
    start = told.conclusion[:1]
    screen.print(Text(f"{start if told.premises else start.upper()}{told.conclusion[1:]}."))
    if told.hint:
        screen.print(Padding(Text(f"hint: {told.hint}"), (0, 0, 0, 4), expand=False))


def show_contradiction(search: Search, conflict: Conflict | None, selection: Selection) -> None:
    """That the picks cannot be completed, and why."""
    screen = new_console()
    screen.print("These picks cannot be completed.")
    if conflict is not None:
        screen.print(Text(str(argument(search.catalogue, conflict, whole=True))))


def show_fixes(catalogue: Catalogue, found: Sequence[Fix], nothing_to_mend: bool) -> None:
    """The fixes, best first."""
    screen = new_console()
    if nothing_to_mend:
        screen.print("There is nothing to mend.")
    elif not found:
        screen.print("No change of picks mends it.")
    for index, fix in enumerate(found, start=1):
        if len(fix.changes) == 1:
            screen.print(Text(f"{index}. {fix_words(catalogue, fix)}"))
            continue
        difference = f"{signed_amount(fix.difference)} {fix.difference.currency}"
        screen.print(Text(f"{index}. {len(fix.changes)} changes: {difference}"))
        for change in fix.changes:
            screen.print(Text(f"   {change_words(catalogue, change)}"))


def show_completion(
    catalogue: Catalogue, priced: Price, added: Sequence[Pick], mass: Decimal | None
) -> None:
    """What was added, and what the whole comes to."""
    screen = new_console()
    screen.print(_added(catalogue, priced, added))
    weight = "" if mass is None else f", {plain(mass)} kg"
    total = amount_with_currency(priced.total)
    screen.print(f"The whole package: {total} including {priced.tax_name}{weight}.")


def _added(catalogue: Catalogue, priced: Price, added: Sequence[Pick]) -> Table:
    """What was added, by choice, with its price."""
    shown = new_table("added", "", priced.currency, numbers=1)
    lines = {(line.choice, line.option): line for line in priced.lines}
    for pick in added:
        choice = catalogue.by_id[pick.choice]
        line = lines.get((pick.choice, pick.option))
        cost = amount(line.amount) if line is not None else ""
        many = f"{pick.quantity} x " if pick.quantity > 1 else ""
        shown.add_row(choice.title, f"{many}{choice.by_id[pick.option].title}", cost)
    return shown


def show_within(search: Search, found: Within, budget: Money) -> None:
    """What the budget allows, what the rest would take, and what else was chosen."""
    screen, catalogue = new_console(), search.catalogue
    if found.total is None:
        screen.print("These picks cannot be completed at any price.")
    elif found.selection is None:
        screen.print(
            f"Not even the picks alone can be had for {amount_with_currency(budget)}: the cheapest "
            f"package is {amount_with_currency(found.total)}, "
            f"{amount(found.total - budget)} over."
        )
    else:
        screen.print(
            f"{amount_with_currency(found.total)} of {amount_with_currency(budget)}, "
            f"with {len(found.granted)} of {len(found.granted) + len(found.left_out)} wishes."
        )
    for wish in found.granted:
        many = f"{wish.quantity} x " if wish.quantity > 1 else ""
        title = catalogue.option(wish.choice, wish.option).title
        screen.print(Text(f"granted: {many}{title}"))
    for left in found.left_out:
        title = catalogue.option(left.wish.choice, left.wish.option).title
        if left.over is not None:
            screen.print(Text(f"left out: {title}: {amount(left.over)} over"))
        elif left.conflict is not None:
            screen.print(Text(f"left out: {title}: {argument(search.catalogue, left.conflict)}"))
    if found.selection is not None and found.added:
        screen.print(_added(catalogue, price(Resolved(catalogue, found.selection)), found.added))
