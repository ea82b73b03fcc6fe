"""What each pick adds to a load beyond the least it could."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction
from typing import Protocol

from attrs import frozen

from configurator.catalogue.model import VEHICLE, Choice
from configurator.engine.encoding import Held
from configurator.engine.weighing import Fixed, Key, Weighing

__all__ = ["Extra", "Gains"]


class Extra(Protocol):
    """A load beyond that of each unit in its best place, and the units it takes."""

    @property
    def more(self) -> Fraction:
        """How much, kg."""
        ...

    @property
    def units(self) -> dict[Key, int]:
        """How many of each unit it takes."""
        ...


@frozen
class _Gain:
    """What can be dropped from a reason: so many kg, and literals where they are not there."""

    amount: Fraction
    name: tuple[str, str]
    clause: tuple[int, ...]


class Gains:
    """The gains of what is held, for one bar of one vehicle.

    Args:
        weighing: what picks add.
        vehicle: the vehicle's option.
        held: a complete selection.
        index: of the bar.
        extra: what the layout adds.
    """

    def __init__(
        self,
        weighing: Weighing,
        vehicle: str,
        held: Held,
        index: int,
        extra: Extra | None = None,
    ) -> None:
        self.weighing, self.vehicle, self.held, self.index = weighing, vehicle, held, index
        self.encoding = weighing.encoding
        self.extra = extra
        self.hitch = next((key for key in weighing.hitches if key in held), None)

    def load(self, fixed: Fixed) -> Fraction:
        """The least load of what is held, with only those choices fixed."""
        total = self.weighing.bars[self.vehicle][self.index].base
        weights = self.weighing.weights(self.vehicle, fixed)
        for key, quantity in self.held.items():
            total += quantity * weights.spans(key)[self.index][0]
        return total + (self.extra.more if self.extra is not None else 0)

    def least(self, fixed: Fixed, key: Key) -> Fraction:
        """The least that one of the option adds."""
        return self.weighing.weights(self.vehicle, fixed).spans(key)[self.index][0]

    def dropped(self, fixed: Fixed, over: Callable[[Fraction], bool]) -> tuple[list[int], Fraction]:
        """Literals of the picks that are needed for a load that is over, and that load.

        What adds least is dropped first.
        """
        load = self.load(fixed)
        literals: list[int] = []
        gains = sorted(self._gains(fixed), key=lambda gain: (gain.amount, gain.name))
        for gain in gains:
            if over(load - gain.amount):
                load -= gain.amount
            else:
                literals += gain.clause
        return literals, load

    def _gains(self, fixed: Fixed) -> Iterator[_Gain]:
        certain = {VEHICLE, *(choice for choice, _ in fixed)}
        bar = self.weighing.bars[self.vehicle][self.index]
        if bar.hitched and self.hitch is not None:
            certain |= {self.hitch[0]} if self._single(self.hitch[0]) else set()
        for choice in self.encoding.choices:
            if choice.id not in certain:
                several = choice.pick == "several"
                yield from self._several(choice, fixed) if several else self._one(choice, fixed)

    def _single(self, choice: str) -> bool:
        return self.encoding.catalogue.by_id[choice].pick != "several"

    def _one(self, choice: Choice, fixed: Fixed) -> Iterator[_Gain]:
        """Answers that add as much are refused with the one at hand."""
        by: dict[str | None, Fraction] = {
            option: self.least(fixed, (choice.id, option)) for option in choice.by_id
        }
        if choice.id in self.encoding.empty:
            by[None] = Fraction(0)
        answer = next((o for o in choice.by_id if (choice.id, o) in self.held), None)
        if answer is not None and self._taken((choice.id, answer)):
            return
        amount = by[answer] - min(by.values())
        if amount:
            enough = [option for option, kg in by.items() if kg >= by[answer]]
            clause = self.encoding.outside(choice, enough)
            yield _Gain(amount, (choice.id, answer or ""), tuple(clause))

    def _several(self, choice: Choice, fixed: Fixed) -> Iterator[_Gain]:
        for option_id, option in choice.by_id.items():
            key = choice.id, option_id
            each = self.least(fixed, key)
            count = self.held.get(key, 0)
            certain = self._taken(key)
            if key == self.hitch and self.weighing.bars[self.vehicle][self.index].hitched:
                certain = max(certain, 1)
            if each > 0 and count > certain:
                less = -self.encoding.at_least(*key, count)
                yield _Gain((count - certain) * each, key, (less,))
            elif each < 0 and count < option.most:
                more = self.encoding.at_least(*key, count + 1)
                yield _Gain((count - option.most) * each, key, (more,))

    def _taken(self, key: Key) -> int:
        """How many of the option the layout's part takes, whatever is dropped."""
        return self.extra.units.get(key, 0) if self.extra is not None else 0
