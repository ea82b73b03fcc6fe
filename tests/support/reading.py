"""Catalogues read, shops opened and builds asked once for all tests that do not ask how."""

import datetime as dt
import pickle
from collections import OrderedDict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import lru_cache, wraps
from pathlib import Path
from typing import Any, TypeAlias

import pytest
from attrs import evolve

from configurator import Build, Selection, Shop, open_shop, shop
from configurator.catalogue.folder import Part, opening_file, read_parts
from configurator.catalogue.model import Catalogue
from configurator.catalogue.nodes import document
from configurator.catalogue.reading import MOST_BYTES, open_catalogue, parse_catalogue, read_text
from configurator.cli import common
from configurator.errors import NOWHERE, Location, Problem
from configurator.picked import Picked, resolved
from configurator.report import comparison
from configurator.selection.resolved import Resolved
from configurator.shop import Source

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
    return _opened_once(str(path), text, tuple(parts), tuple(problems))


_composed = lru_cache(maxsize=8)(document)


def _parts(opening: Any, file: Path) -> tuple[list[Part], list[Problem]]:
    return read_parts(opening, file, read_text, MOST_BYTES)


@lru_cache(maxsize=8)
def _opened_once(path: str, *_: Any) -> Read:
    return open_catalogue(path)


_SHOPS: dict[tuple[Any, ...], tuple[Catalogue, Shop]] = {}


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
    return _SHOPS[key][1]


_RESOLVED: OrderedDict[tuple[Any, ...], Resolved] = OrderedDict()


def resolved_once(catalogue: Catalogue, selection: Selection) -> Resolved:
    """The same picks, written in the same places, of the same catalogue; what follows is known."""
    key = id(catalogue), pickle.dumps(selection), selection.source
    if key not in _RESOLVED:
        _RESOLVED[key] = Resolved(catalogue, selection)
        # a catalogue is kept as long as its name is
        _RESOLVED[key].facts["of",] = catalogue
    _RESOLVED.move_to_end(key)
    while len(_RESOLVED) > 64:
        _RESOLVED.popitem(last=False)
    return _RESOLVED[key]


def changed_once(build: Picked, selection: Selection) -> Picked:
    """The same build after a change."""
    return evolve(build, resolved=resolved_once(build.catalogue, selection))


ASKED = ("budget", "complete", "explain", "fixes", "options", "within")
"""Questions that a build's search answers."""


def answering_once(ask: Callable[..., Any]) -> Callable[..., Any]:
    """The method of a build, asked once of the same picks with the same arguments."""

    @wraps(ask)
    def answer(build: Build, *given: Any, **named: Any) -> Any:
        facts: dict[Any, Any] = resolved(build).facts
        key = ask, repr((given, named))
        if key not in facts:
            facts[key] = ask(build, *given, **named)
        return facts[key]

    return answer


@contextmanager
def known_once() -> Iterator[None]:
    """Commands within this process ask one shop about each of its builds once."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(shop, "parse_catalogue", read_once)
        patch.setattr(shop, "open_catalogue", opened_once)
        patch.setattr(common, "open_shop", shop_once)
        for module in (shop, comparison):
            patch.setattr(module, "Resolved", resolved_once)
        patch.setattr(Picked, "_having", changed_once)
        for name in ASKED:
            patch.setattr(Build, name, answering_once(getattr(Build, name)))
        yield
