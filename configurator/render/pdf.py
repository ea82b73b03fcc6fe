"""HTML to PDF. The only module that needs WeasyPrint, and with it Pango."""

from __future__ import annotations

import atexit
import contextlib
import datetime as dt
import gc
import io
import logging
import threading
import warnings
from collections.abc import Iterator
from functools import cache, partial
from pathlib import Path
from typing import Any

from configurator.errors import DataError, Location, MissingLibrary, Problem
from configurator.render.bounds import require_bounds
from configurator.render.standards import add_standards, ends_are_plain
from configurator.selection.carried import Carried

_APT = "apt-get install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0"

_LEFT_OUT = ("Failed", "Relative URI", "Font-face")
"""How the renderer begins to say that it leaves out a picture, a style, a typeface or a file."""

_SHOWN = 120
"""This many characters of what the renderer says are repeated: it may name a whole picture."""

_DOTS = "img { image-rendering: crisp-edges !important }"
"""PDF/A does not let a reader smooth pictures (ISO 19005-3, 6.2.8; from memory)."""

_TRIES = 9
"""Each fails once in 128 times, and all of them never."""


def html_to_pdf(html: str, carried: Carried | None = None) -> bytes:
    """The page as PDF/A-3a and PDF/UA-1 in one; the same bytes for the same page.

    Fonts come from a Python package, never from the machine; nothing else is fetched.

    Args:
        html: the page, with everything that it needs in it.
        carried: files to carry inside.

    Raises:
        ConfiguratorError: a link leads to something else than the web, a letter or a call.
        DataError: the typeface has no glyph for a character of the page, the page is too much, or
            something that it asks for cannot be shown.
        MissingLibrary: the machine lacks the libraries that WeasyPrint loads.
    """
    weasyprint = _weasyprint()
    require_bounds(html)
    _require_glyphs(html)
    fonts, styles = _fonts()
    pdf = b""
    for padding in range(_TRIES):
        finish = partial(_finish, carried=carried, padding=padding)
        try:
            with (
                _nothing_left_out(),
                warnings.catch_warnings(),
            ):  # the renderer leaves a file of its own to be closed
                warnings.simplefilter("ignore", ResourceWarning)
                pdf = weasyprint.HTML(string=html, url_fetcher=_fetcher()).write_pdf(
                    stylesheets=[styles],
                    font_config=fonts,
                    pdf_variant="pdf/a-3a",
                    custom_metadata=False,
                    attachments=_attachments(weasyprint, carried),
                    finisher=finish,
                )
        except RecursionError:
            sentence = "the page has too many boxes inside each other"
            hint = "look at the template for tags that are never closed"
            problem = Problem(Location("PDF", 0, 0), sentence, "paper-too-deep", hint)
            raise DataError([problem]) from None
        if ends_are_plain(pdf):
            break
    return pdf


@contextlib.contextmanager
def _nothing_left_out() -> Iterator[None]:
    """Refuse what the renderer would leave out with a word in its log only.

    Raises:
        DataError: a picture, style, typeface or file is not in the page itself or cannot be used.
    """
    left_out = _LeftOut()
    logger = logging.getLogger("weasyprint")
    logger.addHandler(left_out)
    try:
        yield
    finally:
        logger.removeHandler(left_out)
    if left_out.said:
        hint = "put it into the template itself, as a data: address; nothing is fetched"
        problems = [
            Problem(Location("PDF", 0, 0), sentence, "left-out", hint)
            for sentence in dict.fromkeys(left_out.said)
        ]
        raise DataError(problems)


class _LeftOut(logging.Handler):
    """What the renderer says of what it leaves out."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.said: list[str] = []
        self.of = threading.get_ident()

    def emit(self, record: logging.LogRecord) -> None:
        said = record.getMessage()
        if record.thread == self.of and said.startswith(_LEFT_OUT):
            shown = said if len(said) <= _SHOWN else f"{said[:_SHOWN]} ..."
            self.said.append(f"the page would lack something: {shown}")


def _finish(_: Any, pdf: Any, carried: Carried | None, padding: int) -> None:
    add_standards(pdf, carried, padding)


def _attachments(weasyprint: Any, carried: Carried | None) -> list[Any]:
    if carried is None:
        return []
    made = dt.datetime.combine(carried.day, dt.time())
    return [
        weasyprint.Attachment(
            file_obj=io.BytesIO(file.content),
            name=file.name,
            description=file.description,
            created=made,
            modified=made,
            relationship=file.relationship,
        )
        for file in carried.files
    ]


@cache
def _weasyprint() -> Any:
    """WeasyPrint, without the banner it prints where its libraries are missing."""
    try:
        with contextlib.redirect_stdout(io.StringIO()), warnings.catch_warnings():
            # without libharfbuzz-subset0 it uses fontTools: slower, with the same result
            warnings.filterwarnings("ignore", "HarfBuzz-Subset", DeprecationWarning)
            import weasyprint
    except OSError as error:
        raise MissingLibrary(
            f"the PDF renderer lacks system libraries ({error}). On Debian and Ubuntu:\n"
            f"    {_APT}\n"
            "Everything but PDF works without them; -o FILE.html writes the same page."
        ) from None
    from weasyprint.pdf import fonts

    # fontTools would write the time of day into every font, and no two papers would be the same
    fonts.TTFont = partial(fonts.TTFont, recalcTimestamp=False)
    return weasyprint


@cache
def _fetcher() -> Any:
    """Allows what a page holds itself, and nothing from file or network."""
    from weasyprint.urls import URLFetcher

    return URLFetcher(allowed_protocols=("data",), allow_redirects=False)


@cache
def _fonts() -> tuple[Any, Any]:
    """The faces of the papers and the style of their pictures, prepared once in a process."""
    from weasyprint import CSS
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
    return configuration, CSS(string=faces + _DOTS, font_config=configuration)


def _forget_fonts() -> None:
    """Let go of the faces while they can still remove their temporary folder."""
    _fonts.cache_clear()
    gc.collect()


def _face(name: str) -> Path:
    import font_source_sans_pro

    return Path(font_source_sans_pro.__file__).parent / "files" / f"SourceSansPro-{name}.ttf"


@cache
def _glyphs() -> frozenset[str]:
    """The characters that both upright faces can show."""
    from fontTools.ttLib import TTFont

    with TTFont(_face("Regular")) as regular, TTFont(_face("Semibold")) as semibold:
        both = regular.getBestCmap().keys() & semibold.getBestCmap().keys()
    return frozenset(map(chr, both))


def _require_glyphs(html: str) -> None:
    missing = sorted(set(html) - _glyphs() - set("\n\t"))
    if missing:
        shown = ", ".join(f'"{c}"' if c.isprintable() else f"U+{ord(c):04X}" for c in missing)
        sentence = f"the typeface of the papers has no {shown}"
        hint = "write it with Latin, Greek or Cyrillic letters, or ask for .html"
        raise DataError([Problem(Location("PDF", 0, 0), sentence, "no-glyph", hint)])
