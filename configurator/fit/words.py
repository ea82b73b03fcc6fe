"""Why a unit does not fit on its own, in words."""

from __future__ import annotations

from configurator.fit.units import Misfit, UnitFit
from configurator.words import Text, listed, text

SIDES = {
    "front": text("front"),
    "left": text("left"),
    "rear": text("rear"),
    "right": text("right"),
}
"""Sides of a space, and ends that a unit is to be near."""

_BED = {"width": text("width"), "depth": text("depth")}
_ALONG = {"length": text("length"), "width": text("width")}


def misfit_words(fit: UnitFit, misfit: Misfit, space: str) -> Text:
    """What one misfit says, with its numbers; ``space`` is the title of the space."""
    unit = fit.option.unit
    assert unit is not None
    known = {
        "needs": misfit.needs,
        "has": misfit.has,
        "short": misfit.missing,
        "space": space,
        "where": SIDES.get(misfit.where, misfit.where),
    }
    match misfit.what:
        case "height":
            return text(
                "it needs {needs} mm of height ({parts}), the {space} has {has} mm inside: "
                "{short} mm short",
                parts=_height_parts(fit, misfit),
                **known,
            )
        case "length" | "width":
            return text(
                "it needs {needs} mm along the {side} of the {space} with its clearances, {has} "
                "mm are available: {short} mm short",
                side=_ALONG[misfit.what],
                **known,
            )
        case "opening-height":
            return text(
                "its face reaches up to {needs} mm, the clear opening of the {where} side to "
                "{has} mm: {short} mm short",
                **known,
            )
        case "opening-width":
            return text(
                "its face needs {needs} mm of clear opening width on the {where} side, {has} mm "
                "are available: {short} mm short",
                **known,
            )
        case "sill":
            return text(
                "its face starts at {has} mm, below the sill of the {where} side at {needs} mm: "
                "{short} mm short",
                **known,
            )
        case "no-opening" if misfit.where:
            return text("there is no door on the {where} side to reach it through", **known)
        case "no-opening":
            return text("there is no door to reach it through")
        case "entry":
            return text(
                "it cannot be brought in, upright or tilted: {needs} mm of it must pass {has} mm "
                "of clear opening on the {where} side",
                **known,
            )
        case "stand-up":
            return text(
                "it cannot be brought in: it passes the {where} opening, but to stand it up "
                "inside takes {needs} mm, its diagonal, in height and behind the opening; {has} "
                "mm are available: {short} mm short",
                **known,
            )
        case "right-up":
            return text(
                "it cannot be brought in: it passes the {where} opening, but to right it inside "
                "takes {needs} mm, its diagonal, in height and along the opening; {has} mm are "
                "available: {short} mm short",
                **known,
            )
        case "turn-in":
            return text(
                "it cannot be brought in: it passes the {where} opening, but to turn it inside "
                "takes {needs} mm, its diagonal, along the opening and behind it; {has} mm are "
                "available: {short} mm short",
                **known,
            )
        case "bed-clear":
            return text(
                "{where} needs {needs} mm kept clear above it, {has} mm stay clear below it: "
                "{short} mm short",
                **known,
            )
        case "bed-mass":
            return text(
                "laden it weighs {needs} kg, {where} carries {has} kg: {short} kg too much", **known
            )
        case "bed-width" | "bed-depth":
            return text(
                "it needs {needs} mm of bed {side}, {where} has {has} mm: {short} mm short",
                side=_BED[misfit.what[4:]],
                **known,
            )
        case "below":
            return text(
                "it hangs {has} mm above the floor and needs {needs} mm clear below it: {short} "
                "mm short",
                **known,
            )
        case _:
            return text(
                "it needs something to stand on ({names}), and none is picked",
                names=listed(map(str, unit.stands_on), alternatives=True),
            )


def _height_parts(fit: UnitFit, misfit: Misfit) -> Text:
    """What the height that a unit needs is made of."""
    unit = fit.option.unit
    assert unit is not None
    body, over = unit.body.height, unit.clearance.top + unit.clearance.bottom
    base = int(misfit.needs) - over - body
    known = {"body": body, "over": over, "base": base}
    if over and base:
        return text("{body} mm body and {over} mm clearance, standing {base} mm up", **known)
    if over:
        return text("{body} mm body and {over} mm clearance", **known)
    if base:
        return text("{body} mm body, standing {base} mm up", **known)
    return text("{body} mm body", **known)
