"""How much one paper may hold, so that no input keeps the renderer busy without end.

A row of a table takes the renderer about 3 ms and a thousand characters about 10 ms, or 30 ms where
they stand without a space: what is allowed here is drawn in well under a minute.
"""

from __future__ import annotations

import base64
import binascii
import io
import re
import warnings
from collections.abc import Iterable, Iterator
from html import unescape
from urllib.parse import unquote_to_bytes

from configurator.errors import DataError, Location, Problem
from configurator.render.logo import COLOURS
from configurator.render.vector import svg_problem

__all__ = ["MOST_CHARACTERS", "MOST_PIXELS", "MOST_ROWS", "MOST_WORD", "require_bounds"]

MOST_CHARACTERS = 1_000_000
"""Characters of a page, its tags counted and its pictures not."""

MOST_ROWS = 5_000
"""Rows of all tables of a page."""

MOST_PIXELS = 16_000_000
"""Pixels of one picture."""

MOST_BYTES = 4_000_000
"""Bytes of all pictures, as they stand in the page."""

MOST_WORD = 1_000
"""Characters without a space between them: the renderer's work grows with their square."""

_MARKUP = re.compile(r"<style\b.*?</style>|<[^>]*>", re.DOTALL)
_PICTURE = re.compile(r"(?:\bsrc=|\bhref=|url\()[\"']?data:image/([^,\"'\s]{0,60}),([^\"')\s]*)")
_WORD = re.compile(rf"[^ \t\n\r\f]{{{MOST_WORD + 1},}}")
_BEGINNING = 30


def require_bounds(html: str) -> None:
    """Refuse a page that holds too much.

    Raises:
        DataError: it does, with how much it is and how much may be; a picture has colours that an
            archive cannot keep, or is a drawing that takes too long.
    """
    pictures = _PICTURE.findall("".join(_MARKUP.findall(html)))
    in_pictures = sum(len(data) for _, data in pictures)
    counts = (
        (len(html) - in_pictures, MOST_CHARACTERS, "characters of text and tags"),
        (html.count("<tr"), MOST_ROWS, "rows of tables"),
        (in_pictures, MOST_BYTES, "bytes of pictures"),
    )
    problems = [
        _problem(
            f"the paper would hold {count} {what}, and {most} are the most",
            "take a smaller picture" if "picture" in what else "shorten it, or make several papers",
        )
        for count, most, what in counts
        if count > most
    ]
    if not problems:
        problems = [*_words(html), *_pictures(dict.fromkeys(pictures))]
    if problems:
        raise DataError(problems)


def _problem(sentence: str, hint: str) -> Problem:
    return Problem(Location("PDF", 0, 0), sentence, "paper-too-large", hint)


def _words(html: str) -> Iterator[Problem]:
    for word in _WORD.findall(unescape(_MARKUP.sub(" ", html))):
        yield _problem(
            f'the text that begins with "{word[:_BEGINNING]}" has {len(word)} characters without a '
            f"space, and {MOST_WORD} are the most",
            "look for it in the selection and the catalogue, and put spaces in",
        )


def _pictures(pictures: Iterable[tuple[str, str]]) -> Iterator[Problem]:
    for kind, data in pictures:
        raw = unquote_to_bytes(data)
        if kind.endswith(";base64"):
            try:
                raw = base64.b64decode(raw, validate=True)
            except binascii.Error:
                continue
        if kind.startswith("svg"):
            said = svg_problem(raw)
            if said:
                yield _problem(f"a drawing in a template {said[0]}", said[1])
            continue
        pixels, colours = _dots(raw)
        if pixels > MOST_PIXELS:
            yield _problem(
                f"the paper would hold {pixels} pixels in one picture, and {MOST_PIXELS} are the "
                "most",
                "take a smaller picture",
            )
        elif colours and colours not in COLOURS:
            sentence = f"a picture has {colours} colours, which an archive cannot keep"
            yield _problem(sentence, "save it with RGB colours of 8 bits")


def _dots(raw: bytes) -> tuple[int, str]:
    """Pixels and colours of a picture, from its head alone; nothing where it is none of dots."""
    from PIL import Image, UnidentifiedImageError

    with warnings.catch_warnings():
        warnings.simplefilter("ignore", Image.DecompressionBombWarning)
        try:
            with Image.open(io.BytesIO(raw)) as picture:
                return picture.width * picture.height, picture.mode
        except Image.DecompressionBombError:
            return 2 * (Image.MAX_IMAGE_PIXELS or MOST_PIXELS), ""
        except (UnidentifiedImageError, OSError, ValueError):
            return 0, ""
