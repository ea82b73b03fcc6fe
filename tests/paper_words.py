"""The words of the papers as they stand in templates and modules, read without running them."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import jinja2

ROOT = Path(__file__).parent.parent
TEMPLATES = sorted((ROOT / "templates").glob("*.html"))
MODULES = sorted(
    path
    for folder in ("report", "render", "drawing", "answers", "cli")
    for path in (ROOT / "configurator" / folder).glob("*.py")
)
SAYING = ("say", "marked")


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


def of_module(text: str) -> Iterator[tuple[int, str]]:
    """Line and text of every word that a module says or marks."""
    for node in ast.walk(ast.parse(text)):
        if not isinstance(node, ast.Call) or not node.args:
            continue
        name = getattr(node.func, "attr", getattr(node.func, "id", ""))
        if name in SAYING:
            first = node.args[0]
            if isinstance(first, ast.Constant) and isinstance(first.value, str):
                yield node.lineno, first.value


def words() -> dict[str | tuple[str, ...], str]:
    """Every word of the papers, with the place where it first stands."""
    found: dict[str | tuple[str, ...], str] = {}
    for path in TEMPLATES:
        for line, message in of_template(path.read_text("utf-8")):
            found.setdefault(message, f"{path.name}:{line}")
    for path in MODULES:
        for line, text in of_module(path.read_text("utf-8")):
            found.setdefault(text, f"{path.name}:{line}")
    return found
