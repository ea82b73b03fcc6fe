"""Whether an answer in JSON has the shape that its schema promises."""

from __future__ import annotations

import json
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from jsonschema import Draft202012Validator

from tests.support.commands import Ran

SCHEMAS = Path(str(files("configurator"))) / "schemas"
SCHEMA = json.loads((SCHEMAS / "answers.schema.json").read_text("utf-8"))


_WHOLE = Draft202012Validator(SCHEMA)


@cache
def _shape_of(kind: str) -> Draft202012Validator:
    """What holds answers to the shape of their kind."""
    return Draft202012Validator({"$ref": f"#/$defs/{kind}", "$defs": SCHEMA["$defs"]})


@cache
def _has_its_shape(text: str) -> bool:
    """Whether the text of an answer has; the same text is looked at once."""
    answer = json.loads(text)
    _shape_of(answer["answer"]).validate(answer)
    _WHOLE.validate(answer)
    return True


def valid(ran: Ran | str) -> dict[str, Any]:
    """The answer, once it has its documented shape."""
    text = ran if isinstance(ran, str) else ran.out
    assert _has_its_shape(text)
    answer: dict[str, Any] = json.loads(text)
    return answer
