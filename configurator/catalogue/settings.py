"""A shop's settings for its papers and the mass and power pictures, and what only they read.

Everything has a default, so that a catalogue without a word about it still gets both pictures.
Masses kg, lengths mm, currents A, potentials V, temperatures degrees Celsius.
"""

from __future__ import annotations

from decimal import Decimal

from attrs import field, frozen

from configurator.catalogue.record import Record
from configurator.errors import NOWHERE, Location

__all__ = [
    "RATINGS",
    "SEASONS",
    "Fixings",
    "Hitch",
    "Logo",
    "MassSettings",
    "PaperSettings",
    "Place",
    "PowerSettings",
    "Ratings",
    "TrayPart",
]

RATINGS = ("gvm", "front-axle", "rear-axle", "gcm", "tow-ball", "overhang")
"""What a named override may let pass, besides limits on mass."""

SEASONS = ("summer", "winter", "year")
"""The seasons that a picture can be asked for; ``year`` is the mean of all of it."""


@frozen(repr=False)
class Logo(Record):
    """The shop's logo.

    Attributes:
        file: name of a PNG, JPEG or SVG file beside the catalogue.
        text: what it shows, for those who cannot see it; empty for the shop's name.
    """

    file: str
    text: str = ""
    at: Location = field(default=NOWHERE, eq=False, repr=False, kw_only=True)


@frozen(repr=False)
class PaperSettings(Record):
    """How the shop's papers look, unless something else is asked for.

    Attributes:
        page: ``A4`` or ``Letter``.
        language: language and country of words, numbers and days, such as ``en-AU``.
        logo: the picture at the head of every paper, if any.
    """

    page: str = "A4"
    language: str = "en-AU"
    logo: Logo | None = None
    at: Location = field(default=NOWHERE, eq=False, repr=False, kw_only=True)


@frozen(repr=False)
class Ratings(Record):
    """Ratings that an upgrade puts in place of the vehicle's, kg; None leaves the vehicle's."""

    gvm: Decimal | None = None
    front_axle: Decimal | None = None
    rear_axle: Decimal | None = None
    gcm: Decimal | None = None


@frozen(repr=False)
class Hitch(Record):
    """A tow bar: how far its ball sits behind the rear axle (mm), and its ratings (kg)."""

    behind: int
    towing: Decimal
    download: Decimal


@frozen(repr=False)
class TrayPart(Record):
    """What one option says of the tray's outside size, mm."""

    length: int | None = None
    width: int | None = None


@frozen(repr=False)
class Fixings(Record):
    """What holds a unit down: how many fixings, and the working load of each, N."""

    count: int
    each: Decimal


@frozen(repr=False)
class MassSettings(Record):
    """How the mass picture is worked out.

    Attributes:
        people: how many travel when a selection does not say.
        person: mass of one, at the seat.
        luggage: what each brings along, counted at the seat.
        source: where the convention comes from, for the papers.
        caution_at: share of a rating from which it is called close.
        front_share: least share of the total that should stand on the front axle.
        front_share_towing: the same with a trailer.
        offset: how far the centre of all mass may be from the centre line before it is said, mm.
        fuel_delivered: fuel in the tank on collection, litres.
    """

    people: int = 2
    person: Decimal = Decimal(75)
    luggage: Decimal = Decimal(0)
    source: str = (
        "75 kg a person at the seat, as in Regulation (EU) 1230/2012; local rules may differ"
    )
    caution_at: Decimal = Decimal("0.95")
    front_share: Decimal = Decimal("0.30")
    front_share_towing: Decimal = Decimal("0.20")
    offset: int = 40
    fuel_delivered: Decimal = Decimal(10)


@frozen(repr=False)
class Place(Record):
    """Peak sun hours a day at a place, flat panels, by season (kWh/m2 a day, numerically)."""

    id: str
    title: str
    year: Decimal
    summer: Decimal
    winter: Decimal
    source: str = ""
    at: Location = field(default=NOWHERE, eq=False, repr=False, kw_only=True)


@frozen(repr=False)
class PowerSettings(Record):
    """How the power picture is worked out.

    Attributes:
        volts: nominal potential of the system.
        low_volts: potential at which the inverter works hardest.
        places: places with their peak sun hours.
        place: id of the place when a selection does not say; empty for the first.
        season: ``summer``, ``winter`` or ``year`` when a selection does not say.
        driving: hours driven a day when a selection does not say.
        days: days of stay without charging that the shop aims at.
        charging: share of the charge that the battery keeps.
        ambient: where cables run.
        engine_bay: where the cable from the starter battery runs, at its hottest; what ISO 10133
            counts with in engine rooms (from memory).
        conductor: temperature of the conductors for the voltage drop, at least; where it is hotter
            around them, they are as hot as that.
        grouped: how many loaded cables run in one bundle, where a circuit does not say; the default
            is a cautious one, the pairs of three circuits.
        drop: largest drop from the battery to a load, all cables together, percent; extra-low
            voltage in AS/NZS 3000 clause 7.5.7 (from memory).
        hot_cells: cells of a panel in the sun on a hot roof: 40 degrees in the shade and 30 above
            it, as panels' nominal operating temperature has it (common practice, no source).
        headroom: that a regulator needs above the potential that it charges to, V (common
            practice, no source).
        fuse_within: how far from the battery a fuse may sit, mm.
    """

    volts: Decimal = Decimal(12)
    low_volts: Decimal = Decimal("10.5")
    places: tuple[Place, ...] = ()
    place: str = ""
    season: str = "year"
    driving: Decimal = Decimal(0)
    days: Decimal = Decimal(2)
    charging: Decimal = Decimal("0.95")
    ambient: int = 40
    engine_bay: int = 60
    conductor: int = 40
    grouped: int = 6
    drop: Decimal = Decimal(10)
    hot_cells: int = 70
    headroom: Decimal = Decimal(1)
    fuse_within: int = 200
