"""A layout as data: the shape that ``schemas/answers.schema.json`` documents."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from configurator.catalogue.model import Catalogue
from configurator.findings import Finding
from configurator.fit.layout import Layout, OpenBox, Placement, SpaceLayout

__all__ = ["box_answer", "layout_answer", "placement_answer", "space_answer"]


def layout_answer(
    catalogue: Catalogue,
    layout: Layout | None,
    findings: Sequence[Finding],
    more: Sequence[str] | None = None,
) -> dict[str, Any]:
    """Where everything sits, what is left open, and what there is to say.

    Without a layout, the lists of places are empty and a finding says why.
    """
    return {
        "answer": "layout",
        "fits": layout is not None,
        "placements": [_placement(catalogue, p) for p in layout.placements] if layout else [],
        "spaces": [_space(catalogue, s) for s in layout.spaces] if layout else [],
        "open-boxes": [box_answer(b) for b in layout.open_boxes] if layout else [],
        "unknown-spaces": list(layout.unknown) if layout else [],
        "would-fit-too": None if more is None else list(more),
        "findings": [
            {
                "level": f.level,
                "code": f.code,
                "subject": f.subject,
                "sentence": f.sentence,
                "reason": f.reason,
                "hint": f.hint,
            }
            for f in findings
        ],
    }


def _placement(catalogue: Catalogue, p: Placement) -> dict[str, Any]:
    return placement_answer(catalogue.option(p.choice, p.option).title, p)


def placement_answer(title: str, p: Placement) -> dict[str, Any]:
    """One unit in its place, with its title."""
    return {
        "unit": f"{p.choice}={p.option}",
        "number": p.number,
        "title": title,
        "space": p.space,
        "side": p.side,
        "on": p.on,
        "x": p.x,
        "y": p.y,
        "z": p.z,
        "length": p.length,
        "width": p.width,
        "height": p.height,
    }


def _space(catalogue: Catalogue, s: SpaceLayout) -> dict[str, Any]:
    return space_answer(catalogue.space_title(s.space), s)


def space_answer(title: str, s: SpaceLayout) -> dict[str, Any]:
    """One space, with its title."""
    return {
        "space": s.space,
        "title": title,
        "length": s.interior.length,
        "width": s.interior.width,
        "height": s.interior.height,
        "litres": s.volume // 10**6,
        "used-litres": s.used // 10**6,
    }


def box_answer(b: OpenBox) -> dict[str, Any]:
    """One open box."""
    return {
        "space": b.space,
        "side": b.side,
        "x": b.x,
        "y": b.y,
        "z": b.z,
        "length": b.length,
        "width": b.width,
        "height": b.height,
        "litres": b.volume // 10**6,
    }
