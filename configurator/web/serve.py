"""The server behind the page: ended by a signal within moments, with every process of it."""

from __future__ import annotations

import contextlib
import webbrowser
from collections.abc import AsyncIterator, Callable
from types import FrameType

import uvicorn
from starlette.applications import Starlette

from configurator.errors import FileError
from configurator.web.app import counter_app
from configurator.web.crew import Crew

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


def serve(
    crew: Crew, host: str, port: int, ready: Callable[[str], None], open_browser: bool
) -> None:
    """Serve the page until a signal ends it.

    Args:
        crew: who answers.
        host: the address to answer at.
        port: 0 for any that is free.
        ready: is told the address once the page can be opened.
        open_browser: whether to open it in the browser.

    Raises:
        FileError: the port is taken.
    """

    @contextlib.asynccontextmanager
    async def at_work(_: Starlette) -> AsyncIterator[None]:
        await crew.start()
        try:
            yield
        finally:
            crew.stop()

    app = counter_app(crew, [HOST, "localhost"], lifespan=at_work)
    settings = uvicorn.Config(
        app, host, port, log_level="warning", timeout_graceful_shutdown=1, server_header=False
    )
    server = _Server(settings, crew)
    try:
        socket = settings.bind_socket()
    except SystemExit:
        raise FileError(f"port {port} of this machine is taken; give another one") from None
    socket.listen(100)  # who comes before all is ready waits
    address = f"http://{host}:{socket.getsockname()[1]}/"
    ready(address)
    if open_browser:
        webbrowser.open(address)
    server.run(sockets=[socket])
