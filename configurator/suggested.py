"""Add-ons worth suggesting for a selection, each with its reason and its own price."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from attrs import frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import ADD_ON, Rule, tests_in
from configurator.checking.stopping import carried_with_ease, stopping
from configurator.forms import form
from configurator.money import Money
from configurator.pricing.lines import Line, option_price
from configurator.rules import breaks, broken_rules, holds
from configurator.selection.resolved import Resolved, trial
from configurator.selection.validate import require_known
from configurator.totals import mass_of
from configurator.words import used


@form(also="option title price", hidden="line", shown={"mass": used})
@frozen
class Suggestion:
    """An add-on that is not in the package.

    Attributes:
        line: it and its price, as it would be within the package.
        because: why it is suggested.
        mass: kg it would add.
    """

    line: Line
    because: str
    mass: Decimal

    @property
    def option(self) -> str:
        """Id of the add-on."""
        return self.line.option

    @property
    def title(self) -> str:
        """What the customer reads."""
        return self.line.title

    @property
    def price(self) -> Money | None:
        """Price of one; None while it is open."""
        return self.line.each


def suggestions(build: Resolved) -> tuple[Suggestion, ...]:
    """The add-ons whose condition holds and which could be had, in the catalogue's order.

    One that is accepted already, or whose rules or limits the package would break, is left out.

    Raises:
        SelectionError: the selection cannot be understood.
    """
    require_known(build)
    worth = [
        option
        for option in build.catalogue.add_ons.options
        if option.suggest is not None
        and not build.selection.quantity(ADD_ON, option.id)
        and holds(build, option.suggest)
    ]
    about_them = [rule for rule in build.catalogue.rules if ADD_ON in _choices_in(rule)]
    easy = carried_with_ease(build, worth)
    found = []
    for option in worth:
        with_it = trial(build, build.picking(Pick(ADD_ON, option.id)))
        shapes = bool(option.unit or option.space or option.openings)
        if option.id in easy:
            broken = {rule for rule in about_them if breaks(with_it, rule)}
            goes = broken <= set(broken_rules(build))
        else:
            goes = stopping(with_it, shapes) <= stopping(build, shapes)
        if goes:
            line = option_price(with_it, build.catalogue.add_ons, option)
            found.append(Suggestion(line, option.because, mass_of(with_it, option)))
    return tuple(found)


def _choices_in(rule: Rule) -> Iterator[str]:
    for condition in (rule.when, rule.needs, rule.rules_out):
        if condition is not None:
            yield from (test.choice for test in tests_in(condition))
