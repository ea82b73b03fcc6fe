"""The catalogue as values: what a shop offers, frozen.

Names and meanings are those of ``schemas/catalogue.schema.json``, with hyphens as underscores.
Sizes are whole or decimal millimetres, masses kilograms, amounts Decimal in the catalogue's
currency with tax in or out as :attr:`Tax.prices` says. Every record remembers where it was
written in ``at``, which takes no part in equality.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from decimal import Decimal
from functools import cached_property
from types import MappingProxyType
from typing import TypeAlias

from attrs import evolve, field, frozen

from configurator.catalogue.record import Record
from configurator.catalogue.settings import (
    Fixings,
    Hitch,
    MassSettings,
    PaperSettings,
    PowerSettings,
    Ratings,
    TrayPart,
)
from configurator.catalogue.work import Work
from configurator.errors import NOWHERE, Location
from configurator.forms import form

__all__ = [
    "ADD_ON",
    "FREE_LINE",
    "VEHICLE",
    "AllOf",
    "AnyOf",
    "Approval",
    "Catalogue",
    "Caution",
    "Choice",
    "Condition",
    "Limit",
    "NoneOf",
    "Opening",
    "Option",
    "PackageDeal",
    "Part",
    "Pick",
    "Power",
    "Rounding",
    "Rule",
    "Shop",
    "SpacePart",
    "Step",
    "Tax",
    "Test",
    "Trade",
    "Unit",
    "Vehicle",
    "named_option",
    "tests_in",
]

VEHICLE = "vehicle"
"""Id of the choice that the vehicles make."""

ADD_ON = "add-on"
"""Id of the choice that the add-ons make."""

FREE_LINE = "free-line"
"""Id of the choice that the free lines of a selection make."""

Amounts: TypeAlias = tuple[tuple[str, Decimal], ...]
"""Amounts by id, in the order written."""


def _at() -> Location:
    return field(default=NOWHERE, eq=False, repr=False, kw_only=True)


@frozen(repr=False)
class Test(Record):
    """What a condition asks of one choice: a quantity of some of its options.

    Attributes:
        choice: the choice.
        options: options counted together; empty means all options of the choice.
        at_least: smallest quantity that will do.
        at_most: largest quantity that will do; None for no bound.
    """

    choice: str
    options: tuple[str, ...] = ()
    at_least: int = 0
    at_most: int | None = None
    at: Location = _at()


@frozen(repr=False)
class AllOf(Record):
    """Every one of these holds; nothing at all holds too."""

    conditions: tuple[Condition, ...]


@frozen(repr=False)
class AnyOf(Record):
    """At least one of these holds."""

    conditions: tuple[Condition, ...]


@frozen(repr=False)
class NoneOf(Record):
    """Not one of these holds."""

    conditions: tuple[Condition, ...]


Condition: TypeAlias = Test | AllOf | AnyOf | NoneOf


def tests_in(condition: Condition) -> Iterator[Test]:
    """Every test that the condition is made of, in the order written."""
    if isinstance(condition, Test):
        yield condition
    else:
        for part in condition.conditions:
            yield from tests_in(part)


@frozen(repr=False)
class Step(Record):
    """An amount each from a quantity on."""

    first: int
    each: Decimal


@frozen(repr=False)
class Part(Record):
    """One part of a price or cost (in the catalogue's currency) or of a mass (kg).

    Attributes:
        kind: ``fixed``, ``table``, ``measure``, ``labour``, ``breaks``, ``markup``, ``credit`` or
            ``on-application``; costs and masses have the first three.
        amount: of a fixed part; of a markup, the supplier's price with the markup, without tax.
        by: choices that a table looks up, outermost first.
        rows: cells of a table by option ids, one for each choice in ``by``.
        of: what a measure part counts.
        rate: amount for one unit of the measure.
        hours: of labour.
        trade: whose labour rate.
        minimum: the least that labour is charged for one.
        steps: of breaks, by rising quantity.
        percent: of a credit, how much of the other price is taken off, None for all of it.
        replaces: of a credit, ``choice=option``.
        first: ISO date of the first day on which it counts, or empty.
        until: ISO date of the last one, or empty.
        note: words for the customer.
    """

    kind: str
    amount: Decimal | None = None
    by: tuple[str, ...] = ()
    rows: tuple[tuple[tuple[str, ...], Decimal], ...] = ()
    of: str = ""
    rate: Decimal | None = None
    hours: Decimal | None = None
    trade: str = ""
    minimum: Decimal | None = None
    steps: tuple[Step, ...] = ()
    percent: Decimal | None = None
    replaces: str = ""
    first: str = ""
    until: str = ""
    note: str = ""
    at: Location = _at()

    def counts_on(self, day: str) -> bool:
        """Whether it counts on the day, an ISO date."""
        return (not self.first or self.first <= day) and (not self.until or day <= self.until)

    @cached_property
    def cells(self) -> Mapping[tuple[str, ...], Decimal]:
        """The table's cells by option ids."""
        return MappingProxyType(dict(self.rows))


@frozen(repr=False)
class Box(Record):
    """A box: width along the working face, depth behind it, height; mm."""

    width: int
    depth: int
    height: int


@frozen(repr=False)
class Sides(Record):
    """A margin on each face of a unit, mm; left and right as seen facing it."""

    front: int = 0
    rear: int = 0
    left: int = 0
    right: int = 0
    top: int = 0
    bottom: int = 0


@frozen(repr=False)
class Swing(Record):
    """A unit's own door: where it is hung and how far it stands out, mm."""

    hinge: str
    reach: int


@frozen(repr=False)
class Carries(Record):
    """A bed that other units may stand on: kg, and mm.

    It begins at the working face and lies in the middle of the unit's width. ``slides`` says that
    what stands on it slides out with it.
    """

    mass: Decimal
    width: int
    depth: int
    at: int | None = None
    slides: bool = False


@frozen(repr=False)
class Prefers(Record):
    """Where a unit is best placed: the side that it works from, the end that it is at, or both."""

    side: str = ""
    towards: str = ""


@frozen(repr=False, cache_hash=True)
class Unit(Record):
    """A physical thing to place in a space.

    Attributes:
        space: id of the space.
        body: outside size, mm.
        clearance: room kept clear around the body, mm.
        clearance_exclusive: another unit's clearance may not share this one's.
        works_from: sides the working face may be at; empty when it needs no opening.
        prefers: where it is placed if nothing speaks against it.
        behind_frame: how much of the working face may stay behind the opening's frame, mm.
        reach: how far behind that side the working face may stand with nothing before it, mm.
        behind_frame: how much of a working face that does not slide out may stay behind the
            opening's frame, mm.
        travel: how far it slides out, mm.
        swing: its own door, if any.
        stands_on: ``floor``, a choice id or ``choice=option``, any of which may carry it.
        carries: its own bed, if it carries other units.
        overhang: how far it may stand over the edge of what carries it, mm.
        hangs_at: height of its underside above the floor when it hangs, mm.
        turns: it may stand turned by a quarter about the vertical.
        built_in: built in place, so it need not pass an opening whole.
        contents: travelling allowance, kg.
        litres: stated volume.
        fixings: what holds it down, if its maker says.
    """

    space: str
    body: Box
    clearance: Sides = Sides()
    clearance_exclusive: bool = False
    works_from: tuple[str, ...] = ()
    prefers: Prefers | None = None
    reach: int = 0
    behind_frame: Sides = Sides()
    travel: int = 0
    swing: Swing | None = None
    stands_on: tuple[str, ...] = ("floor",)
    carries: Carries | None = None
    overhang: int = 0
    hangs_at: int | None = None
    turns: bool = False
    built_in: bool = False
    contents: Decimal = Decimal(0)
    litres: Decimal | None = None
    fixings: Fixings | None = None


@frozen(repr=False)
class SpacePart(Record):
    """What one option says of one space: outside sizes it sets, losses it adds; mm."""

    length: int | None = None
    width: int | None = None
    height: int | None = None
    wall: Decimal = Decimal(0)
    roof: Decimal = Decimal(0)
    floor: Decimal = Decimal(0)
    divider: Decimal = Decimal(0)
    divider_at: int | None = None
    x: int | None = None
    z: int | None = None


@frozen(repr=False)
class Gear(Record):
    """Room at an opening's top corners (bottom: folds down) that struts and hinges sweep, mm."""

    width: int = 0
    height: int = 0
    depth: int = 0


@frozen(repr=False)
class Opening(Record):
    """A door: what its frame takes from the inside face of one side of a space, mm.

    ``prefers`` names the units meant to work through it, each a choice id or ``choice=option``.
    """

    space: str
    side: str
    sill: int = 0
    header: int = 0
    front: int | None = None
    rear: int | None = None
    width: int | None = None
    moves: str = ""
    gear: Gear | None = None
    prefers: tuple[str, ...] = ()
    at: Location = _at()


@frozen(repr=False)
class Load(Record):
    """A consumer: A or W while running, and how much of the day it runs."""

    amps: Decimal | None = None
    watts: Decimal | None = None
    mains: bool = False
    duty: Decimal = Decimal(1)
    hours: Decimal = Decimal(24)
    summer: Decimal = Decimal(1)
    winter: Decimal = Decimal(1)
    surge: Decimal | None = None


@frozen(repr=False)
class Battery(Record):
    """A battery: Ah, V, usable share, and limits in A.

    Attributes:
        charge_volts: potential that chargers are set to; None where its maker does not say.
        float_volts: potential that keeps it full; None where its maker does not say.
        peukert: exponent of the law that makes fast discharge cost more; 1 for none.
        rated_hours: over how many hours of discharge its capacity is stated.
        short_circuit: A that one gives into a short circuit; None where its maker does not say.
    """

    chemistry: str
    capacity: Decimal
    volts: Decimal
    usable: Decimal
    discharge: Decimal
    charge: Decimal
    peak: Decimal | None = None
    charge_volts: Decimal | None = None
    float_volts: Decimal | None = None
    peukert: Decimal = Decimal(1)
    rated_hours: Decimal = Decimal(20)
    short_circuit: Decimal | None = None


@frozen(repr=False)
class Solar(Record):
    """Solar panels: rated W and the share that reaches the battery.

    Attributes:
        volts: rated potential at maximum power, V; None where its maker does not say.
        coefficient: change of that potential per degree Celsius, percent; negative.
    """

    watts: Decimal
    derate: Decimal
    volts: Decimal | None = None
    coefficient: Decimal = Decimal("-0.4")


@frozen(repr=False)
class Circuit(Record):
    """The circuit that feeds a unit: m one way, percent drop allowed, A of fuse, mm2 of cable.

    A run that is not given is measured on the layout; a cable that is not given is chosen.

    Attributes:
        fuse_at: how far from the battery the fuse sits, mm.
        fuse_type: class or pattern of the fuse, or empty.
        breaks: direct current that the fuse breaks safely, A; None where nobody says.
        bundle: loaded cables in its bundle, its own pair counted; None for the shop's usual.
        apart: cables in parallel run as pairs apart from each other.
        ambient: degrees Celsius at the hottest part of the run; None for the shop's usual.
        direct: fed straight from the battery's bus bar, not through the fuse panel.
    """

    run: Decimal | None = None
    drop: Decimal = Decimal(3)
    fuse: Decimal | None = None
    cable: Decimal | None = None
    fuse_at: int | None = None
    fuse_type: str = ""
    breaks: Decimal | None = None
    bundle: int | None = None
    apart: bool = False
    ambient: int | None = None
    direct: bool = False


@frozen(repr=False)
class Charger(Record):
    """A charger: A into the battery.

    Attributes:
        regulates: it is the solar panels' regulator too.
        output: the circuit from its output to the battery, where ``circuit`` is what feeds it.
    """

    amps: Decimal
    regulates: bool = False
    output: Circuit | None = None


@frozen(repr=False)
class Distribution(Record):
    """A fuse panel or bus bar that loads are fed through: A that it carries."""

    amps: Decimal


@frozen(repr=False)
class Inverter(Record):
    """An inverter: W continuous and at the start, efficiency, idle A."""

    watts: Decimal
    efficiency: Decimal
    idle: Decimal
    surge: Decimal | None = None


@frozen(repr=False)
class Power(Record):
    """A part in the 12 V system."""

    load: Load | None = None
    battery: Battery | None = None
    solar: Solar | None = None
    vehicle_charger: Charger | None = None
    mains_charger: Charger | None = None
    regulator: Charger | None = None
    inverter: Inverter | None = None
    distribution: Distribution | None = None
    circuit: Circuit | None = None


@frozen(repr=False)
class Kerb(Record):
    """Kerb mass on each axle, kg, and the litres of fuel in it; None for a full tank."""

    front: Decimal
    rear: Decimal
    fuel: Decimal | None = None


@frozen(repr=False)
class Seats(Record):
    """A row of seats: mm behind the front axle, and how many."""

    x: int
    count: int


@frozen(repr=False)
class Fuel(Record):
    """A fuel tank: litres, mm behind the front axle, kg per litre."""

    litres: Decimal
    x: int
    density: Decimal


@frozen(repr=False)
class Vehicle(Record):
    """Maker's figures for a class of vehicle: kg, and mm behind the front axle."""

    kerb: Kerb
    wheelbase: int
    gvm: Decimal
    front_axle: Decimal
    rear_axle: Decimal
    cab_back: int
    tray_front: int
    seats: tuple[Seats, ...]
    gcm: Decimal | None = None
    towing: Decimal | None = None
    tow_ball: Decimal | None = None
    tray_floor: int | None = None
    cab_height: int | None = None
    overall_width: int | None = None
    fuel: Fuel | None = None

    @property
    def payload(self) -> Decimal:
        """GVM less kerb mass with a full tank, kg."""
        return self.gvm - self.kerb.front - self.kerb.rear - self.fuel_to_fill

    @property
    def fuel_to_fill(self) -> Decimal:
        """Fuel that the kerb mass lacks for a full tank, kg."""
        if self.fuel is None or self.kerb.fuel is None:
            return Decimal(0)
        return max(Decimal(0), self.fuel.litres - self.kerb.fuel) * self.fuel.density


@frozen(repr=False)
class Position(Record):
    """Where a mass sits that is not placed in a space, mm.

    Attributes:
        origin: what x counts from: ``front-axle``, ``tray-front`` or ``rear-axle``.
        x: rearward.
        y: to the right of the centre line.
        z: above what ``above`` names.
        above: ``tray-floor``, or ``roof`` for the highest roof of the spaces.
        top: its highest point, counted like z; None when it does not matter.
    """

    origin: str
    x: int
    y: int = 0
    z: int = 0
    above: str = "tray-floor"
    top: int | None = None


@frozen(repr=False, cache_hash=True)
class Option(Record):
    """One answer to a choice, with whatever it brings.

    Vehicles and add-ons are options too; only they have ``vehicle``, ``suggest`` and ``because``.
    Only free lines have a ``group`` other than that of their choice.
    An option is part of many answers and papers, so what it costs the shop is not in it: see
    :class:`Trade`.
    """

    id: str
    title: str
    text: str = ""
    price: tuple[Part, ...] = ()
    tax: str = ""
    mass: tuple[Part, ...] = ()
    position: Position | None = None
    space: tuple[tuple[str, SpacePart], ...] = ()
    openings: tuple[Opening, ...] = ()
    unit: Unit | None = None
    power: Power | None = None
    work: tuple[Work, ...] = ()
    gives: Amounts = ()
    uses: Amounts = ()
    contents: Decimal = Decimal(0)
    tray: TrayPart | None = None
    ratings: Ratings | None = None
    hitch: Hitch | None = None
    most: int = 1
    vehicle: Vehicle | None = None
    suggest: Condition | None = None
    because: str = ""
    group: str = ""
    at: Location = _at()


@frozen(repr=False)
class Trade(Record):
    """What one option costs the shop and who supplies it: for the shop's eyes only.

    Attributes:
        choice: id of the option's choice.
        option: id of the option.
        cost: parts of what one costs the shop, without tax.
        bought: for each markup in its price, the supplier's price without tax, as a fixed part
            that counts on the same days.
        supplier: who supplies it, or empty.
        supplier_code: the supplier's own part number, or empty.
    """

    choice: str
    option: str
    cost: tuple[Part, ...] = ()
    bought: tuple[Part, ...] = ()
    supplier: str = ""
    supplier_code: str = ""


@frozen(repr=False)
class Choice(Record):
    """One thing to be decided.

    Attributes:
        pick: ``one``, ``at-most-one`` or ``several``.
        at_most: largest total quantity of a choice of several; None for no bound.
    """

    id: str
    title: str
    group: str
    pick: str
    options: tuple[Option, ...]
    text: str = ""
    at_most: int | None = None
    at: Location = _at()

    @cached_property
    def by_id(self) -> Mapping[str, Option]:
        """The options by their ids."""
        return MappingProxyType({option.id: option for option in self.options})

    @cached_property
    def order(self) -> Mapping[str, int]:
        """The place of each option in the catalogue's order."""
        return MappingProxyType({option.id: index for index, option in enumerate(self.options)})


def named_option(choice: Choice, option: Option) -> str:
    """The option as messages about a catalogue call it, by its ids."""
    if choice.id in (VEHICLE, ADD_ON):
        return f'{choice.id} "{option.id}"'
    return f'option "{option.id}" of choice "{choice.id}"'


@frozen(repr=False)
class Rule(Record):
    """When ``when`` holds, ``needs`` must hold and ``rules_out`` must not.

    Exactly one of ``needs`` and ``rules_out`` is given; ``when`` None means always.
    """

    id: str
    because: str
    when: Condition | None = None
    needs: Condition | None = None
    rules_out: Condition | None = None
    hint: str = ""
    at: Location = _at()


@frozen(repr=False)
class Limit(Record):
    """A total that may not exceed what is there, in ``unit``."""

    id: str
    title: str
    unit: str
    because: str
    counts: str = ""
    reserve: Decimal = Decimal(0)
    caution_at: Decimal = Decimal("0.9")
    hint: str = ""
    at: Location = _at()


@frozen(repr=False)
class Caution(Record):
    """A caution that stands on a quote when its condition holds."""

    id: str
    when: Condition
    text: str
    at: Location = _at()


@form(hidden="choice option at", also="name", keys={"name": "pick"})
@frozen(repr=False)
class Pick(Record):
    """An option picked, and how many of it."""

    choice: str
    option: str
    quantity: int = 1
    at: Location = _at()

    @property
    def name(self) -> str:
        """The pick as ``choice=option``."""
        return f"{self.choice}={self.option}"

    def __str__(self) -> str:
        return self.name


@frozen(repr=False)
class PackageDeal(Record):
    """A named set of picks sold at one price.

    ``times`` is ``each`` where every set that is picked gets it, ``once`` where only one does.
    """

    id: str
    title: str
    picks: tuple[Pick, ...]
    price: Decimal
    text: str = ""
    times: str = "each"
    at: Location = _at()


@frozen(repr=False)
class Group(Record):
    """A group of lines of a quote."""

    id: str
    title: str


@frozen(repr=False)
class Space(Record):
    """A box-shaped volume that units go into; its sizes come from the options picked."""

    id: str
    title: str


@frozen(repr=False)
class Validity(Record):
    """First and last day, both included, as ISO dates."""

    first: str
    until: str


@form(hidden="kerb_side accent papers")
@frozen(repr=False)
class Shop(Record):
    """The shop, as its papers show it."""

    name: str
    address: tuple[str, ...]
    kerb_side: str
    email: str = ""
    phone: str = ""
    web: str = ""
    registration: str = ""
    accent: str = "#1f4e5f"
    papers: PaperSettings = PaperSettings()


@frozen(repr=False)
class Tax(Record):
    """How tax is worked out; rates in percent, the first one is the usual.

    Attributes:
        basis: where tax is rounded: ``document``, ``category`` or ``line``.
        line_decimals: decimals of each line's tax on that basis; None for the currency's.
        cash_increment: what cash is rounded to; None when it is not.
        cash_mode: which way half an increment goes.
    """

    name: str
    prices: str
    rates: Amounts
    basis: str = "document"
    line_decimals: int | None = None
    mode: str = "half-up"
    cash_increment: Decimal | None = None
    cash_mode: str = "half-up"

    @property
    def included(self) -> bool:
        """Whether catalogue prices have the tax in them already."""
        return self.prices == "include"


@frozen(repr=False)
class Rounding(Record):
    """What a package is rounded to, in a line of its own: ``nearest``, ``down`` or ``up``."""

    to: Decimal
    mode: str = "nearest"
    at: Location = _at()


@frozen(repr=False)
class Approval(Record):
    """How far discounts without an approver's name may go: percent of the package, amount."""

    percent: Decimal | None = None
    amount: Decimal | None = None


@frozen(repr=False)
class Payment(Record):
    """A stage of payment, percent of the total."""

    title: str
    percent: Decimal


@frozen(repr=False)
class QuoteTerms(Record):
    """What the shop's quotes say."""

    valid_days: int
    payments: tuple[Payment, ...]
    terms: tuple[str, ...] = ()
    not_included: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


@frozen(repr=False)
class Catalogue(Record):
    """Everything a shop offers.

    ``choices`` starts with the choice called vehicle; ``add_ons`` is the choice called add-on.
    Prices are those of ``day``, an ISO date; empty means the first day on which they hold.
    ``trade`` and ``text`` hold what the shop pays: no answer and no paper of a customer's may
    have the catalogue itself in it.
    """

    id: str
    title: str
    currency: str
    valid: Validity
    shop: Shop
    tax: Tax
    quote: QuoteTerms
    groups: tuple[Group, ...]
    choices: tuple[Choice, ...]
    add_ons: Choice
    labour: Amounts = ()
    spaces: tuple[Space, ...] = ()
    rules: tuple[Rule, ...] = ()
    limits: tuple[Limit, ...] = ()
    cautions: tuple[Caution, ...] = ()
    mass: MassSettings = MassSettings()
    power: PowerSettings = PowerSettings()
    package_deals: tuple[PackageDeal, ...] = ()
    rounding: Rounding | None = None
    approval: Approval | None = None
    trade: tuple[Trade, ...] = field(default=(), repr=False)
    day: str = ""
    source: str = field(default="", eq=False)
    text: str = field(default="", eq=False, repr=False)

    @property
    def digest(self) -> str:
        """SHA-256 digest of the text it was read from: another one after any change."""
        from hashlib import sha256

        return sha256(self.text.encode()).hexdigest()

    def on(self, day: date) -> Catalogue:
        """The catalogue with the prices of that day."""
        iso = day.isoformat()
        return self if iso == self.day else evolve(self, day=iso)

    def unpriced_on(self, day: date) -> str:
        """Why nothing is priced on that day, as a sentence; empty where the prices hold."""
        first, until = self.valid.first, self.valid.until
        if first <= day.isoformat() <= until:
            return ""
        return f"the catalogue's prices hold from {first} to {until}, not on {day.isoformat()}"

    @property
    def price_day(self) -> str:
        """The day whose prices count, as an ISO date."""
        return self.day or self.valid.first

    @cached_property
    def by_id(self) -> Mapping[str, Choice]:
        """Every choice by its id, the add-ons included."""
        return MappingProxyType({choice.id: choice for choice in (*self.choices, self.add_ons)})

    @cached_property
    def closed_spaces(self) -> frozenset[str]:
        """Spaces that some option gives an opening; any other space is open."""
        return frozenset(
            opening.space
            for choice in self.by_id.values()
            for option in choice.options
            for opening in option.openings
        )

    @cached_property
    def space_parts(self) -> tuple[tuple[str, str, str, SpacePart], ...]:
        """What options say of spaces: choice, option, space, and part, in the catalogue's order."""
        return tuple(
            (choice.id, option.id, space, part)
            for choice in self.by_id.values()
            for option in choice.options
            for space, part in option.space
        )

    def option(self, choice: str, option: str) -> Option:
        """The option of that choice.

        Raises:
            KeyError: there is no such choice or option.
        """
        return self.by_id[choice].by_id[option]

    @cached_property
    def _trade_by_option(self) -> dict[tuple[str, str], Trade]:
        return {(trade.choice, trade.option): trade for trade in self.trade}

    def trade_of(self, choice: str, option: str) -> Trade:
        """What the option costs the shop and who supplies it; empty where nothing is stated."""
        return self._trade_by_option.get((choice, option)) or Trade(choice, option)

    def space_title(self, space: str) -> str:
        """What a sentence calls the space."""
        return next((s.title for s in self.spaces if s.id == space), space)
