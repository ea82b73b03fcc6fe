"""Limits as constraints, and why a sum is too much: what is used less what is given.

A reason is as few and as wide literals as will do; ratings share it, since each is such a sum too.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Generic, TypeAlias, TypeVar

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
from configurator.engine.encoding import Encoding, State
from configurator.engine.figures import NO_FIGURE, Figure, differing, scale_of, states_in, whole
from configurator.totals import contents_of
from configurator.words import in_unit, text

if TYPE_CHECKING:
    from configurator.engine.optimum import Optimum, Terms
    from configurator.engine.search import Search

Key: TypeAlias = tuple[str, str]

Fixed: TypeAlias = tuple[tuple[str, State], ...]
"""Choices that are fixed, each with its answer."""

Load: TypeAlias = int | Fraction

N = TypeVar("N", Decimal, Load)


@frozen
class Lifted(Generic[N]):
    """What is enough for a sum to be too much.

    Attributes:
        literals: one of them is true wherever the sum may be less, with those choices fixed.
        fixed: the choices.
        load: what the sum is at least where all of them are false.
    """

    literals: tuple[int, ...]
    fixed: Fixed
    load: N


@frozen
class _Contribution(Generic[N]):
    """What an answer adds beyond the least that its choice could, and where it is not there.

    Attributes:
        by: what each answer to a choice of one adds; empty for an option of several.
        literals: of an option of several.
    """

    amount: N
    choice: str
    answer: str | None
    by: dict[str | None, N]
    literals: tuple[int, ...] = ()


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
    least: Callable[[Fixed, Key], N],
    certain: Collection[str] = (),
    taken: Callable[[Key], int] = lambda _: 0,
    choices: Sequence[Choice] | None = None,
) -> Lifted[N]:
    """Fix as few choices as will do, drop what adds least while the rest is still too much, widen.

    Args:
        encoding: the catalogue's.
        held: a complete selection.
        fixed: choices that what options add depends on, with which it is too much.
        over: whether so much is too much; then all that is more is, too.
        load: what all comes to at least, with choices fixed.
        least: what one of an option then adds at least.
        certain: choices whose answers count, whatever is dropped.
        taken: how many of an option count, whatever is dropped.
        choices: those whose options may add something; all by default.
    """
    fixed = fewest(fixed, lambda fewer: over(load(fewer)))
    total, certain = load(fixed), {*certain, *(choice for choice, _ in fixed)}
    every: list[_Contribution[N]] = []
    for choice in encoding.choices if choices is None else choices:
        if choice.id not in certain:
            kind = _several if choice.pick == "several" else _one
            every += kind(encoding, choice, held, lambda key: least(fixed, key), taken)
    kept: list[_Contribution[N]] = []
    for one in sorted(every, key=lambda one: (one.amount, one.choice, one.answer or "")):
        if over(total - one.amount):
            total -= one.amount
        else:
            kept.append(one)
    literals: list[int] = []
    for one in reversed(kept):
        if not one.by:
            literals += one.literals
            continue
        here = one.by[one.answer]
        enough = {o: n for o, n in one.by.items() if n >= here or over(total - (here - n))}
        total -= here - min(enough.values())
        literals += encoding.outside(encoding.catalogue.by_id[one.choice], enough)
    return Lifted(tuple(dict.fromkeys(literals)), fixed, total)


def _one(
    encoding: Encoding,
    choice: Choice,
    held: Held,
    least: Callable[[Key], N],
    taken: Callable[[Key], int],
) -> Iterator[_Contribution[N]]:
    by: dict[str | None, N] = {option: least((choice.id, option)) for option in choice.by_id}
    if choice.id in encoding.empty:
        by[None] = next(iter(by.values())) * 0
    answer = next((o for o in choice.by_id if (choice.id, o) in held), None)
    amount = by[answer] - min(by.values())
    if amount and (answer is None or not taken((choice.id, answer))):
        yield _Contribution(amount, choice.id, answer, by)


def _several(
    encoding: Encoding,
    choice: Choice,
    held: Held,
    least: Callable[[Key], N],
    taken: Callable[[Key], int],
) -> Iterator[_Contribution[N]]:
    for option, most in ((o.id, o.most) for o in choice.options):
        key = choice.id, option
        each, count, certain = least(key), held.get(key, 0), taken(key)
        if each > 0 and count > certain:
            less = -encoding.at_least(*key, count)
            yield _Contribution(each * (count - certain), *key, {}, (less,))
        elif each < 0 and count < most:
            more = encoding.at_least(*key, count + 1)
            literals = () if more == -encoding.true else (more,)
            yield _Contribution(each * (count - most), *key, {}, literals)


def with_least(
    total: N,
    choice: Choice,
    each: Mapping[str, N],
    held: Held,
    may: Callable[[Key], bool] = lambda _: True,
) -> N:
    """A sum with the least that the answer to a choice adds where at least so much is held.

    One of each option adds so much; those that may not be had do not count.
    """
    if choice.pick == "several":
        for option, amount in each.items():
            if amount > 0:
                total += held.get((choice.id, option), 0) * amount
            elif amount and may((choice.id, option)):
                total += choice.by_id[option].most * amount
        return total
    picked = next((option for option in each if (choice.id, option) in held), None)
    if picked is None and (choice.pick == "one" or min(each.values()) < 0):
        rising = sorted(each, key=lambda option: (each[option], option))
        picked = next((option for option in rising if may((choice.id, option))), None)
        if picked is not None and choice.pick != "one" and each[picked] > 0:
            return total
    return total if picked is None else total + each[picked]


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
                if share != _NO_SHARE:
                    self.shares[choice.id, option.id] = share
        sharing = {choice for choice, _ in self.shares}
        self._sharing = [choice for choice in self.encoding.choices if choice.id in sharing]
        self.room = float(max(Decimal(1), -self._total(self._least({}), {})))

    def depends_on(self) -> Iterator[tuple[str, Sequence[str]]]:
        """What uses or gives it, and what their masses depend on."""
        for (choice, option), share in self.shares.items():
            yield choice, (option,)
            yield from share.figure.on

    def _share(self, choice: Choice, option: Option) -> _Share:
        use, give = option.used(self.limit.id), option.given(self.limit.id)
        figure = NO_FIGURE
        if self.limit.counts == "mass":
            use += contents_of(option)
            give += option.vehicle.payload if option.vehicle is not None else _NOTHING
            weight = self.search.mass(choice, option)
            if weight.on:
                figure = weight
            else:
                use += weight.at({}) or _NOTHING
        return _Share(use - give, figure, use > 0)

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
        found = lifted(
            self.encoding,
            held,
            now,
            lambda load: load > 0,
            lambda fixed: self._load(held, dict(fixed)),
            lambda fixed, key: self._share_of(*key).least(dict(fixed)),
            choices=self._sharing,
        )
        literals = [*found.literals, *elsewhere(self.encoding, found.fixed)]
        if found.load <= self.limit.reserve:
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

    def linear(self, optimum: Optimum) -> None:
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
            optimum.at_most(terms, bound, only_if=[optimum.any_of(users)])

    def explain(self, grounds: Grounds) -> Explanation:
        """What the picks of a conflict use at least, and by how much that exceeds the limit.

        All else is at its best; where that is not too much, only what has to go with them is.
        """
        held, limit = grounds.held, self.limit
        picked = ((c, o) for c, o in held if self.search.catalogue.by_id[c].pick != "several")
        least = self._least({choice: ((option, 1),) for choice, option in picked})
        over = self._total(least, held)
        if over <= 0:
            told = text(
                "{title}: over the limit with what has to go with these picks ({because:bare})",
                title=limit.title,
                because=limit.because,
            )
            return Explanation(told, limit.hint)
        used = sum((n * least.get(key, _NOTHING) for key, n in held.items()), _NOTHING)
        told = text(
            "{title}: over the limit by at least {over}, these picks alone taking {used} net "
            "({because:bare})",
            title=limit.title,
            over=in_unit(over, limit.unit),
            used=in_unit(used, limit.unit),
            because=limit.because,
        )
        return Explanation(told, limit.hint)

    def _least(self, fixed: Mapping[str, State]) -> dict[Key, Decimal]:
        """What one of each option adds at least where those choices have those answers."""
        return {key: share.least(fixed) for key, share in self.shares.items()}

    def _total(self, least: Mapping[Key, Decimal], held: Held) -> Decimal:
        """What it comes to at least where at least so much is held."""
        total = self.limit.reserve
        for choice in self.encoding.choices:
            each = {o: least.get((choice.id, o), _NOTHING) for o in choice.by_id}
            total = with_least(total, choice, each, held)
        return total


def limits(search: Search) -> Iterator[LimitConstraint]:
    """The catalogue's, in the order of ids."""
    for limit in sorted(search.catalogue.limits, key=lambda limit: limit.id):
        yield LimitConstraint(search, limit)
