"""HTML to PDF. The only module that needs WeasyPrint, and with it Pango."""

from __future__ import annotations

import contextlib
import io
from functools import cache
from pathlib import Path
from typing import Any

from configurator.errors import MissingLibrary

__all__ = ["html_to_pdf"]

_APT = "apt-get install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0"


def html_to_pdf(html: str) -> bytes:
    """The page as an accessible PDF; the same bytes for the same page.

    Fonts come from a Python package, never from the machine; nothing else is fetched.

    Raises:
        MissingLibrary: the machine lacks the libraries that WeasyPrint loads.
    """
    weasyprint = _weasyprint()
    fonts, faces = _fonts()
    document = weasyprint.HTML(string=html, url_fetcher=_fetcher())
    pdf: bytes = document.write_pdf(
        stylesheets=[faces], font_config=fonts, pdf_variant="pdf/ua-1", custom_metadata=False
    )
    return pdf


def _weasyprint() -> Any:
    """WeasyPrint, without the banner it prints where its libraries are missing."""
    try:
        with contextlib.redirect_stdout(io.StringIO()):
            import weasyprint
    except OSError as error:
        raise MissingLibrary(
            f"the PDF renderer lacks system libraries ({error}). On Debian and Ubuntu:\n"
            f"    {_APT}\n"
            "Everything but PDF works without them; -o FILE.html writes the same page."
        ) from None
    return weasyprint


@cache
def _fetcher() -> Any:
    """Allows what a page holds itself, and nothing from file or network."""
    from weasyprint.urls import URLFetcher

    return URLFetcher(allowed_protocols=("data",), allow_redirects=False)


@cache
def _fonts() -> tuple[Any, Any]:
    """The faces of the papers, prepared once in a process."""
    import font_source_sans_pro
    from weasyprint import CSS
    from weasyprint.text.fonts import FontConfiguration

    folder = Path(font_source_sans_pro.__file__).parent / "files"
    faces = "".join(
        f"@font-face {{ font-family: Paper; font-weight: {weight}; font-style: {slant}; "
        f"src: url({(folder / f'SourceSansPro-{name}.ttf').as_uri()}) }}\n"
        for weight, slant, name in (
            (400, "normal", "Regular"),
            (600, "normal", "Semibold"),
            (400, "italic", "It"),
        )
    )
    configuration = FontConfiguration()
    return configuration, CSS(string=faces, font_config=configuration)
