"""The shipped JSON Schemas: the package's own data, the same on every machine.

They are derived; ``python -m configurator.schemas`` writes them anew.
"""

from __future__ import annotations

import json
from functools import cache
from importlib.resources import files
from typing import Any

from configurator.shapes import Schema

_DEEPEST_INLINED = 6


@cache
def schema(name: str) -> Schema:
    """The shipped JSON Schema ``catalogue``, ``selection`` or ``answers``.

    References are replaced by what they refer to, one inside another down to the sixth: following
    a reference for each of thousands of values is most of what validating would cost. What is
    referred to often is there once.
    """
    text = (files(__name__) / f"{name}.schema.json").read_text("utf-8")
    loaded: dict[str, Any] = json.loads(text)
    definitions = loaded.pop("$defs", {})

    def inlined(part: Any, depth: int) -> Any:
        if isinstance(part, list):
            return [inlined(inner, depth) for inner in part]
        if not isinstance(part, dict):
            return part
        name = str(part.get("$ref", "")).removeprefix("#/$defs/")
        if not name or depth == _DEEPEST_INLINED:
            return {key: inlined(value, depth) for key, value in part.items()}
        own = {key: inlined(value, depth) for key, value in part.items() if key != "$ref"}
        return {**definition(name, depth + 1), **own} if own else definition(name, depth + 1)

    @cache
    def definition(name: str, depth: int) -> dict[str, Any]:
        return inlined(definitions[name], depth)  # type: ignore[no-any-return]

    return {**inlined(loaded, 0), "$defs": {name: definition(name, 1) for name in definitions}}
