"""What the records of a catalogue have in common: how they are shown to a developer."""

from __future__ import annotations

from configurator.forms import brief

__all__ = ["Record"]


class Record:
    """A record of the catalogue.

    It is shown short, whatever it holds.
    """

    __slots__ = ()

    __repr__ = brief
