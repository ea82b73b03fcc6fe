"""The 12 V system: what options contribute to it, and how a shop has its power calculated."""

from decimal import Decimal
from typing import Annotated

from attrs import frozen

from configurator.catalogue.fields import (
    ForPeople,
    Hours,
    Id,
    Mm,
    NotNegative,
    Positive,
    Record,
    Share,
    ShareFrom0,
    Size,
    UpTo1000,
    Written,
)
from configurator.shapes.schema import asks, one_of


@frozen(repr=False, eq=False)
class Load(Record):
    """A consumer: A or W while running, and how much of the day it runs."""

    amps: Annotated[Positive | None, "Current while running at nominal battery voltage, A."] = None
    watts: Annotated[Positive | None, "Power while running, W; instead of amps."] = None
    mains: Annotated[bool, "Runs on 230 V through the inverter. Default false."] = False
    duty: Annotated[ShareFrom0, "Share of the running hours that it draws, 0 to 1. Default 1."] = (
        Decimal(1)
    )
    hours: Annotated[Hours, "Hours a day it is switched on. Default 24."] = Decimal(24)
    summer: Annotated[Positive, "Factor on the daily draw in summer. Default 1."] = Decimal(1)
    winter: Annotated[Positive, "Factor on the daily draw in winter. Default 1."] = Decimal(1)
    surge: Annotated[Positive | None, "Starting power, W."] = None


@frozen(repr=False, eq=False)
class Battery(Record):
    """A battery: Ah, V, usable share, and limits in A."""

    chemistry: Annotated[str, "Lithium iron phosphate or absorbed glass mat.", one_of("lfp", "agm")]
    capacity: Annotated[Positive, "Rated capacity, Ah."]
    volts: Annotated[Positive, "Nominal voltage, V."]
    usable: Annotated[Share, "Share of the capacity that may be used."]
    discharge: Annotated[Positive, "Continuous discharge limit, A."]
    charge: Annotated[Positive, "Charge limit, A."]
    peak: Annotated[Positive | None, "Peak discharge limit, A."] = None
    charge_volts: Annotated[
        UpTo1000 | None, "Potential that chargers are set to, V, as its maker states."
    ] = None
    float_volts: Annotated[
        UpTo1000 | None, "Potential that keeps it full, V, as its maker states."
    ] = None
    peukert: Annotated[
        Decimal,
        "Exponent of Peukert's law, for lead-acid. Default 1: capacity does not depend on the "
        "current.",
        asks(minimum=1, maximum=2),
    ] = Decimal(1)
    rated_hours: Annotated[
        UpTo1000, "Hours of discharge over which the capacity is stated. Default 20."
    ] = Decimal(20)
    short_circuit: Annotated[
        Decimal | None,
        "Current that it gives into a short circuit, A, as its maker states; the fuse must "
        "break it.",
        asks(exclusiveMinimum=0, maximum=1000000),
    ] = None


@frozen(repr=False, eq=False)
class Solar(Record):
    """Solar panels: rated W and the share that reaches the battery."""

    watts: Annotated[Positive, "Rated power, W."]
    derate: Annotated[ShareFrom0, "Share of the rated power that reaches the battery."]
    volts: Annotated[UpTo1000 | None, "Rated voltage at maximum power, V."] = None
    coefficient: Annotated[
        Decimal,
        "Change of that voltage a degree Celsius, per cent; negative. Default -0.4.",
        asks(minimum=-1, maximum=0),
    ] = Decimal("-0.4")


@frozen(repr=False, eq=False)
class Circuit(Record):
    """The circuit that feeds a unit: m one way, per cent drop allowed, A of fuse, mm² of cable.

    A run that is not given is measured on the layout; a cable that is not given is chosen.
    """

    run: Annotated[
        Positive | None,
        "Length of the cable one way, m; left out, it is measured on the layout, but never from "
        "the starter battery.",
    ] = None
    drop: Annotated[
        Decimal,
        "Largest voltage drop allowed, per cent. Default 3.",
        asks(exclusiveMinimum=0, maximum=20),
    ] = Decimal(3)
    fuse: Annotated[Positive | None, "Fuse that its maker asks for, A."] = None
    cable: Annotated[
        UpTo1000 | None,
        "Cross-section of the cable that it comes with, mm2; left out, the size is calculated.",
    ] = None
    fuse_at: Annotated[Mm | None, "How far from the battery the fuse sits, mm."] = None
    fuse_type: Annotated[str, "Class or pattern of the fuse, such as class T.", ForPeople(40)] = ""
    breaks: Annotated[
        Decimal | None,
        "Direct current that its fuse breaks safely at the system's voltage, A, as the fuse's "
        "maker states.",
        asks(exclusiveMinimum=0, maximum=1000000),
    ] = None
    bundle: Annotated[
        int | None,
        "Loaded cables in its bundle; out and back count as two, so 2 is a circuit that runs "
        "alone. Default: the shop's grouped.",
        asks(minimum=2, maximum=100),
    ] = None
    apart: Annotated[
        bool,
        "Cables in parallel run as pairs, each more than twice the diameter of a cable from the "
        "next, so that each pair is a bundle of its own. Default false.",
    ] = False
    ambient: Annotated[
        int | None,
        "At the hottest part of the run, degrees Celsius. Default: the shop's ambient; from the "
        "starter battery its engine-bay.",
        asks(minimum=-40, maximum=89),
    ] = None
    direct: Annotated[
        bool,
        "Fed straight from the battery's bus bar and not through the fuse panel. Default false.",
    ] = False


@frozen(repr=False, eq=False)
class Charger(Record):
    """A charger."""

    amps: Annotated[Positive, "Charge current, A."]


@frozen(repr=False, eq=False)
class VehicleCharger(Charger):
    """Charger fed by the vehicle's alternator.

    Where it has an output, the option's circuit is what feeds it.
    """

    regulates: Annotated[bool, "It is the solar panels' regulator too. Default false."] = False
    output: Annotated[
        Circuit | None,
        "The circuit from its output to the battery; its fuse sits at the battery's end.",
        asks(minProperties=1),
    ] = None


@frozen(repr=False, eq=False)
class Distribution(Record):
    """A fuse panel or bus bar that loads are fed through: A that it carries."""

    amps: Annotated[Positive, "Current that it carries, A."]


@frozen(repr=False, eq=False)
class Inverter(Record):
    """An inverter: W continuous and at the start, efficiency, idle A."""

    watts: Annotated[Positive, "Continuous power, W."]
    efficiency: Annotated[Share, "Share of the drawn power delivered."]
    idle: Annotated[NotNegative, "Current with nothing connected, A."]
    surge: Annotated[Positive | None, "Surge power, W."] = None


@frozen(repr=False, eq=False)
class Power(Record):
    """A part in the 12 V system."""

    load: Annotated[Load | None, "A consumer."] = None
    battery: Annotated[Battery | None, "A battery."] = None
    solar: Annotated[Solar | None, "Solar panels."] = None
    vehicle_charger: Annotated[
        VehicleCharger | None, "Charger fed by the vehicle's alternator."
    ] = None
    mains_charger: Annotated[Charger | None, "Charger fed by shore power."] = None
    regulator: Annotated[
        Charger | None, "Regulator of solar panels, where no charger looks after them."
    ] = None
    inverter: Annotated[Inverter | None, "12 V to 230 V inverter."] = None
    distribution: Annotated[
        Distribution | None, "Fuse panel or bus bar that loads are fed through."
    ] = None
    circuit: Annotated[
        Circuit | None,
        "The circuit that feeds it; of a battery, a mains charger or a regulator, the one to "
        "the bus bar.",
        asks(minProperties=1),
    ] = None


@frozen(repr=False, eq=False)
class SunPlace(Written):
    """Peak sun hours a day at a place, flat panels, by season (kWh/m2 a day, numerically)."""

    id: Annotated[Id, "Short name."]
    title: Annotated[str, "Its name.", ForPeople(60)]
    year: Annotated[Hours, "Peak sun hours a day, yearly average."]
    summer: Annotated[Hours, "Peak sun hours a day, in summer."]
    winter: Annotated[Hours, "Peak sun hours a day, in winter."]
    source: Annotated[str, "Where the figures come from.", ForPeople(200)] = ""


@frozen(repr=False, eq=False)
class PowerSettings(Record):
    """How the power picture is calculated."""

    volts: Annotated[
        Decimal,
        "Nominal voltage of the system, V. Default 12.",
        asks(exclusiveMinimum=0, maximum=60),
    ] = Decimal(12)
    low_volts: Annotated[
        Decimal,
        "Potential at which the inverter still works and draws most, V. Default 10.5.",
        asks(exclusiveMinimum=0, maximum=60),
    ] = Decimal("10.5")
    places: Annotated[
        tuple[SunPlace, ...], "Places with their peak sun hours on flat panels.", asks(minItems=1)
    ] = ()
    place: Annotated[Id, "The place when a selection does not say. Default: the first."] = ""
    season: Annotated[
        str,
        "The season when a selection does not say. Default year.",
        one_of("summer", "winter", "year"),
    ] = "year"
    driving: Annotated[Hours, "Hours driven a day when a selection does not say. Default 0."] = (
        Decimal(0)
    )
    days: Annotated[
        Decimal,
        "Days of stay without charging that the shop aims at. Default 2.",
        asks(exclusiveMinimum=0, maximum=100),
    ] = Decimal(2)
    charging: Annotated[Share, "Share of the charge that the battery keeps. Default 0.95."] = (
        Decimal("0.95")
    )
    ambient: Annotated[
        int, "Where cables run, degrees Celsius. Default 40.", asks(minimum=-40, maximum=80)
    ] = 40
    engine_bay: Annotated[
        int,
        "Where the cable from the starter battery runs, at its hottest, degrees Celsius. "
        "Default 60, for engine rooms (ISO 10133, from memory).",
        asks(minimum=-40, maximum=89),
    ] = 60
    conductor: Annotated[
        int,
        "Conductors when the voltage drop is calculated, degrees Celsius; where it is hotter "
        "around them, that counts. Default 40.",
        asks(minimum=-40, maximum=90),
    ] = 40
    grouped: Annotated[
        int,
        "Loaded cables in one bundle, where a circuit does not say; out and back count as two. "
        "Default 6: a cautious one, the pairs of three circuits.",
        asks(minimum=2, maximum=100),
    ] = 6
    drop: Annotated[
        Decimal,
        "Largest voltage drop from the battery to a load, all cables together, per cent. Default "
        "10, for extra-low voltage (AS/NZS 3000 clause 7.5.7, from memory).",
        asks(exclusiveMinimum=0, maximum=20),
    ] = Decimal(10)
    hot_cells: Annotated[
        int,
        "Cells of a solar panel in full sun, degrees Celsius. Default 70: 40 in the shade, and 30 "
        "above it on a hot roof (common practice, no source).",
        asks(minimum=25, maximum=100),
    ] = 70
    headroom: Annotated[
        Decimal,
        "What a regulator needs above the voltage that it charges to, V. Default 1 (common "
        "practice, no source).",
        asks(minimum=0, maximum=20),
    ] = Decimal(1)
    fuse_within: Annotated[Size, "How far from the battery a fuse may sit, mm. Default 200."] = 200
