"""Mass and power as a terminal shows them: tables of numbers, what they say, and the cautions."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from rich.console import Console
from rich.text import Text

from configurator.checking.circuits import cable_words, circuit_title
from configurator.checking.ratings import kilograms, loaded, millimetres
from configurator.findings import Finding
from configurator.mass.states import MassPicture, State
from configurator.power.circuits import CircuitRow
from configurator.power.picture import PowerPicture, basis
from configurator.terminal.common import new_console, show_cautions, show_finding
from configurator.terminal.tables import new_table
from configurator.words import left, nearest, plain, shown, used

__all__ = ["show_mass", "show_power"]

_ROWS = (
    ("front-axle", "Front axle"),
    ("rear-axle", "Rear axle"),
    ("gvm", "Vehicle"),
    ("tow-ball", "Tow ball"),
    ("gcm", "Vehicle and trailer"),
)


def show_mass(picture: MassPicture, findings: Iterable[Finding], items: bool) -> None:
    """Loads against ratings by state, size, what may be towed; then findings and cautions."""
    out = new_console()
    out.print(f"{picture.vehicle}, wheelbase {picture.wheelbase} mm")
    out.print(Text(picture.convention, style="dim"))
    out.print()
    out.print(_states(picture))
    out.print()
    out.print(_sums(picture))
    if items:
        out.print()
        _show_items(out, picture.state("full"))
    if picture.unknown:
        out.print()
        out.print(
            f"Not counted, because a size or a figure is not known: {', '.join(picture.unknown)}"
        )
    if picture.assumed and not items:
        out.print()
        several = f"The places of {len(picture.assumed)} parts are" if picture.assumed[1:] else ""
        out.print(f"{several or 'The place of one part is'} assumed; --items shows them.")
    _close(out, findings, picture.cautions)


def _states(picture: MassPicture) -> object:
    titles = [state.title for state in picture.states]
    table = new_table("kg", "rated", *titles, "left", numbers=len(titles) + 2)
    for subject, title in _ROWS:
        bars = [next((b for b in s.bars if b.subject == subject), None) for s in picture.states]
        there = [bar for bar in bars if bar is not None]
        if not there:
            continue
        least = min(bar.left for bar in there)
        loads = ["" if b is None else "lifted" if b.load < 0 else loaded(b.load) for b in bars]
        left = Text(kilograms(least), style="bold red" if least < 0 else "")
        table.add_row(title, kilograms(there[0].rating), *loads, left)
    shares = [
        "" if state.loads.lifted else f"{plain(nearest(100 * state.loads.front_share))} %"
        for state in picture.states
    ]
    table.add_row("On the front axle", "", *shares, "")
    return table


def _sums(picture: MassPicture) -> object:
    table = new_table("", "", numbers=1)
    table.show_header = False
    full, size = picture.state("full"), picture.size
    taken, payload = loaded(picture.payload_used), kilograms(picture.payload)
    remaining = kilograms(picture.payload_left)
    table.add_row("Payload used, travelling full", f"{taken} of {payload} kg, {remaining} left")
    if picture.added_height is not None:
        table.add_row(
            "Centre of the added mass above the tray floor",
            f"{millimetres(picture.added_height)} mm",
        )
    table.add_row(
        "Added mass left and right of the centre line",
        f"{loaded(full.left)} and {loaded(full.right)} kg",
    )
    if size.overhang is not None:
        limit = plain(left(size.overhang_limit))
        table.add_row("Rear overhang", f"{plain(used(size.overhang))} of {limit} mm")
    if size.width is not None:
        table.add_row("Overall width", f"{size.width} mm")
    if size.height is not None:
        table.add_row("Overall height", f"{size.height} mm")
    trailer = picture.trailer
    if trailer is not None:
        rated = kilograms(trailer.rated_download)
        most = kilograms(trailer.most_download)
        table.add_row("Tow-ball download left when full", f"{most} of {rated} kg")
        if trailer.heaviest is not None:
            table.add_row("Heaviest trailer left", f"{kilograms(trailer.heaviest)} kg")
    return table


def _show_items(out: Console, state: State) -> None:
    out.print(f"{state.title}, x behind the front axle, y to the right, z above the tray floor, mm")
    table = new_table("What", "kg", "x", "y", "z", numbers=4)
    for item in state.items:
        title = item.title if item.kind in ("part", "person", "fuel") else f"  {item.kind}"
        place = [millimetres(item.x), millimetres(item.y), millimetres(item.z)]
        place = place if item.placed else [f"({number})" for number in place]
        table.add_row(title, plain(nearest(item.mass)), *place)
    out.print(table)
    out.print("Places in brackets are assumed.")


def show_power(exact: PowerPicture, findings: Iterable[Finding]) -> None:
    """What is drawn, how long it lasts, what fills it; the circuits; findings and cautions."""
    out, picture = new_console(), shown(exact)
    season = {"year": "mean of the year"}.get(picture.season, picture.season)
    where = f"{picture.place}, {season}" if picture.place else season
    sun = "" if picture.sun is None else f", {plain(picture.sun)} peak sun hours a day"
    out.print(f"{where}{sun}, {plain(picture.driving)} hours of driving a day")
    if picture.consumers:
        table = new_table("Draws", "A", "Ah a day", numbers=2)
        for consumer in picture.consumers:
            many = f"{consumer.count} x " if consumer.count > 1 else ""
            volts = f", {plain(consumer.watts)} W on 230 V" if consumer.watts else ""
            title = f"{many}{consumer.title}{volts}"
            table.add_row(title, plain(consumer.amps), plain(consumer.daily))
        if picture.idle:
            table.add_row("The inverter itself while it is on", "", plain(picture.idle))
        table.add_row("Together", plain(picture.worst), plain(picture.daily))
        out.print()
        out.print(table)
    out.print()
    out.print(_stay(picture))
    if picture.circuits:
        out.print()
        out.print(_circuits(picture.circuits))
        out.print()
        out.print(_cables(picture.circuits))
        _show_basis(out, exact)
    _close(out, findings, picture.cautions)


def _stay(picture: PowerPicture) -> object:
    table = new_table("", "", numbers=1)
    table.show_header = False
    endless = "no end"
    if picture.batteries:
        capacity = f"{plain(picture.usable)} of {plain(picture.capacity)} Ah"
        table.add_row(f"Usable of {', '.join(picture.batteries)}", capacity)
        table.add_row("Discharge for long", f"{plain(picture.discharge)} A")
    if picture.days_alone is not None:
        table.add_row("Days without charging", plain(picture.days_alone))
        if picture.solar_daily:
            days = endless if picture.days_sun is None else plain(picture.days_sun)
            table.add_row("Days with the sun only", days)
        if picture.vehicle_daily:
            days = endless if picture.days_driving is None else plain(picture.days_driving)
            table.add_row("Days with driving only", days)
    if picture.solar:
        table.add_row(f"From {plain(picture.solar)} W of panels", _a_day(picture.solar_daily))
    if picture.solar_share is not None and picture.solar:
        table.add_row("Share of the sun", f"{plain(100 * picture.solar_share)} %")
    if picture.solar and picture.panel_volts is not None:
        table.add_row("Panels need, rated at maximum power", f"{plain(picture.panel_volts)} V")
    if picture.vehicle_daily:
        table.add_row("From driving", _a_day(picture.vehicle_daily))
    for title, hours in (
        ("Driving from used up to full", picture.recharge_driving),
        ("Mains power from used up to full", picture.recharge_mains),
    ):
        if hours is not None:
            table.add_row(title, f"{plain(hours)} h")
    if picture.inverter is not None:
        nominal, low = plain(picture.inverter.nominal), plain(picture.inverter.low)
        table.add_row("Inverter at full power", f"{nominal} A, {low} A at low voltage")
    if picture.worst_hours is not None:
        table.add_row("Everything on at once lasts", f"{plain(picture.worst_hours)} h")
    if picture.isolator is not None:
        table.add_row("Main isolator, for long at least", f"{plain(picture.isolator)} A")
    if picture.short_circuit is not None:
        short = f"{plain(picture.short_circuit)} A"
        table.add_row("Batteries into a short circuit", short)
    return table


def _circuits(rows: tuple[CircuitRow, ...]) -> object:
    table = new_table("Circuit", "A", "run m", "fuse A", "cable", numbers=4)
    for row in rows:
        table.add_row(
            _counted(row),
            plain(row.amps),
            "?" if row.run is None else plain(row.run),
            "?" if row.fuse is None else plain(row.fuse),
            "?" if row.cable is None else cable_words(row.cable),
        )
    return table


def _cables(rows: tuple[CircuitRow, ...]) -> object:
    """What each cable carries where it runs, and what is lost on it."""
    table = new_table("Cable of", "carries A", "bundle", "drop %", "in all %", numbers=4)
    for row in rows:
        cable = row.cable
        table.add_row(
            _counted(row),
            "?" if cable is None else plain(cable.carries),
            plain(row.bundle if cable is None else cable.loaded),
            "?" if row.percent is None else f"{plain(row.percent)} of {plain(row.limit)}",
            "" if row.total is None else plain(row.total),
        )
    return table


def _counted(row: CircuitRow) -> str:
    title = circuit_title(row)
    return title if row.count == 1 else f"{row.count} x {title}"


def _show_basis(out: Console, exact: PowerPicture) -> None:
    out.print()
    for row in shown(exact).circuits:
        if row.cable is not None and row.cable.count > 1:
            apart = ", each pair apart from the other" if row.apart else ""
            own = "?" if row.cable.own_fuse is None else plain(row.cable.own_fuse)
            out.print(
                f"{circuit_title(row)}: {cable_words(row.cable)} on each pole{apart}; each of "
                f"them has a fuse of its own, {own} A."
            )
        if row.ambient != exact.settings.ambient:
            out.print(f"{circuit_title(row)}: counted at {row.ambient} °C.")
    out.print("Bundle: loaded cables that run together. In all: from the battery to the load.")
    for sentence in basis(exact):
        out.print(Text(sentence))


def _close(out: Console, findings: Iterable[Finding], cautions: Iterable[str]) -> None:
    for finding in findings:
        show_finding(out, finding)
    show_cautions(out, cautions)


def _a_day(amp_hours: Decimal) -> str:
    return f"{plain(amp_hours)} Ah a day"
