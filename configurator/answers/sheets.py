"""The sheets for workshop and electrician as data: shapes that ``schemas/answers.schema.json`` has.

Exact numbers are text. Neither has an amount of money or a supplier; the order list, which has,
is apart in :mod:`configurator.answers.shop`.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from attrs import asdict

from configurator.catalogue.work import Hole
from configurator.report.job import DoorRow, JobSheet, MountRow, SpaceRow, UnitRow, WorkRow
from configurator.report.sheet_head import SheetHead
from configurator.report.wiring import (
    BatteryRow,
    ChargerRow,
    CircuitLine,
    InverterRow,
    WiringSheet,
)
from configurator.words import plain

__all__ = ["head_answer", "job_answer", "wiring_answer"]


def head_answer(head: SheetHead) -> dict[str, Any]:
    """What stands at the head of a sheet."""
    return {
        "number": head.number,
        "date": head.date.isoformat(),
        "title": head.title,
        "customer": head.customer,
        "vehicle": head.vehicle,
        "own-vehicle": head.own_vehicle,
    }


def job_answer(job: JobSheet) -> dict[str, Any]:
    """The job sheet."""
    return {
        "answer": "job",
        **head_answer(job.head),
        "tray": {"length": job.tray[0], "width": job.tray[1]},
        "spaces": [_space(space) for space in job.spaces],
        "units": [_unit(unit) for unit in job.units],
        "doors": [_door(door) for door in job.doors],
        "groups": [
            {
                "title": group.title,
                "parts": [
                    {
                        "pick": part.pick,
                        "title": part.title,
                        "text": part.text,
                        "quantity": part.quantity,
                        "units": list(part.units),
                        "work": [_work(work) for work in part.work],
                    }
                    for part in group.parts
                ],
            }
            for group in job.groups
        ],
        "mounts": [_mount(mount) for mount in job.mounts],
        "notes": list(job.notes),
        "cautions": list(job.cautions),
    }


def wiring_answer(sheet: WiringSheet) -> dict[str, Any]:
    """The wiring sheet."""
    return {
        "answer": "wiring",
        **head_answer(sheet.head),
        "volts": _text(sheet.settings.volts),
        "low-volts": _text(sheet.settings.low_volts),
        "circuits": [_circuit(line) for line in sheet.circuits],
        "batteries": [_battery(row) for row in sheet.batteries],
        "charge-limit": _text(sheet.charge_limit),
        "chargers": [_charger(row) for row in sheet.chargers],
        "inverter": None if sheet.inverter is None else _inverter(sheet.inverter),
        "mains": [
            {
                "title": row.title,
                "count": row.count,
                "watts": _text(row.watts),
                "surge": _text(row.surge),
            }
            for row in sheet.mains
        ],
        "worst": _text(sheet.worst),
        "isolator": _text(sheet.isolator),
        "short-circuit": _text(sheet.short_circuit),
        "basis": list(sheet.basis),
        "findings": list(sheet.findings),
        "cautions": list(sheet.cautions),
    }


def _space(space: SpaceRow) -> dict[str, Any]:
    outside, inside = space.outside, space.inside
    return {
        "title": space.title,
        "outside": {
            "length": outside.length,
            "width": outside.width,
            "height": outside.height,
        },
        "inside": {"length": inside.length, "width": inside.width, "height": inside.height},
        "wall": _text(outside.wall),
        "roof": _text(outside.roof),
        "floor": _text(outside.floor),
    }


def _unit(unit: UnitRow) -> dict[str, Any]:
    return {
        "number": unit.number,
        "pick": unit.pick,
        "title": unit.title,
        "space": unit.space,
        "side": unit.side,
        "on": unit.on,
        "on-number": unit.on_number,
        "x": unit.x,
        "y": unit.y,
        "z": unit.z,
        "length": unit.length,
        "width": unit.width,
        "height": unit.height,
        "to-rear": unit.rear,
        "to-right": unit.right,
        "to-roof": unit.top,
        "clear": asdict(unit.clear),
        "travel": unit.travel,
        "swing": None if unit.swing is None else asdict(unit.swing),
    }


def _door(door: DoorRow) -> dict[str, Any]:
    return {
        "space": door.space,
        "side": door.side,
        "moves": door.moves,
        "width": door.width,
        "height": door.height,
        "start": door.start,
        "end": door.end,
        "sill": door.sill,
        "top": door.top,
        "edge-start": _text(door.edge_start),
        "edge-end": _text(door.edge_end),
        "edge-sill": _text(door.edge_sill),
        "edge-top": _text(door.edge_top),
    }


def _work(work: WorkRow) -> dict[str, Any]:
    return {
        "do": work.do,
        "text": work.text,
        "count": work.count,
        "where": work.where,
        "hole": _hole(work.hole),
        "unit": work.unit,
        "spots": [asdict(spot) for spot in work.spots],
    }


def _hole(hole: Hole | None) -> dict[str, int] | None:
    if hole is None:
        return None
    return {name: size for name, size in asdict(hole).items() if size is not None}


def _mount(mount: MountRow) -> dict[str, Any]:
    return {
        "unit": mount.unit,
        "title": mount.title,
        "count": mount.count,
        "each": _text(mount.each),
        "laden": _text(mount.laden),
        "needed": _text(mount.needed),
    }


def _circuit(line: CircuitLine) -> dict[str, Any]:
    circuit = line.circuit
    cable = circuit.cable
    return {
        "number": line.number,
        "kind": circuit.kind,
        "part": circuit.part,
        "pick": circuit.pick,
        "title": circuit.title,
        "count": circuit.count,
        "amps": _text(circuit.amps),
        "run": _text(circuit.run),
        "both-ways": _text(line.both_ways),
        "by-drop": _text(line.by_drop),
        "by-fuse": _text(line.by_fuse),
        "cable": None if cable is None else _text(cable.size),
        "in-parallel": None if cable is None else cable.count,
        "own-fuse": None if cable is None else _text(cable.own_fuse),
        "loaded": circuit.bundle if cable is None else cable.loaded,
        "apart": circuit.apart,
        "ambient": circuit.ambient,
        "carries": None if cable is None else _text(cable.carries),
        "drop-volts": _text(line.drop),
        "drop": _text(circuit.percent),
        "limit": _text(circuit.limit),
        "total-drop": _text(circuit.total),
        "fuse": _text(circuit.fuse),
        "fuse-type": circuit.fuse_type,
        "breaks": _text(circuit.breaks),
        "faults": list(circuit.faults),
    }


def _battery(row: BatteryRow) -> dict[str, Any]:
    return {
        "title": row.title,
        "count": row.count,
        "chemistry": row.chemistry,
        "capacity": _text(row.capacity),
        "volts": _text(row.volts),
        "usable": _text(row.usable),
        "discharge": _text(row.discharge),
        "charge": _text(row.charge),
        "charge-volts": _text(row.charge_volts),
        "float-volts": _text(row.float_volts),
        "rated-hours": _text(row.rated_hours),
        "peukert": _text(row.peukert),
        "short-circuit": _text(row.short_circuit),
        "fuse": _text(row.fuse),
        "fuse-type": row.fuse_type,
        "breaks": _text(row.breaks),
    }


def _charger(row: ChargerRow) -> dict[str, Any]:
    return {
        "kind": row.kind,
        "title": row.title,
        "count": row.count,
        "amps": _text(row.amps),
        "watts": _text(row.watts),
        "limit": _text(row.limit),
    }


def _inverter(row: InverterRow) -> dict[str, Any]:
    state, cable = row.state, row.cable
    return {
        "title": state.title,
        "watts": _text(state.watts),
        "surge": _text(state.surge),
        "nominal-amps": _text(state.nominal),
        "low-amps": _text(state.low),
        "cable": None if cable is None else _text(cable.size),
        "in-parallel": None if cable is None else cable.count,
        "fuse": _text(row.fuse),
    }


def _text(number: Decimal | None) -> str | None:
    return None if number is None else plain(number)
