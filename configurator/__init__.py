"""Quotes for trays and canopies: what goes together, what fits, what it costs.

The names below are promised; everything else may change. Each is loaded when it is first used, so
that a command loads no more than it needs.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from configurator.catalogue.model import Catalogue, Pick
    from configurator.catalogue.reading import read_catalogue
    from configurator.checking.check import Check, Finding, check
    from configurator.errors import (
        CatalogueError,
        ConfiguratorError,
        Problem,
        QuoteRefused,
        SelectionError,
    )
    from configurator.money import Money
    from configurator.pricing.whole import Price, price
    from configurator.report.comparison import Comparison, compare
    from configurator.report.quote import Quote, make_quote
    from configurator.selection.picks import Adjustment, Customer, FreeLine, Selection, Wish
    from configurator.selection.reading import read_selection
    from configurator.selection.resolved import Resolved
    from configurator.suggested import Suggestion, suggestions

__all__ = [
    "Adjustment",
    "Catalogue",
    "CatalogueError",
    "Check",
    "Comparison",
    "ConfiguratorError",
    "Customer",
    "Finding",
    "FreeLine",
    "Money",
    "Pick",
    "Price",
    "Problem",
    "Quote",
    "QuoteRefused",
    "Resolved",
    "Selection",
    "SelectionError",
    "Suggestion",
    "Wish",
    "check",
    "compare",
    "make_quote",
    "price",
    "read_catalogue",
    "read_selection",
    "suggestions",
]

_HOMES = {
    "catalogue.model": ("Catalogue", "Pick"),
    "catalogue.reading": ("read_catalogue",),
    "checking.check": ("Check", "Finding", "check"),
    "report.comparison": ("Comparison", "compare"),
    "errors": ("CatalogueError", "ConfiguratorError", "Problem", "QuoteRefused", "SelectionError"),
    "money": ("Money",),
    "report.quote": ("Quote", "make_quote"),
    "pricing.whole": ("Price", "price"),
    "selection.picks": ("Adjustment", "Customer", "FreeLine", "Selection", "Wish"),
    "selection.reading": ("read_selection",),
    "selection.resolved": ("Resolved",),
    "suggested": ("Suggestion", "suggestions"),
}
"""The promised names by the modules they live in."""

_HOME_OF = {name: home for home, names in _HOMES.items() for name in names}


def __getattr__(name: str) -> Any:
    if name not in _HOME_OF:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(import_module(f"{__name__}.{_HOME_OF[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
