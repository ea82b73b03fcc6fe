"""The drawing of a layout as a page of its own, with the same numbers as a table."""

from __future__ import annotations

from collections.abc import Sequence

from configurator.drawing import layout_svg
from configurator.fit.layout import Layout
from configurator.render.html import page
from configurator.render.look import Look, look_of
from configurator.report.placed import rows_of
from configurator.selection.resolved import Resolved

__all__ = ["layout_html"]


_BESIDE = 39.0
"""Height of the sheet that the picture leaves to its heading, mm."""

_LETTERS = 1.15
"""How many times larger than usual letters are: larger ones would leave less to the picture."""


def layout_html(
    build: Resolved,
    layout: Layout,
    look: Look | None = None,
    unkept: Sequence[str] = (),
) -> str:
    """The layout as one HTML page that needs no other file; see ``page`` for its look.

    Args:
        build: what is picked, from which catalogue.
        layout: where everything sits.
        look: how the page looks; by default as the catalogue has it.
        unkept: sentences about places that were asked for and could not be kept.
    """
    look = look or look_of(build.catalogue.shop)
    room = (float(look.sheet.width), look.sheet.height - _BESIDE)
    return page(
        "layout.html",
        build.catalogue.shop,
        look,
        title=build.selection.title or build.catalogue.title,
        picture=layout_svg(build, layout, paper=room, letters=_LETTERS),
        rows=rows_of(build.catalogue, layout),
        layout=layout,
        unkept=unkept,
        spaces={space.id: space.title for space in build.catalogue.spaces},
    )
