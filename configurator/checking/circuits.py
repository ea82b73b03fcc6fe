"""What is wrong with circuits: cables, fuses, drops, and what a fuse can break."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from configurator.findings import Finding
from configurator.power.cables import Cable
from configurator.power.circuits import FEED, OUTPUT, PANELS, STORE, CircuitRow
from configurator.power.picture import PowerPicture
from configurator.words import Text, shown, text

PARTS = {
    FEED: text("from the starter battery"),
    OUTPUT: text("output"),
    PANELS: text("to the regulator"),
}
"""What a part of a source is called behind its title."""

_NOTES = ("no-run", "unknown-cable")


def power_finding(
    level: str, subject: object, sentence: str, hint: str = "", **numbers: Decimal
) -> Finding:
    """A finding of the code ``power``; numbers by name, ``_`` for ``-``."""
    named = tuple((name.replace("_", "-"), n) for name, n in numbers.items())
    return Finding(level, "power", str(subject), sentence, hint=hint, numbers=named)


def cable_words(cable: Cable) -> Text:
    """A cable in words, such as ``25 mm²`` or ``2 x 50 mm²``."""
    if cable.count == 1:
        return text("{size} mm²", size=cable.size)
    return text("{count} x {size} mm²", count=cable.count, size=cable.size)


def circuit_title(row: CircuitRow) -> str:
    """A circuit's title, with the part of it that it is."""
    if not row.part:
        return row.title
    return text("{title}, {part}", title=row.title, part=PARTS[row.part])


def circuit_findings(picture: PowerPicture) -> Iterator[Finding]:
    """What is wrong with the circuits of a picture, in its order."""
    drop = picture.settings.drop
    for row in picture.circuits:
        loses = row.total is not None and row.total > drop
        known = _known(shown(row), picture) if row.faults or loses else {}
        for fault in row.faults:
            sentence, hint = _fault(fault, row, known)
            level = "note" if fault in _NOTES else "caution"
            yield power_finding(level, row.pick, sentence, hint, amps=row.amps)
        if loses and row.total is not None:
            yield power_finding(
                "caution",
                row.pick,
                text(
                    "{title} loses {said} % from the battery, the cables of battery and fuse "
                    "panel counted, more than the {drop} % allowed",
                    **{**known, "drop": drop},
                ),
                text("allow less drop in the circuits on its way"),
                drop=row.total,
                limit=drop,
            )
        yield from _breaking(row, picture)


def _known(row: CircuitRow, picture: PowerPicture) -> dict[str, object]:
    """What messages say of a circuit: of its cable, or of the most where not even that will do."""
    cable = row.most or row.cable
    known: dict[str, object] = {
        "title": circuit_title(row),
        "amps": row.amps,
        "fuse": row.fuse,
        "rating": row.rating,
        "limit": row.limit,
        "ambient": row.ambient,
        "run": row.run,
        "percent": row.percent,
        "said": row.total,
        "within": picture.settings.fuse_within,
    }
    if cable is not None:
        known |= {
            "cable": cable_words(cable),
            "carries": cable.carries,
            "loaded": cable.loaded,
            "drop": cable.drop,
        }
    return known


def _fault(fault: str, row: CircuitRow, known: dict[str, object]) -> tuple[Text, str]:
    """What is wrong, in words, and what to do."""
    better: str = ""
    if row.better:
        better = text("the next cable that will do is {cable}", cable=cable_words(row.better))
    match fault:
        case "fuse-below-load":
            return (
                text("{title} draws {amps} A, its fuse of {fuse} A would blow", **known),
                text("choose a larger fuse, and a cable for it"),
            )
        case "no-fuse":
            return text("{title} draws {amps} A, more than any usual fuse", **known), ""
        case "panel-too-small":
            return (
                text(
                    "{title} carries {rating} A; what it feeds draws {amps} A, through a fuse of "
                    "{fuse} A",
                    **known,
                ),
                text("choose a larger panel, a smaller fuse for it, or feed large loads past it"),
            )
        case "no-run":
            return (
                text("{title} has no length of cable, so none has been sized", **known),
                text("state the run in the catalogue"),
            )
        case "unknown-cable":
            return text("{title} comes with a size of cable that is not in the table", **known), ""
        case "no-cable":
            return _no_cable(row, known)
        case "cable-below-fuse":
            return (
                text(
                    "{title} has a cable of {cable} that carries {carries} A with {loaded} in the "
                    "bundle at {ambient} °C, its fuse is of {fuse} A",
                    **known,
                ),
                better,
            )
        case "drop":
            return (
                text(
                    "{title} loses {percent} % on {cable} over {run} m, more than the {limit} % "
                    "allowed",
                    **known,
                ),
                better,
            )
        case _:
            return (
                text(
                    "{title} has its fuse farther from the battery than the {within} mm that the "
                    "shop keeps to",
                    **known,
                ),
                text("move the fuse to the battery"),
            )


def _no_cable(row: CircuitRow, known: dict[str, object]) -> tuple[Text, str]:
    if row.most is None:
        words = text("{title} has no cable in the table that will do ({amps} A, {run} m)", **known)
        return words, ""
    if row.most.own_fuse:
        sentence = text(
            "{title} needs more cable than the largest in the table: {cable}, {loaded} loaded "
            "cables in the bundle at {ambient} °C, carry {carries} A; they lose {drop} V over "
            "{run} m. It draws {amps} A, its fuse is of {fuse} A, and {limit} % may be lost",
            **known,
        )
    else:
        sentence = text(
            "{title} needs more cable than the largest in the table: {cable}, {loaded} loaded "
            "cables in the bundle at {ambient} °C, carry {carries} A, and no usual fuse protects "
            "each of them; they lose {drop} V over {run} m. It draws {amps} A, its fuse is of "
            "{fuse} A, and {limit} % may be lost",
            **known,
        )
    return sentence, text(
        "shorten the run, run the cables apart from others, or choose something smaller; the "
        "electrician decides"
    )


def _breaking(row: CircuitRow, picture: PowerPicture) -> Iterator[Finding]:
    """Whether a fuse breaks what the batteries give into a short circuit."""
    lithium = row.kind == STORE and row.pick in picture.lithium
    short = picture.short_circuit
    known = {"title": row.title, "breaks": row.breaks, "short": short}
    if lithium and row.breaks is None:
        yield power_finding(
            "caution",
            row.pick,
            text(
                "{title} has a fuse whose breaking capacity is not stated; a lithium battery "
                "gives thousands of amperes into a short circuit",
                **known,
            ),
            text(
                "the electrician chooses a fuse that breaks what the battery's maker states; "
                "state fuse-type and breaks in the catalogue"
            ),
        )
    elif lithium and short is None:
        yield power_finding(
            "caution",
            row.pick,
            text(
                "{title} has a fuse that breaks {breaks} A, but what the batteries give into a "
                "short circuit is not stated",
                **known,
            ),
            text("ask their makers, and state short-circuit in the catalogue"),
        )
    elif row.breaks is not None and short is not None and row.breaks < short:
        yield power_finding(
            "caution",
            row.pick,
            text(
                "{title} has a fuse that breaks {breaks} A; the batteries give {short} A into a "
                "short circuit",
                **known,
            ),
            text("choose a fuse that breaks more"),
            breaks=row.breaks,
            short_circuit=short,
        )
