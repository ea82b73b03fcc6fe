"""The tables and sentences of the job sheet, for a terminal and for paper."""

from __future__ import annotations

from collections.abc import Iterator

from configurator.catalogue.units import Hole, Sides
from configurator.report.job import FixingPoint, JobPart, JobSheet, UnitRow, WorkRow
from configurator.report.model import (
    DASH,
    Cell,
    Column,
    Paragraph,
    Report,
    Row,
    RowGroup,
    Table,
    table_of,
)
from configurator.report.sheet_head import DONE, NUMBER, QUANTITY, sizes
from configurator.selection.totals import Interior
from configurator.words import Text, capital, joined, listed, plain, text

_RESTRAINT = text(
    "Fixings are stated with their makers' ratings and the loads of normal driving: 0.8 of the "
    "laden weight forward, and twice the weight in any direction for a battery. A crash loads "
    "them more. Restrain every load as the load restraint rules and the unit's maker require."
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
    "A dash: the maker gives no figure; fix it as the maker asks, for at least the force that it "
    "must hold."
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


def _size(title: str) -> Column:
    return Column(title, "figure", name="size")


def _box(size: Interior) -> Text:
    return sizes(size.length, size.width, size.height)


def spaces_table(job: JobSheet) -> Table:
    """Every space, outside and inside, and what its walls take."""
    outside = text("Outside, long × wide × high")
    inside = text("Inside, long × wide × high")
    return table_of(
        job.spaces,
        (Column(text("Space")), lambda space: capital(space.title)),
        (_size(outside), lambda space: _box(space.outside)),
        (_size(inside), lambda space: _box(space.inside)),
        (_mm(text("Wall")), lambda space: space.wall),
        (_mm(text("Floor")), lambda space: space.floor),
        (_mm(text("Roof")), lambda space: space.roof),
        name="spaces",
    )


def doors_table(job: JobSheet) -> Table:
    """Every door opening, from inside and from the outer edges of its sheet."""
    return table_of(
        job.doors,
        DONE,
        (
            Column(text("Door")),
            lambda door: text(
                "{space:capital}, {side}, {moves}",
                space=door.space,
                side=_SIDES[door.side],
                moves=_MOVES[door.moves],
            ),
        ),
        (
            _size(text("Clear, wide × high")),
            lambda door: Cell(sizes(door.width, door.height), look="strong"),
        ),
        (_mm(text("Begins")), lambda door: door.start),
        (_mm(text("Ends")), lambda door: door.end),
        (_mm(text("Sill")), lambda door: door.sill),
        (_mm(text("Top")), lambda door: door.top),
        (_mm(text("Front edge")), lambda door: door.edge_start),
        (_mm(text("Rear edge")), lambda door: door.edge_end),
        (_mm(text("Lower edge")), lambda door: door.edge_sill),
        (_mm(text("Roof face")), lambda door: door.edge_top),
        name="doors",
    )


def units_table(job: JobSheet) -> Table:
    """Where every unit goes."""
    several_spaces = len(job.spaces) > 1

    def named(unit: UnitRow) -> Cell:
        notes = tuple(_unit_notes(unit, several_spaces))
        return Cell(unit.title, below=(joined(notes, " "),) if notes else ())

    return table_of(
        job.units,
        DONE,
        (NUMBER, lambda unit: unit.number),
        (Column(text("Unit")), named),
        (Column(text("Faces"), name="side"), lambda unit: _SIDES[unit.side]),
        (Column(text("Stands on"), name="on"), _on),
        (_mm(text("From front"), "big"), lambda unit: unit.x),
        (_mm(text("From left"), "big"), lambda unit: unit.y),
        (_mm(text("From floor"), "big"), lambda unit: unit.z),
        (
            _size(text("Long × wide × high")),
            lambda unit: sizes(unit.length, unit.width, unit.height),
        ),
        (_mm(text("To rear"), "check"), lambda unit: unit.rear),
        (_mm(text("To right"), "check"), lambda unit: unit.right),
        (_mm(text("To roof"), "check"), lambda unit: unit.top),
        name="units",
    )


def _on(unit: UnitRow) -> str:
    if unit.on_number is not None:
        return text("number {number}", number=unit.on_number)
    return {"": "", "hung": text("hung"), "floor": text("floor")}[unit.on]


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
    """Every part picked, and below it what is done for it."""
    columns = (
        DONE[0],
        QUANTITY,
        Column(text("Part, and what is done for it")),
        Column(text("Drawn"), name="on"),
    )
    bodies = (
        RowGroup((row for part in group.present for row in _part(part)), group.title)
        for group in job.groups
        if group.present
    )
    return Table(columns, tuple(bodies), name="parts")


def _part(part: JobPart) -> Iterator[Row]:
    below = (part.text,) if part.text else ()
    on_drawings = joined(map(plain, part.units))
    title = Cell(part.title, below=below, look="strong")
    yield Row((None, part.quantity, title, on_drawings))
    for work in part.work:
        where = (_spots(work.spots),) if work.spots else ()
        yield Row((None, work.count, Cell(_work(work), below=where), _drawn(work)))


def _work(work: WorkRow) -> Text:
    do = _VERBS[work.do]
    if work.hole is not None:
        do = joined((do, _hole_size(work.hole)), " ")
    if work.where:
        return text("{do}: {what}, {where}", do=do, what=work.text, where=work.where)
    return text("{do}: {what}", do=do, what=work.text)


def _hole_size(hole: Hole) -> Text:
    """The size of a hole as it is written."""
    if hole.diameter is not None:
        return text("Ø {size}", size=hole.diameter)
    return text("{width} × {height}", width=hole.width, height=hole.height)


def _spots(spots: tuple[FixingPoint, ...]) -> Text:
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


def absent_told(job: JobSheet) -> str:
    """What is picked and stands for no part, so that nobody looks for it; empty for none."""
    absent = [part.title for group in job.groups for part in group.parts if part.absent]
    if not absent:
        return ""
    return text("Also picked, with nothing to make: {titles}.", titles=joined(absent, "; "))


def mounts_table(job: JobSheet) -> Table:
    """What holds every unit, against what driving asks of it."""
    return table_of(
        job.mounts,
        DONE,
        (NUMBER, lambda mount: mount.unit),
        (Column(text("Unit")), lambda mount: mount.title),
        (_mm(text("Laden, kg")), lambda mount: "?" if mount.laden is None else mount.laden),
        (_mm(text("Must hold, N")), lambda mount: "?" if mount.needed is None else mount.needed),
        (_mm(text("Fixings")), lambda mount: mount.count),
        (_mm(text("Each, N")), lambda mount: mount.each),
        (_mm(text("Total, N")), lambda mount: mount.each and (mount.count or 0) * mount.each),
        name="mounts",
        unknown=DASH,
    )


def mounts_note(job: JobSheet) -> str:
    """What a dash among the fixings means, where there is one."""
    return NO_FIGURE if any(mount.count is None for mount in job.mounts) else ""


def job_cautions(job: JobSheet) -> Iterator[str]:
    """What is said for safety's sake."""
    if job.mounts:
        yield _RESTRAINT
    yield from job.cautions
    yield text(
        "Hole and cut sizes come from the catalogue: check what is behind before drilling, and "
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
        (Paragraph(head, "strong"), *map(Paragraph, standing_told(job)), *map(Paragraph, asked)),
        (spaces_table(job), Paragraph(SPACES, "faint")) if job.spaces else (),
        (doors_table(job), Paragraph(DOORS, "faint")) if job.doors else (),
        (units_table(job), Paragraph(DATUM, "faint")) if job.units else (),
        (parts_table(job), *map(Paragraph, filter(None, [absent_told(job)]))),
        (mounts_table(job),) if job.mounts else (),
        tuple(Paragraph(caution, "faint") for caution in job_cautions(job)),
    )
