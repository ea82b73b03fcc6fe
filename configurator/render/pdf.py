"""HTML to a PDF that is both PDF/A-3a and PDF/UA-1.

The renderer can claim one standard at a time. It writes PDF/A-3a; the few things that PDF/UA-1 asks
for as well are added here, on the objects of the PDF just before it is written: the claim itself,
with the schema that PDF/A wants for every property it does not know (ISO 19005-3, 6.6.2.3), and the
scope of each table heading (ISO 14289-1, 7.5).

A page may hold so much that no input keeps the renderer busy without end. A row of a table takes it
about 3 ms and a thousand characters about 10 ms, or 30 ms where they stand without a space: what is
allowed is drawn in well under a minute.
"""

from __future__ import annotations

import base64
import binascii
import contextlib
import datetime as dt
import io
import logging
import re
import threading
import warnings
import zlib
from collections.abc import Iterable, Iterator, Sequence
from functools import partial
from html import unescape
from typing import Any
from urllib.parse import unquote_to_bytes

from configurator.errors import ConfiguratorError, DataError, Location, Problem
from configurator.machine.collector import nothing_collected
from configurator.render import renderer
from configurator.render.pictures import COLOURS, dots_and_colours, svg_problem
from configurator.selection.attachments import DIGESTS, OWNER, Carried, digest

MOST_CHARACTERS = 1_000_000
"""Characters of a page, its tags counted and its pictures not."""

MOST_ROWS = 5_000
"""Rows of all tables of a page."""

MOST_PIXELS = 16_000_000
"""Pixels of one picture."""

MOST_BYTES = 4_000_000
"""Bytes of all pictures, as they are in the page."""

_MOST_WORD = 1_000
"""Characters without a space between them: the renderer's work grows with their square."""

_MARKUP = re.compile(r"<style\b.*?</style>|<[^>]*>", re.DOTALL)
_PICTURE = re.compile(r"(?:\bsrc=|\bhref=|url\()[\"']?data:image/([^,\"'\s]{0,60}),([^\"')\s]*)")
_WORD = re.compile(rf"[^ \t\n\r\f]{{{_MOST_WORD + 1},}}")
_BEGINNING = 30


_LINKS = ("https:", "mailto:", "tel:")

_CLAIM = b"""\
<rdf:Description rdf:about="" xmlns:pdfuaid="http://www.aiim.org/pdfua/ns/id/" pdfuaid:part="1"/>
<rdf:Description rdf:about=""
 xmlns:pdfaExtension="http://www.aiim.org/pdfa/ns/extension/"
 xmlns:pdfaSchema="http://www.aiim.org/pdfa/ns/schema#"
 xmlns:pdfaProperty="http://www.aiim.org/pdfa/ns/property#">
<pdfaExtension:schemas><rdf:Bag><rdf:li rdf:parseType="Resource">
<pdfaSchema:schema>PDF/UA identification schema</pdfaSchema:schema>
<pdfaSchema:namespaceURI>http://www.aiim.org/pdfua/ns/id/</pdfaSchema:namespaceURI>
<pdfaSchema:prefix>pdfuaid</pdfaSchema:prefix>
<pdfaSchema:property><rdf:Seq><rdf:li rdf:parseType="Resource">
<pdfaProperty:name>part</pdfaProperty:name>
<pdfaProperty:valueType>Integer</pdfaProperty:valueType>
<pdfaProperty:category>internal</pdfaProperty:category>
<pdfaProperty:description>Part of ISO 14289 followed</pdfaProperty:description>
</rdf:li></rdf:Seq></pdfaSchema:property>
</rdf:li></rdf:Bag></pdfaExtension:schemas>
</rdf:Description>
</rdf:RDF>"""


_LEFT_OUT = ("Failed", "Relative URI", "Font-face")
"""How the renderer begins to say that it leaves out a picture, a style, a typeface or a file."""

_SHOWN = 120
"""This many characters of what the renderer says are repeated: it may name a whole picture."""

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
    weasyprint = renderer.weasyprint()
    _require_bounds(html)
    _require_glyphs(html)
    pdf = b""
    for padding in range(_TRIES):
        try:
            with _nothing_left_out(), nothing_collected(), warnings.catch_warnings():
                # the renderer leaves a file of its own to be closed
                warnings.simplefilter("ignore", ResourceWarning)
                page, sheets = renderer.document(html)
                pdf = page.write_pdf(
                    stylesheets=sheets,
                    font_config=renderer.fonts()[0],
                    pdf_variant="pdf/a-3a",
                    custom_metadata=False,
                    attachments=_attachments(weasyprint, carried),
                    finisher=partial(_finish, carried=carried, padding=padding),
                )
        except RecursionError:
            sentence = "the page has too many boxes inside each other"
            hint = "look at the template for tags that are never closed"
            raise DataError([_problem(sentence, hint, "paper-too-deep")]) from None
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
        raise DataError(
            _problem(sentence, hint, "left-out") for sentence in dict.fromkeys(left_out.said)
        )


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


def _require_glyphs(html: str) -> None:
    missing = sorted(set(html) - renderer.glyphs() - set("\n\t"))
    if missing:
        shown = ", ".join(f'"{c}"' if c.isprintable() else f"U+{ord(c):04X}" for c in missing)
        sentence = f"the typeface of the papers has no {shown}"
        hint = "write it with Latin, Greek or Cyrillic letters, or ask for .html"
        raise DataError([_problem(sentence, hint, "no-glyph")])


def _require_bounds(html: str) -> None:
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


def _problem(sentence: str, hint: str, code: str = "paper-too-large") -> Problem:
    return Problem(Location("PDF", 0, 0), sentence, code, hint)


def _words(html: str) -> Iterator[Problem]:
    for word in _WORD.findall(unescape(_MARKUP.sub(" ", html))):
        yield _problem(
            f'the text that begins with "{word[:_BEGINNING]}" has {len(word)} characters without a '
            f"space, and {_MOST_WORD} are the most",
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
        pixels, colours = dots_and_colours(raw)
        if pixels > MOST_PIXELS:
            yield _problem(
                f"the paper would hold {pixels} pixels in one picture, and {MOST_PIXELS} are the "
                "most",
                "take a smaller picture",
            )
        elif colours and colours not in COLOURS:
            sentence = f"a picture has {colours} colours, which an archive cannot keep"
            yield _problem(sentence, "save it with RGB colours of 8 bits")


def _finish(_: Any, pdf: Any, carried: Carried | None, padding: int) -> None:
    """Complete the renderer's objects: the second standard, and the digests of what is attached.

    Args:
        pdf: the PDF as WeasyPrint's library keeps it, before it is written.
        carried: what is attached to it.
        padding: how many objects to add that mean nothing; see :func:`ends_are_plain`.

    Raises:
        ConfiguratorError: a link leads to something else than the web, a letter or a call.
    """
    _require_links(pdf)
    for row in pdf.objects:
        if isinstance(row, dict) and row.get("S") == "/TR":
            _give_scopes([_at(pdf, kid) for kid in row["K"]])
    metadata = _at(pdf, pdf.catalog["Metadata"])
    metadata.stream = [metadata.stream[0].replace(b"</rdf:RDF>", _CLAIM)]
    metadata.compress = False
    if carried is not None:
        pdf.catalog["AF"][:] = dict.fromkeys(pdf.catalog["AF"])  # the renderer names each twice
        pdf.catalog["PieceInfo"] = _digests(carried)
    for _ in range(padding):
        pdf.add_object(type(pdf.catalog)())
    for item in pdf.objects:
        if getattr(item, "compress", False):
            _pack(item)


def ends_are_plain(pdf: bytes) -> bool:
    """Whether no stream ends with a carriage return before the line feed that closes it.

    Together they would be read as one end of line, and the stream's length as wrong
    (ISO 19005-3, 6.1.7.1). Where the PDF's own tables end so, a little padding changes them.
    """
    return b"\r\nendstream" not in pdf


def _pack(stream: Any) -> None:
    """Compress a stream once, as the renderer would do it twice: to write it, and for its digest.

    One that would end with a carriage return stays as it is.
    """
    stream.compress = False
    raw = stream.data.partition(b"\nstream\n")[2].removesuffix(b"\nendstream")
    packed = zlib.compress(raw)
    if packed.endswith(b"\r"):
        stream.stream = [raw]
    else:
        stream.stream, stream.extra["Filter"] = [packed], "/FlateDecode"


def _at(pdf: Any, reference: bytes) -> Any:
    """The object that is referred to."""
    return pdf.objects[int(reference.split()[0])]


def _give_scopes(cells: Sequence[Any]) -> None:
    """Say of each heading in a row whether it heads the row or a column.

    A heading that some cell of its own row names heads that row.
    """
    named = {id(name) for cell in cells for name in cell.get("A", {}).get("Headers", ())}
    for cell in cells:
        if cell["S"] == "/TH":
            cell["A"]["Scope"] = "/Row" if id(cell["ID"]) in named else "/Column"


def _require_links(pdf: Any) -> None:
    for item in pdf.objects:
        action = item.get("A") if isinstance(item, dict) else None
        if action is None or action.get("Type") != "/Action":
            continue
        target = action["URI"].string if "URI" in action else str(action["S"])
        if not target.lower().startswith(_LINKS):
            raise ConfiguratorError(
                f'the paper has a link to "{target}": only https, mailto and tel may be linked to'
            )


def _digests(carried: Carried) -> Any:
    """The digest of each file, where a PDF keeps the data of the program that made it."""
    from pydyf import Array, Dictionary, String

    pairs = [(file.name, digest(file.content)) for file in carried.files]
    private = Dictionary({DIGESTS: Array(String(text) for pair in pairs for text in pair)})
    stamp = String(f"D:{carried.day.isoformat().replace('-', '')}000000Z")
    return Dictionary({OWNER: Dictionary({"LastModified": stamp, "Private": private})})
