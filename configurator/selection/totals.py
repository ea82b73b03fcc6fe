"""What the picks add up to: measures of spaces, masses, and the limits they give and use.

Sizes in mm, areas in m², volumes in m3, masses in kg; all exact Decimals. Interior sizes are
rounded down to whole mm, so that nothing is said to fit on a part of a millimetre.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from decimal import Decimal

from attrs import frozen

from configurator.catalogue.model import ADD_ON, VEHICLE, Catalogue, Choice, Limit, Option
from configurator.catalogue.parts import (
    CostParts,
    FixedMass,
    FixedPrice,
    MassParts,
    MassTable,
    MeasuredMass,
    MeasuredPrice,
    PriceTable,
    SectionMass,
    SheetMass,
    Table,
    UnitPrice,
)
from configurator.catalogue.units import SpacePart
from configurator.catalogue.vehicles import people_aboard
from configurator.selection.resolved import Resolved, once
from configurator.shapes.forms import Unpacked, form
from configurator.words import Text, digits_of, left, listed, text, used

_NOTHING = Decimal(0)
_SIDES = ("length", "width", "height")

_DECIDED_BY = {
    "skin": _SIDES,
    "shell": _SIDES,
    "volume": (*_SIDES, "wall", "roof", "floor"),
}
"""Figures of a space that come from several of what the catalogue says of it."""


class MissingPicks(LookupError):
    """A figure depends on choices that are still open, or the catalogue does not give it.

    Attributes:
        choices: ids of the open choices that could tell it; empty when none could, because the
            picks bring no size or a table has no cell for them.
        what: what could not be told, as part of a sentence.
        told_by: ids of the choices in which some option tells it.
    """

    def __init__(
        self, what: str, choices: tuple[str, ...] = (), told_by: tuple[str, ...] = ()
    ) -> None:
        self.what, self.choices, self.told_by = what, choices, told_by or choices
        super().__init__(what)


@form()
@frozen(repr=False)
class Interior:
    """Clear inside size of a space, whole mm.

    Attributes:
        length: along the vehicle.
        width: across it.
        height: upright.
    """

    length: int
    width: int
    height: int


@form()
@frozen(repr=False)
class Outside:
    """Outside size of a space and what its walls take, mm."""

    length: int
    width: int
    height: int
    wall: Decimal
    roof: Decimal
    floor: Decimal

    @property
    def interior(self) -> Interior:
        """What is left inside, rounded down to whole mm; never below zero."""
        return Interior(
            _whole(self.length - 2 * self.wall),
            _whole(self.width - 2 * self.wall),
            _whole(self.height - self.roof - self.floor),
        )


def _whole(size: Decimal) -> int:
    return max(0, int(left(size, 0)))


@once
def space_sizes(build: Resolved, space: str) -> Outside:
    """Outside sizes of the space and its walls, from the picks.

    Raises:
        MissingPicks: nothing picked says how long, wide or high it is; of a size that nothing open
            could bring either, where there is one.
    """
    parts = _space_parts(build, space)
    sizes: list[int] = []
    missing: list[MissingPicks] = []
    for side in _SIDES:
        try:
            sizes.append(_outside_size(build, parts, space, side))
        except MissingPicks as size:
            missing.append(size)
    if missing:
        raise min(missing, key=lambda size: len(size.choices) > 0)
    length, width, height = sizes
    return Outside(
        length,
        width,
        height,
        wall=sum((p.wall for p in parts), Decimal(0)),
        roof=sum((p.roof for p in parts), Decimal(0)),
        floor=sum((p.floor for p in parts), Decimal(0)),
    )


def free_litres(build: Resolved, space: str) -> int:
    """Inside of the space less the bodies of its units, each in whole litres as they are shown.

    Raises:
        MissingPicks: nothing picked says how long, wide or high it is.
    """
    inside = space_sizes(build, space).interior
    taken = 0
    for _, option, quantity in build.picks:
        if option.unit is not None and option.unit.space == space:
            taken += option.unit.body.volume * quantity
    return inside.length * inside.width * inside.height // 10**6 - -(-taken // 10**6)


def inside_size(build: Resolved, space: str, side: str) -> int:
    """The clear inside length, width or height alone, whole mm, as in :class:`Interior`.

    Raises:
        MissingPicks: nothing picked says how large the space is on that side.
    """
    parts = _space_parts(build, space)
    outside = _outside_size(build, parts, space, side)
    lost = sum((_lost(part, side) for part in parts), _NOTHING)
    return _whole(outside - lost)


def most_inside(build: Resolved, space: str, side: str) -> int:
    """The most that the inside may still be on that side, with the picks kept, whole mm.

    What is picked bounds it, and walls, roof and floor take at least as much as the thinnest
    option of each choice of one that is still open.

    Raises:
        MissingPicks: nothing picked says how large the space is on that side.
    """
    parts = _space_parts(build, space)
    outside = _outside_size(build, parts, space, side)
    lost = sum((_lost(part, side) for part in parts), _NOTHING)
    having = {choice for choice, _, name, _ in build.catalogue.space_parts if name == space}
    for choice in having.intersection(undecided(build)):
        options = build.catalogue.by_id[choice].options
        of_each = ((part for name, part in o.space if name == space) for o in options)
        lost += min(sum((_lost(part, side) for part in own), _NOTHING) for own in of_each)
    return _whole(outside - lost)


def _lost(part: SpacePart, side: str) -> Decimal:
    """What a part takes of the inside on that side, mm."""
    return part.roof + part.floor if side == "height" else 2 * part.wall


def _space_parts(build: Resolved, space: str) -> list[SpacePart]:
    return [
        part
        for choice, option, name, part in build.catalogue.space_parts
        if name == space and build.selection.quantity(choice, option)
    ]


def _outside_size(build: Resolved, parts: Sequence[SpacePart], space: str, side: str) -> int:
    given: list[int] = [size for part in parts if (size := getattr(part, side)) is not None]
    if given:
        return min(given)
    deciders = _deciders(build.catalogue, space, (side,), build.catalogue.by_id)
    missing = tuple(c for c in deciders if build.takes_more(build.catalogue.by_id[c]))
    raise MissingPicks(_size_words(side, build.catalogue.space_title(space)), missing, deciders)


def _deciders(
    catalogue: Catalogue, space: str, what: tuple[str, ...], among: Collection[str]
) -> tuple[str, ...]:
    """Which of those choices have a say in one of these figures of the space."""
    having = {
        choice: None
        for choice, _, name, part in catalogue.space_parts
        if name == space and choice in among and any(getattr(part, figure) for figure in what)
    }
    return tuple(having)


@once
def measure(build: Resolved, name: str) -> tuple[Decimal, str]:
    """A figure that the picks determine, and its unit.

    ``SPACE.skin`` is the outside of walls and roof, ``SPACE.shell`` of all six faces (m²);
    ``SPACE.length``, ``.width`` and ``.height`` are outside (m); ``SPACE.volume`` is inside (m3);
    a limit's id means what the picks give of it.

    Raises:
        MissingPicks: the picks do not determine it yet.
    """
    catalogue = build.catalogue
    space, _, which = name.partition(".")
    if not which:
        limit = next(limit for limit in catalogue.limits if limit.id == name)
        givers = tuple(c.id for c in catalogue.choices if _most_given(c, limit))
        _require_decided(build, text("the {limit} available", limit=limit.title), givers)
        given = (n * o.given(name) for _, o, n in build.picks)
        return sum(given, Decimal(0)), limit.unit
    outside = space_sizes(build, space)
    asked = [choice for choice in catalogue.by_id if choice != ADD_ON]
    deciders = _deciders(catalogue, space, _DECIDED_BY.get(which, (which,)), asked)
    _require_decided(build, _size_words(which, catalogue.space_title(space)), deciders)
    length, width, height = (Decimal(getattr(outside, side)) / 1000 for side in _SIDES)
    match which:
        case "skin":
            return 2 * (length + width) * height + length * width, "m2"
        case "shell":
            return 2 * (length * height + width * height + length * width), "m2"
        case "volume":
            inside = outside.interior
            return Decimal(inside.length * inside.width * inside.height) / 10**9, "m3"
        case _:
            return {"length": length, "width": width, "height": height}[which], "m"


_SIZES = {
    "skin": text("skin"),
    "shell": text("shell"),
    "length": text("length"),
    "width": text("width"),
    "height": text("height"),
    "volume": text("volume"),
}


def _size_words(which: str, space: str) -> Text:
    return text("the {size} of the {space}", size=_SIZES[which], space=space)


def _require_decided(build: Resolved, what: str, deciders: tuple[str, ...]) -> None:
    """Raise while one of the deciders is a choice of one without a pick."""
    missing = tuple(choice for choice in deciders if choice in undecided(build))
    if missing:
        raise MissingPicks(what, missing)


@once
def undecided(build: Resolved) -> tuple[str, ...]:
    """Ids of the choices of one that have no pick, in the catalogue's order."""
    chosen = build.selection.chosen
    return tuple(c.id for c in build.catalogue.choices if c.pick == "one" and c.id not in chosen)


def table_cell(build: Resolved, part: Table) -> Decimal:
    """The cell of a table part that the picks point to.

    Raises:
        MissingPicks: a choice it looks up is open, or it has no cell for what is picked.
    """
    picked = [build.selection.one(choice) for choice in part.by]
    missing = tuple(c for c, option in zip(part.by, picked, strict=True) if option is None)
    if missing:
        raise MissingPicks(text("a figure from a table"), missing)
    cell = part.cells.get(tuple(map(str, picked)))
    if cell is None:
        named = listed(
            build.catalogue.option(choice, str(option)).title
            for choice, option in zip(part.by, picked, strict=True)
        )
        what = text("the row of a table for {options}", options=named)
        raise MissingPicks(what, told_by=part.by)
    return cell


@once
def mass_of(build: Resolved, option: Option) -> Decimal:
    """Empty mass of one of the option, kg.

    Raises:
        MissingPicks: it depends on a choice that is still open.
    """
    return option.how_much * sum((part_total(build, part) for part in option.mass), Decimal(0))


def contents_of(option: Option) -> Decimal:
    """The allowance for what is put into one of the option, kg."""
    return option.contents * option.how_much if option.unit is None else option.unit.contents


def part_total(build: Resolved, part: CostParts | MassParts) -> Decimal:
    """What a part that is fixed, measured or from a table comes to here.

    Raises:
        MissingPicks: it depends on a choice that is still open.
    """
    match part:
        case FixedPrice() | FixedMass():
            return part.amount
        case UnitPrice():
            return part.price / part.per
        case PriceTable() | MassTable():
            return table_cell(build, part)
        case MeasuredPrice() | MeasuredMass() | SheetMass() | SectionMass():
            return part.rate * measure(build, part.of)[0]


@form(keys={"id": "limit"})
@frozen(repr=False)
class LimitRow(Unpacked):
    """A limit as it is shown, in its unit.

    Attributes:
        id: id of the limit.
        title: its title.
        unit: its unit.
        there: what the picks give, less what is kept free.
        used: what they use.
        left: what is left; negative when it is exceeded, or when what is lacking may still come.
        may_come: whether what is lacking may still be chosen.
    """

    id: str
    title: str
    unit: str
    there: Decimal
    used: Decimal
    left: Decimal
    may_come: bool


@form(instead="row")
@frozen(repr=False)
class LimitState:
    """How one limit stands: what is available and what is used, in the limit's unit.

    Attributes:
        limit: the limit.
        given: what the picks give, less the limit's reserve.
        used: what the picks use; and, of a payload that counts them, the people.
        may_come: the most that choices of one which are still open could add to what is given.
        may_add: the most that choices which may stay empty, or have more, could add besides; told
            only where more is used than is given.
        users: what each pick uses, largest first.
        unknown: what could not be counted yet.
    """

    limit: Limit
    given: Decimal
    used: Decimal
    may_come: Decimal = Decimal(0)
    may_add: Decimal = Decimal(0)
    users: tuple[tuple[Option, Decimal], ...] = ()
    unknown: tuple[Option, ...] = ()

    @property
    def left(self) -> Decimal:
        """What is left; negative when it is exceeded."""
        return self.given - self.used

    @property
    def exceeded(self) -> bool:
        """Whether more is used than there can still be; where nothing is used, nothing is."""
        return self.used > 0 and self.left + self.may_come < 0

    @property
    def lacking(self) -> bool:
        """Whether more is used than is given so far, and what is lacking may still be chosen."""
        most = self.may_come if self.limit.of_mass else self.may_come + self.may_add
        return self.used > 0 and -most <= self.left < 0

    @property
    def shown(self) -> tuple[Decimal, Decimal, Decimal]:
        """What is used, given and left, as they are shown."""
        digits = digits_of(self.limit.unit)
        return used(self.used, digits), left(self.given, digits), left(self.left, digits)

    @property
    def row(self) -> LimitRow:
        """The limit by name with these figures."""
        taken, there, remaining = self.shown
        limit = self.limit
        return LimitRow(limit.id, limit.title, limit.unit, there, taken, remaining, self.lacking)


@once
def limit_states(build: Resolved) -> tuple[LimitState, ...]:
    """How every limit stands, in the catalogue's order.

    A limit that counts mass is given the vehicle's payload and uses every mass with its unit's
    allowance for contents, and the people if it says; it is left out while no vehicle is picked.
    """
    weighed = build.selection.one(VEHICLE) is not None
    people, limits = build.selection.travel.people, build.catalogue.limits
    still_open = [build.catalogue.by_id[choice] for choice in undecided(build)]
    found = []
    for limit in limits:
        if limit.of_mass and not weighed:
            continue
        given, aboard = -limit.reserve, _NOTHING
        users: list[tuple[Option, Decimal]] = []
        unknown: list[Option] = []
        for _, option, quantity in build.picks:
            given += quantity * option.given(limit.id) if option.gives else _NOTHING
            use = option.used(limit.id) if option.uses else _NOTHING
            if limit.of_mass:
                try:
                    use += mass_of(build, option)
                except MissingPicks:
                    unknown.append(option)
                use += contents_of(option)
                aboard += people_of(build.catalogue, limit, option, people)
                given += _NOTHING if option.vehicle is None else option.vehicle.payload
            if use:
                users.append((option, quantity * use))
        users.sort(key=lambda user: (-user[1], user[0].title))
        taken = sum((amount for _, amount in users), aboard)
        more = sum((_most_given(choice, limit) for choice in still_open), _NOTHING)
        beside = _may_add(build, limit) if taken > given else _NOTHING
        found.append(LimitState(limit, given, taken, more, beside, tuple(users), tuple(unknown)))
    return tuple(found)


def payload_of(catalogue: Catalogue, limit: Limit, option: Option, people: int | None) -> Decimal:
    """What a vehicle gives of a limit that counts mass: GVM less kerb mass, and people if it says.

    Of any other option, nothing.
    """
    if option.vehicle is None:
        return _NOTHING
    return option.vehicle.payload - people_of(catalogue, limit, option, people)


def people_of(catalogue: Catalogue, limit: Limit, option: Option, people: int | None) -> Decimal:
    """What those who travel in a vehicle weigh with their luggage, if the limit counts them."""
    if option.vehicle is None or limit.counts == "mass":
        return _NOTHING
    aboard, _ = people_aboard(option.vehicle, people, catalogue.mass)
    return aboard * catalogue.mass.each


def _most_given(choice: Choice, limit: Limit) -> Decimal:
    return max(option.given(limit.id) for option in choice.options)


def _may_add(build: Resolved, limit: Limit) -> Decimal:
    """The most that choices that may stay empty, or have more, could add to what is given."""
    total = _NOTHING
    for choice in build.catalogue.by_id.values():
        if choice.pick == "one" or not build.takes_more(choice):
            continue
        more = [
            option.given(limit.id) * (option.most - build.selection.quantity(choice.id, option.id))
            for option in choice.options
        ]
        total += sum(more) if choice.pick == "several" else max(more, default=_NOTHING)
    return total


def total_mass(build: Resolved) -> Decimal | None:
    """Empty mass of everything picked, kg; None while some of it depends on an open choice."""
    try:
        return sum((n * mass_of(build, o) for _, o, n in build.picks), Decimal(0))
    except MissingPicks:
        return None
