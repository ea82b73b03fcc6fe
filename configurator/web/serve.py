"""The server behind the page: on this machine only, ended by a signal within moments."""

from __future__ import annotations

import datetime as dt
import webbrowser
from collections.abc import Callable

import uvicorn

from configurator.errors import FileError
from configurator.register.register import Register
from configurator.shop import Shop
from configurator.web.app import Counter, counter_app

HOST = "127.0.0.1"
"""The page is for this machine: whoever can reach it can sell in the shop's name."""


def serve(
    shop: Shop,
    register: Callable[[], Register],
    today: Callable[[], dt.date],
    port: int,
    language: str | None,
    ready: Callable[[str], None],
    open_browser: bool,
) -> None:
    """Serve the page until a signal ends it.

    Args:
        shop: the shop.
        register: opens the register.
        today: tells the day it is.
        port: 0 for any that is free.
        language: of the page; None for the catalogue's.
        ready: is told the address once the page can be opened.
        open_browser: whether to open it in the browser.

    Raises:
        FileError: the port is taken.
    """
    app = counter_app(Counter(shop, register, today, language), [HOST, "localhost"])
    settings = uvicorn.Config(
        app, HOST, port, log_level="warning", timeout_graceful_shutdown=1, server_header=False
    )
    server = uvicorn.Server(settings)
    try:
        socket = settings.bind_socket()
    except SystemExit:
        raise FileError(f"port {port} of this machine is taken; give another one") from None
    address = f"http://{HOST}:{socket.getsockname()[1]}/"
    ready(address)
    if open_browser:
        webbrowser.open(address)
    server.run(sockets=[socket])
