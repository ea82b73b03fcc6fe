"""The templates of the papers, filled in: a look's own ones first, then the shipped ones.

A template sees the values of its paper and nothing else: it runs in a sandbox that keeps it from
Python itself, and finds other templates by name only, never by a path. In a template of a shop,
``shipped/NAME`` is the one that it replaces, so that it can build on it.

Jinja's sandbox lets a template loop, call itself and make text without end. In a shop's own ones
every turn of a loop, every call, filter and piece of text counts.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from contextvars import ContextVar
from functools import lru_cache, wraps
from pathlib import Path
from traceback import walk_tb
from typing import Any

import jinja2
from jinja2 import nodes
from jinja2.exceptions import SecurityError
from jinja2.nodes import EvalContext
from jinja2.runtime import Context
from jinja2.sandbox import ImmutableSandboxedEnvironment
from jinja2.visitor import NodeTransformer

from configurator.catalogue.reading import shipped
from configurator.catalogue.shop import ShopDetails
from configurator.errors import DataError, Location, Problem
from configurator.render.language import Language
from configurator.render.look import Look, OwnTemplate, look_of
from configurator.words import Text, text

_MOST_PAGE = 20_000_000
"""Characters of a page that a shop's own template makes, its pictures counted."""

MOST_WORK = 1_000_000
"""Turns of loops, calls and items given to filters in one page."""

MOST_TEXT = 2_000_000
"""Characters of one piece of text that a template makes."""

SHIPPED = "shipped"
"""Under this folder's name a shop's template finds the shipped ones."""

_WIDEST = 10_000
"""Characters to which a number or a text may be padded."""

_SIZED = (str, bytes, list, tuple, dict, set, frozenset, range)
_WIDTH = re.compile(r"[0-9]{5,}|%[^%a-zA-Z]*\*")
_DONE: ContextVar[list[int]] = ContextVar("_DONE")
_PASSED = (Context, jinja2.Environment, EvalContext)
"""What Jinja hands to some filters before what they are about."""

_PADDING = ("center", "ljust", "rjust", "zfill", "expandtabs", "indent", "batch", "slice")


def _count(amount: int) -> None:
    done = _DONE.get()
    done[0] += amount
    if done[0] > MOST_WORK:
        raise SecurityError(f"it does more than {MOST_WORK} turns of loops, calls and the like")


def _require_size(size: int) -> None:
    if size > MOST_TEXT:
        raise SecurityError(f"it makes a text or list of more than {MOST_TEXT} characters or items")


def _sized(value: Any) -> Any:
    """The value, where it is not too large."""
    if isinstance(value, _SIZED):
        _require_size(len(value))
    return value


def _counted(items: Iterable[Any]) -> Any:
    """The items of a loop, each counted; what knows its length still does."""
    if isinstance(items, _SIZED):
        _count(len(items))
        return items
    return _one_by_one(items)


def _one_by_one(items: Iterable[Any]) -> Iterator[Any]:
    for item in items:
        _count(1)
        yield item


def _require_foreseen(name: str, of: Any, given: tuple[Any, ...]) -> None:
    """What a filter, method or operator will make of a value is not too large."""
    padded = name in _PADDING
    if name in ("format", "format_map", "%") and isinstance(of, str):
        padded = "*" in of
        if _WIDTH.search(of):
            raise SecurityError(f"it pads a text to more than {_WIDEST} characters")
    if padded and any(isinstance(one, int) and abs(one) > _WIDEST for one in given):
        raise SecurityError(f"it pads a text to more than {_WIDEST} characters")
    if name == "replace" and len(given) > 1 and isinstance(of, str):
        _require_size((len(of) + 1) * len(str(given[1])) // 10)
    if name == "*":
        for one, other in ((of, given[0]), (given[0], of)):
            if isinstance(one, _SIZED) and isinstance(other, int):
                _require_size(len(one) * other)
        if isinstance(of, int) and isinstance(given[0], int):
            _require_size((of.bit_length() + given[0].bit_length()) * 100)
    if name == "**" and max(abs(of), abs(given[0])) > 1_000:
        raise SecurityError("it raises to a power of more than 1000")


def _bounded(name: str, filter_: Callable[..., Any]) -> Callable[..., Any]:
    """The filter, with the size of what it is given and of what it makes counted."""

    @wraps(filter_)
    def bounded(*given: Any, **named: Any) -> Any:
        every = (*given, *named.values())
        _count(1 + sum(len(one) for one in every if isinstance(one, _SIZED)) // 10)
        own = tuple(one for one in every if not isinstance(one, _PASSED))
        _require_foreseen(name, own[0], own[1:])
        return _sized(filter_(*given, **named))

    return bounded


class _Watched(NodeTransformer):
    """Loops whose turns are counted, and texts put together whose length is."""

    def visit_For(self, node: nodes.For) -> nodes.Node:  # noqa: N802
        node = self.generic_visit(node)  # type: ignore[assignment]
        node.iter = nodes.Filter(node.iter, "counted", [], [], None, None, lineno=node.lineno)
        return node

    def visit_Concat(self, node: nodes.Concat) -> nodes.Node:  # noqa: N802
        node = self.generic_visit(node)  # type: ignore[assignment]
        return nodes.Filter(node, "sized", [], [], None, None, lineno=node.lineno)


class BoundedEnvironment(ImmutableSandboxedEnvironment):
    """An environment whose templates do a bounded amount of work."""

    intercepted_binops = frozenset(("%", "*", "**", "+"))

    def bound_filters(self) -> None:
        """Count the work of every filter known by now."""
        self.filters = {name: _bounded(name, one) for name, one in self.filters.items()}
        self.filters.update(counted=_counted, sized=_sized)

    def _parse(self, source: str, name: str | None, filename: str | None) -> nodes.Template:
        return _Watched().visit(super()._parse(source, name, filename))  # type: ignore[no-any-return]

    def get_template(self, *given: Any, **named: Any) -> Any:
        """The template, which is work too: templates include each other."""
        _count(1)
        return super().get_template(*given, **named)

    def call(self, __context: Context, __obj: Any, *args: Any, **kwargs: Any) -> Any:
        """Call what a template calls, a macro of its own too."""
        _count(1)
        # the sandbox puts a function of its own before "format"
        of = getattr(getattr(__obj, "__wrapped__", __obj), "__self__", None)
        _require_foreseen(getattr(__obj, "__name__", ""), of, (*args, *kwargs.values()))
        return _sized(super().call(__context, __obj, *args, **kwargs))

    def call_binop(self, context: Context, operator: str, left: Any, right: Any) -> Any:
        """Calculate, where what comes of it has a size that can be foreseen."""
        _count(1)
        given = right if operator == "%" and isinstance(right, tuple) else (right,)
        _require_foreseen(operator, left, given)
        return _sized(super().call_binop(context, operator, left, right))


@lru_cache(maxsize=8)
def template_environment(
    language: Language, own: tuple[OwnTemplate, ...] = ()
) -> jinja2.Environment:
    """What templates are read and filled in with: those of a shop's own in a sandbox."""
    environment = (BoundedEnvironment if own else jinja2.Environment)(
        loader=_loader(own),
        undefined=jinja2.StrictUndefined,
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        extensions=["jinja2.ext.i18n"],
        finalize=lambda value: language.say(value) if isinstance(value, str) else value,
    )
    environment.install_gettext_translations(  # type: ignore[attr-defined]
        language.words, newstyle=True
    )
    for name in ("gettext", "ngettext"):
        environment.globals[name] = _saying(environment.globals[name], language)  # type: ignore[arg-type]
    filters: dict[str, Callable[..., str]] = {
        "amount": language.amount,
        "signed": language.signed_amount,
        "with_currency": language.amount_with_currency,
        "plain": language.number,
        "signed_plain": language.signed_number,
        "day": language.day,
        "word": language.say,
        "said": lambda value: language.written(value, "amount"),
        "lacks": language.lacking,
    }
    environment.filters.update(filters)
    for name in ("capitalize", "escape", "e", "join", "lower", "replace", "safe", "trim", "upper"):
        environment.filters[name] = _said_first(environment.filters[name], language)
    if isinstance(environment, BoundedEnvironment):
        environment.bound_filters()
    return environment


def _saying(gettext: Callable[..., str], language: Language) -> Callable[..., str]:
    """The function of Jinja that translates, with messages among its values said as well."""

    @jinja2.pass_context
    def saying(context: Context, /, *forms: Any, **values: Any) -> str:
        said = {
            name: language.say(value) if isinstance(value, Text) else value
            for name, value in values.items()
        }
        return gettext(context, *forms, **said)

    return saying


def _said_first(filter_: Callable[..., Any], language: Language) -> Callable[..., Any]:
    """A filter of Jinja that takes a message, or several, as the language says them."""

    def said(value: Any) -> Any:
        if isinstance(value, list | tuple):
            return [said(one) for one in value]
        return language.say(value) if isinstance(value, Text) else value

    @wraps(filter_)
    def saying(*given: Any, **named: Any) -> Any:
        return filter_(*map(said, given), **named)

    return saying


def _loader(own: tuple[OwnTemplate, ...]) -> jinja2.BaseLoader:
    by_name = {one.name: (one.text, one.file, lambda: True) for one in own}
    ours = jinja2.FileSystemLoader(shipped("templates"))
    return jinja2.ChoiceLoader(
        [jinja2.FunctionLoader(by_name.get), ours, jinja2.PrefixLoader({SHIPPED: ours})]
    )


def filled(name: str, shop: ShopDetails, look: Look | None, **values: Any) -> str:
    """The page that a template makes of the values; without a look, as the shop's catalogue says.

    Raises:
        CatalogueError: the shop's logo or language cannot be used.
        DataError: a template of the shop's own cannot be filled in.
    """
    _DONE.set([0])
    look = look or look_of(shop)
    try:
        template = template_environment(look.language, look.own).get_template(name)
        pieces = template.generate(
            shop=shop,
            language=look.language.tag,
            logo=look.logo,
            sheet=look.sheet.name,
            page_numbers=_page_numbers(look.language),
            **values,
        )
        page = "".join(_within(pieces, look.own))
    except DataError:
        raise
    except Exception as error:
        problem = _of_own_template(error, {one.file for one in look.own})
        if problem is None:
            raise
        raise DataError([problem]) from None
    return _bound(page)


_BETWEEN = re.compile(r"(?s)(<(style|svg)\b.*?</\2>|<[^>]*>)|[^<]+")
_UNIT = re.compile(r"(?<=\d) (?=(?:%|(?:mm|cm²|m²|m|kg|L|Ah|A|W|V|h)(?![\w²])))")
_RATED = re.compile(r"\d+-[A-Z]+(?=-)|\d+-[a-z]{1,2}(?=-)")


def with_units(words: str) -> str:
    """Words in which no line parts a number from its unit."""
    return _UNIT.sub("\N{NO-BREAK SPACE}", words)


def _bound(page: str) -> str:
    """The page, in whose words no line parts a number from its unit; tags stay as they are."""

    def bound(found: re.Match[str]) -> str:
        if found[1]:
            return found[0]
        return _RATED.sub(r'<span class="bound">\g<0></span>', with_units(found[0]))

    return _BETWEEN.sub(bound, page)


def _within(pieces: Iterable[str], own: tuple[OwnTemplate, ...]) -> Iterator[str]:
    """The pieces of a page, as long as they come to no more than a page may hold.

    Raises:
        DataError: templates of the shop's own make more.
    """
    length = 0
    for piece in pieces:
        length += len(piece)
        if own and length > _MOST_PAGE:
            where = Location(str(Path(own[0].file).parent), 0, 0)
            sentence = f"they make a page of more than {_MOST_PAGE} characters"
            hint = "look for a loop that writes too much"
            raise DataError([Problem(where, sentence, "template", hint)])
        yield piece


def _page_numbers(language: Language) -> str:
    """The page's number and how many there are, as content of a style sheet."""
    parts = language.say(text("Page {number} of {count}", number="\n", count="\t"))
    pieces = {"\n": "counter(page)", "\t": "counter(pages)"}
    said = parts.replace("\n", "|\n|").replace("\t", "|\t|").split("|")
    return " ".join(pieces.get(part) or f'"{part}"' for part in said if part)


def _of_own_template(error: Exception, own: set[str]) -> Problem | None:
    """The problem, if it is one of a template that the shop wrote, at its line."""
    places = [(f.f_code.co_filename, line) for f, line in walk_tb(error.__traceback__)]
    if isinstance(error, jinja2.TemplateSyntaxError):
        places.append((str(error.filename), error.lineno))
    inside = [place for place in places if place[0] in own]
    if not inside:
        return None
    file, line = inside[-1]
    match error:
        case jinja2.TemplateNotFound():
            sentence = f'there is no template "{error.message}"'
        case jinja2.TemplateError():
            sentence = (error.message or "it cannot be filled in").rstrip(".")
        case _:
            sentence = f"it cannot be filled in: {error}"
    return Problem(
        Location(file, line, 0), sentence, "template", "correct this line of the template"
    )
