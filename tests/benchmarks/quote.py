"""Our papers against the renderer alone, in ratios of CPU time.

- The whole quote / WeasyPrint alone on the same HTML: at most 1.10. The whole quote is check,
  price, suggestions, value, HTML, what it carries, and PDF, from a catalogue and a selection that
  have been read. WeasyPrint alone gets the finished HTML with everything prepared once, as we do:
  fonts, faces and fetcher; it makes the same standard. Both are warm; the least of several runs
  taken in turn. A layout that has been searched is remembered, so a quote is measured both ways:
  of a selection that was checked before, as a salesperson does, and of one met for the first time.
- Tagged / untagged, the same content: at most 1.3.
- A batch of 20 on two cores / on one: at least 1.8 times as fast. The clock of a machine shared
  with others says little, so beside it stands what the processor says: the work of one process
  over half the work of two, which is the gain where both cores are free.
- For perspective, typst on the words and tables of the quote, without pictures, in a template of
  its own, tagged as PDF/UA-1.
"""

from __future__ import annotations

import datetime as dt
import gc
import multiprocessing
import resource
import shutil
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

import weasyprint

from configurator.catalogue.model import Catalogue
from configurator.catalogue.reading import shipped
from configurator.fit import preferences, search
from configurator.render import renderer
from configurator.render.batch import jobs_of, quote_all
from configurator.render.html import quote_html
from configurator.render.pdf import html_to_pdf
from configurator.render.writing import carried_by
from configurator.report.quote import Quote, make_quote
from configurator.selection.picks import Selection
from configurator.selection.reading import read_selection
from configurator.selection.resolved import Resolved
from tests.support.shipped import read_catalogue

RUNS = 10
BATCH = 20
DAY = dt.date(2026, 8, 3)
FOLDER = shipped("catalogues")


def cpu(job: Callable[[], object]) -> float:
    """CPU seconds of one run, begun with nothing left to collect."""
    gc.collect()
    start = time.process_time()
    job()
    return time.process_time() - start


def in_turn(*jobs: Callable[[], object], runs: int = RUNS) -> list[float]:
    """The least CPU seconds of each, taken in turn so that a busy machine is fair to all."""
    for job in jobs:
        job()
    times = [[cpu(job) for job in jobs] for _ in range(runs)]
    return [min(own) for own in zip(*times, strict=True)]


def weasyprint_alone(html: str, variant: str | None) -> bytes:
    """The renderer with what we prepare for it, and nothing else of ours."""
    fonts, faces = renderer.fonts()
    document = weasyprint.HTML(string=html, url_fetcher=renderer.fetcher())
    made: bytes = document.write_pdf(
        stylesheets=[faces], font_config=fonts, pdf_variant=variant, custom_metadata=False
    )
    return made


def quotes(catalogue: Catalogue) -> None:
    """One quote at a time."""
    for name in ("touring", "contractor"):
        selection = read_selection(FOLDER / "selections" / f"{name}.yaml")

        def whole(selection: Selection = selection) -> bytes:
            made = make_quote(Resolved(catalogue, selection), "Q-1", DAY)
            return html_to_pdf(quote_html(made), carried_by(made))

        def anew(whole: Callable[[], bytes] = whole) -> bytes:
            search.searched.cache_clear()
            search.handed_over.cache_clear()
            preferences.best_of.cache_clear()
            return whole()

        made = make_quote(Resolved(catalogue, selection), "Q-1", DAY)
        html = quote_html(made)
        ours, first, alone, untagged, typeset = in_turn(
            whole,
            anew,
            partial(weasyprint_alone, html, "pdf/a-3a"),
            partial(weasyprint_alone, html, None),
            partial(by_typst, made),
        )
        print(f"{name}: {ours * 1000:.0f} ms, {ours / alone:.3f} times WeasyPrint alone", end="")
        print(f"; met for the first time {first / alone:.3f} times; wanted: at most 1.10")
        print(f"    tagged / untagged {alone / untagged:.2f}; wanted: at most 1.3")
        print(f"    WeasyPrint alone / typst on the words and tables {alone / typeset:.1f}")


def by_typst(quote: Quote) -> bytes:
    """The words and tables of the quote through typst."""
    import typst

    def cell(text: object) -> str:
        return "[#" + repr_of(str(text)) + "]"

    def repr_of(text: str) -> str:
        escaped = text.replace("\\", "\\\\").replace('"', '\\"')
        return f'"{escaped}"'

    def table(*rows: tuple[object, ...]) -> str:
        inside = ", ".join(cell(part) for row in rows for part in row)
        return f"#table(columns: {len(rows[0])}, {inside})"

    words = [
        '#set document(title: "Quote")',
        '#set text(lang: "en")',
        f"= Quote {quote.number}",
        f"#{repr_of(quote.shop.name)}",
    ]
    for group in quote.price.groups:
        words += [f"== #{repr_of(group.title)}"]
        words += [table(*((line.title, line.text, line.amount) for line in group.lines))]
    words += [table(*((title, money) for title, _, money in quote.price.payments))]
    words += [f"#{repr_of(text)}\n" for text in (*quote.cautions, *quote.not_included)]
    words += [f"#{repr_of(text)}\n" for text in quote.terms]
    made: bytes = typst.compile("\n".join(words).encode(), pdf_standards=["ua-1"])
    return made


def batches(catalogue: Catalogue) -> None:
    """A folder of quotes on one core and on two."""
    with tempfile.TemporaryDirectory() as name:
        home = Path(name)
        wishes = home / "wishes"
        wishes.mkdir()
        for number in range(BATCH):
            which = "touring" if number % 2 else "contractor"
            shutil.copy(FOLDER / "selections" / f"{which}.yaml", wishes / f"{number:03}.yaml")
        clock, work = {}, {}
        for processes in (1, 2):
            output = home / str(processes)
            output.mkdir()
            jobs = jobs_of(wishes, output)
            before, start = _work(), time.monotonic()
            done = list(quote_all(catalogue, jobs, DAY, processes))
            clock[processes], work[processes] = time.monotonic() - start, _work() - before
            assert len(done) == BATCH
            assert not any(quoted.problem for quoted in done)
        made = [{f.name: f.read_bytes() for f in (home / n).iterdir()} for n in ("1", "2")]
    gain = clock[1] / clock[2]
    print(f"batch of {BATCH}: two cores / one {gain:.2f} times as fast by the clock,")
    print(f"    {2 * work[1] / work[2]:.2f} times by the processor's work; wanted: at least 1.8")
    print(f"    {BATCH / clock[2]:.1f} quotes a second; the same bytes: {made[0] == made[1]}")


def _work() -> float:
    """CPU seconds of this process and of those that it started and that have ended."""
    parts = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(part.ru_utime + part.ru_stime for part in parts)


def main() -> None:
    """Measure and print."""
    catalogue = read_catalogue(FOLDER / "quandong.yaml")
    batches(catalogue)  # first, as typst starts threads
    quotes(catalogue)


if __name__ == "__main__":
    multiprocessing.freeze_support()
    main()
