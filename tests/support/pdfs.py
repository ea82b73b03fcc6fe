"""PDFs as tests look at them: checked by two checkers, measured, and written anew with changes."""

from __future__ import annotations

import hashlib
import io
import re
import tempfile
from collections.abc import Callable
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any, TypeVar

import page as page_validation
import pdfplumber
import pdfua
import pikepdf
import pypdfium2
from pdfplumber.utils.text import extract_text, extract_words
from pypdfium2 import raw

from tests.support.rendered import kept

T = TypeVar("T")


def rewrite(
    file: Path, change: Callable[[str, bytes], bytes | None], digests_too: bool = False
) -> None:
    """Save the PDF with its files changed, or left out where None; as another program would."""
    with pikepdf.open(file, allow_overwriting_input=True) as opened:
        sums = opened.Root.PieceInfo.TrayCanopyConfigurator.Private.Digests
        for index in range(0, len(sums), 2):
            name = str(sums[index])
            now = change(name, opened.attachments[name].get_file().read_bytes())
            del opened.attachments[name]
            if now is not None:
                opened.attachments[name] = pikepdf.AttachedFileSpec(opened, now, filename=name)
                if digests_too:
                    sums[index + 1] = pikepdf.String(hashlib.sha256(now).hexdigest())
        opened.save(file)


_CLAIMS = (page_validation.ValidationProfile.PDF_A_3A, page_validation.ValidationProfile.PDF_UA_1)


def found_by_page_validation(pdf: bytes) -> list[str]:
    def look() -> list[str]:
        found = []
        for claim in _CLAIMS:
            report = page_validation.validate_pdf_bytes(pdf, profile=claim)
            assert report.rules.total > 90
            found += [f"{failure.rule_id}: {failure.message}" for failure in report.failures]
        return found

    return kept("page-validation", pdf, look)


def found_by_pdfua(pdf: bytes) -> list[str]:
    def look() -> list[str]:
        with tempfile.NamedTemporaryFile(suffix=".pdf") as file:
            file.write(pdf)
            file.flush()
            report = pdfua.Validator().validate(file.name)
        return [f"{finding.rule_id}: {finding.message}" for finding in report.findings]

    return kept("pdfua", pdf, look)


@lru_cache(maxsize=4)
def opened_pdf(pdf: bytes) -> pdfplumber.pdf.PDF:
    """The PDF; what was read of its pages is not read again by whoever asks next."""
    return pdfplumber.open(io.BytesIO(pdf))


_TALL = 1.257
"""From the lowest to the highest point of the papers' typeface, in sizes of its letters."""


def _letters_of(pdf: bytes) -> list[list[dict[str, Any]]]:
    """Of each page its letters as they follow in the file, each with its place in points."""
    document = pypdfium2.PdfDocument(pdf)
    found = []
    for page in document:
        text, height = page.get_textpage(), page.get_height()
        box = raw.FS_RECTF()
        letters = []
        for at in range(text.count_chars()):
            if raw.FPDFText_IsGenerated(text, at) == 1:
                continue
            raw.FPDFText_GetLooseCharBox(text, at, box)
            said = chr(raw.FPDFText_GetUnicode(text, at))
            upright = abs(raw.FPDFText_GetCharAngle(text, at)) < 0.01
            size = (box.top - box.bottom) / (_TALL if upright else 1)
            letters.append(
                {
                    "text": "-" if said == "\x02" else said,
                    "x0": box.left,
                    "x1": box.right,
                    "upright": upright,
                    "size": size,
                    "bottom": height - box.bottom,
                    "top": height - box.bottom - size,
                    "doctop": height - box.bottom - size,
                    "height": size,
                }
            )
        found.append(letters)
        text.close()
        page.close()
    document.close()
    return found


MM = 72 / 25.4


def squeezed(text: str) -> str:
    """Text without spaces, so that it does not matter where lines were broken."""
    return re.sub(r"\s", "", text)


class Pages:
    """The pages of a PDF: their text in the order of reading, and where each word lies.

    PDFium reads the letters, with a twentieth of pdfplumber's work, which makes words of them.

    Attributes:
        letters: of each page what ``_letters_of`` finds.
        texts: of each page all its letters as they follow in the file, without spaces.
        lines: of each page its text as a reader sees it, in lines.
        words: of each page its words, with their places in points.
    """

    def __init__(self, pdf: bytes | Path) -> None:
        self.pdf = pdf if isinstance(pdf, bytes) else pdf.read_bytes()

    def _seen(self, what: str, look: Callable[[pdfplumber.pdf.PDF], T]) -> T:
        return kept(what, self.pdf, lambda: look(opened_pdf(self.pdf)))

    @cached_property
    def texts(self) -> list[str]:
        return [squeezed("".join(one["text"] for one in page)) for page in self.letters]

    @cached_property
    def letters(self) -> list[list[dict[str, Any]]]:
        return kept("letters", self.pdf, lambda: _letters_of(self.pdf))

    @cached_property
    def lines(self) -> list[str]:
        return [extract_text(page) for page in self.letters]

    @cached_property
    def words(self) -> list[list[dict[str, Any]]]:
        return [extract_words(page) for page in self.letters]

    @cached_property
    def fonts(self) -> set[str]:
        """The names of all fonts that the pages have, whether or not a letter is set in them."""
        with pikepdf.open(io.BytesIO(self.pdf)) as opened:
            fonts = [page.resources.get("/Font", pikepdf.Dictionary()) for page in opened.pages]
            return {str(font.BaseFont)[1:] for of_page in fonts for font in of_page.values()}

    @cached_property
    def links(self) -> list[str]:
        with pikepdf.open(io.BytesIO(self.pdf)) as opened:
            found = [one for page in opened.pages for one in page.obj.get("/Annots", [])]
            return [str(one.A.URI) for one in found if "/A" in one and "/URI" in one.A]

    @cached_property
    def sizes(self) -> set[tuple[int, int]]:
        """Width and height of the pages, in whole millimetres."""
        return self._seen(
            "sizes", lambda pdf: {(round(p.width / MM), round(p.height / MM)) for p in pdf.pages}
        )

    @cached_property
    def metadata(self) -> dict[str, Any]:
        return self._seen("metadata", lambda pdf: dict(pdf.metadata))

    @property
    def text(self) -> str:
        return "".join(self.texts)

    def has(self, text: str) -> bool:
        return squeezed(text) in self.text

    def page_of(self, text: str) -> int:
        """The only page with this text."""
        found = [number for number, on in enumerate(self.texts) if squeezed(text) in on]
        assert len(found) == 1, f"{text!r} stands on pages {found}"
        return found[0]


LEFT, RIGHT, TOP, BOTTOM = 18 * MM, (210 - 18) * MM, 6 * MM, (297 - 6) * MM


def measure(pages: Pages) -> None:
    """No word lies outside the margins or over another one."""
    for number, words in enumerate(pages.words, 1):
        for word in words:
            where = f"page {number}: {word['text']}"
            assert word["x0"] >= LEFT - 1, where
            assert word["x1"] <= RIGHT + 1, where
            assert word["top"] >= TOP, where
            assert word["bottom"] <= BOTTOM, where
        rows = sorted(words, key=lambda word: (word["top"], word["x0"]))
        for index, word in enumerate(rows):
            for other in rows[index + 1 :]:
                if other["top"] >= word["bottom"] - 2.5:
                    break
                apart = other["x0"] >= word["x1"] - 1 or word["x0"] >= other["x1"] - 1
                assert apart, f"page {number}: {word['text']} lies over {other['text']}"
