"""Messages that can be said in several languages, and figures as people read them.

What the program says is a :class:`Text`: a message in English with the values in its places. It is
a string, equal to its English, and whoever knows another language says it anew from its parts. What
the catalogue says is a plain string and stays as it was written, unless the catalogue gives it in
several languages (:class:`InLanguages`).

A figure is rounded by what it is, wherever it is shown: what is used, loads or is too much goes up,
what is available or remains goes down, so that the two add up and neither comforts falsely; what is
neither goes to the nearest. Kilograms are shown to a tenth, other units of limits to a hundredth.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Collection, Hashable, Iterable, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from functools import cache, partial
from typing import Any, Self, TypeVar, cast

import attrs

from configurator.money import Money, exponent, round_to

T = TypeVar("T")

_QUOTED = re.compile('"[^"]*"(?:, )?')


class Text(str):
    """What the program says: the English, and what it is made of.

    Attributes:
        message: the message in English, with places such as ``{unit}``; the key of a translation.
        plural: the message for any number but one; empty where the number does not matter.
        values: what is put in the places. A ``Text`` is said in the language of the whole, a
            number, an amount of money or a day is written as it is usual there, and any other
            string stays as it is.
    """

    __slots__ = ("message", "plural", "values")

    message: str
    plural: str
    values: Mapping[str, object]

    def __new__(cls, message: str, plural: str, values: Mapping[str, object]) -> Self:
        """The text; :func:`text` is the usual way to make one."""
        self = super().__new__(cls, SOURCE.filled(message, plural, values))
        self.message, self.plural, self.values = message, plural, values
        return self

    def __reduce__(self) -> tuple[object, ...]:
        return Text, (self.message, self.plural, self.values)

    def said(self, speech: Speech) -> str:
        """The text in a language."""
        return speech.filled(self.message, self.plural, self.values)


class InLanguages(Text):
    """A text of the catalogue in several languages: a string equal to that in its own.

    Attributes:
        versions: the text by language, such as ``de`` or ``en-AU``.
    """

    __slots__ = ("versions",)

    versions: Mapping[str, str]

    def __new__(cls, versions: Mapping[str, str], own: str) -> Self:
        """The text, of which one version is in the catalogue's own language."""
        own = spoken(versions, own)
        self = str.__new__(cls, versions[own])
        self.message, self.plural, self.values = "{text}", "", {"text": versions[own]}
        self.versions = {own: versions[own], **versions}
        return self

    def __reduce__(self) -> tuple[object, ...]:
        return InLanguages, (self.versions, next(iter(self.versions)))

    def said(self, speech: Speech) -> str:
        """The version in the language, or else in the catalogue's own."""
        return self.versions.get(spoken(self.versions, speech.tag), str(self))


def spoken(known: Collection[str], tag: str) -> str:
    """The one of the known languages that is nearest to a tag such as ``de-AT``; empty for none.

    The same language in the same country comes first, then without a country, then in any.
    """
    language = tag.partition("-")[0]
    for exact in (tag, language):
        if exact in known:
            return exact
    return next((one for one in known if one.partition("-")[0] == language), "")


def text(message: str, plural: str = "", /, **values: object) -> Text:
    """A message for people.

    Args:
        message: in English, with places such as ``{unit}``; a brace of its own is doubled. A place
            may say how its value is written: ``{total:amount}`` without the currency,
            ``{each:finest}`` the same with every decimal it has,
            ``{change:signed}`` without it but with its sign, ``{change:change}`` with both,
            ``{sentence:capital}`` with a capital letter,
            ``{day:month}`` as a month with its year, ``{title:inside}`` as a title is
            written inside a sentence, ``{because:bare}`` without the full stop at its end.
        plural: the message where the value ``n`` is not one.
        values: what is put in the places.
    """
    return Text(message, plural, values)


def joined(parts: Iterable[str], between: str = ", ") -> Text:
    """The parts one after the other, each of which can still be said in another language.

    Words between them are a message, such as ``text(" or ")``; signs are not.
    """
    values = {f"p{index}": part for index, part in enumerate(parts)}
    names = [f"{{{name}}}" for name in values]
    if isinstance(between, Text):
        return Text("{between}".join(names), "", values | {"between": between})
    return Text(between.join(names), "", values)


def itemised(parts: Iterable[str]) -> Text:
    """The parts one after the other: between them commas, or semicolons where one has a comma."""
    every = tuple(parts)
    return joined(every, "; " if any(map(_has_comma, every)) else ", ")


def listed(parts: Iterable[str], alternatives: bool = False) -> Text:
    """The parts as a list in a sentence: ``A, B and C``, or ``A, B or C`` of alternatives.

    Where one of them has a comma, it is ``A, a; B, b; and C``.
    """
    *most, last = every = tuple(parts) or ("",)
    if not most:
        return joined([last])
    commas = any(map(_has_comma, every))
    known = {"most": joined(most, "; " if commas else ", "), "last": last}
    if not commas:
        if alternatives:
            return text("{most} or {last}", **known)
        return text("{most} and {last}", **known)
    if len(most) == 1:
        if alternatives:
            return text("{most}, or {last}", **known)
        return text("{most}, and {last}", **known)
    if alternatives:
        return text("{most}; or {last}", **known)
    return text("{most}; and {last}", **known)


def _has_comma(part: str) -> bool:
    """Whether the part could be taken for two in some language: a comma, not between quotes."""
    versions = part.versions.values() if isinstance(part, InLanguages) else (part,)
    return any(", " in one and ", " in _QUOTED.sub("", one) for one in versions)


def did_you_mean(words: Collection[str]) -> str:
    """A hint that asks whether one of these words was meant; empty where there are none."""
    return text("did you mean {words}?", words=listed(words, alternatives=True)) if words else ""


def near_miss(word: str, known: Iterable[str]) -> str:
    """A hint naming the known words most like ``word``, or an empty text.

    They are those of which it is one of the parts between hyphens, three at most; or else the two
    nearest in size, where it differs by numbers alone; or else the two most like it by their
    letters. Ties go to the alphabet, so the hint does not depend on the order in which the words
    were met.
    """
    import difflib

    names = sorted(set(known))
    close = [name for name in names if word in name.split("-")][:3]
    close = close or _nearest_in_size(word, names)
    close = close or difflib.get_close_matches(word, names, n=2, cutoff=0.6)
    return did_you_mean([f'"{one}"' for one in close])


def _nearest_in_size(word: str, names: Sequence[str]) -> list[str]:
    """The two names nearest by number; the unit at the end may be cut short, the rest is alike.

    None is more than twice the word's or less than half: 180mm is rather 1800mm cut short.
    """
    rest, numbers = _without_numbers(word)
    gaps = {}
    for name in names:
        its, others = _without_numbers(name)
        if numbers and its.startswith(rest) and len(others) == len(numbers):
            pairs = [*zip(numbers, others, strict=True)]
            if all(max(pair) <= 2 * min(pair) for pair in pairs):
                gaps[name] = sum(abs(a - b) for a, b in pairs)
    near = sorted(gaps, key=gaps.__getitem__)[:2]
    return [name for name in near if not gaps[name]] or near


def _without_numbers(word: str) -> tuple[str, list[int]]:
    """The word with a mark in the place of each number, and the numbers."""
    digits = "[0-9]{1,9}"
    return re.sub(digits, "#", word), [*map(int, re.findall(digits, word))]


def several(count: int, title: str) -> str:
    """The title, with how many of them where it is more than one."""
    return text("{count} × {title}", count=count, title=title) if count > 1 else title


def of_choice(choice: str, options: Iterable[str], told: str) -> Text:
    """What is told of options after the title of their choice, where not each says it already.

    Args:
        choice: title of the choice.
        options: titles of the options.
        told: they, or how many of them.
    """
    if all(choice.casefold() in option.casefold() for option in options):
        return joined([told])
    return text("{choice}: {option}", choice=choice, option=told)


def capital(words: str) -> Text:
    """The words with a capital letter at their beginning."""
    return text("{words:capital}", words=words)


_MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)


class Speech:
    """How messages, numbers and amounts of money are written: in English, as in the source.

    Another language is a class built on this one.
    """

    __slots__ = ()

    @property
    def tag(self) -> str:
        """Language and country, such as ``en-AU``; empty where no language was asked for."""
        return ""

    @property
    def lowers(self) -> bool:
        """Whether the first word of a title is written small inside a sentence."""
        return True

    @property
    def signs(self) -> Mapping[int, str]:
        """What is written for ``,`` between thousands, ``.`` before decimals and ``-``."""
        return {}

    def translated(self, message: str, plural: str, n: int) -> str:
        """The message in this language, its places still open."""
        return plural if plural and n != 1 else message

    def say(self, words: str) -> str:
        """The words in this language, if the program says them; otherwise as they are."""
        if isinstance(words, Text):
            return words.said(self)
        return words

    def filled(self, message: str, plural: str, values: Mapping[str, object]) -> str:
        """The message in this language with the values in its places."""
        n = values.get("n", 1)
        whole = int(n) if isinstance(n, int | Decimal) and n == int(n) else 2
        said = self.translated(message, plural, whole)
        return said.format(**{name: _Value(value, self) for name, value in values.items()})

    def written(self, value: object, form: str = "") -> str:
        """A value of a message; its form as :func:`text` has it."""
        match value:
            case str():
                said = self.say(value)
                if form == "bare":
                    return said.rstrip(".")
                if form == "inside" and self.lowers and said[1:2].islower():
                    return said[:1].lower() + said[1:]
                return said[:1].upper() + said[1:] if form == "capital" else said
            case None:
                return ""
            case Money():
                forms = {
                    "amount": self.amount,
                    "finest": self._finest_amount,
                    "signed": self.signed_amount,
                    "change": self.change_with_currency,
                }
                return forms.get(form, self.amount_with_currency)(value)
            case Decimal() | int():
                return self.signed_number(value) if form == "signed" else self.number(value)
            case dt.date():
                return self.month(value) if form == "month" else self.day(value)
            case _:
                return str(value)

    def amount(self, money: Money | None) -> str:
        """An amount without its currency, such as ``12,345.67``."""
        if money is None:
            return self.say(text("no price yet"))
        digits = exponent(money.currency)
        return f"{round_to(money.amount, digits):z,.{digits}f}".translate(self.signs)

    def _finest_amount(self, money: Money) -> str:
        """An amount with every decimal that it has, such as ``0.0088``."""
        return f"{money.amount:z,.{money.decimals}f}".translate(self.signs)

    def signed_amount(self, money: Money | None) -> str:
        """An amount with its sign, such as ``+1,200.00``."""
        plus = "+" if money is not None and money.amount > 0 else ""
        return plus + self.amount(money)

    def amount_with_currency(self, money: Money) -> str:
        """An amount with its currency, such as ``AUD 12,345.67`` or ``AUD -300.00``."""
        return self._beside_currency(money, self.amount(money))

    def change_with_currency(self, money: Money) -> str:
        """A difference with its currency: the sign stands at the figure, as in ``AUD +815.00``."""
        return self._beside_currency(money, self.signed_amount(money))

    def _beside_currency(self, money: Money, written: str) -> str:
        return f"{money.currency} {written}"

    def number(self, number: Decimal | int) -> str:
        """A number without needless zeros, to two decimals at most, such as ``1250.5``.

        Thousands are not set apart, as in drawings and in the sentences of a check.
        """
        rounded = round_to(Decimal(number), 2)
        return f"{rounded.normalize() + 0:f}".translate(self.signs)

    def day(self, day: dt.date | str) -> str:
        """A day, or its ISO date, such as ``2026-08-03``; a paper writes it in words."""
        return str(day)

    def month(self, day: dt.date) -> str:
        """The month of a day, such as ``November 2026``."""
        return f"{_MONTHS[day.month - 1]} {day.year}"

    def signed_number(self, number: Decimal | int) -> str:
        """A number with its sign, such as ``+12.5``."""
        return f"+{self.number(number)}" if number > 0 else self.number(number)


class _Value:
    """A value that formats itself as a language writes it."""

    __slots__ = ("speech", "value")

    def __init__(self, value: object, speech: Speech) -> None:
        self.value, self.speech = value, speech

    def __format__(self, form: str) -> str:
        return self.speech.written(self.value, form)


SOURCE = Speech()
"""English as the source has it."""

amount, signed_amount, plain = SOURCE.amount, SOURCE.signed_amount, SOURCE.number
amount_with_currency = SOURCE.amount_with_currency


def letter(index: int) -> str:
    """The letter of a column: A for the first, then B; AA after Z."""
    name = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        name = chr(ord("A") + rest) + name
    return name


def digits_of(unit: str) -> int:
    """How many decimals a figure in that unit is shown to at most."""
    return 1 if unit == "kg" else 2


_SYMBOLS = frozenset(("kg", "A", "Ah", "W", "Wh", "V", "N", "L", "mm", "m", "cm2", "m2", "m3", "h"))


def shown_unit(unit: str) -> str:
    """A unit as it is set: ``cm²`` for ``cm2``."""
    if unit not in _SYMBOLS:
        return unit
    return unit.replace("2", "\N{SUPERSCRIPT TWO}").replace("3", "\N{SUPERSCRIPT THREE}")


def in_unit(number: Decimal | int, unit: str) -> Text:
    """A figure with its unit; of what is counted, such as ways, the number only."""
    known = unit in _SYMBOLS
    return text("{n} {unit}", n=number, unit=shown_unit(unit)) if known else text("{n}", n=number)


def used(number: Fraction | Decimal | int, digits: int = 1) -> Decimal:
    """What is used, loads or is too much, to this many decimals: rounded up."""
    return _unsigned(round_to(number, digits, "ceiling"))


def left(number: Fraction | Decimal | int, digits: int = 1) -> Decimal:
    """What is available or remains, to this many decimals: rounded down."""
    return _unsigned(round_to(number, digits, "floor"))


def to_mm(number: Fraction | Decimal | int) -> Decimal:
    """A place to the nearest millimetre."""
    return nearest(number, 0)


def nearest(number: Fraction | Decimal | int, digits: int = 1) -> Decimal:
    """A figure of which neither more nor less is safer, to this many decimals: half up."""
    return _unsigned(round_to(number, digits))


def _unsigned(number: Decimal) -> Decimal:
    """The number; zero without a sign."""
    return number or abs(number)


UP = {"shown": used}
"""Metadata of a field that is used, drawn or needed, or takes time: shown to a tenth, up."""

DOWN = {"shown": left}
"""Metadata of a field that is available, given or carried, or lasts: shown to a tenth, down."""

LOSS = {"shown": partial(used, digits=2)}
"""Metadata of a field that is lost on the way: shown to a hundredth, up."""

SHARE = {"shown": partial(left, digits=2)}
"""Metadata of a field that is a share of something: shown to a hundredth, down."""


def shown(value: T) -> T:
    """The value with every figure as people read it; conditions are for the exact one.

    Each field of an ``attrs`` class says by its metadata how it is rounded, so that a figure is
    rounded once and alike wherever it is shown.
    """
    return cast("T", _rounded(value))


def _rounded(value: Any) -> Any:
    if isinstance(value, tuple):
        return tuple(map(_rounded, value))
    if isinstance(value, str | Decimal | int) or not attrs.has(type(value)):
        return value
    changes = {}
    for name, rounded in _rounders(cast("Hashable", type(value))):
        exact = getattr(value, name)
        if exact is not None and (figure := rounded(exact)) is not exact:
            changes[name] = figure
    return attrs.evolve(value, **changes) if changes else value


@cache
def _rounders(cls: Hashable) -> tuple[tuple[str, Callable[[Any], Any]], ...]:
    """How each field of a class is rounded; by its own metadata, where it says nothing."""
    fields = attrs.fields(cast("type[Any]", cls))
    return tuple((field.name, field.metadata.get("shown", _rounded)) for field in fields)


def plain_cell(text: str) -> str:
    """The text so that no spreadsheet takes it for a formula.

    One that begins as a formula does gets an apostrophe before it, which spreadsheets hide.
    """
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text
