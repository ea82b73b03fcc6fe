"""The shop's logo: an image file beside the catalogue, checked and put into the page itself."""

from __future__ import annotations

import base64
import io
import warnings
from errno import EINVAL
from pathlib import Path

from attrs import frozen

from configurator.catalogue.model import Shop
from configurator.catalogue.settings import Logo
from configurator.errors import CatalogueError, Problem
from configurator.render.vector import svg_problem

__all__ = ["COLOURS", "MOST_BYTES", "MOST_PIXELS", "Picture", "read_logo"]

MOST_BYTES = 500_000
"""Largest file of a logo."""

MOST_PIXELS = 2_000
"""Most pixels of a logo in width and in height: 60 mm on paper at 800 pixels an inch."""

COLOURS = frozenset(("1", "L", "LA", "P", "PA", "RGB", "RGBA"))
"""Kinds of colours, as Pillow calls them, that PDF/A can keep; making others into them would change
what they look like."""

_TYPES = {".png": "png", ".jpg": "jpeg", ".jpeg": "jpeg", ".svg": "svg+xml"}


@frozen
class Picture:
    """An image as it stands in a page.

    Attributes:
        address: its content as a ``data:`` address.
        text: what it shows, for those who cannot see it.
    """

    address: str
    text: str


def read_logo(shop: Shop) -> Picture | None:
    """The shop's logo, if it has one.

    Raises:
        CatalogueError: the file is missing, cannot be read, or is no image that papers can show.
    """
    logo = shop.papers.logo
    if logo is None:
        return None
    path = Path(logo.at.file).parent / logo.file
    kind = _TYPES[path.suffix]
    try:
        if path.exists() and not path.is_file():
            raise OSError(EINVAL, "it is no ordinary file")
        content = path.read_bytes() if path.stat().st_size <= MOST_BYTES else None
    except OSError as error:
        hint = "put the file beside the catalogue, or mend its name"
        raise _wrong(logo, f"{logo.file} cannot be read: {error.strerror}", hint) from None
    if content is None:
        hint = "save it with fewer pixels"
        raise _wrong(logo, f"{logo.file} has more than {MOST_BYTES} bytes", hint)
    problem = svg_problem(content) if kind == "svg+xml" else _pixel_problem(content, kind)
    if problem:
        raise _wrong(logo, f"{logo.file} {problem[0]}", problem[1])
    encoded = base64.b64encode(content).decode("ascii")
    return Picture(f"data:image/{kind};base64,{encoded}", logo.text or shop.name)


def _wrong(logo: Logo, sentence: str, hint: str) -> CatalogueError:
    return CatalogueError([Problem(logo.at, f"the logo {sentence}", "logo", hint)])


def _pixel_problem(content: bytes, kind: str) -> tuple[str, str] | None:
    """What is wrong with a PNG or JPEG file, and what to do about it."""
    from PIL import Image, ImageFile

    broken = (f"is no {kind.upper()} image that can be read", f"save it as {kind.upper()} again")
    lenient, ImageFile.LOAD_TRUNCATED_IMAGES = ImageFile.LOAD_TRUNCATED_IMAGES, False
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(content), formats=(kind.upper(),)) as image:
                if max(image.size) > MOST_PIXELS:
                    wide, high = image.size
                    return _too_large(wide, high)
                if image.mode not in COLOURS:
                    return f"has {image.mode} colours", "save it with RGB colours of 8 bits"
                image.load()
    except (Image.DecompressionBombWarning, Image.DecompressionBombError):
        return _too_large()
    except (OSError, SyntaxError, ValueError):
        return broken
    finally:
        ImageFile.LOAD_TRUNCATED_IMAGES = lenient
    return None


def _too_large(*size: int) -> tuple[str, str]:
    shown = f"is {' x '.join(map(str, size))} pixels" if size else "has too many pixels"
    return f"{shown}; it may have at most {MOST_PIXELS} x {MOST_PIXELS}", "make it smaller"
