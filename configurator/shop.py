"""The one door for programs: a shop with its catalogue, and builds that answer every question.

    >>> shop = open_shop("catalogues/quandong.yaml", dt.date(2026, 8, 3))
    >>> build = shop.build("catalogues/selections/touring.yaml").pick("finish", "powder-doors")
    >>> build.check().stops
    ()
    >>> print(build.price().total)
    AUD 55,440.00
    >>> shop.write(build.quote("Q-2041", shop.day), "quote.html")

Each command of the command line is a method of the same name, of :class:`Shop` or :class:`Build`.
"""

from __future__ import annotations

import datetime as dt
import threading
import time
from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from functools import partial
from pathlib import Path, PurePath
from typing import TYPE_CHECKING, Any, NoReturn, TypeAlias, cast

from attrs import field, frozen

from configurator.build import Build
from configurator.catalogue.model import Catalogue
from configurator.catalogue.reading import as_text, open_catalogue, parse_catalogue, shipped
from configurator.errors import (
    NOWHERE,
    CatalogueError,
    ConfiguratorError,
    Location,
    Problem,
    SelectionError,
    by_place,
    cut,
)
from configurator.machine.paths import path_of, path_or_none
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved
from configurator.selection.values import SELECTIONS, require_kind
from configurator.starter import VEHICLES
from configurator.words import text
from configurator.writer import Writer, folder_of

if TYPE_CHECKING:
    from configurator.engine.search import Search
    from configurator.register.register import Register
    from configurator.report.comparison import Comparison
    from configurator.report.quote import Quote
    from configurator.requoting.run import OpenQuotes, Requotes

Source: TypeAlias = PurePath | str | bytes | Mapping[str, Any]
"""A file by its path, or what would be in it: text, bytes, or a mapping.

A catalogue may be the path of its folder. A ``str`` is a path unless it has more than one line or
begins with ``{``.
"""


def open_shop(
    catalogue: Source | None = None,
    day: dt.date | None = None,
    *,
    today: dt.date | None = None,
    at: Location = NOWHERE,
) -> Shop:
    """Open a shop by its catalogue.

    Args:
        catalogue: the path of the catalogue's file or folder, or its text, bytes or data; None for
            the shipped one. Only one with a path can have parts in other files.
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
    require_kind("day", day, dt.date)
    require_kind("at", at, Location)
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
        SearchLimit: the search stopped without an answer.

    Example:
        >>> check_catalogue("catalogues/quandong.yaml")[1]
        ()
    """
    read, problems = _read(catalogue)
    if read is None:
        return None, problems
    shop = Shop(read)
    return shop, by_place((*problems, *shop.check(deep)))


def open_register(
    address: str | Path | None = None, paper: Callable[[Quote], bytes] | None = None
) -> Register:
    """The register at an address, which must be there; :meth:`Shop.register` can make one.

    Args:
        address: as for :meth:`Shop.register`.
        paper: makes a quote's PDF; None where nothing is to be issued.

    Raises:
        ConfiguratorError: the address is of another kind, or a newer program wrote it.
        FileError: it cannot be opened; as NoRegister, where there is none.

    Example:
        >>> with open_register("register.sqlite") as register:
        ...     len(register.list(status="accepted").quotes)
        0
    """
    from configurator.register.opening import open_database
    from configurator.register.register import Register

    def no_paper(_: Quote) -> bytes:
        raise ConfiguratorError("open the register with Shop.register to issue quotes")

    database = open_database(address, make=paper is not None)
    return Register(database, paper or no_paper, _clock)


def _clock() -> dt.datetime:
    return dt.datetime.now().astimezone()


def _read(source: Source | None) -> tuple[Catalogue | None, tuple[Problem, ...]]:
    """The catalogue, or what is wrong with it, and whatever else there is to say of its text."""
    if source is None:
        source = shipped("catalogues") / "quandong.yaml"
    path = _path(source)
    if path is not None:
        return open_catalogue(path)
    return parse_catalogue(_text(source, "catalogue"), "catalogue")


def _path(source: object) -> Path | None:
    """The path, where that is what it is."""
    named = isinstance(source, str) and "\n" not in source and not source.lstrip().startswith("{")
    return Path(cast("str", source)) if named or isinstance(source, PurePath) else None


def _text(source: Source, name: str) -> str:
    if isinstance(source, bytes):
        return as_text(source, name)
    if isinstance(source, str):
        return source
    from configurator.answers.data import to_json

    require_kind(name, source, Mapping)
    return to_json(dict(cast("Mapping[str, Any]", source)))


@frozen(eq=False, repr=False)
class Shop(Writer):
    """A shop: its catalogue, opened, with the prices of one day.

    It may be shared by threads: each has a search engine of its own.

    Attributes:
        catalogue: what the shop offers.
        remark: what has to be said of the prices shown, or empty.
    """

    remark: str = ""
    _engines: threading.local = field(factory=threading.local, init=False)

    def __attrs_post_init__(self) -> None:
        require_kind("catalogue", self.catalogue, Catalogue)

    def __repr__(self) -> str:
        return cut(f"Shop({self.catalogue.id!r}, prices of {self.catalogue.price_day})")

    def __reduce__(self) -> NoReturn:
        raise TypeError(
            "a shop holds the whole catalogue, with what it pays: pickle an answer, or open the "
            "shop again"
        )

    @staticmethod
    def new(
        folder: Path | str,
        name: str,
        address: Sequence[str],
        *,
        email: str = "",
        phone: str = "",
        kerb_side: str = "left",
        currency: str = "AUD",
        tax_name: str = "GST",
        tax_rate: Decimal | int = 10,
        prices: str = "include",
        labour: Decimal | int = 120,
        vehicles: Sequence[str] = VEHICLES,
        first: dt.date | None = None,
    ) -> Shop:
        """Write a shop's first catalogue, small but complete, with a selection, and open it.

        Args:
            folder: a new or empty one; those above it are made.
            name: of the shop.
            address: of the shop, line by line.
            email: of the shop; empty for none.
            phone: of the shop; empty for none.
            kerb_side: ``left`` or ``right``.
            currency: its ISO 4217 code.
            tax_name: such as GST or VAT.
            tax_rate: per cent.
            prices: ``include`` or ``exclude``: whether the catalogue's prices have the tax in them.
            labour: an hour's price, in the currency.
            vehicles: those built for, of ``single-cab``, ``extra-cab`` and ``dual-cab``.
            first: the first day of its prices, which hold for a year; None for today.

        Raises:
            CatalogueError: an answer cannot stand in a catalogue.
            ConfiguratorError: there is no such currency or class of vehicle, or a figure is none.
            FileError: something is in the folder already, or it cannot be written.

        Example:
            >>> mine = Shop.new("wattle", "Wattle Trays", ["1 Example Lane"], first=shop.day)
            >>> mine.build("wattle/selections/first.yaml").check().stops
            ()
        """
        from configurator.starter.files import write_first

        write_first(
            path_of("folder", folder),
            name,
            address,
            email=email,
            phone=phone,
            kerb_side=kerb_side,
            currency=currency,
            tax_name=tax_name,
            tax_rate=tax_rate,
            prices=prices,
            labour=labour,
            vehicles=vehicles,
            first=first,
        )
        return open_shop(path_of("folder", folder), today=first)

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
        require_kind("day", day, dt.date)
        valid = self.catalogue.valid
        first, until = map(dt.date.fromisoformat, (valid.first, valid.until))
        nearest = min(max(day, first), until)
        remark = ""
        if nearest != day:
            said = self.catalogue.unpriced_on(day)
            remark = text(
                "{source}: note: {said}; shown are those of {nearest}",
                source=self.catalogue.source,
                said=said,
                nearest=nearest,
            )
        return Shop(self.catalogue.on(nearest), remark)

    def build(
        self, selection: Source | Selection | None = None, *, name: str = "selection"
    ) -> Build:
        """A build from a selection; whether its names mean anything is asked with each question.

        Args:
            selection: its path, text, bytes or data, or a :class:`Selection`; a PDF that carries
                one counts as its file (of several, ``comparison.pdf#B`` names one); None for
                nothing picked yet.
            name: what messages call text or bytes, such as the name of the file sent.

        Raises:
            SelectionError: with every error of shape found.
            FileError: the file cannot be read.

        Example:
            >>> shop.build("catalogues/selections/wish.yaml").selection.title
            'Weekends, with the large fridge'
        """
        from configurator.selection.reading import OpenedSelection, open_selection

        require_kind("name", name, str)
        selection = Selection(self.catalogue.id) if selection is None else selection
        if isinstance(selection, Selection):
            return Build(Resolved(self.catalogue, selection), self._engine)
        path = _path(selection)
        if path is not None:
            opened = open_selection(path)
        else:
            if not isinstance(selection, str | bytes | Mapping):
                require_kind("selection", selection, Selection, SELECTIONS)
            content = selection if isinstance(selection, bytes) else _text(selection, "").encode()
            opened = OpenedSelection(name, content)
        remark = opened.told_by_paper(self.catalogue)
        resolved = Resolved(self.catalogue, opened.selection())
        return Build(resolved, self._engine, remark=remark)

    def check(self, deep: bool = False) -> tuple[Problem, ...]:
        """Cautions about the catalogue: what can be read and is hardly meant; most can be sold.

        Args:
            deep: whether to search it too for what nobody can pick and what has no effect, which
                takes a while.

        Raises:
            SearchLimit: the search stopped without an answer.

        Example:
            >>> shop.check()
            ()
        """
        from configurator.checking.catalogue import catalogue_cautions
        from configurator.render.look import look_problems

        found = [*catalogue_cautions(self.catalogue), *look_problems(self.catalogue.shop)]
        if deep:
            from configurator.engine.review import review

            found += review(self._engine(self.catalogue))
        return by_place(found)

    def compare(self, *builds: Build, titles: Sequence[str] = ()) -> Comparison:
        """Builds side by side on price, mass (kg) and what they hold, differences first.

        Args:
            builds: two or more of this shop.
            titles: a name for each; by default its selection's title, or its letter.

        Raises:
            ConfiguratorError: they are of different shops.
            SelectionError: one of them cannot be understood.
            ValueError: there are fewer than two, or not as many titles.

        Example:
            >>> print(shop.compare(wish, taller).differences[1])
            AUD 815.00
        """
        if not builds:
            raise ValueError("compare at least two builds")
        first, *others = builds
        require_kind("build", first, Build)
        return first.compare(*others, titles=titles)

    def requote(
        self,
        folder: Path | str | None = None,
        output: Path | str | None = None,
        *,
        register: str | None = None,
        page: str | None = None,
        language: str | None = None,
        templates: Path | str | None = None,
        processes: int | None = None,
        cluster: str = "",
    ) -> Requotes:
        """Price and check every open quote under this shop's catalogue, on all processor cores.

        Each is done when it is read, and once all are, the report is written. What is done is
        written down beside it: where the work is stopped, the same call goes on from there.

        Args:
            folder: with selection files or PDFs of quotes; None for the register's open quotes.
            output: the report, .csv, .json, .pdf or .html; None for none.
            register: as for :meth:`register`; it must be there.
            page: as for :meth:`write`.
            language: as for :meth:`write`.
            templates: as for :meth:`write`.
            processes: how many work at once; None for as many as are worth it, one a core at most.
            cluster: address of a running dask.distributed cluster that does the work, such as
                ``tcp://server:8786``; its workers are sent the whole catalogue, cost and all.

        Raises:
            ConfiguratorError: the folder holds no selection, or the report cannot be made.
            FileError: register, folder or cluster cannot be reached, or the report not written.

        Example:
            >>> quotes = shop.requote("wishes", processes=1)
            >>> [(one.quote, one.outcome) for one in quotes][-1]
            ('wish.yaml', 'stopped')
            >>> quotes.answer.stopped
            1
        """
        from configurator.requoting.run import Requotes, on_this_machine

        to = path_or_none("output", output)
        if folder is None:
            from configurator.register.open_quotes import StandingQuotes

            opened = open_register(register)
            quotes: OpenQuotes = StandingQuotes(opened.database, opened.clock().date().isoformat())
        else:
            from configurator.requoting.quotes import quotes_in

            quotes = quotes_in(path_of("folder", folder), to)
        share = on_this_machine(processes, len(quotes))
        if cluster:
            from configurator.requoting.cluster import on_cluster

            share = on_cluster(cluster)
        look = partial(self._look, page, language, templates)
        return Requotes(self.catalogue, quotes, to, look, share, folder_of(templates))

    def register(
        self,
        address: str | Path | None = None,
        *,
        page: str | None = None,
        language: str | None = None,
        templates: Path | str | None = None,
    ) -> Register:
        """The register of quotes that this shop has issued; close it, or use it in a ``with``.

        Args:
            address: a file, or ``postgresql://user@host/name``; None for a file in the user's data
                folder. What is new is made, what is old brought up to date.
            page: as for :meth:`write`, for the quotes that are issued.
            language: as for :meth:`write`.
            templates: as for :meth:`write`.

        Raises:
            ConfiguratorError: the address is of another kind, a newer program wrote it, or no paper
                looks so.
            FileError: it cannot be opened.

        Example:
            >>> with shop.register("register.sqlite") as register:
            ...     kept = register.issue(taller.quote("DRAFT", shop.day), seller="Ann")
            >>> kept.number, str(kept.total)
            ('Q-1', 'AUD 28,335.00')
        """
        if (page, language, templates) != (None, None, None):
            self._look(page, language, templates)  # what cannot be had is said before it is issued

        def paper(quote: Quote) -> bytes:
            from configurator.render.writing import paper_pdf

            return paper_pdf(quote, self._look(page, language, templates))

        return open_register(address, paper)

    def _engine(self, offering: Catalogue) -> Search:
        """This thread's search engine for the catalogue, compiled once.

        Of the catalogues with a build's free lines in them, the last one asked for is kept.
        """
        from configurator.engine.search import Search

        kept = "own" if offering is self.catalogue else "other"
        found: Search | None = getattr(self._engines, kept, None)
        if found is None or found.catalogue is not offering:
            found = Search(offering)
            setattr(self._engines, kept, found)
        return found
