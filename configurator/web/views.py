"""What a page shows of a package: the choices with the state of every option, and the facts.

Words, figures and tables are those of the papers; a page adds none of its own but labels.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from functools import lru_cache

from attrs import evolve, frozen

from configurator.build import Build
from configurator.catalogue.model import ADD_ON, VEHICLE, Choice
from configurator.checking.check import Check
from configurator.drawing.layouts import compact_drawing, travels_of
from configurator.engine.availability import OptionAnswer
from configurator.engine.ways_out import Fixes
from configurator.errors import SearchLimit
from configurator.fit.layout import Placement
from configurator.money import Money
from configurator.pricing.whole import Price
from configurator.render.language import Language
from configurator.report.layout import space_told
from configurator.report.mass import LOADS, mass_facts
from configurator.report.model import Table
from configurator.report.power import power_facts
from configurator.report.price import price_sums, price_table
from configurator.selection.picks import Customer
from configurator.shop import Shop
from configurator.web.state import State, packed, written
from configurator.words import left, text, used

STATES = {
    "picked": text("picked"),
    "open": text("available"),
    "implied": text("the only one left"),
    "instead": text("available instead"),
    "ruled-out": text("not available"),
    "undecided": text("not settled yet"),
}
"""What the page calls the states of an option."""

_DRAWING = (150.0, 330.0)
"""Room for the drawing, mm: views below each other, each about as wide as its column."""

_MAIN_BARS = ("gvm", "front-axle", "rear-axle", "tow-ball")


@frozen
class GroupLink:
    """A group of choices as the page lists it.

    Attributes:
        id: id of the group.
        title: its title.
        open: how many of its choices still have to be made.
        here: it is the one that is looked at.
    """

    id: str
    title: str
    open: int
    here: bool


@frozen
class OptionRow:
    """An option as a button.

    Attributes:
        id: id of the option.
        title: its title.
        text: more about it, or empty.
        state: as in :data:`STATES`.
        label: the state in words.
        quantity: how many are picked.
        most: how many may be picked.
        price: of one, or what it does to the total in place of a pick; None where it is open.
        instead: the price is a difference.
    """

    id: str
    title: str
    text: str
    state: str
    label: str
    quantity: int
    most: int
    price: Money | None
    instead: bool


@frozen
class ChoiceCard:
    """A choice with its options.

    Attributes:
        id: id of the choice.
        title: its title.
        text: more about it, or empty.
        pick: ``one``, ``at-most-one`` or ``several``.
        needed: it still has to be made.
        options: its options.
    """

    id: str
    title: str
    text: str
    pick: str
    needed: bool
    options: tuple[OptionRow, ...]


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
class Reasons:
    """Why an option is not available, and what would make it so.

    Attributes:
        title: of the option.
        choice: id of its choice.
        option: its id.
        premises: because of these.
        conclusion: what follows from them.
        hint: what would help, or empty.
        fixes: changes after which it goes, each in words and as the button that makes it.
        available: it is available after all.
        looking: the ways out are still being looked for.
    """

    title: str
    choice: str
    option: str
    premises: tuple[str, ...]
    conclusion: str
    hint: str
    fixes: tuple[tuple[str, str], ...]
    available: bool
    looking: bool = False


@frozen
class PackageView:
    """Everything that the page of a package shows."""

    state: State
    title: str
    customer: Customer
    groups: tuple[GroupLink, ...]
    build: Build
    check: Check
    to_choose: tuple[tuple[str, str, str], ...]
    price: Price
    package: Table
    sums: Table
    difference: Money | None
    bars: tuple[LoadBar, ...]
    sizes: Table | None
    power: Table
    drawing: str
    spaces: tuple[str, ...]
    units: tuple[Placement, ...]


def package_view(shop: Shop, state: State, before: State, language: Language) -> PackageView:
    """What the page shows of a package, but for the choices: facts, which are quick.

    Args:
        shop: the shop.
        state: of the package now.
        before: of the package before the last tap, which the price is told against.
        language: of the page.

    Raises:
        SelectionError: the selection cannot be understood.
    """
    build = state.build(shop)
    checked = build.check()
    price = build.price()
    was = before.build(shop).price() if before.selection != state.selection else price
    groups = groups_of(shop)
    needed = {finding.subject for finding in checked.to_choose}
    here = state.group if state.group in groups else next(iter(groups))
    return PackageView(
        state=state,
        build=build,
        title=build.selection.title or shop.catalogue.title,
        customer=build.selection.customer or Customer(""),
        groups=tuple(
            GroupLink(id_, title, sum(c.id in needed for c in choices), id_ == here)
            for id_, (title, choices) in groups.items()
        ),
        check=checked,
        to_choose=tuple(
            (id_, choice.id, choice.title)
            for id_, (_, choices) in groups.items()
            for choice in choices
            if choice.id in needed
        ),
        price=price,
        package=price_table(price),
        sums=price_sums(price),
        difference=price.total - was.total if price.total != was.total else None,
        bars=tuple(_bars(checked)),
        sizes=None if checked.mass is None else mass_facts(checked.mass, for_customer=True),
        power=power_facts(checked.power, for_customer=True),
        drawing=_drawing(shop, build, checked, language),
        spaces=_spaces(checked),
        units=checked.layout.placements if checked.layout else (),
    )


@lru_cache(maxsize=4)
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


def card_of(
    shop: Shop, view: PackageView, choice: Choice, states: tuple[OptionAnswer, ...] | None
) -> ChoiceCard:
    """A choice with its options.

    Args:
        shop: the shop.
        view: the facts.
        choice: the choice.
        states: of its options; None where they are not settled yet.
    """
    by_option = {one.option: one for one in states or ()}
    prices = _prices(shop, choice.id)
    rows = []
    for option in choice.options:
        found = by_option.get(option.id)
        quantity = view.build.selection.quantity(choice.id, option.id)
        state = _state(found, quantity)
        difference = found.difference if found is not None else None
        rows.append(
            OptionRow(
                id=option.id,
                title=option.title,
                text=option.text,
                state=state,
                label=STATES[state] if states is not None or quantity else "",
                quantity=quantity,
                most=option.most,
                price=prices.get(option.id) if difference is None else difference,
                instead=difference is not None,
            )
        )
    needed = any(finding.subject == choice.id for finding in view.check.to_choose)
    return ChoiceCard(choice.id, choice.title, choice.text, choice.pick, needed, tuple(rows))


@lru_cache(maxsize=500)
def _prices(shop: Shop, choice: str) -> Mapping[str, Money | None]:
    """What each option costs that has a price of its own."""
    offered = shop.list(choice).choices[0]
    return {one.option: one.price for one in offered.options if one.priced}


def _state(found: OptionAnswer | None, quantity: int) -> str:
    if quantity:
        return "picked"
    return "undecided" if found is None else found.state


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


def _drawing(shop: Shop, build: Build, checked: Check, language: Language) -> str:
    layout = checked.layout
    if layout is None or not layout.placements:
        return ""
    named = build.selection.title or shop.catalogue.title
    travels = travels_of(shop.catalogue, layout)
    drawn = compact_drawing(layout, travels, named, *_DRAWING, speech=language)
    return drawn.views + drawn.plan


def _spaces(checked: Check) -> tuple[str, ...]:
    layout = checked.layout
    if layout is None:
        return ()
    return tuple(told for space in layout.spaces for told in space_told(layout, space))


def reasons_of(shop: Shop, state: State, why: str) -> Iterator[Reasons]:
    """Why the option asked about is not available; of no option, what mends the picks.

    The reason comes first, then all of it with the ways out, which take longer.

    Args:
        shop: the shop.
        state: of the package.
        why: a colon, and CHOICE:OPTION or nothing.
    """
    build = state.build(shop)
    choice, _, option = why.removeprefix(":").partition(":")
    if not option:
        fixes = _taps(build.fixes())
        told = "" if fixes else text("no change of a few picks mends it")
        yield Reasons(text("Ways out"), "", "", (), told, "", fixes, available=False)
        return
    title = shop.catalogue.option(choice, option).title
    none = Reasons(title, choice, option, (), "", "", (), available=False)
    try:
        conflict = build.explain(choice, option).conflict
        if conflict is None:
            yield evolve(none, available=True)
            return
        premises, conclusion = tuple(conflict.premises), conflict.conclusion
        found = evolve(none, premises=premises, conclusion=conclusion, hint=conflict.hint)
        yield evolve(found, looking=True)
        yield evolve(found, fixes=_taps(build.fixes(choice, option)))
    except SearchLimit:
        told = text("why not is not settled yet; the command line may take longer over it")
        yield evolve(none, conclusion=told)


def _taps(found: Fixes) -> tuple[tuple[str, str], ...]:
    """Each change in words, and the button that makes it."""
    return tuple((fix.words, "take:" + packed(written(fix.selection))) for fix in found.fixes)
