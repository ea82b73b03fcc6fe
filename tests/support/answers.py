"""Whether an answer in JSON has the shape that its schema promises."""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path
from typing import Any

from jsonschema import Draft202012Validator

from tests.conftest import Ran

SCHEMAS = Path(str(files("configurator"))) / "schemas"
SCHEMA = json.loads((SCHEMAS / "answers.schema.json").read_text("utf-8"))


def valid(ran: Ran | str) -> dict[str, Any]:
    """The answer, once it has its documented shape."""
    answer: dict[str, Any] = json.loads(ran if isinstance(ran, str) else ran.out)
    shape = {"$ref": f"#/$defs/{answer['answer']}", "$defs": SCHEMA["$defs"]}
    Draft202012Validator(shape).validate(answer)
    Draft202012Validator(SCHEMA).validate(answer)
    return answer
