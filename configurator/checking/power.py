"""What the power picture has to say: what is short, by how much, and what would mend it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from decimal import Decimal

from configurator.catalogue.model import Option, Pick
from configurator.checking.circuits import circuit_findings, power_finding
from configurator.findings import Finding
from configurator.fit.layout import Layout
from configurator.power.energy import span_words
from configurator.power.picture import InverterState, PanelState, PowerPicture
from configurator.power.summary import power_picture
from configurator.rules import broken_rules
from configurator.selection.resolved import Resolved, trial
from configurator.words import Text, listed, shown, text

__all__ = ["SEASONS", "power_findings"]

SEASONS = {
    "summer": text("in summer"),
    "winter": text("in winter"),
    "year": text("over the year"),
}
"""What the sun is counted for."""


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
            named = [c.title for c in picture.consumers if c.watts]
            yield power_finding(
                "stop",
                "inverter",
                text(
                    "{consumers} runs on 230 V, and no inverter is picked",
                    "{consumers} run on 230 V, and no inverter is picked",
                    consumers=listed(named),
                    n=len(named),
                ),
                hint=text("pick an inverter, or leave it out"),
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
                text(
                    "{solar} W of panels have no regulator: nothing keeps them from overcharging "
                    "the battery, and the cable from it is not sized",
                    solar=picture.solar,
                ),
                hint=text(
                    "pick a regulator or a charger that regulates panels, or state one in the "
                    "catalogue"
                ),
            )
        yield from circuit_findings(picture)

    def _no_battery(self) -> Iterator[Finding]:
        picture, said = self.picture, self.shown
        if said.inverter is not None:
            yield power_finding(
                "stop",
                "battery",
                text(
                    "{title} has no battery to draw from: at full power it draws {nominal} A",
                    title=said.inverter.title,
                    nominal=said.inverter.nominal,
                ),
                hint=text("pick a battery that gives as much, or leave the inverter out"),
            )
        if picture.solar and picture.daily:
            yield power_finding(
                "stop",
                "battery",
                text(
                    "{solar} W of panels have no battery to charge: at night nothing supplies the "
                    "{daily} Ah that are drawn a day",
                    solar=picture.solar,
                    daily=said.daily,
                ),
                hint=text("pick a battery"),
            )
        elif picture.daily:
            yield power_finding(
                "caution",
                "battery",
                text(
                    "{daily} Ah a day are drawn from the vehicle's own battery, which may not "
                    "start the engine afterwards",
                    daily=said.daily,
                ),
                hint=text("pick an auxiliary battery"),
                daily=picture.daily,
            )

    def _stay(self) -> Iterator[Finding]:
        picture, said, days = self.picture, self.shown, self.build.catalogue.power.days
        if picture.days_alone is not None and picture.days_alone < days:
            yield power_finding(
                "caution",
                "stay",
                text(
                    "Without charging the battery lasts {days_alone} days, not {days}: {usable} "
                    "Ah are usable, {daily} Ah a day are drawn",
                    days_alone=said.days_alone,
                    days=days,
                    usable=said.usable,
                    daily=said.daily,
                ),
                hint=self._next_battery(
                    text(
                        "{battery_needed} Ah of the same kind would do",
                        battery_needed=said.battery_needed,
                    ),
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
        if share < 1:
            would = said.solar_needed
            known = {
                "share": _share(said.solar_share),
                "sun": said.solar_daily,
                "daily": said.daily,
            }
            season = SEASONS[picture.season]
            if picture.place:
                sentence = text(
                    "The sun gives {share} % of what is drawn in {place} {season}: {sun} of "
                    "{daily} Ah a day",
                    place=picture.place,
                    season=season,
                    **known,
                )
            else:
                sentence = text(
                    "The sun gives {share} % of what is drawn {season}: {sun} of {daily} Ah a day",
                    season=season,
                    **known,
                )
            yield power_finding(
                "note",
                "sun",
                sentence,
                hint=""
                if would is None
                else text("{watts} W of panels would cover it", watts=would),
                share=share,
            )
        else:
            course = next(c for c in picture.curves if c.title == "with the sun")
            if course.empty_after is not None:
                yield power_finding(
                    "caution",
                    "sun",
                    text(
                        "The sun gives as much as is drawn, but the battery does not last the "
                        "night: it is used up after {span}",
                        span=span_words(course.empty_after),
                    ),
                    hint=self._next_battery(
                        text("more battery would do"),
                        lambda then: _lasts(then, "with the sun"),
                    ),
                )

    def _discharge(self) -> Iterator[Finding]:
        picture, said = self.picture, self.shown
        limit = picture.discharge
        if picture.worst_low > limit:
            yield power_finding(
                "caution",
                "discharge",
                text(
                    "With everything on at once {worst_low} A are drawn; the batteries give "
                    "{discharge} A for long",
                    worst_low=said.worst_low,
                    discharge=said.discharge,
                ),
                hint=text(
                    "do not run everything at once; {other}",
                    other=self._next_battery(
                        text("batteries that give more would do"),
                        lambda then: then.worst_low <= then.discharge,
                    ),
                ),
                amps=picture.worst_low,
                limit=limit,
            )
        if picture.isolator is not None and picture.full > picture.isolator:
            yield power_finding(
                "caution",
                "battery-fuses",
                text(
                    "With everything on at once, an inverter at full power, {full} A are drawn at "
                    "low voltage; the fuses of the batteries let {isolator} A through and would "
                    "blow",
                    full=said.full,
                    isolator=said.isolator,
                ),
                hint=text(
                    "use less than the inverter's full power, or choose batteries that give more"
                ),
                amps=picture.full,
                limit=picture.isolator,
            )
        most = picture.charge_limit
        vehicle, mains = self._charger("vehicle_charger"), self._charger("mains_charger")
        if vehicle > most:
            yield _overcharged(
                text(
                    "The vehicle charger gives {amps} A, the batteries take {most} A",
                    amps=vehicle,
                    most=most,
                ),
                vehicle,
                most,
            )
        if mains > most:
            yield _overcharged(
                text(
                    "The mains charger gives {amps} A, the batteries take {most} A",
                    amps=mains,
                    most=most,
                ),
                mains,
                most,
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
                text(
                    "{title} gives {watts} W, one of its loads draws {largest} W",
                    title=inverter.title,
                    watts=inverter.watts,
                    largest=full.largest,
                ),
                hint=text("choose a larger inverter"),
                needs=inverter.largest,
                has=inverter.watts,
            )
        elif inverter.load > inverter.watts:
            yield power_finding(
                "caution",
                "inverter",
                text(
                    "Everything on 230 V together draws {load} W, {title} gives {watts} W",
                    load=full.load,
                    title=inverter.title,
                    watts=inverter.watts,
                ),
                hint=text("run one after the other, or choose a larger inverter"),
                needs=inverter.load,
                has=inverter.watts,
            )
        surge = inverter.surge if inverter.surge is not None else inverter.watts
        if inverter.load and inverter.surge_needed > surge:
            yield power_finding(
                "caution",
                "inverter-surge",
                text(
                    "When the worst load starts while the others run, {surge_needed} W are asked "
                    "for; {title} withstands {surge} W",
                    surge_needed=full.surge_needed,
                    title=inverter.title,
                    surge=surge,
                ),
                hint=text("start it alone, or choose a larger inverter"),
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
                    title=inverter.title,
                    nominal=full.nominal,
                    low=full.low,
                    discharge=said.discharge,
                ),
                hint=text(
                    "use less than its full power; {other}",
                    other=self._next_battery(
                        text("batteries that give more would do"),
                        lambda then: inverter.nominal <= then.discharge,
                    ),
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
                text(
                    "Of the {picked} inverters picked one is counted, {title}, with every load on "
                    "it: inverters do not share their loads",
                    picked=picked,
                    title=counted.title,
                ),
                hint=text("pick one that is large enough, or let the electrician part the loads"),
            )

    def _next_battery(self, otherwise: Text, mends: Callable[[PowerPicture], bool]) -> Text:
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
                    title = (
                        option.title
                        if count == 1
                        else text("{count} x {title}", count=count, title=option.title)
                    )
                    ways.append((count * battery.capacity, Decimal(count), title))
        return text("{battery} would do", battery=min(ways)[2]) if ways else otherwise


def _most(at_most: int | None, option: Option) -> int:
    return min(option.most, at_most if at_most is not None else option.most)


def _overcharged(sentence: Text, amps: Decimal, limit: Decimal) -> Finding:
    return power_finding(
        "caution",
        "charge",
        sentence,
        hint=text("set the charger lower, or choose a smaller one or more battery"),
        amps=amps,
        limit=limit,
    )


def _lasts(picture: PowerPicture, title: str) -> bool:
    return all(curve.empty_after is None for curve in picture.curves if curve.title == title)


def _share(share: Decimal | None) -> Decimal | None:
    return None if share is None else 100 * share


def _panel(panel: PanelState, said: PanelState, cells: int) -> Iterator[Finding]:
    if panel.hot < panel.needed:
        yield power_finding(
            "caution",
            "panel-volts",
            text(
                "{title} brings {hot} V with its cells at {cells} °C; to charge the battery it "
                "must bring {needed} V",
                title=panel.title,
                hot=said.hot,
                cells=cells,
                needed=said.needed,
            ),
            hint=text(
                "choose a panel of more volts, put two in series if their regulator takes it, or "
                "choose a regulator that raises the voltage"
            ),
            volts=panel.volts,
            hot=panel.hot,
            needed=panel.needed,
        )
