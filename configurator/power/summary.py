"""The power picture of a selection: what it draws a day, how long it lasts, what fills it again.

Ah at the nominal potential of the system, A, W, V, hours and days. A planning aid: weather, season
and habit decide how much is drawn and given, and licensed people decide how it is wired.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from attrs import frozen

from configurator.catalogue.model import Battery, Catalogue, Inverter, Load, Option
from configurator.catalogue.settings import Place, PowerSettings
from configurator.fit.layout import Layout
from configurator.power import energy
from configurator.power.charge_curve import Curve, charge_curve, evening, morning, sunlight
from configurator.power.circuits import CircuitRow, circuits
from configurator.selection.picks import Selection, known_picks

__all__ = ["CAUTION", "Consumer", "InverterState", "PowerPicture", "power_picture"]

CAUTION = (
    "Estimate from catalogue figures: what is drawn and what the sun gives depend on weather, "
    "season and habit. A planning aid for a licensed electrician, who decides with the makers' "
    "instructions and local rules."
)

_MAINS = (
    "230 V wiring and its connection to a vehicle are for a licensed electrician; an inverter is "
    "no less dangerous than a socket at home."
)
_LITHIUM = (
    "Where a lithium battery may sit, how it is enclosed and vented and what protects it depend on "
    "local rules and on its maker; the electrician decides. Do not charge it below freezing point."
)
_LEAD = (
    "A lead-acid battery may give off gas while it is charged: keep its vents open to the outside, "
    "as its maker asks. The last part of a charge takes hours more than the sum says."
)

_COEFFICIENT = Decimal("-0.004")
_HOT_CELLS = Decimal(50)
_DAY = Decimal(24)


@frozen
class Consumer:
    """What draws power.

    Attributes:
        pick: ``choice=option``.
        title: its title.
        count: how many.
        amps: from the battery while it runs, all of them, A.
        watts: of one while it runs, where it runs on 230 V; else None.
        surge: starting W of one on 230 V.
        hours: hours a day that it is on.
        daily: Ah a day, all of them.
    """

    pick: str
    title: str
    count: int
    amps: Decimal
    watts: Decimal | None
    surge: Decimal | None
    hours: Decimal
    daily: Decimal


@frozen
class InverterState:
    """The inverter against its loads and the battery.

    Attributes:
        title: its title.
        watts: continuous.
        surge: at the start, or None.
        load: W of everything on 230 V at once.
        largest: W of the largest single load.
        surge_needed: W when the worst of them starts while the others run.
        nominal: A from the battery at full power and nominal potential.
        low: A at full power and low potential.
    """

    title: str
    watts: Decimal
    surge: Decimal | None
    load: Decimal
    largest: Decimal
    surge_needed: Decimal
    nominal: Decimal
    low: Decimal


@frozen
class PowerPicture:
    """Power of a selection.

    Attributes:
        volts: nominal potential.
        place: title of the place whose sun counts, or empty.
        sun: peak sun hours a day there; None when the catalogue has no place.
        sun_source: where that figure comes from.
        season: ``summer``, ``winter`` or ``year``.
        driving: hours driven a day.
        consumers: what draws, in the catalogue's order.
        idle: Ah a day that the inverter itself draws while something on 230 V runs.
        daily: Ah a day in all.
        average_rate: over how many hours the batteries would go at this use; None without.
        batteries: titles of the batteries with their number.
        capacity: rated Ah.
        usable: Ah that may be used.
        discharge: continuous A, and
        peak: A at the most, of all batteries; 0 without.
        charge_limit: A that the batteries take.
        solar: rated W.
        solar_daily: Ah a day from the sun.
        solar_share: of the daily use, or None when nothing is used.
        vehicle_amps: A of the vehicle's charger into the batteries.
        vehicle_daily: Ah a day from driving.
        mains_amps: A of the mains charger into the batteries.
        days_alone: days without any charging; None without a battery or a draw.
        days_sun: days with the sun only; None when that has no end.
        days_driving: days with driving only; None when that has no end.
        recharge_driving: hours of driving from used up to full; None without.
        recharge_mains: hours on mains power from used up to full; None without.
        inverter: the inverter, if any.
        worst: A from the batteries with everything on at once, at nominal potential.
        worst_low: the same with the inverter's share at low potential.
        worst_hours: hours that what may be used lasts then; None without.
        battery_needed: rated Ah of the same kind for the days that the shop aims at; 0 without use.
        solar_needed: W that cover the day, or None without sun.
        array_amps: A that those panels give in full sun; None without sun.
        panel_volts: rated potential that panels need to charge when hot.
        curves: courses of charge over three days; none without a battery.
        circuits: the electrician's table.
        cautions: what stands beside the figures wherever they are shown.
    """

    volts: Decimal
    place: str
    sun: Decimal | None
    sun_source: str
    season: str
    driving: Decimal
    consumers: tuple[Consumer, ...]
    idle: Decimal
    daily: Decimal
    average_rate: Decimal | None
    batteries: tuple[str, ...]
    capacity: Decimal
    usable: Decimal
    discharge: Decimal
    peak: Decimal
    charge_limit: Decimal
    solar: Decimal
    solar_daily: Decimal
    solar_share: Decimal | None
    vehicle_amps: Decimal
    vehicle_daily: Decimal
    mains_amps: Decimal
    days_alone: Decimal | None
    days_sun: Decimal | None
    days_driving: Decimal | None
    recharge_driving: Decimal | None
    recharge_mains: Decimal | None
    inverter: InverterState | None
    worst: Decimal
    worst_low: Decimal
    worst_hours: Decimal | None
    battery_needed: Decimal
    solar_needed: Decimal | None
    array_amps: Decimal | None
    panel_volts: Decimal
    curves: tuple[Curve, ...]
    circuits: tuple[CircuitRow, ...]
    cautions: tuple[str, ...]


def power_picture(
    catalogue: Catalogue, selection: Selection, layout: Layout | None
) -> PowerPicture:
    """The power picture of the picks, complete or not.

    Args:
        catalogue: the shop's catalogue.
        selection: picks; place, season and driving are in ``selection.travel``.
        layout: where the units sit, for cables whose run is not stated.
    """
    return _Picture(catalogue, selection, layout).made()


class _Picture:
    """The picture in the making."""

    def __init__(self, catalogue: Catalogue, selection: Selection, layout: Layout | None) -> None:
        self.catalogue, self.selection, self.layout = catalogue, selection, layout
        self.settings: PowerSettings = catalogue.power
        travel = selection.travel
        self.season = travel.season or self.settings.season
        self.driving = self.settings.driving if travel.driving is None else travel.driving
        self.place = self._place(travel.place or self.settings.place)
        self.picks = [(c, o, n) for c, o, n in known_picks(catalogue, selection) if o.power]
        self.batteries = [
            (option, option.power.battery, n)
            for _, option, n in self.picks
            if option.power is not None and option.power.battery is not None
        ]
        self.inverter = self._inverter()
        self.consumers = tuple(self._consumers())

    def _place(self, wanted: str) -> Place | None:
        places = {place.id: place for place in self.settings.places}
        first = self.settings.places[0] if self.settings.places else None
        return places.get(wanted, first)

    def _inverter(self) -> tuple[Option, Inverter] | None:
        """The largest: inverters do not share their loads."""
        found = [
            (option, option.power.inverter)
            for _, option, _ in self.picks
            if option.power is not None and option.power.inverter is not None
        ]
        return max(found, key=lambda one: (one[1].watts, one[0].id), default=None)

    def _consumers(self) -> Iterator[Consumer]:
        volts = self.settings.volts
        efficiency = self.inverter[1].efficiency if self.inverter else Decimal(1)
        for choice, option, count in self.picks:
            load = option.power.load if option.power else None
            if load is None:
                continue
            factor = {"summer": load.summer, "winter": load.winter}.get(self.season, Decimal(1))
            hours = load.hours * load.duty * factor
            if load.amps is not None and not load.mains:
                amps = load.amps
                daily = energy.amp_hours(load.amps, load.duty, load.hours, factor)
            else:
                through = efficiency if load.mains else Decimal(1)
                amps = energy.inverter_current(_watts(load, volts), volts, through)
                daily = energy.mains_amp_hours(_watts(load, volts), hours, volts, through)
            yield Consumer(
                pick=f"{choice.id}={option.id}",
                title=option.title,
                count=count,
                amps=count * amps,
                watts=_watts(load, volts) if load.mains else None,
                surge=load.surge if load.mains else None,
                hours=load.hours,
                daily=count * daily,
            )

    def made(self) -> PowerPicture:
        """The finished picture."""
        settings = self.settings
        idle = self._idle()
        daily = sum((c.daily for c in self.consumers), idle)
        capacity = sum((n * b.capacity for _, b, n in self.batteries), Decimal(0))
        available = self._usable(daily / _DAY)
        solar, solar_daily = self._solar()
        limit = sum((n * b.charge for _, b, n in self.batteries), Decimal(0))
        vehicle, mains = self._charger("vehicle_charger"), self._charger("mains_charger")
        vehicle_amps, mains_amps = min(vehicle, limit), min(mains, limit)
        vehicle_daily = vehicle_amps * self.driving * settings.charging
        worst, worst_low = self._worst()
        sun = self._sun()
        needed = self._solar_needed(daily, sun)
        return PowerPicture(
            volts=settings.volts,
            place=self.place.title if self.place else "",
            sun=sun,
            sun_source=self.place.source if self.place else "",
            season=self.season,
            driving=self.driving,
            consumers=self.consumers,
            idle=idle,
            daily=daily,
            average_rate=self._average_rate(),
            batteries=tuple(_counted(option.title, n) for option, _, n in self.batteries),
            capacity=capacity,
            usable=available,
            discharge=sum((n * b.discharge for _, b, n in self.batteries), Decimal(0)),
            peak=sum((n * (b.peak or b.discharge) for _, b, n in self.batteries), Decimal(0)),
            charge_limit=limit,
            solar=solar,
            solar_daily=solar_daily,
            solar_share=solar_daily / daily if daily else None,
            vehicle_amps=vehicle_amps,
            vehicle_daily=vehicle_daily,
            mains_amps=mains_amps,
            days_alone=self._days(available, daily, Decimal(0)),
            days_sun=self._days(available, daily, solar_daily),
            days_driving=self._days(available, daily, vehicle_daily),
            recharge_driving=self._recharge(available, vehicle_amps),
            recharge_mains=self._recharge(available, mains_amps),
            inverter=self._inverter_state(),
            worst=worst,
            worst_low=worst_low,
            worst_hours=self._usable(worst) / worst if worst and self.batteries else None,
            battery_needed=self._battery_needed(daily),
            solar_needed=needed,
            array_amps=self._array_amps(daily, sun),
            panel_volts=energy.panel_volts(settings.volts, _COEFFICIENT, _HOT_CELLS),
            curves=tuple(self._curves(capacity, available, idle, solar_daily, vehicle_daily)),
            circuits=circuits(self.catalogue, self.selection, self.layout),
            cautions=tuple(self._cautions()),
        )

    def _idle(self) -> Decimal:
        """The inverter's own draw during the hours that something on 230 V runs."""
        if self.inverter is None:
            return Decimal(0)
        on_mains = sum((c.hours * c.count for c in self.consumers if c.watts), Decimal(0))
        return self.inverter[1].idle * min(_DAY, on_mains)

    def _usable(self, amps: Decimal) -> Decimal:
        """Ah that may be used at a current, shared between the batteries by their capacity."""
        capacity = sum((n * b.capacity for _, b, n in self.batteries), Decimal(0))
        return sum(
            (
                energy.usable(
                    n * _delivered(battery, amps * battery.capacity / capacity), battery.usable
                )
                for _, battery, n in self.batteries
            ),
            Decimal(0),
        )

    def _average_rate(self) -> Decimal | None:
        """By the mean running time, each consumer weighted by its current."""
        amps = sum((c.amps for c in self.consumers), Decimal(0))
        if not self.batteries or not amps:
            return None
        hours = sum((c.daily for c in self.consumers), Decimal(0)) / amps
        depth = max(b.usable for _, b, _ in self.batteries)
        return energy.discharge_rate(hours, self.settings.days, depth)

    def _sun(self) -> Decimal | None:
        if self.place is None:
            return None
        hours = {"summer": self.place.summer, "winter": self.place.winter}
        return hours.get(self.season, self.place.year)

    def _solar(self) -> tuple[Decimal, Decimal]:
        """Rated W of all panels, and Ah a day from them."""
        sun = self._sun() or Decimal(0)
        watts = daily = Decimal(0)
        for _, option, n in self.picks:
            solar = option.power.solar if option.power else None
            if solar is not None:
                watts += n * solar.watts
                daily += n * energy.solar_amp_hours(
                    solar.watts, sun, solar.derate, self.settings.volts
                )
        return watts, daily

    def _derate(self) -> Decimal:
        """The share of their rated power that the panels picked, or the catalogue's, deliver."""
        picked = [o.power.solar for _, o, _ in self.picks if o.power and o.power.solar]
        every = [
            o.power.solar
            for choice in self.catalogue.by_id.values()
            for o in choice.options
            if o.power and o.power.solar
        ]
        shares = [solar.derate for solar in (picked or every) if solar.derate > 0]
        return min(shares, default=Decimal(1))

    def _solar_needed(self, daily: Decimal, sun: Decimal | None) -> Decimal | None:
        if not sun:
            return None
        return energy.solar_watts(daily, self.settings.volts, sun, self._derate())

    def _array_amps(self, daily: Decimal, sun: Decimal | None) -> Decimal | None:
        if not sun:
            return None
        volts, derate = self.settings.volts, self._derate()
        array = energy.array_current(daily * volts, Decimal(1), volts, sun)
        return energy.panel_current(array, derate)

    def _charger(self, kind: str) -> Decimal:
        found = ((getattr(option.power, kind), n) for _, option, n in self.picks)
        return sum((n * charger.amps for charger, n in found if charger is not None), Decimal(0))

    def _days(self, available: Decimal, daily: Decimal, gained: Decimal) -> Decimal | None:
        if not self.batteries or not daily:
            return None
        return energy.days_of_stay(available, daily, gained)

    def _recharge(self, available: Decimal, amps: Decimal) -> Decimal | None:
        if not available or not amps:
            return None
        return energy.recharge_hours(available, amps, self.settings.charging)

    def _inverter_state(self) -> InverterState | None:
        if self.inverter is None:
            return None
        option, inverter = self.inverter
        on_mains = [
            (c.watts, c.surge or c.watts)
            for c in self.consumers
            if c.watts is not None
            for _ in range(c.count)
        ]
        settings = self.settings
        full = (inverter.watts, inverter.efficiency)
        return InverterState(
            title=option.title,
            watts=inverter.watts,
            surge=inverter.surge,
            load=sum((watts for watts, _ in on_mains), Decimal(0)),
            largest=max((watts for watts, _ in on_mains), default=Decimal(0)),
            surge_needed=energy.surge_needed(on_mains),
            nominal=energy.inverter_current(full[0], settings.volts, full[1]),
            low=energy.inverter_current(full[0], settings.low_volts, full[1]),
        )

    def _worst(self) -> tuple[Decimal, Decimal]:
        """A with everything on at once, at nominal and with the inverter at low potential."""
        direct = sum((c.amps for c in self.consumers if c.watts is None), Decimal(0))
        on_mains = sum((c.amps for c in self.consumers if c.watts is not None), Decimal(0))
        lower = self.settings.volts / self.settings.low_volts
        return direct + on_mains, direct + on_mains * lower

    def _battery_needed(self, daily: Decimal) -> Decimal:
        depth = min((b.usable for _, b, _ in self.batteries), default=Decimal("0.5"))
        volts, days = self.settings.volts, self.settings.days
        return energy.rated_capacity(energy.required_output(daily * volts, days, volts), depth)

    def _curves(
        self,
        capacity: Decimal,
        available: Decimal,
        idle: Decimal,
        solar: Decimal,
        vehicle: Decimal,
    ) -> Iterator[Curve]:
        if not self.batteries:
            return
        floor = capacity - available
        courses = [evening(c.daily, min(c.hours, _DAY)) for c in self.consumers]
        if idle:
            courses.append(evening(idle, idle / self.inverter[1].idle if self.inverter else _DAY))
        drawn = [sum(hour, Decimal(0)) for hour in zip(*courses, strict=True)] or [Decimal(0)] * 24
        sun, drive = sunlight(solar), morning(vehicle, self.driving)
        both = [a + b for a, b in zip(sun, drive, strict=True)]
        yield charge_curve("without charging", capacity, floor, drawn, [Decimal(0)] * 24)
        if solar:
            yield charge_curve("with the sun", capacity, floor, drawn, sun)
        if vehicle:
            yield charge_curve("with driving", capacity, floor, drawn, drive)
        if solar and vehicle:
            yield charge_curve("with sun and driving", capacity, floor, drawn, both)

    def _cautions(self) -> Iterator[str]:
        yield CAUTION
        chemistries = {battery.chemistry for _, battery, _ in self.batteries}
        if self._charger("mains_charger") or self.inverter or any(c.watts for c in self.consumers):
            yield _MAINS
        if "lfp" in chemistries:
            yield _LITHIUM
        if "agm" in chemistries:
            yield _LEAD


def _watts(load: Load, volts: Decimal) -> Decimal:
    if load.watts is not None:
        return load.watts
    return (load.amps or Decimal(0)) * volts


def _delivered(battery: Battery, amps: Decimal) -> Decimal:
    """Ah that one battery gives at a current; never more than it is rated for."""
    if battery.peukert == 1 or amps <= battery.capacity / battery.rated_hours:
        return battery.capacity
    hours = energy.discharge_time(battery.capacity, battery.rated_hours, amps, battery.peukert)
    return amps * hours


def _counted(title: str, count: int) -> str:
    return title if count == 1 else f"{count} x {title}"
