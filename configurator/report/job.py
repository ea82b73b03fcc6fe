"""The job sheet as a value: what the workshop builds from, with every place from fixed datums.

Datums are the inside of a space: x behind the inside of its front wall, y from the inside of its
left wall, z above its floor; and, for what is cut before a space is closed, the outer edges of its
sheet. All mm. No amount of money is in it, and no supplier.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from decimal import ROUND_CEILING, Decimal
from itertools import count

import attrs
from attrs import frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import ADD_ON, FREE_LINE, VEHICLE, Choice, Option
from configurator.catalogue.parts import FixedPrice
from configurator.catalogue.units import Hole, OnUnit, Sides, Swing
from configurator.cutting.parts import TraySize, tray_size
from configurator.fit.layout import Layout, Placement, UnitName
from configurator.fit.openings import clear_openings
from configurator.mass.mounts import mount_load
from configurator.report.sheet_head import SheetHead
from configurator.selection.picks import FREE_LINES
from configurator.selection.resolved import Resolved
from configurator.selection.rules import holds
from configurator.selection.totals import Interior, MissingPicks, Outside, space_sizes
from configurator.shapes.forms import Unpacked, form
from configurator.words import letter

_BUILT = (
    *("mass", "space", "openings", "unit", "power", "work", "panels", "extrusions", "cut_from"),
    *("gives", "uses", "contents", "tray", "ratings", "hitch", "vehicle"),
)
"""What an option may bring that is built, placed, or has a size."""


def _is_absence(choice: Choice, option: Option) -> bool:
    """Whether it brings nothing and costs nothing, where others of its choice bring something.

    Of a choice such as the colour none does; its options are something to see to all the same.
    """
    free = all(isinstance(part, FixedPrice) and not part.amount for part in option.price)
    others = any(getattr(one, facet) for one in choice.options for facet in _BUILT)
    return free and others and not any(getattr(option, facet) for facet in _BUILT)


def _sizes(hole: Hole) -> dict[str, int]:
    """The sizes that the hole has."""
    return {name: size for name, size in attrs.asdict(hole).items() if size is not None}


@form()
@frozen
class SpaceOnTray(Unpacked):
    """Where a space stands on the tray, by its outside, mm.

    Attributes:
        front: its front end behind the front end of the tray.
        rear: its rear end before the rear end of the tray; below zero where it reaches beyond.
        side: in from the left and the right edge of the tray, in the middle of which it stands.
        up: its underside above the tray's floor.
    """

    front: int
    rear: int
    side: Decimal
    up: int


@form()
@frozen
class SpaceRow:
    """One space: its outside with what its walls take, and its inside.

    Attributes:
        title: title of the space.
        outside: its size outside, mm.
        inside: its clear size inside, mm.
        wall: from the sheet's outer edge to the inside, at front, rear, left and right.
        roof: from the roof's outer face to the inside.
        floor: from the sheet's lower edge to the inside.
        stands: where it stands on the tray; None where the catalogue or the picks do not say.
    """

    title: str
    outside: Interior
    inside: Interior
    wall: Decimal
    roof: Decimal
    floor: Decimal
    stands: SpaceOnTray | None


@form(keys={"rear": "to-rear", "right": "to-right", "top": "to-roof"}, shown={"pick": str})
@frozen
class UnitRow:
    """One unit in its place.

    Attributes:
        number: as on the drawings.
        pick: ``choice=option``.
        title: its title.
        space: title of its space.
        side: ``left``, ``right`` or ``rear``, which it works from, or empty.
        on: ``floor``, ``hung``, or empty when it stands on the unit of number ``on_number``.
        on_number: number of the unit that it stands on, or None.
        x: from the inside of the front wall to the front of its body; and likewise
        y: from the inside of the left wall, and
        z: above the floor.
        length: along the vehicle.
        width: across it.
        height: upright.
        rear: from its rear end to the inside of the rear wall.
        right: from its right end to the inside of the right wall.
        top: from its top to the inside of the roof.
        clear: room to keep clear around it, as seen facing it.
        travel: how far it slides out, 0 for not at all.
        swing: its own door, if any.
    """

    number: int
    pick: Pick
    title: str
    space: str
    side: str
    on: str
    on_number: int | None
    x: int
    y: int
    z: int
    length: int
    width: int
    height: int
    rear: int
    right: int
    top: int
    clear: Sides
    travel: int
    swing: Swing | None


@form()
@frozen
class DoorRow:
    """One door's clear opening.

    Attributes:
        space: title of its space.
        side: ``left``, ``right`` or ``rear``.
        start: from the inside of the front wall; at the rear, from that of the left wall.
        end: where it ends, from the same.
        sill: its lower edge above the floor.
        top: its upper edge above the floor.
        width: clear width.
        height: clear height.
        edge_start: from the sheet's outer front edge; at the rear, from its left edge.
        edge_end: from its end to the sheet's outer rear edge; at the rear, to its right edge.
        edge_sill: its lower edge above the sheet's lower edge.
        edge_top: its upper edge below the roof's outer face.
        moves: how the door moves, or empty.
    """

    space: str
    side: str
    start: int
    end: int
    sill: int
    top: int
    width: int
    height: int
    edge_start: Decimal
    edge_end: Decimal
    edge_sill: Decimal
    edge_top: Decimal
    moves: str


@form()
@frozen
class FixingPoint(Unpacked):
    """The middle of a hole or fixing in its space, mm from the datums.

    Attributes:
        x: behind the inside of the front wall.
        y: from the inside of the left wall.
        z: above the floor.
    """

    x: int
    y: int
    z: int


@form(shown={"hole": _sizes}, values={"do": ("cut", "drill", "fit", "seal", "weld")})
@frozen
class WorkRow:
    """One thing to do.

    Attributes:
        do: ``cut``, ``drill``, ``fit``, ``seal`` or ``weld``.
        text: what it is for.
        count: how many in all.
        where: in words, or empty.
        hole: its size, if it is one.
        unit: number of the unit that it is for, as on the drawings, or None.
        spots: where, if the catalogue says.
        mark: letter of the spots on the drawings, or empty.
    """

    do: str
    text: str
    count: int
    where: str
    hole: Hole | None
    unit: int | None
    spots: tuple[FixingPoint, ...]
    mark: str


@form(shown={"pick": str})
@frozen
class JobPart:
    """One option picked, and what is done for it.

    Attributes:
        pick: ``choice=option``.
        title: its title.
        text: what is said of a free line as well; empty for what the catalogue has, whose texts are
            for the quote.
        quantity: how many.
        units: its numbers on the drawings.
        work: what is done for it.
        absent: whether it stands for the absence of a part, such as no sides: nothing is fitted.
    """

    pick: Pick
    title: str
    text: str
    quantity: int
    units: tuple[int, ...]
    work: tuple[WorkRow, ...]
    absent: bool = False


@form()
@frozen
class JobGroup:
    """Parts of one group, in the order in which they are built; free lines come last, together.

    Attributes:
        title: title of the group.
        parts: what is picked in it.
    """

    title: str
    parts: tuple[JobPart, ...]

    @property
    def present(self) -> tuple[JobPart, ...]:
        """Those that are parts, of which there is something to see to."""
        return tuple(part for part in self.parts if not part.absent)


@form()
@frozen
class MountRow:
    """What holds one unit.

    Attributes:
        unit: its number on the drawings.
        title: its title.
        count: how many fixings, or None when its maker's figure is not in the catalogue.
        each: working load of one, N, or None likewise.
        laden: kg with contents and with what stands on it; None when it is not known.
        needed: what they must hold, N, rounded up; None likewise.
    """

    unit: int
    title: str
    count: int | None
    each: Decimal | None
    laden: Decimal | None
    needed: Decimal | None


@form("job", hidden="layout", inline="head")
@frozen
class JobSheet:
    """Everything that stands on a job sheet.

    Attributes:
        head: number, date, vehicle, customer.
        tray: length and width of the tray, mm; None for what nothing says.
        spaces: every space of the job.
        units: every unit, numbered as on the drawings.
        doors: every door.
        groups: everything picked, by group, with what is done for it.
        mounts: what holds each unit.
        notes: of the selection.
        cautions: of what is picked.
        layout: where everything sits, for the drawings.
    """

    head: SheetHead
    tray: TraySize
    spaces: tuple[SpaceRow, ...]
    units: tuple[UnitRow, ...]
    doors: tuple[DoorRow, ...]
    groups: tuple[JobGroup, ...]
    mounts: tuple[MountRow, ...]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
    layout: Layout


def job_sheet(build: Resolved, head: SheetHead, layout: Layout) -> JobSheet:
    """The job sheet; head and layout are those of ``sheet_head``."""
    return _JobDraft(build, layout).sheet(head)


class _JobDraft:
    """A job sheet in the making."""

    def __init__(self, build: Resolved, layout: Layout) -> None:
        self.build, self.layout = build, layout
        self.numbers = layout.numbers
        self.picks = [pick for pick in build.picks if pick[0].id != VEHICLE]
        self.tray = tray_size(build)
        self.marks = map(letter, count())

    def sheet(self, head: SheetHead) -> JobSheet:
        """The sheet."""
        return JobSheet(
            head=head,
            tray=self.tray,
            spaces=tuple(
                SpaceRow(
                    title,
                    Interior(size.length, size.width, size.height),
                    size.interior,
                    size.wall,
                    size.roof,
                    size.floor,
                    self._standing(space, size),
                )
                for space, title, size in self._spaces()
            ),
            units=tuple(map(self._unit, self.layout.placements)),
            doors=tuple(self._doors()),
            groups=tuple(self._groups()),
            mounts=tuple(map(self._mount, self.layout.placements)),
            notes=self.build.selection.notes,
            cautions=tuple(
                c.text for c in self.build.catalogue.cautions if holds(self.build, c.when)
            ),
            layout=self.layout,
        )

    def _spaces(self) -> Iterator[tuple[str, str, Outside]]:
        """Id, title and outside of every space whose size is known."""
        for space in self.build.catalogue.spaces:
            with suppress(MissingPicks):
                yield space.id, space.title, space_sizes(self.build, space.id)

    def _standing(self, space: str, size: Outside) -> SpaceOnTray | None:
        said = [dict(option.space).get(space) for _, option, _ in self.picks]
        parts = [part for part in said if part is not None]
        fronts = [part.x for part in parts if part.x is not None]
        if not fronts or self.tray.length is None or self.tray.width is None:
            return None
        return SpaceOnTray(
            front=sum(fronts),
            rear=self.tray.length - sum(fronts) - size.length,
            side=Decimal(self.tray.width - size.width) / 2,
            up=sum(part.z or 0 for part in parts),
        )

    def _unit(self, p: Placement) -> UnitRow:
        option = self.build.catalogue.option(p.choice, p.option)
        unit = option.unit
        assert unit is not None
        inside = next(s.interior for s in self.layout.spaces if s.space == p.space)
        return UnitRow(
            number=self.numbers[p.name],
            pick=p.unit,
            title=option.title,
            space=self.build.catalogue.space_title(p.space),
            side=p.side,
            on="" if isinstance(p.on, UnitName) else p.on,
            on_number=self.numbers[p.on] if isinstance(p.on, UnitName) else None,
            x=p.x,
            y=p.y,
            z=p.z,
            length=p.length,
            width=p.width,
            height=p.height,
            rear=inside.length - p.x - p.length,
            right=inside.width - p.y - p.width,
            top=inside.height - p.z - p.height,
            clear=unit.clearance,
            travel=unit.travel,
            swing=unit.swing,
        )

    def _doors(self) -> Iterator[DoorRow]:
        for space, title, outside in self._spaces():
            for opening in clear_openings(self.build, space, outside.interior):
                along = outside.width if opening.side == "rear" else outside.length
                yield DoorRow(
                    space=title,
                    side=opening.side,
                    start=opening.start,
                    end=opening.end,
                    sill=opening.sill,
                    top=opening.top,
                    width=opening.width,
                    height=opening.height,
                    edge_start=outside.wall + opening.start,
                    edge_end=along - outside.wall - opening.end,
                    edge_sill=outside.floor + opening.sill,
                    edge_top=outside.height - outside.floor - opening.top,
                    moves=opening.moves,
                )

    def _groups(self) -> Iterator[JobGroup]:
        titles = {group.id: group.title for group in self.build.catalogue.groups}
        titles |= {ADD_ON: self.build.catalogue.add_ons.title, FREE_LINE: FREE_LINES}
        for group, title in titles.items():
            parts = tuple(
                self._part(choice.id, option, quantity)
                for choice, option, quantity in self.picks
                if (choice.group or choice.id) == group
            )
            if parts:
                yield JobGroup(title, parts)

    def _part(self, choice: str, option: Option, quantity: int) -> JobPart:
        here = [p for p in self.layout.placements if (p.choice, p.option) == (choice, option.id)]
        return JobPart(
            pick=Pick(choice, option.id),
            title=option.title if option.measured is None else option.times(option.measured),
            text=option.text if choice == FREE_LINE else "",
            quantity=quantity,
            units=tuple(self.numbers[p.name] for p in here),
            work=tuple(self._work(option, quantity, here)),
            absent=choice != FREE_LINE and _is_absence(self.build.choices[choice], option),
        )

    def _work(self, option: Option, quantity: int, here: list[Placement]) -> Iterator[WorkRow]:
        for work in option.work:
            common = (work.where, work.hole)
            body = option.unit.body if option.unit is not None else None
            places = work.on_unit(body.width, body.depth) if body is not None else ()
            if not places:
                yield WorkRow(work.do, work.text, work.times * quantity, *common, None, (), "")
                continue
            for p in here:
                spots = tuple(_spot_of(p, place) for place in places)
                number = self.numbers[p.name]
                mark = next(self.marks)
                yield WorkRow(work.do, work.text, len(spots), *common, number, spots, mark)

    def _mount(self, p: Placement) -> MountRow:
        option = self.build.catalogue.option(p.choice, p.option)
        fixings = option.unit.fixings if option.unit is not None else None
        load = None
        with suppress(MissingPicks):
            load = mount_load(self.build, option, self.layout, p)
        return MountRow(
            unit=self.numbers[p.name],
            title=option.title,
            count=None if fixings is None else fixings.count,
            each=None if fixings is None else fixings.each,
            laden=None if load is None else load.laden,
            needed=None if load is None else load.needed.to_integral_value(ROUND_CEILING),
        )


def _spot_of(p: Placement, place: OnUnit) -> FixingPoint:
    """Where a place on a unit is in its space.

    Facing the left side one looks to the right, with the front at the left hand; facing the right
    side the front is at the right hand; at the rear one looks forward.
    """
    match p.side:
        case "right":
            x, y = p.x + p.length - place.across, p.y + p.width - place.behind
        case "rear":
            x, y = p.x + p.length - place.behind, p.y + place.across
        case _:
            x, y = p.x + place.across, p.y + place.behind
    return FixingPoint(x, y, p.z + place.up)
