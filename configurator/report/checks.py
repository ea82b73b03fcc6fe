"""What a check finds as a report, and the lists of what a catalogue offers."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from attrs import evolve

from configurator.catalogue.fields import Pick
from configurator.checking.check import Check
from configurator.findings import Finding, told_once
from configurator.report.mass import towing_words
from configurator.report.model import (
    Block,
    Cell,
    Column,
    Command,
    Paragraph,
    Report,
    Table,
    Value,
    command_about_any,
    table_of,
    to_fix,
    with_unit,
)
from configurator.selection.totals import LimitState
from configurator.words import Text, joined, text

if TYPE_CHECKING:
    from configurator.answers.values import Choices, OfferedChoice, OfferedOption


def check_report(checked: Check, command: Command = command_about_any) -> Report:
    """The findings, then how the limits stand, then what is to be said of all such figures.

    Last is the command that lists fixes, where the picks do not go together.

    Args:
        checked: what was found.
        command: writes the command.
    """
    return (
        (Paragraph(_how_many(checked)),),
        *map(_needed, told_once(_asking(one, command) for one in checked.findings)),
        tuple(_limits(checked)),
        tuple(Paragraph(caution, "faint") for caution in checked.beside),
        *_to_mend(checked, command),
    )


def _asking(finding: Finding, command: Command) -> Finding:
    """The finding, with the command that settles what its hint says to ask for."""
    if (finding.code, finding.about) != ("conflict", "picks"):
        return finding
    asks = command("explain")
    if finding.level != "stop":
        return evolve(
            finding, hint=text("leave out a pick, or look longer with: {command}", command=asks)
        )
    if isinstance(finding.sentence, Text) and "why" not in finding.sentence.values:
        return evolve(finding, hint=text("to find out why: {command}", command=asks))
    return finding


def _to_mend(checked: Check, command: Command) -> Iterator[tuple[Block, ...]]:
    """How to ask for fixes where picks do not go together."""
    if any(one.code == "conflict" and one.level == "stop" for one in checked.findings):
        yield to_fix(command)


def _how_many(checked: Check) -> str:
    """How many findings stop a quote; of them, choices still to be made and what stays."""
    stops, still_open, lasting = map(len, (checked.stops, checked.to_choose, checked.impossible))
    if not stops:
        return text("Nothing stops a quote.")
    told = [text("{n} finding stops a quote", "{n} findings stop a quote", n=stops)]
    if still_open == stops:
        told.append(
            text("it is a choice still to be made", "each is a choice still to be made", n=stops)
        )
    elif still_open:
        made = text(
            "{n} of them is a choice still to be made",
            "{n} of them are choices still to be made",
            n=still_open,
        )
        told.append(made)
    if 0 < lasting < stops:
        stays = text(
            "{n} of them stays, whatever is still chosen",
            "{n} of them stay, whatever is still chosen",
            n=lasting,
        )
        told.append(stays)
    return joined(told, "; ")


def _needed(told: tuple[Finding, tuple[Finding, ...]]) -> tuple[Block, ...]:
    """A finding, and in a line each what else the same need would do for."""
    finding, others = told
    return (finding, *(Paragraph(_also(other, finding), depth=1) for other in others))


def _also(other: Finding, first: Finding) -> str:
    """What is said of a finding below another of the same need."""
    if other.level == first.level:
        return text("also: {sentence}.", sentence=other.sentence)
    if other.level == "caution":
        return text("also, as a caution: {sentence}.", sentence=other.sentence)
    return text("also, as a note: {sentence}.", sentence=other.sentence)


def _limits(checked: Check) -> Iterator[Block]:
    """How limits stand, and how much of the payload remains with a trailer."""
    if checked.limits:
        yield _limits_table(checked.limits)
    towing = None if checked.mass is None else towing_words(checked.mass)
    if towing is not None:
        yield Paragraph(text("Payload: {towing}.", towing=towing))


def _limits_table(limits: Iterable[LimitState]) -> Table:
    """How limits stand: what is used of each, what is available, and what remains."""

    def remaining(state: LimitState) -> Cell:
        if state.lacking:
            return Cell(text("still to be chosen"))
        return Cell(state.shown[2], look="alarm" if state.shown[2] < 0 else "")

    return table_of(
        limits,
        (Column(text("Limit")), lambda state: with_unit(state.limit.title, state.limit.unit)),
        (Column(text("Used"), "figure", 2, "of"), lambda state: state.shown[0]),
        (Column(text("Available"), "figure", 2, "of"), lambda state: state.shown[1]),
        (Column(text("Remaining"), "figure", 2, "of"), remaining),
    )


def choices_report(found: Choices) -> Report:
    """The choices with their ids."""
    table = table_of(
        found.choices,
        (Column("Id"), lambda one: one.choice),
        (Column(text("Choice")), lambda one: one.title),
        (Column(text("Pick")), lambda one: one.pick.replace("-", " ")),
        (Column(text("Options"), "figure"), lambda one: len(one.options)),
    )
    return ((table,),)


def options_report(found: Choices) -> Report:
    """The options of choices with their ids and prices."""

    def price(option: OfferedOption) -> Value:
        return option.price_in_words if option.priced else ""

    def table(choice: OfferedChoice) -> Block:
        return table_of(
            choice.options,
            (Column(text("Pick as")), lambda one: str(Pick(choice.choice, one.option))),
            (
                Column(choice.title),
                lambda one: f"{one.title}: {one.text}" if one.text else one.title,
            ),
            (Column(found.currency, "figure"), price),
        )

    return (tuple(map(table, found.choices)),)
