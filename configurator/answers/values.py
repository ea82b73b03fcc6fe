"""Answers that are made of several values: each is what a command says under ``--json``."""

from __future__ import annotations

from attrs import frozen

from configurator.errors import Problem, QuoteRefused
from configurator.findings import Finding
from configurator.forms import form
from configurator.money import Money
from configurator.pricing.trace import TracedLine
from configurator.pricing.whole import Price
from configurator.suggested import Suggestion

__all__ = ["PriceAnswer", "Problems", "Refused", "TraceAnswer"]

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


@form("price", inline="price")
@frozen
class PriceAnswer:
    """A price, and the add-ons suggested besides it.

    Attributes:
        price: the price.
        suggestions: add-ons that are not in it.
    """

    price: Price
    suggestions: tuple[Suggestion, ...]


@form("trace", also="currency day before_tax tax total", hidden="price")
@frozen
class TraceAnswer:
    """Where every figure of a price comes from.

    Attributes:
        lines: every line.
        price: the price that they make up.
    """

    lines: tuple[TracedLine, ...]
    price: Price

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
