"""A layout as a report: where every unit sits, how full each space is, and its pictures."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from attrs import frozen

from configurator.findings import Finding
from configurator.fit.layout import FLOOR, HUNG, Layout, Placement, SpaceLayout, UnitName
from configurator.report.model import (
    Block,
    Cell,
    Column,
    Paragraph,
    Report,
    Table,
    table_of,
)
from configurator.selection.resolved import Resolved
from configurator.shapes.forms import brief
from configurator.words import Text, joined, listed, text

DATUM = text(
    "All in mm: x behind the inside of the front wall, y from the inside of the left wall, z above"
    " the floor."
)

_SIDES = {"left": text("left"), "right": text("right"), "rear": text("rear")}
_STANDS = {FLOOR: text("floor"), HUNG: text("hung")}
_LARGEST = {
    "": text("Largest open box"),
    "left": text("Largest open box from the left"),
    "right": text("Largest open box from the right"),
    "rear": text("Largest open box from the rear"),
}


@frozen(repr=False)
class PictureSource:
    """What pictures of a package are drawn from.

    Attributes:
        build: what is picked, without what the shop pays.
        layout: where the units sit; None where that is not known.
    """

    build: Resolved
    layout: Layout | None

    __repr__ = brief


def drawn_of(build: Resolved, layout: Layout | None) -> PictureSource:
    """What a customer's pictures are drawn from."""
    return PictureSource(Resolved(build.catalogue.for_customers(), build.selection), layout)


@frozen(eq=False, repr=False)
class _PlacedUnit:
    """A unit in its place: its number, from where it works, on what it stands."""

    number: str
    side: str
    on: str
    place: Placement

    @property
    def standing(self) -> tuple[str, ...]:
        """From where it works and on what it stands, in one line, if either."""
        told = [text("works from: {side}", side=self.side)] if self.side else []
        told += [text("on: {what}", what=self.on)] if self.on else []
        return (joined(told, "; "),) if told else ()


def _unit_rows(layout: Layout, space: str = "") -> Iterator[_PlacedUnit]:
    numbers = layout.numbers
    for place in layout.placements:
        if space in ("", place.space):
            if isinstance(place.on, UnitName):
                on: str = text("number {number}", number=numbers[place.on])
            else:
                on = _STANDS.get(str(place.on), "")
            yield _PlacedUnit(str(numbers[place.name]), _SIDES.get(place.side, ""), on, place)


_NUMBER = Column(text("No."), "number", name="short")
_UNIT = Column(text("Unit"), name="unit")


def _mm(title: str) -> Column:
    return Column(title, "figure", name="mm")


def layout_list(layout: Layout) -> Table:
    """Where every unit sits in two narrow columns, for a page with the drawing beside it."""

    def unit(row: _PlacedUnit) -> Cell:
        place = row.place
        where = text(
            "{length} × {width} × {height} mm; x {x}, y {y}, z {z}",
            length=place.length,
            width=place.width,
            height=place.height,
            x=place.x,
            y=place.y,
            z=place.z,
        )
        return Cell(place.title, below=(where, *row.standing))

    return table_of(
        _unit_rows(layout), (_NUMBER, lambda row: row.number), (_UNIT, unit), name="units"
    )


def _compact(layout: Layout, space: str) -> Table:
    """Where every unit in a space sits, in a table that 80 columns have room for."""
    return table_of(
        _unit_rows(layout, space),
        (_NUMBER, lambda row: row.number),
        (_UNIT, lambda row: Cell(row.place.title, below=row.standing)),
        (_mm("x"), lambda row: row.place.x),
        (_mm("y"), lambda row: row.place.y),
        (_mm("z"), lambda row: row.place.z),
        (_mm(text("Long")), lambda row: row.place.length),
        (_mm(text("Wide")), lambda row: row.place.width),
        (_mm(text("High")), lambda row: row.place.height),
        name="units",
    )


def space_told(layout: Layout, space: SpaceLayout) -> Iterator[str]:
    """How large a space is inside and how full, and the largest open box from each side."""
    yield text(
        "The {space} is {length} mm long, {width} mm wide and {height} mm high inside; {used} of"
        " {volume} L are taken by the units in it.",
        space=space.title,
        length=space.interior.length,
        width=space.interior.width,
        height=space.interior.height,
        used=space.used_litres,
        volume=space.litres,
    )
    for box in layout.open_boxes:
        if box.space == space.space:
            yield text(
                "{from_side}: {length} mm long, {width} mm wide, {height} mm high, {litres} L, at"
                " x {x}, y {y}, z {z}.",
                from_side=_LARGEST[box.side],
                length=box.length,
                width=box.width,
                height=box.height,
                litres=box.litres,
                x=box.x,
                y=box.y,
                z=box.z,
            )


def layout_report(
    build: Resolved,
    layout: Layout | None,
    findings: Sequence[Finding],
    more: Sequence[str] | None,
) -> Report:
    """The places, the open boxes, and the findings about them.

    Args:
        build: what is picked.
        layout: where everything sits, if that is known.
        findings: what a check says of it.
        more: what would fit too, one at a time; None when that is not asked for.
    """
    places: list[tuple[Block, ...]] = []
    if layout is not None and not layout.placements and not layout.unknown:
        places.append((Paragraph(text("There is nothing to place.")),))
    elif layout is not None:
        places += (_in_space(layout, space) for space in layout.spaces)
    places += ((finding,) for finding in findings)
    if layout is not None:
        places += ((Paragraph(_still_open(build, space)),) for space in layout.unknown)
    if more is not None:
        fits = joined(more, "; ") if more else text("nothing in the catalogue")
        places.append((Paragraph(text("Would also fit, one at a time: {titles}", titles=fits)),))
    return tuple(places)


def _still_open(build: Resolved, space: str) -> Text:
    """That a space is not laid out yet, and which open choices decide its size and openings."""
    known = {"space": build.catalogue.space_title(space)}
    deciding = [
        choice.title
        for choice in build.offering.choices
        if choice.pick == "one"
        and choice.id not in build.selection.chosen
        and any(
            space in dict(option.space) or any(one.space == space for one in option.openings)
            for option in choice.options
        )
    ]
    if not deciding:
        return text("Not laid out: the {space}. These picks do not give its size.", **known)
    return text(
        "Not laid out yet: the {space}. Its size and openings depend on choices still open:"
        " {choices}.",
        choices=listed(deciding),
        **known,
    )


def _in_space(layout: Layout, space: SpaceLayout) -> tuple[Block, ...]:
    size, *boxes = map(Paragraph, space_told(layout, space))
    return size, _compact(layout, space.space), Paragraph(DATUM, "faint"), *boxes
