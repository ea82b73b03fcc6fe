"""What a constraint is: all that the search, the optimiser, the words and the review ask of one.

A constraint is asked about a proposed complete selection and answers with nothing, or with
violations: clauses that every sound selection satisfies. A violation is lifted before it is given,
so that it refuses not only the proposal at hand but all that fail in the same way. What a rule says
is clauses from the start, so that it is never violated.

A check tells rules, limits, fit, masses and ratings in words of its own, and asks every other as
the search does. So a new kind of constraint is a module of its own with a function that makes them,
and one more entry in :data:`configurator.engine.kinds.MORE`.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable, Iterator, Sequence
from decimal import Decimal
from typing import ClassVar, Protocol, TypeAlias

from attrs import frozen

from configurator.catalogue.model import Catalogue, Choice, Option
from configurator.engine.encoding import Encoding
from configurator.engine.figures import Figure, Insides
from configurator.engine.layouts import Layouts
from configurator.engine.violation import ConstraintId, Held, Violation
from configurator.errors import Location
from configurator.shapes.forms import brief

RULE, LIMIT, ALONE, TOGETHER, RATING, AXLES = range(6)
"""How much asking takes: what takes more is asked later, and named only where the rest is not
enough. The first two are what a catalogue states in plain words; the last three ask for layouts,
or are harder to read."""


@frozen(repr=False)
class Explanation:
    """What one constraint has to say in a conflict: texts, with its numbers as their values.

    Attributes:
        sentence: what holds, as a clause.
        hint: what would help, as a sentence; may be empty.
        more: what a long telling adds to the sentence; may be empty.
        covers: others of which it speaks too.
        names: picks by choice and option that its sentence names alone, so that nobody asks which.
        numbers: the numbers of what it says, by the names that findings have for them; mm, kg or
            the limit's unit.
    """

    sentence: str
    hint: str = ""
    more: str = ""
    covers: frozenset[ConstraintId] = frozenset()
    names: frozenset[tuple[str, str]] = frozenset()
    numbers: tuple[tuple[str, Decimal | int], ...] = ()

    __repr__ = brief


@frozen
class Grounds:
    """A conflict that is found, for the numbers of what takes part in it.

    Attributes:
        held: the picks that take part.
        every: all picks that were asked about.
        decided: the choices that have a pick, or of which none is wanted.
        members: the constraints that take part.
        rules: of these, the rules; and what is stated in plain words, rules and limits.
        possible: whether a selection has these literals and keeps those constraints, all by
            default; of a check, whether the selection that it is about has the literals.
    """

    held: Held
    every: Held
    decided: frozenset[str]
    members: frozenset[ConstraintId]
    rules: frozenset[ConstraintId]
    stated: frozenset[ConstraintId]
    possible: Callable[[Sequence[int], frozenset[ConstraintId] | None], bool]


Terms: TypeAlias = list[tuple[int, int]]
"""A sum of whole-number weights of literals; literal 0 stands for the constant 1."""


class Compiled(Protocol):
    """What constraints are made from: of a search, what is compiled before there are any."""

    catalogue: Catalogue
    encoding: Encoding
    insides: Insides
    layouts: Layouts

    def mass(self, choice: Choice, option: Option) -> Figure:
        """The mass of one of the option."""


Kind: TypeAlias = "Callable[[Compiled], Iterable[Constraint]]"
"""Makes all constraints of a kind, from what is compiled so far."""


class Sums(Protocol):
    """What a constraint tells its sum to: of the optimiser, all that it needs to know."""

    def at_most(self, terms: Terms, bound: int, only_if: Sequence[int] = ()) -> None:
        """The sum may not exceed the bound, where all of ``only_if`` are true."""

    def any_of(self, cases: Iterable[Sequence[int]]) -> int:
        """A literal that is true where all of some case are; otherwise it may be either."""

    def figure_terms(self, literal: int, figure: Figure, scale: int) -> Terms:
        """What the figure adds where the literal is true; an open figure adds nothing."""


class Constraint(ABC):
    """One thing that a sound selection keeps.

    Attributes:
        id: which one; a check's finding has its kind as code.
        rank: how much asking takes.
        at: where the catalogue says it.
        name: what the review of a catalogue calls it.
        override: by which name a selection may let it pass; empty for none.
        rests_on: others that its violations may rest on.
        lighter: whether something lighter may fix it.
        room: of a sum of what is picked, about how much it may come to; else nothing.
        applies: of one that is clauses from the start, literals that are true where it applies;
        broken: and literals, one at most, that say where it applies that it is broken.
    """

    id: ConstraintId
    rank: int
    at: Location
    name: str
    override: str = ""
    rests_on: frozenset[ConstraintId] = frozenset()
    lighter: ClassVar[bool] = False
    room: float = 0.0
    applies: Sequence[int] = ()
    broken: Sequence[int] = ()

    @property
    def says(self) -> str:
        """In words, of one that is clauses from the start."""
        return ""

    def depends_on(self) -> Iterable[tuple[str, Sequence[str]]]:
        """Choices and options whose quantities decide whether it is kept."""
        return ()

    @abstractmethod
    def violations(self, held: Held, active: frozenset[ConstraintId]) -> Iterator[Violation]:
        """Why a selection breaks it, at least once if a complete one does.

        A search asks about complete selections, and asks nothing that is clauses from the start. Of
        kinds that it has no words of its own for, a check asks about incomplete ones too, and about
        everything: they need answers to both.

        Args:
            held: the selection.
            active: what holds as well; violations rest on nothing else.
        """

    def where(self, people: int | None) -> Constraint:  # noqa: ARG002
        """What it is where so many travel: itself, unless it depends on that."""
        return self

    def linear(self, optimum: Sums) -> None:  # noqa: B027
        """Tell the optimiser what it says, if that is a sum."""

    def most(self, choice: str, option: str) -> Decimal:  # noqa: ARG002
        """The most that one of the option adds to the sum."""
        return Decimal(0)

    @abstractmethod
    def explain(self, grounds: Grounds) -> Explanation:
        """What it says in a conflict in which it takes part, with its numbers there."""
