"""Pages filled in: the templates of the counter over the parts and words of the papers."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Any

import babel
import jinja2

from configurator.catalogue.shop import Shop
from configurator.render.language import Language, languages
from configurator.render.templates import template_environment, with_units


def page(name: str, shop: Shop, language: Language, **values: Any) -> str:
    """The page that a template makes of the values.

    Args:
        name: of the template.
        shop: whose page.
        language: in which labels, numbers and money are written.
        values: what the template shows.
    """
    template = _environment(language).get_template(name)
    return template.render(shop=shop, language=language.tag, others=_others(language), **values)


@lru_cache(maxsize=8)
def _others(language: Language) -> tuple[tuple[str, str], ...]:
    """The other languages, each with its own name."""
    own = language.tag.partition("-")[0]
    names = {tag: babel.Locale.parse(tag).get_display_name(tag) or tag for tag in languages()}
    return tuple((tag, name) for tag, name in names.items() if tag != own)


@lru_cache(maxsize=8)
def _environment(language: Language) -> jinja2.Environment:
    papers = template_environment(language)
    assert papers.loader is not None
    own = jinja2.FileSystemLoader(Path(__file__).parent / "templates")
    loader = jinja2.ChoiceLoader([own, jinja2.PrefixLoader({"papers": papers.loader})])
    pages, said = papers.overlay(loader=loader), papers.filters["said"]
    pages.filters = {**papers.filters, "said": lambda value: with_units(said(value))}
    return pages
