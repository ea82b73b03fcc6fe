"""The mass and power pictures as they stand on paper: rows of exact numbers, rounded once.

Masses to 0.1 kg as :mod:`configurator.words` rounds them; figures of power as
:mod:`configurator.power.shown` has them.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction

from attrs import frozen

from configurator.mass.states import MassPicture, State
from configurator.power.picture import PowerPicture
from configurator.words import left, nearest, shown, text, used

__all__ = ["Fact", "MassRow", "MassTable", "mass_table", "power_facts"]

_TITLES = (
    ("gvm", text("Vehicle")),
    ("front-axle", text("Front axle")),
    ("rear-axle", text("Rear axle")),
    ("tow-ball", text("Tow ball")),
    ("gcm", text("With trailer")),
)


@frozen
class MassRow:
    """One rating and the loads against it, kg.

    Attributes:
        subject: ``gvm``, ``front-axle``, ``rear-axle``, ``tow-ball`` or ``gcm``.
        title: what the row is called, in English.
        rating: what is allowed.
        loads: in each state of the table; None where the state has no such load.
        left: what the heaviest of them leaves; negative when it is too much.
        percent: the heaviest load as a share of the rating, whole percent rounded up.
    """

    subject: str
    title: str
    rating: Decimal
    loads: tuple[Decimal | None, ...]
    left: Decimal
    percent: int


@frozen
class MassTable:
    """Loads against ratings, in the states that matter.

    A state with a trailer matters when somebody says how heavy the tow ball is; what may be towed
    otherwise is told in words.

    Attributes:
        states: titles of the states, in English.
        front_shares: percent of the mass on the front axle in each state.
        rows: the ratings.
        payload: what may be carried, people and luggage counted, kg; and
        payload_used: what is, travelling full.
        payload_left: what is left of it.
        overhang: behind the rear axle, mm, and its limit; None where it is not known.
        width: overall, mm, or None.
        height: overall, mm, or None.
        most_download: the most that may be on the tow ball, kg; None where nothing is towed, or
            where the download is stated.
        heaviest: the heaviest trailer, kg; None where nothing is towed.
        convention: how people are counted.
        cautions: what stands beside the figures.
    """

    states: tuple[str, ...]
    front_shares: tuple[Decimal, ...]
    rows: tuple[MassRow, ...]
    payload: Decimal
    payload_used: Decimal
    payload_left: Decimal
    overhang: tuple[Decimal, Decimal] | None
    width: int | None
    height: int | None
    most_download: Decimal | None
    heaviest: Decimal | None
    convention: str
    cautions: tuple[str, ...]


def mass_table(picture: MassPicture) -> MassTable:
    """The table of a mass picture."""
    trailer, size = picture.trailer, picture.size
    stated = trailer is not None and trailer.stated
    states = [s for s in picture.states if s.id != "towing" or stated]
    rows = [_row(subject, title, states) for subject, title in _TITLES]
    return MassTable(
        states=tuple(state.title for state in states),
        front_shares=tuple(nearest(100 * s.loads.front_share) for s in states),
        rows=tuple(row for row in rows if row is not None),
        payload=left(picture.payload),
        payload_used=used(picture.payload_used),
        payload_left=left(picture.payload_left),
        overhang=None
        if size.overhang is None
        else (used(size.overhang), left(size.overhang_limit)),
        width=size.width,
        height=size.height,
        most_download=None if trailer is None or stated else left(trailer.most_download),
        heaviest=None if trailer is None or trailer.heaviest is None else left(trailer.heaviest),
        convention=picture.convention,
        cautions=picture.cautions,
    )


def _row(subject: str, title: str, states: list[State]) -> MassRow | None:
    bars = [next((b for b in s.bars if b.subject == subject), None) for s in states]
    there = [bar for bar in bars if bar is not None]
    if not there:
        return None
    heaviest = max(there, key=lambda bar: bar.load)
    rating = heaviest.rating
    share = 100 * heaviest.load / rating if rating else Fraction(0)
    return MassRow(
        subject=subject,
        title=title,
        rating=left(rating),
        loads=tuple(None if bar is None else used(bar.load) for bar in bars),
        left=left(heaviest.left),
        percent=int(used(share, 0)),
    )


@frozen
class Fact:
    """One figure of the power summary.

    Attributes:
        words: what it is, in English.
        value: the figure; None for what has no end.
        unit: its unit, or empty.
    """

    words: str
    value: Decimal | None
    unit: str


def power_facts(picture: PowerPicture) -> tuple[Fact, ...]:
    """The power picture as a customer reads it; empty when nothing has to do with power.

    What the electrician needs, such as an inverter's currents, is on the wiring sheet.
    Figures are rounded as everywhere, by :mod:`configurator.power.shown`.
    """
    return tuple(_power_facts(shown(picture)))


def _power_facts(picture: PowerPicture) -> Iterator[Fact]:
    if picture.daily:
        yield Fact(text("Drawn a day"), picture.daily, "Ah")
    if picture.batteries:
        yield Fact(text("Usable in the battery"), picture.usable, "Ah")
    if picture.days_alone is not None:
        yield Fact(text("Days without charging"), picture.days_alone, "")
        if picture.solar_daily:
            yield Fact(text("Days with the sun only"), picture.days_sun, "")
        if picture.vehicle_daily:
            yield Fact(text("Days with driving only"), picture.days_driving, "")
    if picture.solar:
        yield Fact(text("From the sun a day"), picture.solar_daily, "Ah")
    if picture.vehicle_daily:
        yield Fact(text("From driving a day"), picture.vehicle_daily, "Ah")
    if picture.recharge_driving is not None:
        yield Fact(text("Driving from used up to full"), picture.recharge_driving, "h")
    if picture.recharge_mains is not None:
        yield Fact(text("Mains from used up to full"), picture.recharge_mains, "h")
