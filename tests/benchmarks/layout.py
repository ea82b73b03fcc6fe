"""How fast layouts are decided, against a plain CP-SAT model, and what the drawing costs.

Run by hand: ``python -m tests.benchmarks.layout``. Prints ratios of one run; only they mean
anything, and they are never a test.
"""

from __future__ import annotations

import datetime as dt
import random
import statistics
import time
from collections.abc import Callable
from typing import Any

from attrs import evolve

from configurator.arrangement import lay_out
from configurator.arrangement.hard import arrange_hard
from configurator.arrangement.rooms import Room, rooms_of
from configurator.arrangement.search import arrange
from configurator.catalogue.reading import parse_catalogue, read_text, shipped
from configurator.drawing import layout_svg
from configurator.errors import SearchLimit
from configurator.fit.layout import Layout
from configurator.papers.html import quote_html
from configurator.papers.pdf import html_to_pdf
from configurator.papers.quote import make_quote
from configurator.selection.reading import read_selection
from tests import building as b


def edge(seed: int, count: int) -> Room:
    """Units whose widths fill a space about as far as it goes, from both sides, some stacked."""
    rng = random.Random(seed)
    units: list[dict[str, Any]] = []
    for index in range(count):
        width, height = rng.randrange(250, 640, 10), rng.randrange(150, 620, 10)
        unit: dict[str, Any] = {
            "space": "hold",
            "body": {"width": width, "depth": rng.randrange(400, 861, 10), "height": height},
            "works-from": rng.choice([["left"], ["right"], ["left", "right"], ["left", "right"]]),
            "clearance": {"top": rng.choice([0, 0, 30]), "left": rng.choice([0, 0, 10])},
            "stands-on": ["floor", "units"],
            "travel": 500,
        }
        if height < 320 or not index:
            unit["carries"] = {"mass": 150, "width": width, "depth": unit["body"]["depth"]}
        units.append(b.option(f"u{index}", mass=20, unit=unit))
    face = sum(u["unit"]["body"]["width"] * u["unit"]["body"]["height"] for u in units)
    length = max(660, round(face / (2 * 900) * rng.uniform(1.15, 2.1)))
    sizes = {"length": length, "width": 1720, "height": 900}
    doors = [{"space": "hold", "side": side, "front": 0, "rear": 0} for side in ("left", "right")]
    shell = b.option("box", space={"hold": sizes}, openings=doors)
    catalogue = b.catalogue(
        [b.choice("shell", [shell]), b.several("units", units)],
        spaces=[{"id": "hold", "title": "hold"}],
    )
    picks = {"shell": "box", "units": [u["id"] for u in units]}
    return rooms_of(catalogue, b.selection(picks))[0][0]


def clocked(work: Callable[[], Any]) -> tuple[float, Any]:
    start = time.process_time()
    try:
        found = work()
    except SearchLimit:
        found = "undecided"
    return time.process_time() - start, found


def decide(rooms: list[Room], with_model: bool) -> None:
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
            other, answer = clocked(lambda room=room: arrange_hard(room))  # type: ignore[misc]
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
        told += f", longest / median {max(times) / statistics.median(times):.0f}"
        print(told)
    print(f"undecided: {undecided}")


def p95(times: list[float]) -> float:
    return sorted(times)[int(len(times) * 0.95)]


def drawing() -> None:
    """What share of rendering the touring quote a drawing of 14 units takes."""
    path = shipped("catalogues") / "quandong.yaml"
    catalogue, _ = parse_catalogue(read_text(path), str(path))
    assert catalogue is not None
    selection = read_selection(str(shipped("catalogues") / "selections" / "touring.yaml"))
    layout = lay_out(catalogue, selection)
    assert isinstance(layout, Layout)
    layout = evolve(layout, placements=(*layout.placements, *layout.placements[:3]))
    plain = quote_html(make_quote(catalogue, selection, "Q-1", dt.date(2026, 8, 1)))
    html_to_pdf(plain)
    without = min(clocked(lambda: html_to_pdf(plain))[0] for _ in range(5))

    def with_drawing() -> bytes:
        picture = layout_svg(catalogue, selection, layout)
        return html_to_pdf(plain.replace("</main>", f"<div>{picture}</div></main>"))

    both = min(clocked(with_drawing)[0] for _ in range(5))
    share = (both - without) / both
    print(f"share of the drawing of {len(layout.placements)} units in a quote: {share:.0%}")


if __name__ == "__main__":
    print("4 to 12 units at the edge:")
    decide([edge(seed, 4 + seed % 9) for seed in range(200)], with_model=True)
    print("25 units:")
    decide([edge(1000 + seed, 25) for seed in range(20)], with_model=False)
    drawing()
