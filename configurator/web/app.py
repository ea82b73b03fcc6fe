"""The addresses of the page: each request is read here and answered by a worker.

Nothing is calculated in this process, so that it always answers.
"""

from __future__ import annotations

import asyncio
import secrets
from collections.abc import AsyncGenerator, AsyncIterator, Sequence
from contextlib import aclosing
from pathlib import Path
from typing import Any, Protocol
from urllib.parse import quote as quoted, unquote

import attrs
from starlette.applications import Starlette
from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response, StreamingResponse
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from configurator.errors import shortened
from configurator.web import bodies
from configurator.web.guard import (
    COOKIE,
    MOST_BYTES,
    OwnPagesOnly,
    Seats,
    as_response,
    failed,
    refused,
)
from configurator.web.messages import API, LEFT, NO_STORE, Answer, PageRequest, problem
from configurator.web.methods import QUESTIONS, SELECTION
from configurator.web.state import SETTLE, Tap

_MOST_FIELDS = 200

Pieces = AsyncGenerator[Answer | bytes, None]


class Workers(Protocol):
    """Whoever answers."""

    @property
    def remarks(self) -> tuple[str, ...]:
        """What the shop has to know of its catalogue."""

    def ask(self, asked: PageRequest, patient: bool, seat: str) -> Pieces:
        """The answer in pieces: its beginning, then the rest of its bytes.

        Args:
            asked: the request.
            patient: it may take long: a process answers it that delays nobody.
            seat: who asks; the same worker knows most.
        """


def counter_app(
    workers: Workers, hosts: list[str], seats: Seats | None = None, **settings: Any
) -> Starlette:
    """The application that a server runs, under these names; without seats whoever can may ask."""
    taken = seats or Seats()

    def route(path: str, what: str, *methods: str, patient: bool = True) -> Route:
        async def endpoint(request: Request) -> Response:
            return await _answer(workers, taken, request, what, patient)

        return Route(path, endpoint, methods=list(methods), name=what)

    async def told_refused(request: Request, error: Exception) -> Response:
        return await _refused(workers, taken, request, error)

    return Starlette(
        routes=[
            route("/sign-in", "sign-in", "GET", "POST", patient=False),
            Route("/sign-out", _sign_out, methods=["POST"]),
            route("/accent.css", "accent", "GET", patient=False),
            route("/", "start", "GET", "POST", patient=False),
            route("/package", "step", "GET", "POST", patient=False),
            route("/open", "open", "POST"),
            route("/finish", "finish", "POST"),
            route("/wishes", "wish-page", "GET", patient=False),
            route("/wishes", "from-wishes", "POST"),
            route("/compare", "beside", "POST"),
            route("/paper/{kind}", "paper", "POST"),
            route("/issue", "issue", "POST"),
            route("/quotes", "quotes", "GET"),
            route("/quotes/{number}", "quote", "GET"),
            route("/quotes/{number}/paper/{revision:int}", "kept-paper", "GET"),
            route("/quotes/{number}/open", "reopen", "POST"),
            route("/quotes/{number}/{move}", "move", "POST"),
            route("/results", "results", "GET"),
            *_for_programs(workers, taken),
            Route("/favicon.ico", _nothing, methods=["GET"]),
            Mount("/static", StaticFiles(directory=Path(__file__).parent / "static")),
        ],
        middleware=[Middleware(OwnPagesOnly, hosts=hosts, too_large=told_refused)],
        exception_handlers={HTTPException: told_refused, Exception: failed},
        **settings,
    )


def _for_programs(workers: Workers, seats: Seats) -> list[Route]:
    """The addresses for other programs."""

    def route(name: str, method: str, patient: bool = True) -> Route:
        async def endpoint(request: Request) -> Response:
            return await _told(workers, seats, request, name, patient)

        return Route(f"{API}{name}", endpoint, methods=[method], name=f"api {name}")

    return [
        *(route(name, "POST") for name in (*QUESTIONS, "selection", "issue")),
        route("catalogue", "GET"),
        route("quotes", "GET"),
        *(route(name, "GET", False) for name in ("openapi.json", "answers.schema.json", SELECTION)),
    ]


async def _told(
    workers: Workers, seats: Seats, request: Request, name: str, patient: bool
) -> Response:
    """The answer to a program, of a worker; what keeps it from being asked is said here."""
    signed = await seats.seller(request)
    posted = request.method == "POST"
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    answer = None
    if not seats.open and not signed:
        answer = problem(401, "send a seller's name and password (HTTP Basic)")
    elif posted and kind != "application/json":
        answer = problem(415, "send the body as Content-Type: application/json")
    elif posted and int(request.headers["content-length"]) > bodies.MOST_BYTES:
        answer = problem(413, f"the body is larger than {bodies.MOST_BYTES // 1_000_000} MB")
    if answer is None:
        asked = PageRequest(
            what="api-issue" if name == "issue" else "api",
            path={"question": name},
            query=dict(request.query_params),
            form={"request": request.headers.get("idempotency-key", "")},
            file=await request.body() if posted else None,
            seller=signed,
            sellers=not seats.open,
        )
        caller = signed or (request.client.host if request.client else "")
        answer = await _whole(request, workers.ask(asked, patient, caller))
    return as_response(answer)


async def _answer(
    workers: Workers, seats: Seats, request: Request, what: str, patient: bool
) -> Response:
    signed = await seats.seller(request)
    asked = await _asked(workers, request, what)
    if not seats.open:
        asked = attrs.evolve(asked, seller=signed, sellers=True)
        if what == "sign-in" and request.method == "POST":
            given = asked.field("name"), asked.form.get("password", "")
            signing_in = await seats.sign_in(request, *given)
            if signing_in is not None:
                return signing_in
            asked = attrs.evolve(asked, form={"wrong": "yes", "name": given[0]})
        elif not signed and what not in ("sign-in", "accent"):
            asked, patient = attrs.evolve(asked, what="sign-in", form={}), False
    seat = request.cookies.get("seat", "") or secrets.token_hex(4)
    later = _follows(asked) if asked.what == "step" else ()
    if later and not asked.streams:
        asked, patient = attrs.evolve(asked, what=later[0]), True
    pieces = workers.ask(asked, patient, seat)
    if asked.streams:
        first = await anext(pieces)
        assert isinstance(first, Answer)
        fresh = attrs.evolve(asked, seen=frozenset())
        told = _in_turn(workers, fresh, later, seat)
        headers = {**NO_STORE, **first.headers, "Content-Type": first.kind}
        stream = _stream(first.content, _with_left(workers, pieces, fresh, seat), told)
        response: Response = StreamingResponse(stream, first.code, headers)
    else:
        response = as_response(await _whole(request, pieces))
    return _remembered(request, response, asked, seat)


async def _refused(workers: Workers, seats: Seats, request: Request, error: Exception) -> Response:
    """What the server refuses, as a page with the look of the others; programs are told plainly."""
    path = request.scope["path"]
    if not isinstance(error, HTTPException) or path.startswith("/api/"):
        return refused(request, error)
    asked = PageRequest(
        what="refused",
        path={"code": str(error.status_code), "address": shortened(path)[:100]},
        language=request.cookies.get("language", ""),
        seller=await seats.seller(request),
        sellers=not seats.open,
        remarks=workers.remarks,
    )
    pieces = workers.ask(asked, False, request.cookies.get("seat", ""))
    return as_response(await _only(pieces), dict(error.headers or {}))


def _follows(asked: PageRequest) -> tuple[str, ...]:
    """What is asked for in turn after a tap, as it takes longer: the reason, then the fixes.

    A page that takes no stream shows the reason why an option is not available, with a button that
    asks for the fixes; of the picks, both at once. Another button asks for what is left of the
    states, which follow a step in a stream by themselves.
    """
    tap = Tap.read(asked.field("tap"))
    if tap.what == SETTLE and not asked.streams:
        return (SETTLE,)
    if tap.what not in ("why", "ways"):
        return ()
    if not (tap.which or asked.streams):
        return ("ways",)
    return ("reasons", "ways") if asked.streams or tap.what == "why" else ("ways",)


async def _in_turn(
    workers: Workers, asked: PageRequest, names: Sequence[str], seat: str
) -> AsyncGenerator[Answer | bytes, None]:
    """The answers of these names, one after the other, of workers that delay nobody."""
    for what in names:
        async with aclosing(workers.ask(attrs.evolve(asked, what=what), True, seat)) as pieces:
            async for piece in pieces:
                yield piece


async def _with_left(
    workers: Workers, pieces: Pieces, asked: PageRequest, seat: str
) -> AsyncGenerator[Answer | bytes, None]:
    """The rest of a step, and then what it left, of a worker that delays nobody."""
    left = None
    async with aclosing(pieces):
        async for piece in pieces:
            if isinstance(piece, bytes) and piece.startswith(LEFT):
                left = piece.removeprefix(LEFT).decode().strip()
            yield piece
    if left is None:
        return
    asked = attrs.evolve(asked, path={"left": left})
    async with aclosing(_in_turn(workers, asked, (SETTLE,), seat)) as more:
        async for piece in more:
            yield piece


async def _whole(request: Request, pieces: Pieces) -> Answer:
    """The answer, unless whoever asked has gone meanwhile."""
    gone = asyncio.ensure_future(_gone(request))
    async with aclosing(pieces):
        answer = asyncio.ensure_future(_only(pieces))
        try:
            await asyncio.wait({gone, answer}, return_when=asyncio.FIRST_COMPLETED)
            return answer.result() if answer.done() else Answer(b"", 499)
        finally:
            gone.cancel()
            answer.cancel()
            await asyncio.wait({gone, answer})


async def _only(pieces: Pieces) -> Answer:
    """The answer in one piece, once its worker is free for others."""
    answer, *_ = [piece async for piece in pieces]
    assert isinstance(answer, Answer)
    return answer


async def _gone(request: Request) -> None:
    while (await request.receive())["type"] != "http.disconnect":
        pass


async def _stream(first: bytes, *sources: Pieces) -> AsyncIterator[bytes]:
    """The messages of a step, and the reason and the fixes as soon as they are found."""
    yield first
    ready: asyncio.Queue[bytes | None] = asyncio.Queue()

    async def pump(source: Pieces) -> None:
        async with aclosing(source):
            async for piece in source:
                await ready.put(piece.content if isinstance(piece, Answer) else piece)

    async def all_of(pumps: list[asyncio.Task[None]]) -> None:
        try:
            await asyncio.gather(*pumps)
        finally:
            await ready.put(None)

    pumps = [asyncio.create_task(pump(one)) for one in sources]
    whole = asyncio.create_task(all_of(pumps))
    try:
        while (piece := await ready.get()) is not None:
            yield piece
        await whole
    finally:
        for task in (whole, *pumps):
            task.cancel()
        await asyncio.gather(whole, *pumps, return_exceptions=True)


async def _asked(workers: Workers, request: Request, what: str) -> PageRequest:
    fields: list[tuple[str, str]] = []
    file, file_name = None, ""
    if request.method == "POST":
        async with request.form(
            max_fields=_MOST_FIELDS, max_files=1, max_part_size=MOST_BYTES
        ) as form:
            for name, value in form.multi_items():
                if isinstance(value, UploadFile):
                    file_name = value.filename or ""
                    file = await value.read() if file_name else None
                else:
                    fields.append((name, value))
    told, query = dict(fields), dict(request.query_params)
    return PageRequest(
        what=what,
        path={name: str(value) for name, value in request.path_params.items()},
        query=query,
        form=told,
        seen=frozenset(value for name, value in fields if name == "seen"),
        file=file,
        file_name=file_name,
        language=query.get("language") or request.cookies.get("language", ""),
        seller=told.get("seller", "").strip() or unquote(request.cookies.get("seller", "")),
        streams=what == "step" and request.headers.get("hx-request") == "true",
        remarks=workers.remarks,
    )


def _remembered(request: Request, response: Response, asked: PageRequest, seat: str) -> Response:
    """The response, with language, seller and seat for the browser to keep."""
    seller = "" if asked.sellers else asked.seller
    for name, value in (("language", asked.language), ("seller", seller), ("seat", seat)):
        kept = quoted(value)
        if kept and kept != request.cookies.get(name, ""):
            secure = request.url.scheme == "https"
            response.set_cookie(name, kept, samesite="strict", httponly=True, secure=secure)
    return response


async def _sign_out(_: Request) -> Response:
    response = RedirectResponse("/sign-in", 303)
    response.delete_cookie(COOKIE)
    return response


async def _nothing(_: Request) -> Response:
    return Response(status_code=204)
