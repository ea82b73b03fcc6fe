"""What the server itself refuses: other hosts and sites, large forms, whoever has not signed in."""

from __future__ import annotations

import asyncio
import base64
import binascii
from collections.abc import Awaitable, Callable, Sequence
from fnmatch import fnmatchcase
from pathlib import Path
from urllib.parse import urlsplit

from attrs import field, mutable
from starlette.datastructures import Headers
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from configurator.web.messages import API, NO_STORE, Answer, problem
from configurator.web.methods import NAMES
from configurator.web.sellers import Sellers, read_sellers
from configurator.words import near_miss

MOST_BYTES = 8_000_000
"""Largest form, with a PDF in it."""

_SAFE = ("GET", "HEAD")
_ALWAYS = {
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
}


class OwnPagesOnly:
    """Refuses other hosts, posts of other sites, and forms that are too large, before reading them.

    Args:
        app: what is served.
        hosts: names under which it may be asked for; one may begin with ``*.``.
        too_large: answers a form of our own page that is too large.
    """

    def __init__(
        self,
        app: ASGIApp,
        hosts: Sequence[str],
        too_large: Callable[[Request, Exception], Awaitable[Response]],
    ) -> None:
        self.app, self.hosts = app, [host.lower() for host in hosts]
        self.too_large = too_large

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, or refuse it."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def told(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = Headers(_ALWAYS).raw
                message["headers"] = [*message.get("headers", ()), *headers]
            await send(message)

        try:
            self._require_own(scope)
        except HTTPException as error:
            asked = Request(scope)
            large = error.status_code == 413
            answer = await self.too_large(asked, error) if large else refused(asked, error)
            await answer(scope, receive, told)
        else:
            await self.app(scope, receive, told)

    def _require_own(self, scope: Scope) -> None:
        sent = Headers(scope=scope)
        if not self._is_host(sent.get("host", "")):
            for_programs = scope["path"].startswith("/api/")
            unknown = "this server is not known under that name: see serve --name"
            raise HTTPException(*((421, unknown) if for_programs else (400, "Invalid host header")))
        if scope["method"] in _SAFE:
            return
        site = sent.get("sec-fetch-site")
        if not (site in ("same-origin", "none") if site else _same_origin(sent)):
            raise HTTPException(403, "this post comes from another site")
        length = sent.get("content-length", "")
        if not length and scope["method"] != "POST":
            return  # nothing takes it
        if not (length.isascii() and length.isdigit()):
            raise HTTPException(411, "send the body with its Content-Length")
        if len(length) > 9 or int(length) > MOST_BYTES:
            raise HTTPException(413, f"the form is larger than {MOST_BYTES // 1_000_000} MB")

    def _is_host(self, sent: str) -> bool:
        try:
            name = urlsplit(f"//{sent}").hostname or ""
        except ValueError:
            return False
        return any(fnmatchcase(name, host) for host in self.hosts)


def _same_origin(sent: Headers) -> bool:
    origin = sent.get("origin")
    return origin is None or origin.partition("://")[2] == sent.get("host")


def refused(request: Request, error: Exception) -> Response:
    """What the server refuses, in plain text; as problem details where programs ask."""
    assert isinstance(error, HTTPException)
    path, code, told = request.scope["path"], error.status_code, error.detail
    headers = dict(error.headers or {})
    if not path.startswith("/api/"):
        return PlainTextResponse(told, code, headers)
    if code == 404:
        near = near_miss(path.rpartition("/")[2], NAMES)
        told = f"there is no {path}; {near or f'{API}openapi.json lists what there is'}"
    elif code == 405:
        told = f"{path} is asked with {headers.get('Allow', '')}, not {request.method}"
    return as_response(problem(code, told), headers)


def failed(request: Request, _: Exception) -> Response:
    """What is said where the server has a fault."""
    if not request.scope["path"].startswith("/api/"):
        return PlainTextResponse("Internal Server Error", 500)
    return as_response(problem(500, "something went wrong here, and nothing was done"))


def as_response(answer: Answer, others: dict[str, str] | None = None) -> Response:
    """An answer as it is sent, which no browser keeps."""
    headers = {**(others or {}), **NO_STORE, **answer.headers, "Content-Type": answer.kind}
    return Response(answer.content, answer.code, headers)


COOKIE = "signed"
_PAUSE = 1.0
"""Seconds that a wrong password costs, so that guessing takes long."""


@mutable(eq=False)
class Seats:
    """The seats of a page that sellers sign in to.

    Attributes:
        file: of the sellers; None where nobody signs in.
    """

    file: Path | None = None
    _sellers: Sellers = field(factory=Sellers)
    _stamp: int = -1
    _one: asyncio.Lock = field(factory=asyncio.Lock)
    _known: set[tuple[str, str, str]] = field(factory=set)

    @property
    def open(self) -> bool:
        """Nobody has to sign in."""
        return self.file is None

    @property
    def sellers(self) -> Sellers:
        """The sellers as their file has them now."""
        if self.file is not None:
            try:
                stamp = self.file.stat().st_mtime_ns
            except OSError:
                stamp = 0
            if stamp != self._stamp:
                self._sellers, self._stamp = read_sellers(self.file), stamp
                self._known.clear()
        return self._sellers

    async def seller(self, request: Request) -> str:
        """Who has signed in, or sends name and password along; empty where nobody does."""
        if self.open:
            return ""
        signed = self.sellers.seller(request.cookies.get(COOKIE, ""))
        kind, _, told = request.headers.get("authorization", "").partition(" ")
        if signed or kind.lower() != "basic":
            return signed
        try:
            name, _, password = base64.b64decode(told, validate=True).decode().partition(":")
        except (ValueError, binascii.Error):
            return ""
        return name if await self._right(name, password) else ""

    async def sign_in(self, request: Request, name: str, password: str) -> Response | None:
        """Sign in, or None where name and password do not match."""
        if not await self._right(name, password):
            return None
        response = RedirectResponse("/", 303)
        secure = request.url.scheme == "https"
        response.set_cookie(
            COOKIE, self.sellers.signed(name), samesite="strict", httponly=True, secure=secure
        )
        return response

    async def _right(self, name: str, password: str) -> bool:
        """Asked one after the other: each takes much memory and time, on purpose."""
        sellers = self.sellers
        known = (name, password, sellers.passwords.get(name, ""))
        if known in self._known:
            return True
        async with self._one:
            loop = asyncio.get_running_loop()
            if await loop.run_in_executor(None, sellers.knows, name, password):
                self._known.add(known)
                return True
            await asyncio.sleep(_PAUSE)
            return False
