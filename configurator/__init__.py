"""Quotes for trays and canopies: what goes together, what fits, what it costs.

The names below are promised; everything else may change.
"""

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
