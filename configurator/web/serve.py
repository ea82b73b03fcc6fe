"""The server behind the page: a signal ends it, and every process of it, within moments."""

from __future__ import annotations

import contextlib
import errno
import socket
import webbrowser
from collections.abc import AsyncIterator, Callable
from ipaddress import ip_address
from types import FrameType

import uvicorn
from attrs import frozen
from starlette.applications import Starlette

from configurator.errors import FileError
from configurator.web.app import counter_app
from configurator.web.crew import Crew
from configurator.web.guard import Seats

HOST = "127.0.0.1"
"""The page is for this machine: whoever can reach it can sell in the shop's name."""


class _Server(uvicorn.Server):
    """A server that does not wait, at its end, for what nobody will see."""

    def __init__(self, settings: uvicorn.Config, crew: Crew) -> None:
        super().__init__(settings)
        self._crew = crew

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """End at a signal."""
        self._crew.leave()
        super().handle_exit(sig, frame)


@frozen
class Door:
    """Where the page is served.

    Attributes:
        host: the address to answer at.
        port: 0 for any that is free.
        names: other names under which it is asked for.
        certificate: file with a certificate, or None.
        key: file with its key, or None.
    """

    host: str = HOST
    port: int = 0
    names: tuple[str, ...] = ()
    certificate: str | None = None
    key: str | None = None

    @property
    def outside(self) -> bool:
        """Others than this machine can reach it."""
        try:
            near = ip_address(self.host).is_loopback
        except ValueError:
            near = self.host == "localhost"
        return bool(self.names) or not near

    @property
    def _known_as(self) -> list[str]:
        """Every name under which it may be asked for."""
        names = {HOST, "localhost", self.host, *self.names}
        if self.outside and self.host in ("0.0.0.0", "::"):
            own = socket.gethostname()
            names |= {own, socket.getfqdn()}
            with contextlib.suppress(OSError):
                names |= set(socket.gethostbyname_ex(own)[2])
        return sorted(names)


def _bound(door: Door) -> socket.socket:
    """A socket at the door.

    Raises:
        FileError: its port is taken, or there is no such address.
    """
    family = socket.AF_INET6 if ":" in door.host else socket.AF_INET
    bound = socket.socket(family)
    bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        bound.bind((door.host, door.port))
    except OSError as error:
        bound.close()
        at = "this machine" if door.host == HOST else door.host
        told = f"port {door.port} of {at} cannot be used: {error.strerror or error}"
        if error.errno == errno.EADDRINUSE:
            told = f"port {door.port} of {at} is taken; give another one with --port"
        raise FileError(told) from None
    return bound


def serve(
    crew: Crew, door: Door, seats: Seats, ready: Callable[[str], None], open_browser: bool
) -> None:
    """Serve the page until a signal ends it.

    It is told of the address once the page can be opened.

    Raises:
        FileError: the port is taken, there is no such address, or the certificate cannot be used.
    """

    @contextlib.asynccontextmanager
    async def at_work(_: Starlette) -> AsyncIterator[None]:
        await crew.start()
        try:
            yield
        finally:
            crew.stop()

    app = counter_app(crew, door._known_as, seats, lifespan=at_work)
    settings = uvicorn.Config(
        app,
        door.host,
        door.port,
        log_level="warning",
        timeout_graceful_shutdown=1,
        server_header=False,
        proxy_headers=bool(door.names),  # a name of its own says that a proxy is in front
        ssl_certfile=door.certificate,
        ssl_keyfile=door.key,
    )
    try:
        settings.load()
    except OSError as error:
        raise FileError(f"{door.certificate}: {error.strerror or error}") from None
    server = _Server(settings, crew)
    bound = _bound(door)
    bound.listen(100)  # who comes before all is ready waits
    scheme = "https" if door.certificate else "http"
    host = HOST if door.host == "0.0.0.0" else door.host
    host = f"[{host}]" if ":" in host else host
    address = f"{scheme}://{host}:{bound.getsockname()[1]}/"
    ready(address)
    if open_browser:
        webbrowser.open(address)
    server.run(sockets=[bound])
