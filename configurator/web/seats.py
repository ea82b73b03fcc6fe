"""Who is asking: anyone on this machine; from elsewhere, a seller who has signed in."""

from __future__ import annotations

import asyncio
import base64
import binascii
from pathlib import Path

from attrs import field, mutable
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from configurator.web.sellers import Sellers, read_sellers

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
        """Sign in, or None where name and password do not belong together."""
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
