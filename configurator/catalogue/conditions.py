"""Conditions of rules, suggestions and cautions: what they ask of the options picked.

Tests of one choice, and all, any or none of several: everything that propositional logic can say.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, TypeAlias

from attrs import frozen

from configurator.catalogue.fields import FileCondition, Record, Written
from configurator.shapes import As


@frozen(repr=False, eq=False)
class Test(Written):
    """What a condition asks of one choice: a quantity of some of its options.

    Attributes:
        choice: the choice.
        options: options counted together; empty means all options of the choice.
        at_least: smallest quantity that will do.
        at_most: largest quantity that will do; None for no bound.
    """

    choice: str
    options: tuple[str, ...] = ()
    at_least: int = 0
    at_most: int | None = None


@frozen(repr=False, eq=False)
class AllOf(Record):
    """Every one of these holds; nothing at all holds too."""

    conditions: tuple[Condition, ...]


@frozen(repr=False, eq=False)
class AnyOf(Record):
    """At least one of these holds."""

    conditions: tuple[Condition, ...]


@frozen(repr=False, eq=False)
class NoneOf(Record):
    """Not one of these holds."""

    conditions: tuple[Condition, ...]


Condition: TypeAlias = Annotated[Test | AllOf | AnyOf | NoneOf, As(FileCondition)]


def tests_in(condition: Condition) -> Iterator[Test]:
    """Every test that the condition is made of, in the order written."""
    if isinstance(condition, Test):
        yield condition
    else:
        for part in condition.conditions:
            yield from tests_in(part)
