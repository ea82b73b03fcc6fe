"""One result of a check, as a value, and the error that carries those which stop a quote."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import TypeAlias

from attrs import evolve, field, frozen

from configurator.catalogue.fields import Pick
from configurator.errors import NOWHERE, ConfiguratorError, Location
from configurator.shapes.forms import by_name, form
from configurator.words import itemised, text

LEVELS = ("stop", "caution", "note")
"""Levels of a finding, most serious first."""


Subject: TypeAlias = Pick | str
"""What a finding is about: a pick, with its option or without; or the name of anything else."""


@form(hidden="title lacks", keys={"about": "subject"}, shown={"about": str, "numbers": by_name})
@frozen(repr=False)
class Finding:
    """One thing that a check has to say.

    Attributes:
        level: ``stop`` (no quote), ``caution`` (printed on the quote) or ``note``.
        code: ``rule``, ``limit``, ``fit``, ``layout``, ``conflict``, ``wish``, ``place``,
            ``price``, ``undecided``, ``rating``, ``power``, ``mount``, ``arrangement-not-proven``,
            ``not-checked``, ``not-weighed``, ``not-priced``, ``no-prices``,
            ``no-customer`` (of a quote that is to be issued), ``date-past`` or ``approval``; or
            a kind of constraint besides these.
        about: what it is about: the pick, or the choice as a pick without an option; else the id of
            a rule or limit, or a name.
        sentence: what is the matter, with its numbers.
        reason: why it matters, or empty.
        hint: what to do about it, or empty.
        numbers: the numbers by name; mm, kg or the limit's unit.
        may_come: whether what is missing may still be picked, with all picks kept.
        at: where the catalogue says so, in a file by its relative path or its name alone.
        title: of a choice that is still to be made.
        lacks: options of which none is picked, and any of which may be all that it takes.
    """

    level: str
    code: str
    about: Subject
    sentence: str
    reason: str = ""
    hint: str = ""
    numbers: tuple[tuple[str, Decimal | int], ...] = ()
    may_come: bool = False
    at: Location = field(default=NOWHERE, eq=False, repr=False)
    title: str = field(default="", eq=False, repr=False)
    lacks: frozenset[Pick] = field(default=frozenset(), eq=False, repr=False)

    @property
    def subject(self) -> str:
        """What it is about as text, a pick as ``choice=option``."""
        return str(self.about)


@frozen(eq=False, repr=False)
class Saying:
    """What a check may say, before it knows the figures.

    Attributes:
        level: of the finding.
        sentence: its message, or both where there is another for any number ``n`` but one.
        hint: its message, or empty.
        reason: its message, or empty.
        may_come: whether what is missing may always still be picked.
    """

    level: str
    sentence: str | tuple[str, str]
    hint: str = ""
    reason: str = ""
    may_come: bool = False

    def finding(
        self,
        code: str,
        about: Subject,
        known: Mapping[str, object],
        numbers: tuple[tuple[str, Decimal | int], ...] = (),
        *,
        level: str = "",
        reason: str = "",
        hint: str = "",
        may_come: bool = False,
        at: Location = NOWHERE,
        lacks: frozenset[Pick] = frozenset(),
    ) -> Finding:
        """The finding, with what is known in the places of its messages.

        A level, a reason or a hint that is given stands in place of its own.
        """
        forms = self.sentence if isinstance(self.sentence, tuple) else (self.sentence,)
        sentence = text(*forms, **known)
        hint = hint or (text(self.hint, **known) if self.hint else "")
        reason = reason or (text(self.reason, **known) if self.reason else "")
        level, may_come = level or self.level, may_come or self.may_come
        return Finding(
            level, code, about, sentence, reason, hint, numbers, may_come, at, lacks=lacks
        )


def any_stops(findings: Iterable[Finding]) -> bool:
    """Whether one of the findings stops a quote."""
    return any(finding.level == "stop" for finding in findings)


def told_once(findings: Iterable[Finding]) -> Iterator[tuple[Finding, tuple[Finding, ...]]]:
    """What people are told: the choices still to be made as one finding, and each need once.

    Each comes with the others that what it lacks is lacking for too.
    """
    findings = tuple(findings)
    still_open = [finding for finding in findings if finding.code == "undecided"]
    told = set[int]()
    for place, finding in enumerate(findings):
        if finding.code == "undecided":
            if finding is still_open[0]:
                titles = itemised(one.title for one in still_open)
                sentence = text("Still to be chosen: {titles}", titles=titles)
                hint = finding.hint if len(still_open) == 1 else ""
                yield evolve(finding, sentence=sentence, hint=hint), ()
        elif place not in told:
            later = range(place + 1, len(findings) if finding.lacks else 0)
            alike = [n for n in later if n not in told and finding.lacks <= findings[n].lacks]
            told.update(alike)
            yield finding, tuple(findings[n] for n in alike)


class QuoteRefused(ConfiguratorError):
    """The selection has findings that stop a quote.

    Attributes:
        findings: those that stop it, most serious first.
    """

    def __init__(self, findings: Iterable[Finding]) -> None:
        self.findings: tuple[Finding, ...] = tuple(findings)
        super().__init__(self.findings)

    @property
    def sentences(self) -> tuple[str, ...]:
        """What each of them says."""
        return tuple(finding.sentence for finding in self.findings)

    @property
    def told(self) -> tuple[tuple[Finding, tuple[Finding, ...]], ...]:
        """The same as people are told it, each with those that lack the same."""
        return tuple(told_once(self.findings))

    def __str__(self) -> str:
        told = (one.sentence for first, others in self.told for one in (first, *others))
        return "no quote: " + "; ".join(told)
