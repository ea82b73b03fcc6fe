"""Answers that are made of several values: each is what a command says under ``--json``."""

from __future__ import annotations

from collections.abc import Iterable

from attrs import frozen

from configurator.catalogue.model import Catalogue, Choice, Option
from configurator.catalogue.parts import PriceTable
from configurator.errors import Problem
from configurator.findings import Finding, QuoteRefused
from configurator.money import Money
from configurator.pricing.lines import UNPRICED, OpenBy, finest, option_price
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved
from configurator.shapes.forms import form
from configurator.words import in_unit, text

_UNPRICED = {**UNPRICED, "picks": text("depends on other picks")}
"""What stands in the place of a price that is open where nothing is picked."""


@form("problems")
@frozen(repr=False)
class Problems:
    """What is wrong with a catalogue or selection; nothing wrong is an empty list.

    Attributes:
        problems: every problem, by place.
    """

    problems: tuple[Problem, ...]


@form("refused")
@frozen(repr=False)
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


@form("not-settled")
@frozen(repr=False)
class NotSettled:
    """There is no answer: the search stopped before it had one, which proves nothing.

    Attributes:
        detail: why it stopped.
        advice: what to ask instead, with the command; empty where nothing is known.
    """

    detail: str
    advice: str


@form(hidden="priced open_by", shown={"price": finest})
@frozen(repr=False)
class OfferedOption:
    """One option of a choice.

    Attributes:
        option: id of the option.
        title: what the customer reads.
        text: more about it, or empty.
        most: how many may be picked at most.
        price: of one, where it depends on nothing else that is picked; None otherwise.
        per: how many the price of one is really for, such as 100.
        unit: what it is measured in, such as m; empty for pieces.
        priced: whether it has a price of its own: the catalogue gives it one, and not nothing
            because other options cost what it makes them cost.
        open_by: what its price is open by, as in a line.
    """

    option: str
    title: str
    text: str
    most: int
    price: Money | None
    per: int
    unit: str
    priced: bool
    open_by: OpenBy = ""

    @property
    def price_in_words(self) -> str | Money:
        """The price, with what it is for where that is not one piece, or why there is none."""
        if self.price is None:
            return _UNPRICED[self.open_by]
        if self.per == 1 and not self.unit:
            finer = self.price != self.price.rounded()
            return text("{each:finest}", each=self.price) if finer else self.price
        many = in_unit(self.per, self.unit)
        return text("{each:finest} for {many}", each=self.price, many=many)


@form(values={"pick": ("one", "at-most-one", "several")})
@frozen(repr=False)
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
@frozen(repr=False)
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
        within = {
            by
            for choice in catalogue.choices
            for option in choice.options
            for part in option.price
            if isinstance(part, PriceTable)
            for by in part.by
        }

        def offered(choice: Choice, option: Option) -> OfferedOption:
            line = option_price(build, choice, option)
            return OfferedOption(
                option.id,
                option.title,
                option.text,
                option.most,
                line.each,
                line.per,
                line.unit,
                bool(option.price) and not (choice.id in within and not line.amount),
                line.open_by,
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
