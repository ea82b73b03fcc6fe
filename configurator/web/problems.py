"""What went wrong, for other programs: problem details (RFC 9457), whoever noticed it."""

from __future__ import annotations

from collections.abc import Iterable
from http import HTTPStatus
from typing import Any

from starlette.datastructures import Headers
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from configurator.answers.data import to_json
from configurator.errors import near_miss, shortened
from configurator.web.asked import Answer

API = "/api/v1/"
PROBLEM = "application/problem+json"


def problem(status: int, detail: str, **more: Any) -> Answer:
    """The answer that says what is wrong.

    Args:
        status: of the answer.
        detail: a sentence.
        more: members beyond those of the standard.
    """
    told = {
        "type": "about:blank",
        "title": HTTPStatus(status).phrase,
        "status": status,
        "detail": shortened(detail),
        **more,
    }
    headers = {"WWW-Authenticate": 'Basic realm="configurator", charset="UTF-8"'}
    return Answer(to_json(told).encode(), status, PROBLEM, headers if status == 401 else {})


class AsProblems:
    """Says what the server itself refuses as problem details, at addresses for programs.

    Args:
        app: what is served.
        known: the last parts of those addresses.
    """

    def __init__(self, app: ASGIApp, known: Iterable[str]) -> None:
        self.app, self.known = app, tuple(known)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, and change a refusal in plain text on its way back."""
        if scope["type"] != "http" or not scope["path"].startswith("/api/"):
            await self.app(scope, receive, send)
            return
        begun, refused, body = False, None, b""

        async def told(message: Message) -> None:
            nonlocal begun, refused, body
            if message["type"] == "http.response.start":
                kind = Headers(raw=message["headers"]).get("content-type", "")
                if message["status"] >= 400 and kind.startswith("text/plain"):
                    refused = message
                    return
                begun = True
            elif refused is not None:
                body += message.get("body", b"")
                if not message.get("more_body"):
                    await _say(self._said(scope, refused, body.decode()), refused["headers"], send)
                return
            await send(message)

        try:
            await self.app(scope, receive, told)
        except Exception:
            if not begun:
                sentence = "something went wrong here, and nothing was done"
                await _say(problem(500, sentence), (), send)
            raise

    def _said(self, scope: Scope, refused: Message, body: str) -> Answer:
        code, path = refused["status"], scope["path"]
        if body == "Invalid host header":
            return problem(421, "this server is not known under that name: see serve --name")
        if code == 404:
            near = near_miss(path.rpartition("/")[2], self.known)
            hint = near or f"{API}openapi.json lists what there is"
            return problem(404, f"there is no {path}; {hint}")
        if code == 405:
            allowed = Headers(raw=refused["headers"]).get("allow", "")
            return problem(405, f"{path} is asked with {allowed}, not {scope['method']}")
        return problem(code, body)


async def _say(answer: Answer, headers: Iterable[tuple[bytes, bytes]], send: Send) -> None:
    own = {b"content-type": answer.kind.encode(), b"cache-control": b"no-store"}
    own[b"content-length"] = str(len(answer.content)).encode()
    kept = [(name, value) for name, value in headers if name not in own]
    start = {"type": "http.response.start", "status": answer.code}
    await send({**start, "headers": [*kept, *own.items()]})
    await send({"type": "http.response.body", "body": answer.content})
