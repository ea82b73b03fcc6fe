"""What each suggested add-on would do to the package: payload, room, limits and power.

Everything is calculated from the same figures as the package itself, so that accepting an add-on
brings exactly what was said of it. What the catalogue does not tell is left open, not guessed.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from fractions import Fraction

from attrs import frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import ADD_ON, Catalogue, Option
from configurator.catalogue.units import Box
from configurator.checking.suggestions import Suggestion
from configurator.fit.layout import Layout
from configurator.mass.picture import mass_picture
from configurator.money import Money
from configurator.power.summary import power_picture
from configurator.pricing.price import Price
from configurator.report.model import Cell, Column, Table, Value, table_of
from configurator.report.price import priced_in, suggested_cost, suggested_title
from configurator.selection.resolved import Resolved, trial
from configurator.selection.totals import (
    Interior,
    MissingPicks,
    contents_of,
    limit_states,
    mass_of,
    space_sizes,
)
from configurator.shapes.forms import Unpacked, form
from configurator.words import joined, left, shown, text, used


@form(inline="body", keys={"left": "litres-left"})
@frozen
class Takes:
    """What a unit takes of its space.

    Attributes:
        space: title of the space.
        body: size of the unit's body, mm.
        litres: volume of the body.
        left: volume of the space that no body takes then, litres; None where it is not known.
    """

    space: str
    body: Box
    litres: Decimal
    left: Decimal | None


@form()
@frozen
class LimitEffect:
    """What it does to a limit, in the limit's unit.

    Attributes:
        title: title of the limit.
        unit: its unit.
        uses: what the add-on uses of it.
        gives: what it adds to what is there.
        left: what is left then.
    """

    title: str
    unit: str
    uses: Decimal
    gives: Decimal
    left: Decimal


@form(hidden="days_before")
@frozen
class PowerEffect:
    """What it does to power.

    Attributes:
        daily: Ah a day that it draws.
        solar: Ah a day more from the sun.
        days_before: days without charging as quoted; None without a battery or a draw.
        days: the same with the add-on.
    """

    daily: Decimal
    solar: Decimal
    days_before: Decimal | None
    days: Decimal | None


@form(inline="interior")
@frozen
class ChangedInside(Unpacked):
    """The clear inside that a space has then.

    Attributes:
        space: title of the space.
        interior: its inside, mm.
    """

    space: str
    interior: Interior


@form(
    inline="suggestion",
    keys={"payload_left": "payload-left", "outside": "on-roof"},
    shown={"adds": used, "payload_left": left},
)
@frozen
class Extra:
    """A suggested add-on and what it would do, one of it and nothing else changed.

    Attributes:
        suggestion: the add-on, its price and why it is suggested.
        adds: kg more when fully loaded, contents and fluids counted.
        payload_left: kg of payload left then, people and luggage counted; None without a vehicle.
        takes: what it takes of a space; None for what is no unit.
        inside: title and clear inside of every space that it changes, with it.
        outside: it sits on the roof, and takes no room inside.
        limits: what it does to limits other than those on mass.
        power: what it does to power; None for what has to do with none.
    """

    suggestion: Suggestion
    adds: Fraction
    payload_left: Fraction | None
    takes: Takes | None
    inside: tuple[ChangedInside, ...]
    outside: bool
    limits: tuple[LimitEffect, ...]
    power: PowerEffect | None

    @property
    def difference(self) -> Money | None:
        """What it alone does to the total, tax as in the total; None while its price is open."""
        return self.suggestion.difference

    @property
    def left_kg(self) -> Decimal | None:
        """The payload left with it, to 0.1 kg, rounded down."""
        return None if self.payload_left is None else left(self.payload_left)


def extras(
    build: Resolved, suggested: Sequence[Suggestion], layout: Layout | None
) -> tuple[Extra, ...]:
    """What each of the suggested add-ons would do; no layout where none is known."""
    return tuple(_extra(build, suggestion, layout) for suggestion in suggested)


def _extra(build: Resolved, suggestion: Suggestion, layout: Layout | None) -> Extra:
    option = build.catalogue.add_ons.by_id[suggestion.line.option]
    with_it = trial(build, build.picking(Pick(ADD_ON, option.id)))
    adds, payload_left = _mass(build, with_it, option, layout)
    return Extra(
        suggestion=suggestion,
        adds=adds,
        payload_left=payload_left,
        takes=_takes(build.catalogue, option, layout),
        inside=tuple(_inside(build, with_it, option)),
        outside=option.position is not None and option.position.above == "roof",
        limits=tuple(_limits(build, option)),
        power=_power(build, with_it, option, layout),
    )


def _mass(
    build: Resolved, with_it: Resolved, option: Option, layout: Layout | None
) -> tuple[Fraction, Fraction | None]:
    """Kg more, and the payload left then; None without a vehicle.

    What changes ratings, spaces or what is given of a limit can change other masses and what may
    be carried: then the whole picture is made again.
    """
    mass, then = mass_picture(build, layout), None
    if option.ratings is not None or option.space or option.gives:
        then = mass_picture(with_it, layout)
    if mass is not None and then is not None:
        return then.payload_used - mass.payload_used, then.payload - then.payload_used
    contents = contents_of(option)
    adds = Fraction(mass_of(with_it, option)) + Fraction(contents)
    return adds, None if mass is None else mass.payload - mass.payload_used - adds


def _takes(catalogue: Catalogue, option: Option, layout: Layout | None) -> Takes | None:
    if option.unit is None:
        return None
    space, body = option.unit.space, option.unit.body
    litres = Decimal(body.volume) / 10**6
    there = [s for s in layout.spaces if s.space == space] if layout is not None else []
    left = Decimal(there[0].volume - there[0].used) / 10**6 - litres if there else None
    return Takes(catalogue.space_title(space), body, litres, left)


def _inside(build: Resolved, with_it: Resolved, option: Option) -> Iterator[ChangedInside]:
    for space, _ in option.space:
        try:
            then = space_sizes(with_it, space).interior
        except MissingPicks:
            continue
        try:
            if then == space_sizes(build, space).interior:
                continue
        except MissingPicks:
            pass
        yield ChangedInside(build.catalogue.space_title(space), then)


def _limits(build: Resolved, option: Option) -> Iterator[LimitEffect]:
    for state in limit_states(build):
        limit = state.limit
        if limit.of_mass or limit.id not in dict((*option.uses, *option.gives)):
            continue
        use, give = option.used(limit.id), option.given(limit.id)
        yield LimitEffect(limit.title, limit.unit, use, give, state.left + give - use)


def _power(
    build: Resolved, with_it: Resolved, option: Option, layout: Layout | None
) -> PowerEffect | None:
    if option.power is None:
        return None
    power, then = power_picture(build, layout), power_picture(with_it, layout)
    return PowerEffect(
        daily=used(then.daily - power.daily),
        solar=left(then.solar_daily - power.solar_daily),
        days_before=shown(power).days_alone,
        days=shown(then).days_alone,
    )


def extras_table(found: Sequence[Extra], price: Price) -> Table:
    """Extras with why they are suggested, what each would do, and what it alone adds.

    Where prices are without tax, so is that. A package deal in it is named.
    """

    def named(extra: Extra) -> Cell:
        note = joined((extra.suggestion.because, *_effects(extra)), " ")
        return Cell(suggested_title(extra.suggestion), note=note)

    def cost(extra: Extra) -> Value:
        return suggested_cost(extra.suggestion)

    return table_of(
        found,
        (Column(text("Extra, and why"), name="ticked"), named),
        (Column(text("Remaining, kg"), "figure", 1, "rest"), lambda extra: extra.left_kg),
        (Column(priced_in(price), "figure", name="number"), cost),
        name="extras lines",
    )


_FOR_CUSTOMERS = ("kg", "L", "Ah", "W", "A")
"""Units of limits that tell a customer something; the others are the workshop's."""


def _effects(extra: Extra) -> Iterator[str]:
    takes, power = extra.takes, extra.power
    if takes is not None:
        yield text(
            "Takes {litres} L in the {space}: {width} mm wide, {depth} mm deep, {height} mm high.",
            litres=takes.litres,
            space=takes.space,
            width=takes.body.width,
            depth=takes.body.depth,
            height=takes.body.height,
        )
        if takes.left is not None:
            yield text("{litres} L remain.", litres=takes.left)
    for space, inside in extra.inside:
        yield text(
            "Inside, the {space} is then {length} mm long, {width} mm wide and {height} mm high.",
            space=space,
            length=inside.length,
            width=inside.width,
            height=inside.height,
        )
    if extra.outside:
        yield text("It sits on the roof and takes no room inside.")
    for limit in extra.limits:
        named = limit.unit in limit.title.lower().split()
        rest = _measured(limit.left, limit, named)
        if limit.uses and limit.unit in _FOR_CUSTOMERS:
            uses = _measured(limit.uses, limit, named)
            yield text(
                "{limit}: uses {uses}, {rest} remaining.", limit=limit.title, uses=uses, rest=rest
            )
        if limit.gives:
            gives = _measured(limit.gives, limit, named)
            yield text(
                "{limit}: adds {gives}, {rest} remaining.",
                limit=limit.title,
                gives=gives,
                rest=rest,
            )
    if power is None:
        return
    if power.daily:
        yield text("Draws {daily} Ah a day.", daily=power.daily)
    if power.solar:
        yield text("Adds {daily} Ah of solar charge a day.", daily=power.solar)
    if power.days != power.days_before and power.days is not None:
        yield text(
            "Without charging, the battery lasts {n} day.",
            "Without charging, the battery lasts {n} days.",
            n=power.days,
        )


def _measured(figure: Decimal, limit: LimitEffect, named: bool) -> str:
    unit = "" if named else limit.unit
    return (
        text("{figure} {unit}", figure=figure, unit=unit)
        if unit
        else text("{figure}", figure=figure)
    )
