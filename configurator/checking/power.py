"""What the power picture has to say: what is short, by how much, and what would mend it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from decimal import Decimal

from configurator.catalogue.model import Catalogue, Option, Pick
from configurator.findings import Finding
from configurator.fit.layout import Layout
from configurator.power.cables import Cable
from configurator.power.circuits import CircuitRow
from configurator.power.summary import InverterState, PowerPicture, power_picture
from configurator.rules import broken_rules
from configurator.selection.picks import Selection
from configurator.words import plain

__all__ = ["cable_words", "power_findings"]

_Numbers = tuple[tuple[str, Decimal | int], ...]


def power_findings(
    catalogue: Catalogue,
    selection: Selection,
    layout: Layout | None,
    picture: PowerPicture | None = None,
) -> tuple[Finding, ...]:
    """Everything that the power picture has to say; empty when nothing has to do with power.

    Args:
        catalogue: the shop's catalogue.
        selection: picks, complete or not.
        layout: where the units sit; None when that is not known.
        picture: the picture of just these, where it has been made already.
    """
    picture = picture or power_picture(catalogue, selection, layout)
    return tuple(_Findings(catalogue, selection, layout, picture).all())


def cable_words(cable: Cable) -> str:
    """A cable in words, such as ``25 mm2`` or ``2 x 50 mm2``."""
    size = f"{plain(cable.size)} mm2"
    return size if cable.count == 1 else f"{cable.count} x {size}"


def _finding(
    level: str, subject: str, sentence: str, reason: str = "", hint: str = "", **numbers: Decimal
) -> Finding:
    named: _Numbers = tuple((name.replace("_", "-"), n) for name, n in numbers.items())
    return Finding(level, "power", subject, sentence, reason, hint, named)


class _Findings:
    """The findings of one picture."""

    def __init__(
        self,
        catalogue: Catalogue,
        selection: Selection,
        layout: Layout | None,
        picture: PowerPicture,
    ) -> None:
        self.catalogue, self.selection = catalogue, selection
        self.layout, self.picture = layout, picture

    def all(self) -> Iterator[Finding]:
        """Every finding, in no order of seriousness."""
        picture = self.picture
        if picture.inverter is not None:
            yield from self._inverter(picture.inverter)
            yield from self._inverters(picture.inverter)
        elif any(consumer.watts for consumer in picture.consumers):
            named = ", ".join(c.title for c in picture.consumers if c.watts)
            yield _finding(
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
        for row in picture.circuits:
            yield from self._circuit(row)

    def _no_battery(self) -> Iterator[Finding]:
        picture = self.picture
        if picture.inverter is not None:
            yield _finding(
                "stop",
                "battery",
                f"{picture.inverter.title} has no battery to draw from: at full power it draws "
                f"{_amps(picture.inverter.nominal)} A",
                hint="pick a battery that gives as much, or leave the inverter out",
            )
        if picture.solar and picture.daily:
            yield _finding(
                "stop",
                "battery",
                f"{plain(picture.solar)} W of panels have no battery to charge: at night nothing "
                f"is there for the {_amps(picture.daily)} Ah a day that are drawn",
                hint="pick a battery",
            )
        elif picture.daily:
            yield _finding(
                "caution",
                "battery",
                f"{_amps(picture.daily)} Ah a day are drawn from the vehicle's own battery, which "
                "may not start the engine afterwards",
                hint="pick an auxiliary battery",
                daily=picture.daily,
            )

    def _stay(self) -> Iterator[Finding]:
        picture, days = self.picture, self.catalogue.power.days
        if picture.days_alone is not None and picture.days_alone < days:
            yield _finding(
                "caution",
                "stay",
                f"Without charging the battery lasts {_amps(picture.days_alone)} days, not "
                f"{plain(days)}: {_amps(picture.usable)} Ah are there to use, "
                f"{_amps(picture.daily)} Ah a day are drawn",
                hint=self._next_battery(
                    f"{_amps(picture.battery_needed)} Ah of the same kind would do",
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
        picture = self.picture
        where = f" in {picture.place}" if picture.place else ""
        season = {"year": "over the year"}.get(picture.season, f"in {picture.season}")
        if share < 1:
            would = picture.solar_needed
            yield _finding(
                "note",
                "sun",
                f"The sun gives {_percent(share)} % of what is drawn{where} {season}: "
                f"{_amps(picture.solar_daily)} of {_amps(picture.daily)} Ah a day",
                hint="" if would is None else f"{_amps(would)} W of panels would cover it",
                share=share,
            )
        else:
            course = next(c for c in picture.curves if c.title == "with the sun")
            if course.empty_after is not None:
                yield _finding(
                    "caution",
                    "sun",
                    f"The sun gives as much as is drawn, but the battery does not last the night: "
                    f"it is used up after {course.empty_after} hours",
                    hint=self._next_battery(
                        "more battery would do", lambda then: _lasts(then, "with the sun")
                    ),
                )

    def _discharge(self) -> Iterator[Finding]:
        picture = self.picture
        limit = picture.discharge
        if picture.worst_low > limit:
            yield _finding(
                "caution",
                "discharge",
                f"With everything on at once {_amps(picture.worst_low)} A are drawn; "
                f"the batteries give {_amps(limit)} A for long",
                hint="do not run everything at once; "
                + self._next_battery(
                    "batteries that give more would do",
                    lambda then: then.worst_low <= then.discharge,
                ),
                amps=picture.worst_low,
                limit=limit,
            )
        chargers = (("vehicle charger", "vehicle_charger"), ("mains charger", "mains_charger"))
        for title, kind in chargers:
            amps = self._charger(kind)
            if amps > picture.charge_limit:
                yield _finding(
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
        for choice in self.catalogue.by_id.values():
            for option in choice.options:
                quantity = self.selection.quantity(choice.id, option.id)
                charger = getattr(option.power, kind, None) if quantity else None
                amps += quantity * charger.amps if charger is not None else 0
        return amps

    def _inverter(self, inverter: InverterState) -> Iterator[Finding]:
        picture = self.picture
        if inverter.largest > inverter.watts:
            yield _finding(
                "stop",
                "inverter",
                f"{inverter.title} gives {plain(inverter.watts)} W, one of its loads draws "
                f"{plain(inverter.largest)} W",
                hint="choose a larger inverter",
                needs=inverter.largest,
                has=inverter.watts,
            )
        elif inverter.load > inverter.watts:
            yield _finding(
                "caution",
                "inverter",
                f"Everything on 230 V together draws {plain(inverter.load)} W, "
                f"{inverter.title} gives {plain(inverter.watts)} W",
                hint="run one after the other, or choose a larger inverter",
                needs=inverter.load,
                has=inverter.watts,
            )
        surge = inverter.surge if inverter.surge is not None else inverter.watts
        if inverter.load and inverter.surge_needed > surge:
            yield _finding(
                "caution",
                "inverter-surge",
                f"When the worst load starts while the others run, {plain(inverter.surge_needed)} "
                f"W are asked for; {inverter.title} stands {plain(surge)} W",
                hint="start it alone, or choose a larger inverter",
                needs=inverter.surge_needed,
                has=surge,
            )
        if picture.batteries and inverter.nominal > picture.discharge:
            yield _finding(
                "caution",
                "inverter-current",
                f"At full power {inverter.title} draws {_amps(inverter.nominal)} A "
                f"({_amps(inverter.low)} A at low voltage); the batteries give "
                f"{_amps(picture.discharge)} A for long",
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
            self.selection.quantity(choice.id, option.id)
            for choice in self.catalogue.by_id.values()
            for option in choice.options
            if option.power is not None and option.power.inverter is not None
        )
        if picked > 1:
            yield _finding(
                "caution",
                "inverters",
                f"Of the {picked} inverters picked one is counted, {counted.title}, with every "
                "load on it: inverters do not share their loads",
                hint="pick one that is large enough, or let the electrician part the loads",
            )

    def _circuit(self, row: CircuitRow) -> Iterator[Finding]:
        stated = plain(row.fuse) if row.fuse is not None else ""
        cable = cable_words(row.cable) if row.cable is not None else ""
        carries = _amps(row.cable.carries) if row.cable is not None else ""
        words = {
            "fuse-below-load": (
                f"draws {_amps(row.amps)} A, its fuse of {stated} A would blow",
                "choose a larger fuse, and a cable for it",
            ),
            "no-fuse": (f"draws {_amps(row.amps)} A, more than any usual fuse", ""),
            "no-run": (
                "has no length of cable, so none has been sized",
                "state the run in the catalogue",
            ),
            "unknown-cable": ("comes with a size of cable that is not in the table", ""),
            "no-cable": (
                f"needs more cable than the largest in the table ({_amps(row.amps)} A, fuse of "
                f"{stated} A, {_run(row)})",
                "shorten the run; the electrician decides",
            ),
            "cable-below-fuse": (
                f"has a cable of {cable} that carries {carries} A, its fuse is of {stated} A",
                "",
            ),
            "drop": (
                f"loses {_percent_text(row.percent)} % on {cable} over {_run(row)}, more than the "
                f"{plain(row.limit)} % allowed",
                "",
            ),
            "fuse-too-far": (
                "has its fuse farther from the battery than the "
                f"{self.catalogue.power.fuse_within} mm that the shop keeps to",
                "move the fuse to the battery",
            ),
        }
        better = f"the next cable that will do is {cable_words(row.better)}" if row.better else ""
        for fault in row.faults:
            sentence, hint = words[fault]
            level = "note" if fault in ("no-run", "unknown-cable") else "caution"
            yield _finding(
                level, row.pick, f"{row.title} {sentence}", hint=hint or better, amps=row.amps
            )

    def _next_battery(self, otherwise: str, mends: Callable[[PowerPicture], bool]) -> str:
        """The smallest battery in the catalogue that mends it and breaks no rule, by trying."""
        ways: list[tuple[Decimal, Decimal, str]] = []
        offered = [
            (choice, option, option.power.battery)
            for choice in self.catalogue.choices
            for option in choice.options
            if option.power is not None and option.power.battery is not None
        ]
        broken = set(broken_rules(self.catalogue, self.selection))
        bare = self.selection
        for choice, option, _ in offered:
            bare = bare.without(choice.id, option.id)
        for choice, option, battery in offered:
            for count in range(1, _most(choice.at_most, option) + 1):
                changed = bare.picking(self.catalogue, Pick(choice.id, option.id, count))
                if set(broken_rules(self.catalogue, changed)) - broken:
                    continue
                if mends(power_picture(self.catalogue, changed, self.layout)):
                    title = option.title if count == 1 else f"{count} x {option.title}"
                    ways.append((count * battery.capacity, Decimal(count), title))
        return f"{min(ways)[2]} would do" if ways else otherwise


def _most(at_most: int | None, option: Option) -> int:
    return min(option.most, at_most if at_most is not None else option.most)


def _lasts(picture: PowerPicture, title: str) -> bool:
    return all(curve.empty_after is None for curve in picture.curves if curve.title == title)


def _amps(number: Decimal) -> str:
    return plain(number.quantize(Decimal("0.1")))


def _percent(share: Decimal) -> str:
    return plain((100 * share).quantize(Decimal(1)))


def _percent_text(percent: Decimal | None) -> str:
    return "" if percent is None else plain(percent)


def _run(row: CircuitRow) -> str:
    return "an unknown run" if row.run is None else f"{plain(row.run)} m"
