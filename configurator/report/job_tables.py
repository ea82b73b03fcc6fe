"""The tables and sentences of the job sheet, for a terminal and for paper."""

from __future__ import annotations

from collections.abc import Iterator

from configurator.catalogue.units import Hole, Sides
from configurator.report.job import DoorRow, JobPart, JobSheet, Spot, UnitRow, WorkRow
from configurator.report.model import (
    DASH,
    FAINT,
    STRONG,
    Body,
    Cell,
    Column,
    Paragraph,
    Report,
    Row,
    Table,
    Value,
)
from configurator.report.sheet_parts import DONE, NUMBER, QUANTITY, sizes
from configurator.words import Text, capital, joined, listed, plain, text

RESTRAINT = text(
    "What is stated of fixings is their makers' figure and what driving asks of them: 0.8 of the "
    "laden weight forward, twice the weight in any direction for a battery. Crashes ask for more. "
    "Whatever holds a load is made as the rules for load restraint and the maker of the unit ask."
)
"""Said of the fixings; :mod:`configurator.mass.mounts` says where the figures come from."""

DATUM = text(
    "All in mm. Left and right are seen facing forward. Distances are from the inside of the front "
    "wall, of the left wall and of the floor of a space to the body of a unit; those to the rear "
    "wall, the right wall and the roof are for checking."
)
SPACES = text(
    "Wall, floor and roof with frame, sheet and lining: add the wall to measure from the sheet's "
    "outer front or left edge, the floor to measure from its lower edge."
)
DOORS = text(
    "Begins and ends from the inside of the front wall (at the rear: of the left wall), sill and "
    "top above the inside of the floor. The last four columns are the clear opening from the "
    "sheet's outer edges: front and rear (at the rear: left and right), lower edge, and outer face "
    "of the roof."
)
NO_FIGURE = text(
    "A dash: its maker gives no figure; fix it as its maker asks, for at least what it must hold."
)

_SIDES = {"left": text("left"), "right": text("right"), "rear": text("rear"), "": text("any way")}
_VERBS = {
    "cut": text("Cut"),
    "drill": text("Drill"),
    "fit": text("Fit"),
    "seal": text("Seal"),
    "weld": text("Weld"),
}
_MOVES = {
    "lifts": text("lifts up"),
    "folds-down": text("folds down"),
    "swings": text("swings"),
    "": text("door"),
}
_HINGES = {
    "left": text("hinged on its left"),
    "right": text("hinged on its right"),
    "top": text("hinged at the top"),
    "bottom": text("hinged at the bottom"),
}
_CLEAR = {
    "front": text("in front"),
    "rear": text("behind"),
    "left": text("left"),
    "right": text("right"),
    "top": text("above"),
    "bottom": text("below"),
}


def _mm(title: str, more: str = "") -> Column:
    return Column(title, "figure", name=f"mm {more}".rstrip())


def spaces_table(job: JobSheet) -> Table:
    """Every space, outside and inside, and what its walls take."""
    columns = (
        Column(text("Space")),
        Column(
            text("Outside, long \N{MULTIPLICATION SIGN} wide \N{MULTIPLICATION SIGN} high"),
            "figure",
            name="size",
        ),
        Column(
            text("Inside, long \N{MULTIPLICATION SIGN} wide \N{MULTIPLICATION SIGN} high"),
            "figure",
            name="size",
        ),
        *map(_mm, (text("Wall"), text("Floor"), text("Roof"))),
    )
    rows = (
        Row(
            (
                capital(space.title),
                sizes(space.outside.length, space.outside.width, space.outside.height),
                sizes(space.inside.length, space.inside.width, space.inside.height),
                space.wall,
                space.floor,
                space.roof,
            )
        )
        for space in job.spaces
    )
    return Table(columns, (Body(rows),), name="spaces")


def doors_table(job: JobSheet) -> Table:
    """Every door opening, from inside and from the outer edges of its sheet."""
    inside = (text("Begins"), text("Ends"), text("Sill"), text("Top"))
    edges = (text("Front edge"), text("Rear edge"), text("Lower edge"), text("Roof face"))
    columns = (
        DONE,
        Column(text("Door")),
        Column(text("Clear, wide \N{MULTIPLICATION SIGN} high"), "figure", name="size"),
        *map(_mm, inside + edges),
    )
    return Table(columns, (Body(map(_door, job.doors)),), name="doors")


def _door(door: DoorRow) -> Row:
    named = text(
        "{space:capital}, {side}, {moves}",
        space=door.space,
        side=_SIDES[door.side],
        moves=_MOVES[door.moves],
    )
    clear = Cell(sizes(door.width, door.height), look=STRONG)
    inside = (door.start, door.end, door.sill, door.top)
    edges = (door.edge_start, door.edge_end, door.edge_sill, door.edge_top)
    return Row((None, named, clear, *inside, *edges))


def units_table(job: JobSheet) -> Table:
    """Where every unit goes."""
    columns = (
        DONE,
        NUMBER,
        Column(text("Unit")),
        Column(text("Faces"), name="side"),
        Column(text("Stands on"), name="on"),
        *(_mm(t, "big") for t in (text("From front"), text("From left"), text("From floor"))),
        Column(
            text("Long \N{MULTIPLICATION SIGN} wide \N{MULTIPLICATION SIGN} high"),
            "figure",
            name="size",
        ),
        *(_mm(t, "check") for t in (text("To rear"), text("To right"), text("To roof"))),
    )
    rows = (_unit(unit, len(job.spaces) > 1) for unit in job.units)
    return Table(columns, (Body(rows),), name="units")


def _unit(unit: UnitRow, several_spaces: bool) -> Row:
    notes = tuple(_unit_notes(unit, several_spaces))
    on = {"": "", "hung": text("hung"), "floor": text("floor")}[unit.on]
    if unit.on_number is not None:
        on = text("number {number}", number=unit.on_number)
    return Row(
        (
            None,
            unit.number,
            Cell(unit.title, below=(joined(notes, " "),) if notes else ()),
            _SIDES[unit.side],
            on,
            unit.x,
            unit.y,
            unit.z,
            sizes(unit.length, unit.width, unit.height),
            unit.rear,
            unit.right,
            unit.top,
        )
    )


def _unit_notes(unit: UnitRow, several_spaces: bool) -> Iterator[Text]:
    if several_spaces:
        yield text("In the {space}.", space=unit.space)
    keep = _clear(unit.clear)
    if keep:
        yield text("Keep clear, as seen facing it: {sides}.", sides=keep)
    if unit.travel:
        yield text("Slides out {travel}.", travel=unit.travel)
    if unit.swing:
        yield text(
            "Its own door is {hinge} and reaches {reach}.",
            hinge=_HINGES[unit.swing.hinge],
            reach=unit.swing.reach,
        )


def _clear(sides: Sides) -> Text:
    there = ((name, getattr(sides, side)) for side, name in _CLEAR.items())
    return joined(text("{side} {size}", side=name, size=size) for name, size in there if size)


def parts_table(job: JobSheet) -> Table:
    """Everything picked, and below it what is done for it."""
    columns = (
        DONE,
        QUANTITY,
        Column(text("Part, and what is done for it")),
        Column(text("Drawn"), name="on"),
    )
    bodies = (
        Body((row for part in group.parts for row in _part(part)), group.title)
        for group in job.groups
    )
    return Table(columns, tuple(bodies), name="parts")


def _part(part: JobPart) -> Iterator[Row]:
    below = (part.text,) if part.text else ()
    on_drawings = joined(map(plain, part.units))
    yield Row((None, part.quantity, Cell(part.title, below=below, look=STRONG), on_drawings))
    for work in part.work:
        where = (_spots(work.spots),) if work.spots else ()
        yield Row((None, work.count, Cell(_work(work), below=where), _drawn(work)))


def _work(work: WorkRow) -> Text:
    do = _VERBS[work.do]
    if work.hole is not None:
        do = joined((do, hole_size(work.hole)), " ")
    if work.where:
        return text("{do}: {what}, {where}", do=do, what=work.text, where=work.where)
    return text("{do}: {what}", do=do, what=work.text)


def hole_size(hole: Hole) -> Text:
    """The size of a hole as it is written."""
    if hole.diameter is not None:
        return text("Ø {size}", size=hole.diameter)
    return text("{width} \N{MULTIPLICATION SIGN} {height}", width=hole.width, height=hole.height)


def _spots(spots: tuple[Spot, ...]) -> Text:
    """Where they are; of a grid, the lines on which they lie."""
    xs, ys, zs = (sorted(set(along)) for along in zip(*spots, strict=True))
    if len(set(spots)) == len(xs) * len(ys) * len(zs):
        front, side, up = (listed(map(plain, marks)) for marks in (xs, ys, zs))
        return text(
            "{front} from front, {left} from left, {up} from floor", front=front, left=side, up=up
        )
    at = joined((f"{spot.x} / {spot.y} / {spot.z}" for spot in spots), "; ")
    return text("From front / left / floor: {spots}", spots=at)


def _drawn(work: WorkRow) -> str:
    """The unit that it is for, and its letter on the drawings."""
    return joined((plain(work.unit or 0), work.mark), " ") if work.mark else ""


def mounts_table(job: JobSheet) -> Table:
    """What holds every unit, against what driving asks of it."""
    columns = (
        DONE,
        NUMBER,
        Column(text("Unit")),
        _mm(text("Laden, kg")),
        _mm(text("Must hold, N")),
        _mm(text("Fixings")),
        _mm(text("Each, N")),
        _mm(text("Total, N")),
    )
    rows = []
    for mount in job.mounts:
        asked: Iterator[Value] = (
            "?" if figure is None else figure for figure in (mount.laden, mount.needed)
        )
        held: tuple[Value, ...] = (DASH, DASH, DASH)
        if mount.count is not None and mount.each is not None:
            held = (mount.count, mount.each, mount.count * mount.each)
        rows.append(Row((None, mount.unit, mount.title, *asked, *held)))
    return Table(columns, (Body(rows),), name="mounts")


def mounts_note(job: JobSheet) -> str:
    """What a dash among the fixings means, where there is one."""
    return NO_FIGURE if any(mount.count is None for mount in job.mounts) else ""


def job_cautions(job: JobSheet) -> Iterator[str]:
    """What is said for safety's sake."""
    if job.mounts:
        yield RESTRAINT
    yield from job.cautions
    yield text(
        "Holes and cuts are the catalogue's figures: look what lies behind before drilling, and "
        "measure the part itself before cutting."
    )
    yield text("Gas is for a licensed gas fitter, 230 V for a licensed electrician.")


def standing_told(job: JobSheet) -> Iterator[Text]:
    """The size of the tray, and where each space stands on it."""
    tray = job.tray
    if tray.length is not None and tray.width is not None:
        yield text("Tray: {length} long, {width} wide.", length=tray.length, width=tray.width)
    for space in job.spaces:
        if space.stands is not None:
            yield text(
                "{space:capital} on the tray, outside: {front}, {rear}, {side} in from each side, "
                "{up} above its floor.",
                space=space.title,
                front=_ahead(space.stands.front),
                rear=_past(space.stands.rear),
                side=space.stands.side,
                up=space.stands.up,
            )


def _ahead(size: int) -> Text:
    if size < 0:
        return text("{mm} beyond its front end", mm=-size)
    return text("{mm} behind its front end", mm=size)


def _past(size: int) -> Text:
    if size < 0:
        return text("{mm} beyond its rear end", mm=-size)
    return text("{mm} before its rear end", mm=size)


def job_report(job: JobSheet) -> Report:
    """The job sheet for a terminal, without its drawings."""
    head = text("Job sheet {number}", number=job.head.number)
    asked = (text("Asked for: {note}", note=note) for note in job.notes)
    return (
        (Paragraph(head, STRONG), *map(Paragraph, standing_told(job)), *map(Paragraph, asked)),
        (spaces_table(job), Paragraph(SPACES, FAINT)) if job.spaces else (),
        (doors_table(job), Paragraph(DOORS, FAINT)) if job.doors else (),
        (units_table(job), Paragraph(DATUM, FAINT)) if job.units else (),
        (parts_table(job),),
        (mounts_table(job),) if job.mounts else (),
        tuple(Paragraph(caution, FAINT) for caution in job_cautions(job)),
    )
