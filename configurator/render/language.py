"""The language of a paper: its words, and how it writes numbers, amounts of money and days.

English is the source: what a template or a module says is written there in English, and a catalogue
of translations has the same in another language. How numbers, money and days are written comes from
the Unicode Common Locale Data Repository through Babel. Every figure stays exact: what is shown is
the decimal number itself, rounded to what its currency or its paper has, and never a float.
"""

from __future__ import annotations

import datetime as dt
from functools import cached_property
from gettext import NullTranslations

import babel
from attrs import field, frozen
from babel.dates import format_date
from babel.numbers import get_decimal_symbol, get_group_symbol, get_minus_sign_symbol

from configurator.money import Money
from configurator.words import Speech

__all__ = ["ENGLISH", "Language"]

_SOURCE = NullTranslations()
"""The words as the source has them."""


@frozen
class Language(Speech):
    """How a paper is written.

    Attributes:
        tag: language and country, such as ``en-AU`` (BCP 47).
        words: its translations; without them everything is said in English.
    """

    tag: str
    words: NullTranslations = field(default=_SOURCE, repr=False)

    @cached_property
    def locale(self) -> babel.Locale:
        """The locale that Babel knows under the tag."""
        return babel.Locale.parse(self.tag, sep="-")

    @cached_property
    def lowers(self) -> bool:
        """Whether the first word of a title is written small inside a sentence."""
        return self.tag.startswith("en")

    @cached_property
    def decimal_sign(self) -> str:
        """What is written before the decimals."""
        return get_decimal_symbol(self.locale)

    @cached_property
    def group_sign(self) -> str:
        """What is written between thousands in an amount of money."""
        return get_group_symbol(self.locale)

    @cached_property
    def minus_sign(self) -> str:
        """What is written before a number below zero."""
        return get_minus_sign_symbol(self.locale)

    def translated(self, message: str, plural: str, n: int) -> str:
        """The message in this language, its places still open."""
        if plural:
            return self.words.ngettext(message, plural, n)
        return self.words.gettext(message) if message else ""

    def amount_with_currency(self, money: Money) -> str:
        """An amount with its currency's code on the side where the language has it."""
        pattern = self.locale.currency_formats["standard"].pattern
        parts = (money.currency, self.amount(money))
        return "\N{NO-BREAK SPACE}".join(parts if pattern.startswith("¤") else parts[::-1])

    def lacking(self, written: str, digits: int) -> str:
        """What a written number lacks to so many decimals; with it, unseen, a column is aligned."""
        whole, _, rest = written.partition(self.decimal_sign)
        if not whole[-1:].isdigit() or not (rest.isdigit() or not rest):
            return ""
        lacking = "0" * (digits - len(rest))
        return lacking if rest or not digits else self.decimal_sign + lacking

    def day(self, day: dt.date | str) -> str:
        """A day in words, such as ``3 August 2026``; a text is an ISO date."""
        date = dt.date.fromisoformat(day) if isinstance(day, str) else day
        return format_date(date, "long", locale=self.locale)


ENGLISH = Language("en-AU")
"""What papers are in unless something else is asked for."""
