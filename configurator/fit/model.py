"""The same question asked of OR-Tools' CP-SAT, for rooms that the search cannot settle in time.

One model of everything in :mod:`configurator.fit.rooms`: how each unit stands and on what
as literals, corners as integers, every pair of blocks apart along one of three axes, and what
crosses one plane told besides (:mod:`configurator.fit.rooms`). One worker, a fixed seed
and a budget in deterministic work make the answer the same on every machine; an answer that does
not come within the budget is no answer.
"""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING, Any

from configurator.fit.rooms import FREE, Room, Spot, crossings
from configurator.fit.shapes import Block, Shape, along, kept_out, pairs
from configurator.solving import solve
from configurator.words import text

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

WORK = 10.0
"""Deterministic work allowed, in CP-SAT's own unit (about a second on a fast machine)."""

SEED = 7
"""Of the solver's random choices about rooms."""


def arrange_hard(room: Room, work: float = WORK) -> tuple[Spot, ...] | None:
    """A spot for every item that has to go in, or None, which is a proof that there is none.

    Raises:
        SearchLimit: no answer within the work allowed.
    """
    if any(not item.shapes or not item.supports for item in room.must):
        return None
    model = RoomModel(room)
    question = text("whether {n} units go in together", n=len(room.items))
    found = solve(model.model, question, work, SEED)
    return None if found is None else model.spots(found.solver)


class RoomModel:
    """The model and its variables.

    Args:
        room: what has to be arranged.
        beside: a model to add to, for rooms that are asked about together.
    """

    def __init__(self, room: Room, beside: cp_model.CpModel | None = None) -> None:
        from ortools.sat.python import cp_model

        self.room = room
        self.model = cp_model.CpModel() if beside is None else beside
        inside = room.inside
        self.reach = 2 * (inside.length + inside.width + inside.height) + 400_000
        self.shapes: list[list[cp_model.IntVar]] = []
        self.supports: list[list[cp_model.IntVar]] = []
        self.corner: list[tuple[cp_model.IntVar, ...]] = []
        self.above: dict[tuple[int, int], Any] = {}
        for index in range(len(room.items)):
            self._item(index)
        self._stacks()
        for index in range(len(room.items)):
            self._supports(index)
            self._gear(index)
        self.crossing: list[frozenset[tuple[int, int]]] = []
        self._crossings()
        for one, other in combinations(range(len(room.items)), 2):
            self._apart(one, other)
        self._tops()
        self._slides()
        self._loads()
        self._in_order()

    def _item(self, index: int) -> None:
        item, inside, model = self.room.items[index], self.room.inside, self.model
        shapes = [model.new_bool_var(f"shape {index} {k}") for k in range(len(item.shapes))]
        supports = [model.new_bool_var(f"support {index} {k}") for k in range(len(item.supports))]
        if item.optional:
            model.add_at_most_one(shapes)
            model.add(sum(shapes) == sum(supports))
        else:
            model.add_exactly_one(shapes)
            model.add_exactly_one(supports)
        corner = tuple(
            model.new_int_var(0, size, f"{axis} {index}")
            for axis, size in zip("xyz", (inside.length, inside.width, inside.height), strict=True)
        )
        for chosen, shape in zip(shapes, item.shapes, strict=True):
            for variable, (low, high) in zip(corner, (shape.x, shape.y, shape.z), strict=True):
                model.add_linear_constraint(variable, low, high).only_enforce_if(chosen)
        self.shapes.append(shapes)
        self.supports.append(supports)
        self.corner.append(corner)

    def _stacks(self) -> None:
        """``above[u, c]``: u stands on c, directly or through others; no circles."""
        items, model = self.room.items, self.model
        count = len(items)
        levels = [model.new_int_var(0, count, f"level {i}") for i in range(count)]
        direct: dict[tuple[int, int], Any] = {}
        for index, item in enumerate(items):
            for chosen, support in zip(self.supports[index], item.supports, strict=True):
                if support.on != FREE:
                    direct.setdefault((index, support.on), []).append(chosen)
                    model.add_bool_or([~chosen, *self.shapes[support.on]])
                    model.add(levels[index] >= levels[support.on] + 1).only_enforce_if(chosen)
        for u in range(count):
            for c in range(count):
                if u != c:
                    self.above[u, c] = model.new_bool_var(f"above {u} {c}")
        for (u, c), above in self.above.items():
            ways = list(direct.get((u, c), []))
            for way in ways:
                model.add_implication(way, above)
            for b in range(count):
                if b in (u, c):
                    continue
                for way in direct.get((u, b), []):
                    model.add_bool_or([~way, ~self.above[b, c], above])
                    through = model.new_bool_var("")
                    model.add_implication(through, way)
                    model.add_implication(through, self.above[b, c])
                    ways.append(through)
            model.add_bool_or([*ways, ~above])

    def _supports(self, index: int) -> None:
        item, model = self.room.items[index], self.model
        z = self.corner[index][2]
        for chosen, support in zip(self.supports[index], item.supports, strict=True):
            if support.on == FREE:
                model.add(z == support.rise).only_enforce_if(chosen)
                continue
            model.add(z == self.corner[support.on][2] + support.rise).only_enforce_if(chosen)
            for mine, shape in zip(self.shapes[index], item.shapes, strict=True):
                for its, under in zip(
                    self.shapes[support.on], self.room.items[support.on].shapes, strict=True
                ):
                    self._on_bed(index, support.on, shape, under, [chosen, mine, its])

    def _on_bed(
        self, index: int, carrier: int, shape: Shape, under: Shape, when: list[Any]
    ) -> None:
        model = self.model
        for axis in (0, 1):
            size = shape.size[axis]
            over = self.room.items[index].over(size)
            if under.bed is None or size > under.bed_size[axis] + 2 * over:
                model.add_bool_or([~literal for literal in when])
                return
            gap = self.corner[index][axis] - self.corner[carrier][axis]
            first, last = under.bed[2 * axis], under.bed[2 * axis + 1]
            model.add_linear_constraint(gap, first - over, last + over - size).only_enforce_if(when)

    def _gear(self, index: int) -> None:
        for chosen, shape in zip(self.shapes[index], self.room.items[index].shapes, strict=True):
            for block in shape.sweeps:
                self._off_gear(index, block, [chosen])

    def _off_gear(self, index: int, block: Block, when: list[Any]) -> None:
        for gear in self.room.gear:
            ways = []
            for axis in (0, 1, 2):
                here = self.corner[index][axis]
                low, high = 2 * axis, 2 * axis + 1
                ways.append(self._if(here + block[high] <= gear[low]))
                ways.append(self._if(here + block[low] >= gear[high]))
            self.model.add_bool_or([*ways, *(~literal for literal in when)])

    def _if(self, constraint: Any) -> Any:
        """A literal that makes the constraint hold."""
        literal = self.model.new_bool_var("")
        self.model.add(constraint).only_enforce_if(literal)
        return literal

    def _off(self, one: int, other: int, a: Block, b: Block) -> list[Any]:
        """Literals, one for each way in which two blocks lie apart."""
        ways = []
        for axis in (0, 1, 2):
            here, there = self.corner[one][axis], self.corner[other][axis]
            low, high = 2 * axis, 2 * axis + 1
            ways.append(self._if(here + a[high] <= there + b[low]))
            ways.append(self._if(there + b[high] <= here + a[low]))
        return ways

    def _apart(self, one: int, other: int) -> None:
        stacked = [self.above[one, other], self.above[other, one]]
        known: dict[tuple[Block, Block], list[Any]] = {}
        for mine, first in enumerate(self.room.items[one].shapes):
            for its, second in enumerate(self.room.items[other].shapes):
                told = self._told(frozenset({(one, mine), (other, its)}))
                for a, b in pairs(first, second):
                    if told and (a, b) == (first.body, second.body):
                        continue
                    if (a, b) not in known:
                        known[a, b] = self._off(one, other, a, b)
                    not_so = [~self.shapes[one][mine], ~self.shapes[other][its]]
                    self.model.add_bool_or([*known[a, b], *stacked, *not_so])

    def _told(self, both: frozenset[tuple[int, int]]) -> bool:
        """Whether a constraint already keeps them apart in a plane that both cross."""
        return any(both <= crossing for crossing in self.crossing)

    def _tops(self) -> None:
        """What stands on a unit keeps out of that one's top clearance."""
        for (u, c), above in self.above.items():
            rise = self.corner[u][2] - self.corner[c][2]
            for its, under in zip(self.shapes[c], self.room.items[c].shapes, strict=True):
                for mine, shape in zip(self.shapes[u], self.room.items[u].shapes, strict=True):
                    barred = kept_out(under, shape)
                    if barred:
                        ways = [self._if(rise < barred.start), self._if(rise >= barred.stop)]
                        self.model.add_bool_or([*ways, ~above, ~its, ~mine])

    def _slides(self) -> None:
        for (u, c), above in self.above.items():
            for its, under in zip(self.shapes[c], self.room.items[c].shapes, strict=True):
                if under.way is None:
                    continue
                for mine, shape in zip(self.shapes[u], self.room.items[u].shapes, strict=True):
                    self._goes_along(u, c, shape, under, [above, its, mine])

    def _goes_along(self, u: int, c: int, shape: Shape, under: Shape, when: list[Any]) -> None:
        assert under.way is not None
        block = along(shape.body, under.way)
        self._off_gear(u, block, when)
        if under.window is not None:
            start, end, sill, top = under.window
            axis = 1 if under.side == "rear" else 0
            for at, low, high in ((axis, start, end), (2, sill, top)):
                self.model.add_linear_constraint(
                    self.corner[u][at], low, high - shape.size[at]
                ).only_enforce_if(when)
        for w in range(len(self.room.items)):
            if w in (u, c):
                continue
            moves = [self.above[w, c], self.above[c, w]]
            known: dict[Block, list[Any]] = {}
            for its, stays in zip(self.shapes[w], self.room.items[w].shapes, strict=True):
                if stays.body not in known:
                    known[stays.body] = self._off(u, w, block, stays.body)
                self.model.add_bool_or(
                    [*known[stays.body], *moves, ~its, *(~literal for literal in when)]
                )

    def _loads(self) -> None:
        items = self.room.items
        masses = [m for item in items for m in (item.laden, item.carries) if m is not None]
        scale = 10 ** max([0, *(-int(mass.as_tuple().exponent) for mass in masses)])
        for c, item in enumerate(items):
            if item.carries is not None:
                self.model.add(
                    sum(
                        int(items[u].laden * scale) * self.above[u, c]
                        for u in range(len(items))
                        if u != c
                    )
                    <= int((item.carries * scale).to_integral_value(rounding="ROUND_FLOOR"))
                )

    def _crossings(self) -> None:
        """What crosses one plane lies apart in it, and has room in all and along each line."""
        inside = self.room.inside
        ends = (inside.length, inside.width, inside.height)
        for axis, crossing in crossings(self.room):
            one, other = (a for a in (0, 1, 2) if a != axis)
            self.crossing.append(frozenset(crossing))
            present = [self.shapes[index][place] for index, place in crossing]
            sizes = [self.room.items[index].shapes[place].size for index, place in crossing]
            spans = {
                along: [
                    self.model.new_optional_fixed_size_interval_var(
                        self.corner[index][along], size[along], literal, ""
                    )
                    for (index, _), size, literal in zip(crossing, sizes, present, strict=True)
                ]
                for along in (one, other)
            }
            self.model.add_no_overlap_2d(spans[one], spans[other])
            for one_way, across in ((one, other), (other, one)):
                demands = [size[across] for size in sizes]
                self.model.add_cumulative(spans[one_way], demands, ends[across])
            area = sum(s[one] * s[other] * here for s, here in zip(sizes, present, strict=True))
            self.model.add(area <= ends[one] * ends[other])

    def _in_order(self) -> None:
        """Units of one kind may change places: they go rearward in their order."""
        last: dict[str, int] = {}
        for index, item in enumerate(self.room.items):
            if item.optional:
                continue
            if item.kind in last:
                self.model.add(self.corner[last[item.kind]][0] <= self.corner[index][0])
            last[item.kind] = index

    def twice_middle(self, index: int) -> Any:
        """Twice the middle of the item's body behind the inside front, mm: a whole number."""
        lengths = [shape.size[0] for shape in self.room.items[index].shapes]
        turned = zip(lengths, self.shapes[index], strict=True)
        return 2 * self.corner[index][0] + sum(length * chosen for length, chosen in turned)

    def spots(self, solver: cp_model.CpSolver) -> tuple[Spot, ...]:
        """Where the solver put everything."""
        spots = []
        for index, item in enumerate(self.room.items):
            if item.optional:
                continue
            shape = next(
                s
                for v, s in zip(self.shapes[index], item.shapes, strict=True)
                if solver.boolean_value(v)
            )
            support = next(
                s
                for v, s in zip(self.supports[index], item.supports, strict=True)
                if solver.boolean_value(v)
            )
            x, y, z = (solver.value(variable) for variable in self.corner[index])
            spots.append(Spot(shape, support, x, y, z))
        return tuple(spots)
