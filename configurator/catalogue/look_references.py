"""What a schema cannot see in how the papers look: whether they can be read.

Works on the raw tree like :mod:`configurator.catalogue.references`, which asks it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from configurator.catalogue.nodes import Tree
from configurator.colours import LEAST_CONTRAST, PANEL, WHITE, contrast
from configurator.errors import Problem

__all__ = ["look_problems"]


def look_problems(tree: Tree) -> Iterator[Problem]:
    """An accent colour in which headings are hard to read."""
    shop = tree.data.get("shop") if isinstance(tree.data, dict) else None
    accent = shop.get("accent") if isinstance(shop, dict) else None
    if not isinstance(accent, str) or not re.fullmatch("#[0-9a-fA-F]{6}", accent):
        return
    on_white, on_panel = contrast(accent, WHITE), contrast(accent, PANEL)
    if on_panel < LEAST_CONTRAST:
        yield Problem(
            tree.at(("shop", "accent")),
            f"headings in {accent} are hard to read: its contrast is {on_white:.1f} to white and "
            f"{on_panel:.1f} to a panel, and WCAG 2.2 AA asks for {LEAST_CONTRAST}",
            "accent-contrast",
            "take a darker colour",
            level="caution",
        )
