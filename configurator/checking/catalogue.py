"""Likely mistakes in a catalogue that can be read: the cautions of `catalogue check`.

Cautions for ``catalogue check``, with the figures and where they stand: an option that lacks what
all others of its choice bring, figures that no vehicle or canopy has, and prices that earn nothing.
None of them keeps the catalogue from being used. The bounds on vehicles are common practice, no
source.

Prices are those of every answer of the choices that a price or cost depends on, by the same code
that prices a quote, on the day whose prices the catalogue stands at. What depends on more than a
thousand answers is passed over.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from itertools import islice, product
from math import prod
from typing import TypeAlias

from configurator.catalogue.dependence import determiners_of
from configurator.catalogue.model import (
    ADD_ON,
    VEHICLE,
    Catalogue,
    Choice,
    Option,
    Trade,
)
from configurator.catalogue.parts import Breaks, Credit, Measured, Part, Table, UnitPrice
from configurator.catalogue.units import Opening, SpacePart, Unit
from configurator.catalogue.vehicles import Vehicle
from configurator.engine.figures import states_of
from configurator.errors import Location, Problem, by_place
from configurator.money import Money
from configurator.pricing.lines import option_price
from configurator.pricing.margin import cost_of
from configurator.pricing.tax import TaxedAmount, without_tax
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved
from configurator.selection.rules import tests_of
from configurator.words import plain

_MOST_CASES = 1000

Case: TypeAlias = tuple[Decimal, Decimal, Decimal | None, str]
"""Price of one, the same without tax, its cost, and the picks that make them, in words."""

_SIDES = ("length", "width", "height")
_LEAST_WHEELBASE, _MOST_WHEELBASE = 1500, 8000


def _named(choice: Choice, option: Option) -> str:
    """The option as messages about a catalogue call it, by its ids."""
    if choice.id in (VEHICLE, ADD_ON):
        return f'{choice.id} "{option.id}"'
    return f'option "{option.id}" of choice "{choice.id}"'


def catalogue_cautions(catalogue: Catalogue) -> tuple[Problem, ...]:
    """Every caution on the catalogue, in reading order; each of level caution."""
    found = [
        *_siblings(catalogue),
        *_unsized_spaces(catalogue),
        *_unruled_vehicles(catalogue),
        *_prices(catalogue),
    ]
    for choice in catalogue.by_id.values():
        for option in choice.options:
            name = _named(choice, option)
            if option.unit is not None:
                found += _unit(option, option.unit, name)
            if option.vehicle is not None:
                found += _vehicle(option, option.vehicle, name)
            for space, part in option.space:
                found += _walls(catalogue, option, space, part, name)
            for opening in option.openings:
                found += _opening(catalogue, option, opening, name)
    return by_place(found)


def _caution(at: Location, sentence: str, code: str, hint: str) -> Problem:
    return Problem(at, sentence, code, hint, level="caution")


def _siblings(catalogue: Catalogue) -> Iterator[Problem]:
    """Options that bring no size, or have no row in a table, where all others of the choice do.

    An option that a rule names is left alone: the shop has thought about it.
    """
    ruled = _ruled(catalogue)
    for choice in catalogue.by_id.values():
        for option in choice.options:
            others = [other for other in choice.options if other is not option]
            if not others or (choice.id, option.id) in ruled:
                continue
            if choice.id != ADD_ON and choice.pick != "several":
                yield from _sizeless(catalogue, choice, option, others)
            if choice.pick == "one":
                yield from _rowless(catalogue, choice, option, others)


def _ruled(catalogue: Catalogue) -> set[tuple[str, str]]:
    """The options that rules name, with their choices."""
    return {
        (test.choice, option)
        for rule in catalogue.rules
        for test in tests_of(rule)
        for option in test.options
    }


def _sizeless(
    catalogue: Catalogue, choice: Choice, option: Option, others: list[Option]
) -> Iterator[Problem]:
    for space in catalogue.spaces:
        for side in _SIDES:
            sizes = [_size(other, space.id, side) for other in others]
            known = [size for size in sizes if size is not None]
            if len(known) < len(sizes) or _size(option, space.id, side) is not None:
                continue
            told = f"{min(known)}" if min(known) == max(known) else f"{min(known)} to {max(known)}"
            yield _caution(
                option.at,
                f"{_named(choice, option)} brings no {side} of the {space.title}; "
                f"{_all_others(len(others), 'does', 'do')} ({told} mm)",
                "no-size",
                f'add "space: {{{space.id}: {{{side}: ...}}}}", or a rule about this option',
            )


def _all_others(count: int, one: str, many: str) -> str:
    if count == 1:
        return f"the other option of the choice {one}"
    return f"all {count} others of the choice {many}"


def _size(option: Option, space: str, side: str) -> int | None:
    part = dict(option.space).get(space)
    size: int | None = getattr(part, side) if part is not None else None
    return size


def _rowless(
    catalogue: Catalogue, choice: Choice, option: Option, others: list[Option]
) -> Iterator[Problem]:
    missing = [
        f"the {facet} of {_named(owner, priced)} (line {part.at.line})"
        for owner, priced, facet, part in _tables(catalogue)
        if choice.id in part.by
        and not _has_row(part, choice.id, option)
        and all(_has_row(part, choice.id, other) for other in others)
    ]
    if missing:
        more = f" and {len(missing) - 3} more" if len(missing) > 3 else ""
        yield _caution(
            option.at,
            f"{_named(choice, option)} has no row in a table where "
            f"{_all_others(len(others), 'has one', 'have one')}: "
            f"{', '.join(missing[:3])}{more}",
            "no-row",
            "add its row, or a rule that keeps them apart",
        )


def _tables(catalogue: Catalogue) -> Iterator[tuple[Choice, Option, str, Table]]:
    for choice in catalogue.by_id.values():
        for option in choice.options:
            cost = catalogue.trade_of(choice.id, option.id).cost
            for facet, parts in (("price", option.price), ("cost", cost), ("mass", option.mass)):
                for part in parts:
                    if isinstance(part, Table):
                        yield choice, option, facet, part


def _has_row(part: Table, choice: str, option: Option) -> bool:
    index = part.by.index(choice)
    return any(names[index] == option.id for names in part.cells)


def _unsized_spaces(catalogue: Catalogue) -> Iterator[Problem]:
    """Sizes of a space that no option brings, though a unit or a measure depends on them."""
    for space in catalogue.spaces:
        users = [
            (choice, option)
            for choice in catalogue.by_id.values()
            for option in choice.options
            if _depends_on(catalogue.trade_of(choice.id, option.id), option, space.id)
        ]
        for side in _SIDES if users else ():
            if not _given(catalogue, space.id, side):
                choice, option = users[0]
                more = f" and {len(users) - 1} more" if len(users) > 1 else ""
                yield _caution(
                    option.at,
                    f"no option brings a {side} of the {space.title}, on which "
                    f"{_named(choice, option)}{more} "
                    f"{'depend' if more else 'depends'}: a quote with it is stopped",
                    "no-size",
                    f'add "space: {{{space.id}: {{{side}: ...}}}}" to what makes the {space.title}',
                )


def _depends_on(trade: Trade, option: Option, space: str) -> bool:
    parts = (*option.price, *trade.cost, *option.mass)
    measured = any(isinstance(part, Measured) and part.of.startswith(f"{space}.") for part in parts)
    return measured or (option.unit is not None and option.unit.space == space)


def _unruled_vehicles(catalogue: Catalogue) -> Iterator[Problem]:
    vehicles = catalogue.by_id[VEHICLE]
    named = {option for choice, option in _ruled(catalogue) if choice == VEHICLE}
    left = [option for option in vehicles.options if option.id not in named]
    if len(left) == 1 and len(vehicles.options) > 2:
        yield _caution(
            left[0].at,
            f"no rule names {_named(vehicles, left[0])}; rules name all "
            f"{len(vehicles.options) - 1} others",
            "no-rule",
            "see whether it belongs in a rule that names the others",
        )


def _unit(option: Option, unit: Unit, name: str) -> Iterator[Problem]:
    body, litres = unit.body, unit.litres or Decimal(0)
    holds = Decimal(body.volume) / 10**6
    if not option.mass:
        yield _caution(
            option.at,
            f"{name} is a unit without a mass: it counts as 0 kg",
            "no-mass",
            'add "mass: ..." in kg; write 0 where its mass is counted elsewhere',
        )
    if litres > holds:
        yield _caution(
            option.at,
            f"{name} states {plain(litres)} litres; its body of {body.width} × {body.depth} × "
            f"{body.height} mm holds {plain(holds.normalize())}",
            "litres",
            "write the body in mm, and its litres as stated by its maker",
        )


def _vehicle(option: Option, vehicle: Vehicle, name: str) -> Iterator[Problem]:
    wheelbase, cab_back, gvm = vehicle.wheelbase, vehicle.cab_back, vehicle.gvm
    front, rear = vehicle.front_axle, vehicle.rear_axle
    gcm = gvm if vehicle.gcm is None else vehicle.gcm
    for holds, sentence, hint in (
        (
            _LEAST_WHEELBASE <= wheelbase <= _MOST_WHEELBASE,
            f"the wheelbase of {name} is {wheelbase} mm; {_LEAST_WHEELBASE} to {_MOST_WHEELBASE} "
            "is usual",
            "check it against the maker's; it is in mm",
        ),
        (
            cab_back <= wheelbase,
            f"the cab of {name} ends {cab_back} mm behind the front axle, behind the rear axle at "
            f"{wheelbase} mm",
            "check cab-back and wheelbase against the maker's, in mm",
        ),
        (
            vehicle.tray_front >= cab_back,
            f"the tray of {name} begins {vehicle.tray_front} mm behind the front axle, before the "
            f"cab ends at {cab_back} mm",
            "check tray-front and cab-back, in mm",
        ),
        (
            front + rear >= gvm,
            f"the axle ratings of {name} come to {plain(front + rear)} kg ({plain(front)} and "
            f"{plain(rear)}), less than its gvm of {plain(gvm)} kg",
            "check the three ratings against the maker's",
        ),
        (
            gcm >= gvm,
            f"the gcm of {name} is {plain(gcm)} kg, less than its gvm of {plain(gvm)} kg",
            "check both against the maker's; gcm is vehicle and trailer together",
        ),
    ):
        if not holds:
            yield _caution(option.at, sentence, "vehicle-figure", hint)


def _walls(
    catalogue: Catalogue, option: Option, space: str, part: SpacePart, name: str
) -> Iterator[Problem]:
    """What walls, roof and floor take that no size of the space leaves room for."""
    sides = (
        ("length", 2 * part.wall, "walls"),
        ("width", 2 * part.wall, "walls"),
        ("height", part.roof + part.floor, "roof and floor"),
    )
    for side, lost, what in sides:
        least = getattr(part, side) or min(_given(catalogue, space, side), default=None)
        if least is not None and lost >= least:
            yield _caution(
                option.at,
                f"the {what} of {name} take {plain(lost)} mm of the {side} of the "
                f"{catalogue.space_title(space)}, which is {least} mm outside: nothing is left",
                "no-inside",
                "check what is lost at each wall, in mm",
            )


def _opening(
    catalogue: Catalogue, option: Option, opening: Opening, name: str
) -> Iterator[Problem]:
    """Frames that leave no clear opening even in the largest space."""
    along = "width" if opening.side == "rear" else "length"
    beside = (opening.front or 0) + (opening.rear or 0) + (opening.width or 0)
    bounds = (
        ("height", opening.sill + opening.header, "sill and header"),
        (along, beside, "front, rear and width"),
    )
    own = dict(option.space).get(opening.space)
    for side, taken, what in bounds:
        here = getattr(own, side) if own is not None else None
        most = here or max(_given(catalogue, opening.space, side), default=None)
        clear = 1 if side == "height" or opening.width is None else 0
        if most is not None and taken + clear > most:
            yield _caution(
                opening.at,
                f"{what} of an opening of {name} come to {taken} mm; the "
                f"{catalogue.space_title(opening.space)} has at most {most} mm of {side}",
                "no-clear-opening",
                "check the figures of the frame, in mm from the inside face",
            )


def _given(catalogue: Catalogue, space: str, side: str) -> list[int]:
    """Every size that some option brings."""
    sizes = (getattr(part, side) for _, _, name, part in catalogue.space_parts if name == space)
    return [size for size in sizes if size is not None]


def _prices(catalogue: Catalogue) -> Iterator[Problem]:
    """Cautions on prices, package deals and rounding; amounts in the catalogue's currency."""
    highest = Decimal(0)
    for choice in catalogue.by_id.values():
        for option in choice.options:
            cases = list(_cases(catalogue, choice, option))
            yield from _amounts(choice, option, cases)
            highest = max([highest, *(case[0] for case in cases)])
    yield from _deals(catalogue)
    rounding = catalogue.rounding
    if rounding is not None and highest and rounding.to * 2 > highest:
        yield _caution(
            rounding.at,
            f"packages are rounded to {rounding.to}; the most expensive option costs {highest}",
            "rounding-step",
            "round to a step that is small beside what a package costs",
        )


def _selections(catalogue: Catalogue, parts: tuple[Part, ...]) -> Iterator[tuple[Selection, str]]:
    """Every set of picks that the parts depend on, and in words; none where there are too many."""
    answers = []
    for choice, options in determiners_of(catalogue, parts).items():
        states = states_of(catalogue.by_id[choice], options)
        answers.append([(choice, state) for state in islice(states, _MOST_CASES + 1)])
    if prod(map(len, answers)) > _MOST_CASES:
        return
    for case in product(*answers):
        picks = [catalogue.picked(c, o, n) for c, state in case for o, n in state]
        yield Selection(catalogue.id, tuple(picks)), " and ".join(map(str, picks))


def _cases(catalogue: Catalogue, choice: Choice, option: Option) -> Iterator[Case]:
    """The price and cost of one wherever both its price and what it depends on are known.

    What takes another option's price off is passed over: less than its cost is usual there.
    """
    if any(isinstance(part, Credit) for part in option.price):
        return
    trade = catalogue.trade_of(choice.id, option.id)
    quantities = {s.first for p in option.price if isinstance(p, Breaks) for s in p.steps}
    quantities |= {p.per for p in option.price if isinstance(p, UnitPrice)}
    for selection, told in _selections(catalogue, (*option.price, *trade.cost)):
        for quantity in sorted(quantities or {1}):
            line = option_price(Resolved(catalogue, selection), choice, option, quantity)
            brings = line.amount if line.finer else line.each
            if brings is None:
                continue
            cost = cost_of(Resolved(catalogue, selection), option, line)
            if cost is not None and line.finer:
                cost = (cost * line.quantity).rounded()
            taxed = TaxedAmount(brings, line.rate)
            (net,) = without_tax(catalogue.tax, [taxed], catalogue.currency)
            many = f"from {quantity} of it" if quantity > 1 else ""
            where = " and ".join(filter(None, (told, many)))
            yield (
                brings.amount,
                net.amount,
                None if cost is None else cost.rounded().amount,
                where,
            )


def _amounts(choice: Choice, option: Option, cases: list[Case]) -> Iterator[Problem]:
    name = _named(choice, option)
    below = [case for case in cases if case[0] < 0]
    if below:
        price, _, _, where = min(below)
        yield _caution(
            option.at,
            f"the price of {name} is {price}, below zero{_with(where)}",
            "negative-price",
            "write what it costs; what replaces another option takes its price off as a credit",
        )
    losing = [
        (net - cost, net, cost, where)
        for price, net, cost, where in cases
        if cost is not None and price > 0 and net < cost
    ]
    if losing:
        loss, net, cost, where = min(losing)
        yield _caution(
            option.at,
            f"{name} is sold for {net} without tax, {-loss} below its cost of {cost}{_with(where)}",
            "below-cost",
            "check both amounts; costs are without tax",
        )


def _with(picks: str) -> str:
    return f", with {picks}" if picks else ""


def _deals(catalogue: Catalogue) -> Iterator[Problem]:
    for deal in catalogue.package_deals:
        options = [catalogue.option(pick.choice, pick.option) for pick in deal.picks]
        parts = tuple(part for option in options for part in option.price)
        price = Money(deal.price, catalogue.currency).rounded().amount
        sums = []
        for selection, _ in _selections(catalogue, parts):
            prices = [
                option_price(
                    Resolved(catalogue, selection),
                    catalogue.by_id[pick.choice],
                    option,
                    pick.quantity,
                ).amount
                for pick, option in zip(deal.picks, options, strict=True)
            ]
            known = [amount.amount for amount in prices if amount is not None]
            if len(known) == len(prices):
                sums.append(sum(known, Decimal(0)))
        if sums and max(sums) <= price:
            yield _caution(
                deal.at,
                f'package deal "{deal.id}" costs {price}; its parts come to {max(sums)}, '
                "so it never saves anything",
                "deal-saves-nothing",
                "lower its price, or leave the deal out",
            )
