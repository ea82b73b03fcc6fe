"""What the power picture has to say: what is short, by how much, and what would mend it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from decimal import Decimal
from functools import cached_property
from typing import Any

import attrs
from attrs import AttrsInstance

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Option
from configurator.checking.circuits import circuit_findings, power_finding
from configurator.findings import Finding
from configurator.fit.layout import Layout
from configurator.power.energy import span_words
from configurator.power.picture import InverterState, PowerPicture
from configurator.power.summary import power_picture
from configurator.rules import broken_rules
from configurator.selection.resolved import Resolved, trial
from configurator.words import Text, listed, text

SEASONS = {
    "summer": text("in summer"),
    "winter": text("in winter"),
    "year": text("over the year"),
}
"""What the sun is counted for."""

_WITH_THE_SUN = "with the sun"
_STRONGER = text("batteries that give more would do")


def power_findings(build: Resolved, layout: Layout | None) -> tuple[Finding, ...]:
    """Everything that the power picture has to say; empty when nothing has to do with power.

    Args:
        build: what is picked, from which catalogue.
        layout: where the units sit; None when that is not known.
    """
    return tuple(_Findings(build, layout).all())


class _Findings:
    """The findings of one picture.

    Attributes:
        picture: the picture, exact: what is compared.
    """

    def __init__(self, build: Resolved, layout: Layout | None) -> None:
        self.build, self.layout = build, layout
        self.picture = power_picture(build, layout)

    @cached_property
    def known(self) -> dict[str, Any]:
        """The picture's figures as they are shown, for the places of messages."""
        return _figures(self.picture)

    def all(self) -> Iterator[Finding]:
        """Every finding, in no order of seriousness."""
        picture = self.picture
        if picture.inverter is not None:
            yield from self._inverter(picture.inverter)
            yield from self._inverters(picture.inverter)
        elif named := [c.title for c in picture.consumers if c.watts]:
            yield power_finding(
                "stop",
                "inverter",
                text(
                    "{consumers} runs on 230 V, and no inverter is picked",
                    "{consumers} run on 230 V, and no inverter is picked",
                    consumers=listed(named),
                    n=len(named),
                ),
                text("pick an inverter, or leave it out"),
            )
        if picture.batteries:
            yield from self._stay()
            yield from self._discharge()
            yield from self._charge()
        else:
            yield from self._no_battery()
        yield from self._panels()
        yield from circuit_findings(picture)

    def _no_battery(self) -> Iterator[Finding]:
        picture, known = self.picture, self.known
        if picture.inverter is not None:
            yield power_finding(
                "stop",
                "battery",
                text(
                    "{title} has no battery to draw from: at full power it draws {nominal} A",
                    **_figures(picture.inverter),
                ),
                text("pick a battery that gives as much, or leave the inverter out"),
            )
        if picture.solar and picture.daily:
            yield power_finding(
                "stop",
                "battery",
                text(
                    "{solar} W of panels have no battery to charge: at night nothing supplies the "
                    "{daily} Ah that are drawn a day",
                    **known,
                ),
                text("pick a battery"),
            )
        elif picture.daily:
            yield power_finding(
                "caution",
                "battery",
                text(
                    "{daily} Ah a day are drawn from the vehicle's own battery, which may not "
                    "start the engine afterwards",
                    **known,
                ),
                text("pick an auxiliary battery"),
                daily=picture.daily,
            )

    def _stay(self) -> Iterator[Finding]:
        picture, known, days = self.picture, self.known, self.picture.settings.days
        if picture.days_alone is not None and picture.days_alone < days:
            yield power_finding(
                "caution",
                "stay",
                text(
                    "Without charging the battery lasts {days_alone} days, not {days}: {usable} "
                    "Ah are usable, {daily} Ah a day are drawn",
                    days=days,
                    **known,
                ),
                self._next_battery(
                    text("{battery_needed} Ah of the same kind would do", **known),
                    lambda then: then.days_alone is not None and then.days_alone >= days,
                ),
                days=picture.days_alone,
                daily=picture.daily,
                usable=picture.usable,
                needed=picture.battery_needed,
            )
        if picture.solar_share is None or not picture.solar:
            return
        empty_after = _empty_after(picture)
        if picture.solar_share < 1:
            yield self._little_sun(picture.solar_share)
        elif empty_after is not None:
            yield power_finding(
                "caution",
                "sun",
                text(
                    "The sun gives as much as is drawn, but the battery does not last the night: "
                    "it is used up after {span}",
                    span=span_words(empty_after),
                ),
                self._next_battery(
                    text("more battery would do"), lambda then: _empty_after(then) is None
                ),
            )

    def _little_sun(self, share: Decimal) -> Finding:
        said = {**self.known, "season": SEASONS[self.picture.season]}
        said |= {
            "share": 100 * said["solar_share"],
            "sun": said["solar_daily"],
            "watts": said.get("solar_needed"),
        }
        if self.picture.place:
            sentence = text(
                "The sun gives {share} % of what is drawn in {place} {season}: {sun} of "
                "{daily} Ah a day",
                **said,
            )
        else:
            sentence = text(
                "The sun gives {share} % of what is drawn {season}: {sun} of {daily} Ah a day",
                **said,
            )
        would = text("{watts} W of panels would cover it", **said)
        hint = would if self.picture.solar_needed is not None else ""
        return power_finding("note", "sun", sentence, hint, share=share)

    def _discharge(self) -> Iterator[Finding]:
        picture, known = self.picture, self.known
        if picture.worst_low > picture.discharge:
            yield power_finding(
                "caution",
                "discharge",
                text(
                    "With everything on at once {worst_low} A are drawn; the batteries give "
                    "{discharge} A for long",
                    **known,
                ),
                text(
                    "do not run everything at once; {other}",
                    other=self._next_battery(
                        _STRONGER, lambda then: then.worst_low <= then.discharge
                    ),
                ),
                amps=picture.worst_low,
                limit=picture.discharge,
            )
        if picture.isolator is not None and picture.full > picture.isolator:
            yield power_finding(
                "caution",
                "battery-fuses",
                text(
                    "With everything on at once, an inverter at full power, {full} A are drawn at "
                    "low voltage; the fuses of the batteries let {isolator} A through and would "
                    "blow",
                    **known,
                ),
                text("use less than the inverter's full power, or choose batteries that give more"),
                amps=picture.full,
                limit=picture.isolator,
            )

    def _charge(self) -> Iterator[Finding]:
        picks = [(o.power, n) for _, o, n in self.build.picks if o.power is not None]
        vehicle = [n * p.vehicle_charger.amps for p, n in picks if p.vehicle_charger is not None]
        mains = [n * p.mains_charger.amps for p, n in picks if p.mains_charger is not None]
        most = self.picture.charge_limit
        vehicle_amps, mains_amps = sum(vehicle, Decimal(0)), sum(mains, Decimal(0))
        given = text(
            "The vehicle charger gives {amps} A, the batteries take {most} A",
            amps=vehicle_amps,
            most=most,
        )
        from_mains = text(
            "The mains charger gives {amps} A, the batteries take {most} A",
            amps=mains_amps,
            most=most,
        )
        for sentence, amps in ((given, vehicle_amps), (from_mains, mains_amps)):
            if amps > most:
                yield power_finding(
                    "caution",
                    "charge",
                    sentence,
                    text("set the charger lower, or choose a smaller one or more battery"),
                    amps=amps,
                    limit=most,
                )

    def _inverter(self, inverter: InverterState) -> Iterator[Finding]:
        picture, known = self.picture, self.known | _figures(inverter)
        surge = inverter.surge if inverter.surge is not None else inverter.watts
        if inverter.largest > inverter.watts:
            yield power_finding(
                "stop",
                "inverter",
                text("{title} gives {watts} W, one of its loads draws {largest} W", **known),
                text("choose a larger inverter"),
                needs=inverter.largest,
                has=inverter.watts,
            )
        elif inverter.load > inverter.watts:
            yield power_finding(
                "caution",
                "inverter",
                text(
                    "Everything on 230 V together draws {load} W, {title} gives {watts} W", **known
                ),
                text("run one after the other, or choose a larger inverter"),
                needs=inverter.load,
                has=inverter.watts,
            )
        if inverter.load and inverter.surge_needed > surge:
            yield power_finding(
                "caution",
                "inverter-surge",
                text(
                    "When the worst load starts while the others run, {surge_needed} W are asked "
                    "for; {title} withstands {surge} W",
                    **{**known, "surge": surge},
                ),
                text("start it alone, or choose a larger inverter"),
                needs=inverter.surge_needed,
                has=surge,
            )
        if picture.batteries and inverter.nominal > picture.discharge:
            yield power_finding(
                "caution",
                "inverter-current",
                text(
                    "At full power {title} draws {nominal} A ({low} A at low voltage); the "
                    "batteries give {discharge} A for long",
                    **known,
                ),
                text(
                    "use less than its full power; {other}",
                    other=self._next_battery(
                        _STRONGER, lambda then: inverter.nominal <= then.discharge
                    ),
                ),
                amps=inverter.nominal,
                low=inverter.low,
                limit=picture.discharge,
            )

    def _inverters(self, counted: InverterState) -> Iterator[Finding]:
        picked = sum(n for _, o, n in self.build.picks if o.power is not None and o.power.inverter)
        if picked > 1:
            yield power_finding(
                "caution",
                "inverters",
                text(
                    "Of the {picked} inverters picked one is counted, {title}, with every load on "
                    "it: inverters do not share their loads",
                    picked=picked,
                    title=counted.title,
                ),
                text("pick one that is large enough, or let the electrician part the loads"),
            )

    def _panels(self) -> Iterator[Finding]:
        for panel in self.picture.panels:
            if panel.hot < panel.needed:
                yield power_finding(
                    "caution",
                    "panel-volts",
                    text(
                        "{title} brings {hot} V with its cells at {cells} °C; to charge the "
                        "battery it must bring {needed} V",
                        cells=self.picture.settings.hot_cells,
                        **_figures(panel),
                    ),
                    text(
                        "choose a panel of more volts, put two in series if their regulator takes "
                        "it, or choose a regulator that raises the voltage"
                    ),
                    volts=panel.volts,
                    hot=panel.hot,
                    needed=panel.needed,
                )
        if not self.picture.regulated:
            yield power_finding(
                "caution",
                "solar",
                text(
                    "{solar} W of panels have no regulator: nothing keeps them from overcharging "
                    "the battery, and the cable from it is not sized",
                    **self.known,
                ),
                text(
                    "pick a regulator or a charger that regulates panels, or state one in the "
                    "catalogue"
                ),
            )

    def _next_battery(self, otherwise: Text, mends: Callable[[PowerPicture], bool]) -> Text:
        """The smallest battery in the catalogue that mends it and breaks no rule, by trying."""
        offered = [
            (choice, option, option.power.battery)
            for choice in self.build.catalogue.choices
            for option in choice.options
            if option.power is not None and option.power.battery is not None
        ]
        without = self.build.selection
        for choice, option, _ in offered:
            without = without.without(choice.id, option.id)
        bare, broken = trial(self.build, without), set(broken_rules(self.build))
        ways: list[tuple[Decimal, int, str]] = []
        for choice, option, battery in offered:
            for count in range(1, _most(choice.at_most, option) + 1):
                then = trial(self.build, bare.picking(Pick(choice.id, option.id, count)))
                if broken.issuperset(broken_rules(then)) and mends(
                    power_picture(then, self.layout)
                ):
                    many = text("{count} x {title}", count=count, title=option.title)
                    title = option.title if count == 1 else many
                    ways.append((count * battery.capacity, count, title))
        return text("{battery} would do", battery=min(ways)[2]) if ways else otherwise


def _figures(value: AttrsInstance) -> dict[str, Any]:
    """The numbers and titles of a value by their names, each as it is shown."""
    known: dict[str, Any] = {}
    for field in attrs.fields(type(value)):
        held = getattr(value, field.name)
        if isinstance(held, Decimal | str):
            known[field.name] = field.metadata.get("shown", lambda exact: exact)(held)
    return known


def _most(at_most: int | None, option: Option) -> int:
    return min(option.most, at_most if at_most is not None else option.most)


def _empty_after(picture: PowerPicture) -> int | None:
    """After how many hours with the sun the battery is used up, if ever."""
    courses = (c for c in picture.curves if c.title == _WITH_THE_SUN)
    return next((course.empty_after for course in courses), None)
