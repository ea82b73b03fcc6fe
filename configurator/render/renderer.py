"""The renderer, WeasyPrint, with fonts and styles prepared once per process.

The only module that loads it. Its faces come from a Python package, never from the machine. A page
of ours is well-formed XML, which is read in a twentieth of the time that HTML takes; our drawings
are handed over as pictures, as the renderer works out the style of each line of a drawing that is
part of the page, their words and straight lines drawn by functions of our own; a style sheet met
before is not read again.
"""

from __future__ import annotations

import atexit
import base64
import contextlib
import copy
import ctypes.util
import gc
import io
import math
import re
import sys
import tempfile
import warnings
import zlib
from collections.abc import Iterator
from functools import cache, lru_cache, partial
from pathlib import Path
from types import ModuleType
from typing import Any
from xml.etree import ElementTree

from configurator.drawing.canvas import FONT
from configurator.errors import FileError, MissingLibrary

_APT = "apt-get install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0"

_DOTS = "img { image-rendering: crisp-edges !important }"
"""PDF/A does not let a reader smooth pictures (ISO 19005-3, 6.2.8; from memory)."""

_STYLE = re.compile(r"<style>(.*?)</style>|<style media=\"screen\b.*?</style>", re.DOTALL)
_DRAWING = re.compile(
    rf'<svg xmlns="http://www\.w3\.org/2000/svg" role="img"[^>]* font-family="{FONT}".*?'
    r"<title[^>]*>(.*?)</title>.*?</svg>",
    re.DOTALL,
)
"""A drawing of our kit."""

_BY_ITSELF = re.compile(r"@font-face|@import|url\(", re.IGNORECASE)
"""What a style sheet asks for anew each time, so that what is missing is said each time."""

_POINT = re.compile(r"([ML])([-\d.]+ [-\d.]+)")
_STRAIGHT = re.compile(rf"({_POINT.pattern}|Z)+")
"""A path of straight lines, as the drawing kit writes it."""

_NOTE = re.compile(r"footnote|::note|note\(")
_NOTES = ("footnote-call", "footnote-marker", "note-call", "note-marker", "note-callback")


@cache
def weasyprint() -> Any:
    """WeasyPrint, without the banner it prints where its libraries are missing.

    Raises:
        MissingLibrary: they are.
    """
    try:
        with contextlib.redirect_stdout(io.StringIO()), warnings.catch_warnings():
            # without libharfbuzz-subset0 it uses fontTools: slower, with the same result
            warnings.filterwarnings("ignore", "HarfBuzz-Subset", DeprecationWarning)
            import pydyf

            with _by_their_names():
                import weasyprint
    except OSError as error:
        raise MissingLibrary(
            f"the PDF renderer lacks system libraries ({error}). On Debian and Ubuntu:\n"
            f"    {_APT}\n"
            "Everything but PDF works without them; -o FILE.html writes the same page."
        ) from None
    from weasyprint import svg
    from weasyprint.pdf import fonts

    # fontTools would write the time of day into every font, and no two papers would be the same
    fonts.TTFont = partial(fonts.TTFont, recalcTimestamp=False)
    svg.TAGS.update(words=_words, path=_lines)
    # its highest level takes three times as long and saves a hundredth
    pydyf.zlib = ModuleType("zlib")
    vars(pydyf.zlib).update(vars(zlib), compressobj=lambda **_: zlib.compressobj())
    return weasyprint


def _no_library(name: str) -> None:
    """What asking for a library by the name of another system gives."""


@contextlib.contextmanager
def _by_their_names() -> Iterator[None]:
    """Load system libraries by their names alone, as Linux finds them without asking anybody.

    WeasyPrint has the names of several systems tried, and for each of another system Python would
    start the compiler.
    """
    find = ctypes.util.find_library
    if sys.platform == "linux":
        ctypes.util.find_library = _no_library
    try:
        yield
    finally:
        ctypes.util.find_library = find


def _words(drawing: Any, node: Any, size: float) -> None:
    """Draw words of a drawing at once; the renderer does it letter by letter, without kerning."""
    from weasyprint.css.properties import INITIAL_VALUES
    from weasyprint.draw.text import draw_first_line
    from weasyprint.matrix import Matrix
    from weasyprint.svg.text import Style, TextBox
    from weasyprint.svg.utils import color
    from weasyprint.text.line_break import split_first_line

    style = Style(INITIAL_VALUES)
    style.font_config = drawing.font_config
    style["font_family"] = [name.strip() for name in node.get("font-family").split(",")]
    style["font_weight"], style["font_size"] = int(node.get("font-weight", 400)), size
    layout, _, _, width, _, _ = split_first_line(node.text, style, drawing.context, math.inf, 0)
    before = {"start": 0.0, "middle": width / 2, "end": width}[node.get("text-anchor", "start")]
    x, y = drawing.point(node.get("x", 0), node.get("y", 0), size)
    drawing.stream.set_color(color(node.get("fill")))
    drawing.stream.begin_text()
    layout.reactivate(style)
    words = TextBox(layout, style)
    draw_first_line(drawing.stream, words, "none", "none", Matrix(d=-1, e=x - before, f=y))
    drawing.stream.end_text()


def _lines(drawing: Any, node: Any, size: float) -> None:
    """Draw a path: one of straight lines, as ours are, is the same in a PDF but for the order."""
    path = node.get("d", "")
    if _STRAIGHT.fullmatch(path):
        drawing.stream.stream.append(_POINT.sub(_point, path).replace("Z", "h\n"))
    else:
        from weasyprint.svg.path import path as draw

        draw(drawing, node, size)


def _point(found: re.Match[str]) -> str:
    return f"{found[2]} {'m' if found[1] == 'M' else 'l'}\n"


@cache
def fetcher() -> Any:
    """Allows what a page holds itself, and nothing from file or network."""
    from weasyprint.urls import URLFetcher

    return URLFetcher(allowed_protocols=("data",), allow_redirects=False)


@cache
def fonts() -> tuple[Any, Any]:
    """The faces of the papers and the style of their pictures."""
    loaded = weasyprint()
    from weasyprint.text.fonts import FontConfiguration

    faces = "".join(
        f"@font-face {{ font-family: Paper; font-weight: {weight}; font-style: {slant}; "
        f"src: url({_face(name).as_uri()}) }}\n"
        for weight, slant, name in (
            (400, "normal", "Regular"),
            (600, "normal", "Semibold"),
            (400, "italic", "It"),
        )
    )
    configuration = FontConfiguration()
    atexit.register(_forget_fonts)
    try:
        return configuration, loaded.CSS(string=faces + _DOTS, font_config=configuration)
    except OSError as error:
        folder = tempfile.gettempdir()
        told = f"the fonts of papers cannot be written into {folder}: {error.strerror}; "
        raise FileError(f"{told}make room there, or name another folder in TMPDIR") from None


def _forget_fonts() -> None:
    """Let go of the faces while they can still remove their temporary folder."""
    fonts.cache_clear()
    _sheet.cache_clear()
    gc.collect()


def _face(name: str) -> Path:
    import font_source_sans_pro

    return Path(font_source_sans_pro.__file__).parent / "files" / f"SourceSansPro-{name}.ttf"


@cache
def glyphs() -> frozenset[str]:
    """The characters that both upright faces can show."""
    from fontTools.ttLib import TTFont

    with TTFont(_face("Regular")) as regular, TTFont(_face("Semibold")) as semibold:
        both = regular.getBestCmap().keys() & semibold.getBestCmap().keys()
    return frozenset(map(chr, both))


def document(html: str) -> tuple[Any, list[Any]]:
    """The page as the renderer takes it, and the style sheets that it has besides its own."""
    sheets = [fonts()[1]]

    def own(found: re.Match[str]) -> str:
        css = found[1]
        if css is None:
            return ""
        if _BY_ITSELF.search(css):
            return found[0]
        sheets.append(_sheet(css))
        return ""

    return _page(_DRAWING.sub(_picture, _STYLE.sub(own, html))), sheets


@lru_cache(maxsize=32)
def _sheet(css: str) -> Any:
    from weasyprint import CSS

    return CSS(string=css, font_config=fonts()[0])


def _picture(drawing: re.Match[str]) -> str:
    own = drawing[0].replace("<text ", "<words ").replace("</text>", "</words>")
    data = base64.b64encode(own.encode()).decode("ascii")
    told = drawing[1].replace('"', "&quot;")
    return f'<img class="drawing" alt="{told}" src="data:image/svg+xml;base64,{data}"/>'


def _page(html: str) -> Any:
    loaded = weasyprint()
    usual = None if _NOTE.search(html) else _without_notes()
    tree = None
    with contextlib.suppress(ElementTree.ParseError):
        if html.startswith("<!DOCTYPE html>\n"):
            tree = ElementTree.fromstring(html)

    class Page(loaded.HTML):  # type: ignore[misc, name-defined]
        """A page that need not be read as HTML, with a shorter usual style sheet."""

        def __init__(self) -> None:
            if tree is None:
                super().__init__(string=html, url_fetcher=fetcher())
                return
            from cssselect2 import ElementWrapper

            self.base_url, self.url_fetcher, self.media_type = None, fetcher(), "print"
            self.wrapper_element = ElementWrapper.from_html_root(tree)
            self.etree_element = self.wrapper_element.etree_element

        def _ua_stylesheets(self, forms: bool = False) -> list[Any]:
            return [usual] if usual else super()._ua_stylesheets(forms)

    return Page()


@cache
def _without_notes() -> Any:
    """The renderer's usual style sheet, which else gives five boxes for notes to every element."""
    from weasyprint.html import UA_STYLESHEET

    usual, matcher = copy.copy(UA_STYLESHEET), copy.copy(UA_STYLESHEET.matcher)
    matcher.other_selectors = [s for s in matcher.other_selectors if s[3] not in _NOTES]
    usual.matcher = matcher
    return usual
