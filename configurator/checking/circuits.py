"""What is wrong with circuits: cables, fuses, drops, and what a fuse can break."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from configurator.catalogue.settings import PowerSettings
from configurator.findings import Finding
from configurator.power.cables import Cable
from configurator.power.circuits import FEED, OUTPUT, PANELS, STORE, CircuitRow
from configurator.power.picture import PowerPicture
from configurator.power.shown import shown_circuit
from configurator.words import plain

__all__ = ["PARTS", "cable_words", "circuit_findings", "circuit_title", "power_finding"]

PARTS = {FEED: "from the starter battery", OUTPUT: "output", PANELS: "to the regulator"}
"""What a part of a source is called behind its title."""

_NOTES = ("no-run", "unknown-cable")


def power_finding(
    level: str, subject: str, sentence: str, reason: str = "", hint: str = "", **numbers: Decimal
) -> Finding:
    """A finding of the code ``power``; numbers by name, ``_`` for ``-``."""
    named = tuple((name.replace("_", "-"), n) for name, n in numbers.items())
    return Finding(level, "power", subject, sentence, reason, hint, named)


def cable_words(cable: Cable) -> str:
    """A cable in words, such as ``25 mm2`` or ``2 x 50 mm2``."""
    size = f"{plain(cable.size)} mm2"
    return size if cable.count == 1 else f"{cable.count} x {size}"


def circuit_title(row: CircuitRow) -> str:
    """A circuit's title, with the part of it that it is."""
    return f"{row.title}, {PARTS[row.part]}" if row.part else row.title


def circuit_findings(picture: PowerPicture) -> Iterator[Finding]:
    """What is wrong with the circuits of a picture, in its order."""
    settings = picture.settings
    for row in picture.circuits:
        for fault in row.faults:
            sentence, hint = _fault(fault, shown_circuit(row), settings)
            yield power_finding(
                "note" if fault in _NOTES else "caution",
                row.pick,
                f"{circuit_title(row)} {sentence}",
                hint=hint,
                amps=row.amps,
            )
        yield from _total(row, settings)
        yield from _breaking(row, picture)


def _fault(fault: str, row: CircuitRow, settings: PowerSettings) -> tuple[str, str]:
    """What is wrong, in words, and what to do."""
    fuse = "" if row.fuse is None else plain(row.fuse)
    better = f"the next cable that will do is {cable_words(row.better)}" if row.better else ""
    match fault:
        case "fuse-below-load":
            return (
                f"draws {plain(row.amps)} A, its fuse of {fuse} A would blow",
                "choose a larger fuse, and a cable for it",
            )
        case "no-fuse":
            return f"draws {plain(row.amps)} A, more than any usual fuse", ""
        case "panel-too-small":
            return (
                f"carries {plain(row.rating or 0)} A; what it feeds draws {plain(row.amps)} A, "
                f"through a fuse of {fuse} A",
                "choose a larger panel, a smaller fuse for it, or feed large loads past it",
            )
        case "no-run":
            return (
                "has no length of cable, so none has been sized",
                "state the run in the catalogue",
            )
        case "unknown-cable":
            return "comes with a size of cable that is not in the table", ""
        case "no-cable":
            return _no_cable(row)
        case "cable-below-fuse":
            return (
                f"has a cable of {_cable(row)} that carries {_carries(row)} A {_where(row)}, "
                f"its fuse is of {fuse} A",
                better,
            )
        case "drop":
            return (
                f"loses {_percent(row)} % on {_cable(row)} over {_run(row)}, more than the "
                f"{plain(row.limit)} % allowed",
                better,
            )
        case _:
            return (
                "has its fuse farther from the battery than the "
                f"{settings.fuse_within} mm that the shop keeps to",
                "move the fuse to the battery",
            )


def _no_cable(row: CircuitRow) -> tuple[str, str]:
    fuse = "" if row.fuse is None else plain(row.fuse)
    most = row.most
    if most is None:
        return f"has no cable in the table that will do ({plain(row.amps)} A, {_run(row)})", ""
    own = "" if most.own_fuse else ", and no usual fuse protects each of them"
    return (
        f"needs more cable than the largest in the table: {cable_words(most)}, {most.loaded} "
        f"loaded cables in the bundle at {row.ambient} °C, carry {plain(most.carries)} A{own}; "
        f"they lose {plain(most.drop)} V over {_run(row)}. It draws {plain(row.amps)} A, its fuse "
        f"is of {fuse} A, and {plain(row.limit)} % may be lost",
        "shorten the run, run the cables apart from others, or choose something smaller; the "
        "electrician decides",
    )


def _total(row: CircuitRow, settings: PowerSettings) -> Iterator[Finding]:
    if row.total is None or row.total <= settings.drop:
        return
    said = shown_circuit(row).total or row.total
    yield power_finding(
        "caution",
        row.pick,
        f"{circuit_title(row)} loses {plain(said)} % from the battery, the cables of battery and "
        f"fuse panel counted, more than the {plain(settings.drop)} % allowed",
        hint="allow less drop in the circuits on its way",
        drop=row.total,
        limit=settings.drop,
    )


def _breaking(row: CircuitRow, picture: PowerPicture) -> Iterator[Finding]:
    """Whether a fuse breaks what the batteries give into a short circuit."""
    lithium = row.kind == STORE and row.pick in picture.lithium
    short = picture.short_circuit
    if lithium and row.breaks is None:
        yield power_finding(
            "caution",
            row.pick,
            f"{row.title} has a fuse whose breaking capacity is not stated; a lithium battery "
            "gives thousands of amperes into a short circuit",
            hint="the electrician chooses a fuse that breaks what the battery's maker states; "
            "state fuse-type and breaks in the catalogue",
        )
    elif lithium and short is None:
        yield power_finding(
            "caution",
            row.pick,
            f"{row.title} has a fuse that breaks {plain(row.breaks or 0)} A, but what the "
            "batteries give into a short circuit is not stated",
            hint="ask their makers, and state short-circuit in the catalogue",
        )
    elif row.breaks is not None and short is not None and row.breaks < short:
        yield power_finding(
            "caution",
            row.pick,
            f"{row.title} has a fuse that breaks {plain(row.breaks)} A; the batteries give "
            f"{plain(short)} A into a short circuit",
            hint="choose a fuse that breaks more",
            breaks=row.breaks,
            short_circuit=short,
        )


def _cable(row: CircuitRow) -> str:
    return cable_words(row.cable) if row.cable is not None else ""


def _carries(row: CircuitRow) -> str:
    return plain(row.cable.carries) if row.cable is not None else ""


def _where(row: CircuitRow) -> str:
    return f"with {row.cable.loaded if row.cable else row.bundle} in the bundle at {row.ambient} °C"


def _percent(row: CircuitRow) -> str:
    return "" if row.percent is None else plain(row.percent)


def _run(row: CircuitRow) -> str:
    return "" if row.run is None else f"{plain(row.run)} m"
