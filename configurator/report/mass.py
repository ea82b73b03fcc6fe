"""Mass and axle loads as a report: the table of loads, the figures beside it, every single mass."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal
from fractions import Fraction

from configurator.findings import Finding
from configurator.mass.states import LoadCase, MassPicture, PlacedMass, RatedLoad
from configurator.report.model import (
    Cell,
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
from configurator.words import Text, itemised, left, nearest, text, used

LOADS = {
    "gvm": text("Vehicle"),
    "front-axle": text("Front axle"),
    "rear-axle": text("Rear axle"),
    "tow-ball": text("Tow ball"),
    "gcm": text("With trailer"),
}
"""What each rating is called wherever loads are shown."""


def mass_table(picture: MassPicture) -> Table:
    """Loads against ratings by state, kg, and what the heaviest of them leaves."""
    states = picture.states
    trailer = picture.trailer
    assumed = {"tow-ball"} if trailer is not None and not trailer.stated else set()
    rows = [row for subject in LOADS for row in _loads(subject, states, subject in assumed)]
    shares = [
        None if s.loads.lifted else _percent(nearest(100 * s.loads.front_share)) for s in states
    ]
    rows.append(Row((text("On the front axle"), None, *shares, None, None)))
    columns = (
        Column(text("kg, estimated")),
        *(
            Column(title, "figure", 1, "of")
            for title in (text("Rated"), *(s.title for s in states), text("Remaining"))
        ),
        Column(text("Fullest, of its rating"), "share", name="bars"),
    )
    return Table(columns, (RowGroup(rows),))


def _percent(share: Decimal) -> str:
    return text("{share} %", share=share)


def _loads(subject: str, states: Iterable[LoadCase], assumed: bool) -> Iterator[Row]:
    """Loads of one rating; what is left of it only where none was assumed to be the most."""
    bars = [next((b for b in state.bars if b.subject == subject), None) for state in states]
    there = [bar for bar in bars if bar is not None]
    if there:
        fullest = max(there, key=lambda bar: bar.load)
        if assumed:
            yield Row((LOADS[subject], left(fullest.rating), *map(_load, bars), None, None))
            return
        share = 100 * fullest.load / fullest.rating if fullest.rating else Fraction(0)
        rest = Cell(left(fullest.left), look="alarm" if fullest.left < 0 else "")
        yield Row((LOADS[subject], left(fullest.rating), *map(_load, bars), rest, used(share, 0)))


def _load(bar: RatedLoad | None) -> Decimal | str | None:
    if bar is None:
        return None
    return used(bar.load) if bar.load >= 0 else text("lifted")


def mass_facts(picture: MassPicture, for_customer: bool = False) -> Table:
    """Payload and sizes, each with its figure; for a customer without what only a builder needs."""
    return facts_table(_facts(picture, for_customer))


def _facts(picture: MassPicture, for_customer: bool) -> Iterator[tuple[str, str]]:
    size, trailer = picture.size, picture.trailer
    yield (
        text("Payload used, fully loaded"),
        text("{used} of {most} kg", used=used(picture.payload_used), most=left(picture.payload)),
    )
    yield text("Payload remaining"), text("{mass} kg", mass=left(picture.payload_left))
    if picture.left_towing is not None and trailer is not None:
        yield (
            text(
                "Payload remaining with {download} kg on the tow ball",
                download=used(trailer.download),
            ),
            text("{mass} kg", mass=left(picture.left_towing)),
        )
    if picture.added_height is not None and not for_customer:
        height = text("{size} mm", size=nearest(picture.added_height, 0))
        yield text("Centre of the added mass above the tray floor"), height
    if not for_customer:
        yield (
            text("Added mass when full: left, on the centre line, right"),
            text(
                "{left} + {middle} + {right} = {kg} kg",
                **added_across(picture),
                kg=used(picture.added),
            ),
        )
    if size.overhang is not None:
        overhang, most = used(size.overhang), left(size.overhang_limit)
        yield (
            text("Rear overhang"),
            text("{overhang} of {most} mm", overhang=overhang, most=most),
        )
    if size.width is not None:
        yield text("Overall width"), text("{size} mm", size=size.width)
    if size.height is not None:
        yield text("Overall height"), text("{size} mm", size=size.height)
    if trailer is not None:
        if not trailer.stated:
            yield (
                text("Tow-ball download remaining when full, in this layout"),
                text(
                    "{used} of {most} kg",
                    used=left(trailer.most_download),
                    most=left(trailer.rated_download),
                ),
            )
        if trailer.heaviest is not None:
            mass = text("{mass} kg", mass=left(trailer.heaviest))
            yield text("Heaviest trailer remaining"), mass


def towing_words(picture: MassPicture) -> Text | None:
    """How much of the payload the tow-ball download leaves; None where none is counted."""
    rest, trailer = picture.left_towing, picture.trailer
    if rest is None or trailer is None:
        return None
    known = {"download": used(trailer.download), "left": left(rest), "over": used(-rest)}
    if rest < 0:
        return text(
            "with {download} kg on the tow ball, the payload is exceeded by {over} kg", **known
        )
    return text("with {download} kg on the tow ball, {left} kg remain", **known)


def added_across(picture: MassPicture) -> dict[str, Decimal]:
    """The added mass, fully loaded, ``left``, ``middle`` and ``right``, kg; the sum as shown."""
    full = picture.state("full")
    return {"left": used(full.left), "right": used(full.right), "middle": picture.added_middle}


def mass_report(picture: MassPicture, findings: Iterable[Finding], items: bool) -> Report:
    """Loads by state, sizes, what may be towed, every item if asked for; findings, cautions."""
    known = {"vehicle": picture.vehicle, "wheelbase": picture.wheelbase}
    head = text("{vehicle}, wheelbase {wheelbase} mm", **known)
    notes = []
    if picture.unknown:
        unknown = itemised(picture.unknown)
        notes.append(
            text("Not counted, because a size or a figure is not known: {unknown}", unknown=unknown)
        )
    if picture.assumed and not items:
        notes.append(
            text(
                "The place of one part is assumed; --items shows it.",
                "The places of {n} parts are assumed; --items shows them.",
                n=len(picture.assumed),
            )
        )
    return (
        (Paragraph(head), Paragraph(picture.convention, "faint")),
        (mass_table(picture),),
        (mass_facts(picture),),
        _items(picture.state("full")) if items else (),
        *((Paragraph(note),) for note in notes),
        *((finding,) for finding in findings),
        tuple(Paragraph(caution, "faint") for caution in picture.cautions),
    )


def _items(state: LoadCase) -> tuple[Paragraph | Table, ...]:
    def titled(item: PlacedMass) -> str:
        return item.title if item.kind in ("part", "person", "fuel") else f"  {item.kind}"

    def at(item: PlacedMass, place: Fraction) -> Value:
        return nearest(place, 0) if item.placed else text("({size})", size=nearest(place, 0))

    table = table_of(
        state.items,
        (Column(text("What")), titled),
        (Column("kg", "figure"), lambda item: nearest(item.mass)),
        (Column(text("Behind front axle"), "figure"), lambda item: at(item, item.x)),
        (Column(text("Right of centre"), "figure"), lambda item: at(item, item.y)),
        (Column(text("Above tray floor"), "figure"), lambda item: at(item, item.z)),
    )
    return (
        Paragraph(text("{state}, places in mm", state=state.title)),
        table,
        Paragraph(text("Places in brackets are assumed.")),
    )
