"""Limits as constraints: what is used less what is given may not exceed nothing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING

from attrs import frozen

from configurator.catalogue.model import Choice, Limit, Option
from configurator.engine.constraint import (
    LIMIT,
    Constraint,
    ConstraintId,
    Explanation,
    Grounds,
    Held,
    Violation,
)
from configurator.engine.figures import Figure, differing, scale_of, states_in, whole
from configurator.engine.sums import fewest, lifted
from configurator.words import in_unit, text

if TYPE_CHECKING:
    from configurator.engine.encoding import State
    from configurator.engine.optimum import Optimum, Terms
    from configurator.engine.search import Search

_NOTHING = Decimal(0)


@frozen
class _Share:
    """What one option adds to a limit for each of it: its use less what it gives.

    Attributes:
        constant: the part that never changes.
        figure: the mass that depends on other choices, if any.
        uses: whether the constant part uses the limit rather than only giving.
    """

    constant: Decimal
    figure: Figure | None
    uses: bool

    def at(self, held: Held) -> Decimal:
        """The share where so much is held; a mass that is not known counts nothing."""
        if self.figure is None:
            return self.constant
        return self.constant + (self.figure.at(held) or _NOTHING)

    def uses_at(self, held: Held) -> bool:
        """Whether it uses the limit where so much is held."""
        return self.uses or (self.figure is not None and bool(self.figure.at(held)))

    @property
    def always_uses(self) -> bool:
        """Whether it uses the limit whatever else is held."""
        return self.uses or (self.figure is not None and all(self.figure.cases.values()))

    def least(self, fixed: dict[str, State]) -> Decimal:
        """The smallest it can be where those choices have those answers."""
        if self.figure is None:
            return self.constant
        return self.constant + min(value or _NOTHING for value in self.figure.where(fixed))

    @property
    def most(self) -> Decimal:
        """The largest it can be."""
        if self.figure is None:
            return self.constant
        return self.constant + max(value or _NOTHING for value in self.figure.cases.values())

    def at_least(self, held: Held) -> Decimal:
        """The smallest it can be where at least so much is held."""
        if self.figure is None:
            return self.constant
        return self.constant + min(
            value or _NOTHING
            for states, value in self.figure.cases.items()
            if all(
                any((option, held[choice, option]) == pick for pick in state)
                for (choice, options), state in zip(self.figure.on, states, strict=True)
                for option in options
                if (choice, option) in held
            )
        )


_NO_SHARE = _Share(_NOTHING, None, uses=False)


@frozen
class _Explained(Explanation):
    """What the picks of a conflict use at least, and by how much that is too much.

    Attributes:
        limit: as the catalogue has it.
        used: by these picks alone.
        over: by how much they exceed it, everything else at its best; not above nothing where only
            what has to go with them does.
    """

    limit: Limit
    used: Decimal
    over: Decimal

    @property
    def sentence(self) -> str:
        limit = self.limit
        reason = limit.because.rstrip(".")
        if self.over > 0:
            return text(
                "{title} is exceeded by at least {over}, these picks alone taking {used} net "
                "({because})",
                title=limit.title,
                over=in_unit(self.over, limit.unit),
                used=in_unit(self.used, limit.unit),
                because=reason,
            )
        return text(
            "{title} would be exceeded with what has to go with it ({because})",
            title=limit.title,
            because=reason,
        )

    @property
    def hint(self) -> str:
        return self.limit.hint


class LimitConstraint(Constraint):
    """One limit of the catalogue."""

    rank = LIMIT
    lighter = True

    def __init__(self, search: Search, limit: Limit) -> None:
        self.search, self.encoding, self.limit = search, search.encoding, limit
        self.id, self.at = ConstraintId("limit", limit.id), limit.at
        self.name, self.override = f'limit "{limit.id}"', limit.id
        self.shares: dict[tuple[str, str], _Share] = {}
        for choice in self.encoding.choices:
            for option in choice.options:
                share = self._share(choice, option)
                if share.constant or share.figure is not None or share.uses:
                    self.shares[choice.id, option.id] = share
        self._floors = {c.id: self._floor(c) for c in self.encoding.choices if c.pick != "several"}
        self._several_floors = {
            (choice, option): min(
                _NOTHING, search.catalogue.option(choice, option).most * share.least({})
            )
            for (choice, option), share in self.shares.items()
            if choice not in self._floors
        }
        floors = (*self._floors.values(), *self._several_floors.values())
        self.least = limit.reserve + sum(floors, _NOTHING)

    def depends_on(self) -> Iterator[tuple[str, Sequence[str]]]:
        """What uses or gives it, and what their masses depend on."""
        for (choice, option), share in self.shares.items():
            yield choice, (option,)
            if share.figure is not None:
                yield from share.figure.on

    def _share(self, choice: Choice, option: Option) -> _Share:
        use = dict(option.uses).get(self.limit.id, _NOTHING)
        give = dict(option.gives).get(self.limit.id, _NOTHING)
        figure = None
        if self.limit.counts == "mass":
            use += option.unit.contents if option.unit is not None else _NOTHING
            give += option.vehicle.payload if option.vehicle is not None else _NOTHING
            weight = self.search.mass(choice, option)
            if weight.on:
                figure = weight
            else:
                use += weight.at({}) or _NOTHING
        return _Share(use - give, figure, use > 0)

    def _floor(self, choice: Choice) -> Decimal:
        """The least a choice of one can add."""
        least = [self._share_of(choice.id, option.id).least({}) for option in choice.options]
        return min([*least, _NOTHING] if choice.id in self.encoding.empty else least)

    def _share_of(self, choice: str, option: str) -> _Share:
        return self.shares.get((choice, option), _NO_SHARE)

    def most(self, choice: str, option: str) -> Decimal:
        """The most that one of the option adds."""
        return self._share_of(choice, option).most

    @property
    def room(self) -> float:
        """About how much there is of it at most."""
        return float(max(Decimal(1), -self.least))

    def over(self, held: Held) -> Decimal:
        """By how much the limit is exceeded; nothing or less when it is kept."""
        net, used = self.limit.reserve, False
        for key, quantity in held.items():
            share = self.shares.get(key)
            if share is not None:
                net += quantity * share.at(held)
                used = used or share.uses_at(held)
        return net if used else _NOTHING

    def violations(self, held: Held, active: frozenset[ConstraintId]) -> Iterator[Violation]:  # noqa: ARG002
        """A lifted one if the limit is exceeded.

        As few of the choices that masses depend on are fixed as will do.
        """
        if self.over(held) <= 0:
            return
        shares = (self.shares[key] for key in held if key in self.shares)
        fixing = {c for share in shares if share.figure for c, _ in share.figure.on}
        on = {c: tuple(sorted(self.search.catalogue.by_id[c].by_id)) for c in sorted(fixing)}
        now = tuple(zip(on, states_in(held, tuple(on.items())), strict=True))
        fixed = dict(fewest(now, lambda fewer: self._load(held, dict(fewer)) > 0))
        found = lifted(
            self.encoding,
            held,
            self._load(held, fixed),
            lambda load: load > 0,
            lambda key: self._share_of(*key).least(fixed),
        )
        literals = list(found.literals)
        for choice, state in fixed.items():
            literals += self.encoding.differs(choice, on[choice], state)
        if not any(all(k and self._share_of(*k).always_uses for k in n) for n in found.needed):
            literals += self._unused(held)
        yield Violation(self.id, tuple(dict.fromkeys(literals)))

    def _load(self, held: Held, fixed: dict[str, State]) -> Decimal:
        """The least that it comes to, with only those choices fixed."""
        each = (n * self._share_of(*key).least(fixed) for key, n in held.items())
        return sum(each, self.limit.reserve)

    def _unused(self, held: Held) -> Iterator[int]:
        """Literals of which one is true where what uses the limit here does not."""
        user = min(key for key in held if self._share_of(*key).uses_at(held))
        yield -self.encoding.at_least(*user)
        figure = self.shares[user].figure
        if figure is not None and not self.shares[user].always_uses:
            yield from differing(self.encoding, figure.on, states_in(held, figure.on))

    def linear(self, optimum: Optimum) -> None:
        """A sum, which counts wherever anything uses the limit."""
        figures = [share.figure for share in self.shares.values() if share.figure]
        constants = [self.limit.reserve, *(share.constant for share in self.shares.values())]
        scale = scale_of([*constants, *(v for figure in figures for v in figure.cases.values())])
        terms: Terms = []
        users = []
        for (choice, option), share in sorted(self.shares.items()):
            for quantity, variable in enumerate(self.encoding.quantities[choice, option], 1):
                there = optimum.figure_terms(variable, share.figure, scale) if share.figure else []
                terms += [(whole(share.constant, scale), variable), *there]
                if quantity == 1:
                    users += [variable] if share.uses else [v for w, v in there if w]
        bound = -whole(self.limit.reserve, scale)
        if bound >= 0:
            optimum.at_most(terms, bound)
        elif users:
            optimum.at_most(terms, bound, only_if=[self.encoding.any_of(users)])

    def explain(self, grounds: Grounds) -> _Explained:
        """What the picks use at least, and by how much that exceeds the limit."""
        held, over = grounds.held, self.least
        for key, quantity in held.items():
            share = self._share_of(*key)
            if key[0] in self._floors:
                over += share.at_least(held) - self._floors[key[0]]
            else:
                floor = self._several_floors.get(key, _NOTHING)
                over += max(_NOTHING, quantity * share.at_least(held) - floor)
        used = sum((n * self._share_of(*key).at_least(held) for key, n in held.items()), _NOTHING)
        return _Explained(self.limit, used, over)


def limits(search: Search) -> Iterator[LimitConstraint]:
    """The catalogue's, in the order of ids."""
    for limit in sorted(search.catalogue.limits, key=lambda limit: limit.id):
        yield LimitConstraint(search, limit)
