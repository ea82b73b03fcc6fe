"""Answers that are made of several values: each is what a command says under ``--json``."""

from __future__ import annotations

from collections.abc import Iterable

from attrs import frozen

from configurator.catalogue.model import Catalogue, Choice, Option
from configurator.errors import Problem, QuoteRefused
from configurator.findings import Finding, any_stops
from configurator.fit.layout import Layout, OpenBox, Placement, SpaceLayout
from configurator.forms import form
from configurator.mass.states import MassPicture
from configurator.money import Money
from configurator.power.picture import PowerPicture, basis
from configurator.pricing.lines import option_price
from configurator.pricing.whole import Price, TracedLine
from configurator.report.batch import Quoted
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved
from configurator.suggested import Suggestion

form(inline="at", values={"level": ("error", "caution")})(Problem)


@form("problems")
@frozen
class Problems:
    """What is wrong with a catalogue or selection; nothing wrong is an empty list.

    Attributes:
        problems: every problem, by place.
    """

    problems: tuple[Problem, ...]


@form("refused")
@frozen
class Refused:
    """Why there is no quote, or why there are no sheets.

    Attributes:
        stops: a sentence for each finding that stops it, most serious first.
        findings: the same as findings, with their numbers.
    """

    stops: tuple[str, ...]
    findings: tuple[Finding, ...]

    @classmethod
    def by(cls, error: QuoteRefused) -> Refused:
        """What the error says."""
        return cls(error.sentences, error.findings)


@form("layout", hidden="build layout")
@frozen
class LayoutAnswer:
    """Where everything sits, what is left open, and what there is to say.

    Attributes:
        fits: whether there is a layout; without one the lists of places are empty.
        placements: every unit in its place.
        spaces: every space with a unit.
        open_boxes: the largest clear box for each space and side.
        unknown_spaces: ids of spaces whose size the picks do not tell yet.
        would_fit_too: titles of units that would go in as well; null where that was not asked.
        findings: what there is to say.
        build: what was laid out, without what the shop pays.
        layout: the places, mm; None where the units do not go in together, or it is not proven.
    """

    fits: bool
    placements: tuple[Placement, ...]
    spaces: tuple[SpaceLayout, ...]
    open_boxes: tuple[OpenBox, ...]
    unknown_spaces: tuple[str, ...]
    would_fit_too: tuple[str, ...] | None
    findings: tuple[Finding, ...]
    build: Resolved
    layout: Layout | None

    @property
    def stopped(self) -> bool:
        """Whether something does not go in, or is not proven to."""
        return any(f.level == "stop" or f.code == "arrangement-not-proven" for f in self.findings)

    @classmethod
    def of(
        cls,
        build: Resolved,
        layout: Layout | None,
        findings: Iterable[Finding],
        more: Iterable[str] | None = None,
    ) -> LayoutAnswer:
        """The answer for a layout, or for none."""
        laid = layout or Layout(())
        return cls(
            fits=layout is not None,
            placements=laid.placements,
            spaces=laid.spaces,
            open_boxes=laid.open_boxes,
            unknown_spaces=laid.unknown,
            would_fit_too=None if more is None else tuple(more),
            findings=tuple(findings),
            build=Resolved(build.catalogue.for_customers(), build.selection),
            layout=layout,
        )


@form("mass", inline="picture")
@frozen
class MassAnswer:
    """The mass picture, and what it has to say.

    Attributes:
        picture: the picture.
        findings: what it has to say.
    """

    picture: MassPicture
    findings: tuple[Finding, ...]

    @property
    def stopped(self) -> bool:
        """Whether a finding stops a quote."""
        return any_stops(self.findings)


@form("power", inline="picture")
@frozen
class PowerAnswer:
    """The power picture as people read it, and what it has to say.

    Attributes:
        picture: the picture.
        basis: what the figures count with.
        findings: what it has to say.
    """

    picture: PowerPicture
    basis: tuple[str, ...]
    findings: tuple[Finding, ...]

    @property
    def stopped(self) -> bool:
        """Whether a finding stops a quote."""
        return any_stops(self.findings)

    @classmethod
    def of(cls, exact: PowerPicture, findings: Iterable[Finding]) -> PowerAnswer:
        """The answer for a picture with its exact figures."""
        return cls(exact, basis(exact), tuple(findings))


@form("price", inline="price")
@frozen
class PriceAnswer:
    """A price, and the add-ons suggested with it.

    Attributes:
        price: the price.
        suggestions: add-ons that are not in it.
    """

    price: Price
    suggestions: tuple[Suggestion, ...]


@form("trace", also="currency day lines before_tax tax total", hidden="price")
@frozen
class TraceAnswer:
    """Where every figure of a price comes from.

    Attributes:
        price: the price.
    """

    price: Price

    @property
    def lines(self) -> tuple[TracedLine, ...]:
        """Every line."""
        return self.price.traced

    @property
    def currency(self) -> str:
        """ISO 4217 code of every amount."""
        return self.price.currency

    @property
    def day(self) -> str:
        """The day whose prices these are."""
        return self.price.day

    @property
    def before_tax(self) -> Money:
        """The total without tax."""
        return self.price.tax.before

    @property
    def tax(self) -> Money:
        """The tax."""
        return self.price.tax.tax

    @property
    def total(self) -> Money:
        """The total with tax."""
        return self.price.total


@form(hidden="priced")
@frozen
class OfferedOption:
    """One option of a choice.

    Attributes:
        option: id of the option.
        title: what the customer reads.
        text: more about it, or empty.
        most: how many may be picked at most.
        price: of one, where it depends on nothing else that is picked; None otherwise.
        priced: whether the catalogue gives it a price of its own.
    """

    option: str
    title: str
    text: str
    most: int
    price: Money | None
    priced: bool


@form(values={"pick": ("one", "at-most-one", "several")})
@frozen
class OfferedChoice:
    """A choice and its options.

    Attributes:
        choice: id of the choice.
        title: what it is called.
        text: more about it, or empty.
        pick: how many options it takes.
        at_most: how many may be picked of all its options together; None for any number.
        options: its options, in the catalogue's order.
    """

    choice: str
    title: str
    text: str
    pick: str
    at_most: int | None
    options: tuple[OfferedOption, ...]


@form("choices")
@frozen
class Choices:
    """What a catalogue offers.

    Attributes:
        currency: ISO 4217 code of every price.
        choices: the choices, in the catalogue's order.
    """

    currency: str
    choices: tuple[OfferedChoice, ...]

    @classmethod
    def of(cls, catalogue: Catalogue, choices: Iterable[Choice]) -> Choices:
        """These choices of the catalogue."""
        build = Resolved(catalogue, Selection(catalogue.id))

        def offered(choice: Choice, option: Option) -> OfferedOption:
            each = option_price(build, choice, option).each
            return OfferedOption(
                option.id, option.title, option.text, option.most, each, bool(option.price)
            )

        return cls(
            catalogue.currency,
            tuple(
                OfferedChoice(
                    choice.id,
                    choice.title,
                    choice.text,
                    choice.pick,
                    choice.at_most,
                    tuple(offered(choice, option) for option in choice.options),
                )
                for choice in choices
            ),
        )


@form("batch")
@frozen
class BatchAnswer:
    """What became of a batch of quotes.

    Attributes:
        quotes: every selection of the folder, with its quote or why there is none.
    """

    quotes: tuple[Quoted, ...]
