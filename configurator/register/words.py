"""The words by which a quote is found: the same in every database, without accents or case."""

from __future__ import annotations

import re
import unicodedata

import sqlalchemy as sa

from configurator.register.tables import QUOTES


def words_of(*texts: str) -> str:
    """The words of some texts in one line; a telephone number is one word and its parts too.

    Example:
        >>> words_of("Q-2041", "Ottilie Brändgrove", "0491 570 006")
        'q 2041 ottilie brandgrove 0491 570 006 0491570006'
    """
    return " ".join(word for text in texts for word in (*_words(text), *_joined(text)))


def having_words(query: str, *, on_server: bool) -> sa.ColumnElement[bool]:
    """The condition that a quote has every word of the query, or one that begins with it."""
    words = _words(query)
    if not words:
        return sa.false()
    if on_server:
        wanted = sa.func.to_tsquery("simple", " & ".join(f"{word}:*" for word in words))
        return sa.literal_column("quotes.found").op("@@", is_comparison=True)(wanted)
    rows = sa.text("SELECT rowid FROM quote_words WHERE quote_words MATCH :words")
    told = rows.bindparams(words=" ".join(f'"{word}"*' for word in words))
    return QUOTES.c.id.in_(told.columns(sa.column("rowid", sa.Integer)))


def _words(text: str) -> list[str]:
    plain = unicodedata.normalize("NFKD", text.casefold())
    return re.findall(r"[^\W_]+", "".join(c for c in plain if not unicodedata.combining(c)))


def _joined(text: str) -> list[str]:
    """A number written in parts, as one word."""
    digits = re.sub(r"[\s()./-]", "", text)
    return [digits] if digits.isdigit() and not text.isdigit() and len(digits) > 5 else []
