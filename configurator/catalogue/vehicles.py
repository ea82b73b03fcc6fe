"""Vehicles and their ratings, and how a shop has axle loads calculated; kg and mm."""

from decimal import Decimal
from typing import Annotated

from attrs import frozen

from configurator.catalogue.fields import (
    Coordinate,
    ForPeople,
    Mm,
    NotNegative,
    Positive,
    Record,
    Share,
    ShareFrom0,
    Size,
)
from configurator.shapes.schema import asks

RATINGS = ("gvm", "front-axle", "rear-axle", "gcm", "tow-ball", "overhang")
"""What a named override may override, in addition to limits on mass."""


@frozen(repr=False, eq=False)
class Kerb(Record):
    """Kerb mass on each axle, kg, and the litres of fuel in it; None for a full tank."""

    front: Annotated[Positive, "Kg on the front axle."]
    rear: Annotated[Positive, "Kg on the rear axle."]
    fuel: Annotated[
        NotNegative | None,
        "Litres of fuel in these figures; left out, a full tank. 10 for figures that are tare "
        "mass.",
    ] = None


@frozen(repr=False, eq=False)
class SeatRow(Record):
    """A row of seats: mm behind the front axle, and how many."""

    x: Annotated[Mm, "Seating position behind the front axle, mm."]
    count: Annotated[int, "Seats in the row.", asks(minimum=1, maximum=9)]


@frozen(repr=False, eq=False)
class Fuel(Record):
    """A fuel tank: litres, mm behind the front axle, kg per litre."""

    litres: Annotated[Positive, "Capacity, litres."]
    x: Annotated[Mm, "Centre behind the front axle, mm."]
    density: Annotated[
        Decimal, "Kg per litre; no motor fuel is as heavy as water.", asks(minimum=0.4, maximum=1)
    ]


@frozen(repr=False, eq=False)
class Outline(Record):
    """How the vehicle looks from the side, for its picture only; mm.

    x behind the front axle, heights above the ground. A picture without it shows no cab or wheels.
    """

    front: Annotated[Size, "Front end before the front axle, mm."]
    tyre: Annotated[Size, "Outside diameter of the tyres, mm."]
    sill: Annotated[Size, "Underside of the cab above the ground, mm."]
    nose: Annotated[Size, "Front edge of the bonnet above the ground, mm."]
    bonnet: Annotated[Size, "Foot of the windscreen above the ground, mm."]
    windscreen: Annotated[Coordinate, "Foot of the windscreen behind the front axle, mm."]
    roof: Annotated[Coordinate, "Front end of the cab roof behind the front axle, mm."]
    frame: Annotated[
        Size | None, "Rear end of the frame under the tray behind the front axle, mm."
    ] = None
    doors: Annotated[
        tuple[Coordinate, ...],
        "Joints of the doors behind the front axle, from the front, mm: of two doors three.",
        asks(maxItems=5),
    ] = ()


@frozen(repr=False, eq=False)
class Vehicle(Record):
    """Maker's figures for a class of vehicle: kg, and mm behind the front axle."""

    kerb: Annotated[Kerb, "Kerb mass as cab-chassis, kg on each axle."]
    wheelbase: Annotated[Size, "Mm."]
    gvm: Annotated[Positive, "Gross vehicle mass, kg."]
    front_axle: Annotated[Positive, "Front axle rating, kg."]
    rear_axle: Annotated[Positive, "Rear axle rating, kg."]
    cab_back: Annotated[Size, "Back of the cab behind the front axle, mm."]
    tray_front: Annotated[Size, "Front end of a tray behind the front axle, mm."]
    seats: Annotated[tuple[SeatRow, ...], "Rows of seats.", asks(minItems=1)]
    gcm: Annotated[Positive | None, "Gross combination mass, kg."] = None
    towing: Annotated[Positive | None, "Rated braked towing capacity, kg."] = None
    tow_ball: Annotated[Positive | None, "Largest tow-ball download, kg."] = None
    tray_floor: Annotated[Size | None, "Tray floor above the ground, mm."] = None
    cab_height: Annotated[Size | None, "Cab roof above the ground, mm."] = None
    overall_width: Annotated[Size | None, "Widest point of the vehicle without mirrors, mm."] = None
    fuel: Annotated[Fuel | None, "Fuel tank."] = None
    outline: Annotated[
        Outline | None, "How it looks from the side, for its picture; it takes a cab-height too."
    ] = None

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


@frozen(repr=False, eq=False)
class Ratings(Record):
    """Ratings that an upgrade puts in place of the vehicle's, kg; None leaves the vehicle's."""

    gvm: Annotated[Positive | None, "Gross vehicle mass, kg."] = None
    front_axle: Annotated[Positive | None, "Front axle rating, kg."] = None
    rear_axle: Annotated[Positive | None, "Rear axle rating, kg."] = None
    gcm: Annotated[Positive | None, "Gross combination mass, kg."] = None


@frozen(repr=False, eq=False)
class Hitch(Record):
    """A tow bar: how far its ball sits behind the rear axle (mm), and its ratings (kg)."""

    behind: Annotated[Mm, "Tow ball behind the rear axle, mm."]
    towing: Annotated[Positive, "Braked towing rating of the bar, kg."]
    download: Annotated[Positive, "Largest tow-ball download of the bar, kg."]


@frozen(repr=False, eq=False)
class TrayPart(Record):
    """What one option says of the tray's outside size, mm."""

    length: Annotated[Size | None, "Outside length along the vehicle, mm."] = None
    width: Annotated[Size | None, "Outside width across the vehicle, mm."] = None
    depth: Annotated[
        Size | None, "From the floor down to the underside of its frame, mm; for pictures."
    ] = None
    sides: Annotated[Size | None, "Its sides above the floor, mm; for pictures."] = None
    headboard: Annotated[Size | None, "Its headboard above the floor, mm; for pictures."] = None


@frozen(repr=False, eq=False)
class MassSettings(Record):
    """How the mass picture is calculated."""

    people: Annotated[
        int,
        "How many travel when a selection does not say. Default 2.",
        asks(minimum=1, maximum=20),
    ] = 2
    person: Annotated[
        Decimal, "Mass of a person at the seat, kg. Default 75.", asks(minimum=0, maximum=500)
    ] = Decimal(75)
    luggage: Annotated[
        Decimal,
        "What each brings along, counted at the seat, kg. Default 0.",
        asks(minimum=0, maximum=500),
    ] = Decimal(0)
    source: Annotated[str, "Where that convention comes from, for the papers.", ForPeople(300)] = (
        "common practice; local rules may differ"
    )
    caution_at: Annotated[
        Share, "Share of a rating from which it is called close. Default 0.95."
    ] = Decimal("0.95")
    front_share: Annotated[
        ShareFrom0,
        "Least share of the total mass that should stand on the front axle. Default 0.30.",
    ] = Decimal("0.30")
    front_share_towing: Annotated[ShareFrom0, "The same with a trailer on. Default 0.20."] = (
        Decimal("0.20")
    )
    offset: Annotated[
        Mm,
        "How far the centre of all mass may be off the centre line before it is said, mm. "
        "Default 40.",
    ] = 40
    fuel_delivered: Annotated[
        NotNegative, "Fuel in the tank on collection, litres. Default 10."
    ] = Decimal(10)

    @property
    def each(self) -> Decimal:
        """A person with luggage, kg."""
        return self.person + self.luggage


def people_aboard(vehicle: Vehicle, people: int | None, settings: MassSettings) -> tuple[int, int]:
    """How many travel, those that the catalogue counts where nobody says; and the seats."""
    seats = sum(row.count for row in vehicle.seats)
    return people or min(settings.people, seats), seats
