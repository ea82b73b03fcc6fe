"""A catalogue as clauses: what a complete selection is, and the conditions that rules mention.

Every option of every choice has one variable for each quantity it is available in: the k-th says
that at least k are picked. A choice that may stay empty has a variable for that. Every constraint
is guarded by a variable of its own, so that a conflict can name it.

Everything is built in the order of ids, so the order of the file means nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from configurator.catalogue.fields import AllOf, AnyOf, Condition, Test
from configurator.catalogue.model import Catalogue, Choice
from configurator.engine.violation import ConstraintId, Held
from configurator.machine.solvers import at_most_one
from configurator.selection.picks import Selection


def as_bits(literals: Iterable[int]) -> int:
    """A number with the bit of each of these variables set."""
    bits = 0
    for literal in literals:
        bits |= 1 << literal
    return bits


def variables(bits: int) -> Iterator[int]:
    """The variables whose bits are set, rising."""
    while bits:
        lowest = bits & -bits
        yield lowest.bit_length() - 1
        bits ^= lowest


State = tuple[tuple[str, int], ...]
"""An answer to a choice: option ids with quantities; empty for none."""


class Encoding:
    """Variables and clauses of a catalogue; a negative number is the negation of a variable.

    Attributes:
        clauses: what every complete selection satisfies; rules under their guards.
        guards: a variable for each constraint.
        levels: variable by choice, option and quantity.
        quantities: variables of each option, one for each quantity, rising; before all others.
        empty: variable that says that nothing is picked, by choice of at most one.
        sums: by what is counted, as many variables of which just the first so many are true.
    """

    def __init__(self, catalogue: Catalogue) -> None:
        self.catalogue = catalogue
        self.clauses: list[list[int]] = []
        self.guards: dict[ConstraintId, int] = {}
        self.levels: dict[tuple[str, str, int], int] = {}
        self.quantities: dict[tuple[str, str], list[int]] = {}
        self.empty: dict[str, int] = {}
        self._count = 0
        self._literals: dict[Condition, int] = {}
        self._disjunctions: dict[tuple[int, ...], int] = {}
        self.sums: dict[tuple[int, ...], list[int]] = {}
        self.choices = sorted(catalogue.by_id.values(), key=lambda choice: choice.id)
        for choice in self.choices:
            self._quantities(choice)
        self.level_of = {variable: key for key, variable in self.levels.items()}
        self._held = [((c, o), quantity) for c, o, quantity in self.levels]
        self.true = self.new()
        self.clauses.append([self.true])
        for choice in self.choices:
            self._answers(choice)

    def new(self) -> int:
        """A fresh variable."""
        self._count += 1
        return self._count

    def guard(self, constraint: ConstraintId) -> int:
        """A variable that is true where the constraint is to be kept."""
        if constraint not in self.guards:
            self.guards[constraint] = self.new()
        return self.guards[constraint]

    def at_least(self, choice: str, option: str, quantity: int = 1) -> int:
        """The variable that says that this many of the option are picked; its negation if never."""
        return self.levels.get((choice, option, quantity), -self.true)

    def differs(self, choice: str, options: Sequence[str], state: State) -> list[int]:
        """Literals of which one is true when the answer, among those options, is another one."""
        if self.catalogue.by_id[choice].pick != "several":
            if state:
                return [-self.levels[choice, state[0][0], 1]]
            return [self.levels[choice, option, 1] for option in options]
        held = dict(state)
        literals = []
        for option in options:
            quantity = held.get(option, 0)
            if quantity:
                literals.append(-self.levels[choice, option, quantity])
            if (choice, option, quantity + 1) in self.levels:
                literals.append(self.levels[choice, option, quantity + 1])
        return literals

    def not_among(
        self, choice_id: str, options: Sequence[str], allowed: Sequence[State]
    ) -> list[int]:
        """Literals of which one is true when the answer, among those options, is none of these.

        Of a choice of several only one answer can be told apart.
        """
        choice = self.catalogue.by_id[choice_id]
        if choice.pick == "several":
            return self.differs(choice_id, options, allowed[0])
        names: set[str | None] = {state[0][0] for state in allowed if state}
        if () in allowed:
            names |= {None, *(o for o in choice.by_id if o not in options)}
        return self.outside(choice, names)

    def not_exactly(self, choice: str, option: str, quantity: int) -> int:
        """A literal that is true when not exactly this many of the option are picked."""
        state = ((option, quantity),) if quantity else ()
        return self.any_of(self.differs(choice, [option], state))

    def picks(self, selection: Selection) -> dict[tuple[str, str], int]:
        """For each pick, the literal that says that at least its quantity is picked.

        Under no option, for each choice that is settled without one, that nothing is picked in it.
        """
        literals = {
            (choice, option): self.at_least(choice, option, quantity)
            for (choice, option), quantity in selection.quantities.items()
        }
        literals |= {(choice, ""): self._nothing_in(choice) for choice in selection.empty}
        return dict(sorted(literals.items()))

    def _nothing_in(self, choice: str) -> int:
        """A literal that says that nothing is picked in the choice."""
        options = sorted(self.catalogue.by_id[choice].by_id)
        return -self.any_of(self.levels[choice, option, 1] for option in options)

    def held(self, true: Iterable[int]) -> Held:
        """What is picked where just these variables of quantities are true, told rising."""
        return dict(self._held[variable - 1] for variable in true)

    def bits(self, held: Held) -> int:
        """What is held, with the bit of each variable that is true set."""
        return as_bits(v for key, count in held.items() for v in self.quantities[key][:count])

    def selection(self, held: Held) -> Selection:
        """What is held, as a selection, in the order of ids."""
        picks = tuple(self.catalogue.picked(c, o, n) for (c, o), n in sorted(held.items()))
        return Selection(self.catalogue.id, picks)

    def outside(self, choice: Choice, allowed: Iterable[str | None]) -> list[int]:
        """Literals of which one is true when a choice of one has an answer not in ``allowed``.

        None in ``allowed`` is the empty answer.
        """
        inside = set(allowed)
        literals = [self.levels[choice.id, o, 1] for o in sorted(choice.by_id) if o not in inside]
        if choice.id in self.empty and None not in inside:
            literals.append(self.empty[choice.id])
        return literals

    def _quantities(self, choice: Choice) -> None:
        """The variables of a choice, before all others."""
        several = choice.pick == "several"
        for option_id in sorted(choice.by_id):
            most = choice.by_id[option_id].most if several else 1
            if several and choice.at_most is not None:
                most = min(most, choice.at_most)
            rising = [self.new() for _ in range(most)]
            self.quantities[choice.id, option_id] = rising
            self.levels |= {(choice.id, option_id, n): v for n, v in enumerate(rising, 1)}
            self.clauses += [[-more, less] for less, more in pairwise(rising)]

    def _answers(self, choice: Choice) -> None:
        """What holds of the answers to a choice."""
        each = [self.quantities[choice.id, option] for option in sorted(choice.by_id)]
        if choice.pick == "several":
            every = [variable for rising in each for variable in rising]
            if choice.at_most is not None and choice.at_most < len(every):
                self.clauses.append([-self._sum(every)[choice.at_most]])
            return
        firsts = [rising[0] for rising in each]
        if choice.pick == "at-most-one":
            self.empty[choice.id] = self.new()
            firsts.append(self.empty[choice.id])
        self.clauses.append(firsts)
        clauses, self._count = at_most_one(firsts, self._count)
        self.clauses += clauses

    def literal(self, condition: Condition) -> int:
        """A literal that is true exactly when the condition holds."""
        if condition not in self._literals:
            self._literals[condition] = self._define(condition)
        return self._literals[condition]

    def _define(self, condition: Condition) -> int:
        if isinstance(condition, Test):
            return self._test(condition)
        parts = [self.literal(part) for part in condition.conditions]
        if isinstance(condition, AllOf):
            return self.all_of(parts)
        some = self.any_of(parts)
        return some if isinstance(condition, AnyOf) else -some

    def case(
        self, literal: int, on: Sequence[tuple[str, Sequence[str]]], states: Sequence[State]
    ) -> int:
        """A literal that is true exactly when ``literal`` is and the choices have those answers."""
        differs = [
            other
            for (choice, options), state in zip(on, states, strict=True)
            for other in self.differs(choice, options, state)
        ]
        return self.all_of([literal, *(-other for other in differs)])

    def all_of(self, literals: Iterable[int]) -> int:
        """A literal that is true exactly when all of these are."""
        return -self.any_of(-literal for literal in literals)

    def any_of(self, literals: Iterable[int]) -> int:
        """A literal that is true exactly when one of these is; the same for the same ones.

        By hand: python-sat's own formulas take 114 microseconds a definition for 1.6, and name
        variables in a pool that a whole process shares.
        """
        key = tuple(sorted(set(literals)))
        if len(key) == 1:
            return key[0]
        if key not in self._disjunctions:
            made = self.new()
            self.clauses.append([-made, *key])
            self.clauses += [[made, -literal] for literal in key]
            self._disjunctions[key] = made
        return self._disjunctions[key]

    def _test(self, test: Test) -> int:
        choice = self.catalogue.by_id[test.choice]
        options = sorted(set(test.options)) or sorted(choice.by_id)
        if (test.at_least, test.at_most) == (1, None):
            return self.any_of([self.levels[choice.id, option, 1] for option in options])
        keys = sorted(key for key in self.levels if key[0] == choice.id and key[1] in options)
        outputs = self._sum([self.levels[key] for key in keys])

        def reaches(count: int) -> int:
            if count <= 0:
                return self.true
            return outputs[count - 1] if count <= len(outputs) else -self.true

        low = reaches(test.at_least)
        if test.at_most is None:
            return low
        return self.all_of([low, -reaches(test.at_most + 1)])

    def _sum(self, literals: list[int]) -> list[int]:
        """Outputs of which the k-th (from 0) is true exactly when more than k literals are.

        A totalizer: O. Bailleux and Y. Boufkhad, "Efficient CNF encoding of Boolean cardinality
        constraints", CP 2003. By hand, since that of python-sat says only that many inputs make
        an output true, not that few make it false, which a condition needs as well.
        """
        key = tuple(literals)
        if len(literals) <= 1:
            return list(literals)
        if key not in self.sums:
            middle = len(literals) // 2
            left, right = self._sum(literals[:middle]), self._sum(literals[middle:])
            outputs = [self.new() for _ in literals]
            for a in range(len(left) + 1):
                for b in range(len(right) + 1):
                    if a + b:
                        some = [-left[a - 1]] if a else []
                        more = [-right[b - 1]] if b else []
                        self.clauses.append([*some, *more, outputs[a + b - 1]])
                    if a + b < len(outputs):
                        some = [left[a]] if a < len(left) else []
                        more = [right[b]] if b < len(right) else []
                        self.clauses.append([*some, *more, -outputs[a + b]])
            self.sums[key] = outputs
        return self.sums[key]
