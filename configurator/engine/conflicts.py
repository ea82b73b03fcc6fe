"""Why something is not available: an irreducible conflict, as data first and then in words.

A conflict is a set of picks and facts that cannot all hold, and that can as soon as any one of
them is dropped. It is irreducible, not the smallest there may be.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import suppress
from decimal import Decimal
from typing import TypeAlias

from attrs import frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Catalogue
from configurator.engine.constraint import ALONE, LIMIT, RULE, Explanation, Grounds
from configurator.engine.decision import decide
from configurator.engine.effort import Effort
from configurator.engine.search import Search
from configurator.engine.violation import ConstraintId
from configurator.errors import SearchLimit
from configurator.selection.picks import Selection
from configurator.shapes.forms import by_name, form
from configurator.words import Text, itemised, joined, of_choice, several, text

_MOST_CROWDED = 1
"""Crowded proposals refused for the sake of fewer members, before only what is easy is spared.

With 4, 608 explanations of crowded sales take 23 CPU s in place of 16, the slowest 1.8 in place of
1.5, and of 45 fewer members may be enough in place of 58.
"""

_MOST_REFUSED = 3_000
"""Proposals refused for the sake of fewer members, as many as for one question."""

_MOST_TOLD = 20
"""Members of a conflict of which it is not proved that none can be spared: more tell nobody why."""

_MOST_READ, _MOST_DOUBTED = 8, 4
"""Facts of a conflict that are shown, and of one of which fewer may be enough; the others are
counted: one of the demo would have 180."""

_LONGER = text("not available; why takes longer to find")

_Member: TypeAlias = tuple[str, str] | ConstraintId
_Refuted: TypeAlias = Callable[[Sequence[_Member]], frozenset[int] | None]
"""The literals that a refutation of the members rests on, or None where they can hold."""


class Unexplained(SearchLimit):
    """It is proved that not all can hold, but the reason was not settled."""


@form(inline="id", shown={"numbers": by_name})
@frozen(repr=False)
class Fact:
    """A rule, limit, fit or rating that takes part in a conflict, with its numbers.

    Attributes:
        id: which one.
        numbers: the numbers of what it says, by the names that findings have for them; mm, kg or
            the limit's unit.
    """

    id: ConstraintId
    numbers: tuple[tuple[str, Decimal | int], ...]


@form(
    hidden="wanted facts explanations ranks pick_words",
    also="told premises conclusion hint",
    keys={"told": "facts"},
)
@frozen(repr=False)
class Conflict:
    """Picks, and rules, limits, fits or ratings, that cannot all hold, and the same in words.

    Attributes:
        wanted: the option asked for, which is one of them; None when only the picks were asked
            about.
        picks: other picks that take part; without an option, a choice of which none is wanted.
        facts: rules, limits, fits and ratings that take part.
        irreducible: whether it is proved that the rest can hold once any one of them is dropped;
            where not, fewer of them may be enough.
        explanations: what each of the facts has to say.
        ranks: how much asking about each of the facts takes.
        pick_words: each of the picks, then the option asked for, in words.
    """

    wanted: Pick | None
    picks: tuple[Pick, ...]
    facts: tuple[ConstraintId, ...]
    irreducible: bool
    explanations: tuple[Explanation, ...]
    ranks: tuple[int, ...]
    pick_words: tuple[str, ...]

    @property
    def told(self) -> tuple[Fact, ...]:
        """Rules, limits, fits and ratings that take part, with their numbers."""
        pairs = zip(self.facts, self.explanations, strict=True)
        return tuple(Fact(one, said.numbers) for one, said in pairs)

    @property
    def premises(self) -> tuple[str, ...]:
        """What holds, a clause each: picks first, then rules, limits and fits."""
        foremost = self._foremost
        told = (
            joined([one.sentence, one.more], " ") if one.more else one.sentence for one in foremost
        )
        more = len(self._speaking) - len(foremost)
        if not more:
            return (*self._picked, *told)
        others = text(
            "{n} more rule, limit or fit leaves no other way",
            "{n} more rules, limits and fits leave no other way",
            n=more,
        )
        return (*self._picked, *told, others)

    @property
    def conclusion(self) -> str:
        """What follows."""
        if self.wanted is None:
            return text("so these picks do not go together")
        if self.premises:
            return text("so {pick} is not available", pick=self.pick_words[-1])
        return text("{pick} is not available", pick=self.pick_words[-1])

    @property
    def hint(self) -> str:
        """What a rule or limit that takes part advises, or empty."""
        return next((one.hint for _, one in self._speaking if one.hint), "")

    @property
    def doubt(self) -> str:
        """That fewer may be enough, where nothing is proved of that; else empty."""
        return "" if self.irreducible else text("Some of these may not be part of the conflict.")

    @property
    def whole(self) -> Text:
        """The whole argument as one sentence, and the hint."""
        told = text("{conclusion:capital}.", conclusion=self.conclusion)
        if self.premises:
            premises = joined(self.premises, text(", and "))
            known = {"premises": premises, "conclusion": self.conclusion}
            told = text("Because {premises}, {conclusion}.", **known)
        return joined([one for one in (told, self.doubt, self.hint) if one], " ")

    @property
    def line(self) -> Text:
        """The shortest telling: what rules it out, without the conclusion."""
        if self.irreducible:
            return self._argument
        return text("{argument}; perhaps fewer of these are enough", argument=self._argument)

    @property
    def _argument(self) -> Text:
        facts = [one.sentence for one in self._foremost]
        said, picks = joined(facts, "; "), itemised(self._picked)
        if facts and picks:
            return text("{facts} (with {picks})", facts=said, picks=picks)
        if picks:
            return text("not beside {picks}", picks=picks)
        return said if facts else text("never available")

    def __str__(self) -> str:
        """The whole argument in English."""
        return str(self.whole)

    @property
    def _picked(self) -> tuple[str, ...]:
        """The picks that take part, in words, but for those that a fact names anyway."""
        named = {key for _, one in self._speaking for key in one.names}
        pairs = zip(self.picks, self.pick_words, strict=False)
        return tuple(words for pick, words in pairs if (pick.choice, pick.option) not in named)

    @property
    def _speaking(self) -> list[tuple[int, Explanation]]:
        """What the facts say, with their ranks: not what is part of another one's words."""
        within = {other for one in self.explanations for other in one.covers}
        each = zip(self.facts, self.ranks, self.explanations, strict=True)
        return [(rank, said) for one, rank, said in each if one not in within]

    @property
    def _foremost(self) -> list[Explanation]:
        """What is said: of more than anybody reads, the facts that are named last."""
        said, most = self._speaking, _MOST_READ if self.irreducible else _MOST_DOUBTED
        last = sorted(range(len(said)), key=lambda at: -said[at][0])[:most]
        return [said[at][1] for at in sorted(last)]


def _pick_words(catalogue: Catalogue, pick: Pick) -> Text:
    choice = catalogue.by_id[pick.choice]
    if not pick.option:
        return text("{choice}: none", choice=choice.title)
    title = choice.by_id[pick.option].title
    return of_choice(choice.title, [title], several(pick.quantity, title))


def find_conflict(
    search: Search,
    selection: Selection,
    wanted: tuple[str, str] | None = None,
    quantity: int = 1,
    quick: bool = False,
) -> Conflict | None:
    """An irreducible conflict between the picks, the option wanted as well, and the facts.

    Where all of it is settled it is the same for the same catalogue and selection, whatever was
    asked before: which conflict is found hangs only on what can hold together, tried in a fixed
    order (U. Junker, "QuickXplain: Preferred Explanations and Relaxations for Over-Constrained
    Problems", AAAI 2004). Rules, limits and units that do not fit on their own come before axle
    ratings and layouts, which are dear to ask about and harder to read: these are named only where
    the others are not enough. Where the picks exclude each other without any fact, no fact is
    named.

    Once it is proved that not all can hold, the set found so far is the answer: what cannot be
    spared by so much work is kept, and the conflict says that fewer may be enough.

    A quick one leaves out reasons that rest on how crowded rooms are, which may take minutes. None
    when all of it can hold.

    Raises:
        Unexplained: it is proved that not all of it can hold, but what is in the way is not told.
        SearchLimit: the search stopped without an answer.
    """
    search.travel(selection)
    encoding = search.encoding
    pick_literals = encoding.picks(selection)
    background = []
    if wanted is not None:
        background.append(encoding.at_least(*wanted, quantity))
        pick_literals.pop(wanted, None)
    members: list[_Member] = [*sorted(pick_literals), *sorted(search.active)]

    before = search.counts
    literal_of = {
        m: encoding.guards[m] if isinstance(m, ConstraintId) else pick_literals[m] for m in members
    }

    def asked(some: Sequence[_Member]) -> tuple[list[int], frozenset[ConstraintId]]:
        literals = [literal_of[m] for m in some if not isinstance(m, ConstraintId)]
        return [*background, *literals], frozenset(m for m in some if isinstance(m, ConstraintId))

    def proof(some: Sequence[_Member]) -> frozenset[int] | None:
        return search.core if decide(search, *asked(some), quick) is None else None

    # with one long search for each question of these, the slowest of 267 explanations takes 2.0 s
    # in place of 1.1
    fewer = Effort(0, searches=1)

    near: int | None = None  # what can hold without one member is close to what can without others

    def refuted(some: Sequence[_Member]) -> frozenset[int] | None:
        nonlocal near
        spent = search.counts.crowded - before.crowded > _MOST_CROWDED
        left = max(1, before.rounds + _MOST_REFUSED - search.counts.rounds)
        with search.layouts.trying(fewer):
            found = search.sound(*asked(some), 2, quick or spent, rounds=left, near=near)
        near = near if found is None else found
        return search.core if found is None else None

    cheap = [
        one
        for one in members
        if not isinstance(one, ConstraintId) or search.constraints[one].rank <= ALONE
    ]
    some, core = cheap, None
    with suppress(SearchLimit):
        core = proof(cheap)
    if core is None:
        some = members
        try:
            core = proof(members)
        except SearchLimit as limit:
            if search.refuted(asked(members)[0]):
                raise Unexplained(_LONGER) from limit
            raise
    if core is None:
        return None
    found, settled = _preferred(refuted, some, literal_of, core)
    if not settled and len(found) > _MOST_TOLD:
        raise Unexplained(_LONGER)
    named = sorted(member for member in found if not isinstance(member, ConstraintId))
    picks = tuple(Pick(*member, selection.quantity(*member)) for member in named)
    needed = tuple(sorted(member for member in found if isinstance(member, ConstraintId)))
    whole = () if wanted is None else (Pick(*wanted, quantity),)
    try:
        numbers = _numbers(search, selection, (*picks, *whole), needed)
    except SearchLimit as limit:
        raise Unexplained(_LONGER) from limit
    words = tuple(_pick_words(search.catalogue, pick) for pick in (*picks, *whole))
    ranks = tuple(search.constraints[one].rank for one in needed)
    return Conflict(next(iter(whole), None), picks, needed, settled, numbers, ranks, words)


def _numbers(
    search: Search,
    selection: Selection,
    picks: Iterable[Pick],
    members: Sequence[ConstraintId],
) -> tuple[Explanation, ...]:
    """What the members have to say, calculated while there is a search to ask."""
    held = {(pick.choice, pick.option): pick.quantity for pick in picks if pick.option}

    def possible(literals: Sequence[int], active: frozenset[ConstraintId] | None) -> bool:
        return search.sound(literals, active) is not None

    def up_to(rank: int) -> frozenset[ConstraintId]:
        return frozenset(one for one in members if search.constraints[one].rank <= rank)

    every = dict(selection.quantities) | held
    decided = selection.empty.union(choice for choice, _ in every)
    grounds = Grounds(held, every, decided, frozenset(members), up_to(RULE), up_to(LIMIT), possible)
    return tuple(search.constraints[one].explain(grounds) for one in members)


def facts_against(
    search: Search, literals: Sequence[int], facts: frozenset[ConstraintId]
) -> tuple[ConstraintId, ...]:
    """An irreducible set of those facts with which the literals cannot hold; they cannot with all.

    Raises:
        SearchLimit: the search stopped without an answer.
    """

    def refuted(some: Sequence[_Member]) -> frozenset[int] | None:
        active = frozenset(member for member in some if isinstance(member, ConstraintId))
        return search.core if search.sound(literals, active) is None else None

    literal_of: dict[_Member, int] = {fact: search.encoding.guards[fact] for fact in facts}
    core = refuted(sorted(facts))
    assert core is not None
    found, _ = _preferred(refuted, sorted(facts), literal_of, core)
    return tuple(sorted(member for member in found if isinstance(member, ConstraintId)))


def _preferred(
    refuted: _Refuted,
    members: Sequence[_Member],
    literal_of: Mapping[_Member, int],
    core: frozenset[int],
) -> tuple[list[_Member], bool]:
    """The irreducible part of the members, which cannot hold together, as that core refutes.

    Second, whether it is irreducible: a member of which the search does not settle whether it can
    be spared is kept.

    Of all irreducible parts it is the one whose last member comes first, then whose last but one
    does, and so on: the preferred conflict of the paper. What a refutation rests on says how many
    members from the end can be spared at once, so it changes how soon the part is found, not which.
    """
    left = list(members)
    kept: list[_Member] = []
    settled = True
    while True:
        while left and literal_of[left[-1]] not in core:
            left.pop()
        if not left:
            return kept[::-1], settled
        last = left.pop()
        try:
            smaller = refuted([*left, *kept])
        except SearchLimit:
            smaller, settled = None, False
        if smaller is None:
            kept.append(last)
        else:
            core = smaller
