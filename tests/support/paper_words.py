"""The words of the papers as they stand in templates and modules, read without running them."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable, Iterator

import jinja2

from tests.support.paths import ROOT

TEMPLATES = sorted((ROOT / "templates").glob("*.html"))
PAGES = sorted((ROOT / "configurator" / "web" / "templates").rglob("*.html"))
MODULES = sorted((ROOT / "configurator").rglob("*.py"))
PLACE = re.compile(r"\{[^{}]*\}|%\(\w+\)[sd]")


def of_template(text: str) -> Iterator[tuple[int, str | tuple[str, ...]]]:
    """Line and text of every word, as jinja2 itself finds them; plural forms as a tuple."""
    environment = jinja2.Environment(
        trim_blocks=True, lstrip_blocks=True, extensions=["jinja2.ext.i18n"]
    )
    found = environment.extract_translations(text)  # type: ignore[attr-defined]
    for line, function, message in found:
        if isinstance(message, tuple):
            forms = tuple(part for part in message if part is not None)
            yield line, forms[:2] if function == "ngettext" else forms[0]
        elif message is not None:
            yield line, message


def _of_module(text: str) -> Iterator[tuple[int, str | tuple[str, ...]]]:
    """Line and text of every message that a module makes, but for those that are all places.

    Quotation marks are words: each language has its own.
    """
    for node in ast.walk(ast.parse(text)):
        if not isinstance(node, ast.Call) or not node.args:
            continue
        messages = {"text": [node.args], "Saying": [[one] for one in node.args[1:]]}
        for parts in messages.get(getattr(node.func, "id", ""), ()):
            forms = tuple(_strings(parts))
            if any(re.search(r"[^\W\d_]|\"", PLACE.sub("", form)) for form in forms):
                yield node.lineno, forms if len(forms) > 1 else forms[0]


def _strings(parts: Iterable[ast.expr]) -> Iterator[str]:
    for part in parts:
        if isinstance(part, ast.Tuple):
            yield from _strings(part.elts)
        elif isinstance(part, ast.Constant) and isinstance(part.value, str):
            yield part.value


def words() -> dict[str | tuple[str, ...], str]:
    """Every word of the papers, with the place where it first stands."""
    found: dict[str | tuple[str, ...], str] = {}
    for path in (*TEMPLATES, *PAGES):
        for line, message in of_template(path.read_text("utf-8")):
            found.setdefault(message, f"{path.name}:{line}")
    for path in MODULES:
        for line, text in _of_module(path.read_text("utf-8")):
            found.setdefault(text, f"{path.name}:{line}")
    return found
