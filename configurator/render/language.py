"""The language of a paper: its words, and how it writes numbers, amounts of money and days.

English is the source: what a template or a module says is written there in English, and a catalogue
of translations has the same in another language. How numbers, money and days are written comes from
the Unicode Common Locale Data Repository through Babel. Every figure stays exact: what is shown is
the decimal number itself, rounded to what its currency or its paper has, and never a float.

A translation is a file ``configurator/translations/LANGUAGE.po`` in the format of GNU gettext, read
as it is when a paper in that language is made.
"""

from __future__ import annotations

import datetime as dt
import gettext
import io
from collections.abc import Iterable, Mapping
from functools import cache, cached_property
from gettext import NullTranslations
from importlib.resources import files
from pathlib import Path

import babel
from attrs import field, frozen
from babel.dates import format_date
from babel.localedata import locale_identifiers
from babel.numbers import get_decimal_symbol, get_group_symbol, get_minus_sign_symbol

from configurator.errors import ConfiguratorError
from configurator.money import Money
from configurator.words import Speech, near_miss

_SOURCE = "en"
_AS_WRITTEN = NullTranslations()
"""The words as the source has them."""


@frozen
class Language(Speech):
    """How a paper is written.

    Attributes:
        tag: language and country, such as ``en-AU`` (BCP 47).
        words: its translations; without them everything is said in English.
    """

    tag: str
    words: NullTranslations = field(default=_AS_WRITTEN, repr=False)

    @cached_property
    def locale(self) -> babel.Locale:
        """The locale that Babel knows under the tag."""
        return babel.Locale.parse(self.tag, sep="-")

    @cached_property
    def lowers(self) -> bool:
        """English writes titles small inside a sentence; German has its nouns as they are."""
        return self.tag.startswith(_SOURCE)

    @cached_property
    def signs(self) -> Mapping[int, str]:
        """What stands for the signs of a number in the source."""
        own = {",": get_group_symbol, ".": get_decimal_symbol, "-": get_minus_sign_symbol}
        return {ord(sign): of(self.locale) for sign, of in own.items()}

    def translated(self, message: str, plural: str, n: int) -> str:
        """The message in this language, its places still open."""
        if plural:
            return self.words.ngettext(message, plural, n)
        return self.words.gettext(message) if message else ""

    def _beside_currency(self, money: Money, written: str) -> str:
        """An amount with its currency's code on the side where the language has it."""
        pattern = self.locale.currency_formats["standard"].pattern
        parts = (money.currency, written)
        return "\N{NO-BREAK SPACE}".join(parts if pattern.startswith("¤") else parts[::-1])

    def lacking(self, written: str, digits: int) -> str:
        """What a written number lacks of those decimals; with it, unseen, a column is aligned."""
        point = self.signs[ord(".")]
        whole, _, rest = written.partition(point)
        if not whole[-1:].isdigit() or not (rest.isdigit() or not rest):
            return ""
        lacking = "0" * (digits - len(rest))
        return lacking if rest or not digits else point + lacking

    def day(self, day: dt.date | str) -> str:
        """A day in words, such as ``3 August 2026``; a text is an ISO date."""
        date = dt.date.fromisoformat(day) if isinstance(day, str) else day
        return format_date(date, "long", locale=self.locale)

    def month(self, day: dt.date) -> str:
        """The month of a day, such as ``November 2026``."""
        return format_date(day, "LLLL y", locale=self.locale)


def _folder() -> Path:
    return Path(str(files("configurator"))) / "translations"


@cache
def languages() -> tuple[str, ...]:
    """The languages that papers are available in, without their countries."""
    return tuple(sorted({_SOURCE, *(path.stem for path in _folder().glob("*.po"))}))


_MOST_LISTED = 12
"""So many countries of a language are listed; English has a hundred."""


@cache
def language(tag: str) -> Language:
    """The language of a tag such as ``en-AU`` or ``de``; the same value for the same tag.

    Raises:
        ConfiguratorError: papers are not available in it.
    """
    locale = _known().get(tag.replace("_", "-").lower())
    if locale is None:
        available = " and ".join(languages())
        hint = near_miss(tag, _known().values())
        spoken = tag.partition("-")[0].lower()
        own = [known for known in _known().values() if known.partition("-")[0] == spoken]
        if 0 < len(own) <= _MOST_LISTED:
            hint = f"in {spoken}, there are {', '.join(own)}"
        raise ConfiguratorError(
            f'no papers in "{tag}" yet; available: {available}, with a country where it matters, '
            f"as in en-AU" + (f": {hint}" if hint else "")
        )
    spoken = locale.partition("-")[0]
    return Language(locale) if spoken == _SOURCE else Language(locale, _words(spoken))


@cache
def _known() -> dict[str, str]:
    """Every language of papers, alone and with each country that Babel knows for it."""
    tags: Iterable[str] = (identifier.replace("_", "-") for identifier in locale_identifiers())
    return {
        tag.lower(): tag
        for tag in sorted(tags)
        if tag.partition("-")[0] in languages() and not babel.Locale.parse(tag, sep="-").script
    }


@cache
def _words(spoken: str) -> gettext.GNUTranslations:
    from babel.messages.mofile import write_mo
    from babel.messages.pofile import read_po

    with (_folder() / f"{spoken}.po").open("rb") as file:
        catalogue = read_po(file, locale=spoken)
    compiled = io.BytesIO()
    write_mo(compiled, catalogue)
    compiled.seek(0)
    return gettext.GNUTranslations(compiled)
