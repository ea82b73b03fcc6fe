"""What a good layout is, and whether there is one: written from the rules alone.

It shares no code with the package: it reads the catalogue's values and works out interiors,
openings, ways in, stacks and sweeps again, the plainest way. ``faults`` looks at one layout;
``possible`` tries every place on the grid of whole millimetres, so it is for tiny spaces.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from decimal import Decimal
from fractions import Fraction
from functools import cached_property
from itertools import product
from typing import Any, NamedTuple

from attrs import frozen

from configurator import Catalogue
from configurator.catalogue.model import Option
from configurator.catalogue.parts import FixedMass
from configurator.catalogue.units import Edges, Unit
from configurator.fit.layout import Placement
from configurator.selection.resolved import Resolved


class Hole(NamedTuple):
    side: str
    start: int
    end: int
    sill: int
    top: int
    gear: tuple[int, int, int]
    moves: str = ""


class Space(NamedTuple):
    length: int
    width: int
    height: int
    closed: bool
    cells: list[tuple[int, int]]
    holes: list[Hole]


Cuboid = tuple[tuple[int, int], tuple[int, int], tuple[int, int]]


@frozen(eq=False)
class Posed:
    """A unit somewhere: who it is, where its front points, its corner, and what it stands on."""

    name: str
    option: Option
    front: str
    side: str
    corner: tuple[int, int, int]
    on: str

    @cached_property
    def unit(self) -> Unit:
        assert self.option.unit is not None
        return self.option.unit

    @cached_property
    def size(self) -> tuple[int, int, int]:
        body = self.unit.body
        if self.front in ("left", "right"):
            return body.width, body.depth, body.height
        return body.depth, body.width, body.height

    @cached_property
    def body(self) -> Cuboid:
        (x, y, z), (a, b, c) = self.corner, self.size
        return (x, x + a), (y, y + b), (z, z + c)

    @cached_property
    def clear(self) -> Cuboid:
        """Its body and its clearances."""
        (x0, x1), (y0, y1), (z0, z1) = self.body
        a, b, c, d = margins(self)
        m = self.unit.clearance
        return (x0 - a, x1 + b), (y0 - c, y1 + d), (z0 - m.bottom, z1 + m.top)


def space_of(catalogue: Catalogue, picked: list[tuple[str, Option, int]], space: str) -> Space:
    parts = [part for _, option, _ in picked for name, part in option.space if name == space]

    def outside(which: str) -> int:
        return min(int(getattr(p, which)) for p in parts if getattr(p, which) is not None)

    wall = sum(Fraction(p.wall) for p in parts)
    length = math.floor(outside("length") - 2 * wall)
    width = math.floor(outside("width") - 2 * wall)
    height = math.floor(
        outside("height")
        - sum(Fraction(p.roof) for p in parts)
        - sum(Fraction(p.floor) for p in parts)
    )
    length, width, height = max(0, length), max(0, width), max(0, height)
    thick = sum(Fraction(p.divider) for p in parts)
    cells = [(0, width)]
    if thick:
        given = [p.divider_at for p in parts if p.divider and p.divider_at is not None]
        middle = Fraction(min(given)) if given else Fraction(width, 2)
        left, right = math.floor(middle - thick / 2), math.ceil(middle + thick / 2)
        cells = [(0, min(max(left, 0), width)), (max(0, min(right, width)), width)]
    holes = []
    for _, option, _ in picked:
        for o in option.openings:
            if o.space != space:
                continue
            run = width if o.side == "rear" else length
            if o.width is None:
                start, end = o.front or 0, run - (o.rear or 0)
            elif o.front is not None:
                start, end = o.front, o.front + o.width
            else:
                start, end = run - (o.rear or 0) - o.width, run - (o.rear or 0)
            start, end = max(start, 0), min(end, run)
            top = height - o.header
            if start < end and o.sill < top:
                gear = (o.gear.width, o.gear.height, o.gear.depth) if o.gear else (0, 0, 0)
                holes.append(Hole(o.side, start, end, o.sill, top, gear, o.moves))
    closed = any(
        o.space == space
        for c in (*catalogue.choices, catalogue.add_ons)
        for option in c.options
        for o in option.openings
    )
    return Space(length, width, height, closed, cells, holes)


def picks_of(build: Resolved) -> list[tuple[str, Option, int]]:
    return [
        (c, build.catalogue.option(c, o), n)
        for (c, o), n in sorted(build.selection.quantities.items())
    ]


def overlap(a: Cuboid, b: Cuboid) -> bool:
    for (p0, p1), (q0, q1) in zip(a, b, strict=True):
        if not (p0 < q1 and q0 < p1 and p0 < p1 and q0 < q1):
            return False
    return True


def margins(p: Posed) -> tuple[int, int, int, int]:
    """Clearance towards low x, high x, low y, high y."""
    c = p.unit.clearance
    if p.front == "left":  # its left hand points to the front of the vehicle
        return c.left, c.right, c.front, c.rear
    if p.front == "right":
        return c.right, c.left, c.rear, c.front
    if p.front == "rear":
        return c.rear, c.front, c.left, c.right
    return c.front, c.rear, c.right, c.left


def bare(p: Posed) -> tuple[tuple[int, int], tuple[int, int]]:
    """Along its side and up: the part of its face that no frame may hide."""
    (x0, x1), (y0, y1), (z0, z1) = p.body
    h = p.unit.behind_frame
    if p.unit.travel:  # what slides out passes whole
        h = Edges()
    run = (y0, y1) if p.front in ("rear", "front") else (x0, x1)
    low, high = (h.right, h.left) if p.front == "right" else (h.left, h.right)
    return (run[0] + low, run[1] - high), (z0 + h.bottom, z1 - h.top)


def _own_door(p: Posed) -> tuple[tuple[int, int], tuple[int, int]] | None:
    if p.unit.swing is None:
        return None
    (a, b), (low, high) = bare(p)
    reach = p.unit.swing.reach
    hinge = p.unit.swing.hinge
    if hinge == "top":
        return (a, b), (high - reach, high)
    if hinge == "bottom":
        return (a, b), (low, low + reach)
    at_low_end = (hinge == "left") if p.front != "right" else (hinge == "right")
    return ((a, a + reach) if at_low_end else (b - reach, b)), (low, high)


def before(p: Posed, run: tuple[int, int], up: tuple[int, int], reach: int) -> Cuboid:
    (_, x1), (y0, y1), _ = p.body
    if p.side == "left":
        return run, (y0 - reach, y0), up
    if p.side == "right":
        return run, (y1, y1 + reach), up
    return (x1, x1 + reach), run, up


def sweeps(p: Posed) -> list[Cuboid]:
    found = []
    if p.side and p.unit.travel:
        found.append(before(p, *bare(p), p.unit.travel))
    door = _own_door(p)
    if p.side and door and p.unit.swing:
        found.append(before(p, *door, p.unit.swing.reach))
    return found


def behind(p: Posed, space: Space) -> int:
    """How far its working face is behind the side that it works from."""
    (_, x1), (y0, y1), _ = p.body
    return {"left": y0, "right": space.width - y1, "rear": space.length - x1}[p.side]


def _arms(p: Posed, space: Space) -> list[Cuboid]:
    """What lies between a face that is set back and its side."""
    if not p.side or behind(p, space) == p.unit.clearance.front:
        return []
    return [before(p, *bare(p), behind(p, space))]


def _gears(space: Space) -> Iterator[Cuboid]:
    for hole in space.holes:
        w, h, d = hole.gear
        up = (max(hole.sill, hole.top - h), hole.top)
        if hole.moves == "folds-down":
            up = (hole.sill, min(hole.top, hole.sill + h))
        for run in (
            (hole.start, min(hole.end, hole.start + w)),
            (max(hole.start, hole.end - w), hole.end),
        ):
            if hole.side == "left":
                yield run, (0, d), up
            elif hole.side == "right":
                yield run, (space.width - d, space.width), up
            else:
                yield (space.length - d, space.length), run, up


def leaves(space: Space, hole: Hole) -> Iterator[Cuboid]:
    """The open door, outside: flat over or under its opening, or square to it at both jambs."""
    run, up = (hole.start, hole.end), (hole.sill, hole.top)
    if hole.moves == "lifts":
        shut = [(run, (hole.top, hole.top + 1), hole.top - hole.sill)]
    elif hole.moves == "folds-down":
        shut = [(run, (hole.sill - 1, hole.sill), hole.top - hole.sill)]
    elif hole.moves == "swings":
        jambs = (hole.start - 1, hole.start), (hole.end, hole.end + 1)
        shut = [(jamb, up, hole.end - hole.start) for jamb in jambs]
    else:
        shut = []
    for along, high, out in shut:
        if hole.side == "left":
            yield along, (-out, 0), high
        elif hole.side == "right":
            yield along, (space.width, space.width + out), high
        else:
            yield (space.length, space.length + out), along, high


def _clears_door(swept: Cuboid, space: Space, hole: Hole) -> bool:
    return not any(overlap(swept, leaf) for leaf in leaves(space, hole))


def within(run: tuple[int, int], up: tuple[int, int], hole: Hole) -> bool:
    return hole.start <= run[0] and run[1] <= hole.end and hole.sill <= up[0] and up[1] <= hole.top


def _cell_holes(space: Space, cell: tuple[int, int]) -> Iterator[Hole]:
    for hole in space.holes:
        if hole.side == "rear":
            start, end = max(hole.start, cell[0]), min(hole.end, cell[1])
            if start < end:
                yield hole._replace(start=start, end=end)
        elif (hole.side == "left" and cell[0] == 0) or (
            hole.side == "right" and cell[1] == space.width
        ):
            yield hole


def through(p: int, q: int, a: int, b: int) -> bool:
    """Rectangle p by q through a by b, turned at will: the second published form."""
    p, q = max(p, q), min(p, q)
    a, b = max(a, b), min(a, b)
    if p <= a and q <= b:
        return True
    if q > b or p == q:
        return False
    return Fraction(a + b, p + q) ** 2 + Fraction(a - b, p - q) ** 2 >= 2


def _gets_in(p: Posed, space: Space, cell: tuple[int, int]) -> bool:
    a, b, h = p.size
    run, reach, up = space.length, cell[1] - cell[0], space.height
    return any(
        _comes_out((b, a, h), (reach, run, up), hole, set())
        if hole.side == "rear"
        else _comes_out((a, b, h), (run, reach, up), hole, set())
        for hole in _cell_holes(space, cell)
    )


def _comes_out(
    held: tuple[int, int, int],
    room: tuple[int, int, int],
    hole: Hole,
    seen: set[tuple[int, int, int]],
) -> bool:
    """The way in, backwards: by quarter turns from how it stands to how it passes."""
    if held in seen:
        return False
    seen.add(held)
    (i, j, k), (run, reach, up) = held, room
    wide, high = hole.end - hole.start, hole.top - hole.sill
    tips = i**2 + k**2 <= min(run, up) ** 2
    if (i <= wide and k <= high) or (tips and through(i, k, wide, high)):
        return True
    falls = j**2 + k**2 <= min(reach, up) ** 2
    turns = i**2 + j**2 <= min(run, reach) ** 2
    return (
        (tips and _comes_out((k, j, i), room, hole, seen))
        or (falls and _comes_out((i, k, j), room, hole, seen))
        or (turns and _comes_out((j, i, k), room, hole, seen))
    )


def alone(p: Posed, space: Space) -> str:
    """What is wrong with one unit in its place, whatever else is there; empty when nothing is."""
    box, room = p.body, p.clear
    u = p.unit
    if p.side and p.side != p.front:
        return "faces another way than it works"
    if (p.side and p.side not in u.works_from) or (not p.side and u.works_from):
        return "works from the wrong side"
    if not p.side and p.front in ("rear", "front") and not u.turns:
        return "is turned"
    if not (
        room[0][0] >= 0
        and room[0][1] <= space.length
        and room[2][0] >= 0
        and room[2][1] <= space.height
    ):
        return "sticks out"
    cell = next((c for c in space.cells if c[0] <= room[1][0] and room[1][1] <= c[1]), None)
    if cell is None:
        return "sticks out sideways"
    if p.side:
        gap = behind(p, space)
        if gap != u.clearance.front and not u.clearance.front < gap <= u.reach:
            return "is not flush"
    if space.closed:
        if p.side and not doors_of(p, space):
            return "its face is not in an opening"
        if p.side and not any(
            all(_clears_door(swept, space, hole) for swept in sweeps(p))
            for hole in doors_of(p, space)
        ):
            return "hits its own open door"
        if not u.built_in and not _gets_in(p, space, cell):
            return "does not get in"
    for swept in (box, *sweeps(p), *_arms(p, space)):
        if any(overlap(swept, gear) for gear in _gears(space)):
            return "hits the gear of a door"
    if p.on == "hung":
        return "" if u.hangs_at == p.corner[2] else "hangs at another height"
    if u.hangs_at is not None:
        return "should hang"
    if p.on == "floor" and ("floor" not in _carriers_of(u) or p.corner[2] != u.clearance.bottom):
        return "does not stand on the floor"
    return ""


def doors_of(p: Posed, space: Space) -> list[Hole]:
    cell = next(c for c in space.cells if c[0] <= p.body[1][0] and p.body[1][1] <= c[1])
    faces = [face for face in (bare(p), _own_door(p)) if face]
    return [
        hole
        for hole in _cell_holes(space, cell)
        if hole.side == p.side and all(within(*face, hole) for face in faces)
    ]


def below(p: Posed, posed: dict[str, Posed]) -> list[str]:
    chain: list[str] = []
    while p.on in posed:
        if p.on in chain:
            return [*chain, p.on, "circle"]
        chain.append(p.on)
        p = posed[p.on]
    return chain


def _carriers_of(unit: Unit) -> set[str]:
    return {str(carrier) for carrier in unit.stands_on}


def _may_stand(unit: Unit, name: str, carrier: Unit) -> bool:
    """Whether it may stand on the carrier of that name, wherever both are."""
    choice, _, rest = name.partition("=")
    named = f"{choice}={rest.partition('#')[0]}"
    return carrier.carries is not None and bool(_carriers_of(unit) & {choice, named})


def _on_carrier(p: Posed, c: Posed) -> str:
    return _on_bed(p, c) if _may_stand(p.unit, c.name, c.unit) else "may not stand there"


def _on_bed(p: Posed, c: Posed) -> str:
    """What is wrong with where it stands on a carrier that may carry it."""
    bed = c.unit.carries
    assert bed is not None
    at = c.unit.body.height if bed.at is None else bed.at
    if p.corner[2] != c.corner[2] + at + p.unit.clearance.bottom:
        return "stands at another height"
    (x0, x1), (y0, y1), _ = c.body
    if c.front in ("left", "right"):
        middle, half = Fraction(x0 + x1, 2), Fraction(bed.width, 2)
        bed_x = (math.floor(middle - half), math.ceil(middle + half))
        bed_y = (y0, y0 + bed.depth) if c.front == "left" else (y1 - bed.depth, y1)
        sizes = (bed.width, bed.depth)
    else:
        middle, half = Fraction(y0 + y1, 2), Fraction(bed.width, 2)
        bed_y = (math.floor(middle - half), math.ceil(middle + half))
        bed_x = (x0, x0 + bed.depth) if c.front == "front" else (x1 - bed.depth, x1)
        sizes = (bed.depth, bed.width)
    for (low, high), (first, last), size in zip(p.body[:2], (bed_x, bed_y), sizes, strict=True):
        over = min(p.unit.overhang, (high - low) // 2)
        if low < first - over or high > last + over or high - low > size + 2 * over:
            return "stands over the bed's edge"
    return ""


def _in_top_clearance(p: Posed, c: Posed) -> bool:
    """Whether what stands on c, directly or not, is at heights that c keeps clear above it."""
    over = c.body[2][1]
    kept = range(over, over + c.unit.clearance.top)
    shares = not (p.unit.clearance_exclusive or c.unit.clearance_exclusive)
    low, high = (p.body if shares else p.clear)[2]
    return any(low <= level < high for level in kept)


def mass(option: Option) -> Decimal:
    assert option.unit is not None
    fixed = (part.amount for part in option.mass if isinstance(part, FixedMass))
    return sum(fixed, option.unit.contents)


def clash(p: Posed, q: Posed, space: Space) -> bool:
    """Whether two units that do not stand on one another are too near."""
    if overlap(p.clear, q.body) or overlap(p.body, q.clear):
        return True
    if (p.unit.clearance_exclusive or q.unit.clearance_exclusive) and overlap(p.clear, q.clear):
        return True
    return any(overlap(s, q.body) for s in (*sweeps(p), *_arms(p, space))) or any(
        overlap(s, p.body) for s in (*sweeps(q), *_arms(q, space))
    )


def sliding(p: Posed) -> bool:
    return bool(p.unit.carries and p.unit.carries.slides and p.side)


def _slid(load: Posed, c: Posed) -> Cuboid:
    x, y, z = load.body
    t = c.unit.travel
    if c.side == "left":
        return x, (y[0] - t, y[1]), z
    if c.side == "right":
        return x, (y[0], y[1] + t), z
    return (x[0], x[1] + t), y, z


def together(all_posed: list[Posed], space: Space) -> Iterator[str]:
    """What is wrong with units of one space, given that each is right alone."""
    posed = {p.name: p for p in all_posed}
    for p in all_posed:
        if p.on in ("floor", "hung"):
            continue
        if p.on not in posed:
            yield f"{p.name} stands on {p.on}, which is not there"
            return
        if "circle" in below(p, posed):
            yield f"{p.name} stands in a circle"
            return
        wrong = _on_carrier(p, posed[p.on])
        if wrong:
            yield f"{p.name} {wrong}"
    chains = {p.name: below(p, posed) for p in all_posed}
    for c in all_posed:
        bed = c.unit.carries
        loads = [p for p in all_posed if c.name in chains[p.name]]
        if bed and sum((mass(p.option) for p in loads), Decimal(0)) > bed.mass:
            yield f"{c.name} carries too much"
        if not sliding(c):
            continue
        if space.closed and loads:
            ways = [
                hole
                for hole in doors_of(c, space)
                if all(
                    within(p.body[1] if c.side == "rear" else p.body[0], p.body[2], hole)
                    and _clears_door(_slid(p, c), space, hole)
                    for p in loads
                )
            ]
            if not ways:
                yield f"what stands on {c.name} does not pass its opening"
        for p in loads:
            path = _slid(p, c)
            if any(overlap(path, gear) for gear in _gears(space)):
                yield f"{p.name} on {c.name} hits gear"
            for q in all_posed:
                stays = (
                    q.name != c.name
                    and c.name not in chains[q.name]
                    and q.name not in chains[c.name]
                )
                if stays and overlap(path, q.body):
                    yield f"{p.name} on {c.name} hits {q.name}"
    for p in all_posed:
        for name in chains[p.name]:
            if _in_top_clearance(p, posed[name]):
                yield f"{p.name} is in the top clearance of {name}"
    for i, p in enumerate(all_posed):
        for q in all_posed[:i]:
            if q.name in chains[p.name] or p.name in chains[q.name]:
                continue
            if clash(p, q, space):
                yield f"{p.name} and {q.name} are too near"


def faults(build: Resolved, placements: tuple[Placement, ...]) -> list[str]:
    """Everything wrong with a layout; empty when it holds."""
    picked = picks_of(build)
    names = sorted(
        f"{c}={o.id}" + (f"#{k}" if k > 1 else "")
        for c, o, n in picked
        if o.unit is not None
        for k in range(1, n + 1)
    )
    told = sorted(
        f"{p.choice}={p.option}" + (f"#{p.number}" if p.number > 1 else "") for p in placements
    )
    if names != told:
        return [f"the layout has {told}, picked are {names}"]
    found: list[str] = []
    for name in sorted({p.space for p in placements}):
        here = [p for p in placements if p.space == name]
        space = space_of(build.catalogue, picked, name)
        ways = [list(_ways(build.catalogue, p, space)) for p in here]
        for p, options in zip(here, ways, strict=True):
            if not options:
                found.append(f"{p.choice}={p.option} {_why(build.catalogue, p, space)}")
        if found:
            return found
        tries: list[list[str]] = [list(together(list(all_), space)) for all_ in product(*ways)]
        if all(tries):
            found += tries[0]
    return found


def _posed(catalogue: Catalogue, p: Placement, front: str) -> Posed:
    name = f"{p.choice}={p.option}" + (f"#{p.number}" if p.number > 1 else "")
    return Posed(
        name, catalogue.option(p.choice, p.option), front, p.side, (p.x, p.y, p.z), str(p.on)
    )


def _fronts(p: Placement) -> tuple[str, ...]:
    return (p.side,) if p.side else ("left", "right", "rear", "front")


def _ways(catalogue: Catalogue, p: Placement, space: Space) -> Iterator[Posed]:
    seen = set()
    for front in _fronts(p):
        posed = _posed(catalogue, p, front)
        if posed.size != (p.length, p.width, p.height) or alone(posed, space):
            continue
        same = (posed.clear, posed.unit.carries and posed.front)
        if same not in seen:
            seen.add(same)
            yield posed


def _why(catalogue: Catalogue, p: Placement, space: Space) -> str:
    tries = [_posed(catalogue, p, front) for front in _fronts(p)]
    sized = [t for t in tries if t.size == (p.length, p.width, p.height)]
    return "; ".join(alone(t, space) for t in sized) if sized else "has another size"


class TooMany(Exception):
    """There are more layouts than anybody wants to try."""


def possible(
    build: Resolved,
    most: int = 30_000,
    liked: Callable[[Placement], bool] = lambda _: True,
) -> bool:
    """Whether there is a layout of places that are liked, by trying every place of every unit.

    Raises TooMany when that would be more than ``most`` layouts.
    """
    picked = picks_of(build)
    by_space: dict[str, list[tuple[str, Option]]] = {}
    for c, o, n in picked:
        for k in range(1, n + 1) if o.unit else ():
            assert o.unit is not None
            name = f"{c}={o.id}" + (f"#{k}" if k > 1 else "")
            by_space.setdefault(o.unit.space, []).append((name, o))
    for name, units in by_space.items():
        space = space_of(build.catalogue, picked, name)
        places = [
            [p for p in _places(unit, units, space) if liked(_placement(p, name))] for unit in units
        ]
        if math.prod(map(len, places)) > most:
            raise TooMany
        if not _try([], sorted(places, key=len), space):
            return False
    return True


def all_middles(
    build: Resolved, space_name: str, most: int = 30_000
) -> frozenset[tuple[tuple[tuple[str, str], Fraction], ...]]:
    """Every way in which the middles of the units can lie along the space, over all layouts.

    Raises TooMany when there would be more than ``most`` layouts to try.
    """
    picked = picks_of(build)
    units = [
        (f"{c}={o.id}" + (f"#{k}" if k > 1 else ""), o)
        for c, o, n in picked
        if o.unit is not None
        for k in range(1, n + 1)
    ]
    space = space_of(build.catalogue, picked, space_name)
    places = [list(_places(unit, units, space)) for unit in units]
    if math.prod(map(len, places)) > most:
        raise TooMany
    found = set()
    for done in _all([], sorted(places, key=len), space):
        middles = []
        for p in done:
            choice, _, option = p.name.partition("#")[0].partition("=")
            middles.append(((choice, option), p.corner[0] + Fraction(p.size[0], 2)))
        found.add(tuple(sorted(middles)))
    return frozenset(found)


def _all(done: list[Posed], left: list[list[Posed]], space: Space) -> Iterator[list[Posed]]:
    if not left:
        if not any(True for _ in together(done, space)):
            yield done
        return
    for posed in left[0]:
        if not any(_too_near(posed, other, space) for other in done):
            yield from _all([*done, posed], left[1:], space)


def _placement(p: Posed, space: str) -> Placement:
    choice, _, rest = p.name.partition("=")
    option, _, number = rest.partition("#")
    return Placement(choice, option, int(number or 1), space, *p.corner, *p.size, p.side, p.on)


def _places(
    who: tuple[str, Option], units: list[tuple[str, Option]], space: Space
) -> Iterator[Posed]:
    name, option = who
    u = option.unit
    assert u is not None
    fronts: Any = [(s, s) for s in u.works_from]
    if not fronts:
        fronts = [("", f) for f in ("left", "right", "rear", "front")]
    carriers = [n for n, c in units if n != name and c.unit and _may_stand(u, n, c.unit)]
    on = ["hung"] if u.hangs_at is not None else ["floor", *carriers]
    for side, front in fronts:
        long, wide, high = Posed(name, option, front, side, (0, 0, 0), "floor").size
        for x, y, z in product(
            range(space.length + 1 - long),
            range(space.width + 1 - wide),
            range(space.height + 1 - high),
        ):
            for under in on:
                posed = Posed(name, option, front, side, (x, y, z), under)
                if not alone(posed, space):
                    yield posed


def _try(done: list[Posed], left: list[list[Posed]], space: Space) -> bool:
    if not left:
        return not any(True for _ in together(done, space))
    for posed in left[0]:
        ok = not any(_too_near(posed, other, space) for other in done)
        if ok and _try([*done, posed], left[1:], space):
            return True
    return False


def _too_near(p: Posed, q: Posed, space: Space) -> bool:
    """Whether two units can be seen to be wrong together, whatever else is there."""
    if p.on == q.name:
        return bool(_on_bed(p, q))
    if q.on == p.name:
        return bool(_on_bed(q, p))
    grounded = p.on in ("floor", "hung") and q.on in ("floor", "hung")
    return grounded and clash(p, q, space)
