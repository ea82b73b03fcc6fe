"""The commands that write papers: quotes, comparisons, the shop's own sheets, and the demo."""

from __future__ import annotations

import datetime as dt
import sys
from collections.abc import Iterator, Sequence
from operator import length_hint
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import attrs
import click

from configurator.cli.arguments import (
    NAME,
    Output,
    change_title,
    changed,
    option,
    output_option,
    placed_where_picked,
)
from configurator.cli.common import (
    CHANGES,
    FINDINGS,
    FINE,
    CommandRequest,
    build_command,
    catalogue_option,
    customer_option,
    date_option,
    day_or_today,
    json_option,
    look_from,
    look_options,
    place_option,
    print_json,
    problems_as_json,
    require_paper,
    tell_cautions,
    the_builds,
    the_shop,
)
from configurator.cli.issuing import for_nobody, issue_quote, require_free
from configurator.cli.register import register_option, seller_option
from configurator.errors import ConfiguratorError
from configurator.findings import QuoteRefused
from configurator.words import joined, letter

if TYPE_CHECKING:
    from configurator.report.batch import Quoted
    from configurator.report.sheets import Sheets


def _many_or_numbered(given: dict[str, Any]) -> None:
    """Quote the whole folder of ``--batch``; else see that the quote has a number and a file.

    Raises:
        ConfiguratorError: the number is empty, or nothing of the folder can be quoted at all.
        click.UsageError: what does not go with a batch is given too, or a file would be replaced.
    """
    folder, output, as_json = given.pop("batch"), given["output"], given["as_json"]
    if given["issue"]:
        if folder is not None or given["number"] is not None:
            raise click.UsageError(
                "with --issue the register draws the number: leave out --number and --batch"
            )
    elif folder is not None:
        if any(given[name] for name in ("selection_file", "customer", *CHANGES)):
            raise click.UsageError(
                "give --batch alone, without SELECTION, --customer, --pick, --drop, --none and "
                "--place"
            )
        if output.path is None:
            raise click.UsageError("say in which folder to write the quotes with -o DIR")
        _quote_folder(folder, output.path, given)
    number = given["number"] = "DRAFT" if given["number"] is None else given["number"].strip()
    if given["issue"]:
        return
    if not number:
        raise ConfiguratorError("--number: a quote needs a number; give one that is not empty")
    if output.path is None and not as_json:
        given["output"] = output.named(f"{number}.pdf")


def _quote_folder(folder: str, output: Path, given: dict[str, Any]) -> NoReturn:
    """Quote every selection of the folder; what fails is reported, and the others go on.

    Raises:
        ConfiguratorError: nothing can be quoted at all.
    """
    from configurator.render.text import progress

    day, as_json = given["day"], given["as_json"]
    with problems_as_json(as_json):
        shop = the_shop(given["catalogue_file"], day, on_paper=True)
    prefix = (given["number"] or "").lstrip()
    quotes = shop.batch(folder, output, day_or_today(day), prefix, **look_from(given))
    require_free(given["register_address"], dict.fromkeys(quotes.numbers))
    results = []
    with progress(length_hint(quotes)) as advance:
        for quoted in quotes:
            results.append(quoted)
            advance()
    results.sort(key=lambda quoted: Path(quoted.selection))
    if as_json:
        from configurator.report.batch import BatchAnswer

        print_json(BatchAnswer(tuple(results)))
    else:
        _tell(results)
    sys.exit(FINDINGS if any(quoted.problem for quoted in results) else FINE)


def _tell(results: Sequence[Quoted]) -> None:
    """Each quote written; on standard error what it cautions of, and which selections have none."""
    from configurator.report.price import written_quote

    for quoted in results:
        if quoted.price is not None:
            click.echo(written_quote(quoted.job.output, quoted.job.number, quoted.price))
            tell_cautions(
                attrs.evolve(one, sentence=joined((quoted.selection, one.sentence), ": "))
                for one in quoted.findings
            )
    failed = [quoted for quoted in results if quoted.problem]
    for quoted in failed:
        named = "" if quoted.named else f"{quoted.job.selection}: "
        click.echo(f"{named}{quoted.problem}", err=True)
    if failed:
        click.echo(f"{len(failed)} of {len(results)} selections have no quote", err=True)


@build_command(on_paper=True, before=_many_or_numbered)
@customer_option
@output_option(
    "FILE|DIR",
    "FILE.pdf, .html, .json, .xml (UBL 2.1 Quotation) or .ics (its days, for a calendar), by "
    "default the number as .pdf; with --batch the folder for the quotes.",
    ".pdf .html .json .xml .ics",
)
@option(
    "--number",
    "The quote's number. Default: DRAFT. With --batch: what comes before the file's name.",
)
@option(
    "--batch",
    "Quote every selection in DIR on all cores, each numbered after its file.",
    "DIR",
    type=NAME,
)
@date_option("Day of issue.")
@option("--all-extras", "Show every extra that suits the package, not only the first eight.")
@option("--issue", "Issue the quote: the register assigns its number and keeps it.")
@option("--series", "The prefix of the number. Default: the catalogue's.")
@option("--replaces", "The quote that this one replaces.", "NUMBER")
@option("--draft", "The draft to issue.", "NAME")
@register_option
@seller_option
@look_options
def quote(
    asked: CommandRequest,
    number: str | None,
    day: dt.date,
    all_extras: bool,
    issue: bool,
    series: str,
    replaces: str,
    draft: str,
    register_address: str | None,
    seller: str | None,
) -> None:
    r"""Write the quote as PDF, HTML, JSON, XML or a calendar, unless something stops it.

    \b
    Examples:
      configurator quote touring.yaml -o quote.pdf --number Q-2041
      configurator quote --batch wishes -o quotes --number Q-
      configurator quote touring.yaml --issue --customer "Ottilie Brandgrove"
    """
    from configurator.report.price import written_quote

    try:
        made = asked.build.quote(str(number), day, all_extras=all_extras)
    except QuoteRefused as error:
        raise (for_nobody(asked.build.selection, error) if issue else error) from None
    if issue:
        issue_quote(asked, made, register_address, seller, series, draft, replaces)
        return
    if not made.is_draft:
        require_free(register_address, {made.number: made})
    asked.write(made)
    said = written_quote(str(asked.output.path), str(number), made.price)
    if asked.as_json:
        print_json(made)
    else:
        click.echo(said)
        tell_cautions(made.findings)


@click.command()
@click.argument("selection_files", metavar="SELECTION [SELECTION]...", nargs=-1, type=NAME)
@option(
    "--change",
    "One more column: the first selection with this changed; CHOICE= leaves a choice out. "
    "Repeatable.",
    "CHOICE=OPTION[,CHOICE=OPTION]",
    to="changes",
)
@place_option
@output_option("FILE", "FILE.pdf, .html or .json instead of a table.", ".pdf .html .json")
@date_option("Use the prices of this day.")
@look_options
@catalogue_option
@json_option
def compare(
    selection_files: tuple[str, ...],
    changes: tuple[str, ...],
    unit_places: tuple[str, ...],
    output: Output,
    day: str | None,
    catalogue_file: str | None,
    as_json: bool,
    **given: Any,
) -> None:
    r"""Compare selections side by side on price and mass, differences first.

    \b
    Examples:
      configurator compare touring.yaml contractor.yaml -o comparison.pdf
      configurator compare touring.yaml --change inverter=,mains-charger=
    """
    from configurator.report.comparison_tables import comparison_report

    look = look_from(given)
    if len(selection_files) + len(changes) < 2 or not selection_files:
        raise click.UsageError("give at least two selections to compare, or one and a --change")
    require_paper(output, look)
    with problems_as_json(as_json):
        shop = the_shop(catalogue_file, day, output.on_paper)
        builds = the_builds(shop, selection_files)
        output.require_writable(shop.catalogue, selection_files, look["templates"])
        named = zip(builds, selection_files, strict=True)
        titles = [build.selection.title or Path(file).stem for build, file in named]
        for change in changes:
            builds.append(changed(builds[0], change))
            titles.append(joined(["A", change_title(shop.catalogue, change)], " "))
        builds = placed_where_picked(builds, unit_places)
        found = shop.compare(*builds, titles=titles)
        asked = CommandRequest(shop, builds[0], output, look, as_json)
        asked.write(found)
    if output.path is not None:
        columns = "; ".join(f"{letter(n)} is {title}" for n, title in enumerate(titles))
        click.echo(f"{output.path}: {columns}")
        for n, column in enumerate(found.columns):
            if column.stops:
                told = f"caution: {letter(n)} cannot be quoted as it is; {output.path} says why"
                click.echo(told, err=True)
    else:
        asked.print(found, lambda: comparison_report(found))


_NAMES = ("job", "wiring", "cuts", "orders")


def _files(as_kind: str, **_: object) -> list[str]:
    return [f"{name}.{as_kind}" for name in (("cuts",) if as_kind == "dxf" else _NAMES)]


@build_command(on_paper=True, names=_files)
@output_option("DIR", "The folder for the sheets, instead of showing them here.")
@option(
    "--as",
    "Kind of the files; dxf draws the cut list's panels and drilled faces.",
    to="as_kind",
    type=click.Choice(["pdf", "html", "json", "dxf"]),
    default="pdf",
    show_default=True,
)
@option("--cost", "Order list with cost: for the shop's eyes only.")
@option("--number", "The job's number.", default="DRAFT", show_default=True)
@date_option("Day of issue.")
@look_options
def sheets(asked: CommandRequest, as_kind: str, cost: bool, number: str, day: dt.date) -> None:
    r"""Show or write job sheet, wiring sheet, cut list and order list, unless something stops it.

    The job sheet and the cut list are for the workshop, the wiring sheet for the electrician,
    the order list for purchasing. None shows prices; the order list shows cost only with
    --cost.

    \b
    Examples:
      configurator sheets touring.yaml -o sheets --number Q-2041
      configurator sheets touring.yaml -o sheets --as dxf
    """
    require_paper(asked.output, asked.look)
    made = asked.build.sheets(number, day, cost=cost)
    folder = asked.output.path
    if folder is not None:
        asked.shop.write_sheets(made, folder, as_kind, **asked.look)
    if asked.as_json or folder is None:
        from configurator.report.sheets import sheets_report

        asked.print(made, lambda: sheets_report(made))
    else:
        _tell_sheets(made, folder, as_kind)


def _tell_sheets(made: Sheets, folder: Path, as_kind: str) -> None:
    """Each sheet written, which there are none of, and files of those from before."""
    from configurator.render.sheets import NO_CUTS

    for name, said in _said(made):
        if as_kind != "dxf" or name == "cuts":
            click.echo(f"{folder / name}.{as_kind}: {said}")
    if as_kind == "dxf":
        return
    missing = {"wiring": "no wiring sheet: nothing that is picked has to be wired", "cuts": NO_CUTS}
    for name, told in missing.items():
        if getattr(made, name) is None:
            click.echo(told)
            old = folder / f"{name}.{as_kind}"
            if old.exists():
                click.echo(f"{old}: from before, it does not belong to this job", err=True)


def _said(made: Sheets) -> Iterator[tuple[str, str]]:
    """What is said of each sheet, by its name."""
    number = made.job.head.number
    yield "job", f"job sheet {number}, {_count(len(made.job.units), 'unit')}"
    if made.wiring is not None:
        circuits = _count(len(made.wiring.circuits), "circuit")
        yield "wiring", f"wiring sheet {number}, {circuits}"
    if made.cuts is not None:
        count = sum(sheet.count for sheet in made.cuts.sheets)
        bars = sum(bar.count for bar in made.cuts.bars)
        yield "cuts", f"cut list {number}, {_count(count, 'sheet')}, {_count(bars, 'bar')}"
    suppliers = sum(bool(group.supplier) for group in made.orders.groups)
    costs = ", with cost: for the shop's eyes only" if made.orders.with_cost else ""
    yield "orders", f"order list {number}, {_count(suppliers, 'supplier')}{costs}"


def _count(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


@click.command()
@click.argument("folder", metavar="[DIR]", default="quotes", type=NAME)
@date_option("Day of issue.")
@catalogue_option
def demo(folder: str, day: str | None, catalogue_file: str | None) -> None:
    """Write quotes and a comparison of the shipped selections into DIR."""
    from configurator.catalogue.reading import shipped
    from configurator.machine.files import make_folder
    from configurator.render.text import show
    from configurator.report.model import Paragraph
    from configurator.words import amount_with_currency

    # outside the days for which prices hold, the nearest of them is the day of issue
    shop = the_shop(catalogue_file).on_nearest(day_or_today(day))
    make_folder(Path(folder))
    told, builds = [], []
    for number, name in enumerate(("touring", "contractor", "wish"), 1001):
        build = shop.build(shipped("catalogues") / "selections" / f"{name}.yaml")
        title, stops = build.selection.title or name, build.check(hints=True).stops
        if stops:
            told.append(Paragraph(f"{title}: no quote", "strong"))
            for stop in stops:
                helps = f" What helps: {stop.hint}." if stop.hint else ""
                told.append(Paragraph(f"{stop.sentence}.{helps}", depth=1))
            continue
        builds.append(build)
        made, file = build.quote(f"Q-{number}", shop.day), Path(folder) / f"{name}.pdf"
        shop.write(made, file)
        told.append(Paragraph(f"{file}: {title}, {amount_with_currency(made.price.total)}"))
    if len(builds) > 1:
        titles = [build.selection.title for build in builds]
        file = Path(folder) / "comparison.pdf"
        shop.write(shop.compare(*builds, titles=titles), file)
        told.append(Paragraph(f"{file}: a comparison of {' and '.join(titles)}"))
    show((tuple(told),))
