"""Cables and fuses: voltage drop, what a cable may carry, and the fuse that belongs between.

Sizes in mm² of flexible (class 5) plain copper; resistances are the largest that IEC 60228:2004
table 3 allows at 20 degrees Celsius, ohm per km. Class 5 at 50 mm² is a little better than class 2
there; that is the standard's own figure.

What a cable carries is BS 7671 table 4E1A: single-core, 90 degree thermosetting insulation,
clipped direct, two cables direct current, 30 degrees around. In a bundle every loaded cable counts,
those in parallel too: a circuit with two on each pole is a bundle of four by itself. A planning
aid: a licensed electrician decides.
"""

from __future__ import annotations

from decimal import Decimal

from attrs import field, frozen

from configurator.shapes.forms import form
from configurator.words import DOWN, LOSS

RESISTANCE: dict[Decimal, Decimal] = {
    Decimal(size): Decimal(ohms)
    for size, ohms in {
        "1.5": "13.3",
        "2.5": "7.98",
        "4": "4.95",
        "6": "3.30",
        "10": "1.91",
        "16": "1.21",
        "25": "0.780",
        "35": "0.554",
        "50": "0.386",
        "70": "0.272",
    }.items()
}
"""Ohm per km by mm²."""

AMPACITY: dict[Decimal, Decimal] = {
    size: Decimal(amps)
    for size, amps in zip(RESISTANCE, (25, 34, 46, 59, 81, 109, 143, 176, 228, 293), strict=True)
}
"""A by mm², before derating."""

_SMALL_FUSES = ("3", "5", "7.5", "10", "15", "20", "25", "30", "40", "50", "60", "70", "80")
_LARGE_FUSES = ("100", "125", "150", "175", "200", "225", "250", "300", "350", "400", "500")

FUSES = tuple(map(Decimal, (*_SMALL_FUSES, *_LARGE_FUSES)))
"""Fuse ratings available, A (common practice, no source)."""

_COEFFICIENT = Decimal("0.00393")
"""Copper's change of resistance per degree at 20 degrees Celsius, IEC 60287-1-1 table 1."""

INSULATION = 90
"""Degrees Celsius that the insulation stands, BS 7671 table 4E1A."""

_AROUND = 30
MOST_IN_PARALLEL = 2
"""Cables on each pole, at the most. Two share a fault between the fuses at their one end; more
would need fuses at both ends (IEC 60364-4-43 annex A, from memory)."""

PAIR = 2
"""Loaded cables of a circuit that runs alone: out and back."""


@frozen(repr=False)
class Laying:
    """How cables run.

    Attributes:
        ambient: degrees Celsius where they run.
        conductor: degrees Celsius of the conductor.
        grouped: loaded cables in one bundle, those of this circuit counted as one pair.
        apart: pairs in parallel run apart, see :func:`_loaded_cables`.
    """

    ambient: int = _AROUND
    conductor: int = 20
    grouped: int = PAIR
    apart: bool = False


_ALONE = Laying()
"""A circuit alone, as the tables have it."""


@form()
@frozen(repr=False)
class Cable:
    """A cable that will do.

    Attributes:
        size: mm² of one conductor.
        count: how many run in parallel on each pole.
        drop: voltage drop out and back, V.
        carries: A after derating, all in parallel together.
        loaded: loaded cables in its bundle, those in parallel counted.
        own_fuse: A of the fuse that each of several in parallel needs; None for a single one, and
            where no usual fuse lies between what each has to carry and what it can.
    """

    size: Decimal
    count: int
    drop: Decimal = field(metadata=LOSS)
    carries: Decimal = field(metadata=DOWN)
    loaded: int = PAIR
    own_fuse: Decimal | None = None


def conductor_drop(amps: Decimal, length: Decimal, resistance: Decimal) -> Decimal:
    """Voltage drop along a conductor: length and resistance per length in the same unit."""
    return amps * length * resistance


def warm_resistance(resistance: Decimal, celsius: Decimal | int) -> Decimal:
    """A resistance at 20 degrees, at another temperature of the conductor."""
    return resistance * (1 + _COEFFICIENT * (Decimal(celsius) - 20))


def two_way_drop(
    amps: Decimal, metres: Decimal, size: Decimal, celsius: Decimal | int = 20
) -> Decimal:
    """Voltage drop out and back over this many metres one way.

    Raises:
        KeyError: the size is not in the table.
    """
    resistance = warm_resistance(RESISTANCE[size], celsius) / 1000
    return conductor_drop(amps, 2 * metres, resistance)


def grouping_factor(cables: int) -> Decimal:
    """What is left of each cable's rating in a bundle: boat builders' practice, ABYC E-11.

    Args:
        cables: loaded cables in the bundle; a circuit alone has two.
    """
    steps = ((2, "1"), (3, "0.70"), (6, "0.60"), (24, "0.50"))
    return next((Decimal(factor) for most, factor in steps if cables <= most), Decimal("0.40"))


def _loaded_cables(grouped: int, count: int, apart: bool = False) -> int:
    """Loaded cables in a bundle when a circuit in it has several on each pole.

    Args:
        grouped: loaded cables in the bundle when the circuit has one on each pole.
        count: how many it has.
        apart: each pair of them runs by itself, more than twice the diameter of a cable from the
            next, where BS 7671 asks for no reduction (table 4C1, note; from memory).
    """
    return grouped if count == 1 or apart else max(PAIR, grouped) + PAIR * (count - 1)


def own_fuse(fuse: Decimal, amps: Decimal, count: int, each: Decimal) -> Decimal | None:
    """The fuse that each of several cables in parallel gets, A; None when no usual one will do.

    Its share of the circuit's fuse if the cable carries that, so that the circuit's blows first or
    with it; else the largest that the cable carries. Load, at most fuse, at most cable holds for
    each of them (AS/NZS 3000 clause 2.5.3, from memory).

    Args:
        fuse: of the circuit, A.
        amps: in use, all together.
        count: how many cables share it.
        each: A that one of them carries.
    """
    share = fuse_at_least(fuse / count)
    carried = [usual for usual in FUSES if usual <= each]
    own = share if share in carried else max(carried, default=None)
    return own if own is not None and own * count >= amps else None


def ampacity(size: Decimal, ambient: int = _AROUND, grouped: int = PAIR) -> Decimal:
    """What a cable carries where it is hot and among others, A.

    Heat is counted as the square root of what is left up to the insulation's 90 degrees (the usual
    law of cable standards; from memory). At 90 degrees and above it carries nothing.

    Raises:
        KeyError: the size is not in the table.
    """
    left = Decimal(max(0, INSULATION - ambient)) / (INSULATION - _AROUND)
    return AMPACITY[size] * left.sqrt() * grouping_factor(grouped)


def fuse_at_least(amps: Decimal) -> Decimal | None:
    """The smallest fuse available that carries the current; None when there is none."""
    return next((fuse for fuse in FUSES if fuse >= amps), None)


def smallest_cable(
    amps: Decimal,
    metres: Decimal,
    fuse: Decimal,
    volts: Decimal,
    percent: Decimal,
    laid: Laying = _ALONE,
) -> Cable | None:
    """The smallest cable that keeps the drop within a percentage and that the fuse protects.

    Two in parallel are tried when no single one in the table will do; None when even those do not.
    Each of them needs a fuse of its own that it carries.

    Args:
        amps: current in use.
        metres: one way.
        fuse: A; the cable carries at least this.
        volts: nominal voltage that the percentage is of.
        percent: largest drop.
        laid: how it runs.
    """
    for count in range(1, MOST_IN_PARALLEL + 1):
        for size in RESISTANCE:
            cable = cable_of(size, count, amps, metres, laid, fuse)
            keeps = 100 * cable.drop <= percent * volts
            protected = fuse <= cable.carries
            if keeps and protected and (count == 1 or cable.own_fuse is not None):
                return cable
    return None


def size_for_drop(
    amps: Decimal, metres: Decimal, volts: Decimal, percent: Decimal, conductor: int = 20
) -> Decimal | None:
    """The smallest single cable that keeps the drop within a percentage, mm²; None without one.

    Args:
        amps: current in use.
        metres: one way.
        volts: nominal voltage that the percentage is of.
        percent: largest drop.
        conductor: degrees Celsius of the conductor.
    """
    drops = ((size, two_way_drop(amps, metres, size, conductor)) for size in RESISTANCE)
    return next((size for size, drop in drops if 100 * drop <= percent * volts), None)


def size_for_fuse(fuse: Decimal, ambient: int = _AROUND, grouped: int = PAIR) -> Decimal | None:
    """The smallest single cable that a fuse protects where it runs, mm²; None without one."""
    carried = ((size, ampacity(size, ambient, grouped)) for size in AMPACITY)
    return next((size for size, amps in carried if fuse <= amps), None)


def cable_of(
    size: Decimal,
    count: int,
    amps: Decimal,
    metres: Decimal,
    laid: Laying = _ALONE,
    fuse: Decimal | None = None,
) -> Cable:
    """This many cables of a size, with their drop at a current and what they carry.

    Raises:
        KeyError: the size is not in the table.
    """
    drop = two_way_drop(amps / count, metres, size, laid.conductor)
    loaded = _loaded_cables(laid.grouped, count, laid.apart)
    each = ampacity(size, laid.ambient, loaded)
    own = own_fuse(fuse, amps, count, each) if fuse is not None and count > 1 else None
    return Cable(size, count, drop, count * each, loaded, own)
