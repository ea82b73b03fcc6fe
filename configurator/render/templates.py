"""The templates of the papers, filled in: a look's own ones first, then the shipped ones.

A template sees the values of its paper and nothing else: it runs in a sandbox that keeps it from
Python itself, and finds other templates by name only, never by a path. In a template of a shop,
``shipped/NAME`` is the one that it replaces, so that it can build on it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from functools import lru_cache, wraps
from pathlib import Path
from traceback import walk_tb
from typing import Any

import jinja2
from jinja2.runtime import Context
from jinja2.sandbox import ImmutableSandboxedEnvironment

from configurator.catalogue.reading import shipped
from configurator.catalogue.shop import Shop
from configurator.errors import DataError, Location, Problem
from configurator.render.language import Language
from configurator.render.look import Look, OwnTemplate
from configurator.render.sandbox import BoundedEnvironment, work_counted_anew
from configurator.report.model import Value
from configurator.words import Text, text

MOST_PAGE = 20_000_000
"""Characters of a page that a shop's own template makes, its pictures counted."""

SHIPPED = "shipped"
"""Under this folder's name a shop's template finds the shipped ones."""


@lru_cache(maxsize=8)
def template_environment(
    language: Language, own: tuple[OwnTemplate, ...] = ()
) -> jinja2.Environment:
    """What templates are read and filled in with."""
    environment = (BoundedEnvironment if own else ImmutableSandboxedEnvironment)(
        loader=_loader(own),
        undefined=jinja2.StrictUndefined,
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        extensions=["jinja2.ext.i18n"],
        finalize=lambda value: language.say(value) if isinstance(value, Text) else value,
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
        "said": lambda value: _said(value, language),
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


def _said(value: Value, language: Language) -> str:
    """What a cell says, in the language."""
    if value is None:
        return ""
    return language.written(value, "amount")


def _loader(own: tuple[OwnTemplate, ...]) -> jinja2.BaseLoader:
    by_name = {one.name: (one.text, one.file, lambda: True) for one in own}
    ours = jinja2.FileSystemLoader(shipped("templates"))
    return jinja2.ChoiceLoader(
        [jinja2.FunctionLoader(by_name.get), ours, jinja2.PrefixLoader({SHIPPED: ours})]
    )


def filled(name: str, shop: Shop, look: Look, **values: Any) -> str:
    """The page that a template makes of the values.

    Args:
        name: of the template.
        shop: whose paper it is.
        look: how it looks.
        values: what the template sees as well.

    Raises:
        DataError: a template of the shop's own cannot be filled in.
    """
    work_counted_anew()
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
    return page


def _within(pieces: Iterable[str], own: tuple[OwnTemplate, ...]) -> Iterator[str]:
    """The pieces of a page, as long as they come to no more than a page may hold.

    Raises:
        DataError: templates of the shop's own make more.
    """
    length = 0
    for piece in pieces:
        length += len(piece)
        if own and length > MOST_PAGE:
            where = Location(str(Path(own[0].file).parent), 0, 0)
            sentence = f"they make a page of more than {MOST_PAGE} characters"
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
    return Problem(Location(file, line, 0), sentence, "template", "mend this line of the template")
