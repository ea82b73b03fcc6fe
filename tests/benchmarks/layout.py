"""How fast layouts are decided, against a plain CP-SAT model, and what the drawing costs.

Run by hand: ``python -m tests.benchmarks.layout``. Prints ratios of one run; only they mean
anything, and they are never a test.
"""

from __future__ import annotations

import datetime as dt
import random
import re
import statistics
import time
from collections.abc import Callable
from typing import Any
from unittest.mock import patch

from attrs import evolve

from configurator.catalogue.reading import shipped
from configurator.checking.check import check
from configurator.drawing.layouts import layout_svg
from configurator.errors import SearchLimit
from configurator.fit.layout import Layout
from configurator.fit.model import arrange_hard
from configurator.fit.rooms import Room, rooms_of
from configurator.fit.search import arrange
from configurator.layout.answers import lay_out
from configurator.render.html import quote_html
from configurator.render.pdf import html_to_pdf
from configurator.report.layout import drawn_of
from configurator.report.quote import make_quote
from configurator.selection.reading import read_selection
from configurator.selection.resolved import Resolved
from tests.support.edge_rooms import edge
from tests.support.holds import crowded, hold, space, unit
from tests.support.packings import CONWAY, HOFFMAN, SIX_AND_THREE, TWENTY_SIX, Brick, bricks
from tests.support.shipped import read_catalogue


def clocked(work: Callable[[], Any]) -> tuple[float, Any]:
    start = time.process_time()
    try:
        found = work()
    except SearchLimit:
        found = "undecided"
    return time.process_time() - start, found


def pairwise(room: Room) -> Any:
    """The plain model: every pair of blocks apart, and nothing told besides."""
    with patch("configurator.fit.model.crossings", return_value=()):
        return arrange_hard(room)


def decide(rooms: list[Room], with_model: bool) -> None:
    """Decide every room, and print how that compares to the plain model or to itself."""
    ours: dict[bool, list[float]] = {True: [], False: []}
    model: dict[bool, list[float]] = {True: [], False: []}
    undecided = 0
    for room in rooms:
        took, found = clocked(lambda room=room: arrange(room))  # type: ignore[misc]
        if found == "undecided":
            undecided += 1
            continue
        ours[found is not None].append(took)
        if with_model:
            other, answer = clocked(lambda room=room: pairwise(room))  # type: ignore[misc]
            assert answer == "undecided" or (answer is None) == (found is None)
            model[found is not None].append(other)
    for fits, times in ours.items():
        if not times:
            continue
        told = f"{'fits' if fits else 'does not fit'}: {len(times)} instances"
        if with_model:
            middle = statistics.median(model[fits]) / statistics.median(times)
            tail = p95(times) / p95(model[fits])
            told += f", model / ours at the median {middle:.1f}, ours / model at p95 {tail:.2f}"
        told += f", median {statistics.median(times):.3f} and longest {max(times):.3f} CPU s"
        print(told)
    print(f"undecided: {undecided}")


def p95(times: list[float]) -> float:
    return sorted(times)[int(len(times) * 0.95)]


EQUAL = [
    (11, (4, 5), (11, 20)),
    (21, (4, 5), (15, 28)),
    (26, (3, 4), (8, 39)),
    (9, (2, 3), (6, 9)),
    (7, (2, 3), (1, 42)),
    (40, (3, 5), (20, 30)),
    (12, (2, 5), (10, 12)),
    (18, (2, 3), (9, 12)),
    (16, (3, 4), (12, 16)),
    (20, (3, 7), (20, 21)),
    (24, (2, 7), (16, 21)),
    (14, (3, 5), (14, 15)),
    (30, (3, 4), (18, 20)),
    (22, (3, 5), (15, 22)),
    (21, (2, 7), (14, 21)),
    (17, (4, 5), (17, 20)),
    (19, (3, 4), (12, 19)),
    (26, (4, 5), (20, 26)),
    (15, (4, 7), (20, 21)),
    (23, (2, 5), (10, 23)),
]
"""Equal bricks that turn: how many, their sides, and a floor of the same area; and one more."""


Piece = tuple[tuple[int, int], int]
"""The sides of a piece, and how many there are of it."""


def laid_flat(sides: tuple[int, int], pieces: list[Piece]) -> Resolved:
    """A floor and pieces that lie on it, which may turn."""
    units = [
        unit(f"p{i}", (*size, 1), most=count, turns=True, built_in=True)
        for i, (size, count) in enumerate(pieces)
    ]
    counts = {f"p{i}": count for i, (_, count) in enumerate(pieces)}
    return Resolved(*hold(space((*sides, 1)), units, **counts))


def floor(sides: tuple[int, int], pieces: list[Piece]) -> Room:
    return rooms_of(laid_flat(sides, pieces))[0][0]


def turn(sides: tuple[int, int], turned: bool) -> tuple[int, int]:
    """The sides of a floor, changed over where it is turned a quarter."""
    return sides[::-1] if turned else sides


def strip(seed: int, count: int) -> tuple[tuple[int, int], list[tuple[int, int]]]:
    """A strip of 60 x 40 to 60 x 80 that is cut at random, piece by piece, and its pieces."""
    rng = random.Random(seed)
    sides = (60, rng.randrange(40, 81))
    pieces = [sides]
    while len(pieces) < count:
        pieces.sort(key=lambda piece: piece[0] * piece[1])
        wide, deep = pieces.pop()
        if rng.random() < wide / (wide + deep):
            at = rng.randrange(wide // 4 + 1, wide - wide // 4)
            pieces += [(at, deep), (wide - at, deep)]
        else:
            at = rng.randrange(deep // 4 + 1, deep - deep // 4)
            pieces += [(wide, at), (wide, deep - at)]
    return sides, pieces


def standing(packing: list[Brick], by: int = 0) -> Room:
    """Bricks of a published packing, each hung at its level there, the first so much longer."""
    side = max(
        at + size for brick in packing for at, size in zip(brick[:3], brick[3:], strict=True)
    )
    grown = [(*packing[0][:3], packing[0][3] + by, *packing[0][4:]), *packing[1:]]
    return rooms_of(Resolved(*hold(space((side, side, side)), bricks(grown))))[0][0]


def crowded_rooms(title: str, rooms: list[Room]) -> None:
    """How many rooms are decided within 20 CPU s."""
    took = [clocked(lambda room=room: arrange(room)) for room in rooms]  # type: ignore[misc]
    decided = [seconds for seconds, found in took if found != "undecided" and seconds <= 20]
    times = sorted(seconds for seconds, _ in took)
    print(
        f"{title}: {len(decided)} of {len(rooms)} decided within 20 CPU s, "
        f"median {statistics.median(times):.2f} and longest {times[-1]:.2f} CPU s"
    )


def explaining() -> None:
    """What saying why units do not go in takes beside finding it out."""
    for count in (30, 45, 60):
        sizes = [(90 + i, 90 + i % 7) for i in range(count)]
        area = sum(wide * deep for wide, deep in sizes)
        build = laid_flat((area // 1100, 1000), [(size, 1) for size in sizes])
        room = rooms_of(build)[0][0]
        refused, found = clocked(lambda room=room: arrange(room))  # type: ignore[misc]
        told, _ = clocked(lambda build=build: check(build))  # type: ignore[misc]
        print(
            f"{count} units: refused ({found is None}) in {refused:.2f}, told in {told:.2f} CPU s"
        )


def drawing() -> None:
    """What share of rendering a quote the pictures of 14 units take: its own, or the large one."""
    catalogue = read_catalogue(shipped("catalogues") / "quandong.yaml")
    selection = read_selection(str(shipped("catalogues") / "selections" / "contractor.yaml"))
    build = Resolved(catalogue, crowded(catalogue))
    layout = lay_out(build)
    assert isinstance(layout, Layout)
    quote = make_quote(Resolved(catalogue, selection), "Q-1", dt.date(2026, 8, 1))
    quote = evolve(quote, drawn=drawn_of(build, layout))
    empty = re.sub("<svg.*?</svg>", "", quote_html(quote), flags=re.DOTALL)

    def without_drawing() -> bytes:
        return html_to_pdf(empty)

    def with_its_own() -> bytes:
        return html_to_pdf(quote_html(quote))

    def with_the_large_one() -> bytes:
        picture = layout_svg(build, layout)
        return html_to_pdf(empty.replace("</main>", f"<div>{picture}</div></main>"))

    works = (without_drawing, with_its_own, with_the_large_one)
    works[0]()
    rounds = [[clocked(work)[0] for work in works] for _ in range(9)]
    own = statistics.median((own - without) / own for without, own, _ in rounds)
    large = statistics.median((large - without) / large for without, _, large in rounds)
    print(f"share of the pictures of {len(layout.placements)} units in a quote: {own:.0%}")
    print(f"share that the large drawing of them would take: {large:.0%}")


if __name__ == "__main__":
    print("4 to 12 units at the edge:")
    decide([edge(seed, 4 + seed % 9) for seed in range(200)], with_model=True)
    print("25 units:")
    decide([edge(1000 + seed, 25) for seed in range(30)], with_model=False)
    strips = [strip(seed, 16 + seed % 15) for seed in range(30)]
    for turned in (False, True):
        way = ", turned a quarter" if turned else ""
        equal = [(turn(sides, turned), brick, count) for count, brick, sides in EQUAL]
        bodies = [floor(sides, [(brick, count)]) for sides, brick, count in equal]
        bodies += [floor(sides, [(brick, count + 1)]) for sides, brick, count in equal]
        crowded_rooms(f"equal bricks that turn{way}", bodies)
        laid = [(sides, [(piece, 1) for piece in pieces]) for sides, pieces in strips]
        exact = [floor(turn(sides, turned), pieces) for sides, pieces in laid]
        crowded_rooms(f"strips of 16 to 30 rectangles, exact{way}", exact)
        loose = [floor(turn((a + 1, b + 1), turned), pieces) for (a, b), pieces in laid]
        crowded_rooms(f"the same with 1 to spare each way{way}", loose)
    published = [SIX_AND_THREE, CONWAY, TWENTY_SIX, HOFFMAN]
    cubes = [standing(packing, by) for packing in published for by in (0, 1)]
    crowded_rooms("published bricks in a cube, as they are and one longer", cubes)
    explaining()
    drawing()
