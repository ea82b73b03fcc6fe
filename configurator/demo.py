"""The main job on the shipped catalogue: quotes of the shipped selections, and a comparison."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from pathlib import Path

from attrs import frozen

from configurator.catalogue.reading import shipped
from configurator.money import Money
from configurator.render.files import make_folder
from configurator.report.model import STRONG, Paragraph, Report
from configurator.shop import Shop
from configurator.words import amount_with_currency


@frozen
class DemoPaper:
    """One thing the demo did.

    Attributes:
        title: what it is.
        file: where it was written; None when something stops the quote.
        price: the total quoted, if any.
        told: sentences about it.
    """

    title: str
    file: Path | None
    price: Money | None
    told: tuple[str, ...] = ()


def run_demo(shop: Shop, folder: Path, day: dt.date) -> tuple[DemoPaper, ...]:
    """Write the quotes and the comparison, and say what was done.

    Outside the days for which the catalogue's prices hold, the nearest of them is the day of
    issue, so that the demo works in any year.

    Raises:
        ConfiguratorError: something cannot be read or written.
    """
    make_folder(folder)
    shop = shop.on_nearest(day)
    papers, builds = [], []
    for index, name in enumerate(("touring", "contractor", "wish")):
        build = shop.build(shipped("catalogues") / "selections" / f"{name}.yaml")
        stops = build.check(hints=True).stops
        title = build.selection.title or name
        if stops:
            told = tuple(
                f"{stop.sentence}. " + (f"What helps: {stop.hint}." if stop.hint else "")
                for stop in stops
            )
            papers.append(DemoPaper(title, None, None, told))
            continue
        builds.append(build)
        file = folder / f"{name}.pdf"
        quote = build.quote(f"Q-{1001 + index}", shop.day)
        shop.write(quote, file)
        papers.append(DemoPaper(title, file, quote.price.total))
    if len(builds) > 1:
        titles = [build.selection.title for build in builds]
        file = folder / "comparison.pdf"
        shop.write(shop.compare(*builds, titles=titles), file)
        papers.append(DemoPaper(" compared with ".join(titles), file, None))
    return tuple(papers)


def demo_report(papers: Sequence[DemoPaper]) -> Report:
    """What the demo did and where."""
    parts = []
    for paper in papers:
        if paper.file is None:
            parts.append(Paragraph(f"{paper.title}: no quote", STRONG))
        else:
            price = "" if paper.price is None else f", {amount_with_currency(paper.price)}"
            parts.append(Paragraph(f"{paper.file}: {paper.title}{price}"))
        parts += (Paragraph(sentence, depth=1) for sentence in paper.told)
    return (tuple(parts),)
