"""The words by which a quote is found: the same in every database, without accents or case."""

from __future__ import annotations

import re
import unicodedata


def words_of(*texts: str) -> str:
    """The words of some texts in one line; a telephone number is one word and its parts too.

    Example:
        >>> words_of("Q-2041", "Ottilie Brändgrove", "0491 570 006")
        'q 2041 ottilie brandgrove 0491 570 006 0491570006'
    """
    return " ".join(word for text in texts for word in (*_words(text), *_joined(text)))


def asked_words(query: str) -> list[str]:
    """The beginnings of words that a query asks for, all of which a quote has to have."""
    return _words(query)


def _words(text: str) -> list[str]:
    plain = unicodedata.normalize("NFKD", text.casefold())
    return re.findall(r"[^\W_]+", "".join(c for c in plain if not unicodedata.combining(c)))


def _joined(text: str) -> list[str]:
    """A number written in parts, as one word."""
    digits = re.sub(r"[\s()./-]", "", text)
    return [digits] if digits.isdigit() and not text.isdigit() and len(digits) > 5 else []
