"""How fast layouts are decided, against a plain CP-SAT model, and what the drawing costs.

Run by hand: ``python -m tests.benchmarks.layout``. Prints ratios of one run; only they mean
anything, and they are never a test.
"""

from __future__ import annotations

import datetime as dt
import re
import statistics
import time
from collections.abc import Callable
from typing import Any
from unittest.mock import patch

from attrs import evolve

from configurator.catalogue.reading import parse_catalogue, read_text, shipped
from configurator.drawing.layouts import layout_svg
from configurator.errors import SearchLimit
from configurator.fit.answers import lay_out
from configurator.fit.layout import Layout
from configurator.fit.model import arrange_hard
from configurator.fit.rooms import Room
from configurator.fit.search import arrange
from configurator.render.html import quote_html
from configurator.render.pdf import html_to_pdf
from configurator.report.layout import drawn_layout
from configurator.report.quote import make_quote
from configurator.selection.reading import read_selection
from configurator.selection.resolved import Resolved
from tests.support.edge_rooms import edge
from tests.support.holds import crowded


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


def drawing() -> None:
    """What share of rendering a quote a drawing of 14 units takes: its own, or the large one."""
    path = shipped("catalogues") / "quandong.yaml"
    catalogue, _ = parse_catalogue(read_text(path), str(path))
    assert catalogue is not None
    selection = read_selection(str(shipped("catalogues") / "selections" / "contractor.yaml"))
    layout = lay_out(Resolved(catalogue, crowded(catalogue)))
    assert isinstance(layout, Layout)
    drawn = drawn_layout(catalogue, layout, "crowded")
    assert drawn is not None
    quote = make_quote(Resolved(catalogue, selection), "Q-1", dt.date(2026, 8, 1))
    empty = re.sub("<svg.*?</svg>", "", quote_html(evolve(quote, layout=drawn)), flags=re.DOTALL)

    def without_drawing() -> bytes:
        return html_to_pdf(empty)

    def with_its_own() -> bytes:
        again = drawn_layout(catalogue, layout, "crowded")
        return html_to_pdf(quote_html(evolve(quote, layout=again)))

    def with_the_large_one() -> bytes:
        picture = layout_svg(Resolved(catalogue, selection), layout)
        return html_to_pdf(empty.replace("</main>", f"<div>{picture}</div></main>"))

    works = (without_drawing, with_its_own, with_the_large_one)
    works[0]()
    rounds = [[clocked(work)[0] for work in works] for _ in range(9)]
    own = statistics.median((own - without) / own for without, own, _ in rounds)
    large = statistics.median((large - without) / large for without, _, large in rounds)
    print(f"share of the drawing of {len(layout.placements)} units in a quote: {own:.0%}")
    print(f"share that the large drawing of them would take: {large:.0%}")


if __name__ == "__main__":
    print("4 to 12 units at the edge:")
    decide([edge(seed, 4 + seed % 9) for seed in range(200)], with_model=True)
    print("25 units:")
    decide([edge(1000 + seed, 25) for seed in range(30)], with_model=False)
    drawing()
