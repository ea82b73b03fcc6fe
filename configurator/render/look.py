"""How papers look, as one value: sheet, language, logo, and the shop's own templates."""

from __future__ import annotations

from pathlib import Path

from attrs import frozen

from configurator.catalogue.model import Shop
from configurator.errors import CatalogueError, ConfiguratorError, Problem
from configurator.render.language import Language
from configurator.render.logo import Picture, read_logo
from configurator.render.own_templates import OwnTemplate, own_templates
from configurator.render.translations import language

__all__ = ["PAGES", "Look", "Sheet", "look_of", "look_problems"]


@frozen
class Sheet:
    """A size of sheet.

    Attributes:
        name: as CSS calls it.
        width: of what is printed on it upright, between the margins, mm.
        height: the same, mm.
        wide: width of what is printed on it when it lies, mm.
    """

    name: str
    width: int
    height: int
    wide: int


PAGES = {"A4": Sheet("A4", 174, 264, 261), "Letter": Sheet("letter", 179, 246, 243)}
"""The sheets by name. Margins: 18 mm at the sides and the foot, 15 mm at the head."""


@frozen
class Look:
    """How a paper looks.

    Attributes:
        sheet: what it is printed on.
        language: what it speaks.
        logo: the picture at its head, if any.
        own: the shop's own templates.
    """

    sheet: Sheet
    language: Language
    logo: Picture | None = None
    own: tuple[OwnTemplate, ...] = ()


def look_of(
    shop: Shop,
    page: str | None = None,
    tag: str | None = None,
    templates: Path | None = None,
) -> Look:
    """The look of a shop's papers.

    Args:
        shop: whose papers; it says what is not asked for here.
        page: ``A4`` or ``Letter``.
        tag: language and country, such as ``de`` or ``en-AU``.
        templates: a folder with the shop's own templates.

    Raises:
        CatalogueError: the shop's logo cannot be used, or papers do not speak its language.
        ConfiguratorError: papers do not speak the language asked for.
        DataError: a template of the folder cannot be used.
        FileError: the folder cannot be read.
    """
    return Look(
        sheet=PAGES[page or shop.papers.page],
        language=_usual_language(shop) if tag is None else language(tag),
        logo=read_logo(shop),
        own=() if templates is None else own_templates(templates),
    )


def look_problems(shop: Shop) -> tuple[Problem, ...]:
    """What would keep the shop's papers from being made as its catalogue says."""
    found: list[Problem] = []
    for part in (_usual_language, read_logo):
        try:
            part(shop)
        except CatalogueError as error:
            found += error.problems
    return tuple(found)


def _usual_language(shop: Shop) -> Language:
    try:
        return language(shop.papers.language)
    except ConfiguratorError as error:
        problem = Problem(shop.papers.at, str(error), "unknown-language")
        raise CatalogueError([problem]) from None
