"""Quotes for trays and canopies: what goes together, what fits, what it costs.

    task                                 how
    build a customer's quote             shop.write(build.quote("Q-2041", day), "quote.pdf")
    does an upright fridge fit           build.pick("upright-fridge", "upright-130").check().stops
    compare two layouts on price         build.compare(other).differences
    what is available, and why not       build.options("canopy-height"), build.explain(...)
    the fixes for a conflict          build.fixes().fixes
    the rest chosen, or within a budget  build.complete("mass"), build.within(20000, wishes)
    where it sits, weighs, draws         build.layout(), build.mass(), build.power()
    every open quote under new prices    shop.requote(output="open.csv")
    any answer as JSON                   to_json(build.check())

    >>> import configurator
    >>> shop = configurator.open_shop()
    >>> build = shop.build({"format": 1, "catalogue": "quandong", "picks": {"vehicle": "mid-dual"}})
    >>> build.pick("canopy-height", "850mm").check().stops
    ()

Each command of the command line is a method of :class:`Shop` or :class:`Build` of the same name.
The names below are promised; everything else may change. Each is loaded when it is first used, so
that a command loads no more than it needs.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from configurator.answers.data import to_data, to_json
    from configurator.answers.facts import LayoutAnswer, MassAnswer, PowerAnswer
    from configurator.answers.register import (
        ChangedLine,
        KeptQuote,
        KeptRevision,
        Outcome,
        QuoteEntry,
        QuoteList,
        QuoteRecord,
        QuoteResults,
        ReopenedQuote,
        TrailStep,
    )
    from configurator.answers.requote import Cause, RequoteAnswer, Requoted
    from configurator.answers.shop import Sheets
    from configurator.answers.values import Choices, OfferedChoice, OfferedOption
    from configurator.build import Build
    from configurator.catalogue.fields import Pick
    from configurator.catalogue.model import Catalogue
    from configurator.checking.check import Check
    from configurator.engine.availability import ExplainAnswer, OptionAnswer, OptionsAnswer
    from configurator.engine.conflicts import Conflict
    from configurator.engine.ways_out import Completion, Fixes, ProposedFix
    from configurator.engine.within import RefusedWish, WithinAnswer
    from configurator.errors import (
        CatalogueError,
        ConfiguratorError,
        FileError,
        Location,
        MissingLibrary,
        MoneyError,
        Problem,
        QuoteRefused,
        RegisterError,
        SearchLimit,
        SelectionError,
        SheetError,
    )
    from configurator.findings import Finding
    from configurator.fit.layout import Layout
    from configurator.mass.states import MassPicture
    from configurator.money import Money
    from configurator.power.picture import PowerPicture
    from configurator.pricing.margin import Margin
    from configurator.pricing.whole import Price, TracedLine
    from configurator.register.register import Register
    from configurator.report.batch import Job, Quoted
    from configurator.report.budget import BudgetPaper
    from configurator.report.comparison import Comparison
    from configurator.report.quote import Quote
    from configurator.requoting.run import Requotes
    from configurator.selection.dates import PlannedDate, Revision
    from configurator.selection.picks import (
        Adjustment,
        Budget,
        BudgetEntry,
        Customer,
        FreeLine,
        NamedPrice,
        Override,
        Sale,
        Selection,
        TradeIn,
        Travel,
        Wish,
    )
    from configurator.shop import Shop, check_catalogue, open_register, open_shop
    from configurator.suggested import Suggestion
    from configurator.suppliers.update import (
        LackedOption,
        PriceChange,
        PriceUpdate,
        RefusedRow,
        UnknownCode,
    )

__all__ = [
    "Adjustment",
    "Budget",
    "BudgetEntry",
    "BudgetPaper",
    "Build",
    "Catalogue",
    "CatalogueError",
    "Cause",
    "ChangedLine",
    "Check",
    "Choices",
    "Comparison",
    "Completion",
    "ConfiguratorError",
    "Conflict",
    "Customer",
    "ExplainAnswer",
    "FileError",
    "Finding",
    "Fixes",
    "FreeLine",
    "Job",
    "KeptQuote",
    "KeptRevision",
    "LackedOption",
    "Layout",
    "LayoutAnswer",
    "Location",
    "Margin",
    "MassAnswer",
    "MassPicture",
    "MissingLibrary",
    "Money",
    "MoneyError",
    "NamedPrice",
    "OfferedChoice",
    "OfferedOption",
    "OptionAnswer",
    "OptionsAnswer",
    "Outcome",
    "Override",
    "Pick",
    "PlannedDate",
    "PowerAnswer",
    "PowerPicture",
    "Price",
    "PriceChange",
    "PriceUpdate",
    "Problem",
    "ProposedFix",
    "Quote",
    "QuoteEntry",
    "QuoteList",
    "QuoteRecord",
    "QuoteRefused",
    "QuoteResults",
    "Quoted",
    "RefusedRow",
    "RefusedWish",
    "Register",
    "RegisterError",
    "ReopenedQuote",
    "RequoteAnswer",
    "Requoted",
    "Requotes",
    "Revision",
    "Sale",
    "SearchLimit",
    "Selection",
    "SelectionError",
    "SheetError",
    "Sheets",
    "Shop",
    "Suggestion",
    "TracedLine",
    "TradeIn",
    "TrailStep",
    "Travel",
    "UnknownCode",
    "Wish",
    "WithinAnswer",
    "check_catalogue",
    "open_register",
    "open_shop",
    "to_data",
    "to_json",
]

_HOMES = {
    "answers.data": "to_data to_json",
    "answers.requote": "Cause RequoteAnswer Requoted",
    "answers.shop": "Sheets",
    "answers.facts": "LayoutAnswer MassAnswer PowerAnswer",
    "answers.values": "Choices OfferedChoice OfferedOption",
    "catalogue.model": "Catalogue Pick",
    "checking.check": "Check",
    "engine.availability": "ExplainAnswer OptionAnswer OptionsAnswer",
    "engine.conflicts": "Conflict",
    "engine.ways_out": "Completion Fixes ProposedFix",
    "engine.within": "RefusedWish WithinAnswer",
    "errors": (
        "CatalogueError ConfiguratorError FileError Location MissingLibrary MoneyError "
        "Problem QuoteRefused RegisterError SearchLimit SelectionError SheetError"
    ),
    "findings": "Finding",
    "fit.layout": "Layout",
    "mass.states": "MassPicture",
    "money": "Money",
    "power.picture": "PowerPicture",
    "pricing.margin": "Margin",
    "pricing.whole": "Price TracedLine",
    "register.register": "Register",
    "answers.register": (
        "ChangedLine KeptQuote KeptRevision Outcome QuoteEntry QuoteList QuoteRecord QuoteResults "
        "ReopenedQuote TrailStep"
    ),
    "report.batch": "Job Quoted",
    "report.budget": "BudgetPaper",
    "report.comparison": "Comparison",
    "report.quote": "Quote",
    "requoting.run": "Requotes",
    "selection.dates": "PlannedDate Revision",
    "selection.picks": "Adjustment Budget BudgetEntry Customer FreeLine NamedPrice Override "
    "Sale Selection TradeIn Travel Wish",
    "build": "Build",
    "shop": "Shop check_catalogue open_register open_shop",
    "suggested": "Suggestion",
    "suppliers.update": "LackedOption PriceChange PriceUpdate RefusedRow UnknownCode",
}
"""The promised names by the modules they live in."""

_HOME_OF = {name: home for home, names in _HOMES.items() for name in names.split()}


def __getattr__(name: str) -> Any:
    if name == "__version__":
        return import_module("importlib.metadata").version("tray-canopy-configurator")
    if name not in _HOME_OF:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(import_module(f"{__name__}.{_HOME_OF[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
