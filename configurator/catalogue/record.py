"""What the records of a catalogue have in common: how they are shown to a developer."""

from __future__ import annotations

import attrs

__all__ = ["Record"]


class Record:
    """A record of the catalogue.

    It is shown with all its fields as attrs shows one. That is written here once: a function made
    for each of the many records was a large part of what loading them took.
    """

    __slots__ = ()

    def __repr__(self) -> str:
        known = attrs.fields(type(self))  # type: ignore[arg-type]
        shown = (f"{field.name}={getattr(self, field.name)!r}" for field in known if field.repr)
        return f"{type(self).__qualname__}({', '.join(shown)})"
