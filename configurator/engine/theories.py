"""What clauses cannot say, as theories that are asked about a proposed selection; the limits.

A theory answers with nothing, or with reasons: clauses that every sound selection satisfies, each
guarded by the fact it comes from. A reason is lifted before it is given, so that it refuses not
only the proposal at hand but all that fail in the same way.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from typing import Protocol

from attrs import frozen

from configurator.catalogue.model import Choice, Limit, Option
from configurator.engine.encoding import Encoding, Fact, Held
from configurator.engine.figures import Figure, states_in

__all__ = ["LimitTheory", "Reason", "Theory"]


@frozen
class Reason:
    """Why a proposal is refused, as a clause that holds in every sound selection.

    Attributes:
        fact: where it comes from.
        clause: literals, without the guard.
        besides: other facts that it rests on.
    """

    fact: Fact
    clause: tuple[int, ...]
    besides: tuple[Fact, ...] = ()


class Theory(Protocol):
    """What the search asks of a theory."""

    def facts(self) -> tuple[Fact, ...]:
        """The facts it may give as reasons."""
        ...

    def hangs_on(self, fact: Fact) -> Iterator[tuple[str, Sequence[str]]]:
        """Choices and options whose quantities decide whether the fact is broken."""
        ...

    def refuse(self, held: Held, active: frozenset[Fact]) -> Iterator[Reason]:
        """Reasons against a complete selection, at least one if an active fact is broken."""
        ...


@frozen
class _Share:
    """What one option adds to a limit for each of it: its use less what it gives.

    Attributes:
        constant: the part that never changes.
        figure: the mass that hangs on other choices, if any.
        uses: whether the constant part uses the limit rather than only giving.
    """

    constant: Decimal
    figure: Figure | None
    uses: bool

    def at(self, held: Held) -> Decimal:
        """The share where so much is held; a mass that is not known counts nothing."""
        if self.figure is None:
            return self.constant
        return self.constant + (self.figure.at(held) or Decimal(0))

    def uses_at(self, held: Held) -> bool:
        """Whether it uses the limit where so much is held."""
        return self.uses or (self.figure is not None and bool(self.figure.at(held)))

    @property
    def always_uses(self) -> bool:
        """Whether it uses the limit whatever else is held."""
        return self.uses or (self.figure is not None and all(self.figure.cases.values()))

    @property
    def least(self) -> Decimal:
        """The smallest it can be."""
        return self.at_least({})

    @property
    def most(self) -> Decimal:
        """The largest it can be."""
        if self.figure is None:
            return self.constant
        return self.constant + max(value or Decimal(0) for value in self.figure.cases.values())

    def at_least(self, held: Held) -> Decimal:
        """The smallest it can be where at least so much is held."""
        if self.figure is None:
            return self.constant
        return self.constant + min(
            value or Decimal(0)
            for states, value in self.figure.cases.items()
            if all(
                any((option, held[choice, option]) == pick for pick in state)
                for (choice, options), state in zip(self.figure.on, states, strict=True)
                for option in options
                if (choice, option) in held
            )
        )


class LimitTheory:
    """One limit: what is used less what is given may not exceed nothing."""

    def __init__(
        self,
        encoding: Encoding,
        limit: Limit,
        weigh: Callable[[Choice, Option], Figure],
    ) -> None:
        self.encoding, self.limit = encoding, limit
        self.fact = Fact("limit", limit.id)
        encoding.fact(self.fact)
        by_id = encoding.catalogue.by_id
        self.shares: dict[tuple[str, str], _Share] = {}
        for choice in encoding.choices:
            for option in choice.options:
                share = self._share(choice, option, weigh)
                if share.constant or share.figure is not None or share.uses:
                    self.shares[choice.id, option.id] = share
        singles = [choice for choice in encoding.choices if choice.pick != "several"]
        self.floors = {choice.id: self._floor(choice) for choice in singles}
        self.rises = {choice.id: self._rises(choice) for choice in singles}
        self._several_floors = {
            (choice, option): min(Decimal(0), by_id[choice].by_id[option].most * share.least)
            for (choice, option), share in self.shares.items()
            if choice not in self.floors
        }
        floors = (*self.floors.values(), *self._several_floors.values())
        self.least = self.limit.reserve + sum(floors, Decimal(0))

    def facts(self) -> tuple[Fact, ...]:
        """The limit itself."""
        return (self.fact,)

    def hangs_on(self, fact: Fact) -> Iterator[tuple[str, Sequence[str]]]:
        """What uses or gives it, and what their masses hang on."""
        assert fact == self.fact
        for (choice, option), share in self.shares.items():
            yield choice, (option,)
            if share.figure is not None:
                yield from share.figure.on

    def _share(
        self, choice: Choice, option: Option, weigh: Callable[[Choice, Option], Figure]
    ) -> _Share:
        use = dict(option.uses).get(self.limit.id, Decimal(0))
        give = dict(option.gives).get(self.limit.id, Decimal(0))
        figure = None
        uses = use > 0
        if self.limit.counts == "mass":
            if option.unit is not None:
                use += option.unit.contents
            if option.vehicle is not None:
                give += option.vehicle.payload
            weight = weigh(choice, option)
            if weight.on:
                figure = weight
            else:
                use += weight.at({}) or Decimal(0)
            uses = use > 0
        return _Share(use - give, figure, uses)

    def _floor(self, choice: Choice) -> Decimal:
        """The least a choice of one can add."""
        least = [self._share_of(choice.id, option.id).least for option in choice.options]
        return min([*least, Decimal(0)] if choice.id in self.encoding.empty else least)

    def _rises(self, choice: Choice) -> dict[str | None, Decimal]:
        """How much at least each answer to a choice of one adds over the least that it can add."""
        floor = self.floors[choice.id]
        rises: dict[str | None, Decimal] = {
            option: self._share_of(choice.id, option).least - floor for option in choice.by_id
        }
        if choice.id in self.encoding.empty:
            rises[None] = -floor
        return rises

    def _share_of(self, choice: str, option: str) -> _Share:
        return self.shares.get((choice, option), _NO_SHARE)

    def most(self, choice: str, option: str) -> Decimal:
        """The most that one of the option adds."""
        return self._share_of(choice, option).most

    @property
    def room(self) -> float:
        """About how much there is of it at most."""
        return float(max(Decimal(1), -self.least))

    def least_over(self, held: Held) -> Decimal:
        """By how much these picks alone exceed the limit, everything else at its best."""
        over = self.least
        for (choice_id, option_id), quantity in held.items():
            share = self._share_of(choice_id, option_id)
            if choice_id not in self.floors:
                floor = self._several_floors.get((choice_id, option_id), Decimal(0))
                over += max(Decimal(0), quantity * share.at_least(held) - floor)
            else:
                over += share.at_least(held) - self.floors[choice_id]
        return over

    def over(self, held: Held) -> Decimal:
        """By how much the limit is exceeded; nothing or less when it is kept."""
        net, used = self.limit.reserve, False
        for key, quantity in held.items():
            share = self.shares.get(key)
            if share is not None:
                net += quantity * share.at(held)
                used = used or share.uses_at(held)
        return net if used else Decimal(0)

    def refuse(self, held: Held, active: frozenset[Fact]) -> Iterator[Reason]:
        """A lifted reason if the limit is exceeded."""
        if self.fact in active and self.over(held) > 0:
            yield Reason(self.fact, self._reason(held))

    def _reason(self, held: Held) -> tuple[int, ...]:
        """Drop what adds least while the rest still exceeds, then widen what is left."""
        gains = sorted(self._gains(held), key=lambda gain: (gain.amount, gain.name))
        slack = self.least + sum((gain.amount for gain in gains), Decimal(0))
        kept = []
        for gain in gains:
            if slack - gain.amount > 0:
                slack -= gain.amount
            else:
                kept.append(gain)
        literals: list[int] = []
        for gain in reversed(kept):
            clause, spent = gain.clause(slack)
            literals += clause
            slack -= spent
        if not any(gain.uses for gain in kept):
            user = min(key for key in held if self._share_of(*key).uses_at(held))
            literals.append(-self.encoding.at_least(*user))
            if not self.shares[user].always_uses:
                literals += self.conditions(self.shares[user], held)
        return tuple(dict.fromkeys(literals))

    def _gains(self, held: Held) -> Iterator[_Gain]:
        """How much each answer adds over the least that its choice could."""
        answers = dict(held.keys())
        for choice_id, floor in self.floors.items():
            option = answers.get(choice_id)
            share = self._share_of(choice_id, option) if option else _NO_SHARE
            amount = share.at(held) - floor
            if amount > 0:
                yield _SingleGain(self, held, choice_id, option, amount, share)
        for (choice_id, option_id), floor in self._several_floors.items():
            count = held.get((choice_id, option_id), 0)
            if count or floor:
                share = self.shares[choice_id, option_id]
                amount = count * share.at(held) - floor
                if amount > 0:
                    yield _SeveralGain(self, held, choice_id, option_id, count, amount, share)

    def conditions(self, share: _Share, held: Held) -> list[int]:
        """Literals of which one is true where the share's figure is another case."""
        literals: list[int] = []
        for choice, options in share.figure.on if share.figure else ():
            state = states_in(held, ((choice, options),))[0]
            literals += self.encoding.differs(choice, options, state)
        return literals


_NO_SHARE = _Share(Decimal(0), None, uses=False)


@frozen
class _SingleGain:
    """What the answer to a choice of one adds over the least it could."""

    theory: LimitTheory
    held: Held
    choice: str
    option: str | None
    amount: Decimal
    share: _Share

    @property
    def name(self) -> tuple[str, str, int]:
        return self.choice, self.option or "", 0

    @property
    def uses(self) -> bool:
        return self.share.uses_at(self.held)

    def clause(self, slack: Decimal) -> tuple[list[int], Decimal]:
        """Literals of which one is true where this gain is smaller, and the slack it takes.

        Every option that adds at least as much, less what slack allows, is refused with it.
        """
        theory = self.theory
        choice = theory.encoding.catalogue.by_id[self.choice]
        conditions = theory.conditions(self.share, self.held)
        gains = theory.rises[self.choice] | {self.option: self.amount}
        enough = {o: g for o, g in gains.items() if g > self.amount - slack or g >= self.amount}
        if self.uses:
            users = {o for o in enough if o and theory._share_of(self.choice, o).always_uses}
            enough = {o: g for o, g in enough.items() if o in users or o == self.option}
        spent = self.amount - min(enough.values())
        return theory.encoding.outside(choice, enough) + conditions, spent


@frozen
class _SeveralGain:
    """What the quantity of an option in a choice of several adds over the least it could."""

    theory: LimitTheory
    held: Held
    choice: str
    option: str
    count: int
    amount: Decimal
    share: _Share

    @property
    def name(self) -> tuple[str, str, int]:
        return self.choice, self.option, self.count

    @property
    def uses(self) -> bool:
        return self.count > 0 and self.share.uses_at(self.held)

    def clause(self, slack: Decimal) -> tuple[list[int], Decimal]:  # noqa: ARG002 - as the other
        """Literals of which one is true where this gain is smaller; no slack is taken."""
        encoding = self.theory.encoding
        each = self.share.at(self.held)
        if each > 0:
            literal = -encoding.at_least(self.choice, self.option, self.count)
        else:
            literal = encoding.at_least(self.choice, self.option, self.count + 1)
        literals = [] if literal == -encoding.true else [literal]
        return literals + self.theory.conditions(self.share, self.held), Decimal(0)


_Gain = _SingleGain | _SeveralGain
