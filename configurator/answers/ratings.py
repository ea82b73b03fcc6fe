"""The mass and power pictures as JSON, in the shapes of ``schemas/answers.schema.json``.

Exact numbers are text, rounded as they are in a terminal and on paper: masses to 0.1 kg, what loads
up and what is left down; others have two decimals at most, like everywhere in the answers.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction
from typing import Any

from configurator.answers.findings import finding_answer
from configurator.findings import Finding
from configurator.mass.states import Bar, Item, MassPicture, State
from configurator.power.circuits import CircuitRow
from configurator.power.picture import Consumer, InverterState, PanelState, PowerPicture, basis
from configurator.words import left, nearest, plain, shown, used

__all__ = ["mass_answer", "power_answer"]


def mass_answer(picture: MassPicture, findings: Iterable[Finding]) -> dict[str, Any]:
    """The mass picture, and what it has to say."""
    ratings, size, trailer = picture.ratings, picture.size, picture.trailer
    return {
        "answer": "mass",
        "vehicle": picture.vehicle,
        "wheelbase": picture.wheelbase,
        "kerb": {"front": _text(used(picture.kerb.front)), "rear": _text(used(picture.kerb.rear))},
        "ratings": {
            "gvm": _text(ratings.gvm),
            "front-axle": _text(ratings.front_axle),
            "rear-axle": _text(ratings.rear_axle),
            "gcm": _text(ratings.gcm),
        },
        "upgrades": list(picture.upgrades),
        "payload": _text(left(picture.payload)),
        "payload-used": _text(used(picture.payload_used)),
        "payload-left": _text(left(picture.payload_left)),
        "states": [_state(state) for state in picture.states],
        "added": _text(used(picture.added)),
        "added-height": None
        if picture.added_height is None
        else _text(nearest(picture.added_height, 0)),
        "size": {
            "overhang": None if size.overhang is None else _text(used(size.overhang)),
            "overhang-limit": _text(left(size.overhang_limit)),
            "width": size.width,
            "height": size.height,
        },
        "trailer": None
        if trailer is None
        else {
            "download": _text(used(trailer.download)),
            "stated": trailer.stated,
            "most-download": _text(left(trailer.most_download)),
            "rated-download": _text(left(trailer.rated_download)),
            "heaviest": None if trailer.heaviest is None else _text(left(trailer.heaviest)),
        },
        "people": picture.people,
        "seats": picture.seats,
        "convention": picture.convention,
        "assumed": list(picture.assumed),
        "unknown": list(picture.unknown),
        "findings": [finding_answer(finding) for finding in findings],
        "cautions": list(picture.cautions),
    }


def power_answer(exact: PowerPicture, findings: Iterable[Finding]) -> dict[str, Any]:
    """The power picture as people read it, and what it has to say."""
    picture = shown(exact)
    return {
        "answer": "power",
        "volts": _text(picture.volts),
        "place": picture.place,
        "sun": _text(picture.sun),
        "sun-source": picture.sun_source,
        "season": picture.season,
        "driving": _text(picture.driving),
        "consumers": [_consumer(consumer) for consumer in picture.consumers],
        "inverter-idle": _text(picture.idle),
        "daily": _text(picture.daily),
        "average-rate": _text(picture.average_rate),
        "batteries": list(picture.batteries),
        "capacity": _text(picture.capacity),
        "usable": _text(picture.usable),
        "discharge": _text(picture.discharge),
        "peak": _text(picture.peak),
        "charge-limit": _text(picture.charge_limit),
        "solar": _text(picture.solar),
        "solar-daily": _text(picture.solar_daily),
        "solar-share": _text(picture.solar_share),
        "vehicle-amps": _text(picture.vehicle_amps),
        "vehicle-daily": _text(picture.vehicle_daily),
        "mains-amps": _text(picture.mains_amps),
        "days-alone": _text(picture.days_alone),
        "days-sun": _text(picture.days_sun),
        "days-driving": _text(picture.days_driving),
        "recharge-driving": _text(picture.recharge_driving),
        "recharge-mains": _text(picture.recharge_mains),
        "inverter": None if picture.inverter is None else _inverter(picture.inverter),
        "worst": _text(picture.worst),
        "worst-low": _text(picture.worst_low),
        "worst-hours": _text(picture.worst_hours),
        "battery-needed": _text(picture.battery_needed),
        "solar-needed": _text(picture.solar_needed),
        "array-amps": _text(picture.array_amps),
        "charge-volts": _text(picture.charge_volts),
        "panel-volts": _text(picture.panel_volts),
        "panels": [_panel(panel) for panel in picture.panels],
        "regulated": picture.regulated,
        "full-amps": _text(picture.full),
        "isolator": _text(picture.isolator),
        "short-circuit": _text(picture.short_circuit),
        "curves": [
            {
                "title": curve.title,
                "empty-after": curve.empty_after,
                "charge": [_text(charge) for charge in curve.charge],
            }
            for curve in picture.curves
        ],
        "circuits": [_circuit(row) for row in picture.circuits],
        "basis": list(basis(exact)),
        "findings": [finding_answer(finding) for finding in findings],
        "cautions": list(picture.cautions),
    }


def _state(state: State) -> dict[str, Any]:
    loads = state.loads
    return {
        "state": state.id,
        "title": state.title,
        "front": None if loads.lifted else _text(used(loads.front)),
        "rear": _text(used(loads.standing.rear)),
        "total": _text(used(loads.total)),
        "front-share": None if loads.lifted else _text(nearest(100 * loads.front_share)),
        "lifted": loads.lifted,
        "offset": _text(nearest(state.offset, 0)),
        "left": _text(used(state.left)),
        "right": _text(used(state.right)),
        "bars": [
            _bar(bar) for bar in state.bars if not (bar.subject == "front-axle" and bar.load < 0)
        ],
        "items": [_item(item) for item in state.items],
    }


def _bar(bar: Bar) -> dict[str, Any]:
    return {
        "rating": bar.subject,
        "load": _text(used(bar.load)),
        "rated": _text(left(bar.rating)),
        "left": _text(left(bar.left)),
    }


def _item(item: Item) -> dict[str, Any]:
    return {
        "kind": item.kind,
        "title": item.title,
        "pick": item.pick,
        "mass": _text(nearest(item.mass)),
        "x": _text(nearest(item.x, 0)),
        "y": _text(nearest(item.y, 0)),
        "z": _text(nearest(item.z, 0)),
        "placed": item.placed,
    }


def _consumer(consumer: Consumer) -> dict[str, Any]:
    return {
        "pick": consumer.pick,
        "title": consumer.title,
        "count": consumer.count,
        "amps": _text(consumer.amps),
        "watts": _text(consumer.watts),
        "hours": _text(consumer.hours),
        "daily": _text(consumer.daily),
    }


def _inverter(inverter: InverterState) -> dict[str, Any]:
    return {
        "title": inverter.title,
        "watts": _text(inverter.watts),
        "surge": _text(inverter.surge),
        "load": _text(inverter.load),
        "largest": _text(inverter.largest),
        "surge-needed": _text(inverter.surge_needed),
        "nominal-amps": _text(inverter.nominal),
        "low-amps": _text(inverter.low),
    }


def _panel(panel: PanelState) -> dict[str, Any]:
    return {
        "title": panel.title,
        "volts": _text(panel.volts),
        "hot": _text(panel.hot),
        "needed": _text(panel.needed),
    }


def _circuit(row: CircuitRow) -> dict[str, Any]:
    cable = row.cable
    return {
        "kind": row.kind,
        "part": row.part,
        "pick": row.pick,
        "title": row.title,
        "count": row.count,
        "amps": _text(row.amps),
        "run": _text(row.run),
        "limit": _text(row.limit),
        "fuse": _text(row.fuse),
        "fuse-stated": row.fuse_stated,
        "fuse-type": row.fuse_type,
        "breaks": _text(row.breaks),
        "loaded": row.bundle if cable is None else cable.loaded,
        "apart": row.apart,
        "ambient": row.ambient,
        "cable": None if cable is None else _text(cable.size),
        "in-parallel": None if cable is None else cable.count,
        "own-fuse": None if cable is None else _text(cable.own_fuse),
        "carries": None if cable is None else _text(cable.carries),
        "cable-stated": row.cable_stated,
        "drop": _text(row.percent),
        "total-drop": _text(row.total),
        "better-cable": None if row.better is None else _text(row.better.size),
        "faults": list(row.faults),
    }


def _text(number: Decimal | Fraction | int | None) -> str | None:
    if number is None:
        return None
    if isinstance(number, Fraction):
        number = Decimal(number.numerator) / Decimal(number.denominator)
    return plain(Decimal(number))
