"""A layout as a terminal shows it: where everything sits, what is left, what there is to say."""

from __future__ import annotations

from collections.abc import Sequence

from configurator.catalogue.model import Catalogue
from configurator.findings import Finding
from configurator.fit.layout import FLOOR, HUNG, Layout, Placement
from configurator.terminal.common import new_console, show_finding
from configurator.terminal.tables import new_table

__all__ = ["show_layout"]


def show_layout(
    catalogue: Catalogue,
    layout: Layout | None,
    findings: Sequence[Finding],
    more: Sequence[str] | None,
) -> None:
    """The places, the open boxes, and the findings about them."""
    out = new_console()
    if layout is not None and layout.placements:
        _places(catalogue, layout)
    elif layout is not None:
        out.print("There is nothing to place.")
    for finding in findings:
        show_finding(out, finding)
    if layout is not None and layout.unknown:
        titles = " and ".join(catalogue.space_title(space) for space in layout.unknown)
        out.print()
        out.print(f"Not laid out, because choices are open that make it: the {titles}")
    if more is not None:
        out.print()
        out.print(
            "Would fit too, one at a time: " + ("; ".join(more) or "nothing in the catalogue")
        )


def _places(catalogue: Catalogue, layout: Layout) -> None:
    out = new_console()
    numbers = {p.name: rank for rank, p in enumerate(layout.placements, 1)}
    for space in layout.spaces:
        inside = space.interior
        out.print(
            f"{catalogue.space_title(space.space).capitalize()}, inside "
            f"{inside.length} x {inside.width} x {inside.height} mm: "
            f"{space.used // 10**6} of {space.volume // 10**6} L taken by what stands in it"
        )
        out.print()
        table = new_table(
            "", "Unit", "works from", "on", "x", "y", "z", "long", "wide", "high", numbers=6
        )
        for p in layout.placements:
            if p.space == space.space:
                table.add_row(
                    str(numbers[p.name]),
                    catalogue.option(p.choice, p.option).title,
                    p.side,
                    _on(p, numbers),
                    *(str(n) for n in (p.x, p.y, p.z, p.length, p.width, p.height)),
                )
        out.print(table)
        out.print("mm from inside front, left and floor; length along the vehicle", style="dim")
        for box in layout.open_boxes:
            if box.space == space.space:
                side = f" from the {box.side}" if box.side else ""
                out.print(
                    f"Largest open box{side}: {box.length} long, {box.width} wide, "
                    f"{box.height} high, {box.volume // 10**6} L, at x {box.x}, y {box.y}, "
                    f"z {box.z}"
                )


def _on(p: Placement, numbers: dict[str, int]) -> str:
    return p.on if p.on in (FLOOR, HUNG) else f"number {numbers[p.on]}"
