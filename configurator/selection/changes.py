"""Single changes of a selection: one pick replaced, fewer of it, or none.

The vehicle and free lines stay, add-ons are only left out or fewer, and nothing is added to an
empty choice: these are the changes of somebody who has to save, not of somebody who starts again.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from decimal import Decimal

from attrs import evolve, field, frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import ADD_ON, FREE_LINE, VEHICLE, Choice
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved
from configurator.shapes.forms import form
from configurator.words import text


@form(hidden="amount")
@frozen(repr=False)
class Change:
    """One pick changed.

    Attributes:
        choice: id of its choice.
        option: what is picked now.
        to: what is picked instead; empty when it is left out.
        quantity: how many of it then.
        words: the change as a sentence part.
        amount: how much of it, where it is sold by measure.
    """

    choice: str
    option: str
    to: str
    quantity: int
    words: str = field(eq=False)
    amount: Decimal | None = field(default=None, eq=False)

    @property
    def slot(self) -> tuple[str, str]:
        """The pick that it touches; a set has one change for each."""
        return self.choice, self.option

    @property
    def key(self) -> tuple[str, str, str, int]:
        """Its place in the alphabet."""
        return self.choice, self.option, self.to, self.quantity


def possible_changes(build: Resolved, keep: Sequence[Pick] = ()) -> tuple[Change, ...]:
    """Every single change of a pick that the choices allow, sound or not, in alphabetical order."""
    adjusted = (a.line for a in build.selection.adjustments if a.line)
    stay = (*keep, *adjusted, Pick(VEHICLE), Pick(FREE_LINE))
    found: list[Change] = []
    for (choice_id, option), quantity in build.selection.quantities.items():
        if any(named.covers(choice_id, option) for named in stay):
            continue
        found += _changes(build.catalogue.by_id[choice_id], build.selection, option, quantity)
    return tuple(sorted(found, key=lambda change: change.key))


def _changes(choice: Choice, selection: Selection, option: str, quantity: int) -> Iterator[Change]:
    now = choice.by_id[option].title
    many = choice.by_id[option].times(quantity * choice.by_id[option].how_much)
    if choice.pick != "one":
        yield Change(choice.id, option, "", 0, text("without {units}", units=many))
    for fewer in range(1, quantity):
        words = text(
            "one {title} instead of {quantity}",
            "{n} × {title} instead of {quantity}",
            n=fewer,
            title=now,
            quantity=quantity,
        )
        yield Change(choice.id, option, option, fewer, words)
    if choice.id == ADD_ON:
        return
    for other in choice.options:
        if not selection.quantity(choice.id, other.id):
            n = min(quantity, other.most)
            words = text("{new} instead of {old}", new=other.times(n * other.how_much), old=many)
            yield Change(choice.id, option, other.id, n, words, other.measured)


def largest_unit(
    build: Resolved, spaces: Collection[str], keep: Collection[str] = ()
) -> Pick | None:
    """What leaves most room where it is left out: the largest unit that is picked in the spaces.

    None where there is none that may be left out.

    Args:
        build: what is picked.
        spaces: ids of spaces.
        keep: choices that are left as they are.
    """
    found: dict[Pick, int] = {}
    for choice, option, _ in build.picks:
        unit = option.unit
        may_go = choice.pick != "one" and choice.id not in keep
        if unit is not None and unit.space in spaces and may_go:
            found[Pick(choice.id, option.id)] = unit.body.volume
    return max(found, key=found.__getitem__, default=None)


def applied(selection: Selection, changes: Sequence[Change]) -> Selection:
    """The selection with the changes made; what depended on a pick that is gone goes with it."""
    by_slot = {change.slot: change for change in changes}
    picks = []
    for (choice, option), quantity in selection.quantities.items():
        change = by_slot.get((choice, option))
        if change is None:
            picks.append(Pick(choice, option, quantity, selection.amounts.get((choice, option))))
        elif change.to:
            picks.append(Pick(choice, change.to, change.quantity, change.amount))
    return evolve(selection, picks=tuple(picks)).tidied()
