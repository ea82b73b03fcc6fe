"""How much of what is sold by measure a catalogue offers, such as 3.5 m of hose.

A selection says how much it picks. From then on that is how much there is each time the option is
picked, so that rules and searches count it as one, whatever its length.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import TypeAlias

from attrs import evolve

from configurator.catalogue.model import Catalogue

Key: TypeAlias = tuple[str, str]
"""An option by its choice and its own id."""

_MOST_KEPT = 8
"""How many catalogues with amounts of their own are kept at most."""


def measuring(catalogue: Catalogue, amounts: Mapping[Key, Decimal]) -> Catalogue:
    """The catalogue with so much of what is sold by measure, and as usual of the rest.

    What could stand instead is offered in the same amount, if it is sold so. The same amounts give
    the same catalogue, so that an engine for it can be kept.
    """
    measured = catalogue.measured_off
    then = {key: _amount(catalogue, key, amounts) for key in measured}
    if all(catalogue.option(*key).amount == amount for key, amount in then.items()):
        return catalogue
    kept, asked = catalogue.with_amounts, tuple(sorted(then.items(), key=str))
    if asked not in kept:
        *choices, add_ons = (
            evolve(
                choice,
                options=tuple(
                    evolve(o, amount=then[choice.id, o.id]) if (choice.id, o.id) in then else o
                    for o in choice.options
                ),
            )
            for choice in (*catalogue.choices, catalogue.add_ons)
        )
        if len(kept) >= _MOST_KEPT:
            kept.clear()
        kept[asked] = evolve(catalogue, choices=tuple(choices), add_ons=add_ons)
    return kept[asked]


def _amount(catalogue: Catalogue, key: Key, amounts: Mapping[Key, Decimal]) -> Decimal | None:
    """How much of it there is; None where as much as is usual."""
    choice, sold = catalogue.by_id[key[0]], catalogue.option(*key).sold_by
    beside = {o: a for (c, o), a in amounts.items() if c == choice.id and o in choice.by_id}
    if key[1] in beside or choice.pick == "several" or len(beside) != 1 or sold is None:
        return beside.get(key[1])
    ((other, amount),) = beside.items()
    theirs = choice.by_id[other].sold_by
    alike = theirs is not None and theirs.unit == sold.unit
    return amount if alike and sold.allows(amount) else None
