"""Where masses may sit on a vehicle while some choices are still open, as intervals.

The places are those of :class:`configurator.mass.places.Places`; here each is the least and the
greatest x behind the front axle over all answers to the choices that are left open. With every
choice fixed that has a say in them, the interval of all but a unit is one point, and that of a unit
is where it may be between front and rear wall.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from fractions import Fraction
from functools import cached_property
from math import floor
from typing import TypeAlias

from attrs import frozen

from configurator.catalogue.model import Choice, Option
from configurator.catalogue.units import Unit
from configurator.catalogue.vehicles import Vehicle
from configurator.engine.encoding import Encoding

Span: TypeAlias = tuple[Fraction, Fraction]

Answers: TypeAlias = Mapping[str, frozenset[str]]
"""The options picked of each choice that is fixed."""

_Part: TypeAlias = tuple[str, str, int | Decimal]
"""Choice, option, and what it says of a size."""

_NEVER = Fraction(10**9)
"""Stands for a size that nothing gives: larger than any."""


def shaping_choices(encoding: Encoding) -> frozenset[str]:
    """Choices that have a say in where anything sits, the vehicle aside."""
    return frozenset(
        choice.id
        for choice in encoding.choices
        if any(option.space or option.tray for option in choice.options)
    )


@frozen
class _Space:
    """How far a space may reach.

    Attributes:
        inside: its inside front.
        end: its outside rear.
        interior: its greatest inside length.
        middle: of its outside.
        certain: its size is known in any case.
    """

    inside: Span
    end: Span
    interior: int
    middle: Span
    certain: bool


class Extents:
    """Intervals of places on one vehicle, for one way of fixing choices.

    Args:
        encoding: the catalogue's.
        vehicle: the vehicle.
        fixed: what is picked of the choices that are fixed.
    """

    def __init__(self, encoding: Encoding, vehicle: Vehicle, fixed: Answers) -> None:
        self.encoding, self.catalogue = encoding, encoding.catalogue
        self.vehicle, self.fixed = vehicle, fixed
        self._usuals: dict[str, Span] = {}
        self._tray = self._tray_middle()
        self._spaces = {space.id: self._space(space.id) for space in self.catalogue.spaces}

    def of(self, choice: Choice, option: Option) -> Span:
        """Where one of the option may sit."""
        if option.unit is not None:
            return self._unit(option.unit)
        if option.position is not None:
            origins = {
                "front-axle": 0,
                "tray-front": self.vehicle.tray_front,
                "rear-axle": self.vehicle.wheelbase,
            }
            x = Fraction(origins[option.position.origin] + option.position.x)
            return x, x
        group = option.group or choice.group
        if group not in self._usuals:
            self._usuals[group] = self._usual(group)
        return self._usuals[group]

    def at(self, unit: Unit, middle: Fraction) -> Span:
        """Where a unit sits with its middle so far behind the inside front of its space."""
        space = self._spaces[unit.space]
        if space is None or not space.certain:
            return self._unit(unit)
        return space.inside[0] + middle, space.inside[1] + middle

    def _unit(self, unit: Unit) -> Span:
        space = self._spaces[unit.space]
        if space is None:
            return self._tray
        half = Fraction(min(unit.body.width, unit.body.depth), 2)
        free = max(Fraction(0), space.interior - 2 * half)
        span = space.inside[0] + half, space.inside[1] + half + free
        return span if space.certain else _hull(span, self._tray)

    def _usual(self, group: str) -> Span:
        span: Span | None = None
        for space in self._spaces.values() if group != "tray" else ():
            if space is not None:
                span = space.middle if span is None else _hull(span, space.middle)
                if space.certain:
                    return span
        return self._tray if span is None else _hull(span, self._tray)

    def _space(self, space: str) -> _Space | None:
        """How far the space may reach; None where its size is never known."""
        length, width, height = (
            self._smallest(list(self._parts(space, side))) for side in ("length", "width", "height")
        )
        if _NEVER in (length[0], width[0], height[0]):
            return None
        certain = _NEVER not in (length[1], width[1], height[1])
        longest = length[1]
        if longest == _NEVER:
            longest = max(Fraction(size) for _, _, size in self._parts(space, "length"))
        shift = self._sum(self._parts(space, "x"))
        wall = self._sum(self._parts(space, "wall"))
        front = self.vehicle.tray_front + shift[0], self.vehicle.tray_front + shift[1]
        return _Space(
            inside=(front[0] + wall[0], front[1] + wall[1]),
            end=(front[0] + length[0], front[1] + longest),
            interior=max(0, floor(longest - 2 * wall[0])),
            middle=(front[0] + length[0] / 2, front[1] + longest / 2),
            certain=certain,
        )

    def _parts(self, space: str, what: str) -> Iterator[_Part]:
        """What options say of one figure of the space, where they say anything."""
        for choice, option, name, part in self.catalogue.space_parts:
            said = getattr(part, what)
            if name == space and said:
                yield choice, option, said

    def _tray_ends(self) -> tuple[Span | None, bool]:
        """The rear of the tray, None where its length is never known; and whether it always is."""
        lengths = [
            (choice.id, option.id, option.tray.length)
            for choice in self.encoding.choices
            for option in choice.options
            if option.tray is not None and option.tray.length is not None
        ]
        front = self.vehicle.tray_front
        longest, shortest = self._smallest([(c, o, -length) for c, o, length in lengths])
        if longest == _NEVER:
            return None, False
        if shortest == _NEVER:
            return (
                Fraction(front + min(length for _, _, length in lengths)),
                front - longest,
            ), False
        return (front - shortest, front - longest), True

    def _tray_middle(self) -> Span:
        """The middle of the tray; the rear axle where its length is not known."""
        axle = Fraction(self.vehicle.wheelbase)
        ends, certain = self._tray_ends()
        if ends is None:
            return axle, axle
        middle = (self.vehicle.tray_front + ends[0]) / 2, (self.vehicle.tray_front + ends[1]) / 2
        return middle if certain else _hull(middle, (axle, axle))

    @cached_property
    def reach(self) -> Span:
        """Between these everything sits, whatever it is."""
        spans = [self._tray, *(space.middle for space in self._spaces.values() if space)]
        spans += [
            self.of(choice, option)
            for choice in self.encoding.choices
            for option in choice.options
            if option.position is not None or option.unit is not None
        ]
        return min(span[0] for span in spans), max(span[1] for span in spans)

    @cached_property
    def rear(self) -> tuple[Fraction | None, Fraction | None]:
        """Where the rear of tray and spaces is at least, and at most; None while nothing says."""
        ends, certain = self._tray_ends()
        least = [ends[0]] if ends is not None and certain else []
        most = [ends[1]] if ends is not None else []
        for space in self._spaces.values():
            if space is not None:
                least += [space.end[0]] if space.certain else []
                most.append(space.end[1])
        return max(least, default=None), max(most, default=None)

    def _smallest(self, parts: list[_Part]) -> Span:
        """Least and greatest that the smallest of what is given may be."""
        low = high = _NEVER
        for choice, by in self._by_choice(parts):
            sizes = list(by.values())
            picked = self.fixed.get(choice.id)
            if picked is not None:
                given = [size for option, size in by.items() if option in picked]
                here = (min(given), min(given)) if given else (_NEVER, _NEVER)
            elif choice.pick == "one" and len(by) == len(choice.by_id):
                here = min(sizes), max(sizes)
            else:
                here = min(sizes), _NEVER
            low, high = min(low, here[0]), min(high, here[1])
        return low, high

    def _sum(self, parts: Iterable[_Part]) -> Span:
        """Least and greatest that all that is given may come to."""
        low = high = Fraction(0)
        for choice, by in self._by_choice(parts):
            sizes = list(by.values())
            picked = self.fixed.get(choice.id)
            if picked is not None:
                total = sum((size for option, size in by.items() if option in picked), Fraction(0))
                here = total, total
            elif choice.pick == "several":
                none = Fraction(0)
                here = (
                    sum((s for s in sizes if s < 0), none),
                    sum((s for s in sizes if s > 0), none),
                )
            else:
                if choice.pick != "one" or len(by) < len(choice.by_id):
                    sizes.append(Fraction(0))
                here = min(sizes), max(sizes)
            low, high = low + here[0], high + here[1]
        return low, high

    def _by_choice(self, parts: Iterable[_Part]) -> Iterator[tuple[Choice, dict[str, Fraction]]]:
        found: dict[str, dict[str, Fraction]] = {}
        for choice, option, size in parts:
            found.setdefault(choice, {})[option] = Fraction(size)
        for choice, by in found.items():
            yield self.catalogue.by_id[choice], by


def _hull(one: Span, other: Span) -> Span:
    return min(one[0], other[0]), max(one[1], other[1])
