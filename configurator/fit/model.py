"""The same packing problem for OR-Tools CP-SAT, where the search cannot settle it.

One model of everything in :mod:`configurator.fit.rooms`: how each unit stands and on what
as literals, corners as integers, every pair of blocks apart along one of three axes, and what
crosses one plane told besides. One worker, a fixed seed and a budget in deterministic work make the
answer the same on every machine; an answer that does not come within the budget is no answer.
"""

from __future__ import annotations

from collections.abc import Collection
from itertools import combinations, product
from typing import TYPE_CHECKING, Any, TypeAlias

from configurator.fit.carriers import reached
from configurator.fit.rooms import FREE, Room, Spot, Support, UnitToPlace, crossings
from configurator.fit.shapes import Block, Range, Shape, along, kept_out, pairs, passing
from configurator.machine.solvers import solve, unsettled
from configurator.words import text

if TYPE_CHECKING:
    from configurator.machine.cp_sat import cp_model

Corner: TypeAlias = tuple[Any, Any, Any]
"""The x, y and z of a body's corner, each a variable or a number."""

WORK = 10.0
"""Deterministic work allowed, in CP-SAT's own unit (about a second on a fast machine)."""

SEED = 7
"""Of the solver's random choices about rooms."""


def arrange_hard(room: Room, work: float = WORK, light: bool = False) -> tuple[Spot, ...] | None:
    """A spot for every item that has to go in, or None, which is a proof that there is none.

    Args:
        room: what has to be arranged.
        work: deterministic work allowed.
        light: search at once, with next to no work on the model before.

    Raises:
        SearchLimit: no answer within the work allowed.
    """
    if any(not item.shapes or not item.supports for item in room.must):
        return None
    question = text("whether {n} units go in together", n=len(room.items))
    with unsettled(question):
        model = RoomModel(room)
        found = solve(model.model, question, work, SEED, light)
        return None if found is None else model.spots(found.solver)


class RoomModel:
    """The model and its variables.

    Args:
        room: what has to be arranged.
        beside: a model to add to, for rooms that are asked about together.
        assumed: optional items of which it may be assumed that they go in.
    """

    def __init__(
        self, room: Room, beside: cp_model.CpModel | None = None, assumed: Collection[int] = ()
    ) -> None:
        from configurator.machine.cp_sat import cp_model

        self.room = room
        self.model = cp_model.CpModel() if beside is None else beside
        self.ways: list[list[tuple[Any, Shape]]] = []
        self.rests: list[list[tuple[Any, Support]]] = []
        self.corner: dict[int, Corner] = {FREE: (0, 0, 0)}
        self.ends: dict[int, tuple[Range, ...]] = {FREE: ((0, 0),) * 3}
        self.above: dict[tuple[int, int], Any] = {}
        self.beyond: dict[tuple[int, int, int, int], Any] = {}
        for index, item in enumerate(room.items):
            self._item(index, item)
        self._stacks()
        for index, item in enumerate(room.items):
            self._stands(index, item)
            for chosen, shape in self.ways[index]:
                for block in shape.sweeps:
                    self._off_gear(index, block, [chosen])
        self.crossing: list[frozenset[tuple[int, int]]] = []
        self._crossings()
        for one, other in combinations(range(len(room.items)), 2):
            self._apart(one, other)
        for (u, c), above in self.above.items():
            for (mine, shape), (its, under) in product(self.ways[u], self.ways[c]):
                self._carried(u, c, shape, under, [above, its, mine])
        self._loads()
        self.there = {at: self._goes_in(at) for at in assumed}
        self._in_order()

    def _item(self, index: int, item: UnitToPlace) -> None:
        inside, model = self.room.inside, self.model
        shapes = [model.new_bool_var(f"shape {index} {k}") for k in range(len(item.shapes))]
        supports = [model.new_bool_var(f"support {index} {k}") for k in range(len(item.supports))]
        if item.optional:
            model.add_at_most_one(shapes)
            model.add(sum(shapes) == sum(supports))
        else:
            model.add_exactly_one(shapes)
            model.add_exactly_one(supports)
        whole = (0, inside.length), (0, inside.width), (0, inside.height)
        ranges = [(shape.x, shape.y, shape.z) for shape in item.shapes] or [whole]
        self.ends[index] = tuple(
            (min(low for low, _ in mine), max(high for _, high in mine))
            for mine in zip(*ranges, strict=True)
        )
        x, y, z = (model.new_int_var(*ends, f"corner {index}") for ends in self.ends[index])
        corner = x, y, z
        self.ways.append(list(zip(shapes, item.shapes, strict=True)))
        self.rests.append(list(zip(supports, item.supports, strict=True)))
        self.corner[index] = corner
        for chosen, shape in self.ways[index]:
            for variable, (low, high) in zip(corner, (shape.x, shape.y, shape.z), strict=True):
                model.add_linear_constraint(variable, low, high).only_enforce_if(chosen)

    def _stacks(self) -> None:
        """``above[u, c]``: u stands on c, directly or through others; no circles."""
        model, count = self.model, len(self.room.items)
        levels = [model.new_int_var(0, count, f"level {i}") for i in range(count)]
        direct: dict[tuple[int, int], list[Any]] = {}
        for index in range(count):
            for chosen, support in self.rests[index]:
                if support.on != FREE:
                    direct.setdefault((index, support.on), []).append(chosen)
                    model.add_bool_or([~chosen, *(way for way, _ in self.ways[support.on])])
                    model.add(levels[index] >= levels[support.on] + 1).only_enforce_if(chosen)
        under = [{on for u, on in direct if u == index} for index in range(count)]
        for u in range(count):
            for c in sorted(reached(under[u], under.__getitem__) - {u}):
                self.above[u, c] = model.new_bool_var(f"above {u} {c}")
        for (u, c), above in self.above.items():
            ways = list(direct.get((u, c), []))
            for way in ways:
                model.add_implication(way, above)
            for b in (b for b in range(count) if (b, c) in self.above and b != u):
                for way in direct.get((u, b), []):
                    model.add_bool_or([~way, ~self.above[b, c], above])
                    through = model.new_bool_var("")
                    model.add_implication(through, way)
                    model.add_implication(through, self.above[b, c])
                    ways.append(through)
            model.add_bool_or([*ways, ~above])

    def _stands(self, index: int, item: UnitToPlace) -> None:
        """At its height: on the floor, hung, or on the bed of its carrier."""
        model, corner = self.model, self.corner
        for chosen, support in self.rests[index]:
            under = 0 if support.on == FREE else corner[support.on][2]
            model.add(corner[index][2] == under + support.rise).only_enforce_if(chosen)
            if support.on == FREE:
                continue
            for (mine, shape), (its, carrier) in product(self.ways[index], self.ways[support.on]):
                bed = item.on_bed(shape, carrier)
                if bed is None:
                    model.add_bool_or([~chosen, ~mine, ~its])
                    continue
                for axis, (first, last) in enumerate(bed):
                    gap = corner[index][axis] - corner[support.on][axis]
                    held = model.add_linear_constraint(gap, first, last)
                    held.only_enforce_if([chosen, mine, its])

    def _if(self, constraint: Any) -> Any:
        """A literal that makes the constraint hold."""
        literal = self.model.new_bool_var("")
        self.model.add(constraint).only_enforce_if(literal)
        return literal

    def _off(self, here: int, a: Block, there: int, b: Block) -> list[Any]:
        """Literals, one for each way in which two blocks, of items or a gear, may lie apart."""
        ways = []
        for axis in (0, 1, 2):
            low, high = 2 * axis, 2 * axis + 1
            ways.append(self._beyond(here, there, axis, a[high] - b[low]))
            ways.append(self._beyond(there, here, axis, b[high] - a[low]))
        return [way for way in ways if way is not None]

    def _beyond(self, one: int, other: int, axis: int, gap: int) -> Any:
        """A literal that puts the other's corner so far beyond the one's; None where it cannot be.

        One serves all blocks that need the same: with that, and stacks only where they can be, a
        room of 26 units has 4 117 variables in place of 126 906, and is proved in 1.4 s, not 6.9.
        """
        if self.ends[one][axis][0] + gap > self.ends[other][axis][1]:
            return None
        key = one, other, axis, gap
        if key not in self.beyond:
            self.beyond[key] = self._if(self.corner[one][axis] + gap <= self.corner[other][axis])
        return self.beyond[key]

    def _off_gear(self, index: int, block: Block, when: list[Any]) -> None:
        for gear in self.room.gear:
            ways = self._off(index, block, FREE, gear)
            self.model.add_bool_or([*ways, *(~literal for literal in when)])

    def _either_above(self, one: int, other: int) -> list[Any]:
        """Literals that one of the two stands on the other."""
        return [self.above[way] for way in ((one, other), (other, one)) if way in self.above]

    def _apart(self, one: int, other: int) -> None:
        stacked = self._either_above(one, other)
        for (at, (mine, first)), (there, (its, second)) in product(
            enumerate(self.ways[one]), enumerate(self.ways[other])
        ):
            both = frozenset({(one, at), (other, there)})
            told = any(both <= crossing for crossing in self.crossing)
            for a, b in pairs(first, second):
                if told and (a, b) == (first.body, second.body):
                    continue
                self.model.add_bool_or([*self._off(one, a, other, b), *stacked, ~mine, ~its])

    def _carried(self, u: int, c: int, shape: Shape, under: Shape, when: list[Any]) -> None:
        """What stands on a unit keeps out of that one's top clearance, and slides out with it."""
        model, not_so = self.model, [~literal for literal in when]
        barred = kept_out(under, shape)
        if barred:
            rise = self.corner[u][2] - self.corner[c][2]
            ways = [self._if(rise < barred.start), self._if(rise >= barred.stop)]
            model.add_bool_or([*ways, *not_so])
        if under.way is None:
            return
        block = along(shape.body, under.way)
        self._off_gear(u, block, when)
        for axis, first, last in passing(shape, under):
            held = model.add_linear_constraint(self.corner[u][axis], first, last)
            held.only_enforce_if(when)
        for w in (w for w in range(len(self.room.items)) if w not in (u, c)):
            moves = self._either_above(w, c)
            for its, stays in self.ways[w]:
                apart = self._off(u, block, w, stays.body)
                model.add_bool_or([*apart, *moves, ~its, *not_so])

    def _loads(self) -> None:
        items = self.room.items
        masses = [m for item in items for m in (item.laden, item.carries) if m is not None]
        scale = 10 ** max([0, *(-int(mass.as_tuple().exponent) for mass in masses)])
        for c, item in enumerate(items):
            if item.carries is not None:
                on = ((u, above) for (u, carrier), above in self.above.items() if carrier == c)
                most = int((item.carries * scale).to_integral_value(rounding="ROUND_FLOOR"))
                self.model.add(sum(int(items[u].laden * scale) * above for u, above in on) <= most)

    def _crossings(self) -> None:
        """What crosses one plane lies apart in it, and has room in all and along each line.

        Of 27 full floors 26 are settled in 9 CPU s; without this 9 in 31.
        """
        inside, model = self.room.inside, self.model
        ends = (inside.length, inside.width, inside.height)
        for axis, crossing in crossings(self.room):
            one, other = (a for a in (0, 1, 2) if a != axis)
            self.crossing.append(frozenset(crossing))
            there = [(self.corner[index], *self.ways[index][place]) for index, place in crossing]
            spans = {
                along: [
                    model.new_optional_fixed_size_interval_var(
                        corner[along], shape.size[along], literal, ""
                    )
                    for corner, literal, shape in there
                ]
                for along in (one, other)
            }
            model.add_no_overlap_2d(spans[one], spans[other])
            for one_way, across in ((one, other), (other, one)):
                demands = [shape.size[across] for _, _, shape in there]
                model.add_cumulative(spans[one_way], demands, ends[across])
            area = sum(s.size[one] * s.size[other] * literal for _, literal, s in there)
            model.add(area <= ends[one] * ends[other])

    def _goes_in(self, index: int) -> Any:
        """A literal that makes the item go in."""
        return self._if(sum(way for way, _ in self.ways[index]) == 1)

    def _in_order(self) -> None:
        """Units of one kind may change places: in their order they go along the shorter side.

        Those that need not go in come in one by one.
        """
        last: dict[tuple[str, bool, bool], int] = {}
        axis = 0 if self.room.inside.length <= self.room.inside.width else 1
        for index, item in enumerate(self.room.items):
            key = item.kind, item.optional, index in self.there
            before = last.get(key)
            if before is not None:
                self.model.add(self.corner[before][axis] <= self.corner[index][axis])
                there, here = (sum(way for way, _ in self.ways[i]) for i in (before, index))
                self.model.add(here <= there)
            last[key] = index

    def twice_middle(self, index: int) -> Any:
        """Twice the middle of the item's body behind the inside front, mm: a whole number."""
        lengths = sum(shape.size[0] * chosen for chosen, shape in self.ways[index])
        return 2 * self.corner[index][0] + lengths

    def spots(self, solver: cp_model.CpSolver) -> tuple[Spot, ...]:
        """Where the solver put everything."""
        spots = []
        for index in self.room.must_at:
            shape = next(s for chosen, s in self.ways[index] if solver.boolean_value(chosen))
            support = next(s for chosen, s in self.rests[index] if solver.boolean_value(chosen))
            x, y, z = (solver.value(variable) for variable in self.corner[index])
            spots.append(Spot(shape, support, x, y, z))
        return tuple(spots)
