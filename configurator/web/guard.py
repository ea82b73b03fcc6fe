"""Who may ask: no foreign site or host, and no form larger than allowed; before it is read."""

from __future__ import annotations

from collections.abc import Mapping
from urllib.parse import urlsplit

from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

MOST_BYTES = 8_000_000
"""Largest form, with a PDF in it."""

_SAFE = ("GET", "HEAD")
_ALWAYS = (
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
)


class OwnPagesOnly:
    """Refuses posts of other sites, and forms that are too large, before they are read."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, or refuse it."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def told(message: Message) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = [*message.get("headers", ()), *_ALWAYS]
            await send(message)

        if scope["method"] not in _SAFE:
            headers = {
                name.decode("latin-1").lower(): value.decode("latin-1")
                for name, value in scope["headers"]
            }
            refused = _refused(headers)
            if refused:
                await PlainTextResponse(*refused)(scope, receive, told)
                return
        await self.app(scope, receive, told)


def _refused(told: Mapping[str, str]) -> tuple[str, int] | None:
    site = told.get("sec-fetch-site")
    own = site in ("same-origin", "none") if site else _same_origin(told)
    if not own:
        return "this post comes from another site", 403
    length = told.get("content-length", "")
    if not (length.isascii() and length.isdigit()):
        return "the length of the form is not told", 411
    if len(length) > 9 or int(length) > MOST_BYTES:
        return f"the form is larger than {MOST_BYTES // 1_000_000} MB", 413
    return None


def _same_origin(told: Mapping[str, str]) -> bool:
    origin = told.get("origin")
    return origin is None or urlsplit(origin).netloc == told.get("host")
