"""Whether one unit fits, by trying every place in millimetres, from a catalogue as plain data."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from decimal import Decimal
from fractions import Fraction
from functools import cache
from itertools import combinations, permutations

from attrs import frozen

from tests.support.building import (
    Raw,
)


def fits_rectangle(inner: tuple[int, int], outer: tuple[int, int]) -> bool:
    """The same question by the second form of the condition, exact and without a root.

    With p >= q, a >= b, p > a and q <= b: ((a+b)/(p+q))^2 + ((a-b)/(p-q))^2 >= 2.
    """
    q, p = sorted(inner)
    b, a = sorted(outer)
    if q > b or p <= a:
        return q <= b
    return Fraction(a + b, p + q) ** 2 + Fraction(a - b, p - q) ** 2 >= 2


@cache
def _turns(p: int, q: int, a: int, b: int) -> bool:
    """By small steps, and at the two angles where a diagonal lies straight."""
    angles = [n * math.pi / 128 for n in range(65)] + [math.atan2(p, q), math.atan2(q, p)]
    return all(
        p * math.cos(angle) + q * math.sin(angle) < a + 1e-9
        and p * math.sin(angle) + q * math.cos(angle) < b + 1e-9
        for angle in angles
    )


def turns(inner: Sequence[int], outer: Sequence[int]) -> bool:
    """Whether a rectangle can be turned by a quarter within another one, without leaving it."""
    return _turns(inner[0], inner[1], outer[0], outer[1])


@frozen
class Room:
    """The inside of a space or of one half of it: along the vehicle, across it, and up."""

    along: int
    across: int
    high: int
    left: int
    right_end: bool


class Fitter:
    """Tries one unit in one space, both plain data."""

    def __init__(self, data: Raw, picks: dict[tuple[str, str], int]) -> None:
        self.data, self.picks = data, picks
        self.all = {(c["id"], o["id"]): o for c in data["choices"] for o in c["options"]}
        self.picked = [self.all[key] for key in picks]
        self.closed = any("openings" in o for o in self.all.values())
        parts = [o["space"]["canopy"] for o in self.picked if "space" in o]

        def lost(name: str) -> Fraction:
            return sum((Fraction(Decimal(p.get(name, 0))) for p in parts), Fraction())

        size = {s: min(p[s] for p in parts if s in p) for s in ("length", "width", "height")}
        self.along = max(0, math.floor(size["length"] - 2 * lost("wall")))
        self.across = max(0, math.floor(size["width"] - 2 * lost("wall")))
        self.high = max(0, math.floor(size["height"] - lost("roof") - lost("floor")))
        self.rooms = [Room(self.along, self.across, self.high, 0, True)]
        if lost("divider"):
            at = min((p["divider-at"] for p in parts if "divider-at" in p), default=None)
            middle = Fraction(self.across, 2) if at is None else Fraction(at)
            ends = (
                math.floor(middle - lost("divider") / 2),
                math.ceil(middle + lost("divider") / 2),
            )
            first, second = (min(max(0, end), self.across) for end in ends)
            self.rooms = [
                Room(self.along, first, self.high, 0, False),
                Room(self.along, self.across - second, self.high, second, True),
            ]

    def holes(self, room: Room) -> Iterator[tuple[str, set[int], set[int]]]:
        """Openings into a room: side, and the unit cells that are clear along and up it."""
        for one in self.picked:
            for opening in one.get("openings", []):
                side = opening["side"]
                wall = self.across if side == "rear" else self.along
                front, rear = opening.get("front"), opening.get("rear")
                if front is None:
                    front = wall - rear - opening["width"]
                if rear is None:
                    rear = wall - front - opening["width"]
                clear = {n for n in range(wall) if front <= n < wall - rear}
                if side == "rear":
                    clear = {n - room.left for n in clear if 0 <= n - room.left < room.across}
                up = set(range(opening.get("sill", 0), self.high - opening.get("header", 0)))
                reached = {"left": room.left == 0, "right": room.right_end, "rear": True}[side]
                if clear and up and reached:
                    yield side, clear, up

    def bases(self, unit: Raw, left: dict[tuple[str, str], int]) -> Iterator[tuple[int, Raw]]:
        """Heights to stand at, and what carries it there; nothing for the floor."""
        if "hangs-at" in unit:
            yield unit["hangs-at"] - unit.get("clearance", {}).get("bottom", 0), {}
            return
        stands_on = unit.get("stands-on", ["floor"])
        if "floor" in stands_on:
            yield 0, {}
        for key, quantity in left.items():
            carrier = self.all[key].get("unit", {})
            if not quantity or "carries" not in carrier or carrier["space"] != unit["space"]:
                continue
            if key[0] in stands_on or "=".join(key) in stands_on:
                bed = carrier["carries"].get("at", carrier["body"]["height"])
                lift = carrier.get("clearance", {}).get("bottom", 0)
                for height, _ in self.bases(carrier, {**left, key: quantity - 1}):
                    yield height + lift + bed, carrier

    def fits(self, one: Raw, side: str = "") -> bool:
        unit = one["unit"]
        turns = [False, True] if unit.get("turns") else [False]
        stances = [(s, False) for s in unit.get("works-from", [])] or [("", t) for t in turns]
        return any(
            self.stands(one, stance, turned, room, height, carrier)
            for stance, turned in stances
            if side in ("", stance)
            for room in self.rooms
            if {"left": room is self.rooms[0], "right": room.right_end}.get(stance, True)
            for height, carrier in self.bases(unit, self.picks)
        )

    def stands(
        self, one: Raw, side: str, turned: bool, room: Room, height: int, carrier: Raw
    ) -> bool:
        unit = one["unit"]
        wide, deep, tall = (unit["body"][key] for key in ("width", "depth", "height"))
        sides = ("front", "rear", "left", "right", "top", "bottom")
        keep = {key: unit.get("clearance", {}).get(key, 0) for key in sides}
        hide = {key: unit.get("behind-frame", {}).get(key, 0) for key in sides}
        if unit.get("travel"):
            hide = dict.fromkeys(sides, 0)
        # low and high ends of the face, as the vehicle counts
        low, high = ("right", "left") if side == "right" else ("left", "right")
        near, far = ("front", "rear")
        if turned:
            wide, deep, low, high, near, far = deep, wide, near, far, low, high
        bottom = height + keep["bottom"]
        if height < 0 or bottom + tall + keep["top"] > room.high:
            return False
        run, reach = (room.across, room.along) if side == "rear" else (room.along, room.across)
        if keep[near] + deep + keep[far] > reach:
            return False
        if carrier and not self.carried(one, wide, deep, side, carrier):
            return False
        places = [
            first
            for first in range(run + 1)
            if first >= keep[low] and first + wide + keep[high] <= run
        ]
        if not self.closed:
            return bool(places)
        holes = list(self.holes(room))
        if side:
            face_up = set(range(bottom + hide["bottom"], bottom + tall - hide["top"]))
            places = [
                first
                for first in places
                for hole, along, up in holes
                if hole == side
                and set(range(first + hide[low], first + wide - hide[high])) <= along
                and face_up <= up
            ]
        if not places:
            return False
        x, y = (deep, wide) if side == "rear" else (wide, deep)
        return bool(unit.get("built-in")) or any(
            self.enters(x, y, tall, room, hole, len(along), len(up)) for hole, along, up in holes
        )

    def carried(self, one: Raw, wide: int, deep: int, side: str, carrier: Raw) -> bool:
        bed = carrier["carries"]
        if Decimal(one.get("mass", 0)) + one["unit"].get("contents", 0) > bed["mass"]:
            return False
        top = carrier["body"]["height"]
        keeps = set(range(top, top + carrier.get("clearance", {}).get("top", 0)))
        under = bed.get("at", top) + one["unit"].get("clearance", {}).get("bottom", 0)
        if keeps & set(range(under, under + one["unit"]["body"]["height"])):
            return False
        ways = {s == "rear" for s in carrier.get("works-from", [])}
        ways = ways or ({False, True} if carrier.get("turns") else {False})
        over = one["unit"].get("overhang", 0)

        def rests(mine: int, its: int) -> bool:
            """Some place where it touches the bed and stands over neither edge too far."""
            return any(
                -first <= over and first + mine - its <= over for first in range(1 - mine, its)
            )

        return any(
            rests(wide, bed["width"] if across == (side == "rear") else bed["depth"])
            and rests(deep, bed["depth"] if across == (side == "rear") else bed["width"])
            for across in ways
        )

    def enters(self, x: int, y: int, tall: int, room: Room, hole: str, clear: int, up: int) -> bool:
        """Through a hole, held in any way that small turns inside bring to how it stands.

        x is along the vehicle.
        """
        stands = (y, x, tall) if hole == "rear" else (x, y, tall)
        run, reach = (room.across, room.along) if hole == "rear" else (room.along, room.across)
        limits = (run, reach, room.high)
        passing = set()
        for held in permutations(stands):
            face = held[0], held[2]
            slant = fits_rectangle(face, (clear, up)) and turns(face, (run, room.high))
            if slant or (face[0] <= clear and face[1] <= up):
                passing.add(held)
        for _ in range(6):
            for held in list(passing):
                for axes in combinations(range(3), 2):
                    if turns([held[n] for n in axes], [limits[n] for n in axes]):
                        moved = list(held)
                        moved[axes[0]], moved[axes[1]] = held[axes[1]], held[axes[0]]
                        passing.add(tuple(moved))
        return stands in passing
