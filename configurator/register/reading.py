"""Questions to a register: quotes found, shown, opened again, followed up, counted."""

from __future__ import annotations

import datetime as dt
import json
import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any, Self

import attrs
import sqlalchemy as sa
from attrs import frozen

from configurator.answers.data import to_data, to_json
from configurator.answers.register import (
    ACCEPTED,
    DRAFT,
    ISSUED,
    LAPSED,
    MOVES,
    KeptQuote,
    KeptRevision,
    QuoteList,
    QuoteRecord,
    QuoteResults,
    RegisterCheck,
    TrailStep,
    changed_lines,
    require_status,
)
from configurator.errors import ConfiguratorError, FileError, NoSuchQuote, RegisterError, cut
from configurator.register import upkeep
from configurator.register.database import Database
from configurator.register.results import results
from configurator.register.rows import (
    Row,
    altered_parts,
    content_digest,
    entry_of,
    money_of,
    quote_row,
    status_on,
)
from configurator.register.tables import PAPERS, QUOTES, REVISIONS, TRAIL
from configurator.register.words import having_words
from configurator.render.safeguard import require_no_catalogue
from configurator.render.writing import write_as
from configurator.report.quote import Quote
from configurator.report.sheets import Sheets
from configurator.selection.values import require_count, require_kind
from configurator.words import joined, text


@frozen(eq=False, repr=False)
class ReadRegister:
    """The quotes that a shop has issued, to be read; see :class:`.register.Register`.

    Attributes:
        database: where they are kept.
        paper: makes a quote's PDF.
        clock: tells the time, with its zone; its day is the one that it is here.
    """

    database: Database
    paper: Callable[[Quote], bytes]
    clock: Callable[[], dt.datetime]

    def __repr__(self) -> str:
        return cut(f"Register({self.database.name!r})")

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the register's database.

        Example:
            >>> register.close()
        """
        self.database.close()

    def list(
        self,
        *,
        status: str = "",
        seller: str = "",
        lapses_within: int | None = None,
        most: int = 1000,
    ) -> QuoteList:
        """The quotes, the newest first.

        Args:
            status: only those of this status.
            seller: only those of this seller.
            lapses_within: only those issued that stand no longer than so many days from now, to be
                followed up; the next to lapse first.
            most: at most so many.

        Raises:
            ConfiguratorError: there is no such status, or a number is too small.
            FileError: the register cannot be read.

        Example:
            >>> [quote.number for quote in register.list(status="issued").quotes]
            ['Q-2', 'Q-1']
        """
        require_status(status)
        require_kind("seller", seller, str)
        require_count("most", most)
        if lapses_within is not None:
            require_count("lapses_within", lapses_within, 0)
        today, until = self._today, QUOTES.c.valid_until
        stands = sa.and_(QUOTES.c.status == ISSUED, until >= today)
        over = sa.and_(QUOTES.c.status == ISSUED, until < today)
        asked = sa.select(QUOTES)
        if status:
            same = QUOTES.c.status == status
            asked = asked.where({ISSUED: stands, LAPSED: sa.or_(same, over)}.get(status, same))
        if seller:
            asked = asked.where(QUOTES.c.seller == seller if seller.isprintable() else sa.false())
        if lapses_within is not None:
            days = dt.timedelta(days=min(lapses_within, _FAR))
            last = (self.clock().date() + days).isoformat()
            asked = asked.where(stands, until <= last).order_by(until)
        return self._entries(asked.order_by(QUOTES.c.id.desc()).limit(min(most, _ALL)))

    def find(self, query: str, *, most: int = 50) -> QuoteList:
        """The quotes that have every word of the query, or words that begin with them.

        Words are looked for in number, customer, telephone, e-mail, title, vehicle and seller;
        case and accents do not matter.

        Args:
            query: some words.
            most: at most so many quotes.

        Raises:
            ConfiguratorError: at most none are asked for.
            FileError: the register cannot be read.

        Example:
            >>> len(register.find("weekends fridge").quotes)
            2
        """
        require_kind("query", query, str)
        require_count("most", most)
        wanted = having_words(query, on_server=self.database.path is None)
        return self._entries(
            sa.select(QUOTES).where(wanted).order_by(QUOTES.c.id.desc()).limit(min(most, _ALL))
        )

    def show(self, number: str) -> QuoteRecord:
        """Everything that is kept of a quote, and what each revision changed.

        Args:
            number: of the quote, or the name of a draft.

        Raises:
            NoSuchQuote: there is none of that number.
            FileError: the register cannot be read.

        Example:
            >>> register.show("Q-1").trail[0].event
            'issued'
        """
        with self.database.reading() as at:
            row = quote_row(at, number)
            kept = (
                sa.select(REVISIONS, PAPERS.c.answer, PAPERS.c.deleted)
                .join(PAPERS)
                .where(REVISIONS.c.quote == row["id"])
                .order_by(REVISIONS.c.revision)
            )
            steps = sa.select(TRAIL).where(TRAIL.c.quote == row["id"]).order_by(TRAIL.c.id)
            revisions = at.execute(kept).mappings().all()
            trail = tuple(
                TrailStep(*(step[field.name] for field in attrs.fields(TrailStep)))
                for step in at.execute(steps).mappings()
            )
        answers = [_answer_of(revision) for revision in revisions]
        names = [f.name for f in attrs.fields(KeptRevision) if f.name not in ("total", "changed")]
        return QuoteRecord(
            entry_of(row, self._today),
            tuple(
                KeptRevision(
                    **{name: revision[name] for name in names},
                    total=money_of(revision),
                    changed=changed_lines(before, answer) if before and answer else (),
                )
                for revision, before, answer in zip(
                    revisions, [{}, *answers], answers, strict=False
                )
            ),
            trail,
        )

    def open(self, number: str, revision: int | None = None) -> KeptQuote:
        """The content of a revision, the latest by default: its selection, its answer, its PDF.

        Args:
            number: of the quote, or the name of a draft.
            revision: which; None for the latest.

        Raises:
            FileError: the register cannot be read.
            NoSuchQuote: there is no such quote, or no such revision of it.
            RegisterError: its content was deleted, or is not what was kept.

        Example:
            >>> register.open("Q-1").priced(taller.price()).changed
            ()
        """
        with self.database.reading() as at:
            return self._kept(at, number, revision)

    def require_free(self, number: str, quote: Quote | None = None) -> None:
        """Raise where the register has given a number to another quote.

        Args:
            number: that a paper is to have.
            quote: what the paper says; the very quote that was issued may have its own number.

        Raises:
            FileError: the register cannot be read.
            RegisterError: the number is another quote's.

        Example:
            >>> register.require_free("Q-2041", taller.quote("Q-2041", shop.day))
        """
        require_kind("number", number, str)
        if not number.isprintable():
            return
        with self.database.reading() as at:
            wanted = sa.select(QUOTES).where(QUOTES.c.number == number)
            row = at.execute(wanted).mappings().first()
            if row is None:
                return
            entry = entry_of(row, self._today)
            latest = sa.select(PAPERS.c.answer).where(
                PAPERS.c.quote == row["id"], PAPERS.c.revision == row["revision"]
            )
            issued = at.execute(latest).scalar()
        if quote is not None and issued == to_json(to_data(quote)):
            return
        known = {
            "number": entry.number,
            "typed": shlex.quote(number),
            "quote": joined(
                filter(None, (entry.customer, entry.title or entry.vehicle, str(entry.total))), ", "
            ),
            "day": entry.issued,
        }
        told = text(
            "{number} is the number of another quote in the register ({quote}, issued on {day}): "
            "give another number, or have the next one drawn with configurator quote SELECTION "
            "--issue",
            **known,
        )
        if ISSUED in MOVES[entry.status]:
            revise = text(
                "if this is the next revision of {number}: configurator register revise SELECTION "
                '--number {typed} --reason "..."',
                **known,
            )
            told = joined((told, revise), "; ")
        raise RegisterError(told)

    def order(
        self, number: str, sheets: Sheets, folder: Path | str, *, replace: bool = False
    ) -> tuple[str, ...]:
        """Write what an accepted quote needs bought, an open-standard order for each supplier.

        Each is an Order of UBL 2.1 for the job, without the customer; it has what the shop pays
        only where the sheets have it. All of them are written or none.

        Args:
            number: of the quote.
            sheets: of the build that was accepted, made under the quote's number.
            folder: where to write; made where it is missing.
            replace: overwrite orders that are there already and are others.

        Returns:
            The names of the files, named after the suppliers.

        Raises:
            RegisterError: the quote is not accepted, or the sheets are of another job.
            ConfiguratorError: nothing is bought from a supplier.
            FileError: they cannot be written, or another order has the name of one of them.

        Example:
            >>> register.accept("Q-2", seller="Ann", reason="signed")
            >>> sheets = taller.sheets("Q-2", shop.day)
            >>> all(name.endswith(".xml") for name in register.order("Q-2", sheets, "orders"))
            True
        """
        from configurator.exchange.order import order_files
        from configurator.machine.files import different_file, replace_files

        status = self.show(number).entry.status
        if status != ACCEPTED:
            told = f"quote {number} is {status}, and nothing is ordered for it"
            named = f'{shlex.quote(number)} --reason "..."'
            if ACCEPTED in MOVES[status]:
                told += (
                    "; record that the customer accepted with: configurator register accept "
                    f"{named}"
                )
            elif ISSUED in MOVES[status] and status != DRAFT:
                told += (
                    "; a revision can be accepted: configurator register revise SELECTION --number "
                    f"{named}"
                )
            raise RegisterError(told)
        if sheets.orders.head.number != number:
            raise RegisterError(
                f"the sheets are of job {sheets.orders.head.number}; make those of quote {number}"
            )
        files = dict(order_files(sheets.orders))
        if not files:
            raise ConfiguratorError(f"quote {number} has nothing that a supplier is named for")
        orders = {Path(folder) / name: content for name, content in files.items()}
        if not replace and (other := different_file(orders)):
            raise FileError(
                f"{other}: another order is there already and may have been sent; name another "
                f"folder, or overwrite what is in this one with --replace"
            )
        replace_files(orders)
        return tuple(files)

    def results(
        self, currency: str, *, first: dt.date | None = None, last: dt.date | None = None
    ) -> QuoteResults:
        """What was won and lost, by the month in which it was decided and by the reason given.

        Each quote counts once, as it is now: a quote that lapsed, in the month of its last day.
        What the shop withdrew is neither won nor lost.

        Args:
            currency: only quotes in it count.
            first: the first day that counts, None for all.
            last: the last one, None for all.

        Raises:
            FileError: the register cannot be read.

        Example:
            >>> register.results("AUD").months[0].issued
            2
        """
        return results(self.database, currency, self.clock(), first, last)

    def check(self) -> RegisterCheck:
        """Whether the register is as it was written, or the first thing in it that is not.

        Raises:
            FileError: the register cannot be read.

        Example:
            >>> register.check().is_whole
            True
        """
        return RegisterCheck(self.database.name, upkeep.check(self.database))

    def export(self, path: Path | str) -> int:
        """Write the list of all quotes, and tell how many: .csv for a spreadsheet, or .json.

        Args:
            path: the file.

        Raises:
            ConfiguratorError: the name of the file asks for something else, or is a catalogue's.
            FileError: it cannot be written.

        Example:
            >>> register.export("quotes.csv")
            2
        """
        require_no_catalogue([Path(path)])
        found = self.list(most=_ALL)
        write_as(
            Path(path),
            {
                ".csv": lambda: upkeep.as_csv(found.quotes).encode("utf-8-sig"),
                ".json": lambda: to_json(found).encode(),
            },
        )
        return len(found.quotes)

    def backup(self, path: Path | str) -> None:
        """Copy the register, as it is at one moment, into a new file; others may go on writing.

        Args:
            path: the new file.

        Raises:
            ConfiguratorError: it is an address of a server.
            FileError: the file is there already or cannot be written, or the copy does not fit.

        Example:
            >>> register.backup("copy.sqlite")
        """
        upkeep.backup(self.database, Path(path))

    def move(self, address: str) -> str:
        """Move the register to another address without one, and tell how that is called.

        This one can still be read, and refuses whatever would write to it.

        Args:
            address: as for :meth:`Shop.register`.

        Raises:
            ConfiguratorError: the address is of another kind.
            RegisterError: there are quotes already.
            FileError: one of them cannot be read or written.

        Example:
            >>> register.move("other.sqlite")
            'other.sqlite'
        """
        return upkeep.move(self.database, address)

    def _kept(self, at: sa.Connection, number: str, revision: int | None) -> KeptQuote:
        row = quote_row(at, number)
        which = row["revision"] if revision is None else revision
        asked = (
            sa.select(PAPERS, REVISIONS)
            .join(REVISIONS)
            .where(PAPERS.c.quote == row["id"], PAPERS.c.revision == which)
        )
        kept = at.execute(asked).mappings().first()
        if kept is None:
            told = text("quote {number} has no revision {n}", number=number, n=which)
            raise NoSuchQuote(told)
        if kept["deleted"]:
            told = text(
                "quote {number}: its content was deleted at the customer's request; its number "
                "and prices are kept",
                number=number,
            )
            raise RegisterError(told)
        for part in altered_parts(kept, kept):
            told = text(
                "quote {number}, revision {n}: its {part} is not what was kept: see register "
                "check, and go back to a backup",
                number=number,
                n=which,
                part=part,
            )
            raise RegisterError(told)
        answer = json.loads(kept["answer"])
        content = kept["selection"], answer, kept["pdf"]
        return KeptQuote(number, which, *content, status_on(row, self._today), row["revision"])

    def _entries(self, asked: sa.Select[Any]) -> QuoteList:
        with self.database.reading() as at:
            rows = at.execute(asked).mappings()
            return QuoteList(tuple(entry_of(row, self._today) for row in rows))

    @property
    def _today(self) -> str:
        return self.clock().date().isoformat()


def _answer_of(revision: Row) -> Any:
    """What a revision said; nothing where it was deleted or altered, which ``check`` tells."""
    whole = content_digest(revision["answer"].encode()) == revision["answer_digest"]
    return json.loads(revision["answer"]) if whole else {}


_ALL = 10_000_000
_FAR = 36_525  # days, beyond which no quote is valid
