"""The engine's answers as a terminal shows them."""

from __future__ import annotations

from collections.abc import Sequence

from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from configurator.catalogue.model import Catalogue, Pick
from configurator.engine.answers import (
    Completion,
    Explanation,
    Fixes,
    OptionsAnswer,
    WithinAnswer,
)
from configurator.pricing.whole import Price
from configurator.terminal.common import new_console
from configurator.terminal.tables import new_table
from configurator.words import amount, amount_with_currency, plain, signed_amount

__all__ = [
    "show_completion",
    "show_contradiction",
    "show_explanation",
    "show_fixes",
    "show_options",
    "show_within",
]


_STATES = {"ruled-out": "ruled out", "instead": "available instead"}
"""States that a terminal does not show as they are."""


def show_options(catalogue: Catalogue, found: OptionsAnswer) -> None:
    """The options by choice, each with its state; why where it is ruled out.

    Of what is available instead of a pick, what it would do to the total.
    """
    screen = new_console()
    if found.conflict is not None:
        screen.print("These picks cannot be completed.")
        screen.print(Text(str(found.conflict)))
        screen.print()
    shown = new_table("", "state", catalogue.currency, "why not")
    choice_id = ""
    for option in found.options:
        if option.choice != choice_id:
            choice_id = option.choice
            title = f"{catalogue.by_id[choice_id].title} ({choice_id})"
            shown.add_row(Text(title, style="bold"), "", "", "")
        difference = "" if option.difference is None else signed_amount(option.difference)
        word = _STATES.get(option.state, option.state)
        shown.add_row(f"  {option.title} ({option.option})", word, difference, option.reason)
    screen.print(shown)


def show_explanation(catalogue: Catalogue, found: Explanation) -> None:
    """The argument, a premise on each line; or what the option would replace."""
    screen = new_console()
    if found.conflict is None:
        wanted = found.wanted
        title = "This" if wanted is None else catalogue.option(wanted.choice, wanted.option).title
        if found.instead_of is None:
            screen.print(Text(f"{title} is available with these picks."))
            return
        present = catalogue.option(found.instead_of.choice, found.instead_of.option)
        by = found.difference
        more = "" if by is None else f": {signed_amount(by)} {by.currency}"
        screen.print(Text(f"{title} is available instead of {present.title}{more}"))
        return
    told = found.conflict
    for index, premise in enumerate(told.premises):
        screen.print(Text(f"{'and' if index else 'Because'} {premise},"))
    start = told.conclusion[:1]
    screen.print(Text(f"{start if told.premises else start.upper()}{told.conclusion[1:]}."))
    if told.hint:
        screen.print(Padding(Text(f"hint: {told.hint}"), (0, 0, 0, 4), expand=False))


def show_contradiction(found: Explanation) -> None:
    """That the picks cannot be completed, and why."""
    screen = new_console()
    screen.print("These picks cannot be completed.")
    if found.conflict is not None:
        screen.print(Text(str(found.conflict)))


def show_fixes(found: Fixes) -> None:
    """The fixes, best first."""
    screen = new_console()
    if found.nothing_to_mend:
        screen.print("There is nothing to mend.")
    elif not found.fixes:
        screen.print("No change of picks mends it.")
    for index, fix in enumerate(found.fixes, start=1):
        if len(fix.parts) == 1:
            screen.print(Text(f"{index}. {fix.words}"))
            continue
        difference = f"{signed_amount(fix.difference)} {fix.difference.currency}"
        screen.print(Text(f"{index}. {len(fix.parts)} changes: {difference}"))
        for part in fix.parts:
            screen.print(Text(f"   {part}"))


def show_completion(catalogue: Catalogue, found: Completion) -> None:
    """What was added, and what the whole comes to."""
    screen = new_console()
    screen.print(_added(catalogue, found.price, found.added))
    weight = "" if found.mass is None else f", {plain(found.mass)} kg"
    total = amount_with_currency(found.price.total)
    screen.print(f"The whole package: {total} including {found.price.tax_name}{weight}.")


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


def show_within(catalogue: Catalogue, found: WithinAnswer) -> None:
    """What the budget allows, what the rest would take, and what else was chosen."""
    screen, budget = new_console(), found.budget
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
            screen.print(Text(f"left out: {title}: {left.conflict}"))
    if found.price is not None and found.added:
        screen.print(_added(catalogue, found.price, found.added))
