"""What the power picture has to say: what is short, by how much, and what would mend it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from decimal import Decimal

from configurator.catalogue.model import Option, Pick
from configurator.checking.circuits import circuit_findings, power_finding
from configurator.findings import Finding
from configurator.fit.layout import Layout
from configurator.power.picture import InverterState, PanelState, PowerPicture
from configurator.power.shown import shown
from configurator.power.summary import power_picture
from configurator.rules import broken_rules
from configurator.selection.resolved import Resolved, trial
from configurator.words import plain

__all__ = ["power_findings"]


def power_findings(
    build: Resolved,
    layout: Layout | None,
    picture: PowerPicture | None = None,
) -> tuple[Finding, ...]:
    """Everything that the power picture has to say; empty when nothing has to do with power.

    Args:
        build: what is picked, from which catalogue.
        layout: where the units sit; None when that is not known.
        picture: the picture of just these, where it has been made already.
    """
    picture = picture or power_picture(build, layout)
    return tuple(_Findings(build, layout, picture).all())


class _Findings:
    """The findings of one picture."""

    def __init__(
        self,
        build: Resolved,
        layout: Layout | None,
        picture: PowerPicture,
    ) -> None:
        self.build = build
        self.layout, self.picture = layout, picture
        self.shown = shown(picture)

    def all(self) -> Iterator[Finding]:
        """Every finding, in no order of seriousness."""
        picture = self.picture
        if picture.inverter is not None and self.shown.inverter is not None:
            yield from self._inverter(picture.inverter, self.shown.inverter)
            yield from self._inverters(picture.inverter)
        elif any(consumer.watts for consumer in picture.consumers):
            named = ", ".join(c.title for c in picture.consumers if c.watts)
            yield power_finding(
                "stop",
                "inverter",
                f"{named} runs on 230 V, and no inverter is picked",
                hint="pick an inverter, or leave it out",
            )
        if picture.batteries:
            yield from self._stay()
            yield from self._discharge()
        else:
            yield from self._no_battery()
        for panel, said in zip(picture.panels, self.shown.panels, strict=True):
            yield from _panel(panel, said, self.build.catalogue.power.hot_cells)
        if not picture.regulated:
            yield power_finding(
                "caution",
                "solar",
                f"{plain(picture.solar)} W of panels have no regulator: nothing keeps them from "
                "overcharging the battery, and the cable from it is not sized",
                hint="pick a regulator or a charger that regulates panels, or state one in the "
                "catalogue",
            )
        yield from circuit_findings(picture)

    def _no_battery(self) -> Iterator[Finding]:
        picture, said = self.picture, self.shown
        if said.inverter is not None:
            yield power_finding(
                "stop",
                "battery",
                f"{said.inverter.title} has no battery to draw from: at full power it draws "
                f"{_said(said.inverter.nominal)} A",
                hint="pick a battery that gives as much, or leave the inverter out",
            )
        if picture.solar and picture.daily:
            yield power_finding(
                "stop",
                "battery",
                f"{plain(picture.solar)} W of panels have no battery to charge: at night nothing "
                f"is there for the {_said(said.daily)} Ah a day that are drawn",
                hint="pick a battery",
            )
        elif picture.daily:
            yield power_finding(
                "caution",
                "battery",
                f"{_said(said.daily)} Ah a day are drawn from the vehicle's own battery, which "
                "may not start the engine afterwards",
                hint="pick an auxiliary battery",
                daily=picture.daily,
            )

    def _stay(self) -> Iterator[Finding]:
        picture, said, days = self.picture, self.shown, self.build.catalogue.power.days
        if picture.days_alone is not None and picture.days_alone < days:
            yield power_finding(
                "caution",
                "stay",
                f"Without charging the battery lasts {_said(said.days_alone)} days, not "
                f"{plain(days)}: {_said(said.usable)} Ah are there to use, "
                f"{_said(said.daily)} Ah a day are drawn",
                hint=self._next_battery(
                    f"{_said(said.battery_needed)} Ah of the same kind would do",
                    lambda then: then.days_alone is not None and then.days_alone >= days,
                ),
                days=picture.days_alone,
                daily=picture.daily,
                usable=picture.usable,
                needed=picture.battery_needed,
            )
        if picture.solar_share is not None and picture.solar:
            yield from self._sun(picture.solar_share)

    def _sun(self, share: Decimal) -> Iterator[Finding]:
        picture, said = self.picture, self.shown
        where = f" in {picture.place}" if picture.place else ""
        season = {"year": "over the year"}.get(picture.season, f"in {picture.season}")
        if share < 1:
            would = said.solar_needed
            yield power_finding(
                "note",
                "sun",
                f"The sun gives {_share(said.solar_share)} % of what is drawn{where} {season}: "
                f"{_said(said.solar_daily)} of {_said(said.daily)} Ah a day",
                hint="" if would is None else f"{_said(would)} W of panels would cover it",
                share=share,
            )
        else:
            course = next(c for c in picture.curves if c.title == "with the sun")
            if course.empty_after is not None:
                yield power_finding(
                    "caution",
                    "sun",
                    f"The sun gives as much as is drawn, but the battery does not last the night: "
                    f"it is used up after {course.empty_after} hours",
                    hint=self._next_battery(
                        "more battery would do", lambda then: _lasts(then, "with the sun")
                    ),
                )

    def _discharge(self) -> Iterator[Finding]:
        picture, said = self.picture, self.shown
        limit = picture.discharge
        if picture.worst_low > limit:
            yield power_finding(
                "caution",
                "discharge",
                f"With everything on at once {_said(said.worst_low)} A are drawn; "
                f"the batteries give {_said(said.discharge)} A for long",
                hint="do not run everything at once; "
                + self._next_battery(
                    "batteries that give more would do",
                    lambda then: then.worst_low <= then.discharge,
                ),
                amps=picture.worst_low,
                limit=limit,
            )
        if picture.isolator is not None and picture.full > picture.isolator:
            yield power_finding(
                "caution",
                "battery-fuses",
                f"With everything on at once, an inverter at full power, {plain(said.full)} A are "
                f"drawn at low voltage; the fuses of the batteries let {_said(said.isolator)} A "
                "through and would blow",
                hint="use less than the inverter's full power, or choose batteries that give more",
                amps=picture.full,
                limit=picture.isolator,
            )
        chargers = (("vehicle charger", "vehicle_charger"), ("mains charger", "mains_charger"))
        for title, kind in chargers:
            amps = self._charger(kind)
            if amps > picture.charge_limit:
                yield power_finding(
                    "caution",
                    "charge",
                    f"The {title} gives {plain(amps)} A, the batteries take "
                    f"{plain(picture.charge_limit)} A",
                    hint="set the charger lower, or choose a smaller one or more battery",
                    amps=amps,
                    limit=picture.charge_limit,
                )

    def _charger(self, kind: str) -> Decimal:
        amps = Decimal(0)
        for choice in self.build.catalogue.by_id.values():
            for option in choice.options:
                quantity = self.build.selection.quantity(choice.id, option.id)
                charger = getattr(option.power, kind, None) if quantity else None
                amps += quantity * charger.amps if charger is not None else 0
        return amps

    def _inverter(self, inverter: InverterState, full: InverterState) -> Iterator[Finding]:
        picture, said = self.picture, self.shown
        if inverter.largest > inverter.watts:
            yield power_finding(
                "stop",
                "inverter",
                f"{inverter.title} gives {plain(inverter.watts)} W, one of its loads draws "
                f"{plain(full.largest)} W",
                hint="choose a larger inverter",
                needs=inverter.largest,
                has=inverter.watts,
            )
        elif inverter.load > inverter.watts:
            yield power_finding(
                "caution",
                "inverter",
                f"Everything on 230 V together draws {plain(full.load)} W, "
                f"{inverter.title} gives {plain(inverter.watts)} W",
                hint="run one after the other, or choose a larger inverter",
                needs=inverter.load,
                has=inverter.watts,
            )
        surge = inverter.surge if inverter.surge is not None else inverter.watts
        if inverter.load and inverter.surge_needed > surge:
            yield power_finding(
                "caution",
                "inverter-surge",
                f"When the worst load starts while the others run, {plain(full.surge_needed)} "
                f"W are asked for; {inverter.title} stands {plain(surge)} W",
                hint="start it alone, or choose a larger inverter",
                needs=inverter.surge_needed,
                has=surge,
            )
        if picture.batteries and inverter.nominal > picture.discharge:
            yield power_finding(
                "caution",
                "inverter-current",
                f"At full power {inverter.title} draws {plain(full.nominal)} A "
                f"({plain(full.low)} A at low voltage); the batteries give "
                f"{plain(said.discharge)} A for long",
                hint="use less than its full power; "
                + self._next_battery(
                    "batteries that give more would do",
                    lambda then: inverter.nominal <= then.discharge,
                ),
                amps=inverter.nominal,
                low=inverter.low,
                limit=picture.discharge,
            )

    def _inverters(self, counted: InverterState) -> Iterator[Finding]:
        picked = sum(
            self.build.selection.quantity(choice.id, option.id)
            for choice in self.build.catalogue.by_id.values()
            for option in choice.options
            if option.power is not None and option.power.inverter is not None
        )
        if picked > 1:
            yield power_finding(
                "caution",
                "inverters",
                f"Of the {picked} inverters picked one is counted, {counted.title}, with every "
                "load on it: inverters do not share their loads",
                hint="pick one that is large enough, or let the electrician part the loads",
            )

    def _next_battery(self, otherwise: str, mends: Callable[[PowerPicture], bool]) -> str:
        """The smallest battery in the catalogue that mends it and breaks no rule, by trying."""
        ways: list[tuple[Decimal, Decimal, str]] = []
        offered = [
            (choice, option, option.power.battery)
            for choice in self.build.catalogue.choices
            for option in choice.options
            if option.power is not None and option.power.battery is not None
        ]
        broken = set(broken_rules(self.build))
        bare = self.build.selection
        for choice, option, _ in offered:
            bare = bare.without(choice.id, option.id)
        for choice, option, battery in offered:
            for count in range(1, _most(choice.at_most, option) + 1):
                changed = trial(self.build, bare).picking(Pick(choice.id, option.id, count))
                then = trial(self.build, changed)
                if set(broken_rules(then)) - broken:
                    continue
                if mends(power_picture(then, self.layout)):
                    title = option.title if count == 1 else f"{count} x {option.title}"
                    ways.append((count * battery.capacity, Decimal(count), title))
        return f"{min(ways)[2]} would do" if ways else otherwise


def _most(at_most: int | None, option: Option) -> int:
    return min(option.most, at_most if at_most is not None else option.most)


def _lasts(picture: PowerPicture, title: str) -> bool:
    return all(curve.empty_after is None for curve in picture.curves if curve.title == title)


def _said(number: Decimal | None) -> str:
    return "" if number is None else plain(number)


def _share(share: Decimal | None) -> str:
    return "" if share is None else plain(100 * share)


def _panel(panel: PanelState, said: PanelState, cells: int) -> Iterator[Finding]:
    if panel.hot < panel.needed:
        yield power_finding(
            "caution",
            "panel-volts",
            f"{panel.title} brings {plain(said.hot)} V with its cells at {cells} °C; to charge the "
            f"battery it must bring {plain(said.needed)} V",
            hint="choose a panel of more volts, put two in series if their regulator takes it, or "
            "choose a regulator that raises the voltage",
            volts=panel.volts,
            hot=panel.hot,
            needed=panel.needed,
        )
