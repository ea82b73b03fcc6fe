"""Spaces with units to lay out in them, as catalogues and selections."""

from __future__ import annotations

from typing import Any

from configurator import Catalogue, Layout, Pick, Selection
from configurator.catalogue.reading import shipped
from configurator.layout.answers import lay_out, not_together
from configurator.selection.reading import read_selection
from configurator.selection.resolved import Resolved
from tests.support import building as b
from tests.support.layout_oracle import faults

Raw = dict[str, Any]


def door(side: str, **more: Any) -> Raw:
    """A bare opening over all of one side."""
    return {"space": "hold", "side": side, "front": 0, "rear": 0, **more}


def space(size: tuple[int, int, int], openings: list[Raw] | None = None, **part: Any) -> Raw:
    """An option that makes the hold, by default with one bare opening on each long side."""
    bare = [door("left"), door("right")]
    sizes = dict(zip(("length", "width", "height"), size, strict=True))
    return b.option(
        "box",
        space={"hold": {**sizes, **{key.replace("_", "-"): mm for key, mm in part.items()}}},
        openings=bare if openings is None else openings,
    )


def unit(
    identity: str, body: tuple[int, int, int], most: int = 1, mass: int = 1, **more: Any
) -> Raw:
    """A unit of the hold; width, depth and height."""
    box = dict(zip(("width", "depth", "height"), body, strict=True))
    facets = {key.replace("_", "-"): value for key, value in more.items()}
    return b.option(identity, most=most, mass=mass, unit={"space": "hold", "body": box, **facets})


def hold(shell: Raw, units: list[Raw], **counts: int) -> tuple[Catalogue, Selection]:
    """The hold with these units, all picked."""
    choices = [b.choice("shell", [shell]), b.several("units", units)]
    catalogue = b.catalogue(choices, spaces=[{"id": "hold", "title": "hold"}])
    quantities = {u["id"]: counts.get(u["id"], 1) for u in units}
    return catalogue, b.selection({"shell": "box", "units": quantities})


def fits(shell: Raw, units: list[Raw], **counts: int) -> bool:
    catalogue, selection = hold(shell, units, **counts)
    answer = lay_out(Resolved(catalogue, selection))
    if isinstance(answer, Layout):
        assert not faults(Resolved(catalogue, selection), answer.placements)
    return isinstance(answer, Layout)


def goes_in(shell: Raw, units: list[Raw]) -> bool:
    """The same, without a layout."""
    return not not_together(Resolved(*hold(shell, units)))


SELECTIONS = shipped("catalogues") / "selections"


def crowded(catalogue: Catalogue) -> Selection:
    selection = read_selection(str(SELECTIONS / "contractor.yaml"))
    for pick in (
        Pick("drawers", "wide-300", 3),
        Pick("drawers", "wide-220", 2),
        Pick("canopy-height", "850mm"),
        Pick("kitchen", "bench-slim"),
        Pick("pantry", "pantry-540"),
        Pick("shelves", "oven-shelf"),
        Pick("oven", "oven-small"),
    ):
        selection = Resolved(catalogue, selection).picking(pick)
    return selection
