"""Why a sum is too much, as few and as wide literals as will do; limits and ratings share it."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from decimal import Decimal
from fractions import Fraction
from typing import Generic, TypeAlias, TypeVar

from attrs import frozen

from configurator.catalogue.model import Choice
from configurator.engine.constraint import Held
from configurator.engine.encoding import Encoding, State

Key: TypeAlias = tuple[str, str]

Fixed: TypeAlias = tuple[tuple[str, State], ...]
"""Choices that are fixed, each with its answer."""

Load: TypeAlias = int | Fraction

N = TypeVar("N", Decimal, Load)


@frozen
class Lifted(Generic[N]):
    """What is enough for a sum to be too much.

    Attributes:
        literals: one of them is true wherever the sum may be less.
        load: what the sum is at least where all of them are false.
        needed: sets of options, None standing for no pick; one of each set is then picked.
    """

    literals: tuple[int, ...]
    load: N
    needed: tuple[frozenset[Key | None], ...]


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
    certain: bool = False


def fewest(fixed: Fixed, still: Callable[[Fixed], bool]) -> Fixed:
    """As few of the fixed choices as will do."""
    for pair in fixed:
        fewer = tuple(other for other in fixed if other != pair)
        if still(fewer):
            fixed = fewer
    return fixed


def lifted(
    encoding: Encoding,
    held: Held,
    load: N,
    over: Callable[[N], bool],
    least: Callable[[Key], N],
    certain: Collection[str] = (),
    taken: Callable[[Key], int] = lambda _: 0,
) -> Lifted[N]:
    """Drop what adds least while the rest is still too much, then widen what is left.

    Args:
        encoding: the catalogue's.
        held: a complete selection.
        load: what it comes to at least.
        over: whether so much is too much; true of the load, and of all that is more.
        least: what one of an option adds at least.
        certain: choices whose answers count, whatever is dropped.
        taken: how many of an option count, whatever is dropped.
    """
    every: list[_Contribution[N]] = []
    for choice in encoding.choices:
        if choice.id not in certain:
            kind = _several if choice.pick == "several" else _one
            every += kind(encoding, choice, held, least, taken)
    kept: list[_Contribution[N]] = []
    for one in sorted(every, key=lambda one: (one.amount, one.choice, one.answer or "")):
        if over(load - one.amount):
            load -= one.amount
        else:
            kept.append(one)
    literals: list[int] = []
    needed: list[frozenset[Key | None]] = []
    for one in reversed(kept):
        if not one.by:
            literals += one.literals
            needed.append(frozenset([(one.choice, one.answer or "") if one.certain else None]))
            continue
        here = one.by[one.answer]
        enough = {o: n for o, n in one.by.items() if n >= here or over(load - (here - n))}
        load -= here - min(enough.values())
        literals += encoding.outside(encoding.catalogue.by_id[one.choice], enough)
        needed.append(frozenset((one.choice, o) if o else None for o in enough))
    return Lifted(tuple(dict.fromkeys(literals)), load, tuple(needed))


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
            yield _Contribution(each * (count - certain), *key, {}, (less,), certain=True)
        elif each < 0 and count < most:
            more = encoding.at_least(*key, count + 1)
            literals = () if more == -encoding.true else (more,)
            yield _Contribution(each * (count - most), *key, {}, literals)
