"""The quotes of a batch as values: what is to be done, and what became of it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from attrs import frozen

from configurator.findings import Finding
from configurator.money import Money
from configurator.pricing.price import Price
from configurator.shapes.forms import form


@form()
@frozen(repr=False)
class Job:
    """One selection to be quoted: its file, its quote's number, and the quote's file."""

    selection: str
    number: str
    output: str


@form(
    hidden="job price named findings",
    also="selection number file currency total is_from",
    keys={"is_from": "from"},
)
@frozen(repr=False)
class Quoted:
    """What became of a job.

    Attributes:
        job: what was to be done.
        price: what was quoted; None where there is no quote.
        problem: why there is none, or empty.
        named: whether the problem names the selection's file itself.
        findings: what the check cautions of.
    """

    job: Job
    price: Price | None = None
    problem: str = ""
    named: bool = False
    findings: tuple[Finding, ...] = ()

    @property
    def selection(self) -> str:
        """The selection's file."""
        return self.job.selection

    @property
    def number(self) -> str:
        """The quote's number."""
        return self.job.number

    @property
    def file(self) -> str:
        """The quote's file; empty where there is no quote."""
        return self.job.output if self.price else ""

    @property
    def currency(self) -> str:
        """ISO 4217 code of the total; empty where there is no quote."""
        return self.price.currency if self.price else ""

    @property
    def total(self) -> Money | None:
        """What was quoted, with tax; None where there is no quote."""
        return self.price.total if self.price else None

    @property
    def is_from(self) -> bool:
        """Whether the total leaves a price open."""
        return bool(self.price and self.price.is_from)


@form("batch")
@frozen(repr=False)
class BatchAnswer:
    """What became of a batch of quotes.

    Attributes:
        quotes: every selection of the folder, with its quote or why there is none.
    """

    quotes: tuple[Quoted, ...]


def of_one_name(jobs: Sequence[Job]) -> tuple[Quoted, ...]:
    """The jobs whose quotes would be the same file, each refused.

    Letters count as the same whether large or small, as they do on many disks.
    """
    alike: dict[str, list[Job]] = defaultdict(list)
    for job in jobs:
        alike[job.output.casefold()].append(job)
    return tuple(
        Quoted(job, problem=f"{_others(job, same)} would have the same quote: rename one of them")
        for same in alike.values()
        if len(same) > 1
        for job in same
    )


def _others(job: Job, same: Sequence[Job]) -> str:
    return " and ".join(other.selection for other in same if other is not job)
