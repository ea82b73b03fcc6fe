"""Findings about power: what is short, by how much, and what would fix it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from typing import Any

import attrs
from attrs import AttrsInstance, evolve

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Option
from configurator.checking.lacks import batteries
from configurator.findings import Finding, Saying, Subject
from configurator.fit.layout import Layout
from configurator.power.cables import Cable
from configurator.power.circuits import FEED, OUTPUT, PANELS, STORE, CircuitRow
from configurator.power.energy import span_words
from configurator.power.picture import InverterState, PowerPicture
from configurator.power.summary import power_picture
from configurator.selection.resolved import Resolved, once, trial
from configurator.selection.rules import broken_rules
from configurator.words import Text, listed, several, text

_SEASONS = {
    "summer": text("in summer"),
    "winter": text("in winter"),
    "year": text("over the year"),
}
"""What the sun is counted for."""

PARTS = {
    FEED: text("from the starter battery"),
    OUTPUT: text("output"),
    PANELS: text("to the regulator"),
}
"""What a part of a source is called behind its title."""

_WITH_THE_SUN = "with the sun"
_STRONGER = text("batteries that give more would do")

_OF_THE_PICTURE = {
    "no-inverter": Saying(
        "stop",
        (
            "{consumers} runs on 230 V, and no inverter is picked",
            "{consumers} run on 230 V, and no inverter is picked",
        ),
        "pick an inverter, or leave it out",
        may_come=True,
    ),
    "largest-load": Saying(
        "stop",
        "{title} gives {watts} W, one of its loads draws {largest} W",
        "choose a larger inverter",
    ),
    "all-loads": Saying(
        "caution",
        "Everything on 230 V together draws {load} W, {title} gives {watts} W",
        "run one after the other, or choose a larger inverter",
    ),
    "inverter-surge": Saying(
        "caution",
        "When the load with the highest surge starts while the others run, {surge_needed} W is "
        "needed; {title} can surge to {surge} W",
        "start it alone, or choose a larger inverter",
    ),
    "inverter-current": Saying(
        "caution",
        "At full power {title} draws {nominal} A ({low} A at low voltage); the batteries supply "
        "{discharge} A continuously",
        "use less than its full power; {other}",
    ),
    "inverters": Saying(
        "caution",
        "{picked} inverters are picked, but only one is counted, {title}, with every load on it: "
        "inverters do not share loads",
        "choose one that is large enough, or have the electrician split the loads",
    ),
    "inverter-alone": Saying(
        "stop",
        "{title} has no battery to draw from: at full power it draws {nominal} A",
        "pick a battery that gives as much, or leave the inverter out",
        may_come=True,
    ),
    "panels-alone": Saying(
        "stop",
        "{solar} W of panels have no battery to charge: at night nothing supplies the {daily} Ah "
        "that are drawn a day",
        "pick a battery",
        may_come=True,
    ),
    "vehicle-battery": Saying(
        "caution",
        "{daily} Ah a day are drawn from the vehicle's own battery, which may not start the "
        "engine afterwards",
        "pick an auxiliary battery",
        may_come=True,
    ),
    "stay": Saying(
        "caution",
        (
            "Without charging, the battery lasts {n} day, not {days}: {usable} Ah is usable, "
            "{daily} Ah is drawn a day",
            "Without charging, the battery lasts {n} days, not {days}: {usable} Ah is usable, "
            "{daily} Ah is drawn a day",
        ),
    ),
    "little-sun": Saying(
        "note",
        "The sun gives {share} % of what is drawn {season}: {solar_daily} of {daily} Ah a day",
    ),
    "little-sun-there": Saying(
        "note",
        "The sun gives {share} % of what is drawn in {place} {season}: {solar_daily} of {daily} "
        "Ah a day",
    ),
    "night": Saying(
        "caution",
        "The sun gives as much as is drawn, but the battery does not last the night: it is used "
        "up after {span}",
    ),
    "discharge": Saying(
        "caution",
        "With all loads on at once, the draw is {worst_low} A; the batteries supply {discharge} A "
        "continuously",
        "do not run all loads at once; {other}",
    ),
    "battery-fuses": Saying(
        "caution",
        "With all {volts} V loads on and the inverter at full power, the draw at low voltage is "
        "{full} A; the battery fuses carry {isolator} A and would blow",
        "use less than the inverter's full power, or choose batteries that give more",
    ),
    "battery-fuses-of-loads": Saying(
        "caution",
        "With all {volts} V loads on, the draw is {full} A; the battery fuses carry {isolator} A "
        "and would blow",
        "do not run all loads at once, or choose batteries that give more",
    ),
    "vehicle-charger": Saying(
        "caution",
        "The vehicle charger gives {amps} A, but the batteries take at most {most} A",
        "set the charger lower, or choose a smaller one or more battery",
    ),
    "mains-charger": Saying(
        "caution",
        "The mains charger gives {amps} A, but the batteries take at most {most} A",
        "set the charger lower, or choose a smaller one or more battery",
    ),
    "panel-volts": Saying(
        "caution",
        "{title} gives {hot} V with its cells at {cells} °C; to charge the battery it must give "
        "{needed} V",
        "choose a panel of more volts, put two in series if their regulator takes it, or choose a "
        "regulator that raises the voltage",
    ),
    "solar": Saying(
        "caution",
        "{solar} W of panels have no regulator: nothing keeps them from overcharging the battery, "
        "and the cable from it is not sized",
        "choose a solar regulator, or a charger with one built in; if one is picked, the "
        "catalogue has to say so",
    ),
}
"""What a picture may say; each under its subject, where that is no other."""

_OF_A_CIRCUIT = {
    "fuse-below-load": Saying(
        "caution",
        "{title} draws {amps} A, which would blow its {fuse} A fuse",
        "choose a larger fuse, and a cable for it",
    ),
    "no-fuse": Saying("caution", "{title} draws {amps} A, more than any usual fuse"),
    "panel-too-small": Saying(
        "caution",
        "{title} carries {rating} A; what it feeds draws {amps} A, through a fuse of {fuse} A",
        "choose a larger panel, a smaller fuse for it, or give large loads circuits of their own",
    ),
    "no-run": Saying(
        "note",
        "{title} has no length of cable, so none has been sized",
        "state the run in the catalogue",
    ),
    "unknown-cable": Saying("note", "{title} comes with a size of cable that is not in the table"),
    "no-cable": Saying(
        "caution", "{title}: no cable in the table is large enough ({amps} A, {run} m)"
    ),
    "too-much-cable": Saying(
        "caution",
        "{title} needs more cable than the largest in the table: {cable}, {loaded} loaded cables "
        "in the bundle at {ambient} °C, carry {carries} A; they lose {drop} V over {run} m. The "
        "circuit draws {amps} A, its fuse is rated {fuse} A, and {limit} % may be lost",
        "shorten the run, run the cables apart from others, or choose something smaller; the "
        "electrician decides",
    ),
    "no-fuse-of-their-own": Saying(
        "caution",
        "{title} needs more cable than the largest in the table: {cable}, {loaded} loaded cables "
        "in the bundle at {ambient} °C, carry {carries} A, and no usual fuse protects each of "
        "them; they lose {drop} V over {run} m. The circuit draws {amps} A, its fuse is rated "
        "{fuse} A, and {limit} % may be lost",
        "shorten the run, run the cables apart from others, or choose something smaller; the "
        "electrician decides",
    ),
    "cable-below-fuse": Saying(
        "caution",
        "{title} has a cable of {cable} that carries {carries} A with {loaded} in the bundle at "
        "{ambient} °C, but its fuse is rated {fuse} A",
    ),
    "drop": Saying(
        "caution",
        "{title} loses {percent} % on {cable} over {run} m, more than the {limit} % allowed",
    ),
    "fuse-too-far": Saying(
        "caution",
        "{title} has its fuse farther from the battery than the {within} mm that the shop keeps to",
        "move the fuse to the battery",
    ),
    "total-drop": Saying(
        "caution",
        "{title} loses {total} % from the battery, the cables of battery and fuse panel counted, "
        "more than the {allowed} % allowed",
        "allow less drop in the circuits on its way",
    ),
    "breaks-nobody-knows": Saying(
        "caution",
        "{title}: the breaking capacity of its fuse is not stated; a lithium battery delivers "
        "thousands of amps into a short circuit",
        "the electrician chooses a fuse that breaks what the battery's maker states; state "
        "fuse-type and breaks in the catalogue",
    ),
    "short-nobody-knows": Saying(
        "caution",
        "{title} has a fuse that breaks {breaks} A, but the short-circuit current of the "
        "batteries is not stated",
        "ask their makers, and state short-circuit in the catalogue",
    ),
    "breaks-too-little": Saying(
        "caution",
        "{title} has a fuse that breaks {breaks} A; the batteries deliver {short} A into a short "
        "circuit",
        "choose a fuse that breaks more",
    ),
}
"""What a circuit may say, the faults of its row among them."""


@once
def power_findings(build: Resolved, layout: Layout | None) -> tuple[Finding, ...]:
    """Everything that the power picture has to say; empty when nothing has to do with power."""
    return tuple(_PowerFindings(build, layout).all())


def cable_words(cable: Cable) -> Text:
    """A cable in words, such as ``25 mm²`` or ``2 × 50 mm²``."""
    if cable.count == 1:
        return text("{size} mm²", size=cable.size)
    return text("{count} × {size} mm²", count=cable.count, size=cable.size)


def circuit_title(row: CircuitRow) -> str:
    """A circuit's title, with the part of it that it is."""
    if not row.part:
        return row.title
    return text("{title}, {part}", title=row.title, part=PARTS[row.part])


class _PowerFindings:
    """The findings of one picture.

    Attributes:
        picture: the picture, exact: what is compared.
        known: its figures as they are shown, for the places of messages.
    """

    def __init__(self, build: Resolved, layout: Layout | None) -> None:
        self.build, self.layout = build, layout
        self.picture = power_picture(build, layout)
        self.known = _figures(self.picture)
        self.parts = [(o.power, n) for _, o, n in build.picks if o.power is not None]

    def all(self) -> Iterator[Finding]:
        """Every finding, in no order of seriousness."""
        picture = self.picture
        if picture.inverter is not None:
            yield from self._inverter(picture.inverter)
        elif named := [c.title for c in picture.consumers if c.watts]:
            known = {"consumers": listed(named), "n": len(named)}
            yield self._say("no-inverter", "inverter", known)
        if picture.batteries:
            yield from self._stay()
            yield from self._discharge()
            yield from self._charge()
        else:
            lacks = batteries(self.build.catalogue)
            yield from (evolve(finding, lacks=lacks) for finding in self._no_battery())
        yield from self._panels()
        for row in picture.circuits:
            yield from self._circuit(row)

    def _say(
        self,
        what: str,
        subject: str = "",
        known: Mapping[str, object] | None = None,
        numbers: Mapping[str, Decimal] | None = None,
        hint: str = "",
    ) -> Finding:
        """A finding of the picture, with what is known besides."""
        known = {**self.known, **(known or {})}
        return _finding(_OF_THE_PICTURE[what], subject or what, known, numbers, hint)

    def _inverter(self, inverter: InverterState) -> Iterator[Finding]:
        surge = inverter.surge if inverter.surge is not None else inverter.watts
        known = {**_figures(inverter), "surge": surge}
        if inverter.largest > inverter.watts:
            numbers = {"needs": inverter.largest, "has": inverter.watts}
            yield self._say("largest-load", "inverter", known, numbers)
        elif inverter.load > inverter.watts:
            numbers = {"needs": inverter.load, "has": inverter.watts}
            yield self._say("all-loads", "inverter", known, numbers)
        if inverter.load and inverter.surge_needed > surge:
            numbers = {"needs": inverter.surge_needed, "has": surge}
            yield self._say("inverter-surge", "", known, numbers)
        limit = self.picture.discharge
        if self.picture.batteries and inverter.nominal > limit:
            other = self._next_battery(_STRONGER, lambda then: inverter.nominal <= then.discharge)
            numbers = {"amps": inverter.nominal, "low": inverter.low, "limit": limit}
            yield self._say("inverter-current", "", known | {"other": other}, numbers)
        picked = sum(n for part, n in self.parts if part.inverter)
        if picked > 1:
            yield self._say("inverters", "", known | {"picked": picked})

    def _no_battery(self) -> Iterator[Finding]:
        picture = self.picture
        if picture.inverter is not None:
            yield self._say("inverter-alone", "battery", _figures(picture.inverter))
        if picture.solar and picture.daily:
            yield self._say("panels-alone", "battery")
        elif picture.daily:
            yield self._say("vehicle-battery", "battery", {}, {"daily": picture.daily})

    def _stay(self) -> Iterator[Finding]:
        picture, known, days = self.picture, self.known, self.picture.settings.days
        if picture.days_alone is not None and picture.days_alone < days:
            numbers = {
                "days": picture.days_alone,
                "daily": picture.daily,
                "usable": picture.usable,
                "needed": picture.battery_needed,
            }
            hint = self._next_battery(
                text("{battery_needed} Ah of the same kind would do", **known),
                lambda then: then.days_alone is not None and then.days_alone >= days,
            )
            yield self._say("stay", "", {"n": known["days_alone"], "days": days}, numbers, hint)
        share, empty_after = picture.solar_share, _empty_after(picture)
        if share is None or not picture.solar:
            return
        if share < 1:
            said = {"share": 100 * known["solar_share"], "season": _SEASONS[picture.season]}
            hint = text("{solar_needed} W of panels would cover it", **known)
            yield self._say(
                "little-sun-there" if picture.place else "little-sun",
                "sun",
                said,
                {"share": share},
                hint if picture.solar_needed is not None else "",
            )
        elif empty_after is not None:
            more = text("more battery would do")
            hint = self._next_battery(more, lambda then: _empty_after(then) is None)
            yield self._say("night", "sun", {"span": span_words(empty_after)}, hint=hint)

    def _discharge(self) -> Iterator[Finding]:
        picture = self.picture
        if picture.worst_low > picture.discharge:
            other = self._next_battery(_STRONGER, lambda then: then.worst_low <= then.discharge)
            numbers = {"amps": picture.worst_low, "limit": picture.discharge}
            yield self._say("discharge", "", {"other": other}, numbers)
        if picture.isolator is not None and picture.full > picture.isolator:
            numbers = {"amps": picture.full, "limit": picture.isolator}
            what = "battery-fuses-of-loads" if picture.inverter is None else "battery-fuses"
            yield self._say(what, "battery-fuses", {}, numbers)

    def _charge(self) -> Iterator[Finding]:
        most = self.picture.charge_limit
        vehicle = [n * p.vehicle_charger.amps for p, n in self.parts if p.vehicle_charger]
        mains = [n * p.mains_charger.amps for p, n in self.parts if p.mains_charger]
        for what, given in (("vehicle-charger", vehicle), ("mains-charger", mains)):
            amps = sum(given, Decimal(0))
            if amps > most:
                known = {"amps": amps, "most": most}
                yield self._say(what, "charge", known, {"amps": amps, "limit": most})

    def _panels(self) -> Iterator[Finding]:
        for panel in self.picture.panels:
            if panel.hot < panel.needed:
                known = {**_figures(panel), "cells": self.picture.settings.hot_cells}
                numbers = {"volts": panel.volts, "hot": panel.hot, "needed": panel.needed}
                yield self._say("panel-volts", "", known, numbers)
        if not self.picture.regulated:
            yield self._say("solar")

    def _circuit(self, row: CircuitRow) -> Iterator[Finding]:
        """What is wrong with a circuit: cable, fuse, drop, and what the fuse can break."""
        settings, short = self.picture.settings, self.picture.short_circuit
        # where not even the most in the table will do, that is what is told
        cable = row.most or row.cable
        known = {
            **_figures(row),
            "title": circuit_title(row),
            "ambient": row.ambient,
            "within": settings.fuse_within,
            "allowed": settings.drop,
            "short": short,
        }
        if cable is not None:
            known |= {**_figures(cable), "loaded": cable.loaded, "cable": cable_words(cable)}
        for fault in row.faults:
            what, hint = fault, ""
            if fault == "no-cable" and row.most is not None:
                what = "too-much-cable" if row.most.own_fuse else "no-fuse-of-their-own"
            if fault in ("cable-below-fuse", "drop") and row.better is not None:
                better = cable_words(row.better)
                hint = text("the next cable that will do is {cable}", cable=better)
            yield _finding(_OF_A_CIRCUIT[what], row.pick, known, {"amps": row.amps}, hint)
        if row.total is not None and row.total > settings.drop:
            numbers = {"drop": row.total, "limit": settings.drop}
            yield _finding(_OF_A_CIRCUIT["total-drop"], row.pick, known, numbers)
        lithium = row.kind == STORE and row.pick in self.picture.lithium
        if lithium and row.breaks is None:
            yield _finding(_OF_A_CIRCUIT["breaks-nobody-knows"], row.pick, known)
        elif lithium and short is None:
            yield _finding(_OF_A_CIRCUIT["short-nobody-knows"], row.pick, known)
        elif row.breaks is not None and short is not None and row.breaks < short:
            numbers = {"breaks": row.breaks, "short-circuit": short}
            yield _finding(_OF_A_CIRCUIT["breaks-too-little"], row.pick, known, numbers)

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
                    title = several(count, option.title)
                    ways.append((count * battery.capacity, count, title))
        if not ways:
            return otherwise
        return text("{battery} would do, if there is room", battery=min(ways)[2])


def _finding(
    saying: Saying,
    about: Subject,
    known: Mapping[str, object],
    numbers: Mapping[str, Decimal] | None = None,
    hint: str = "",
) -> Finding:
    return saying.finding("power", about, known, tuple((numbers or {}).items()), hint=hint)


def _figures(value: AttrsInstance) -> dict[str, Any]:
    """The numbers and titles of a value by their names, each as it is shown; None as None."""
    known: dict[str, Any] = {}
    for field in attrs.fields(type(value)):
        held = getattr(value, field.name)
        if isinstance(held, Decimal | str):
            held = field.metadata.get("shown", lambda exact: exact)(held)
        if held is None or isinstance(held, Decimal | str):
            known[field.name] = held
    return known


def _most(at_most: int | None, option: Option) -> int:
    return min(option.most, at_most if at_most is not None else option.most)


def _empty_after(picture: PowerPicture) -> int | None:
    """After how many hours with the sun the battery is used up, if ever."""
    courses = (c for c in picture.curves if c.title == _WITH_THE_SUN)
    return next((course.empty_after for course in courses), None)
