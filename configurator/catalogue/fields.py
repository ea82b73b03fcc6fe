"""What the records of a catalogue and a selection are made of: figures, texts, picks, conditions.

``Annotated`` says what a figure means and what is asked of it, see
:mod:`configurator.shapes.schema`. A condition is a test of one choice, or all, any or none of
several: everything that propositional logic can say.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from functools import cache
from operator import attrgetter
from types import MappingProxyType
from typing import Annotated, Any, TypeAlias

import attrs
from attrs import field, frozen

from configurator.errors import NOWHERE, Location, WrongArgument, as_given
from configurator.shapes.forms import brief, form
from configurator.shapes.schema import As, Defined, Or, Others, Schema, Schemas, asks, up_to

ONE_LINE = r"^[^\n]*\S[^\n]*$"
"""The pattern of a text of one line that is not of blanks alone."""

LANGUAGE = r"^[a-z]{2,3}(-[A-Z]{2})?$"
"""The pattern of a language, with its country where that matters: ``de``, ``en-AU``."""

SOME_TEXT = asks(pattern=r"\S")
Language: TypeAlias = Annotated[str, asks(pattern=LANGUAGE)]


@frozen(repr=False)
class ForPeople:
    """A text for people, which a file may give in several languages.

    Attributes:
        most: characters that it may have; None for any number.
    """

    most: int | None = None

    def altered(self, _: Schema, schemas: Schemas, /) -> Schema:
        """A reference to the schema of such a text, and of texts by language."""
        asked = up_to(self.most) if self.most else SOME_TEXT
        text = Annotated[
            str,
            "A text, or the text by language, such as {en: Tray, de: Pritsche}; one of them is the "
            "language of the catalogue's papers.",
            asked,
            Or(Mapping[Language, Annotated[str, "The text in this language.", asked]]),
            asks(format="languages", minProperties=1),
            Defined(f"text-{self.most}" if self.most else "text"),
        ]
        return schemas.of(text)


Id: TypeAlias = Annotated[
    str,
    "Lower-case letters, digits and single hyphens.",
    asks(pattern="^[a-z0-9]+(-[a-z0-9]+)*$", maxLength=60),
    Defined("id"),
]
PartName: TypeAlias = Annotated[
    str, asks(pattern=r"^[^/\\\n][^\\\n]*\.(yaml|yml|json)$", maxLength=200)
]
Text: TypeAlias = Annotated[str, SOME_TEXT]
Words: TypeAlias = Annotated[str, ForPeople()]
Day: TypeAlias = Annotated[str, asks(format="date")]

Mm: TypeAlias = Annotated[int, asks(minimum=0, maximum=100_000)]
Size: TypeAlias = Annotated[int, asks(minimum=1, maximum=100_000)]
Coordinate: TypeAlias = Annotated[int, asks(minimum=-100_000, maximum=100_000)]
Count: TypeAlias = Annotated[int, asks(minimum=1, maximum=1000)]

HowMany: TypeAlias = Annotated[Decimal, asks(exclusiveMinimum=0, maximum=100_000)]
"""A count, or an amount such as 3.5 of what is sold by measure."""

Positive: TypeAlias = Annotated[Decimal, asks(exclusiveMinimum=0, maximum=100_000)]
NotNegative: TypeAlias = Annotated[Decimal, asks(minimum=0, maximum=100_000)]
Share: TypeAlias = Annotated[Decimal, asks(exclusiveMinimum=0, maximum=1)]
ShareFrom0: TypeAlias = Annotated[Decimal, asks(minimum=0, maximum=1)]
UpTo1000: TypeAlias = Annotated[Decimal, asks(exclusiveMinimum=0, maximum=1000)]
Percent: TypeAlias = Annotated[Decimal, asks(minimum=0, maximum=100)]
Hours: TypeAlias = Annotated[Decimal, asks(minimum=0, maximum=24)]

MOST_MONEY = 10_000_000_000
"""The largest amount of money that a catalogue or a selection may state."""

Amount: TypeAlias = Annotated[
    Decimal, asks(format="money", minimum=-MOST_MONEY, maximum=MOST_MONEY)
]
AmountFrom0: TypeAlias = Annotated[Decimal, asks(format="money", minimum=0, maximum=MOST_MONEY)]


PicksByChoice: TypeAlias = Annotated[
    Mapping[
        Id,
        Annotated[
            str,
            "An option id, a list of option ids, or quantities by option id.",
            Or(
                Annotated[tuple[Annotated[Id, "An option id."], ...], asks(minItems=1)],
                Annotated[Mapping[str, Annotated[HowMany, "Quantity."]], asks(minProperties=1)],
            ),
            Defined("pick"),
        ],
    ],
    Defined("picks"),
]
"""Picks as a file writes them."""


class Record:
    """A record of the catalogue, equal to another by its fields.

    It is shown short, whatever it holds. That it is compared here, and not by code of its own that
    attrs writes for each class, saves a tenth of what a short command takes.
    """

    __slots__ = ()

    __repr__ = brief

    def __eq__(self, other: object) -> bool:
        if type(other) is not type(self):
            return NotImplemented
        held = _compared(type(self))  # type: ignore[arg-type]
        return bool(held(self) == held(other))

    def __hash__(self) -> int:
        return hash(_compared(type(self))(self))  # type: ignore[arg-type]


@cache
def _compared(cls: type) -> Callable[[Any], object]:
    """Gives what records of the class are equal by."""
    names = [field.name for field in attrs.fields(cls) if field.eq]
    return attrgetter(*names) if names else type


@frozen(repr=False, eq=False)
class Written(Record):
    """A record that knows where it was written, which takes no part in equality."""

    at: Location = field(default=NOWHERE, eq=False, repr=False, kw_only=True)


AS_PICK = form(
    hidden="choice option quantity amount at",
    also="many name",
    keys={"many": "quantity", "name": "pick"},
)
"""How a pick is written in answers, with what else one states."""


@AS_PICK
@frozen(repr=False, eq=False)
class Pick(Written):
    """An option picked, and how many of it.

    Of what is sold by measure, ``amount`` is how much, such as 3.5 m of hose.

    It also names an option, and without one all options of a choice; files and arguments write
    that as ``choice=option`` and ``choice``.
    """

    choice: str
    option: str = ""
    quantity: int = 1
    amount: Decimal | None = None

    def __attrs_post_init__(self) -> None:
        for name, held in (("choice", self.choice), ("option", self.option)):
            if not isinstance(held, str):
                raise WrongArgument(f"{name} is {as_given(held)}; give a str")

    @property
    def many(self) -> int | Decimal:
        """How many of it, or how much of what is sold by measure."""
        return self.quantity if self.amount is None else self.quantity * self.amount

    @classmethod
    def counting(cls, choice: str, option: str, many: int | Decimal, at: Location) -> Pick:
        """A pick of this many, which has an amount where it is not of whole ones."""
        if many == int(many):
            return cls(choice, option, int(many), at=at)
        return cls(choice, option, 1, Decimal(many), at=at)

    @classmethod
    def named(cls, text: str) -> Pick:
        """What a text such as ``choice=option`` or ``choice`` names."""
        choice, _, option = text.partition("=")
        return cls(choice, option)

    @property
    def name(self) -> str:
        """The pick as ``choice=option``."""
        return f"{self.choice}={self.option}" if self.option else self.choice

    @property
    def key(self) -> tuple[str, str]:
        """Its choice and option."""
        return self.choice, self.option

    def covers(self, choice: str, option: str) -> bool:
        """Whether it names that option, alone or with all others of its choice."""
        return self.choice == choice and self.option in ("", option)

    def __str__(self) -> str:
        return self.name


def as_pick(given: Pick | str | None) -> Pick | None:
    """What Python gave for a pick, which may be its text; a wrong type is refused later."""
    return (Pick.named(given) if given else None) if isinstance(given, str) else given


def as_picks(given: tuple[Pick | str, ...]) -> tuple[Pick, ...]:
    """The same of several."""
    return tuple(Pick.named(one) if isinstance(one, str) else one for one in given)


@frozen(repr=False, eq=False)
class Quantity(Record):
    """A quantity of an option, or of all options of a choice, as a file asks for it."""

    option: Annotated[
        Id, "The option counted; without it, all options of the choice are counted together."
    ] = ""
    at_least: Annotated[
        int, "The smallest quantity that will do.", asks(minimum=0, maximum=1000)
    ] = 0
    at_most: Annotated[
        int | None,
        "The largest quantity that will do; 0 says that it is not picked.",
        asks(minimum=0, maximum=1000),
    ] = None


@frozen(repr=False, eq=False)
class Conditions(Record):
    """Conditions that hold together, by choice id (also vehicle, add-on) or all, any, none."""

    all_of: Annotated[
        tuple[FileCondition, ...], "Every one of these conditions holds.", asks(minItems=1)
    ] = ()
    any_of: Annotated[
        tuple[FileCondition, ...], "At least one of these conditions holds.", asks(minItems=1)
    ] = ()
    none_of: Annotated[
        tuple[FileCondition, ...], "Not one of these conditions holds.", asks(minItems=1)
    ] = ()
    choices: Annotated[Mapping[str, PickTest], Others()] = MappingProxyType({})


FileCondition: TypeAlias = Annotated[Conditions, asks(minProperties=1)]
PickTest: TypeAlias = Annotated[
    str,
    "What is asked of one choice: an option's id (it is picked), a list of ids (any of them is "
    "picked), or a quantity.",
    Or(
        Annotated[tuple[Annotated[Id, "One of the options that will do."], ...], asks(minItems=1)],
        Quantity,
    ),
    asks(minProperties=1),
    Defined("pick-test"),
]


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
