"""The page's addresses, and who may ask for them.

Every answer is made in one thread with one warm engine. A post from another site, a foreign host,
or more than a form may hold is refused before anything is read.
"""

from __future__ import annotations

import asyncio
import datetime as dt
import tempfile
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any, TypeVar
from urllib.parse import quote as quoted
from urllib.parse import unquote, urlsplit

import attrs
from attrs import frozen
from starlette.applications import Starlette
from starlette.datastructures import FormData, UploadFile
from starlette.middleware import Middleware
from starlette.middleware.trustedhost import TrustedHostMiddleware
from starlette.requests import Request
from starlette.responses import HTMLResponse, PlainTextResponse, RedirectResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp, Receive, Scope, Send

from configurator.answers.data import selection_yaml
from configurator.answers.register import STATUSES
from configurator.build import Build
from configurator.catalogue.reading import shipped
from configurator.drawing.charts import results_svg
from configurator.errors import ConfiguratorError, QuoteRefused, RegisterError
from configurator.register.register import Register
from configurator.render.html import comparison_html
from configurator.render.look import Look, look_of
from configurator.render.sheets import write_sheets
from configurator.render.writing import paper_pdf
from configurator.report.register import results_chart, results_report
from configurator.selection.picks import Customer
from configurator.selection.resolved import Resolved
from configurator.shop import Shop
from configurator.web.pages import page
from configurator.web.state import State, unpacked, written
from configurator.web.taps import tapped
from configurator.web.views import package_view

T = TypeVar("T")

MOST_BYTES = 8_000_000
"""Largest form, with a PDF in it."""

_MOST_FIELDS = 200
_STRICT = (
    "default-src 'none'; style-src 'self'; img-src 'self' data:; form-action 'self'; "
    "frame-ancestors 'none'; base-uri 'none'"
)
_PAPER = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; font-src data:; "
    "frame-ancestors 'none'; base-uri 'none'"
)
_PDF = "application/pdf"


@frozen(eq=False)
class Counter:
    """The shop at the counter: what every address answers from.

    Attributes:
        shop: with the prices of today.
        register: opens the register of issued quotes.
        today: the day it is.
        language: of the page; None for the catalogue's.
    """

    shop: Shop
    register: Callable[[], Register]
    today: Callable[[], dt.date]
    language: str | None = None
    _thread: ThreadPoolExecutor = attrs.field(
        factory=lambda: ThreadPoolExecutor(1), init=False, repr=False
    )

    async def ask(self, work: Callable[[], T]) -> T:
        """The work done in the one thread that has the engine."""
        return await asyncio.get_running_loop().run_in_executor(self._thread, work)

    def look(self, asked: str | None) -> Look:
        """How pages and papers look, in the language asked for where it is known."""
        try:
            return look_of(self.shop.catalogue.shop, None, asked or self.language)
        except ConfiguratorError:
            return look_of(self.shop.catalogue.shop)


def counter_app(counter: Counter, hosts: list[str]) -> Starlette:
    """The application that a server runs.

    Args:
        counter: what it answers from.
        hosts: names under which it may be asked for.
    """

    def route(path: str, answer: _Answer, *methods: str) -> Route:
        async def endpoint(request: Request) -> Response:
            form = await _form(request) if request.method == "POST" else FormData()
            asked = _Asked(counter, request, form)
            try:
                return await counter.ask(lambda: _answered(asked, answer))
            finally:
                await form.close()

        return Route(path, endpoint, methods=list(methods))

    return Starlette(
        routes=[
            route("/", _start, "GET"),
            Route("/counter.css", _style, methods=["GET"]),
            Route("/favicon.ico", _nothing, methods=["GET"]),
            route("/package", _package, "POST"),
            route("/open", _open_file, "POST"),
            route("/paper/{kind}", _paper, "POST"),
            route("/issue", _issue, "POST"),
            route("/quotes", _quotes, "GET"),
            route("/quotes/{number}", _quote, "GET"),
            route("/quotes/{number}/paper/{revision:int}", _kept_paper, "GET"),
            route("/quotes/{number}/open", _reopen, "POST"),
            route("/quotes/{number}/{move}", _move, "POST"),
            route("/results", _results, "GET"),
        ],
        middleware=[
            Middleware(TrustedHostMiddleware, allowed_hosts=hosts),
            Middleware(_OwnPagesOnly),
        ],
    )


@frozen
class _Asked:
    """A request, with its form read."""

    counter: Counter
    request: Request
    form: FormData

    def field(self, name: str) -> str:
        """The text of a field; empty where there is none."""
        value = self.form.get(name, "")
        return value.strip() if isinstance(value, str) else ""

    @property
    def language(self) -> str | None:
        """The language asked for in the address or kept from before."""
        return self.request.query_params.get("language") or self.request.cookies.get("language")

    @property
    def seller(self) -> str:
        """Who sells, as said before."""
        return self.field("seller") or unquote(self.request.cookies.get("seller", ""))

    def page(self, name: str, code: int = 200, **values: Any) -> Response:
        """A page in the language asked for."""
        look = self.counter.look(self.language)
        shop = self.counter.shop.catalogue.shop
        html = page(name, shop, look.language, seller=self.seller, **values)
        policy = {"Content-Security-Policy": _STRICT}
        return self.remembered(HTMLResponse(html, code, headers=policy))

    def remembered(self, answer: Response) -> Response:
        """The answer, with language and seller for the browser to keep."""
        for kept, value in (("language", self.language), ("seller", self.seller)):
            if value:
                answer.set_cookie(kept, quoted(value), samesite="strict", httponly=True)
        return answer


_Answer = Callable[[_Asked], Response]


def _answered(asked: _Asked, answer: _Answer) -> Response:
    """The answer, or a page that says in a sentence what is the matter."""
    try:
        return answer(asked)
    except QuoteRefused as error:
        return asked.page("problem.html", 422, sentences=error.sentences)
    except RegisterError as error:
        return asked.page("problem.html", 409, sentences=[str(error)])
    except ConfiguratorError as error:
        return asked.page("problem.html", 400, sentences=str(error).splitlines())


def _start(asked: _Asked) -> Response:
    shop = asked.counter.shop
    empty = State(written(shop.build()))
    ready = []
    for file in sorted((shipped("catalogues") / "selections").glob("*.yaml")):
        try:
            build = shop.build(file)
            build.price()
        except ConfiguratorError:
            continue  # of another catalogue
        ready.append((build.selection.title or file.stem, State(written(build)).packed()))
    return asked.page("start.html", empty=empty.packed(), ready=ready, remark=shop.remark)


def _package(asked: _Asked) -> Response:
    shop = asked.counter.shop
    before = unpacked(asked.field("state"))
    tap = asked.field("tap")
    why = tap.removeprefix("why") if tap.startswith("why:") else ""
    after = before if why else tapped(shop, before, tap)
    if asked.field("customer"):
        after = _with_customer(shop, after, asked)
    return _shown(asked, after, before, why)


def _with_customer(shop: Shop, state: State, asked: _Asked) -> State:
    build = state.build(shop)
    known = build.selection.customer or Customer(asked.field("customer"))
    customer = attrs.evolve(
        known,
        name=asked.field("customer"),
        phone=asked.field("phone"),
        email=asked.field("email"),
        vehicle=asked.field("vehicle"),
    )
    title = asked.field("title")
    return state.changed(build.change(customer=customer, title=title))


def _shown(asked: _Asked, after: State, before: State, why: str = "", note: str = "") -> Response:
    look = asked.counter.look(asked.language)
    view = package_view(asked.counter.shop, after, before, look.language, why)
    fixes = []
    if view.reasons is not None:
        for fix in view.reasons.fixes:
            build = asked.counter.shop.build(fix.selection)
            fixes.append((fix, after.changed(build).packed()))
    return asked.page(
        "package.html",
        view=view,
        state=after.packed(),
        fixes=fixes,
        note=note,
        kerb=asked.counter.shop.catalogue.shop.kerb_side,
    )


def _open_file(asked: _Asked) -> Response:
    upload = asked.form.get("file")
    if not isinstance(upload, UploadFile) or not upload.filename:
        raise ConfiguratorError("choose a file first: a saved selection, or a PDF made here")
    content = upload.file.read(MOST_BYTES + 1)
    build = asked.counter.shop.build(content)
    state = State(written(build))
    return _shown(asked, state, state, note=build.remark)


def _paper(asked: _Asked) -> Response:
    kind, shop = asked.request.path_params["kind"], asked.counter.shop
    state = unpacked(asked.field("state"))
    build, look = state.build(shop), asked.counter.look(asked.language)
    day = asked.counter.today()
    name = build.selection.title or "package"
    if kind == "quote":
        return _file(paper_pdf(build.quote("DRAFT", day), look), f"{name}.pdf", _PDF)
    if kind == "selection":
        resolved = Resolved(shop.catalogue, build.selection)
        return _file(selection_yaml(resolved).encode(), f"{name}.yaml", "application/yaml")
    if kind == "comparison":
        kept = dict.fromkeys((*state.kept, state.selection))
        builds = [shop.build(one.encode()) for one in kept]
        if len(builds) < 2:
            raise ConfiguratorError("set another package aside first: there is one to compare")
        html = comparison_html(shop.compare(*builds), look)
        return HTMLResponse(html, headers={"Content-Security-Policy": _PAPER})
    if kind in ("job", "wiring", "orders"):
        return _sheet(build, kind, look, day)
    raise ConfiguratorError(f"there is no paper {kind!r}")


def _sheet(build: Build, kind: str, look: Look, day: dt.date) -> Response:
    made = build.sheets("DRAFT", day)
    with tempfile.TemporaryDirectory() as folder:
        write_sheets(made, Path(folder), "pdf", look)
        file = Path(folder) / f"{kind}.pdf"
        if not file.exists():
            raise ConfiguratorError("nothing that is picked has to be wired")
        return _file(file.read_bytes(), f"{kind}.pdf", _PDF)


def _file(content: bytes, name: str, kind: str) -> Response:
    disposition = f"inline; filename*=UTF-8''{quoted(name)}"
    return Response(content, media_type=kind, headers={"Content-Disposition": disposition})


def _issue(asked: _Asked) -> Response:
    shop = asked.counter.shop
    state = unpacked(asked.field("state"))
    quote = state.build(shop).quote("DRAFT", asked.counter.today())
    with asked.counter.register() as register:
        if state.number:
            reason = asked.field("reason")
            kept = register.revise(state.number, quote, seller=asked.seller, reason=reason)
        else:
            kept = register.issue(quote, seller=asked.seller)
    return _to_quote(asked, kept.number)


def _to_quote(asked: _Asked, number: str) -> Response:
    return asked.remembered(RedirectResponse(f"/quotes/{quoted(number, safe='')}", 303))


def _quotes(asked: _Asked) -> Response:
    asking = asked.request.query_params
    words, status = asking.get("words", ""), asking.get("status", "")
    lapses = asking.get("lapses", "")
    with asked.counter.register() as register:
        if words:
            found = register.find(words)
        else:
            within = int(lapses) if lapses.isascii() and lapses.isdigit() and lapses else None
            known = status if status in STATUSES else ""
            found = register.list(status=known, lapses_within=within, most=200)
    return asked.page(
        "quotes.html", found=found, words=words, status=status, lapses=lapses, statuses=STATUSES
    )


def _quote(asked: _Asked) -> Response:
    with asked.counter.register() as register:
        record = register.show(asked.request.path_params["number"])
    return asked.page("quote.html", record=record, moves=_MOVES.get(record.entry.status, ()))


_MOVES = {
    "issued": ("accept", "decline", "withdraw"),
    "lapsed": ("decline", "withdraw"),
    "accepted": ("withdraw",),
    "draft": ("withdraw",),
}
"""What can be done with a quote of each status."""


def _kept_paper(asked: _Asked) -> Response:
    with asked.counter.register() as register:
        kept = register.open(
            asked.request.path_params["number"], asked.request.path_params["revision"]
        )
    return _file(kept.pdf, f"{kept.number}.pdf", _PDF)


def _reopen(asked: _Asked) -> Response:
    number, shop = asked.request.path_params["number"], asked.counter.shop
    with asked.counter.register() as register:
        kept = register.open(number)
    build = shop.build(kept.selection.encode())
    again = kept.priced(build.price())
    look = asked.counter.look(asked.language).language
    was, now = look.amount_with_currency(again.was), look.amount_with_currency(again.is_now)
    note = f"{number}: {was}" if again.was == again.is_now else f"{number}: {was} → {now}"
    state = State(written(build), number=number)
    return _shown(asked, state, state, note=note)


def _move(asked: _Asked) -> Response:
    number, move = asked.request.path_params["number"], asked.request.path_params["move"]
    if move not in ("accept", "decline", "withdraw"):
        raise ConfiguratorError(f"a quote cannot be told to {move!r}")
    with asked.counter.register() as register:
        getattr(register, move)(number, seller=asked.seller, reason=asked.field("reason"))
    return _to_quote(asked, number)


def _results(asked: _Asked) -> Response:
    with asked.counter.register() as register:
        found = register.results(asked.counter.shop.catalogue.currency)
    tables = [block for section in results_report(found) for block in section]
    picture = results_svg(results_chart(found)) if found.months else ""
    return asked.page("results.html", tables=tables, picture=picture)


async def _style(_: Request) -> Response:
    style = (Path(__file__).parent / "templates" / "counter.css").read_bytes()
    return Response(style, media_type="text/css", headers={"Cache-Control": "max-age=300"})


async def _nothing(_: Request) -> Response:
    return Response(status_code=204)


async def _form(request: Request) -> FormData:
    return await request.form(max_fields=_MOST_FIELDS, max_files=1, max_part_size=MOST_BYTES)


class _OwnPagesOnly:
    """Refuses posts of other sites, and forms that are too large, before they are read."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, or refuse it."""
        if scope["type"] == "http" and scope["method"] == "POST":
            told = {name.decode().lower(): value.decode() for name, value in scope["headers"]}
            refused = _refused(told)
            if refused:
                await PlainTextResponse(*refused)(scope, receive, send)
                return
        await self.app(scope, receive, send)


def _refused(told: Mapping[str, str]) -> tuple[str, int] | None:
    site = told.get("sec-fetch-site")
    own = site in ("same-origin", "none") if site else _same_origin(told)
    if not own:
        return "this post comes from another site", 403
    length = told.get("content-length", "")
    if not length.isdigit():
        return "the length of the form is not told", 411
    if int(length) > MOST_BYTES:
        return f"the form is larger than {MOST_BYTES // 1_000_000} MB", 413
    return None


def _same_origin(told: Mapping[str, str]) -> bool:
    origin = told.get("origin")
    return origin is None or urlsplit(origin).netloc == told.get("host")
