"""Every page is made into a PDF once for all tests that read it, whichever worker they run on.

So is what is read out of a PDF, which takes as long, and what oracles list.

The same page gives the same bytes; the tests that say so ask for ``anew``. A page of which the
renderer logs a warning, or which it refuses, is not kept.
"""

from __future__ import annotations

import hashlib
import logging
import pickle
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TypeVar

import pytest

from configurator.render import sheets, writing
from configurator.render.pdf import html_to_pdf
from configurator.selection.attachments import Carried

__all__ = ["anew", "is_about_the_machine", "kept", "kept_in", "pdf_from", "said"]

T = TypeVar("T")

_folder: Path | None = None


class _Listener(logging.Handler):
    """Keeps what the renderer warns of."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.heard: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        if not is_about_the_machine(record.getMessage()):
            self.heard.append(record.getMessage())


def is_about_the_machine(message: str) -> bool:
    """Whether the renderer only says that it does without libharfbuzz-subset0."""
    return message.startswith("Using fontTools instead of HarfBuzz-Subset")


@contextmanager
def said() -> Iterator[list[str]]:
    """What the renderer warns of meanwhile."""
    listener = _Listener()
    logging.getLogger("weasyprint").addHandler(listener)
    try:
        yield listener.heard
    finally:
        logging.getLogger("weasyprint").removeHandler(listener)


def pdf_from(html: str, carried: Carried | None = None) -> bytes:
    """The page as PDF, made by the first test that asks for it."""
    if _folder is None:
        return html_to_pdf(html, carried)
    key = hashlib.sha256(repr((html, carried)).encode("utf-8", "surrogatepass")).hexdigest()
    file = _folder / key
    if file.exists():
        return file.read_bytes()
    with said() as heard:
        made = html_to_pdf(html, carried)
    if not heard:
        _write(file, made)
    return made


def kept(what: str, of: bytes, look: Callable[[], T]) -> T:
    """What is seen of that kind in the bytes, looked at by the first test that asks for it."""
    if _folder is None:
        return look()
    file = _folder / f"{what}-{hashlib.sha256(of).hexdigest()}"
    if not file.exists():
        _write(file, pickle.dumps(look()))
    seen: T = pickle.loads(file.read_bytes())
    return seen


def _write(file: Path, content: bytes) -> None:
    """Whole or not at all: other workers look too."""
    with tempfile.NamedTemporaryFile(dir=file.parent, delete=False) as whole:
        whole.write(content)
    Path(whole.name).replace(file)


@contextmanager
def kept_in(folder: Path) -> Iterator[None]:
    """Keep pages in this folder, those of commands within this process too."""
    global _folder  # noqa: PLW0603
    _folder = folder
    try:
        with _everywhere(pdf_from):
            yield
    finally:
        _folder = None


@contextmanager
def anew() -> Iterator[None]:
    """Let commands within this process make every page anew."""
    with _everywhere(html_to_pdf):
        yield


@contextmanager
def _everywhere(render: object) -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(writing, "html_to_pdf", render)
        patch.setattr(sheets, "html_to_pdf", render)
        yield
