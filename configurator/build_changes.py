"""What is picked from a shop's catalogue, as a value; each change gives another."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from pathlib import Path
from typing import Any, NoReturn, Self

import attrs
from attrs import field, frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Catalogue
from configurator.errors import (
    NOWHERE,
    ConfiguratorError,
    Location,
    Problem,
    SelectionError,
    cut,
)
from configurator.machine.paths import path_of
from configurator.selection.picks import (
    Adjustment,
    Customer,
    FreeLine,
    Override,
    Selection,
    TradeIn,
    Wish,
)
from configurator.selection.resolved import Resolved
from configurator.selection.validate import selection_problems
from configurator.selection.values import require_fields, require_figure, require_kind
from configurator.words import near_miss, text


def resolved(build: BuildChanges) -> Resolved:
    """What the build knows already, for papers and pages that ask more of it."""
    return build._resolved


def _require_texts(**named: object) -> None:
    for name, value in named.items():
        require_kind(name, value, str)


def _exact(name: str, figure: Decimal | int | None) -> Decimal | None:
    """The figure with its digits, where there is one."""
    if figure is None:
        return None
    require_figure(name, figure)
    return Decimal(figure)


SIDES = ("left", "right", "rear")
"""Where a unit can be wished."""

_MOST_LISTED = 8

_LONGEST_NAME = 120
"""The longest name of a customer, as in a selection."""


@frozen(eq=False, repr=False)
class BuildChanges:
    """What is picked from a shop's catalogue, and every change of it.

    It never changes: each change gives a new one.

    Attributes:
        remark: of a quote opened again, what has changed since; else empty.
    """

    _resolved: Resolved
    remark: str = field(default="", kw_only=True)

    def __repr__(self) -> str:
        title, kind = self.selection.title[:60], type(self).__name__
        picks = len(self.selection.picks)
        return cut(f"{kind}({title!r}, {picks} picks from {self.catalogue.id!r})")

    def __reduce__(self) -> NoReturn:
        raise TypeError(
            "a build holds the whole catalogue, with what the shop pays: pickle its selection, or "
            "an answer, such as check()"
        )

    @property
    def catalogue(self) -> Catalogue:
        """The shop's catalogue, with the prices of one day.

        Example:
            >>> wish.catalogue.currency
            'AUD'
        """
        return self._resolved.catalogue

    @property
    def selection(self) -> Selection:
        """What is picked.

        Example:
            >>> wish.selection.one("canopy-height")
            '850mm'
        """
        return self._resolved.selection

    @property
    def problems(self) -> tuple[Problem, ...]:
        """What keeps the selection from being understood; every question raises for it.

        Example:
            >>> shop.build().pick("canopy-hight", "850mm").problems[0].code
            'unknown-choice'
        """
        return selection_problems(self._resolved)

    def change(self, **fields: Any) -> Self:
        """The build with fields of its :class:`Selection` replaced.

        Raises:
            TypeError: a selection has no such field, or what it is given is not of its type.

        Example:
            >>> wish.change(title="Weekends").selection.title
            'Weekends'
        """
        known = attrs.fields_dict(Selection)
        for name in fields:
            if name not in known:
                hint = near_miss(name, known) or f"known: {', '.join(known)}"
                raise TypeError(f"a selection has no field {name!r}; {hint}")
        changed = attrs.evolve(self.selection, **fields)
        require_fields("selection", changed, Selection)
        return self._having(changed)

    def _having(self, selection: Selection) -> Self:
        return attrs.evolve(self, resolved=self._resolved.having(selection))

    def _require_picked(self, what: str, named: Pick, choices: Iterable[str]) -> None:
        """Raise unless what is named is picked; the choices are those it may be of.

        Raises:
            SelectionError: it is not.
        """
        picked = self.selection.chosen.get(named.choice, ())
        if named.option in (picked and ("", *picked)):
            return
        known = dict.fromkeys(picked or choices)
        hint = near_miss(named.option if picked else named.choice, known)
        if named.option in SIDES:
            hint = f'write the side as side="{named.option}"'
        where = Location(f"{what} {named}", 0, 0) if named.at is NOWHERE else named.at
        if not hint and len(known) <= _MOST_LISTED:
            hint = f"picked: {', '.join(known)}" if known else f"there is nothing to {what}"
        raise SelectionError([Problem(where, f'"{named}" is not picked', "not-picked", hint)])

    def pick(
        self,
        choice: str,
        option: str,
        quantity: int | Decimal = 1,
        *,
        at: Location = NOWHERE,
    ) -> Self:
        """The build with the option picked; in a choice of one it replaces what was picked.

        What was about a pick that is replaced, such as a wish or a discount, goes with it. A name
        that the catalogue does not know is told of with the next question.

        Args:
            choice: id of the choice; ``add-on`` for an accepted extra.
            option: id of the option.
            quantity: how many in all, or how much of what is sold by measure.
            at: where that was said, for messages.

        Example:
            >>> wish.pick("canopy-height", "1000mm").selection.one("canopy-height")
            '1000mm'
        """
        _require_texts(choice=choice, option=option)
        require_figure("quantity", quantity)
        require_kind("at", at, Location)
        picked = self._resolved.picking(Pick.counting(choice, option, quantity, at))
        replaced = {*self.selection.chosen.get(choice, ())} - {*picked.chosen.get(choice, ())}
        return self._having(picked.tidied(choice) if replaced else picked)

    def drop(self, choice: str, option: str = "", *, at: Location = NOWHERE) -> Self:
        """The build without the option, or without any pick in the choice.

        What was about it, such as a wish or a discount, goes with it.

        Args:
            choice: id of the choice.
            option: id of the option; empty for all that is picked in the choice.
            at: where that was said, for messages.

        Raises:
            SelectionError: it is not picked.

        Example:
            >>> wish.drop("upright-fridge").selection.one("upright-fridge")
        """
        _require_texts(choice=choice, option=option)
        require_kind("at", at, Location)
        self._require_picked("drop", Pick(choice, option, at=at), self.selection.chosen)
        return self._having(self.selection.without(choice, option).tidied(choice))

    def without(self, choice: str, *, at: Location = NOWHERE) -> Self:
        """The build with the choice settled: none of its options is wanted.

        Args:
            choice: id of a choice of at most one or several; what is picked in it is left out.
            at: where that was said, for messages.

        Example:
            >>> wish.without("upright-fridge").options("upright-fridge").options[0].state
            'instead'
        """
        _require_texts(choice=choice)
        require_kind("at", at, Location)
        rest = self.selection.without(choice)
        none = (*rest.none, Pick(choice, at=at))
        return self._having(attrs.evolve(rest, none=none).tidied(choice))

    def tidied(self) -> Self:
        """The build without whatever is about no pick any more, such as a wish or a discount.

        Example:
            >>> wish.tidied().selection.title
            'Weekends, with the large fridge'
        """
        return self._having(self.selection.tidied())

    def place(
        self,
        choice: str,
        option: str = "",
        *,
        side: str = "",
        towards: str = "",
        x: int | None = None,
        y: int | None = None,
        z: int | None = None,
        at: Location = NOWHERE,
    ) -> Self:
        """The build with units wished in a place, instead of wherever they were wished before.

        Args:
            choice: id of the choice.
            option: id of the option; empty for all that is picked in the choice.
            side: ``left``, ``right`` or ``rear``.
            towards: ``front`` or ``rear``.
            x: exact position, mm from the front of the space.
            y: exact position, mm from the left.
            z: exact position, mm from the floor.
            at: where that was said, for messages.

        Raises:
            SelectionError: it is not picked.

        Example:
            >>> wish.place("upright-fridge", side="left").selection.wishes[-1].side
            'left'
        """
        _require_texts(choice=choice, option=option)
        require_kind("at", at, Location)
        placeable = [choice.id for choice, option, _ in self._resolved.picks if option.unit]
        self._require_picked("place", Pick(choice, option, at=at), placeable)
        names = [option] if option else self.selection.chosen[choice]
        wishes = [Wish(choice, each, side, towards, x, y, z, at=at) for each in names]
        kept = (w for w in self.selection.wishes if w.choice != choice or w.option not in names)
        return self.change(wishes=(*kept, *wishes))

    def travel(
        self,
        *,
        people: int | None = None,
        tow_ball: Decimal | int | None = None,
        trailer: Decimal | int | None = None,
        place: str | None = None,
        season: str | None = None,
        driving: Decimal | int | None = None,
    ) -> Self:
        """The build used so; what is not given stays.

        Args:
            people: how many travel.
            tow_ball: download on the tow ball, kg.
            trailer: mass of the laden trailer, kg.
            place: id of the place whose sun counts.
            season: ``summer``, ``winter`` or ``year``.
            driving: hours driven a day.

        Example:
            >>> wish.travel(people=4).selection.travel.people
            4
        """
        said = {
            "people": people,
            "tow_ball": _exact("tow_ball", tow_ball),
            "trailer": _exact("trailer", trailer),
            "place": place,
            "season": season,
            "driving": _exact("driving", driving),
        }
        given: dict[str, Any] = {name: value for name, value in said.items() if value is not None}
        return self.change(travel=attrs.evolve(self.selection.travel, **given))

    def for_customer(self, name: str) -> Self:
        """The build for this customer; of another one before, no telephone or address is kept.

        Args:
            name: of the customer, for whom it can then be issued.

        Raises:
            ConfiguratorError: the name is empty, or longer than a line.

        Example:
            >>> wish.for_customer("Ottilie Brandgrove").selection.customer.name
            'Ottilie Brandgrove'
        """
        _require_texts(name=name)
        if not name.strip() or len(name) > _LONGEST_NAME or not name.isprintable():
            told = text("a customer's name is one line of 1 to {most} letters", most=_LONGEST_NAME)
            raise ConfiguratorError(told)
        known = self.selection.customer
        return self if known and known.name == name else self.change(customer=Customer(name))

    def add(self, line: FreeLine, quantity: int | Decimal = 1) -> Self:
        """The build with a line that the catalogue does not have.

        Args:
            line: what it is, its price and its mass, kg.
            quantity: how many, or how much of what is measured.

        Example:
            >>> mirrors = FreeLine("mirrors", "Mirrors", Decimal(180), Decimal(3))
            >>> wish.add(mirrors, 2).selection.quantity("free-line", "mirrors")
            2
        """
        wanted = "a FreeLine; what the catalogue has is picked, add-ons too: pick(CHOICE, OPTION)"
        require_kind("line", line, FreeLine, wanted)
        require_figure("quantity", quantity)
        return self._having(self.selection.adding(line, quantity))

    def adjust(self, adjustment: Adjustment) -> Self:
        """The build with a discount or surcharge, with its reason.

        Args:
            adjustment: in per cent or as an amount, on everything, a group or a line.

        Example:
            >>> off = Adjustment("Show price", "Show.", amount=Decimal(-5))
            >>> print(wish.adjust(off).price().total)
            AUD 27,515.00
        """
        require_kind("adjustment", adjustment, Adjustment)
        return self.change(adjustments=(*self.selection.adjustments, adjustment))

    def trade_in(self, trade_in: TradeIn) -> Self:
        """The build with something taken in payment.

        Example:
            >>> print(wish.trade_in(TradeIn("Old tray", "Worn.", Decimal(600))).price().to_pay)
            AUD 26,920.00
        """
        require_kind("trade_in", trade_in, TradeIn)
        return self.change(trade_ins=(*self.selection.trade_ins, trade_in))

    def override(self, override: Override) -> Self:
        """The build with a rating overridden by someone who answers for it; every paper says so.

        Example:
            >>> wish.override(Override("gvm", "Ida", "Plated higher.")).selection.overrides[0].name
            'Ida'
        """
        require_kind("override", override, Override)
        return self.change(overrides=(*self.selection.overrides, override))

    def save(self, path: Path | str) -> None:
        """Write the selection as a file to be opened, quoted or changed.

        Args:
            path: the file, .yaml or .json.

        Raises:
            ConfiguratorError: the name ends in something else, or is that of a catalogue.
            FileError: it cannot be written.

        Example:
            >>> wish.save("wish-2.yaml")
        """
        from configurator.render.writing import write_selection

        write_selection(self._resolved, path_of("path", path))
