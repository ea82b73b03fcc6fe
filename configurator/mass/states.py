"""Every mass of a selection in its place, axle loads, ratings and size on the road, as values.

Three states matter: as delivered (empty tanks and boxes, nobody aboard), fully loaded, and full
with a trailer. Masses kg, lengths mm, exact; x behind the front axle, y to the right of the centre
line, z above the tray floor. Everything is an estimate from catalogue figures.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from attrs import frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.vehicles import Ratings
from configurator.mass.axles import AxleLoads
from configurator.shapes.forms import form
from configurator.words import Text, left, nearest, text, to_mm, used

TOWING = "towing"
"""Id of the state with a trailer."""


_LOADS = {
    "gvm": (text("the vehicle"), text("the vehicle would weigh")),
    "front-axle": (text("the front axle"), text("the front axle would carry")),
    "rear-axle": (text("the rear axle"), text("the rear axle would carry")),
    "tow-ball": (text("the tow ball"), text("the tow ball would carry")),
    "gcm": (text("vehicle and trailer"), text("vehicle and trailer would weigh")),
}
"""What a sentence calls each load, and what it says of it."""

STATES = {
    "delivered": text("as delivered"),
    "full": text("fully loaded"),
    TOWING: text("fully loaded with a trailer"),
}
"""What each state is called."""


def load_words(subject: str, state: str, load: Text | Decimal) -> Text:
    """So much is on the vehicle or an axle; a clause."""
    would = _LOADS[subject][1]
    return text("{state}, {would} {load} kg", state=state, would=would, load=load)


def over_words(
    subject: str, state: str, load: Fraction, rating: Fraction, at_least: bool = False
) -> Text:
    """How much a load is more than its rating, kg; a clause."""
    kg = text("at least {kg}", kg=used(load)) if at_least else used(load)
    return text(
        "{load}, {over} kg more than the {rating} kg it is rated for",
        load=load_words(subject, state, kg),
        over=used(load - rating),
        rating=left(rating),
    )


def lifted_words(state: str) -> Text:
    """The front axle carries nothing; a clause."""
    return text("{state}, the front wheels would leave the ground", state=state)


def upgrade_words(title: str, rating: Fraction) -> Text:
    """What an upgrade would do; a clause."""
    known = {"title": title, "rating": left(rating)}
    return text("{title} would rate it at {rating} kg, once certified", **known)


NO_PICK = Pick("")
"""Stands in items that are no pick, such as fuel and people."""


@form(
    shown={"pick": str, "mass": nearest, "x": to_mm, "y": to_mm, "z": to_mm},
    values={"kind": ("part", "contents", "fluid", "fuel", "person", "tow-ball")},
)
@frozen(repr=False)
class PlacedMass:
    """One mass in its place.

    Attributes:
        kind: ``part``, ``contents``, ``fluid``, ``fuel``, ``person`` or ``tow-ball``.
        title: what it is.
        pick: ``choice=option``, or empty for what is no pick.
        mass: kg.
        x: behind the front axle.
        y: right of the centre line.
        z: above the tray floor.
        placed: its place is stated by the layout or the catalogue, not assumed.
    """

    kind: str
    title: str
    pick: Pick
    mass: Fraction
    x: Fraction
    y: Fraction
    z: Fraction
    placed: bool = True


@form(
    also="left",
    keys={"subject": "rating", "rating": "rated"},
    shown={"load": used, "rating": left, "left": left},
    values={"subject": ("gvm", "front-axle", "rear-axle", "gcm", "tow-ball")},
)
@frozen(repr=False)
class RatedLoad:
    """A load against its rating, kg.

    Attributes:
        subject: ``gvm``, ``front-axle``, ``rear-axle``, ``gcm`` or ``tow-ball``.
        load: on it, kg; negative for a front axle that is lifted: the rear axle then has it all.
        rating: what it may be.
    """

    subject: str
    load: Fraction
    rating: Fraction

    @property
    def title(self) -> str:
        """What a sentence calls it."""
        return _LOADS[self.subject][0]

    @property
    def left(self) -> Fraction:
        """What is left; negative when the rating is exceeded, all of it when the axle is lifted."""
        return self.rating - max(self.load, Fraction(0))


@form(
    hidden="loads bars",
    also="front rear total front_share lifted standing_bars",
    keys={"id": "state", "standing_bars": "bars"},
    shown={
        "front": used,
        "rear": used,
        "total": used,
        "front_share": nearest,
        "offset": to_mm,
        "left": used,
        "right": used,
    },
    values={"id": ("delivered", "full", "towing")},
)
@frozen(repr=False)
class LoadCase:
    """The vehicle in one state.

    Attributes:
        id: ``delivered``, ``full`` or ``towing``.
        title: what a sentence calls it.
        loads: on the axles.
        bars: loads against ratings.
        items: what counts in addition to the kerb mass.
        offset: centre of all mass right of the centre line, mm; the kerb mass counts as centred.
        left: added mass left of the centre line.
        right: added mass right of it.
    """

    id: str
    title: str
    loads: AxleLoads
    bars: tuple[RatedLoad, ...]
    items: tuple[PlacedMass, ...]
    offset: Fraction
    left: Fraction
    right: Fraction

    @property
    def front(self) -> Fraction | None:
        """On the front axle, kg; None when it is lifted."""
        return None if self.lifted else self.loads.front

    @property
    def rear(self) -> Fraction:
        """On the rear axle as the vehicle stands, kg: all of it when the front axle is lifted."""
        return self.loads.standing.rear

    @property
    def total(self) -> Fraction:
        """On both axles together, kg."""
        return self.loads.total

    @property
    def front_share(self) -> Fraction | None:
        """Per cent of it on the front axle; None when that is lifted."""
        return None if self.lifted else 100 * self.loads.front_share

    @property
    def lifted(self) -> bool:
        """Whether the front axle carries nothing: the vehicle cannot be driven, or tips."""
        return self.loads.lifted

    @property
    def standing_bars(self) -> tuple[RatedLoad, ...]:
        """Loads against ratings as the vehicle stands: an axle that is lifted has none."""
        return tuple(b for b in self.bars if b.subject != "front-axle" or b.load >= 0)

    def bar(self, subject: str) -> RatedLoad:
        """The bar of that rating.

        Raises:
            KeyError: the state has no such rating.
        """
        for bar in self.bars:
            if bar.subject == subject:
                return bar
        raise KeyError(subject)


@form(
    hidden="behind",
    shown={"download": used, "most_download": left, "rated_download": left, "heaviest": left},
)
@frozen(repr=False)
class Trailer:
    """What may be towed.

    Attributes:
        download: tow-ball download counted: as stated, or the most that every rating leaves room
            for, whole kg.
        stated: the download is the selection's own.
        most_download: the most that vehicle, axles and tow bar leave room for, in this layout,
            whole kg.
        rated_download: the lower rating of vehicle and tow bar.
        heaviest: the heaviest trailer that the ratings leave room for, kg; None when none is known.
        behind: the ball behind the rear axle, mm.
    """

    download: Fraction
    stated: bool
    most_download: Fraction
    rated_download: Fraction
    heaviest: Fraction | None
    behind: int


@form(hidden="least_width least_height", shown={"overhang": used, "overhang_limit": left})
@frozen(repr=False)
class Size:
    """Size on the road, mm; None where the catalogue or the picks do not tell.

    Attributes:
        overhang: tray and canopy behind the rear axle; None where neither reaches behind it.
        overhang_limit: longest overhang of a rigid vehicle.
        width: widest of vehicle, tray and spaces; None unless the vehicle's own is stated.
        height: highest of cab, spaces and what stands on the roof; None unless the cab's is stated
            and, with anything on the tray, its floor's too.
        least_width: widest of those that are known, and
        least_height: highest of those that are known.
    """

    overhang: Fraction | None
    overhang_limit: Fraction
    width: int | None
    height: int | None
    least_width: int | None
    least_height: int | None


@form(
    also="payload_left added_middle",
    shown={
        "payload": left,
        "payload_used": used,
        "payload_left": left,
        "added": used,
        "added_height": to_mm,
    },
)
@frozen(repr=False)
class MassPicture:
    """Mass and axle loads of a selection: masses and loads in kg, lengths in mm.

    Attributes:
        vehicle: title of the class of vehicle.
        wheelbase: from axle to axle, mm.
        kerb: kerb loads as the catalogue states them.
        ratings: what applies, upgrades counted.
        upgrades: titles of the picks that change the maker's ratings.
        states: as delivered, fully loaded and, with a tow bar, fully loaded with a trailer.
        added: mass of the parts and what is in them when full, without people and fuel.
        added_height: centre of that mass above the tray floor; None while there is none.
        size: on the road.
        trailer: what may be towed; None without a tow bar.
        payload: GVM less kerb mass with a full tank, kg.
        payload_used: what of it people, luggage and the parts take, kg.
        people: how many travel.
        seats: how many seats there are.
        assumed: titles of the parts whose place was assumed.
        unknown: titles of the parts whose mass the picks do not tell.
        convention: how people are counted, and where that comes from.
        cautions: what stands beside the figures wherever they are shown.
    """

    vehicle: str
    wheelbase: int
    kerb: AxleLoads
    ratings: Ratings
    upgrades: tuple[str, ...]
    states: tuple[LoadCase, ...]
    added: Fraction
    added_height: Fraction | None
    size: Size
    trailer: Trailer | None
    payload: Fraction
    payload_used: Fraction
    people: int
    seats: int
    assumed: tuple[str, ...]
    unknown: tuple[str, ...]
    convention: str
    cautions: tuple[str, ...]

    @property
    def added_middle(self) -> Decimal:
        """Added mass on the centre line, fully loaded: what makes left and right up to all."""
        full = self.state("full")
        return max(Decimal(0), used(self.added) - used(full.left) - used(full.right))

    @property
    def payload_left(self) -> Fraction:
        """What is left of the payload; negative when it is exceeded."""
        return self.payload - self.payload_used

    @property
    def left_towing(self) -> Fraction | None:
        """What is left with the download on the tow ball too; None where none is counted."""
        if self.trailer is None or not self.trailer.download:
            return None
        return self.payload_left - self.trailer.download

    @property
    def counted(self) -> tuple[LoadCase, ...]:
        """The states whose ratings stop a quote: with a trailer only where a download is stated.

        Where it is not, the download shown is what the ratings leave room for.
        """
        stated = self.trailer is not None and self.trailer.stated
        return tuple(state for state in self.states if state.id != TOWING or stated)

    def state(self, identity: str) -> LoadCase:
        """The state of that id.

        Raises:
            KeyError: there is no such state.
        """
        for state in self.states:
            if state.id == identity:
                return state
        raise KeyError(identity)
