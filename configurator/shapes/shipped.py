"""The shipped JSON Schemas, the package's own data.

They are derived; ``python -m configurator.schemas`` writes them anew.
"""

from __future__ import annotations

import json
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

from configurator.shapes.schema import Schema


@cache
def schema(name: str) -> Schema:
    """The shipped JSON Schema ``catalogue``, ``selection`` or ``answers``, as it is published."""
    return json.loads(schema_text(name))  # type: ignore[no-any-return]


@cache
def linked(name: str) -> Schema:
    """The same with what each reference refers to in its place, so that it may hold itself.

    Following a reference for each of thousands of values is most of what validating would cost.
    """
    references: list[dict[str, Any]] = []

    def collected(part: dict[str, Any]) -> dict[str, Any]:
        if "$ref" in part:
            references.append(part)
        return part

    loaded = json.loads(schema_text(name), object_hook=collected, parse_float=Decimal)
    for part in references:
        while "$ref" in part:
            target = loaded["$defs"][part.pop("$ref").removeprefix("#/$defs/")]
            for key, value in target.items():
                part.setdefault(key, value)
    return loaded  # type: ignore[no-any-return]


def schema_text(name: str) -> str:
    """The text of a shipped schema."""
    folder = Path(__file__).parents[1] / "schemas"
    return (folder / f"{name}.schema.json").read_text("utf-8")
