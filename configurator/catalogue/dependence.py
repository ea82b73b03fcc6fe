"""What a figure of the catalogue depends on: the choices whose answers decide it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from configurator.catalogue.parts import Credit, Measured, Part, Table
from configurator.catalogue.units import SpacePart

if TYPE_CHECKING:
    from configurator.catalogue.model import Catalogue


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
    catalogue: Catalogue,
) -> Mapping[tuple[str, str], Mapping[str, tuple[str, ...]]]:
    """By choice and option, what its price depends on; a catalogue keeps it."""
    return {
        (choice.id, option.id): determiners_of(catalogue, option.price)
        for choice in catalogue.by_id.values()
        for option in choice.options
    }


def priced_by(catalogue: Catalogue) -> dict[str, set[tuple[str, str]]]:
    """By choice, the options whose prices depend on its answer."""
    found: dict[str, set[tuple[str, str]]] = {}
    for key, choices in catalogue.price_determiners.items():
        for deciding in choices:
            found.setdefault(deciding, set()).add(key)
    return found


def _tells(shape: SpacePart, measured: str) -> bool:
    """Whether the option's word on a space changes what is measured of it."""
    if measured.endswith(".volume"):
        return True
    return any(size is not None for size in (shape.length, shape.width, shape.height))
