"""What the sums of cables, chargers and panels count with, in words for whoever checks them.

The figures are the shop's settings; the tables are those of :mod:`configurator.power.cables`.
"""

from __future__ import annotations

from collections.abc import Iterator

from configurator.catalogue.settings import PowerSettings
from configurator.power.cables import INSULATION, PAIR
from configurator.power.circuits import CHARGER_DRAW, FEED, PANELS, USE
from configurator.power.picture import PowerPicture
from configurator.power.shown import drawn
from configurator.words import text

__all__ = ["basis"]


def basis(picture: PowerPicture) -> tuple[str, ...]:
    """What stands behind the figures of a picture's circuits; empty where it has none."""
    return tuple(_sentences(picture.settings, picture)) if picture.circuits else ()


def _sentences(settings: PowerSettings, picture: PowerPicture) -> Iterator[str]:
    rows = picture.circuits
    yield text(
        "Cable: flexible class 5 copper (IEC 60228 table 3), single-core, insulation for "
        "{insulation} °C, clipped direct; what it carries is BS 7671 table 4E1A, method C, two "
        "cables d.c. A cable with other insulation, such as for 75 °C, carries less: these "
        "figures do not hold for it.",
        insulation=INSULATION,
    )
    yield text(
        "Heat: cables run at {ambient} °C unless their circuit says otherwise; they carry less by "
        "the square root of what remains up to {insulation} °C. The drop counts copper at "
        "{conductor} °C, or at the heat around it where that is more (IEC 60287-1-1).",
        ambient=settings.ambient,
        insulation=INSULATION,
        conductor=settings.conductor,
    )
    yield text(
        "Bundles: {grouped} loaded cables run together unless their circuit says otherwise; a "
        "circuit alone has {pair}, out and back. Of what a cable carries alone, 0.70 remains with "
        "3 in a bundle, 0.60 with 4 to 6, 0.50 with 7 to 24 (ABYC E-11).",
        grouped=settings.grouped,
        pair=PAIR,
    )
    if any(row.cable is not None and row.cable.count > 1 for row in rows):
        yield text(
            "Cables in parallel: all of them count in the bundle unless they run apart. They are "
            "of one length and one size, and each has a fuse of its own at the end that feeds it."
        )
    if any(row.part == FEED for row in rows):
        yield text(
            "A charger from the vehicle draws {charger_draw} times what it gives (common "
            "practice). Its cable from the starter battery is counted at {engine_bay} °C for the "
            "engine bay unless its circuit says otherwise; near the exhaust it is hotter.",
            charger_draw=CHARGER_DRAW,
            engine_bay=settings.engine_bay,
        )
    if picture.inverter is not None:
        yield text(
            "An inverter is counted at full power at {low_volts} V, where it draws most.",
            low_volts=settings.low_volts,
        )
    if any(row.part == PANELS for row in rows):
        yield text("Panels are counted with their rated W at {volts} V.", volts=settings.volts)
    if any(row.kind == USE and row.total is not None for row in rows):
        amps = drawn(picture.full)
        if picture.inverter is None:
            yield text(
                "From battery to load: the drop in the cables of battery, fuse panel and load "
                "together, with everything on at once ({amps} A); at most {drop} percent (AS/NZS "
                "3000, extra-low voltage).",
                amps=amps,
                drop=settings.drop,
            )
        else:
            yield text(
                "From battery to load: the drop in the cables of battery, fuse panel and load "
                "together, with everything on at once, an inverter at full power ({amps} A); at "
                "most {drop} percent (AS/NZS 3000, extra-low voltage).",
                amps=amps,
                drop=settings.drop,
            )
    if picture.panel_volts is not None and any(row.part == PANELS for row in rows):
        yield text(
            "Volts of a panel: with cells at {hot_cells} °C it must give {volts} V, which is what "
            "the battery is charged to and {headroom} V for the regulator; that is {rated} V as "
            "rated at 25 °C, at maximum power.",
            hot_cells=settings.hot_cells,
            volts=(picture.charge_volts or 0) + settings.headroom,
            headroom=settings.headroom,
            rated=drawn(picture.panel_volts),
        )
