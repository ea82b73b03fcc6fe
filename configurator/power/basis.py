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
from configurator.words import plain

__all__ = ["basis"]


def basis(picture: PowerPicture) -> tuple[str, ...]:
    """What stands behind the figures of a picture's circuits; empty where it has none."""
    return tuple(_sentences(picture.settings, picture)) if picture.circuits else ()


def _sentences(settings: PowerSettings, picture: PowerPicture) -> Iterator[str]:
    rows = picture.circuits
    yield (
        f"Cable: flexible class 5 copper (IEC 60228 table 3), single-core, insulation for "
        f"{INSULATION} °C, clipped direct; what it carries is BS 7671 table 4E1A, method C, two "
        "cables d.c. A cable with other insulation, such as for 75 °C, carries less: these figures "
        "do not hold for it."
    )
    yield (
        f"Heat: cables run at {settings.ambient} °C unless their circuit says otherwise; they "
        f"carry less by the square root of what is left up to {INSULATION} °C. The drop counts "
        f"copper at {settings.conductor} °C, or at the heat around it where that is more "
        "(IEC 60287-1-1)."
    )
    yield (
        f"Bundles: {settings.grouped} loaded cables run together unless their circuit says "
        f"otherwise; a circuit alone has {PAIR}, out and back. Of what a cable carries alone, 0.70 "
        "is left with 3 in a bundle, 0.60 with 4 to 6, 0.50 with 7 to 24 (ABYC E-11)."
    )
    if any(row.cable is not None and row.cable.count > 1 for row in rows):
        yield (
            "Cables in parallel: all of them count in the bundle unless they run apart. They are "
            "of one length and one size, and each has a fuse of its own at the end that feeds it."
        )
    if any(row.part == FEED for row in rows):
        yield (
            f"A charger from the vehicle draws {plain(CHARGER_DRAW)} times what it gives (common "
            f"practice). Its cable from the starter battery is counted at {settings.engine_bay} °C "
            "for the engine bay unless its circuit says otherwise; near the exhaust it is hotter."
        )
    if picture.inverter is not None:
        yield (
            f"An inverter is counted at full power at {plain(settings.low_volts)} V, where it "
            "draws most."
        )
    if any(row.part == PANELS for row in rows):
        yield f"Panels are counted with their rated W at {plain(settings.volts)} V."
    if any(row.kind == USE and row.total is not None for row in rows):
        inverter = "" if picture.inverter is None else ", an inverter at full power"
        yield (
            f"From battery to load: the drop in the cables of battery, fuse panel and load "
            f"together, with everything on at once{inverter} "
            f"({plain(drawn(picture.full))} A); at most {plain(settings.drop)} percent (AS/NZS "
            "3000, extra-low voltage)."
        )
    if picture.panel_volts is not None and any(row.part == PANELS for row in rows):
        yield (
            f"Volts of a panel: with cells at {settings.hot_cells} °C it must bring "
            f"{plain((picture.charge_volts or 0) + settings.headroom)} V, which is what the "
            f"battery is charged to and {plain(settings.headroom)} V for the regulator; that is "
            f"{plain(drawn(picture.panel_volts))} V as rated at 25 °C, at maximum power."
        )
