"""Packages side by side: their pictures and figures, then only what differs."""

from __future__ import annotations

from attrs import frozen

from configurator.money import Money
from configurator.report.comparison_tables import comparison_report
from configurator.report.model import Chart
from configurator.web.asked import Answer, Asked
from configurator.web.counter import Counter
from configurator.web.package import compared_builds, typed_state
from configurator.web.state import packed, written
from configurator.web.views import whole_pictures


@frozen
class Column:
    """One of the packages.

    Attributes:
        title: its name.
        total: what it costs.
        difference: its total less the first one's; None for the first.
        stops: what stops a quote of it.
        pictures: the vehicle from the side, and the package from a corner above.
        tap: the button's value that goes on with it.
    """

    title: str
    total: Money
    difference: Money | None
    stops: tuple[str, ...]
    pictures: tuple[str, ...]
    tap: str


def side_by_side(counter: Counter, asked: Asked) -> Answer:
    """The page of the packages set aside and the one in work."""
    shop, state = counter.shop, typed_state(counter, asked)
    builds = compared_builds(shop, state)
    compared = shop.compare(*builds)
    language = counter.look(asked).language
    columns = []
    for rank, (build, one) in enumerate(zip(builds, compared.columns, strict=True)):
        pictures = whole_pictures(build, language, f"p{rank}-")
        tap = "take:" + packed(written(build.selection))
        difference = one.difference if rank else None
        columns.append(Column(one.title, one.total, difference, one.stops, pictures, tap))
    _, *sections = comparison_report(compared)
    blocks = [block for section in sections for block in section if not isinstance(block, Chart)]
    return counter.page(asked, "beside.html", columns=columns, blocks=blocks, state=state.packed())
