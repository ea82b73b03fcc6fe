"""Solar panels that the rules allow lie within the roof, by plain sums of the shipped data."""

from __future__ import annotations

from collections import Counter
from itertools import combinations_with_replacement as multisets
from typing import Any

import pytest
import yaml

from configurator import Shop, open_shop
from tests.support.shipped import shipped_in_one

LENGTHS = ("1200mm", "1400mm", "1650mm", "1800mm", "2100mm", "2400mm", "2550mm")
ALONG = (60, 20)
"""Where a part canopy and a full one begin behind the front of the tray, mm."""


def _panels() -> dict[str, dict[str, Any]]:
    choices = yaml.safe_load(shipped_in_one())["choices"]
    (solar,) = (choice for choice in choices if choice["id"] == "solar")
    return {option["id"]: option["position"] for option in solar["options"]}


@pytest.fixture(scope="module")
def shop() -> Shop:
    return open_shop()


@pytest.mark.parametrize("length", LENGTHS)
def test_panels_that_a_roof_may_have_fit_beside_each_other(length: str, shop: Shop) -> None:
    """Across the canopy, one behind the other; the narrowest tray is 1780 mm wide."""
    panels, allowed, refused = _panels(), set[int](), set[int]()
    for asked in (some for n in (1, 2, 3) for some in multisets(panels, n)):
        build = shop.build().pick("canopy-length", length)
        for option, quantity in Counter(asked).items():
            build = build.pick("solar", option, quantity)
        told = [one.sentence.lower() for one in build.check().stops]
        rules = [
            one for one in told if "solar panels on the roof" in one and "canopy length" in one
        ]
        along = sum(panels[option]["size"]["length"] for option in asked)
        (refused if rules else allowed).add(along)
        assert rules or along <= int(length.removesuffix("mm")), asked
        assert all(panels[option]["size"]["width"] <= 1780 for option in asked)
    assert allowed
    assert bool(refused) == (int(length.removesuffix("mm")) < 2100)


def test_a_panel_lies_behind_the_front_and_before_the_end_of_every_roof() -> None:
    """The shortest canopy is 1200 mm, a part canopy; a full one is as long as its tray, 1800."""
    for panel in _panels().values():
        half = panel["size"]["length"] / 2
        for begins, shortest in zip(ALONG, (1200, 1800), strict=True):
            assert begins <= panel["x"] - half
            assert panel["x"] + half <= begins + shortest
