"""The command that says where everything sits, and draws it."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from configurator.cli.common import (
    FINDINGS,
    FINE,
    AskedLook,
    catalogue_option,
    json_option,
    look_options,
    print_json,
    problems_as_json,
    selection_arguments,
    the_catalogue,
    the_look,
    the_selection,
)
from configurator.cli.outputs import Output, output_option
from configurator.selection.resolved import Resolved

if TYPE_CHECKING:
    from configurator.findings import Finding
    from configurator.fit.layout import Layout
    from configurator.render.look import Look

__all__ = ["layout"]

_CODES = ("fit", "layout", "wish", "place", "arrangement-not-proven")
"""Findings of a check that are about where things sit."""


@click.command()
@selection_arguments
@output_option("FILE", "Write FILE.svg, .html, .pdf or .json too.", ".svg .html .pdf .json")
@click.option("--more", is_flag=True, help="Try what else would fit too.")
@look_options
@catalogue_option
@json_option
def layout(
    selection_file: str | None,
    picks: tuple[str, ...],
    drops: tuple[str, ...],
    output: Output,
    more: bool,
    look: AskedLook,
    catalogue_file: str | None,
    as_json: bool,
) -> None:
    r"""Say where everything sits, or what does not go in together and what would help.

    \b
    Example:
      configurator layout touring.yaml -o layout.svg
    """
    from configurator.answers.values import LayoutAnswer
    from configurator.checking.check import check
    from configurator.render.text import show
    from configurator.report.layout import layout_report

    with problems_as_json(as_json):
        catalogue = the_catalogue(catalogue_file)
        selection = the_selection(catalogue, selection_file, picks, drops)
        output.require_writable(catalogue, [selection_file], look.templates)
        findings = [f for f in check(Resolved(catalogue, selection)).findings if f.code in _CODES]
    laid = _laid(Resolved(catalogue, selection))
    would = _would_fit(Resolved(catalogue, selection)) if more else None
    path = output.path
    written = path is not None and _write(
        path, Resolved(catalogue, selection), laid, findings, the_look(catalogue, look)
    )
    if as_json:
        print_json(LayoutAnswer.of(catalogue, laid, findings, would))
    else:
        show(layout_report(catalogue, laid, findings, would))
        if written:
            click.echo(f"{path}: the layout")
    if path is not None and not written:
        click.echo(f"{path}: not written, because there is no layout to draw", err=True)
    unproven = any(f.level == "stop" or f.code == "arrangement-not-proven" for f in findings)
    sys.exit(FINDINGS if unproven else FINE)


def _laid(build: Resolved) -> Layout | None:
    from configurator.arrangement import lay_out
    from configurator.errors import SearchLimit
    from configurator.fit.layout import Layout

    try:
        answer = lay_out(build)
    except SearchLimit:
        return None
    return answer if isinstance(answer, Layout) else None


def _would_fit(build: Resolved) -> list[str]:
    from configurator.checking.layout import would_fit

    return [option.title for _, option in would_fit(build)]


def _write(
    path: Path,
    build: Resolved,
    laid: Layout | None,
    findings: list[Finding],
    look: Look,
) -> bool:
    """Write the layout in the way that the ending asks for; false where there is none to draw."""
    from configurator.answers.data import to_json
    from configurator.answers.values import LayoutAnswer
    from configurator.drawing.layouts import layout_svg
    from configurator.fit.layout import Layout
    from configurator.render.files import required_kind
    from configurator.render.html import layout_html
    from configurator.render.pdf import html_to_pdf
    from configurator.render.writing import carrying, write_as

    drawn = laid or Layout(())

    def picture() -> str:
        return look.language.say(layout_svg(build, drawn))

    def paper() -> str:
        unkept = [f.sentence for f in findings if f.code in ("wish", "place")]
        return layout_html(build, drawn, look, unkept)

    kinds = {
        ".svg": lambda: picture().encode(),
        ".html": lambda: paper().encode(),
        ".pdf": lambda: html_to_pdf(
            paper(), carrying(build.selection, build.catalogue.valid.first)
        ),
        ".json": lambda: to_json(LayoutAnswer.of(build.catalogue, laid, findings)).encode(),
    }
    if laid is None and required_kind(path, kinds) != ".json":
        return False
    write_as(path, kinds)
    return True
