"""The shop's own terms: what its papers show, tax, rounding, payment, who approves discounts."""

from decimal import Decimal
from typing import Annotated

from attrs import evolve, frozen

from configurator.catalogue.fields import (
    LANGUAGE,
    ONE_LINE,
    AmountFrom0,
    Day,
    ForPeople,
    Id,
    Percent,
    Record,
    UpTo1000,
    Words,
    Written,
)
from configurator.errors import Location
from configurator.shapes.forms import form
from configurator.shapes.schema import asks, one_of, up_to


@frozen(repr=False, eq=False)
class Logo(Written):
    """The shop's logo."""

    file: Annotated[
        str,
        "Name of a file beside the catalogue: .png, .jpg, .jpeg or .svg.",
        asks(pattern=r"^[A-Za-z0-9_-][A-Za-z0-9_.-]*\.(png|jpg|jpeg|svg)$", maxLength=80),
    ]
    text: Annotated[
        str, "What it shows, for those who cannot see it. Default: the shop's name.", ForPeople(120)
    ] = ""


@frozen(repr=False, eq=False)
class PaperSettings(Written):
    """How the shop's papers look, unless something else is asked for."""

    page: Annotated[
        str,
        "Size of the sheet: A4 (210 x 297 mm, the default) or Letter (8.5 x 11 inches).",
        one_of("A4", "Letter"),
    ] = "A4"
    language: Annotated[
        str,
        "Language of the papers' own words, and of numbers and days, with a country where it "
        "matters: en-AU (the default), en-US, de. Every text of the catalogue that is given in "
        "several languages has to be given in this one.",
        asks(pattern=LANGUAGE),
    ] = "en-AU"
    logo: Annotated[Logo | None, "The shop's logo, at the head of every paper."] = None


@form(hidden="kerb_side accent papers series")
@frozen(repr=False, eq=False)
class ShopDetails(Record):
    """The shop, as its papers show it."""

    name: Annotated[str, "Trading name.", up_to(80)]
    address: Annotated[
        tuple[Annotated[str, "A line.", up_to(80)], ...], "Lines of the address.", asks(minItems=1)
    ]
    kerb_side: Annotated[
        str, "The side of the vehicle that stands at the kerb.", one_of("left", "right")
    ]
    email: Annotated[str, "E-mail address.", up_to(120, ONE_LINE)] = ""
    phone: Annotated[str, "Telephone number.", up_to(40, ONE_LINE)] = ""
    web: Annotated[
        str,
        "Web address of a site; https only.",
        asks(pattern=r"^https://[^\s/?#]+", maxLength=200),
    ] = ""
    registration: Annotated[str, "Business registration number, as printed.", up_to(60)] = ""
    accent: Annotated[
        str,
        "The one accent colour of the papers. Headings are printed in it, so it must be dark "
        "enough to read.",
        asks(pattern=r"^#[0-9a-fA-F]{6}$"),
    ] = "#1f4e5f"
    papers: Annotated[
        PaperSettings, "How the papers look, unless a command asks for something else."
    ] = PaperSettings()
    series: Annotated[
        str,
        "What stands before the numbers of the quotes that the register issues; ends in a letter "
        "or a sign. Default: Q-.",
        asks(pattern=r"^(?!draft-)[A-Za-z0-9 _./-]*[A-Za-z_./-]$", maxLength=20),
    ] = "Q-"

    @property
    def logo_folder(self) -> str:
        """The folder of the file that names the logo, where that was named from the root."""
        return self.papers.logo.at.folder if self.papers.logo else ""

    def logo_from(self, folder: str) -> "ShopDetails":
        """The shop with its logo in that folder."""
        logo = self.papers.logo
        assert logo is not None  # it had a folder
        at = Location(f"{folder}/{logo.at.file}", logo.at.line, logo.at.column)
        return evolve(self, papers=evolve(self.papers, logo=evolve(logo, at=at)))


@frozen(repr=False, eq=False)
class Tax(Record):
    """How tax is calculated; rates in per cent, the first one is the usual."""

    name: Annotated[str, "Such as GST or VAT.", ForPeople(20)]
    prices: Annotated[
        str,
        "Whether every price in the catalogue has the tax in it already.",
        one_of("include", "exclude"),
    ]
    rates: Annotated[
        tuple[tuple[Id, Annotated[Percent, "Per cent."]], ...],
        "Per cent by name; the first is the usual one. 0 for exempt.",
        asks(minProperties=1),
    ]
    basis: Annotated[
        str,
        "Where tax is rounded. document: once on the total. category: once for each rate. line: "
        "for each line.",
        one_of("document", "category", "line"),
    ] = "document"
    line_decimals: Annotated[
        int | None,
        "Decimals that each line's tax is rounded to on basis line. Default: the currency's own.",
        asks(minimum=0, maximum=6),
    ] = None
    mode: Annotated[
        str,
        "Rounding mode of tax. Default half-up.",
        one_of("half-up", "half-down", "half-even", "down"),
    ] = "half-up"
    cash_increment: Annotated[
        UpTo1000 | None, "What cash is rounded to, such as 0.05. Left out: cash is not rounded."
    ] = None
    cash_mode: Annotated[
        str,
        "Which way half an increment of cash goes. Default half-up.",
        one_of("half-up", "half-down"),
    ] = "half-up"

    @property
    def included(self) -> bool:
        """Whether catalogue prices have the tax in them already."""
        return self.prices == "include"


@frozen(repr=False, eq=False)
class Rounding(Written):
    """What a package is rounded to, in a line of its own: ``nearest``, ``down`` or ``up``."""

    to: Annotated[
        Decimal, "Such as 5 or 10.", asks(format="money", exclusiveMinimum=0, maximum=100000)
    ]
    mode: Annotated[str, "Default nearest, the half up.", one_of("nearest", "down", "up")] = (
        "nearest"
    )


@frozen(repr=False, eq=False)
class Approval(Record):
    """How far discounts without an approver's name may go: percent of the package, amount."""

    percent: Annotated[Percent | None, "In per cent of the package after package deals."] = None
    amount: Annotated[AmountFrom0 | None, "In money."] = None


@frozen(repr=False, eq=False)
class PaymentStage(Record):
    """A stage of payment, per cent of the total."""

    title: Annotated[str, "When it is due.", ForPeople(80)]
    percent: Annotated[Decimal, "Share of the total.", asks(exclusiveMinimum=0, maximum=100)]


@frozen(repr=False, eq=False)
class QuoteTerms(Record):
    """What the shop's quotes say."""

    valid_days: Annotated[int, "Days that a quote stands.", asks(minimum=1, maximum=366)]
    payments: Annotated[
        tuple[PaymentStage, ...],
        "Stages of payment, the deposit first; percents add up to 100, the last takes what "
        "rounding leaves.",
        asks(minItems=1),
    ]
    terms: Annotated[tuple[Annotated[Words, "A paragraph."], ...], "Terms, a paragraph each."] = ()
    not_included: Annotated[
        tuple[Annotated[Words, "An entry."], ...], "What the price does not include."
    ] = ()
    cautions: Annotated[
        tuple[Annotated[Words, "A sentence or two."], ...], "Cautions that stand on every quote."
    ] = ()


@frozen(repr=False, eq=False)
class Validity(Record):
    """First and last day, both included, as ISO dates."""

    first: Annotated[Day, "First day, YYYY-MM-DD."]
    until: Annotated[Day, "Last day, YYYY-MM-DD."]
