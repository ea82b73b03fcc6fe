"""The power picture of a selection: what it draws a day, how long it lasts, what fills it again.

Ah at the nominal potential of the system, A, W, V, hours and days. A planning aid: weather, season
and habit decide how much is drawn and given, and licensed people decide how it is wired.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from configurator.catalogue.model import Battery, Inverter, Load, Option
from configurator.catalogue.settings import Place, PowerSettings
from configurator.fit.layout import Layout
from configurator.power import energy
from configurator.power.charge_curve import Curve, charge_curve, evening, morning, sunlight
from configurator.power.circuits import STORE, CircuitRow, circuits, full_current
from configurator.power.picture import Consumer, InverterState, PanelState, PowerPicture
from configurator.selection.resolved import Resolved, once

__all__ = ["CAUTION", "PowerPicture", "power_picture"]

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

_COEFFICIENT = Decimal("-0.4")
"""Percent of a panel's potential a degree, where none is picked; as in sizing examples."""

_DAY = Decimal(24)


@once
def power_picture(build: Resolved, layout: Layout | None) -> PowerPicture:
    """The power picture of the picks, complete or not.

    Args:
        build: what is picked, from which catalogue.
        layout: where the units sit, for cables whose run is not stated.
    """
    return _Picture(build, layout).made()


class _Picture:
    """The picture in the making."""

    def __init__(self, build: Resolved, layout: Layout | None) -> None:
        self.build, self.layout = build, layout
        self.settings: PowerSettings = build.catalogue.power
        travel = build.selection.travel
        self.season = travel.season or self.settings.season
        self.driving = self.settings.driving if travel.driving is None else travel.driving
        self.place = self._place(travel.place or self.settings.place)
        self.picks = [(c, o, n) for c, o, n in build.picks if o.power]
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
        rows = circuits(self.build, self.layout)
        charge_volts = self._charge_volts()
        return PowerPicture(
            settings=settings,
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
            solar_needed=self._solar_needed(daily, sun),
            array_amps=self._array_amps(daily, sun),
            charge_volts=charge_volts,
            panel_volts=self._panel_volts(charge_volts),
            panels=tuple(self._panels(charge_volts)),
            regulated=self._regulated(),
            full=full_current(self.build),
            isolator=self._isolator(rows),
            lithium=frozenset(
                f"{choice.id}={option.id}"
                for choice, option, _ in self.picks
                if option.power and option.power.battery
                if option.power.battery.chemistry == "lfp"
            ),
            short_circuit=self._short_circuit(),
            curves=tuple(self._curves(capacity, available, idle, solar_daily, vehicle_daily)),
            circuits=rows,
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
                    solar.watts, sun, solar.derate, self.settings.volts, self.settings.charging
                )
        return watts, daily

    def _derate(self) -> Decimal:
        """The share of their rated power that the panels picked, or the catalogue's, deliver."""
        picked = [o.power.solar for _, o, _ in self.picks if o.power and o.power.solar]
        every = [
            o.power.solar
            for choice in self.build.catalogue.by_id.values()
            for o in choice.options
            if o.power and o.power.solar
        ]
        shares = [solar.derate for solar in (picked or every) if solar.derate > 0]
        return min(shares, default=Decimal(1))

    def _solar_needed(self, daily: Decimal, sun: Decimal | None) -> Decimal | None:
        if not sun:
            return None
        settings = self.settings
        return energy.solar_watts(daily, settings.volts, sun, self._derate(), settings.charging)

    def _array_amps(self, daily: Decimal, sun: Decimal | None) -> Decimal | None:
        if not sun:
            return None
        volts, derate = self.settings.volts, self._derate()
        array = energy.array_current(daily * volts, self.settings.charging, volts, sun)
        return energy.panel_current(array, derate)

    def _charge_volts(self) -> Decimal | None:
        stated = [b.charge_volts for _, b, _ in self.batteries if b.charge_volts is not None]
        return max(stated, default=None)

    def _panel_volts(self, charge_volts: Decimal | None) -> Decimal | None:
        if charge_volts is None:
            return None
        picked = (o.power.solar for _, o, _ in self.picks if o.power is not None)
        worst = min((s.coefficient for s in picked if s is not None), default=_COEFFICIENT)
        return energy.panel_volts(
            charge_volts, self.settings.headroom, worst / 100, Decimal(self.settings.hot_cells)
        )

    def _panels(self, charge_volts: Decimal | None) -> Iterator[PanelState]:
        for _, option, _ in self.picks:
            solar = option.power.solar if option.power else None
            if solar is not None and solar.volts is not None and charge_volts is not None:
                hot = energy.hot_volts(
                    solar.volts, solar.coefficient / 100, Decimal(self.settings.hot_cells)
                )
                needed = charge_volts + self.settings.headroom
                yield PanelState(option.title, solar.volts, hot, needed)

    def _regulated(self) -> bool:
        powers = [option.power for _, option, _ in self.picks if option.power is not None]
        panels = any(power.solar is not None for power in powers)
        return not panels or any(
            power.regulator is not None
            or (power.vehicle_charger is not None and power.vehicle_charger.regulates)
            for power in powers
        )

    def _isolator(self, rows: tuple[CircuitRow, ...]) -> Decimal | None:
        """The fuses of all batteries together: nothing lets more through for long."""
        fuses = [(row.fuse, row.count) for row in rows if row.kind == STORE]
        known = [fuse * count for fuse, count in fuses if fuse is not None]
        every = bool(fuses) and len(known) == len(fuses) == len(self.batteries)
        return sum(known, Decimal(0)) if every else None

    def _short_circuit(self) -> Decimal | None:
        stated = [n * b.short_circuit for _, b, n in self.batteries if b.short_circuit is not None]
        every = bool(stated) and len(stated) == len(self.batteries)
        return sum(stated, Decimal(0)) if every else None

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
