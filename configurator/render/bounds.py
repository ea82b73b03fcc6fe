"""How much one paper may hold, so that no input keeps the renderer busy without end.

A row of a table takes the renderer about 3 ms and a thousand characters about 10 ms, or 30 ms where
they stand without a space: what is allowed here is drawn in well under a minute.

A drawing (SVG) may hold shapes only, and not too many. Everything is counted as it is drawn: what
``use``, a mask or a clip path refers to counts each time it is referred to. The largest drawing
allowed takes the renderer a few seconds.
"""

from __future__ import annotations

import base64
import binascii
import io
import math
import re
import warnings
from collections.abc import Iterable, Iterator, Mapping
from html import unescape
from typing import TypeAlias
from urllib.parse import unquote_to_bytes
from xml.etree import ElementTree

from configurator.errors import DataError, Location, Problem

COLOURS = frozenset(("1", "L", "LA", "P", "PA", "RGB", "RGBA"))
"""Kinds of colours, as Pillow calls them, that PDF/A can keep; making others into them would change
what they look like."""

MOST_CHARACTERS = 1_000_000
"""Characters of a page, its tags counted and its pictures not."""

MOST_ROWS = 5_000
"""Rows of all tables of a page."""

MOST_PIXELS = 16_000_000
"""Pixels of one picture."""

MOST_BYTES = 4_000_000
"""Bytes of all pictures, as they are in the page."""

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


MOST_DRAWN = 20_000
"""Most elements that are drawn; long values and the stops of gradients count as more."""

MOST_DEEP = 16
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
_SHAPES = frozenset(
    f"{_SVG}{name}"
    for name in (
        *("svg", "g", "defs", "title", "desc", "path", "rect", "circle", "ellipse", "line"),
        *("polyline", "polygon", "use", "symbol", "clipPath", "linearGradient", "radialGradient"),
        *("stop", "mask"),
    )
)
"""What may be in an SVG: shapes. Letters would need a typeface, the rest another file."""

_KEPT = frozenset(
    f"{_SVG}{name}"
    for name in ("defs", "symbol", "clipPath", "mask", "linearGradient", "radialGradient")
)
"""What is drawn only where something refers to it."""

_FIGURES = frozenset(
    (
        *("d", "points", "transform", "gradientTransform", "x", "y", "x1", "y1", "x2", "y2"),
        *("cx", "cy", "fx", "fy", "fr", "r", "rx", "ry", "width", "height", "offset"),
        *("stroke-width", "stroke-dasharray", "stroke-dashoffset"),
    )
)
"""Attributes whose values are numbers."""

_NO_NUMBER = re.compile(r"\b(nan|inf|infinity)\b|(?<![.\d])\d{9}|\de\+?[1-9]\d", re.IGNORECASE)
"""What a PDF cannot write as a number: none, and those of ten digits and more."""

_LENGTH = re.compile(r"\s*\+?(\d+\.?\d*|\.\d+)(px|pt|pc|mm|cm|in|em|ex|%)?\s*")
_REFERENCE = re.compile(r"url\(\s*[\"']?#([^)\"']*)", re.IGNORECASE)
_AGAIN = "save it as plain SVG, with letters made into outlines"
_SIMPLER = "save a simpler drawing: fewer shapes, copies, groups and points"

_Said: TypeAlias = tuple[str, str]
_Ids: TypeAlias = Mapping[str, ElementTree.Element]


class _Refused(ValueError):
    """What is wrong with it, and what to do about it."""

    def __init__(self, sentence: str, hint: str = _AGAIN) -> None:
        super().__init__(sentence, hint)
        self.said = (sentence, hint)


def svg_problem(content: bytes) -> _Said | None:
    """What keeps an SVG file from a paper, and what to do about it; None where nothing does."""
    try:
        _require_drawable(_root(content))
    except _Refused as refused:
        return refused.said
    return None


def _root(content: bytes) -> ElementTree.Element:
    if b"<!DOCTYPE" in content or b"<!ENTITY" in content:
        raise _Refused("has a document type of its own")
    try:
        root = ElementTree.fromstring(content)
    except (ElementTree.ParseError, ValueError, LookupError) as error:
        raise _Refused(f"is no SVG that can be read ({error})") from None
    if root.tag != f"{_SVG}svg":
        raise _Refused("is no SVG")
    return root


def _require_drawable(root: ElementTree.Element) -> None:
    if "viewBox" not in root.attrib:
        raise _Refused("does not say how large it is", "give the svg element a viewBox")
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
        raise _Refused(f"has {len(names)} different attributes; it may have {_MOST_NAMES}")
    count = len(elements)
    if count * len(referred) > _MOST_LOOKED:
        sentence = f"refers to {len(referred)} of its {count} elements by name"
        raise _Refused(f"{sentence}; it may refer to {_MOST_LOOKED // count}", _SIMPLER)
    drawn, deep = _drawn(root, ids)
    if deep > MOST_DEEP:
        raise _Refused(f"has {deep} elements inside each other; it may have {MOST_DEEP}", _SIMPLER)
    if drawn * (1 + stops) > MOST_DRAWN:
        counted = f", with gradients of {stops} stops" if stops else ""
        raise _Refused(
            f"draws as much as {drawn} shapes{counted}; it may draw {MOST_DRAWN // (1 + stops)}",
            _SIMPLER,
        )


def _require_plain(element: ElementTree.Element) -> None:
    """It is a shape, with figures that can be drawn, and refers to nothing outside."""
    if element.tag not in _SHAPES:
        raise _Refused(f"has a {str(element.tag).removeprefix(_SVG)} in it, and may only draw")
    for name, value in element.attrib.items():
        plain = name.rpartition("}")[2].lower()
        if plain.startswith("on") or (plain == "href" and not value.startswith("#")):
            raise _Refused(f"refers to something outside or runs a program ({plain})")
        if "url(" in value.lower().replace("url(#", ""):
            raise _Refused("takes something from another file")
        if len(value) > _MOST_VALUE:
            sentence = f"has a {plain} of {len(value)} characters; it may have {_MOST_VALUE}"
            raise _Refused(sentence, _SIMPLER)
        if name in _FIGURES and _NO_NUMBER.search(value):
            raise _Refused(f'has a {plain} that cannot be drawn ("{value[:40]}")')
    if element.get("spreadMethod", "pad") != "pad":
        sentence = "has a gradient that is repeated, and may only have plain ones"
        raise _Refused(sentence, "draw the repetitions as shapes, or save it as PNG")
    if "viewBox" in element.attrib:
        _require_view_box(element.attrib["viewBox"])
    for name in ("width", "height"):
        value = element.get(name, "1")
        length = _LENGTH.fullmatch(value)
        if element.tag == f"{_SVG}svg" and not (length and float(length[1]) > 0):
            hint = "remove it, or write a size in mm above 0"
            raise _Refused(f'has the {name} "{value[:40]}", which is no size', hint)


def _require_view_box(text: str) -> None:
    try:
        numbers = [float(number) for number in re.split(r"[\s,]+", text.strip())]
    except ValueError:
        numbers = []
    least, most = _SIZES
    known = len(numbers) == 4 and all(map(math.isfinite, numbers))
    if not known or not all(least <= size <= most for size in numbers[2:]):
        raise _Refused(
            f'has the viewBox "{text[:40]}"',
            f"write four numbers: left, top, and a width and height from {least} to {most}",
        )


def _style_names(element: ElementTree.Element) -> Iterator[str]:
    """The names of what an element's style sets."""
    style = element.get("style", "")
    if re.search(r"[\\{}@]|/\*", style):
        raise _Refused("has a style that is more than names and values")
    for declared in style.split(";"):
        name = declared.partition(":")[0].strip().lower()
        if name in ("id", "href"):
            raise _Refused(f"sets a {name} by its style")
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
        parts = [child for child in element if child.tag not in _KEPT]
        parts += _referred(element, ids)
        if element not in begun:
            begun.add(element)
            for part in parts:
                if part in begun and part not in found:
                    raise _Refused("has a shape that refers to itself")
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
