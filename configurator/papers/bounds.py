"""How much one paper may hold, so that no input keeps the renderer busy without end.

A row of a table takes the renderer about 3 ms and a thousand characters about 10 ms: what is
allowed here is drawn in well under a minute.
"""

from __future__ import annotations

import base64
import binascii
import io
import re
import warnings
from urllib.parse import unquote_to_bytes

from configurator.errors import DataError, Location, Problem

__all__ = ["MOST_CHARACTERS", "MOST_PIXELS", "MOST_ROWS", "require_bounds"]

MOST_CHARACTERS = 1_000_000
"""Characters of a page, its tags counted and its pictures not."""

MOST_ROWS = 5_000
"""Rows of all tables of a page."""

MOST_PIXELS = 16_000_000
"""Pixels of one picture."""

MOST_BYTES = 4_000_000
"""Bytes of all pictures, as they stand in the page."""

_PICTURE = re.compile(r"data:image/[^,\"'\s]{0,60},([^\"')\s]*)")


def require_bounds(html: str) -> None:
    """Refuse a page that holds too much.

    Raises:
        DataError: it does; with how much it is and how much may be.
    """
    pictures = _PICTURE.findall(html)
    in_pictures = sum(map(len, pictures))
    counts = (
        (len(html) - in_pictures, MOST_CHARACTERS, "characters of text and tags"),
        (html.count("<tr"), MOST_ROWS, "rows of tables"),
        (in_pictures, MOST_BYTES, "bytes of pictures"),
        *((_pixels(data), MOST_PIXELS, "pixels in one picture") for data in pictures),
    )
    problems = [
        Problem(
            Location("PDF", 0, 0),
            f"the paper would hold {count} {what}, and {most} are the most",
            "paper-too-large",
            "take a smaller picture" if "picture" in what else "shorten it, or make several papers",
        )
        for count, most, what in counts
        if count > most
    ]
    if problems:
        raise DataError(problems)


def _pixels(data: str) -> int:
    """Pixels of a picture, from its head alone; 0 where that is no head of a picture of dots."""
    from PIL import Image, UnidentifiedImageError

    raw = unquote_to_bytes(data)
    try:
        raw = base64.b64decode(raw, validate=True)
    except binascii.Error:
        return 0
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", Image.DecompressionBombWarning)
        try:
            with Image.open(io.BytesIO(raw)) as picture:
                return picture.width * picture.height
        except Image.DecompressionBombError:
            return 2 * (Image.MAX_IMAGE_PIXELS or MOST_PIXELS)
        except (UnidentifiedImageError, OSError, ValueError):
            return 0
