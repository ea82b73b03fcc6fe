"""The pictures of a layout by name: each is the same wherever it is shown."""

from __future__ import annotations

from configurator.answers.facts import PictureName
from configurator.drawing.corner import corner_svg
from configurator.drawing.layouts import ROOM, layout_svg
from configurator.drawing.vehicle import vehicle_svg
from configurator.errors import ConfiguratorError
from configurator.fit.layout import Layout
from configurator.selection.resolved import Resolved
from configurator.words import SOURCE, Speech

_MISSING = {
    "vehicle": "pick a vehicle first: without one there is nothing to draw",
    "corner": "pick a vehicle and the canopy first: without them there is nothing to draw",
    "left": "nothing is seen from the left: no door there, and no unit works from it",
    "right": "nothing is seen from the right: no door there, and no unit works from it",
    "above": "there is no space with units to be seen from above",
}


def picture_svg(
    build: Resolved,
    layout: Layout | None,
    name: PictureName,
    speech: Speech = SOURCE,
    room: tuple[float, float] = ROOM,
) -> str:
    """A picture as it is on paper; views of the spaces have the key that stands beside them there.

    Args:
        build: what is picked.
        layout: where the units sit; None where that is not known: then only the vehicle is drawn.
        name: which picture.
        speech: the language that it is drawn in.
        room: what all views of the spaces have on paper, mm.

    Raises:
        ConfiguratorError: there is nothing to draw.
    """
    laid = layout or Layout(())
    match name:
        case "all":
            return layout_svg(build, laid, paper=room, speech=speech)
        case "vehicle":
            drawn = vehicle_svg(build, layout, speech=speech)
        case "corner":
            drawn = corner_svg(build, laid, speech=speech)
        case _:
            view = "plan" if name == "above" else name
            drawn = layout_svg(build, laid, f"{name}-", room, speech, view)
    if not drawn:
        raise ConfiguratorError(_MISSING[name])
    return drawn
