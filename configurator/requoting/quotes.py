"""Open quotes as they are kept or lie in a folder, priced and checked under the catalogue."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Any

import attrs
from attrs import frozen

from configurator.answers.data import to_data
from configurator.answers.register import ChangedLine, changed_lines, total_of
from configurator.answers.requote import (
    CHANGED,
    NOT_UNDERSTOOD,
    OF_ANOTHER,
    PRICED,
    STOPPED,
    UNCHANGED,
    UNREADABLE,
    Requoted,
)
from configurator.catalogue.model import Catalogue
from configurator.checking.check import check
from configurator.errors import ConfiguratorError, DataError, Location, Problem
from configurator.machine.collector import nothing_collected
from configurator.pricing.price import Price, price
from configurator.selection.attachments import digest
from configurator.selection.reading import OpenedSelection, open_selection, selections_in
from configurator.selection.resolved import Resolved
from configurator.words import text


@frozen
class OpenQuote:
    """An open quote as it is kept.

    Attributes:
        name: its number, or the name of its file.
        content: its selection, in the shape of a selection file, or the PDF that carries it.
        answer: the quote as it was issued, in the shape of its JSON; empty where a PDF has it, or
            where it was never issued.
        revision: which; 0 for a file.
        digests: SHA-256 of content and answer as they were kept; empty where nobody wrote it down.
        problem: why it cannot be read, or empty.
    """

    name: str
    content: bytes = b""
    answer: str = ""
    revision: int = 0
    digests: tuple[str, ...] = ()
    problem: str = ""

    @property
    def told_apart(self) -> str:
        """What tells it from every other quote, and from itself once it was revised."""
        digests = self.digests or (digest(self.content),)
        return repr((self.name, self.revision, digests, self.problem))

    @property
    def altered(self) -> bool:
        """Whether it is not what was kept."""
        held = (digest(self.content), digest(self.answer.encode()))
        return bool(self.digests) and held != self.digests


Requote = Callable[[Sequence[OpenQuote]], tuple[Requoted, ...]]
"""Prices and checks some open quotes, in their order."""


def requoting(catalogue: Catalogue) -> Requote:
    """What prices and checks open quotes under a catalogue; made once in each process."""
    return partial(requoted, catalogue)


@nothing_collected()
def requoted(catalogue: Catalogue, quotes: Sequence[OpenQuote]) -> tuple[Requoted, ...]:
    """Price and check open quotes under a catalogue.

    The same quotes and the same catalogue give the same answer, in whatever process.
    """
    return tuple(_requoted(catalogue, quote) for quote in quotes)


def _requoted(catalogue: Catalogue, quote: OpenQuote) -> Requoted:
    known = Requoted(quote.name, quote.revision)
    if quote.problem or quote.altered:
        altered = "it is not what was kept: see register check, and go back to a backup"
        return unreadable(known, quote.problem or altered)
    try:
        opened = OpenedSelection(quote.name, quote.content)
        selection = opened.selection()
        before = json.loads(quote.answer) if quote.answer else opened.quoted()
    except DataError as error:
        return attrs.evolve(known, problems=error.problems)
    except ConfiguratorError as error:
        return unreadable(known, str(error))
    customer = selection.customer.name if selection.customer else ""
    known = attrs.evolve(known, customer=customer, title=selection.title)
    if selection.catalogue != catalogue.id:
        return _of_another(known, selection.catalogue, catalogue.id)
    if before is not None and before["price"]["currency"] == catalogue.currency:
        known = attrs.evolve(known, was=total_of(before))
    build = Resolved(catalogue, selection)
    try:
        stops, priced = check(build).stops, price(build)
        return _compared(attrs.evolve(known, stops=stops), before, priced)
    except DataError as error:
        return attrs.evolve(known, outcome=NOT_UNDERSTOOD, problems=error.problems)
    except ConfiguratorError as error:
        return unreadable(known, str(error))
    except Exception as error:  # a fault of ours in one quote must not cost the others
        fault = f"a fault of this program: {type(error).__name__}: {error}"
        return unreadable(known, fault)


def _compared(known: Requoted, before: Mapping[str, Any] | None, priced: Price) -> Requoted:
    """With its price now, and what changed where the price then was in the same currency."""
    changed: tuple[ChangedLine, ...] = ()
    outcome = PRICED
    if before is not None and known.was is not None:
        changed = changed_lines(before, to_data(priced))
        outcome = CHANGED if changed else UNCHANGED
    now, is_from = priced.total, priced.is_from
    outcome = STOPPED if known.stops else outcome
    return attrs.evolve(known, outcome=outcome, is_now=now, is_from=is_from, changed=changed)


def _of_another(known: Requoted, theirs: str, here: str) -> Requoted:
    """A quote from another catalogue, of which this one says nothing."""
    said = text(
        'it is of catalogue "{theirs}", not of "{here}": left out', theirs=theirs, here=here
    )
    problem = Problem(Location(known.quote, 0, 0), said, OF_ANOTHER)
    return attrs.evolve(known, outcome=OF_ANOTHER, problems=(problem,))


def unreadable(known: Requoted, sentence: str) -> Requoted:
    """A quote of which nobody can say anything, and why."""
    problem = Problem(Location(known.quote, 0, 0), sentence, "unreadable")
    return attrs.evolve(known, outcome=UNREADABLE, problems=(problem,))


@frozen
class QuoteFiles:
    """Files in the order of their names, each read when its turn comes."""

    files: tuple[Path, ...]

    def __len__(self) -> int:
        return len(self.files)

    def __iter__(self) -> Iterator[OpenQuote]:
        for file in self.files:
            try:
                yield OpenQuote(file.name, open_selection(file).content)
            except ConfiguratorError as error:
                yield OpenQuote(file.name, problem=str(error))


def quotes_in(folder: Path, output: Path | None) -> QuoteFiles:
    """The open quotes in a folder, which a report on them must not join.

    Raises:
        ConfiguratorError: the folder holds no selection, or the report would lie in it.
        FileError: the folder cannot be read.
    """
    files = QuoteFiles(selections_in(folder))
    if output is not None and output.absolute().parent.resolve() == folder.resolve():
        raise ConfiguratorError(
            f"{output}: the report would lie among the quotes, and be taken for one of them the "
            "next time; name another folder with -o"
        )
    return files
