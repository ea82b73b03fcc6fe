"""Quotes for trays and canopies: what goes together, what fits, what it costs.

The names below are promised; everything else may change. Each is loaded when it is first used, so
that a command loads no more than it needs.
"""

import sys
from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from configurator.catalogue.model import Catalogue, Pick
    from configurator.catalogue.reading import read_catalogue
    from configurator.check import Check, Finding, check
    from configurator.compare import Comparison, compare
    from configurator.errors import (
        CatalogueError,
        ConfiguratorError,
        Problem,
        QuoteRefused,
        SelectionError,
    )
    from configurator.money import Money
    from configurator.papers.quote import Quote, make_quote
    from configurator.pricing import Price, price
    from configurator.selection import Adjustment, Customer, Selection, Wish
    from configurator.selection_reading import read_selection
    from configurator.suggestions import Suggestion, suggestions

__all__ = [
    "Adjustment",
    "Catalogue",
    "CatalogueError",
    "Check",
    "Comparison",
    "ConfiguratorError",
    "Customer",
    "Finding",
    "Money",
    "Pick",
    "Price",
    "Problem",
    "Quote",
    "QuoteRefused",
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
    "check": ("Check", "Finding", "check"),
    "compare": ("Comparison", "compare"),
    "errors": ("CatalogueError", "ConfiguratorError", "Problem", "QuoteRefused", "SelectionError"),
    "money": ("Money",),
    "papers.quote": ("Quote", "make_quote"),
    "pricing": ("Price", "price"),
    "selection": ("Adjustment", "Customer", "Selection", "Wish"),
    "selection_reading": ("read_selection",),
    "suggestions": ("Suggestion", "suggestions"),
}
"""The promised names by the modules they live in."""

_HOME_OF = {name: home for home, names in _HOMES.items() for name in names}


class _Package(ModuleType):
    """This package: promised names win over modules of the same name, such as ``check``.

    Importing a module sets it as an attribute of its package; here that is left undone where the
    attribute is promised to be something else.
    """

    def __getattr__(self, name: str) -> Any:
        if name not in _HOME_OF:
            raise AttributeError(f"module {self.__name__!r} has no attribute {name!r}")
        value = getattr(import_module(f"{self.__name__}.{_HOME_OF[name]}"), name)
        super().__setattr__(name, value)
        return value

    def __setattr__(self, name: str, value: Any) -> None:
        if not (name in _HOME_OF and isinstance(value, ModuleType)):
            super().__setattr__(name, value)

    def __dir__(self) -> list[str]:
        return sorted({*super().__dir__(), *__all__})


sys.modules[__name__].__class__ = _Package
