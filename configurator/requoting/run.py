"""All open quotes in batches, wherever the work is done; then the report, written as it is made."""

from __future__ import annotations

import csv
import hashlib
import io
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from functools import partial
from importlib.metadata import version
from itertools import islice
from operator import length_hint
from pathlib import Path
from textwrap import indent
from typing import Protocol, TypeAlias

import attrs

from configurator.answers.data import amount_text, to_json
from configurator.answers.requote import RequoteAnswer, Requoted, Tally
from configurator.catalogue.model import Catalogue
from configurator.errors import cut
from configurator.machine.files import replace_files, require_writable, required_kind
from configurator.machine.workers import Prepare, apart, cores, in_order
from configurator.money import Money
from configurator.render.look import Look
from configurator.render.safeguard import require_spared
from configurator.render.writing import write
from configurator.report.requote import reasons
from configurator.requoting.journal import Journal
from configurator.requoting.quotes import OpenQuote, QuoteFiles, requoting, unreadable
from configurator.selection.values import require_count
from configurator.words import plain_cell

KINDS = (".csv", ".json", ".pdf", ".html")
"""What the report may be."""

_COLUMNS = (
    *("quote", "revision", "customer", "title", "outcome", "currency"),
    *("was", "now", "difference", "from", "why"),
)


def _write_report(
    path: Path,
    answer: RequoteAnswer,
    quotes: Callable[[], Iterator[Requoted]],
    look: Callable[[], Look],
) -> None:
    """Write the report, whole or not at all.

    The answer lists the quotes that matter most; the function gives all of them, in their order.

    Raises:
        ConfiguratorError: a paper cannot be made.
        FileError: it cannot be written.
    """
    kind = path.suffix.lower()
    if kind == ".csv":
        rows = _csv_rows(answer.currency, quotes())
        replace_files({path: (row.encode() for row in rows)})
    elif kind == ".json":
        replace_files({path: (piece.encode() for piece in _json_pieces(answer, quotes()))})
    else:
        write(answer, path, look)


def _json_pieces(answer: RequoteAnswer, quotes: Iterable[Requoted]) -> Iterator[str]:
    """The answer with all quotes as JSON, piece by piece: the same text as of one in memory."""
    head, mark, tail = to_json(attrs.evolve(answer, quotes=(), left_out=0)).partition(
        '"quotes": []'
    )
    yield head + mark.removesuffix("]")
    between = "\n"
    for one in quotes:
        yield between + indent(to_json(one).removesuffix("\n"), "    ")
        between = ",\n"
    yield ("\n  ]" if between == ",\n" else "]") + tail


def _csv_rows(currency: str, quotes: Iterable[Requoted]) -> Iterator[str]:
    """A table that a spreadsheet opens; no text in it is taken for a formula."""
    yield "\ufeff" + _row(_COLUMNS)
    for one in quotes:
        amounts = [_amount(money) for money in (one.was, one.is_now, one.difference)]
        told = (one.quote, str(one.revision or ""), one.customer, one.title, one.outcome, currency)
        why = "; ".join(reasons(one))
        yield _row(
            (*map(plain_cell, told), *amounts, "yes" if one.is_from else "", plain_cell(why))
        )


def _amount(money: Money | None) -> str:
    return "" if money is None else amount_text(money)


def _row(cells: Iterable[str]) -> str:
    written = io.StringIO()
    csv.writer(written).writerow(cells)
    return written.getvalue()


Part: TypeAlias = tuple[OpenQuote, ...]
Done: TypeAlias = tuple[Requoted, ...]

_AT_ONCE = 20
"""Quotes that are handed to a process at once: a fifth of a second's work."""

_WORTH_IT = 100
"""Quotes for which one more process is worth being started."""

_LISTED = 200
"""Quotes that a paper lists at most, those that matter most; the other reports have all."""


class OpenQuotes(Protocol):
    """Where open quotes come from: they are read each time anew, as they are needed."""

    def __len__(self) -> int:
        """How many there are."""

    def __iter__(self) -> Iterator[OpenQuote]:
        """Each of them, in an order that stays the same."""


class Requotes(Iterator[Requoted]):
    """Open quotes under the catalogue as it is now, each in its turn.

    ``length_hint`` tells how many are to come. Once all have come, the report is written.

    Attributes:
        done_before: how many were done already by a run that was stopped.
    """

    def __init__(
        self,
        catalogue: Catalogue,
        quotes: OpenQuotes,
        output: Path | None,
        look: Callable[[], Look],
        share: Share,
        templates: Path | None,
    ) -> None:
        if output is not None:
            required_kind(output, KINDS)
            require_spared(catalogue, [output], templates)
            require_writable([output])
            look()
        self.done_before = 0
        self._catalogue, self._output, self._look, self._share = catalogue, output, look, share
        self._left, self._tally = (
            len(quotes),
            Tally(catalogue, _LISTED, isinstance(quotes, QuoteFiles)),
        )
        journal = None if output is None else output.with_name(f"{output.name}.part")
        self._journal = Journal(journal)
        self._each = self._worked(quotes)

    def __repr__(self) -> str:
        return cut(f"Requotes({self._catalogue.id!r}, {length_hint(self)} to come)")

    def __next__(self) -> Requoted:
        one = next(self._each)
        self._left -= 1
        return one

    def __length_hint__(self) -> int:
        return max(0, self._left)

    @property
    def answer(self) -> RequoteAnswer:
        """What has come so far, with the quotes that matter most."""
        return self._tally.answer()

    def json(self) -> Iterator[str]:
        """The text of the whole answer, piece by piece, once all have come and none is written."""
        return _json_pieces(self.answer, self._journal.answers())

    def _worked(self, quotes: Iterable[OpenQuote]) -> Iterator[Requoted]:
        begun: deque[tuple[list[bytes], list[Requoted | None]]] = deque()
        same = (version("tray-canopy-configurator"), self._catalogue.digest)
        first = repr((*same, self._catalogue.price_day))

        def parts() -> Iterator[Part]:
            for part in _batched(quotes, _AT_ONCE):
                keys = [hashlib.sha256(f"{first}{q.told_apart}".encode()).digest() for q in part]
                known = [self._journal.known(key) for key in keys]
                self.done_before += len(known) - known.count(None)
                begun.append((keys, known))
                yield tuple(q for q, is_known in zip(part, known, strict=True) if is_known is None)

        prepare = partial(requoting, self._catalogue)
        finished = False
        try:
            for part, done in self._share(prepare, parts()):
                keys, known = begun.popleft()
                new = iter(_one_by_one(prepare, part) if done is None else done)
                answers = [next(new) if one is None else one for one in known]
                pairs = zip(keys, known, answers, strict=True)
                self._journal.write(keys, [(k, one) for k, before, one in pairs if before is None])
                for one in answers:
                    self._tally.add(one)
                    yield one
            if self._output is not None:
                _write_report(self._output, self.answer, self._journal.answers, self._look)
                finished = True
        finally:
            if finished or self._output is not None:
                self._journal.close(finished=finished)


Share: TypeAlias = Callable[
    [Prepare[Part, Done], Iterable[Part]], Iterator[tuple[Part, Done | None]]
]
"""Has parts done, and gives each with what became of it, in their order."""


def on_this_machine(processes: int | None, count: int) -> Share:
    """Shares the work among processes of this machine; None for as many as are worth it."""
    if processes is not None:
        require_count("processes", processes)
    usual = min(cores(), max(1, count // _WORTH_IT))
    return partial(in_order, processes=processes or usual)


def _one_by_one(prepare: Prepare[Part, Done], part: Part) -> Done:
    """What became of quotes of which one ended the process that it was priced in."""
    ended = "the process that priced it ended without a word, perhaps for want of memory"
    each = apart(prepare, [(quote,) for quote in part])
    return tuple(
        unreadable(Requoted(quote.name, quote.revision), ended) if done is None else done[0]
        for (quote,), done in each
    )


def _batched(quotes: Iterable[OpenQuote], size: int) -> Iterator[Part]:
    waiting = iter(quotes)
    while part := tuple(islice(waiting, size)):
        yield part
