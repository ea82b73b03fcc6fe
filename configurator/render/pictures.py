"""The pictures of papers: a shop's logo, and what any picture or drawing (SVG) may hold.

A drawing may hold shapes only, and not too many. Everything is counted as it is drawn: what
``use``, a mask or a clip path refers to counts each time it is referred to. The largest drawing
allowed takes the renderer a few seconds.
"""

from __future__ import annotations

import base64
import io
import math
import re
import warnings
from collections.abc import Iterator, Mapping
from errno import EINVAL
from pathlib import Path
from typing import TypeAlias
from xml.etree import ElementTree

from attrs import frozen

from configurator.catalogue.shop import Logo, ShopDetails
from configurator.errors import CatalogueError, Problem

COLOURS = frozenset(("1", "L", "LA", "P", "PA", "RGB", "RGBA"))
"""Kinds of colours, as Pillow calls them, that PDF/A can keep; making others into them would change
what they look like."""

MOST_BYTES = 500_000
"""Largest file of a logo."""

MOST_PIXELS = 2_000
"""Most pixels of a logo in width and in height: 60 mm on paper at 800 pixels an inch."""

_Said: TypeAlias = tuple[str, str]
"""What is wrong with a picture, and what to do about it."""

_TYPES = {".png": "png", ".jpg": "jpeg", ".jpeg": "jpeg", ".svg": "svg+xml"}


@frozen
class Picture:
    """An image as it is in a page.

    Attributes:
        address: its content as a ``data:`` address.
        text: what it shows, for those who cannot see it.
    """

    address: str
    text: str


def read_logo(shop: ShopDetails) -> Picture | None:
    """The shop's logo, if it has one.

    Raises:
        CatalogueError: the file is missing, cannot be read, or is no image that papers can show.
    """
    logo = shop.papers.logo
    if logo is None:
        return None
    path = Path(logo.at.path).parent / logo.file
    kind = _TYPES[path.suffix]
    try:
        if path.exists() and not path.is_file():
            raise OSError(EINVAL, "it is no ordinary file")
        content = path.read_bytes() if path.stat().st_size <= MOST_BYTES else None
    except OSError as error:
        hint = "put the file beside the catalogue, or correct its name"
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


def _pixel_problem(content: bytes, kind: str) -> _Said | None:
    """What is wrong with a PNG or JPEG file, and what to do about it."""
    from PIL import Image, ImageFile

    size, smaller = f"it may have at most {MOST_PIXELS} × {MOST_PIXELS}", "make it smaller"
    lenient, ImageFile.LOAD_TRUNCATED_IMAGES = ImageFile.LOAD_TRUNCATED_IMAGES, False
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(content), formats=(kind.upper(),)) as image:
                if max(image.size) > MOST_PIXELS:
                    return f"is {' × '.join(map(str, image.size))} pixels; {size}", smaller
                if image.mode not in COLOURS:
                    return f"has {image.mode} colours", "save it with RGB colours of 8 bits"
                image.load()
    except (Image.DecompressionBombWarning, Image.DecompressionBombError):
        return f"has too many pixels; {size}", smaller
    except (OSError, SyntaxError, ValueError):
        kind = kind.upper()
        return f"is no {kind} image that can be read", f"save it as {kind} again"
    finally:
        ImageFile.LOAD_TRUNCATED_IMAGES = lenient
    return None


def dots_and_colours(raw: bytes) -> tuple[int, str]:
    """Pixels and colours of a picture, from its head alone; nothing where it is none of dots."""
    from PIL import Image, UnidentifiedImageError

    with warnings.catch_warnings():
        warnings.simplefilter("ignore", Image.DecompressionBombWarning)
        try:
            with Image.open(io.BytesIO(raw)) as picture:
                return picture.width * picture.height, picture.mode
        except Image.DecompressionBombError:
            return 2 * (Image.MAX_IMAGE_PIXELS or 0), ""
        except (UnidentifiedImageError, OSError, ValueError):
            return 0, ""


_MOST_DRAWN = 20_000
"""Most elements that are drawn; long values and the stops of gradients count as more."""

_MOST_DEEP = 16
"""Most elements inside each other, as they are drawn: each of them saves a graphics state, of which
PDF/A allows 28 inside each other (ISO 19005-3, 6.1.13; from memory), the page's own included."""

_MOST_NAMES = 200
"""Most different names of attributes and of styles: every element inherits them."""

_MOST_LOOKED = 1_000_000
"""Most elements that are looked through for what others refer to: all of them for each name."""

_MOST_VALUE = 100_000
"""Most characters of one value, such as an outline: reading one takes the square of its length."""

_VALUE = 50
"""This many characters of a value count as one element."""

_SIZES = (0.001, 1_000_000)
"""Least and largest width and height of a view box."""

_SVG = "{http://www.w3.org/2000/svg}"
_SHAPES = re.compile(
    re.escape(_SVG) + "(svg|g|defs|title|desc|path|rect|circle|ellipse|line|polyline|polygon|use"
    "|symbol|clipPath|linearGradient|radialGradient|stop|mask)"
)
"""What may be in an SVG: shapes. Letters would need a typeface, the rest another file."""

_KEPT = re.compile(re.escape(_SVG) + "(defs|symbol|clipPath|mask|linearGradient|radialGradient)")
"""What is drawn only where something refers to it."""

_FIGURES = re.compile(
    "d|points|(gradientT|t)ransform|[xy][12]?|[cf][xy]|fr|r[xy]?|width|height|offset"
    "|stroke-(width|dasharray|dashoffset)"
)
"""Attributes whose values are numbers."""

_NO_NUMBER = re.compile(r"\b(nan|inf|infinity)\b|(?<![.\d])\d{9}|\de\+?[1-9]\d", re.IGNORECASE)
"""What a PDF cannot write as a number: none, and those of ten digits and more."""

_LENGTH = re.compile(r"\s*\+?(\d+\.?\d*|\.\d+)(px|pt|pc|mm|cm|in|em|ex|%)?\s*")
_REFERENCE = re.compile(r"url\(\s*[\"']?#([^)\"']*)", re.IGNORECASE)
_AGAIN = "save it as plain SVG, with letters made into outlines"
_SIMPLER = "save a simpler drawing: fewer shapes, copies, groups and points"

_Ids: TypeAlias = Mapping[str, ElementTree.Element]


class _UnusablePicture(ValueError):
    """What is wrong with it, and what to do about it."""

    def __init__(self, sentence: str, hint: str = _AGAIN) -> None:
        super().__init__(sentence, hint)
        self.said = (sentence, hint)


def svg_problem(content: bytes) -> _Said | None:
    """What keeps an SVG file from a paper, and what to do about it; None where nothing does."""
    try:
        _require_drawable(_root(content))
    except _UnusablePicture as refused:
        return refused.said
    return None


def _root(content: bytes) -> ElementTree.Element:
    if b"<!DOCTYPE" in content or b"<!ENTITY" in content:
        raise _UnusablePicture("has a document type of its own")
    try:
        root = ElementTree.fromstring(content)
    except (ElementTree.ParseError, ValueError, LookupError) as error:
        raise _UnusablePicture(f"is no SVG that can be read ({error})") from None
    if root.tag != f"{_SVG}svg":
        raise _UnusablePicture("is no SVG")
    return root


def _require_drawable(root: ElementTree.Element) -> None:
    if "viewBox" not in root.attrib:
        raise _UnusablePicture("does not say how large it is", "give the svg element a viewBox")
    ids: dict[str, ElementTree.Element] = {}
    names, referred = set[str](), set[str]()
    stops = 0
    elements = list(root.iter())
    for element in elements:
        _require_plain(element)
        referred.update(name for value in element.attrib.values() for name in _references(value))
        names.update(element.attrib, _style_names(element))
        ids.setdefault(element.get("id", "").strip(), element)
        stops = max(stops, sum(child.tag == f"{_SVG}stop" for child in element))
    if len(names) > _MOST_NAMES:
        raise _UnusablePicture(f"has {len(names)} different attributes; it may have {_MOST_NAMES}")
    count = len(elements)
    if count * len(referred) > _MOST_LOOKED:
        sentence = f"refers to {len(referred)} of its {count} elements by name"
        raise _UnusablePicture(f"{sentence}; it may refer to {_MOST_LOOKED // count}", _SIMPLER)
    drawn, deep = _drawn(root, ids)
    if deep > _MOST_DEEP:
        raise _UnusablePicture(
            f"has {deep} elements inside each other; it may have {_MOST_DEEP}", _SIMPLER
        )
    if drawn * (1 + stops) > _MOST_DRAWN:
        counted = f", with gradients of {stops} stops" if stops else ""
        raise _UnusablePicture(
            f"draws as much as {drawn} shapes{counted}; it may draw {_MOST_DRAWN // (1 + stops)}",
            _SIMPLER,
        )


def _require_plain(element: ElementTree.Element) -> None:
    """It is a shape, with figures that can be drawn, and refers to nothing outside."""
    if not _SHAPES.fullmatch(str(element.tag)):
        raise _UnusablePicture(
            f"has a {str(element.tag).removeprefix(_SVG)} in it, and may only draw"
        )
    for name, value in element.attrib.items():
        plain = name.rpartition("}")[2].lower()
        if plain.startswith("on") or (plain == "href" and not value.startswith("#")):
            raise _UnusablePicture(f"refers to something outside or runs a program ({plain})")
        if "url(" in value.lower().replace("url(#", ""):
            raise _UnusablePicture("takes something from another file")
        if len(value) > _MOST_VALUE:
            sentence = f"has a {plain} of {len(value)} characters; it may have {_MOST_VALUE}"
            raise _UnusablePicture(sentence, _SIMPLER)
        if _FIGURES.fullmatch(name) and _NO_NUMBER.search(value):
            raise _UnusablePicture(f'has a {plain} that cannot be drawn ("{value[:40]}")')
    if element.get("spreadMethod", "pad") != "pad":
        sentence = "has a gradient that is repeated, and may only have plain ones"
        raise _UnusablePicture(sentence, "draw the repetitions as shapes, or save it as PNG")
    if "viewBox" in element.attrib:
        _require_view_box(element.attrib["viewBox"])
    for name in ("width", "height"):
        value = element.get(name, "1")
        length = _LENGTH.fullmatch(value)
        if element.tag == f"{_SVG}svg" and not (length and float(length[1]) > 0):
            hint = "remove it, or write a size in mm above 0"
            raise _UnusablePicture(f'has the {name} "{value[:40]}", which is no size', hint)


def _require_view_box(text: str) -> None:
    try:
        numbers = [float(number) for number in re.split(r"[\s,]+", text.strip())]
    except ValueError:
        numbers = []
    least, most = _SIZES
    known = len(numbers) == 4 and all(map(math.isfinite, numbers))
    if not known or not all(least <= size <= most for size in numbers[2:]):
        raise _UnusablePicture(
            f'has the viewBox "{text[:40]}"',
            f"write four numbers: left, top, and a width and height from {least} to {most}",
        )


def _style_names(element: ElementTree.Element) -> Iterator[str]:
    """The names of what an element's style sets."""
    style = element.get("style", "")
    if re.search(r"[\\{}@]|/\*", style):
        raise _UnusablePicture("has a style that is more than names and values")
    for declared in style.split(";"):
        name = declared.partition(":")[0].strip().lower()
        if name in ("id", "href"):
            raise _UnusablePicture(f"sets a {name} by its style")
        yield name


def _drawn(root: ElementTree.Element, ids: _Ids) -> tuple[int, int]:
    """How many shapes an element draws and how deep they are, each reference followed.

    Counted from the innermost out, without recursion; what refers to itself is refused.
    """
    found: dict[ElementTree.Element, tuple[int, int]] = {}
    begun = set[ElementTree.Element]()
    waiting = [root]
    while waiting:
        element = waiting[-1]
        parts = [child for child in element if not _KEPT.fullmatch(str(child.tag))]
        parts += _referred(element, ids)
        if element not in begun:
            begun.add(element)
            for part in parts:
                if part in begun and part not in found:
                    raise _UnusablePicture("has a shape that refers to itself")
            waiting += (part for part in parts if part not in found)
            continue
        waiting.pop()
        if element in found:
            continue
        own = 1 + sum(map(len, element.attrib.values())) // _VALUE
        drawn = own + sum(found[part][0] for part in parts)
        found[element] = drawn, 1 + max((found[part][1] for part in parts), default=0)
    return found[root]


def _referred(element: ElementTree.Element, ids: _Ids) -> Iterator[ElementTree.Element]:
    """What an element draws in addition to its own: the shape it uses, its mask, its clip path."""
    for name, value in element.attrib.items():
        if name.rpartition("}")[2] in ("href", "mask", "clip-path", "style"):
            yield from (ids[target] for target in _references(value) if target in ids)


def _references(value: str) -> list[str]:
    """The names of elements that a value refers to."""
    named = [value[1:]] if value.startswith("#") else _REFERENCE.findall(value)
    return [name.strip() for name in named if name.strip()]
