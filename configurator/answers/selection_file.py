"""A selection as the text of a selection file, as somebody would have typed it.

Picks stand in the catalogue's order, one line for each choice. The file is YAML 1.2 and means the
same to a reader of YAML 1.1: whatever one of them would take for something else than text stands
in quotation marks, and numbers keep all their digits.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

import yaml

from configurator.answers.selection import selection_answer
from configurator.selection.resolved import Resolved

__all__ = ["selection_data", "selection_yaml"]

_FIRST = ("format", "catalogue", "title", "customer", "picks", "add-ons")
"""The keys with which a file begins; the others follow in their own order."""


def selection_data(build: Resolved) -> dict[str, Any]:
    """The selection in the shape of its file, picks in the catalogue's order and written short."""
    data = selection_answer(build.selection)
    data = {key: data[key] for key in sorted(data, key=_rank)}
    order = {choice: place for place, choice in enumerate(build.catalogue.by_id)}
    picks = data["picks"]
    data["picks"] = {
        choice: _short(picks[choice]) for choice in sorted(picks, key=lambda c: order.get(c, -1))
    }
    if "add-ons" in data:
        data["add-ons"] = _several(data["add-ons"])
    return data


def selection_yaml(build: Resolved) -> str:
    """The selection as YAML."""
    data = selection_data(build)
    return yaml.dump(data, Dumper=_Dumper, sort_keys=False, allow_unicode=True, width=100)


def _rank(key: str) -> int:
    return _FIRST.index(key) if key in _FIRST else len(_FIRST)


def _short(options: Mapping[str, int]) -> Any:
    """One option alone as its id, several of one each as a list, others with their quantities."""
    return next(iter(options)) if list(options.values()) == [1] else _several(options)


def _several(options: Mapping[str, int]) -> Any:
    return list(options) if set(options.values()) == {1} else dict(options)


class _Dumper(yaml.SafeDumper):
    """Writes decimal numbers as they are, and marks text that could be read as a number."""


def _decimal(dumper: yaml.SafeDumper, value: Decimal) -> yaml.ScalarNode:
    kind = "float" if "." in format(value, "f") else "int"
    return dumper.represent_scalar(f"tag:yaml.org,2002:{kind}", format(value, "f"))


def _text(dumper: yaml.SafeDumper, value: str) -> yaml.ScalarNode:
    marks = "'" if _like_a_number(value) else None
    return dumper.represent_scalar("tag:yaml.org,2002:str", value, style=marks)


def _like_a_number(text: str) -> bool:
    for kind in (float, lambda digits: int(digits, 0)):
        try:
            kind(text)
        except ValueError:
            continue
        return True
    return False


_Dumper.add_representer(Decimal, _decimal)
_Dumper.add_representer(str, _text)
