"""Catalogues read, shops opened and builds asked once for all tests that do not ask how."""

import datetime as dt
import pickle
from collections import OrderedDict
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import lru_cache, wraps
from pathlib import Path
from typing import Any, TypeAlias, TypeVar

import pytest
from attrs import evolve

from configurator import Build, Catalogue, Location, Problem, Selection, Shop, open_shop, shop
from configurator.build_changes import BuildChanges, resolved
from configurator.catalogue.folder import CatalogueFile, opening_file, read_parts
from configurator.catalogue.nodes import document
from configurator.catalogue.reading import MOST_BYTES, open_catalogue, parse_catalogue, read_text
from configurator.cli import common
from configurator.cutting.rectangles import Area, Nesting, Rectangle, nest
from configurator.errors import NOWHERE
from configurator.report import comparison, cuts
from configurator.selection.resolved import Resolved
from configurator.shop import Source
from tests.support import rendered

T = TypeVar("T")
Read: TypeAlias = tuple[Catalogue | None, tuple[Problem, ...]]

read_once = lru_cache(maxsize=8)(parse_catalogue)
"""The same text of the same file is the same catalogue, which nothing can change."""


def opened_once(path: Path | str) -> Read:
    """The same for what is at a path: read again where one of its files has another text."""
    file = opening_file(Path(path))
    text = read_text(file)
    opening: Any = _composed(text, str(file))
    parts, problems = ([], []) if isinstance(opening, Problem) else _parts(opening, file)
    if not parts and not problems:
        return read_once(text, str(file))
    texts = tuple((part.name, part.file, part.text) for part in parts)
    return _opened_once(str(path), text, texts, tuple(problems))


_composed = lru_cache(maxsize=8)(document)


def _parts(opening: Any, file: Path) -> tuple[list[CatalogueFile], list[Problem]]:
    return read_parts(opening, file, read_text, MOST_BYTES)


@lru_cache(maxsize=8)
def _opened_once(path: str, *_: Any) -> Read:
    return open_catalogue(path)


_SHOPS: OrderedDict[tuple[Any, ...], tuple[Catalogue, Shop]] = OrderedDict()
_RESOLVED: OrderedDict[tuple[Any, ...], tuple[Catalogue, Resolved]] = OrderedDict()
MOST_SHOPS, MOST_RESOLVED = 16, 64


def kept(of: OrderedDict[tuple[Any, ...], T], key: tuple[Any, ...], most: int) -> T:
    """What is known by the key, and so many of those asked for last."""
    of.move_to_end(key)
    while len(of) > most:
        of.popitem(last=False)
    return of[key]


def shop_once(
    catalogue: Source | None = None,
    day: dt.date | None = None,
    *,
    today: dt.date | None = None,
    at: Location = NOWHERE,
) -> Shop:
    """The shop of the same texts and the same day is the same shop, with one engine."""
    read, _ = shop._read(catalogue)
    key = id(read), day, today
    if read is None or key not in _SHOPS:
        opened = open_shop(catalogue, day, today=today, at=at)  # raises where nothing was read
        assert read is not None
        _SHOPS[key] = read, opened
    return kept(_SHOPS, key, MOST_SHOPS)[1]


def of_commands(catalogue: Catalogue) -> bool:
    """Whether a command's shop has it."""
    return any(one.catalogue is catalogue for _, one in _SHOPS.values())


def resolved_once(catalogue: Catalogue, selection: Selection) -> Resolved:
    """The same picks, written in the same places, of the same catalogue; what follows is known."""
    if not of_commands(catalogue):
        return Resolved(catalogue, selection)
    key = id(catalogue), pickle.dumps(selection), selection.source
    if key not in _RESOLVED:
        _RESOLVED[key] = catalogue, Resolved(catalogue, selection)
    return kept(_RESOLVED, key, MOST_RESOLVED)[1]


def changed_once(build: BuildChanges, selection: Selection) -> BuildChanges:
    """The same build after a change."""
    return evolve(build, resolved=resolved_once(build.catalogue, selection))


ASKED = ("budget", "complete", "explain", "fixes", "options", "within")
"""Questions that a build's search answers."""


def answering_once(ask: Callable[..., Any]) -> Callable[..., Any]:
    """The method of a build, asked once of the same picks with the same arguments."""

    @wraps(ask)
    def answer(build: Build, *given: Any, **named: Any) -> Any:
        if not of_commands(build.catalogue):
            return ask(build, *given, **named)
        facts: dict[Any, Any] = resolved(build).facts
        key = ask, repr((given, named))
        if key not in facts:
            facts[key] = ask(build, *given, **named)
        return facts[key]

    return answer


def ending_once(ask: Callable[..., Iterator[T]]) -> Callable[..., Iterator[T]]:
    """The method of a build that answers bit by bit: what it told to its end is told again.

    Three fixes of a shipped selection take a CPU second.
    """

    @wraps(ask)
    def answer(build: Build, *given: Any, **named: Any) -> Iterator[T]:
        if not of_commands(build.catalogue):
            return ask(build, *given, **named)
        facts: dict[Any, Any] = resolved(build).facts
        key = ask, repr((given, named))
        return iter(facts[key]) if key in facts else told(ask(build, *given, **named), facts, key)

    def told(answers: Iterator[T], facts: dict[Any, Any], key: Any) -> Iterator[T]:
        found = []
        for one in answers:
            found.append(one)
            yield one
        facts[key] = tuple(found)

    return answer


def nested_once(pieces: Sequence[Rectangle], areas: Sequence[Area], cut: int = 0) -> Nesting:
    """The same panels on the same sheets, laid by the first test that asks for it.

    They take 0.4 of the 0.5 CPU seconds of the sheets of touring.
    """
    of = repr((pieces, areas, cut)).encode()
    return rendered.kept("nesting", of, lambda: nest(pieces, areas, cut))


@contextmanager
def known_once() -> Iterator[None]:
    """Commands within this process ask one shop about each of its builds once."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(shop, "parse_catalogue", read_once)
        patch.setattr(shop, "open_catalogue", opened_once)
        patch.setattr(common, "open_shop", shop_once)
        for module in (shop, comparison):
            patch.setattr(module, "Resolved", resolved_once)
        patch.setattr(cuts, "nest", nested_once)
        patch.setattr(BuildChanges, "_having", changed_once)
        for name in ASKED:
            patch.setattr(Build, name, answering_once(getattr(Build, name)))
        patch.setattr(Build, "fixes_one_by_one", ending_once(Build.fixes_one_by_one))
        yield
