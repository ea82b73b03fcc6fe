"""The report on all open quotes as a file, written as it is made, however many there are."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from textwrap import indent

import attrs

from configurator.answers.data import amount_text, to_json
from configurator.answers.requote import RequoteAnswer, Requoted
from configurator.machine.files import replace_files
from configurator.money import Money
from configurator.render.look import Look
from configurator.render.writing import write
from configurator.report.requote import reasons
from configurator.words import plain_cell

KINDS = (".csv", ".json", ".pdf", ".html")
"""What the report may be."""

_COLUMNS = (
    *("quote", "revision", "customer", "title", "outcome", "currency"),
    *("was", "now", "difference", "from", "why"),
)


def write_report(
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
        replace_files({path: (piece.encode() for piece in json_pieces(answer, quotes()))})
    else:
        write(answer, path, look)


def json_pieces(answer: RequoteAnswer, quotes: Iterable[Requoted]) -> Iterator[str]:
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
