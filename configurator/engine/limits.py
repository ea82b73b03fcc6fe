"""Limits as constraints, and why a sum is too much: what is used less what is given.

A reason is as few and as wide literals as will do; ratings share it, since each is such a sum too.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Generic, TypeAlias, TypeVar, cast

from attrs import frozen

from configurator.catalogue.model import Choice, Limit, Option
from configurator.engine.constraint import (
    LIMIT,
    Compiled,
    Constraint,
    Explanation,
    Grounds,
    Sums,
    Terms,
)
from configurator.engine.encoding import Encoding, State
from configurator.engine.figures import NO_FIGURE, Figure, differing, scale_of, states_in, whole
from configurator.engine.violation import ConstraintId, Held, Violation
from configurator.selection.totals import contents_of, payload_of, people_of
from configurator.words import in_unit, text

Key: TypeAlias = tuple[str, str]

Fixed: TypeAlias = tuple[tuple[str, State], ...]
"""Choices that are fixed, each with its answer."""

Load: TypeAlias = int | Fraction

Answer: TypeAlias = str | int | None
"""To a choice of one an option, or None for no option; of an option of several, how many."""

N = TypeVar("N", Decimal, Load)


@frozen
class Slot(Generic[N]):
    """A choice of one, or one option of a choice of several, and what its answers add to a sum.

    Attributes:
        choice: id of the choice.
        option: of a choice of several, whose answers are how many of it; else empty.
        adds: by answer.
    """

    choice: str
    option: str
    adds: Mapping[Answer, N]

    def answer(self, held: Held) -> Answer:
        """The answer where so much is held."""
        if self.option:
            return held.get((self.choice, self.option), 0)
        return next((one for one in self.adds if (self.choice, one) in held), None)

    def least(self, held: Held, may: Callable[[Key], bool] = lambda _: True) -> N:
        """The least that it adds where at least so much is held, of what may be had."""
        now = self.answer(held)
        for one in sorted(self.adds, key=lambda one: (self.adds[one], str(one))):
            more = now is None if not isinstance(one, int) else one > cast("int", now)
            if one == now or (more and may((self.choice, self.option or str(one)))):
                return self.adds[one]
        return next(iter(self.adds.values())) * 0

    def without(self, encoding: Encoding, enough: Collection[Answer]) -> Iterator[int]:
        """Literals of which one is true where the answer is not one of these."""
        if not self.option:
            choice = encoding.catalogue.by_id[self.choice]
            yield from encoding.outside(choice, [cast("str | None", one) for one in enough])
            return
        key, counts = (self.choice, self.option), [cast("int", one) for one in enough]
        if min(counts):
            yield -encoding.at_least(*key, min(counts))
        yield encoding.at_least(*key, max(counts) + 1)


def slots(choices: Iterable[Choice], each: Callable[[Key], N]) -> Iterator[Slot[N]]:
    """The slots of those choices that add something, where one of an option adds so much."""
    for choice in choices:
        if choice.pick == "several":
            for option in choice.options:
                if amount := each((choice.id, option.id)):
                    yield Slot(
                        choice.id, option.id, {n: amount * n for n in range(option.most + 1)}
                    )
            continue
        adds: dict[Answer, N] = {o.id: each((choice.id, o.id)) for o in choice.options}
        if choice.pick == "at-most-one":
            adds[None] = next(iter(adds.values())) * 0
        yield Slot(choice.id, "", adds)


def fewest(fixed: Fixed, still: Callable[[Fixed], bool]) -> Fixed:
    """As few of the fixed choices as will do."""
    for pair in fixed:
        fewer = tuple(other for other in fixed if other != pair)
        if still(fewer):
            fixed = fewer
    return fixed


def elsewhere(encoding: Encoding, fixed: Fixed) -> Iterator[int]:
    """Literals of which one is true where a fixed choice has another answer."""
    for choice, state in fixed:
        yield from encoding.differs(choice, sorted(encoding.catalogue.by_id[choice].by_id), state)


def lifted(
    encoding: Encoding,
    held: Held,
    fixed: Fixed,
    over: Callable[[N], bool],
    load: Callable[[Fixed], N],
    least: Callable[[Fixed], Iterable[Slot[N]]],
    certain: Collection[str] = (),
    taken: Callable[[Key], int] = lambda _: 0,
) -> tuple[list[int], N]:
    """Literals of which one is true wherever a sum may be less, and what it is at least elsewhere.

    Fix as few choices as will do, drop what adds least while the rest is still too much, widen.

    Args:
        encoding: the catalogue's.
        held: a complete selection.
        fixed: choices that what options add depends on, with which it is too much.
        over: whether so much is too much; then all that is more is, too.
        load: what all comes to at least, with choices fixed.
        least: what each answer then adds at least.
        certain: choices whose answers count, whatever is dropped.
        taken: how many of an option count, whatever is dropped.
    """
    fixed = fewest(fixed, lambda fewer: over(load(fewer)))
    total, certain = load(fixed), {*certain, *(choice for choice, _ in fixed)}
    every = []
    for slot in least(fixed):
        now = slot.answer(held)
        stays = taken((slot.choice, slot.option or str(now)))
        if slot.choice in certain or (stays and not slot.option):
            continue
        adds = {one: n for one, n in slot.adds.items() if not isinstance(one, int) or one >= stays}
        if amount := adds[now] - min(adds.values()):
            every.append((amount, slot.choice, slot.option or str(now), slot, adds))
    kept = []
    for amount, *_, slot, adds in sorted(every, key=lambda one: one[:3]):
        if over(total - amount):
            total -= amount
        else:
            kept.append((slot, adds))
    literals: list[int] = []
    for slot, adds in reversed(kept):
        here = adds[slot.answer(held)]
        enough = {one: n for one, n in adds.items() if n >= here or over(total - (here - n))}
        total -= here - min(enough.values())
        literals += slot.without(encoding, enough)
    literals += elsewhere(encoding, fixed)
    return [one for one in dict.fromkeys(literals) if one != -encoding.true], total


_NOTHING = Decimal(0)


@frozen
class _Share:
    """What one option adds to a limit for each of it: its use less what it gives.

    A mass that is not known counts nothing.

    Attributes:
        constant: the part that never changes.
        figure: the mass that depends on other choices.
        uses: whether the constant part uses the limit rather than only giving.
    """

    constant: Decimal = _NOTHING
    figure: Figure = NO_FIGURE
    uses: bool = False

    @property
    def varies(self) -> bool:
        """Whether it depends on other choices."""
        return bool(self.figure.on)

    def at(self, held: Held) -> Decimal:
        """The share where so much is held."""
        return self.constant + (self.figure.at(held) or _NOTHING) if self.varies else self.constant

    def uses_at(self, held: Held) -> bool:
        """Whether it uses the limit where so much is held."""
        return self.uses or (self.varies and bool(self.figure.at(held)))

    def least(self, fixed: Mapping[str, State]) -> Decimal:
        """The smallest it can be where those choices have those answers."""
        if not self.varies:
            return self.constant
        return self.constant + min(value or _NOTHING for value in self.figure.where(fixed))

    @property
    def most(self) -> Decimal:
        """The largest it can be."""
        return self.constant + max(value or _NOTHING for value in self.figure.cases.values())


_NO_SHARE = _Share()


class LimitConstraint(Constraint):
    """One limit of the catalogue, where so many travel; None is the catalogue's setting."""

    rank = LIMIT
    lighter = True

    def __init__(self, search: Compiled, limit: Limit, people: int | None = None) -> None:
        self.search, self.encoding, self.limit, self.people = (
            search,
            search.encoding,
            limit,
            people,
        )
        self.id, self.at = ConstraintId("limit", limit.id), limit.at
        self.name, self.override = text('limit "{limit}"', limit=limit.id), limit.id
        self.shares: dict[tuple[str, str], _Share] = {}
        for choice in self.encoding.choices:
            for option in choice.options:
                share = self._share(choice, option)
                if share != _NO_SHARE:
                    self.shares[choice.id, option.id] = share
        sharing = {choice for choice, _ in self.shares}
        self._sharing = [choice for choice in self.encoding.choices if choice.id in sharing]
        self._least = tuple(self._slots({}))
        self.room = float(max(Decimal(1), -self._total({}, {})))

    def where(self, people: int | None) -> LimitConstraint:
        """The same limit, with what so many weigh kept free if it counts them."""
        if people == self.people or self.limit.counts != "mass-and-people":
            return self
        return LimitConstraint(self.search, self.limit, people)

    def depends_on(self) -> Iterator[tuple[str, Sequence[str]]]:
        """What uses or gives it, and what their masses depend on."""
        for (choice, option), share in self.shares.items():
            yield choice, (option,)
            yield from share.figure.on

    def _share(self, choice: Choice, option: Option) -> _Share:
        use, give = option.used(self.limit.id), option.given(self.limit.id)
        figure, aboard = NO_FIGURE, _NOTHING
        if self.limit.of_mass:
            aboard = people_of(self.search.catalogue, self.limit, option, self.people)
            use += contents_of(option)
            give += payload_of(self.search.catalogue, self.limit, option, self.people)
            weight = self.search.mass(choice, option)
            if weight.on:
                figure = weight
            else:
                use += weight.at({}) or _NOTHING
        return _Share(use - give, figure, use + aboard > 0)

    def _share_of(self, choice: str, option: str) -> _Share:
        return self.shares.get((choice, option), _NO_SHARE)

    def most(self, choice: str, option: str) -> Decimal:
        """The most that one of the option adds."""
        return self._share_of(choice, option).most

    def over(self, held: Held) -> Decimal:
        """By how much the limit is exceeded; nothing or less when it is kept."""
        net, used = self.limit.reserve, False
        for key in held.keys() & self.shares.keys():
            share = self.shares[key]
            net += held[key] * share.at(held)
            used = used or share.uses_at(held)
        return net if used else _NOTHING

    def violations(self, held: Held, active: frozenset[ConstraintId]) -> Iterator[Violation]:  # noqa: ARG002
        """A lifted one if the limit is exceeded.

        As few of the choices that masses depend on are fixed as will do.
        """
        if self.over(held) <= 0:
            return
        shares = (self.shares[key] for key in held if key in self.shares)
        fixing = {c for share in shares for c, _ in share.figure.on}
        on = {c: tuple(sorted(self.search.catalogue.by_id[c].by_id)) for c in sorted(fixing)}
        now = tuple(zip(on, states_in(held, tuple(on.items())), strict=True))
        literals, load = lifted(
            self.encoding,
            held,
            now,
            lambda load: load > 0,
            lambda fixed: self._load(held, dict(fixed)),
            lambda fixed: self._slots(dict(fixed)) if fixed else self._least,
        )
        if load <= self.limit.reserve:
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
        share = self.shares[user]
        if not (share.uses or all(share.figure.cases.values())):
            yield from differing(self.encoding, share.figure.on, states_in(held, share.figure.on))

    def linear(self, optimum: Sums) -> None:
        """A sum, which counts wherever anything uses the limit."""
        figures = [share.figure for share in self.shares.values()]
        constants = [self.limit.reserve, *(share.constant for share in self.shares.values())]
        scale = scale_of([*constants, *(v for figure in figures for v in figure.cases.values())])
        terms: Terms = []
        users = []
        for (choice, option), share in sorted(self.shares.items()):
            for quantity, variable in enumerate(self.encoding.quantities[choice, option], 1):
                there = optimum.figure_terms(variable, share.figure, scale) if share.varies else []
                terms += [(whole(share.constant, scale), variable), *there]
                if quantity == 1:
                    users += [variable] if share.uses else [v for w, v in there if w]
        bound = -whole(self.limit.reserve, scale)
        if bound >= 0:
            optimum.at_most(terms, bound)
        elif users:
            optimum.at_most(terms, bound, only_if=[optimum.any_of([(one,) for one in users])])

    def explain(self, grounds: Grounds) -> Explanation:
        """By how much the picks of a conflict exceed the limit at least, all else at its best.

        Its best is what the rules of the conflict leave. Where that is not too much, only what has
        to go with them is: then what they leave for it.
        """
        held, limit = grounds.held, self.limit
        picked = ((c, o) for c, o in held if self.search.catalogue.by_id[c].pick != "several")
        fixed: dict[str, State] = {choice: ((option, 1),) for choice, option in picked}
        over = self._total(held, fixed, self._left_by(grounds))
        if over <= 0:
            told = text(
                "{title}: these picks leave at most {left} for what has to go with them "
                "({because:bare})",
                title=limit.title,
                left=in_unit(-over, limit.unit),
                because=limit.because,
            )
            return Explanation(told, limit.hint, numbers=(("left", -over),))
        told = text(
            "{title}: at least {over} over the limit ({because:bare})",
            title=limit.title,
            over=in_unit(over, limit.unit),
            because=limit.because,
        )
        return Explanation(told, limit.hint, numbers=(("over", over),))

    def _left_by(self, grounds: Grounds) -> Callable[[Key], bool]:
        """Whether the picks and rules of a conflict leave an option; each, where they leave none.

        Without rules, each is left.
        """
        literals = [self.encoding.at_least(*key, n) for key, n in sorted(grounds.held.items())]
        if not (grounds.rules and grounds.possible(literals, grounds.rules)):
            return lambda _: True
        return lambda key: grounds.possible(
            [*literals, self.encoding.at_least(*key)], grounds.rules
        )

    def _total(
        self, held: Held, fixed: Mapping[str, State], may: Callable[[Key], bool] = lambda _: True
    ) -> Decimal:
        """What it comes to at least where at least so much is held, of what may be had."""
        return sum((slot.least(held, may) for slot in self._slots(fixed)), self.limit.reserve)

    def _slots(self, fixed: Mapping[str, State]) -> Iterator[Slot[Decimal]]:
        """What each answer adds at least where those choices have those answers."""
        return slots(self._sharing, lambda key: self._share_of(*key).least(fixed))


def limits(search: Compiled) -> Iterator[LimitConstraint]:
    """The catalogue's, in the order of ids."""
    for limit in sorted(search.catalogue.limits, key=lambda limit: limit.id):
        yield LimitConstraint(search, limit)
