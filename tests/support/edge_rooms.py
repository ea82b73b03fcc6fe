"""Seeded rooms at the edge of what goes in, for tests and benchmarks."""

from __future__ import annotations

import random
from typing import Any

from configurator.fit.rooms import Room, rooms_of
from configurator.selection.resolved import Resolved
from tests.support import building as b


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
            unit["clearance"]["top"] = 0
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
    return rooms_of(Resolved(catalogue, b.selection(picks)))[0][0]
