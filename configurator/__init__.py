"""Quotes for trays and canopies: what goes together, what fits, what it costs.

    task                                 how
    build a customer's quote             shop.write(build.quote("Q-2041", day), "quote.pdf")
    does an upright fridge fit           build.explain("upright-fridge", "upright-130").possible
    what stops a quote                   build.check().stops
    compare two layouts on price         build.compare(other).differences
    what is available, and why not       build.options("canopy-height"), build.explain(...)
    the fixes for a conflict             build.fixes().fixes
    the rest chosen, or within a budget  build.complete("mass"), build.within(20000, wishes)
    positions, mass and 12 V power       build.layout(), build.mass(), build.power()
    every open quote under new prices    shop.requote(output="open.csv")
    any answer as JSON                   to_json(build.check())

    >>> import configurator
    >>> shop = configurator.open_shop()
    >>> build = shop.build({"format": 1, "catalogue": "quandong", "picks": {"vehicle": "mid-dual"}})
    >>> low = build.pick("canopy-height", "850mm")
    >>> low.check().impossible
    ()
    >>> len(low.check().to_choose)
    16
    >>> low.explain("upright-fridge", "upright-130").possible
    False
    >>> build.explain("upright-fridge", "upright-130").possible
    True

Each command of the command line is a method of :class:`Shop` or :class:`Build` of the same name.
The names below are promised; everything else may change. Each is loaded when it is first used, so
that a command loads no more than it needs.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from configurator.answers.data import to_data as to_data, to_json as to_json
    from configurator.answers.facts import (
        LayoutAnswer as LayoutAnswer,
        MassAnswer as MassAnswer,
        PowerAnswer as PowerAnswer,
    )
    from configurator.answers.register import (
        ChangedLine as ChangedLine,
        KeptQuote as KeptQuote,
        KeptRevision as KeptRevision,
        Outcome as Outcome,
        QuoteEntry as QuoteEntry,
        QuoteList as QuoteList,
        QuoteRecord as QuoteRecord,
        QuoteResults as QuoteResults,
        RegisterCheck as RegisterCheck,
        ReopenedQuote as ReopenedQuote,
        TrailStep as TrailStep,
    )
    from configurator.answers.requote import (
        Cause as Cause,
        RequoteAnswer as RequoteAnswer,
        Requoted as Requoted,
    )
    from configurator.answers.values import (
        Choices as Choices,
        OfferedChoice as OfferedChoice,
        OfferedOption as OfferedOption,
        Problems as Problems,
    )
    from configurator.build import Build as Build
    from configurator.catalogue.fields import Pick as Pick
    from configurator.catalogue.model import Catalogue as Catalogue
    from configurator.catalogue.units import Position as Position
    from configurator.checking.check import Check as Check
    from configurator.checking.suggestions import Suggestion as Suggestion
    from configurator.engine.availability import (
        ExplainAnswer as ExplainAnswer,
        OptionAnswer as OptionAnswer,
        OptionsAnswer as OptionsAnswer,
    )
    from configurator.engine.completion import Completion as Completion
    from configurator.engine.conflicts import Conflict as Conflict
    from configurator.engine.ways_out import Fixes as Fixes, ProposedFix as ProposedFix
    from configurator.engine.within import RefusedWish as RefusedWish, WithinAnswer as WithinAnswer
    from configurator.errors import (
        AlreadyIssued as AlreadyIssued,
        CatalogueError as CatalogueError,
        ConfiguratorError as ConfiguratorError,
        DataError as DataError,
        FileError as FileError,
        Location as Location,
        MissingLibrary as MissingLibrary,
        MoneyError as MoneyError,
        NoCustomer as NoCustomer,
        NoRegister as NoRegister,
        NoSuchQuote as NoSuchQuote,
        Problem as Problem,
        RegisterError as RegisterError,
        SearchLimit as SearchLimit,
        SelectionError as SelectionError,
        SheetError as SheetError,
    )
    from configurator.findings import Finding as Finding, QuoteRefused as QuoteRefused
    from configurator.fit.layout import Layout as Layout
    from configurator.mass.states import MassPicture as MassPicture
    from configurator.money import Money as Money
    from configurator.power.picture import PowerPicture as PowerPicture
    from configurator.pricing.margin import Margin as Margin
    from configurator.pricing.price import Price as Price, TracedLine as TracedLine
    from configurator.register.register import Register as Register
    from configurator.render.batch import Batch as Batch
    from configurator.report.batch import BatchAnswer as BatchAnswer, Job as Job, Quoted as Quoted
    from configurator.report.budget import BudgetPaper as BudgetPaper
    from configurator.report.comparison import Comparison as Comparison
    from configurator.report.price import PriceAnswer as PriceAnswer, TraceAnswer as TraceAnswer
    from configurator.report.quote import Quote as Quote
    from configurator.report.sheets import Sheets as Sheets
    from configurator.requoting.run import Requotes as Requotes
    from configurator.selection.dates import PlannedDate as PlannedDate, Revision as Revision
    from configurator.selection.picks import (
        Adjustment as Adjustment,
        Budget as Budget,
        BudgetEntry as BudgetEntry,
        Customer as Customer,
        FreeLine as FreeLine,
        NamedPrice as NamedPrice,
        Override as Override,
        Sale as Sale,
        Selection as Selection,
        TradeIn as TradeIn,
        Travel as Travel,
        Wish as Wish,
    )
    from configurator.shop import (
        Shop as Shop,
        check_catalogue as check_catalogue,
        open_register as open_register,
        open_shop as open_shop,
    )
    from configurator.suppliers.update import (
        LackedOption as LackedOption,
        PriceChange as PriceChange,
        PriceUpdate as PriceUpdate,
        RefusedRow as RefusedRow,
        UnknownCode as UnknownCode,
    )

_HOMES = {
    "answers.data": "to_data to_json",
    "answers.requote": "Cause RequoteAnswer Requoted",
    "report.sheets": "Sheets",
    "answers.facts": "LayoutAnswer MassAnswer PowerAnswer",
    "answers.values": "Choices OfferedChoice OfferedOption Problems",
    "catalogue.model": "Catalogue Pick",
    "catalogue.units": "Position",
    "checking.check": "Check",
    "engine.availability": "ExplainAnswer OptionAnswer OptionsAnswer",
    "engine.conflicts": "Conflict",
    "engine.completion": "Completion",
    "engine.ways_out": "Fixes ProposedFix",
    "engine.within": "RefusedWish WithinAnswer",
    "errors": (
        "AlreadyIssued CatalogueError ConfiguratorError DataError FileError Location "
        "MissingLibrary MoneyError NoCustomer NoRegister NoSuchQuote Problem RegisterError "
        "SearchLimit SelectionError SheetError"
    ),
    "findings": "Finding QuoteRefused",
    "fit.layout": "Layout",
    "mass.states": "MassPicture",
    "money": "Money",
    "power.picture": "PowerPicture",
    "pricing.margin": "Margin",
    "pricing.price": "Price TracedLine",
    "register.register": "Register",
    "answers.register": (
        "ChangedLine KeptQuote KeptRevision Outcome QuoteEntry QuoteList QuoteRecord QuoteResults "
        "RegisterCheck ReopenedQuote TrailStep"
    ),
    "render.batch": "Batch",
    "report.batch": "BatchAnswer Job Quoted",
    "report.budget": "BudgetPaper",
    "report.comparison": "Comparison",
    "report.price": "PriceAnswer TraceAnswer",
    "report.quote": "Quote",
    "requoting.run": "Requotes",
    "selection.dates": "PlannedDate Revision",
    "selection.picks": "Adjustment Budget BudgetEntry Customer FreeLine NamedPrice Override "
    "Sale Selection TradeIn Travel Wish",
    "build": "Build",
    "shop": "Shop check_catalogue open_register open_shop",
    "checking.suggestions": "Suggestion",
    "suppliers.update": "LackedOption PriceChange PriceUpdate RefusedRow UnknownCode",
}
"""The promised names by the modules they live in."""

_HOME_OF = {name: home for home, names in _HOMES.items() for name in names.split()}

__all__ = sorted(_HOME_OF)  # noqa: PLE0605


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
