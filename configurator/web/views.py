"""What a page shows of a package: the choices with the state of every option, and the facts.

Words, figures and tables are those of the papers; a page adds none of its own but labels.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from fractions import Fraction
from functools import cached_property
from typing import Any

from attrs import evolve, frozen

from configurator.build import Build
from configurator.build_changes import resolved
from configurator.catalogue.fields import Pick
from configurator.catalogue.model import ADD_ON, VEHICLE, Choice
from configurator.checking.check import Check, check
from configurator.drawing.corner import corner_svg
from configurator.drawing.layouts import compact_drawing, travels_of
from configurator.drawing.vehicle import vehicle_svg
from configurator.errors import ConfiguratorError
from configurator.findings import Finding, told_once
from configurator.fit.layout import Placement
from configurator.money import Money
from configurator.pricing.price import Price, price
from configurator.render.language import Language
from configurator.report.layout import space_told
from configurator.report.mass import LOADS, mass_facts, towing_words
from configurator.report.model import Table
from configurator.report.power import power_facts
from configurator.report.price import price_sums, price_table
from configurator.selection.picks import Customer
from configurator.selection.resolved import Resolved, once
from configurator.shop import Shop
from configurator.web.state import FormState, written
from configurator.web.taps import without_details
from configurator.words import Text, left, shown, text, used

_DRAWING = (150.0, 330.0)
"""Room for the drawing, mm: views below each other, each about as wide as its column."""

_OF_MONEY = ("price", "approval")
"""Codes of findings on prices and discounts."""

_MAIN_BARS = ("gvm", "front-axle", "rear-axle", "tow-ball")


@frozen
class LoadBar:
    """A load against its rating, kg.

    Attributes:
        title: what is loaded.
        load: kg.
        rating: kg.
        over: it is more than that.
    """

    title: str
    load: Decimal
    rating: Decimal
    over: bool


@frozen
class PackageView:
    """What the page of a package shows, but for the choices: facts, which are quick.

    Attributes:
        shop: the shop.
        state: of the package now.
        before: of the package before the last tap, which the figures are compared with.
    """

    shop: Shop
    state: FormState
    before: FormState

    @cached_property
    def build(self) -> Build:
        """The package.

        Raises:
            SelectionError: the selection cannot be understood.
        """
        return self.state.build(self.shop)

    @cached_property
    def check(self) -> Check:
        """Its findings."""
        return self.build.check()

    @property
    def told(self) -> Iterator[tuple[Finding, tuple[Finding, ...]]]:
        """They, without choices still to be made, each with those that lack the same."""
        return told_once(one for one in self.check.findings if one.code != "undecided")

    @cached_property
    def price(self) -> Price:
        """What it costs."""
        return self.build.price()

    @property
    def title(self) -> str:
        """What it is called."""
        return title_of(self.build)

    @property
    def comparable(self) -> bool:
        """There is another package to compare with, or one that says why it cannot be read."""
        try:
            return bool(self.state.kept) and len(different(self.shop, self.state)) > 1
        except ConfiguratorError:
            return True

    @property
    def customer(self) -> Customer:
        """Whose it is."""
        return self.build.selection.customer or Customer("")

    @cached_property
    def groups(self) -> Mapping[str, tuple[str, list[Choice]]]:
        """The groups of choices by id: title, and what is in each."""
        return groups_of(self.shop)

    @cached_property
    def here(self) -> str:
        """Id of the group that is looked at."""
        return self.state.group if self.state.group in self.groups else next(iter(self.groups))

    @cached_property
    def needed(self) -> frozenset[str]:
        """Ids of the choices that still have to be made."""
        about = (finding.about for finding in self.check.to_choose)
        return frozenset(one.choice for one in about if isinstance(one, Pick))

    @cached_property
    def to_choose(self) -> tuple[tuple[str, Choice], ...]:
        """Those choices in the shop's order, each with the id of its group."""
        return tuple(
            (group, choice)
            for group, (_, choices) in self.groups.items()
            for choice in choices
            if choice.id in self.needed
        )

    @property
    def changes(self) -> Iterator[tuple[str, str, Money | Decimal]]:
        """What the last tap did: which figure, its unit (none for an amount), how much more."""
        before = self.before.build(self.shop)
        if before is self.build:
            return
        full = _contents(before.check()) != _contents(self.check)
        figures = zip(_figures(resolved(before)), _figures(resolved(self.build)), strict=True)
        for (what, unit, was), (_, _, now) in figures:
            if was is not None and now is not None and was != now:
                yield text("mass fully loaded") if full and unit == "kg" else what, unit, now - was

    @cached_property
    def bars(self) -> tuple[LoadBar, ...]:
        """The loads that matter most, each in its worst state."""
        return tuple(_bars(self.check))

    @property
    def towing(self) -> Text | None:
        """How much of the payload the tow-ball download leaves."""
        return None if self.check.mass is None else towing_words(self.check.mass)

    @cached_property
    def sizes(self) -> Table | None:
        """Masses and sizes; None while no vehicle is picked."""
        mass = self.check.mass
        return None if mass is None else mass_facts(mass, for_customer=True)

    @cached_property
    def power(self) -> Table:
        """The days of power."""
        return power_facts(self.check.power, for_customer=True)

    @property
    def units(self) -> tuple[Placement, ...]:
        """Where the units sit."""
        return self.check.layout.placements if self.check.layout else ()

    @property
    def clash(self) -> bool:
        """Something cannot be, whatever is picked besides: money aside."""
        return any(one.code not in _OF_MONEY for one in self.check.impossible)

    @property
    def mendable(self) -> bool:
        """Other picks would mend a stop, or more of them where every choice is made."""
        return self.clash or bool(self.check.missing and not self.to_choose)

    @property
    def unapproved(self) -> bool:
        """A discount needs an approver."""
        return any(one.code == "approval" for one in self.check.stops)

    @property
    def sides(self) -> tuple[str, ...]:
        """The sides on which units are, or could be."""
        able = {side for unit in self.units for side in (unit.side or "rear", *self.sides_of(unit))}
        return tuple(side for side in ("left", "rear", "right") if side in able)

    def sides_of(self, unit: Placement) -> tuple[str, ...]:
        """The sides that a unit can work from."""
        known = self.build.catalogue.option(unit.choice, unit.option).unit
        return known.works_from if known is not None else ()

    @property
    def package(self) -> Table:
        """The priced lines by group."""
        return price_table(self.price)

    @property
    def sums(self) -> Table:
        """What they come to."""
        return price_sums(self.price)

    @property
    def spaces(self) -> tuple[str, ...]:
        """How large and how full each space is, and the largest open boxes."""
        layout = self.check.layout
        if layout is None:
            return ()
        return tuple(told for space in layout.spaces for told in space_told(layout, space))


def title_of(build: Build) -> str:
    """What a package is called: its own name, or the vehicle."""
    picked = build.selection.one(VEHICLE)
    vehicle = picked and build.catalogue.option(VEHICLE, picked).title
    return build.selection.title or vehicle or text("New package")


def different(shop: Shop, state: FormState) -> list[Build]:
    """The packages set aside and the one in work, of those that differ in name alone the latest.

    Raises:
        ConfiguratorError: one of them cannot be understood.
    """
    every = [evolve(state, selection=one).build(shop) for one in (*state.kept, state.selection)]
    return [*{written(without_details(one).selection): one for one in every}.values()]


def _contents(checked: Check) -> Fraction:
    """What is in the boxes and tanks of the vehicle fully loaded, kg."""
    items = () if checked.mass is None else checked.mass.state("full").items
    return sum((one.mass for one in items if one.kind in ("contents", "fluid")), Fraction(0))


@once
def _figures(build: Resolved) -> tuple[tuple[str, str, Any], ...]:
    """What is compared with the package before: each figure with its unit, None where unknown."""
    checked = check(build)
    payload = None if checked.mass is None else used(checked.mass.payload_used)
    boxes = () if checked.layout is None else checked.layout.open_boxes
    return (
        (text("price"), "", price(build).total),
        (text("mass"), "kg", payload),
        (text("power without charging"), text("days"), shown(checked.power).days_alone),
        (text("largest open space"), "L", max((Decimal(b.litres) for b in boxes), default=None)),
    )


def groups_of(shop: Shop) -> Mapping[str, tuple[str, list[Choice]]]:
    """The choices by the groups in which a package is put together: the vehicle, then the rest."""
    return dict(_groups(shop))


def _groups(shop: Shop) -> Iterator[tuple[str, tuple[str, list[Choice]]]]:
    choices = shop.catalogue.by_id.values()
    titles = {group.id: group.title for group in shop.catalogue.groups}
    yield VEHICLE, (text("Vehicle"), [c for c in choices if c.id == VEHICLE])
    for id_, title in titles.items():
        inside = [c for c in choices if c.group == id_ and c.id not in (VEHICLE, ADD_ON)]
        if inside:
            yield id_, (title, inside)
    extras = [c for c in choices if c.id == ADD_ON and c.options]
    if extras:
        yield ADD_ON, (text("Add-ons"), extras)


def _bars(checked: Check) -> Iterator[LoadBar]:
    if checked.mass is None:
        return
    payload = used(checked.mass.payload_used), left(checked.mass.payload)
    yield LoadBar(text("Payload"), *payload, payload[0] > payload[1])
    worst = {
        bar.subject: bar
        for state in checked.mass.states
        for bar in sorted(state.bars, key=lambda bar: bar.load)
    }
    for subject in _MAIN_BARS:
        bar = worst.get(subject)
        if bar is not None:
            load = max(used(bar.load), Decimal(0))
            yield LoadBar(LOADS[subject], load, left(bar.rating), bar.left < 0)


def pictures_of(view: PackageView, language: Language) -> tuple[str, ...]:
    """The package as it is drawn: from the side, from a corner above, and the inside."""
    layout = view.check.layout
    found = [*whole_pictures(view.build, language)]
    if layout is not None and layout.placements:
        travels = travels_of(view.build.catalogue, layout)
        drawn = compact_drawing(layout, travels, view.title, *_DRAWING, speech=language)
        found += [drawn.views, drawn.plan]
    return tuple(picture for picture in found if picture)


def whole_pictures(build: Build, language: Language, prefix: str = "") -> tuple[str, ...]:
    """The vehicle from the side and, where units have their places, the package from a corner.

    The prefix begins the ids in them, where several packages are on one page.
    """
    known, layout = resolved(build), build.check().layout
    found = [vehicle_svg(known, layout, f"{prefix}vehicle-", (174.0, 110.0), speech=language)]
    if layout is not None and layout.placements:
        corner = f"{prefix}corner-"
        found.append(
            corner_svg(known, layout, prefix=corner, paper=(174.0, 120.0), speech=language)
        )
    return tuple(picture for picture in found if picture)
