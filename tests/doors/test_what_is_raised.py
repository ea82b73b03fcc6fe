"""The docstring of each promised method names every error that can come out, and its units."""

from __future__ import annotations

import datetime as dt
import inspect
import re
from collections.abc import Iterator
from typing import Any

import pytest

import configurator
from configurator import (
    Build,
    ConfiguratorError,
    NoSuchQuote,
    Register,
    RegisterError,
    SelectionError,
    Shop,
    open_shop,
)

DAY = dt.date(2026, 8, 3)

METHODS = {
    f"{kind.__name__}.{name}": method
    for kind in (Shop, Build, Register)
    for name, method in inspect.getmembers(kind, inspect.isfunction)
    if not name.startswith("_")
}

REACHED = {
    r"self\._search\(|self\._asked\(": "SearchLimit SelectionError",
    r"review\(": "SearchLimit",
    r"choice_of\(": "ConfiguratorError",
    r"self\._require_picked\(|self\._known\(": "SelectionError",
    r"compare\(here|first\.compare\(": "ConfiguratorError SelectionError",
    r"\b[a-z]+\(self\._resolved[,)]": "SelectionError",
    r"require_count\(": "ConfiguratorError",
    r"self\.database\.(?:reading|writing|settle)\(|upkeep\.|results\(self": "FileError",
    r"self\._(?:writing|kept|entries)\(": "FileError",
    r"self\._writing\(seller": "ConfiguratorError",
    r"\.row\(|quote_row\(|\.move\(|self\._kept\(": "RegisterError",
    r"require_spared\(|require_no_catalogue\(|write_as\(": "ConfiguratorError",
    r"write_as\(|write_selection\(|replace_files\(|make_folder\(|write_first\(": "FileError",
    r"self\._look\(|look_of\(|jobs_of\(": "ConfiguratorError",
    r"open_database\(|open_register\(|open_selection\(|quotes_in\(": "FileError",
    r"opened\.selection\(": "SelectionError",
    r"update_prices\(": "SheetError CatalogueError FileError",
    r"make_quote\(|make_sheets\(": "QuoteRefused SelectionError",
    r"raise (\w+)\(": r"\1",
}
"""What a call in the source of a method can raise."""


def source(kind: type, name: str, seen: frozenset[str] = frozenset()) -> str:
    """The source of a method without its docstring, and of what it calls of its own class."""
    method = inspect.getattr_static(kind, name)
    method = getattr(method, "__func__", method)
    if not inspect.isfunction(method) or name in seen:
        return ""
    text = inspect.getsource(method).replace(method.__doc__ or "", "")
    own = set(re.findall(r"self\.(\w+)\(", text)) - {"_writing"}
    inner = (source(kind, one, seen | {name}) for one in own if hasattr(kind, one))
    return text + "".join(inner)


def source_of(name: str) -> str:
    kind, method = name.split(".")
    return source(getattr(configurator, kind), method)


def reached(text: str) -> Iterator[str]:
    for call, errors in REACHED.items():
        for found in re.finditer(call, text):
            yield from found.expand(errors).split()


def named(method: Any) -> set[type]:
    """The errors under ``Raises:``, with those that are kinds of them."""
    told = (inspect.getdoc(method) or "").partition("Raises:\n")[2].partition("\n\n")[0]
    names = re.findall(r"^    (\w+): \S", told, re.MULTILINE)
    return {
        getattr(configurator, name, None) or getattr(__import__("builtins"), name) for name in names
    }


@pytest.mark.parametrize("name", METHODS)
def test_a_docstring_names_every_error_that_the_source_reaches(name: str) -> None:
    told = named(METHODS[name])
    told |= {RegisterError} if NoSuchQuote in told else set()
    raised = {getattr(configurator, error, TypeError) for error in reached(source_of(name))}
    ours = {error for error in raised if issubclass(error, ConfiguratorError)}
    assert ours <= told


def test_what_reaches_nothing_would_be_seen() -> None:
    assert {*reached("return found(self._resolved, self._search())")} == {
        "SearchLimit",
        "SelectionError",
    }
    assert {*reached("raise FileError(told)")} == {"FileError"}
    assert sum(bool([*reached(source_of(name))]) for name in METHODS) > 45


QUESTIONS = {
    "check": (),
    "price": (),
    "suggestions": (),
    "margin": (),
    "layout": (),
    "mass": (),
    "power": (),
    "options": (),
    "one_by_one": (),
    "explain": (),
    "fixes": (),
    "fixes_one_by_one": (),
    "complete": (),
    "within": (1,),
    "quote": ("Q-1", DAY),
    "compare": (),
    "budget": (),
    "sheets": ("J-1", DAY),
}


@pytest.fixture(scope="module")
def unknown() -> Build:
    """A build that cannot be understood."""
    return open_shop().build().pick("canopy-hight", "850mm")


def test_every_question_is_asked() -> None:
    changes = {name for name in vars(Build.__mro__[1]) if not name.startswith("_")}
    asked = {name.partition(".")[2] for name in METHODS if name.startswith("Build.")}
    assert asked - changes == {*QUESTIONS}


@pytest.mark.parametrize("question", QUESTIONS)
def test_what_cannot_be_understood_is_raised_as_it_is_named(question: str, unknown: Build) -> None:
    given: tuple[Any, ...] = QUESTIONS[question]
    if question == "compare":
        given = (unknown,)
    with pytest.raises(SelectionError):
        getattr(unknown, question)(*given)
    assert SelectionError in named(METHODS[f"Build.{question}"])


UNITS = {
    "Shop.compare": r"\(kg\)",
    "Shop.new": "per cent.*currency",
    "Build.add": "kg",
    "Build.compare": r"\(kg\)",
    "Build.layout": "mm",
    "Build.margin": "per cent",
    "Build.mass": "kg",
    "Build.place": "mm",
    "Build.power": r"\(Ah\).*\(mm²\).*\(A\)",
    "Build.travel": "kg.*hours",
    "Build.within": "currency",
    "Register.results": "currency",
}
"""In what plain numbers are that go into methods or come out; an amount knows its currency."""


@pytest.mark.parametrize("name", UNITS)
def test_a_docstring_says_in_what_its_figures_are(name: str) -> None:
    text = (inspect.getdoc(METHODS[name]) or "").partition("Raises:")[0]
    assert re.search(UNITS[name], text, re.DOTALL), name
