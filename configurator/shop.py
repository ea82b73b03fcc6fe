"""The one door for programs: a shop with its catalogue, and builds that answer every question.

    shop = open_shop("quandong.yaml")
    build = shop.build("touring.yaml").pick("finish", "powder-doors")
    build.check().stops
    build.price().price.total
    shop.write(build.quote("Q-2041", day), "quote.pdf")

Each command of the command line is a method of the same name, of :class:`Shop` or :class:`Build`.
"""

from __future__ import annotations

import datetime as dt
import threading
import time
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

import attrs
from attrs import field, frozen

from configurator.catalogue.model import Catalogue, Choice, Pick
from configurator.catalogue.reading import as_text, parse_catalogue, read_text, shipped
from configurator.errors import (
    NOWHERE,
    CatalogueError,
    ConfiguratorError,
    Location,
    Problem,
    SelectionError,
    by_place,
    near_miss,
)
from configurator.money import Money
from configurator.selection.picks import (
    Adjustment,
    Budget,
    FreeLine,
    Override,
    Selection,
    TradeIn,
    Wish,
)
from configurator.selection.resolved import Resolved
from configurator.selection.validate import require_kept, require_known, selection_problems
from configurator.selection.values import require_kind

if TYPE_CHECKING:
    from configurator.answers.shop import Sheets
    from configurator.answers.values import Choices, LayoutAnswer, MassAnswer, PowerAnswer
    from configurator.checking.check import Check
    from configurator.engine.answers import (
        Completion,
        ExplainAnswer,
        Fixes,
        OptionsAnswer,
        WithinAnswer,
    )
    from configurator.engine.search import Search
    from configurator.pricing.margin import Margin
    from configurator.pricing.whole import Price
    from configurator.render.look import Look
    from configurator.report.batch import Quoted
    from configurator.report.budget import BudgetPaper
    from configurator.report.comparison import Comparison
    from configurator.report.quote import Quote
    from configurator.suggested import Suggestion

__all__ = ["Build", "Shop", "check_catalogue", "open_shop"]

Source: TypeAlias = Path | str | bytes | Mapping[str, Any]
"""A file by its path, or what would be in it: text, bytes, or a mapping.

A ``str`` is a path unless it has more than one line or begins with ``{``.
"""

_MOST_BYTES = 30_000_000


def open_shop(
    catalogue: Source | None = None,
    day: dt.date | None = None,
    *,
    today: dt.date | None = None,
    at: Location = NOWHERE,
) -> Shop:
    """Open a shop by its catalogue.

    Args:
        catalogue: the catalogue's path, or its text, bytes or data; None for the shipped one.
        day: the day whose prices count; None for today, or where the catalogue has none for today,
            the nearest day that has, which :attr:`Shop.remark` then says.
        today: the day it is; None for the clock's.
        at: where the day was named, for messages.

    Raises:
        CatalogueError: with every error found.
        FileError: the file cannot be read.
        SelectionError: the catalogue has no prices for that day.

    Example:
        >>> open_shop("catalogues/quandong.yaml", dt.date(2026, 8, 3)).day
        datetime.date(2026, 8, 3)
    """
    read, problems = _read(catalogue)
    if read is None:
        raise CatalogueError(problems)
    if day is None:
        return Shop(read).on_nearest(today or dt.date(*time.localtime()[:3]))
    unpriced = read.unpriced_on(day)
    if unpriced:
        hint = "give a day on which they hold, or bring the catalogue up to date"
        where = at if at is not NOWHERE else Location(day.isoformat(), 0, 0)
        raise SelectionError([Problem(where, unpriced, "day-without-prices", hint)])
    return Shop(read.on(day))


def check_catalogue(
    catalogue: Source | None = None, *, deep: bool = False
) -> tuple[Shop | None, tuple[Problem, ...]]:
    """The shop, where its catalogue can be used, and everything there is to say of the catalogue.

    Args:
        catalogue: as for :func:`open_shop`.
        deep: whether to search it too; see :meth:`Shop.check`.

    Raises:
        FileError: the file cannot be read.
        SearchLimit: the search gave up.

    Example:
        >>> check_catalogue("catalogues/quandong.yaml")[1]
        ()
    """
    read, problems = _read(catalogue)
    if read is None:
        return None, problems
    shop = Shop(read)
    return shop, by_place((*problems, *shop.check(deep)))


def _read(source: Source | None) -> tuple[Catalogue | None, tuple[Problem, ...]]:
    """The catalogue, or what is wrong with it, and whatever else there is to say of its text."""
    if source is None:
        source = shipped("catalogues") / "quandong.yaml"
    path = _path(source)
    if path is not None:
        return parse_catalogue(read_text(path), str(path))
    return parse_catalogue(_text(source, "catalogue"), "catalogue")


def _path(source: object) -> Path | None:
    """The path, where that is what it is."""
    if isinstance(source, str) and "\n" not in source and not source.lstrip().startswith("{"):
        return Path(source)
    return source if isinstance(source, Path) else None


def _text(source: Source, name: str) -> str:
    if isinstance(source, bytes):
        return as_text(source, name)
    if not isinstance(source, Mapping):
        return str(source)
    from configurator.answers.data import to_json

    return to_json(dict(source))


@frozen(eq=False, repr=False)
class Shop:
    """A shop: its catalogue, opened, with the prices of one day.

    It may be shared by threads: each has a search engine of its own.

    Attributes:
        catalogue: what the shop offers.
        remark: what has to be said of the prices shown, or empty.
    """

    catalogue: Catalogue
    remark: str = ""
    _engines: threading.local = field(factory=threading.local, init=False)

    def __attrs_post_init__(self) -> None:
        require_kind("catalogue", self.catalogue, Catalogue)

    def __repr__(self) -> str:
        return f"Shop({self.catalogue.id!r}, prices of {self.catalogue.price_day})"

    @property
    def day(self) -> dt.date:
        """The day whose prices count.

        Example:
            >>> shop.day
            datetime.date(2026, 8, 3)
        """
        return dt.date.fromisoformat(self.catalogue.price_day)

    def on_nearest(self, day: dt.date) -> Shop:
        """The shop with the prices of the day, or of the nearest for which it has any.

        Example:
            >>> shop.on_nearest(dt.date(2001, 1, 1)).day
            datetime.date(2026, 7, 1)
        """
        valid = self.catalogue.valid
        first, until = map(dt.date.fromisoformat, (valid.first, valid.until))
        nearest = min(max(day, first), until)
        remark = ""
        if nearest != day:
            said = self.catalogue.unpriced_on(day)
            remark = f"{self.catalogue.source}: note: {said}; shown are those of {nearest}"
        return Shop(self.catalogue.on(nearest), remark)

    def build(self, selection: Source | Selection | None = None) -> Build:
        """A build from a selection; whether its names mean anything is asked with each question.

        Args:
            selection: its path, text, bytes or data, or a :class:`Selection`; a PDF that carries
                one counts as its file (of several, ``comparison.pdf#B`` names one); None for
                nothing picked yet.

        Raises:
            SelectionError: with every error of shape found.
            FileError: the file cannot be read.

        Example:
            >>> shop.build("catalogues/selections/wish.yaml").selection.title
            'Weekends, with the large fridge'
        """
        from configurator.selection.reading import OpenedSelection, open_selection

        if selection is None:
            return Build(self, Resolved(self.catalogue, Selection(self.catalogue.id)))
        if isinstance(selection, Selection):
            return Build(self, Resolved(self.catalogue, selection))
        path = _path(selection)
        if path is not None:
            opened = open_selection(path)
        else:
            if not isinstance(selection, str | bytes | Mapping):
                require_kind("selection", selection, Selection)
            content = selection if isinstance(selection, bytes) else _text(selection, "").encode()
            opened = OpenedSelection("selection", content)
        remark = opened.told_by_paper(self.catalogue.digest)
        return Build(self, Resolved(self.catalogue, opened.selection()), remark)

    def check(self, deep: bool = False) -> tuple[Problem, ...]:
        """Cautions about the catalogue: what can be read and is hardly meant; most can be sold.

        Args:
            deep: whether to search it too for what nobody can pick and what has no effect, which
                takes a while.

        Raises:
            SearchLimit: the search gave up.

        Example:
            >>> shop.check()
            ()
        """
        from configurator.checking.catalogue import catalogue_cautions
        from configurator.render.look import look_problems

        found = [*catalogue_cautions(self.catalogue), *look_problems(self.catalogue.shop)]
        if deep:
            from configurator.engine.review import review

            found += review(self._engine())
        return by_place(found)

    def list(self, *choices: str) -> Choices:
        """The choices, all by default, with their options, ids and prices, tax as in the catalogue.

        Args:
            choices: ids of the choices asked about.

        Raises:
            ConfiguratorError: there is no such choice.

        Example:
            >>> shop.list("canopy-height").choices[0].options[0].title
            'Low, 700 mm'
        """
        from configurator.answers.values import Choices

        asked = [self._choice(choice) for choice in choices]
        return Choices.of(self.catalogue, asked or self.catalogue.by_id.values())

    def compare(self, builds: Sequence[Build], titles: Sequence[str] = ()) -> Comparison:
        """Builds side by side on price, mass and what they hold, differences first.

        Args:
            builds: two or more of this shop.
            titles: a name for each; by default its selection's title, or its letter.

        Raises:
            SelectionError: one of them cannot be understood.
            ValueError: there are fewer than two, or not as many titles.

        Example:
            >>> print(shop.compare([wish, taller]).differences[1])
            AUD 815.00
        """
        from configurator.report.comparison import compare

        named = [b.selection.title or chr(65 + index) for index, b in enumerate(builds)]
        return compare(self.catalogue, [b.selection for b in builds], list(titles) or named)

    def batch(
        self,
        folder: Path | str,
        output: Path | str,
        day: dt.date,
        prefix: str = "",
        *,
        page: str | None = None,
        language: str | None = None,
        templates: Path | str | None = None,
        processes: int | None = None,
    ) -> Iterator[Quoted]:
        """Quote every selection of a folder into another one, on all processor cores.

        Args:
            folder: with the selections.
            output: the folder for the quotes; it is made where it is missing.
            day: day of issue.
            prefix: what stands before a file's name in its quote's number.
            page: ``A4`` or ``Letter``; None for the catalogue's.
            language: such as ``en-AU`` or ``de``; None for the catalogue's.
            templates: a folder with templates of the shop's own.
            processes: how many work at once; None for one on each core.

        Yields:
            What became of each selection, as soon as it is known.

        Raises:
            ConfiguratorError: nothing can be quoted at all.

        Example:
            >>> jobs = shop.batch("catalogues/selections", "quotes", shop.day, processes=1)
        """
        from functools import partial

        from configurator.render.batch import jobs_of, quote_all
        from configurator.render.files import make_folder
        from configurator.render.look import look_of

        jobs = jobs_of(Path(folder), Path(output), prefix)
        own = None if templates is None else Path(templates)
        look_for = partial(look_of, page=page, tag=language, templates=own)
        make_folder(Path(output))
        return quote_all(self.catalogue, jobs, day, processes, look_for)

    def write(
        self,
        answer: Any,
        path: Path | str,
        *,
        page: str | None = None,
        language: str | None = None,
        templates: Path | str | None = None,
    ) -> None:
        """Write an answer as the ending of the file's name asks: whole or not at all.

        A quote, comparison, build budget or layout as .pdf or .html, a layout, mass or power
        answer as .svg, any answer as .json, a selection or build as .yaml or .json. Sheets
        are for :meth:`write_sheets`.

        Args:
            answer: what a method of this shop or of its builds gave.
            path: the file; missing folders are made.
            page: ``A4`` or ``Letter``; None for the catalogue's.
            language: such as ``en-AU`` or ``de``; None for the catalogue's.
            templates: a folder with templates of the shop's own.

        Raises:
            ConfiguratorError: the answer cannot be written so, or no paper speaks the language.
            FileError: it cannot be written.
            MissingLibrary: a PDF is asked for and the renderer's libraries are missing.

        Example:
            >>> shop.write(taller.quote("Q-2041", shop.day), "quote.html")
        """
        from configurator.render.writing import write

        if isinstance(answer, Build):
            answer.save(path)
        else:
            write(answer, Path(path), lambda: self._look(page, language, templates))

    def write_sheets(
        self,
        sheets: Sheets,
        folder: Path | str,
        kind: str = "pdf",
        *,
        page: str | None = None,
        language: str | None = None,
        templates: Path | str | None = None,
    ) -> None:
        """Write the sheets of a job into a folder, all of them or none.

        Args:
            sheets: what :meth:`Build.sheets` gave.
            folder: for ``job``, ``wiring`` and ``orders``; made where it is missing.
            kind: ``pdf``, ``html`` or ``json``.
            page: as for :meth:`write`.
            language: as for :meth:`write`.
            templates: as for :meth:`write`.

        Raises:
            ConfiguratorError: no paper speaks the language, or a template cannot be used.
            FileError: they cannot be written.
            MissingLibrary: PDFs are asked for and the renderer's libraries are missing.

        Example:
            >>> shop.write_sheets(taller.sheets("J-7", shop.day), "sheets", "json")
        """
        from configurator.render.sheets import write_sheets

        write_sheets(sheets, Path(folder), kind, self._look(page, language, templates))

    def _look(self, page: str | None, language: str | None, templates: Path | str | None) -> Look:
        from configurator.render.look import look_of

        own = None if templates is None else Path(templates)
        return look_of(self.catalogue.shop, page, language, own)

    def _engine(self) -> Search:
        """This thread's search engine, compiled once."""
        found: Search | None = getattr(self._engines, "search", None)
        if found is None:
            from configurator.engine.search import Search

            found = self._engines.search = Search(self.catalogue)
        return found

    def _choice(self, choice: str) -> Choice:
        if choice not in self.catalogue.by_id:
            hint = near_miss(choice, self.catalogue.by_id)
            raise ConfiguratorError(f"there is no choice {choice!r}. {hint}".strip())
        return self.catalogue.by_id[choice]


@frozen(eq=False, repr=False)
class Build:
    """A package in the making: what is picked from a shop's catalogue, and every answer about it.

    A build never changes: each change gives a new one. What follows from it is worked out once.

    Attributes:
        shop: whose catalogue it is picked from.
        remark: of a quote opened again, what has changed since; else empty.
    """

    shop: Shop
    _resolved: Resolved
    remark: str = ""

    def __repr__(self) -> str:
        title = self.selection.title[:60]
        return f"Build({title!r}, {len(self.selection.picks)} picks from {self.shop!r})"

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

    # Changes

    def change(self, **fields: Any) -> Build:
        """The build with fields of its :class:`Selection` replaced.

        Raises:
            TypeError: a selection has no such field.

        Example:
            >>> wish.change(title="Weekends").selection.title
            'Weekends'
        """
        changed = attrs.evolve(self.selection, **fields)
        return attrs.evolve(self, resolved=self._resolved.having(changed))

    def _having(self, selection: Selection) -> Build:
        return attrs.evolve(self, resolved=self._resolved.having(selection))

    def pick(self, choice: str, option: str, quantity: int = 1, *, at: Location = NOWHERE) -> Build:
        """The build with the option picked; in a choice of one it replaces what was picked.

        Args:
            choice: id of the choice; ``add-on`` for an accepted extra.
            option: id of the option.
            quantity: how many in all.
            at: where that was said, for messages.

        Example:
            >>> wish.pick("canopy-height", "1000mm").selection.one("canopy-height")
            '1000mm'
        """
        return self._having(self._resolved.picking(Pick(choice, option, quantity, at=at)))

    def drop(self, choice: str, option: str = "", *, at: Location = NOWHERE) -> Build:
        """The build without the option, or without any pick in the choice.

        Args:
            choice: id of the choice.
            option: id of the option; empty for all that is picked in the choice.
            at: where that was said, for messages.

        Raises:
            SelectionError: it is not picked.

        Example:
            >>> wish.drop("upright-fridge").selection.one("upright-fridge")
        """
        picked = self.selection.chosen.get(choice, ())
        if not picked or option not in ("", *picked):
            by_id = self.shop.catalogue.by_id
            known = picked or (() if choice in by_id else tuple(by_id))
            hint = near_miss(option if picked else choice, known)
            where = (
                at
                if at is not NOWHERE
                else Location(f"drop {choice}{option and '='}{option}", 0, 0)
            )
            raise SelectionError([Problem(where, "it is not picked", "not-picked", hint)])
        return self._having(self.selection.without(choice, option).tidied())

    def tidied(self) -> Build:
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
    ) -> Build:
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
        picked = self.selection.chosen.get(choice, ())
        if not picked or option not in ("", *picked):
            catalogue = self.shop.catalogue
            placeable = [
                c
                for c in self.selection.chosen
                if any(o.unit for o in (catalogue.by_id[c].options if c in catalogue.by_id else ()))
            ]
            hint = near_miss(option, picked) if picked else near_miss(choice, placeable)
            known = ", ".join(picked or placeable) or "nothing that is placed"
            unit = f"{choice}{option and '='}{option}"
            sentence, where = (
                f'"{unit}" is not picked',
                at if at is not NOWHERE else Location(f"place {unit}", 0, 0),
            )
            raise SelectionError(
                [Problem(where, sentence, "not-picked", hint or f"picked: {known}")]
            )
        names = [option] if option else picked
        wishes = [Wish(choice, each, side, towards, x, y, z, at=at) for each in names]
        kept = (w for w in self.selection.wishes if w.choice != choice or w.option not in names)
        return self.change(wishes=(*kept, *wishes))

    def travel(
        self,
        *,
        people: int | None = None,
        tow_ball: Decimal | None = None,
        trailer: Decimal | None = None,
        place: str | None = None,
        season: str | None = None,
        driving: Decimal | None = None,
    ) -> Build:
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
            "tow_ball": tow_ball,
            "trailer": trailer,
            "place": place,
            "season": season,
            "driving": driving,
        }
        given: dict[str, Any] = {name: value for name, value in said.items() if value is not None}
        return self.change(travel=attrs.evolve(self.selection.travel, **given))

    def add(self, line: FreeLine, quantity: int = 1) -> Build:
        """The build with a line that the catalogue does not have.

        Args:
            line: what it is, its price and its mass, kg.
            quantity: how many.

        Example:
            >>> mirrors = FreeLine("mirrors", "Mirrors", Decimal(180), Decimal(3))
            >>> wish.add(mirrors, 2).selection.quantity("free-line", "mirrors")
            2
        """
        return self._having(self.selection.adding(line, quantity))

    def adjust(self, adjustment: Adjustment) -> Build:
        """The build with a discount or surcharge, with its reason.

        Args:
            adjustment: in percent or as an amount, on everything, a group or a line.

        Example:
            >>> off = Adjustment("Show price", "Show.", amount=Decimal(-5))
            >>> print(wish.adjust(off).price().total)
            AUD 27,515.00
        """
        return self.change(adjustments=(*self.selection.adjustments, adjustment))

    def trade_in(self, trade_in: TradeIn) -> Build:
        """The build with something taken in payment.

        Example:
            >>> print(wish.trade_in(TradeIn("Old tray", "Worn.", Decimal(600))).price().to_pay)
            AUD 26,920.00
        """
        return self.change(trade_ins=(*self.selection.trade_ins, trade_in))

    def override(self, override: Override) -> Build:
        """The build with a rating let pass by someone who answers for it; every paper says so.

        Example:
            >>> wish.override(Override("gvm", "Ida", "Plated higher.")).selection.overrides[0].name
            'Ida'
        """
        return self.change(overrides=(*self.selection.overrides, override))

    def save(self, path: Path | str) -> None:
        """Write the selection as a file to be opened, quoted or changed.

        Args:
            path: the file, .yaml or .json.

        Raises:
            ConfiguratorError: the name ends in something else.
            FileError: it cannot be written.

        Example:
            >>> wish.save("wish-2.yaml")
        """
        from configurator.render.writing import write_selection

        write_selection(self._resolved, Path(path))

    # Questions: facts

    def check(self) -> Check:
        """Everything there is to say about the build, most serious first.

        Raises:
            SelectionError: the selection cannot be understood.

        Example:
            >>> [finding.code for finding in wish.check().stops]
            ['fit']
        """
        from configurator.checking.check import check

        return check(self._resolved)

    def price(self) -> Price:
        """The price, complete or partial, tax as the catalogue has it.

        Raises:
            SelectionError: the selection cannot be understood.

        Example:
            >>> print(taller.price().total)
            AUD 28,335.00
        """
        from configurator.pricing.whole import price

        return price(self._resolved)

    def suggestions(self) -> tuple[Suggestion, ...]:
        """Add-ons that go with the build, with their reasons and prices; never in the total.

        Raises:
            SelectionError: the selection cannot be understood.

        Example:
            >>> wish.suggestions()[0].line.title
            'Fridge thermometer with a display in the cab'
        """
        from configurator.suggested import suggestions

        return suggestions(self._resolved)

    def margin(self) -> Margin:
        """What the shop pays and earns: for the shop's eyes only.

        Raises:
            SelectionError: the selection cannot be understood.

        Example:
            >>> wish.margin().percent > 0
            True
        """
        from configurator.pricing.margin import margin

        return margin(self._resolved)

    def layout(self, more: bool = False) -> LayoutAnswer:
        """Where everything sits, mm, or what does not go in together and what would help.

        Args:
            more: whether to try what else would fit too.

        Raises:
            SelectionError: the selection cannot be understood.

        Example:
            >>> [p.side for p in taller.layout().layout.placements][:2]
            ['left', 'right']
        """
        from configurator.answers.questions import layout

        return layout(self._resolved, more)

    def mass(self) -> MassAnswer | None:
        """Mass and axle loads against the ratings, kg: delivered, full, and with a trailer.

        None while no vehicle is picked. An estimate: a weighbridge, the maker's ratings and a
        licensed certifier decide.

        Raises:
            SelectionError: the selection cannot be understood.

        Example:
            >>> taller.mass().stops
            False
        """
        from configurator.answers.questions import mass

        return mass(self._resolved)

    def power(self) -> PowerAnswer:
        """What is drawn a day (Ah), how long the battery lasts, and every cable (mm2) and fuse (A).

        A planning aid: a licensed electrician decides.

        Raises:
            SelectionError: the selection cannot be understood.

        Example:
            >>> taller.power().stops
            False
        """
        from configurator.answers.questions import power

        return power(self._resolved)

    # Questions: the engine

    def options(self, *choices: str) -> OptionsAnswer:
        """For every option of the choices, all by default, whether it is available, or why not.

        Raises:
            ConfiguratorError: there is no such choice.
            SearchLimit: the search gave up on the picks themselves.
            SelectionError: the selection cannot be understood.

        Example:
            >>> [one.state for one in wish.options("canopy-height").options][:2]
            ['ruled-out', 'picked']
        """
        from configurator.engine import answers

        search = self._search()
        asked = [self.shop._choice(choice) for choice in choices]
        return answers.options(
            search, self._resolved, asked or tuple(search.catalogue.by_id.values())
        )

    def explain(self, choice: str = "", option: str = "", quantity: int = 1) -> ExplainAnswer:
        """Why an option is not available, or without one why the picks do not go together.

        Where another option of a choice of one is picked, that pick is set aside first.

        Args:
            choice: id of the choice.
            option: id of the option.
            quantity: how many in all.

        Raises:
            SearchLimit: the search gave up.
            SelectionError: the selection or the option cannot be understood.

        Example:
            >>> wish.explain("upright-fridge", "upright-170").possible
            False
        """
        from configurator.engine import answers

        search = self._search()
        return answers.explain(search, self._resolved, self._wanted(choice, option, quantity))

    def fixes(
        self, choice: str = "", option: str = "", *, count: int = 3, keep: Collection[str] = ()
    ) -> Fixes:
        """The best ways out of a conflict, each proved: fewest picks changed, then nearest price.

        Args:
            choice: id of the choice of an option that is wanted too.
            option: id of that option.
            count: how many at most.
            keep: choices, or ``choice=option``, that stay as they are.

        Raises:
            SearchLimit: the search gave up.
            SelectionError: the selection, the option or what is to be kept cannot be understood.

        Example:
            >>> wish.fixes(count=1).fixes[0].count
            1
        """
        from configurator.engine import answers

        search = self._search()
        require_kept(self._resolved, keep)
        return answers.fixes(search, self._resolved, self._wanted(choice, option), count, keep)

    def complete(self, prefer: str = "price") -> Completion | None:
        """The cheapest, lightest or roomiest complete selection with the picks; None if none is.

        Args:
            prefer: ``price``, ``mass`` or ``space``.

        Raises:
            SearchLimit: the search gave up.
            SelectionError: the selection cannot be understood.
            ValueError: there is no such preference.

        Example:
            >>> wish.pick("canopy-height", "1000mm").complete().prefer
            'price'
        """
        from configurator.engine import answers

        return answers.complete(self._search(), self._resolved, prefer)

    def within(self, budget: Decimal | int, wishes: Iterable[Pick] = ()) -> WithinAnswer:
        """The most of a wish list that a budget allows.

        Args:
            budget: the most that the package may come to, tax included.
            wishes: the most important first.

        Raises:
            SearchLimit: the search gave up.
            SelectionError: the selection or a wish cannot be understood.

        Example:
            >>> len(taller.within(40_000, [Pick("solar", "panel-200", 2)]).granted)
            1
        """
        from configurator.engine import answers

        search = self._search()
        wished = [self._known(wish) for wish in wishes]
        limit = Money(Decimal(budget), self.shop.catalogue.currency)
        return answers.within(search, self._resolved, limit, wished)

    # Questions: papers

    def quote(self, number: str, day: dt.date) -> Quote:
        """Quote the build.

        Args:
            number: the quote's number, such as ``Q-2041``.
            day: day of issue.

        Raises:
            ConfiguratorError: the number is empty, or cannot stand on one line.
            QuoteRefused: findings stop it, or the catalogue's prices do not hold on that day.
            SelectionError: the selection cannot be understood.

        Example:
            >>> print(taller.quote("Q-2041", shop.day).price.total)
            AUD 28,335.00
        """
        from configurator.report.quote import make_quote

        return make_quote(self._resolved, number, day)

    def compare(self, *others: Build, titles: Sequence[str] = ()) -> Comparison:
        """This build beside others of the same shop; see :meth:`Shop.compare`.

        Args:
            others: the other builds.
            titles: a name for each, this one first.

        Example:
            >>> print(wish.compare(taller).differences[1])
            AUD 815.00
        """
        return self.shop.compare([self, *others], titles)

    def budget(self, budget: Budget | None = None, *, savings: bool = True) -> BudgetPaper:
        """The whole build against the customer's limit, and what would bring it under.

        Args:
            budget: in place of the selection's.
            savings: whether to look for savings.

        Raises:
            SelectionError: the selection cannot be understood.

        Example:
            >>> print(taller.budget(savings=False).reckoning.total)
            AUD 28,335.00
        """
        from configurator.report.budget import budget_paper

        tidy = self._resolved.having(self.selection.tidied())
        if budget is not None:
            require_known(tidy.having(attrs.evolve(tidy.selection, budget=budget)))
        return budget_paper(tidy, budget, with_savings=savings)

    def sheets(self, number: str, day: dt.date, *, cost: bool = False) -> Sheets:
        """The sheets for workshop, electrician and orders; the shop's own, not the customer's.

        Args:
            number: the job's number.
            day: day of issue.
            cost: whether the order list has what the shop pays.

        Raises:
            QuoteRefused: findings stop it.
            SelectionError: the selection cannot be understood.

        Example:
            >>> len(taller.sheets("J-7", shop.day).job.units)
            7
        """
        from configurator.answers.shop import make_sheets

        return make_sheets(self._resolved, number, day, cost)

    def _search(self) -> Search:
        """The engine for this build's catalogue: the shop's, unless there are free lines."""
        require_known(self._resolved)
        offering = self._resolved.offering
        if offering is self.shop.catalogue:
            return self.shop._engine()
        from configurator.engine.search import Search

        return Search(offering)

    def _wanted(self, choice: str, option: str, quantity: int = 1) -> Pick | None:
        return self._known(Pick(choice, option, quantity)) if choice else None

    def _known(self, pick: Pick) -> Pick:
        """The pick, if the catalogue has it.

        Raises:
            SelectionError: it does not.
        """
        require_known(self._resolved.having(Selection(self.shop.catalogue.id, (pick,))))
        return pick
