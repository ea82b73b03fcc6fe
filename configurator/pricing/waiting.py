"""What a price waits for: choices still to be made that decide it, and what the catalogue leaves.

The price of a canopy may be looked up by its height and its length, and that of its coat be
measured by them. While the canopy or its length is open, nobody knows what another height costs:
no figure is shown for that, but what it waits for.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping

from attrs import frozen

from configurator.catalogue.model import Catalogue
from configurator.pricing.changes import open_deals
from configurator.pricing.lines import Key, Line
from configurator.pricing.price import lines_by_key
from configurator.selection.resolved import Resolved
from configurator.selection.totals import undecided
from configurator.words import Text, joined, listed, text


@frozen
class Waits:
    """What the price of a change waits for; neither where it is known.

    Attributes:
        choices: ids of the choices still to be made that it depends on, in the catalogue's order.
        unpriced: titles of what the catalogue gives no price, such as on application.
    """

    choices: tuple[str, ...] = ()
    unpriced: tuple[str, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.choices or self.unpriced)


def waits(
    catalogue: Catalogue,
    still: Collection[str],
    dependent: Mapping[str, Collection[Key]],
    changed: Collection[str],
    before: Mapping[Key, Line],
    after: Mapping[Key, Line],
) -> Waits:
    """What the difference between two prices waits for.

    It is known where nothing that it adds up is open: no line that comes, goes or depends on what
    changes, no package deal that begins or ends, no price of what is still to be chosen. A deal
    that also needs a pick still to be made is not counted: that pick may change the difference.

    Args:
        catalogue: what is offered.
        still: ids of the choices that are still to be made after the change.
        dependent: by a choice, the options whose prices depend on its answer.
        changed: ids of the choices of which other options, or more or less, are picked.
        before: the lines before the change.
        after: the lines after it.
    """
    depend = {key for choice in changed for key in dependent.get(choice, ())}
    waited = {choice for choice, _ in depend if choice in still}
    opened = [line for line in (*before.values(), *after.values()) if line.amount is None]
    if opened:
        ended, begun = (open_deals(catalogue, lines.values()) for lines in (before, after))
        dealt = {
            pick.key
            for deal in catalogue.package_deals
            if ended.get(deal.id) != begun.get(deal.id)
            for pick in deal.picks
        }
        opened = [
            line
            for line in opened
            if line.key in depend | dealt or _many(before, line.key) != _many(after, line.key)
        ]
    waited |= {choice for line in opened for choice in line.awaits}
    titles = dict.fromkeys(line.title for line in opened if not line.awaits)
    return Waits(tuple(c.id for c in catalogue.choices if c.id in waited), tuple(titles))


def waits_between(
    before: Resolved,
    after: Resolved,
    dependent: Mapping[str, Collection[Key]],
    changed: Collection[str],
) -> Waits:
    """The same between two selections."""
    lines = (lines_by_key(before), lines_by_key(after))
    return waits(after.catalogue, undecided(after), dependent, changed, *lines)


def _many(lines: Mapping[Key, Line], key: Key) -> object:
    line = lines.get(key)
    return None if line is None else line.quantity


def not_known(catalogue: Catalogue, choices: Collection[str], unpriced: Collection[str]) -> Text:
    """That a price is not known yet, and what it waits for."""
    return text("price not known yet ({reasons})", reasons=waited_for(catalogue, choices, unpriced))


def waited_for(catalogue: Catalogue, choices: Collection[str], unpriced: Collection[str]) -> Text:
    """What a price waits for, in words."""
    titles = [catalogue.by_id[choice].title for choice in choices]
    told = [text("depends on {choices}", choices=listed(titles))] if titles else []
    told += [text("no price yet for {title}", title=title) for title in unpriced]
    return joined(told, "; ")
