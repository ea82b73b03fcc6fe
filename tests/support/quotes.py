"""Quotes as PDF, shipped and made up, and their pages as a reader measures them."""

from __future__ import annotations

import io
import re
from decimal import Decimal
from functools import cache
from typing import Any

import pdfplumber

from configurator.report.quote import Quote, make_quote
from configurator.selection.resolved import Resolved
from tests.support.building import (
    catalogue,
    choice,
    option,
    selection,
)
from tests.support.made_papers import DAY, quandong, shipped_selection

MM = 72 / 25.4


LEFT, RIGHT, TOP, BOTTOM = 18 * MM, (210 - 18) * MM, 6 * MM, (297 - 6) * MM


def squeezed(text: str) -> str:
    """Text without spaces, so that it does not matter where lines were broken."""
    return re.sub(r"\s", "", text)


class Pages:
    """The pages of a PDF: their text in the order of reading, and where each word lies."""

    def __init__(self, pdf: bytes) -> None:
        with pdfplumber.open(io.BytesIO(pdf)) as opened:
            self.texts = [squeezed("".join(c["text"] for c in p.chars)) for p in opened.pages]
            self.words: list[list[dict[str, Any]]] = [p.extract_words() for p in opened.pages]
            self.fonts = {c["fontname"] for p in opened.pages for c in p.chars}
            self.links = [link for p in opened.pages for link in p.hyperlinks]
            self.sizes = {(round(p.width / MM), round(p.height / MM)) for p in opened.pages}
            self.metadata = opened.metadata
        self.text = "".join(self.texts)

    def has(self, text: str) -> bool:
        return squeezed(text) in self.text

    def page_of(self, text: str) -> int:
        """The only page with this text."""
        found = [number for number, on in enumerate(self.texts) if squeezed(text) in on]
        assert len(found) == 1, f"{text!r} stands on pages {found}"
        return found[0]


def shipped_quote(name: str) -> Quote:
    """A shipped selection as a quote."""
    return make_quote(Resolved(quandong(), shipped_selection(name)), "Q-2041", DAY)


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


def long_title(number: int, length: int, spaces: bool) -> str:
    words = f"Nr{number:03} " + "welded aluminium locker with gas struts and two keyed latches " * 3
    return (words if spaces else words.replace(" ", ""))[:length].strip()


@cache
def generated(lines: int, length: int, add_ons: int, spaces: bool = True) -> Quote:
    """A quote with so many lines in groups of seven, and so many suggested add-ons."""
    groups = [f"g{index}" for index in range((lines + 6) // 7)]
    choices = []
    for number in range(lines):
        title = long_title(number, length, spaces)
        text = {"text": f"What Nr{number:03} is for."} if number % 3 == 0 else {}
        one = option(f"o{number}", Decimal(f"{number * 1234 + 1}.05"), title=title, mass=1, **text)
        choices.append({**choice(f"c{number}", [one]), "group": groups[number // 7]})
    extras = [
        option(
            f"x{number}",
            Decimal("49.95"),
            title=f"Extra {number:03} " + long_title(number, length - 12, spaces),
            suggest={"c0": "o0"},
            because=f"Because of reason {number:03}, which is told in a sentence of its own.",
        )
        for number in range(add_ons)
    ]
    c = catalogue(
        choices,
        groups=[{"id": g, "title": f"Group {g} of the build"} for g in groups],
        add_ons=extras,
    )
    picks = {f"c{number}": f"o{number}" for number in range(lines)}
    return make_quote(Resolved(c, selection(picks)), "Q-1", DAY)
