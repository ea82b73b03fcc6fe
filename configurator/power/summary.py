"""The power of a selection calculated: daily use, how long the battery lasts, what recharges it.

Ah at the nominal voltage of the system, A, W, V, hours and days. A planning aid: weather, season
and habit decide how much is drawn and given, and licensed people decide how it is wired.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from decimal import Decimal

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Option
from configurator.catalogue.power import Battery, Inverter
from configurator.fit.layout import Layout
from configurator.power import energy
from configurator.power.circuits import STORE, circuits, full_current
from configurator.power.energy import Curve, charge_curve, evening, morning, sunlight
from configurator.power.picture import Consumer, InverterState, PanelState, PowerPicture
from configurator.selection.resolved import Resolved, once
from configurator.words import several, text

CAUTION = text(
    "Estimate from catalogue figures: what is drawn and what the sun gives depend on weather, "
    "season and habit. A planning aid for a licensed electrician, who decides with the makers' "
    "instructions and local rules."
)

_MAINS = text(
    "230 V wiring and its connection to a vehicle are for a licensed electrician; an inverter is "
    "no less dangerous than a socket at home."
)
_LITHIUM = text(
    "Where a lithium battery may sit, how it is enclosed and vented and what protects it depend "
    "on local rules and on its maker; the electrician decides. Do not charge it below freezing "
    "point."
)
_LEAD = text(
    "A lead-acid battery may give off gas while it is charged: keep its vents open to the "
    "outside, as its maker asks. The last part of a charge takes hours longer than calculated."
)

_COEFFICIENT = Decimal("-0.4")
"""Per cent of a panel's voltage a degree, where none is picked; as in sizing examples."""

_NOTHING, _HALF, _DAY = Decimal(0), Decimal("0.5"), Decimal(24)


@once
def power_picture(build: Resolved, layout: Layout | None) -> PowerPicture:
    """The power picture of the picks, complete or not.

    The layout tells how long those cables are whose run is not stated.
    """
    return _PowerDraft(build, layout).made()


def _sum(figures: Iterable[Decimal]) -> Decimal:
    return sum(figures, _NOTHING)


class _PowerDraft:
    """The picture in the making."""

    def __init__(self, build: Resolved, layout: Layout | None) -> None:
        self.build, self.rows = build, circuits(build, layout)
        self.settings, travel = build.catalogue.power, build.selection.travel
        self.season = travel.season or self.settings.season
        self.driving = self.settings.driving if travel.driving is None else travel.driving
        places = {place.id: place for place in self.settings.places}
        first = next(iter(self.settings.places), None)
        self.place = places.get(travel.place or self.settings.place, first)
        self.sun: Decimal | None = getattr(self.place, self.season, None)
        self.parts = [(c, o, n, o.power) for c, o, n in build.picks if o.power is not None]
        self.batteries = [(o, p.battery, n) for _, o, n, p in self.parts if p.battery is not None]
        self.panels = [(o, p.solar, n) for _, o, n, p in self.parts if p.solar is not None]
        # inverters do not share their loads: the largest counts
        inverters = [(o, p.inverter) for _, o, _, p in self.parts if p.inverter is not None]
        self.inverter = max(inverters, key=lambda one: (one[1].watts, one[0].id), default=None)
        self.consumers = tuple(self._consumers())
        self.capacity = self._of_batteries(lambda battery: battery.capacity)
        on_mains = _sum(c.hours * c.count for c in self.consumers if c.watts)
        self.idle = self.inverter[1].idle * min(_DAY, on_mains) if self.inverter else _NOTHING
        self.daily = _sum(c.daily for c in self.consumers) + self.idle
        self.available = self._usable(self.daily / _DAY)
        self.charge_volts = max(
            (b.charge_volts for _, b, _ in self.batteries if b.charge_volts is not None),
            default=None,
        )

    def _of_batteries(self, figure: Callable[[Battery], Decimal]) -> Decimal:
        """A figure of all batteries together."""
        return _sum(n * figure(battery) for _, battery, n in self.batteries)

    def _stated_of_all(self, figures: Iterable[Decimal | None]) -> Decimal | None:
        """The sum of a figure for each kind of battery; None where one is not known."""
        known = [figure for figure in figures if figure is not None]
        return _sum(known) if known and len(known) == len(self.batteries) else None

    def _consumers(self) -> Iterator[Consumer]:
        volts = self.settings.volts
        efficiency = self.inverter[1].efficiency if self.inverter else Decimal(1)
        for choice, option, count, power in self.parts:
            load = power.load
            if load is None:
                continue
            watts = load.watts if load.watts is not None else (load.amps or _NOTHING) * volts
            factor = {"summer": load.summer, "winter": load.winter}.get(self.season, Decimal(1))
            if load.amps is not None and not load.mains:
                amps = load.amps
                daily = energy.amp_hours(load.amps, load.duty, load.hours, factor)
            else:
                through = efficiency if load.mains else Decimal(1)
                amps = energy.inverter_current(watts, volts, through)
                hours = load.hours * load.duty * factor
                daily = energy.mains_amp_hours(watts, hours, volts, through)
            yield Consumer(
                pick=Pick(choice.id, option.id),
                title=option.title,
                count=count,
                amps=count * amps,
                watts=watts if load.mains else None,
                surge=load.surge if load.mains else None,
                hours=load.hours,
                daily=count * daily,
            )

    def made(self) -> PowerPicture:
        """The finished picture."""
        settings, daily, available = self.settings, self.daily, self.available
        volts, charging, sun = settings.volts, settings.charging, self.sun
        limit = self._of_batteries(lambda battery: battery.charge)
        # what all chargers of a kind give, as far as the batteries take it
        vehicle = _sum(n * p.vehicle_charger.amps for *_, n, p in self.parts if p.vehicle_charger)
        mains = _sum(n * p.mains_charger.amps for *_, n, p in self.parts if p.mains_charger)
        cautions = tuple(self._cautions(mains))
        vehicle, mains = min(vehicle, limit), min(mains, limit)
        vehicle_daily = vehicle * self.driving * charging
        solar_daily = _sum(
            n * energy.solar_amp_hours(p.watts, sun or _NOTHING, p.derate, volts, charging)
            for _, p, n in self.panels
        )
        direct = _sum(c.amps for c in self.consumers if c.watts is None)
        on_mains = _sum(c.amps for c in self.consumers if c.watts is not None)
        worst = direct + on_mains
        derate, depth = self._derate(), min((b.usable for _, b, _ in self.batteries), default=_HALF)
        needed = energy.required_output(daily * volts, settings.days, volts)
        array = energy.array_current(daily * volts, charging, volts, sun) if sun else None
        return PowerPicture(
            settings=settings,
            volts=volts,
            place=self.place.title if self.place else "",
            sun=sun,
            sun_source=self.place.source if self.place else "",
            season=self.season,
            driving=self.driving,
            consumers=self.consumers,
            idle=self.idle,
            daily=daily,
            average_rate=self._average_rate(),
            batteries=tuple(several(n, o.title) for o, _, n in self.batteries),
            capacity=self.capacity,
            usable=available,
            discharge=self._of_batteries(lambda battery: battery.discharge),
            peak=self._of_batteries(lambda battery: battery.peak or battery.discharge),
            charge_limit=limit,
            solar=_sum(n * solar.watts for _, solar, n in self.panels),
            solar_daily=solar_daily,
            solar_share=solar_daily / daily if daily else None,
            vehicle_amps=vehicle,
            vehicle_daily=vehicle_daily,
            mains_amps=mains,
            days_alone=self._days(_NOTHING),
            days_sun=self._days(solar_daily),
            days_driving=self._days(vehicle_daily),
            recharge_driving=self._recharge(vehicle),
            recharge_mains=self._recharge(mains),
            inverter=None if self.inverter is None else self._inverter_state(*self.inverter),
            worst=worst,
            worst_low=direct + on_mains * (volts / settings.low_volts),
            worst_hours=self._usable(worst) / worst if worst and self.batteries else None,
            battery_needed=energy.rated_capacity(needed, depth),
            solar_needed=energy.solar_watts(daily, volts, sun, derate, charging) if sun else None,
            array_amps=None if array is None else energy.panel_current(array, derate),
            charge_volts=self.charge_volts,
            panel_volts=self._panel_volts(),
            panels=tuple(self._panel_states()),
            regulated=not self.panels
            or any(
                power.regulator is not None
                or (power.vehicle_charger is not None and power.vehicle_charger.regulates)
                for *_, power in self.parts
            ),
            full=full_current(self.build),
            isolator=self._stated_of_all(
                None if row.fuse is None else row.fuse * row.count
                for row in self.rows
                if row.kind == STORE
            ),
            lithium=tuple(
                Pick(choice.id, option.id)
                for choice, option, _, power in self.parts
                if power.battery is not None and power.battery.chemistry == "lfp"
            ),
            short_circuit=self._stated_of_all(
                None if b.short_circuit is None else n * b.short_circuit
                for _, b, n in self.batteries
            ),
            curves=tuple(self._curves(solar_daily, vehicle_daily)),
            circuits=self.rows,
            cautions=cautions,
        )

    def _usable(self, amps: Decimal) -> Decimal:
        """Ah that may be used at a current, shared between the batteries by their capacity."""
        return self._of_batteries(
            lambda battery: energy.usable(
                _delivered(battery, amps * battery.capacity / self.capacity), battery.usable
            )
        )

    def _average_rate(self) -> Decimal | None:
        """By the mean running time, each consumer weighted by its current."""
        amps = _sum(c.amps for c in self.consumers)
        if not self.batteries or not amps:
            return None
        hours = _sum(c.daily for c in self.consumers) / amps
        depth = max(battery.usable for _, battery, _ in self.batteries)
        return energy.discharge_rate(hours, self.settings.days, depth)

    def _derate(self) -> Decimal:
        """The share of their rated power that the panels picked, or the catalogue's, deliver."""
        every = (o.power for c in self.build.catalogue.by_id.values() for o in c.options)
        offered = [power.solar for power in every if power and power.solar]
        shares = [p.derate for p in [p for _, p, _ in self.panels] or offered if p.derate > 0]
        return min(shares, default=Decimal(1))

    def _panel_volts(self) -> Decimal | None:
        if self.charge_volts is None:
            return None
        worst = min((panel.coefficient for _, panel, _ in self.panels), default=_COEFFICIENT)
        headroom, hottest = self.settings.headroom, Decimal(self.settings.hot_cells)
        return energy.panel_volts(self.charge_volts, headroom, worst / 100, hottest)

    def _panel_states(self) -> Iterator[PanelState]:
        hottest = Decimal(self.settings.hot_cells)
        for option, panel, _ in self.panels:
            if panel.volts is not None and self.charge_volts is not None:
                hot = energy.hot_volts(panel.volts, panel.coefficient / 100, hottest)
                needed = self.charge_volts + self.settings.headroom
                yield PanelState(option.title, panel.volts, hot, needed)

    def _days(self, gained: Decimal) -> Decimal | None:
        if not self.batteries or not self.daily:
            return None
        return energy.days_of_stay(self.available, self.daily, gained)

    def _recharge(self, amps: Decimal) -> Decimal | None:
        if not self.available or not amps:
            return None
        return energy.recharge_hours(self.available, amps, self.settings.charging)

    def _inverter_state(self, option: Option, inverter: Inverter) -> InverterState:
        on_mains = [
            (c.watts, c.surge or c.watts)
            for c in self.consumers
            if c.watts is not None
            for _ in range(c.count)
        ]
        watts, efficiency, settings = inverter.watts, inverter.efficiency, self.settings
        return InverterState(
            title=option.title,
            watts=watts,
            surge=inverter.surge,
            load=_sum(watts for watts, _ in on_mains),
            largest=max((watts for watts, _ in on_mains), default=_NOTHING),
            surge_needed=energy.surge_needed(on_mains),
            nominal=energy.inverter_current(watts, settings.volts, efficiency),
            low=energy.inverter_current(watts, settings.low_volts, efficiency),
        )

    def _curves(self, solar: Decimal, vehicle: Decimal) -> Iterator[Curve]:
        if not self.batteries:
            return
        courses = [evening(c.daily, min(c.hours, _DAY)) for c in self.consumers]
        if self.idle and self.inverter:
            courses.append(evening(self.idle, self.idle / self.inverter[1].idle))
        nothing = [_NOTHING] * 24
        drawn = [_sum(hour) for hour in zip(*courses, strict=True)] or nothing
        sun, drive = sunlight(solar), morning(vehicle, self.driving)
        both = [a + b for a, b in zip(sun, drive, strict=True)]
        for title, given, counts in (
            (text("without charging"), nothing, True),
            (text("with the sun"), sun, solar),
            (text("with driving"), drive, vehicle),
            (text("with sun and driving"), both, solar and vehicle),
        ):
            if counts:
                floor = self.capacity - self.available
                yield charge_curve(title, self.capacity, floor, drawn, given)

    def _cautions(self, from_mains: Decimal) -> Iterator[str]:
        yield CAUTION
        chemistries = {battery.chemistry for _, battery, _ in self.batteries}
        if from_mains or self.inverter or any(c.watts for c in self.consumers):
            yield _MAINS
        if "lfp" in chemistries:
            yield _LITHIUM
        if "agm" in chemistries:
            yield _LEAD


def _delivered(battery: Battery, amps: Decimal) -> Decimal:
    """Ah that one battery gives at a current; never more than it is rated for."""
    if battery.peukert == 1 or amps <= battery.capacity / battery.rated_hours:
        return battery.capacity
    hours = energy.discharge_time(battery.capacity, battery.rated_hours, amps, battery.peukert)
    return amps * hours
