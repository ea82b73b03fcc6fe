"""Why a unit does not fit on its own, in words."""

from __future__ import annotations

from configurator.fit.units import Misfit, UnitFit

__all__ = ["misfit_words"]


def misfit_words(fit: UnitFit, misfit: Misfit, space: str) -> str:
    """What one misfit says, with its numbers; ``space`` is the title of the space."""
    unit = fit.option.unit
    assert unit is not None
    short = f"{misfit.missing} mm short"
    match misfit.what:
        case "height":
            over = unit.clearance.top + unit.clearance.bottom
            parts = f"{unit.body.height} mm body"
            parts += f" and {over} mm clearance" if over else ""
            base = int(misfit.needs) - over - unit.body.height
            parts += f", standing {base} mm up" if base else ""
            return (
                f"it needs {misfit.needs} mm of height ({parts}), "
                f"the {space} has {misfit.has} mm inside: {short}"
            )
        case "length" | "width":
            return (
                f"it needs {misfit.needs} mm along the {misfit.what} of the {space} with its "
                f"clearances, {misfit.has} mm are there: {short}"
            )
        case "opening-height":
            return (
                f"its face reaches up to {misfit.needs} mm, the clear opening of the "
                f"{misfit.where} side to {misfit.has} mm: {short}"
            )
        case "opening-width":
            return (
                f"its face needs {misfit.needs} mm of clear opening width on the "
                f"{misfit.where} side, {misfit.has} mm are there: {short}"
            )
        case "sill":
            return (
                f"its face starts at {misfit.has} mm, below the sill of the {misfit.where} side "
                f"at {misfit.needs} mm: {short}"
            )
        case "no-opening":
            return f"there is no door on the {misfit.where or 'outside'} to reach it through"
        case "entry":
            return (
                f"it cannot be got in, straight or tilted: {misfit.needs} mm of it must pass "
                f"{misfit.has} mm of clear opening on the {misfit.where} side"
            )
        case "stand-up" | "right-up" | "turn-in":
            turn, where = {
                "stand-up": ("stand it up", "in height and behind the opening"),
                "right-up": ("right it", "in height and along the opening"),
                "turn-in": ("turn it", "along the opening and behind it"),
            }[misfit.what]
            return (
                f"it cannot be got in: it passes the {misfit.where} opening, but to {turn} inside "
                f"takes {misfit.needs} mm, its diagonal, {where}; {misfit.has} mm are there: "
                f"{short}"
            )
        case "bed-clear":
            return (
                f"{misfit.where} needs {misfit.needs} mm kept clear above it, {misfit.has} mm "
                f"stay clear below it: {short}"
            )
        case "bed-mass":
            return (
                f"laden it weighs {misfit.needs} kg, {misfit.where} carries {misfit.has} kg: "
                f"{misfit.missing} kg too much"
            )
        case "bed-width" | "bed-depth":
            return (
                f"it needs {misfit.needs} mm of bed {misfit.what[4:]}, {misfit.where} has "
                f"{misfit.has} mm: {short}"
            )
        case "below":
            return (
                f"it hangs {misfit.has} mm above the floor and needs {misfit.needs} mm clear "
                f"below it: {short}"
            )
        case _:
            return f"it needs something to stand on ({' or '.join(unit.stands_on)}), none is picked"
