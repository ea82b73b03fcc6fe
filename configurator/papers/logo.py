"""The shop's logo: an image file beside the catalogue, checked and put into the page itself."""

from __future__ import annotations

import base64
import io
import warnings
from pathlib import Path
from xml.etree import ElementTree

from attrs import frozen

from configurator.catalogue.model import Shop
from configurator.catalogue.settings import Logo
from configurator.errors import CatalogueError, Problem

__all__ = ["MOST_BYTES", "MOST_PIXELS", "Picture", "read_logo"]

MOST_BYTES = 500_000
"""Largest file of a logo."""

MOST_PIXELS = 2_000
"""Most pixels of a logo in width and in height: 60 mm on paper at 800 pixels an inch."""

_TYPES = {".png": "png", ".jpg": "jpeg", ".jpeg": "jpeg", ".svg": "svg+xml"}

_SVG = "{http://www.w3.org/2000/svg}"
_SHAPES = frozenset(
    f"{_SVG}{name}"
    for name in (
        *("svg", "g", "defs", "title", "desc", "path", "rect", "circle", "ellipse", "line"),
        *("polyline", "polygon", "use", "symbol", "clipPath", "linearGradient", "radialGradient"),
        *("stop", "mask", "pattern"),
    )
)
"""What may stand in an SVG logo: shapes. Letters would need a typeface, the rest another file."""


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
        content = path.read_bytes() if path.stat().st_size <= MOST_BYTES else None
    except OSError as error:
        hint = "put the file beside the catalogue, or mend its name"
        raise _wrong(logo, f"{logo.file} cannot be read: {error.strerror}", hint) from None
    if content is None:
        hint = "save it with fewer pixels"
        raise _wrong(logo, f"{logo.file} has more than {MOST_BYTES} bytes", hint)
    problem = _svg_problem(content) if kind == "svg+xml" else _pixel_problem(content, kind)
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


def _svg_problem(content: bytes) -> tuple[str, str] | None:
    """What is wrong with an SVG file, and what to do about it."""
    again = "save it as plain SVG, with letters made into outlines"
    if b"<!DOCTYPE" in content or b"<!ENTITY" in content:
        return "has a document type of its own", again
    try:
        root = ElementTree.fromstring(content)
    except (ElementTree.ParseError, ValueError, LookupError) as error:
        return f"is no SVG that can be read ({error})", again
    if root.tag != f"{_SVG}svg":
        return "is no SVG", again
    if "viewBox" not in root.attrib:
        return "does not say how large it is", "give the svg element a viewBox"
    for element in root.iter():
        if element.tag not in _SHAPES:
            return f"has a {str(element.tag).removeprefix(_SVG)} in it, and may only draw", again
        for name, value in element.attrib.items():
            plain = name.rpartition("}")[2].lower()
            if plain.startswith("on") or (plain == "href" and not value.startswith("#")):
                return f"refers to something outside or runs a program ({plain})", again
            if "url(" in value.replace("url(#", ""):
                return "takes something from another file", again
    return None
