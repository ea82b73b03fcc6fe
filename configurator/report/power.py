"""Power as a report: what is drawn, how long it lasts and what fills it again, and the circuits."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from configurator.checking.power import cable_words, circuit_title
from configurator.findings import Finding
from configurator.power.circuits import CircuitRow
from configurator.power.picture import PowerPicture, basis
from configurator.report.model import (
    Column,
    Paragraph,
    Report,
    Row,
    RowGroup,
    Table,
    Value,
    facts_table,
    table_of,
)
from configurator.words import joined, shown, text

_SEASONS = {
    "summer": text("summer"),
    "winter": text("winter"),
    "year": text("yearly average"),
}

_LONG = 30
"""Days beyond which nobody counts."""


def season_of(picture: PowerPicture) -> str:
    """The season that is counted with, in words."""
    return _SEASONS[picture.season]


def power_facts(exact: PowerPicture, for_customer: bool = False) -> Table:
    """What is stored, drawn and given; for a customer without what is on the wiring sheet."""
    facts = _for_customer(shown(exact)) if for_customer else _all(shown(exact))
    return facts_table(facts)


def charging_facts(exact: PowerPicture) -> Iterator[Row]:
    """What fills the battery again, and how long the power lasts with it."""
    picture = shown(exact)
    facts = (*_charging(picture), *tuple(_days(picture))[1:], *_recharge(picture))
    return map(Row, facts)


def _for_customer(picture: PowerPicture) -> Iterator[tuple[str, Value]]:
    if picture.daily:
        yield text("Drawn a day"), _with("Ah", picture.daily)
    yield from _stored(picture)
    yield from _days(picture)
    yield from _charging(picture)
    yield from _recharge(picture)


def _stored(picture: PowerPicture) -> Iterator[tuple[str, Value]]:
    if picture.batteries:
        of_all = {"usable": picture.usable, "capacity": picture.capacity}
        yield text("Usable in the battery"), text("{usable} of {capacity} Ah", **of_all)


def _charging(picture: PowerPicture) -> Iterator[tuple[str, Value]]:
    if picture.solar:
        yield text("From the sun a day"), _with("Ah", picture.solar_daily)
    if picture.vehicle_daily:
        yield text("From driving a day"), _with("Ah", picture.vehicle_daily)


def _all(picture: PowerPicture) -> Iterator[tuple[str, Value]]:
    yield from _stored(picture)
    if picture.batteries:
        yield text("Continuous discharge"), _with("A", picture.discharge)
    yield from _days(picture)
    if picture.solar:
        yield text("Panels"), _with("W", picture.solar)
    yield from _charging(picture)
    if picture.solar_share is not None and picture.solar:
        share = 100 * picture.solar_share
        yield text("From the sun, of what is drawn"), text("{share} %", share=share)
    if picture.solar and picture.panel_volts is not None:
        yield text("Panels need, rated at maximum power"), _with("V", picture.panel_volts)
    yield from _recharge(picture)
    if picture.inverter is not None:
        both = {"nominal": picture.inverter.nominal, "low": picture.inverter.low}
        told = text("{nominal} A, {low} A at low voltage", **both)
        yield text("Inverter at full power"), told
        title = text("Inverter at full power, all {volts} V loads on", volts=picture.volts)
        yield title, text("{full} A at low voltage", full=picture.full)
    if picture.worst_hours is not None:
        yield text("Lasts with all loads on at once"), _with("h", picture.worst_hours)
    if picture.isolator is not None:
        yield text("Main isolator, continuous, at least"), _with("A", picture.isolator)
    if picture.short_circuit is not None:
        yield text("Batteries into a short circuit"), _with("A", picture.short_circuit)


def _days(picture: PowerPicture) -> Iterator[tuple[str, Value]]:
    if picture.days_alone is None:
        return
    yield text("Days without charging"), _lasting(picture.days_alone)
    if picture.solar_daily:
        yield text("Days with the sun only"), _lasting(picture.days_sun)
    if picture.vehicle_daily:
        yield text("Days with driving only"), _lasting(picture.days_driving)


def _lasting(days: Decimal | None) -> Decimal | str:
    """The days as they are reported: an estimate does not know more of them than a month."""
    if days is None:
        return text("no limit")
    return days if days <= _LONG else text("over {days}", days=_LONG)


def _recharge(picture: PowerPicture) -> Iterator[tuple[str, str]]:
    if picture.recharge_driving is not None:
        title = text("Driving time to recharge from empty")
        yield title, _with("h", picture.recharge_driving)
    if picture.recharge_mains is not None:
        yield text("Mains time to recharge from empty"), _with("h", picture.recharge_mains)


def _with(unit: str, figure: Decimal) -> str:
    return text("{figure} {unit}", figure=figure, unit=unit)


def power_report(exact: PowerPicture, findings: Iterable[Finding]) -> Report:
    """What is drawn, how long it lasts, what fills it; the circuits; findings and cautions."""
    picture = shown(exact)
    season = season_of(picture)
    head = [picture.place, season] if picture.place else [season]
    if picture.sun is not None:
        head.append(text("{sun} peak sun hours a day", sun=picture.sun))
    head.append(text("{hours} hours of driving a day", hours=picture.driving))
    circuits = picture.circuits
    return (
        (Paragraph(joined(head)),),
        (_draws(picture),) if picture.consumers else (),
        (power_facts(exact),),
        (_circuits(circuits),) if circuits else (),
        (_cables(circuits),) if circuits else (),
        tuple(map(Paragraph, _basis(exact, circuits))) if circuits else (),
        *((finding,) for finding in findings),
        tuple(Paragraph(caution, "faint") for caution in picture.cautions),
    )


def _draws(picture: PowerPicture) -> Table:
    draws: list[tuple[int, str, Value, Value]] = []
    for one in picture.consumers:
        title = one.title
        if one.watts:
            title = text("{title}, {watts} W on 230 V", title=title, watts=one.watts)
        draws.append((one.count, title, one.amps, one.daily))
    if picture.idle:
        draws.append((1, text("The inverter itself while it is on"), None, picture.idle))
    draws.append((1, text("Total"), picture.worst, picture.daily))
    columns = (
        Column(text("Draws")),
        Column(text("Load, A"), "figure"),
        Column(text("Ah a day"), "figure"),
    )
    return Table((Column(kind="count"), *columns), (RowGroup(map(Row, draws)),))


def _circuits(circuits: Sequence[CircuitRow]) -> Table:
    return table_of(
        circuits,
        (Column(kind="count"), lambda one: one.count),
        (Column(text("Circuit")), circuit_title),
        (Column(text("Load, A"), "figure"), lambda one: one.amps),
        (Column(text("One way, m"), "figure"), lambda one: one.run),
        (Column(text("Fuse, A"), "figure"), lambda one: one.fuse),
        (
            Column(text("Cable"), "figure"),
            lambda one: None if one.cable is None else cable_words(one.cable),
        ),
        unknown="?",
    )


def _cables(circuits: Sequence[CircuitRow]) -> Table:
    """What each cable carries where it runs, and what is lost on it."""
    return table_of(
        circuits,
        (Column(kind="count"), lambda one: one.count),
        (Column(text("Cable of")), circuit_title),
        (
            Column(text("Carries, A"), "figure"),
            lambda one: one.carries,
        ),
        (Column(text("In the bundle"), "figure"), lambda one: one.loaded),
        (
            Column(text("Drop, %"), "figure"),
            _drop,
        ),
        (
            Column(text("From battery, %"), "figure"),
            lambda one: "" if one.total is None else one.total,
        ),
        unknown="?",
    )


def _drop(row: CircuitRow) -> str | None:
    if row.percent is None:
        return None
    return text("{percent} of {limit}", percent=row.percent, limit=row.limit)


def _basis(exact: PowerPicture, circuits: Sequence[CircuitRow]) -> Iterator[str]:
    for row in circuits:
        title = circuit_title(row)
        if row.cable is not None and row.cable.count > 1:
            own = "?" if row.cable.own_fuse is None else row.cable.own_fuse
            known = {"circuit": title, "cable": cable_words(row.cable), "own": own}
            if row.apart:
                yield text(
                    "{circuit}: {cable} on each pole, each pair apart from the other; each of "
                    "them has a fuse of its own, {own} A.",
                    **known,
                )
            else:
                yield text(
                    "{circuit}: {cable} on each pole; each of them has a fuse of its own, {own} A.",
                    **known,
                )
        if row.ambient != exact.settings.ambient:
            yield text("{circuit}: calculated at {heat} °C.", circuit=title, heat=row.ambient)
    yield text(
        "In the bundle: loaded cables that run together. From battery: the drop from there to the"
        " load."
    )
    yield from basis(exact)
