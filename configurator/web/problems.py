"""What went wrong, for other programs: problem details (RFC 9457), whoever noticed it."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from configurator.answers.data import to_json
from configurator.errors import shortened
from configurator.web.asked import Answer

API = "/api/v1/"
PROBLEM = "application/problem+json"


def problem(status: int, detail: str, **more: Any) -> Answer:
    """The answer that says what is wrong, with members beyond those of the standard."""
    told = {
        "type": "about:blank",
        "title": HTTPStatus(status).phrase,
        "status": status,
        "detail": shortened(detail),
        **more,
    }
    headers = {"WWW-Authenticate": 'Basic realm="configurator", charset="UTF-8"'}
    return Answer(to_json(told).encode(), status, PROBLEM, headers if status == 401 else {})
