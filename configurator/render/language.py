"""The language of a paper: its words, and how it writes numbers, amounts of money and days.

English is the source: what a template or a picture says stands there in English, and a catalogue of
translations has the same in another language. How numbers, money and days are written comes from
the Unicode Common Locale Data Repository through Babel. Every figure stays exact: what is shown is
the decimal number itself, rounded to what its currency or its paper has, and never a float.
"""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from functools import cached_property
from gettext import NullTranslations

import babel
from attrs import field, frozen
from babel.dates import format_date
from babel.numbers import get_decimal_symbol, get_group_symbol, get_minus_sign_symbol

from configurator.money import Money, exponent, round_to
from configurator.words import plain

__all__ = ["ENGLISH", "Language", "marked"]

_SOURCE = NullTranslations()
"""The words as they stand in the source."""


def marked(text: str) -> str:
    """The text as it is; whoever gathers the words of the papers finds it here.

    For words that are said later than they are written, such as those of a table of labels.
    """
    return text


@frozen
class Language:
    """How a paper speaks.

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

    @property
    def is_source(self) -> bool:
        """Whether everything is said and written as in the source."""
        return self.words is _SOURCE and self.decimal_sign == "."

    @property
    def decimal_sign(self) -> str:
        """What stands before the decimals."""
        return get_decimal_symbol(self.locale)

    @property
    def group_sign(self) -> str:
        """What stands between thousands in an amount of money."""
        return get_group_symbol(self.locale)

    def say(self, text: str, /, **values: object) -> str:
        """The text in this language.

        Args:
            text: in English, with places such as ``%(name)s``; a percent sign is doubled.
            values: what is put in the places.
        """
        return self.words.gettext(text) % values

    def amount(self, money: Money | None) -> str:
        """An amount without its currency, such as ``12,345.67``; ``open`` where there is none."""
        if money is None:
            return self.say("open")
        digits = exponent(money.currency)
        return self._signs(f"{round_to(money.amount, digits):z,.{digits}f}")

    def signed_amount(self, money: Money | None) -> str:
        """An amount with its sign, such as ``+1,200.00``."""
        plus = "+" if money is not None and money.amount > 0 else ""
        return plus + self.amount(money)

    def amount_with_currency(self, money: Money) -> str:
        """An amount with its currency's code on the side where the language has it."""
        pattern = self.locale.currency_formats["standard"].pattern
        parts = (money.currency, self.amount(money))
        return "\N{NO-BREAK SPACE}".join(parts if pattern.startswith("¤") else parts[::-1])

    def number(self, number: Decimal | int) -> str:
        """A measure without needless zeros, to two decimals at most, such as ``1250.5``.

        Thousands are not set apart, as in drawings and in the sentences of a check.
        """
        return self._signs(plain(number))

    def signed_number(self, number: Decimal | int) -> str:
        """A measure with its sign, such as ``+12.5``."""
        return f"+{self.number(number)}" if number > 0 else self.number(number)

    def lacking(self, number: Decimal | int, digits: int) -> str:
        """What a number lacks to so many decimals; with it, unseen, a column of them is aligned."""
        _, _, rest = self.number(number).partition(self.decimal_sign)
        lacking = "0" * (digits - len(rest))
        return lacking if rest or not digits else self.decimal_sign + lacking

    def day(self, day: dt.date | str) -> str:
        """A day in words, such as ``3 August 2026``; a text is an ISO date."""
        date = dt.date.fromisoformat(day) if isinstance(day, str) else day
        return format_date(date, "long", locale=self.locale)

    def _signs(self, number: str) -> str:
        """A number written with the signs that this language has for ``,``, ``.`` and ``-``."""
        minus = get_minus_sign_symbol(self.locale)
        return number.translate(
            {ord(","): self.group_sign, ord("."): self.decimal_sign, ord("-"): minus}
        )


ENGLISH = Language("en-AU")
"""What papers speak unless something else is asked for."""
