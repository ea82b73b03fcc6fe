"""How papers look, as one value: sheet, language, logo, and the shop's own templates."""

from __future__ import annotations

from pathlib import Path

from attrs import frozen

from configurator.catalogue.reading import read_text, shipped
from configurator.catalogue.shop import ShopDetails
from configurator.errors import (
    CatalogueError,
    ConfiguratorError,
    DataError,
    Location,
    Problem,
    unreadable_folder,
)
from configurator.render.language import Language, language
from configurator.render.pictures import Picture, read_logo
from configurator.selection.values import require_kind
from configurator.words import listed, near_miss, text


@frozen
class PaperSize:
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


PAGES = {"A4": PaperSize("A4", 174, 264, 261), "Letter": PaperSize("letter", 179, 246, 243)}
"""The sheets by name. Margins: 18 mm at the sides and the foot, 15 mm at the head."""


@frozen
class OwnTemplate:
    """One file that replaces a shipped one: its name, where it lies, and its text."""

    name: str
    file: str
    text: str


def template_names() -> tuple[str, ...]:
    """The names of the shipped templates and styles, each of which can be replaced."""
    return tuple(sorted(path.name for path in shipped("templates").iterdir()))


def _own_templates(folder: Path) -> tuple[OwnTemplate, ...]:
    """The templates of the folder by name; files whose names begin with a dot are left alone.

    Raises:
        DataError: a file has a name that no template has, or leads out of the folder.
        FileError: the folder or a file in it cannot be read.
    """
    names, problems, own = template_names(), [], []
    try:
        paths = sorted(p for p in folder.iterdir() if not p.name.startswith("."))
    except OSError as error:
        raise unreadable_folder(folder, error) from None
    home = folder.resolve()
    for path in paths:
        where = Location(str(path), 0, 0)
        if path.name not in names:
            hint = near_miss(path.name, names) or f"known: {', '.join(names)}"
            problems.append(Problem(where, "no template has this name", "unknown-template", hint))
        elif path.resolve() != home / path.name:
            sentence = "it leads to a file outside the folder"
            hint = "put the file itself here"
            problems.append(Problem(where, sentence, "template-outside", hint))
        elif not path.is_file():
            hint = "put a text file here"
            problems.append(Problem(where, "it is no ordinary file", "template-no-file", hint))
        else:
            own.append(OwnTemplate(path.name, str(path), read_text(path)))
    if problems:
        raise DataError(problems)
    return tuple(own)


@frozen
class Look:
    """How a paper looks.

    Attributes:
        sheet: what it is printed on.
        language: the language of its words.
        logo: the picture at its head, if any.
        own: the shop's own templates.
    """

    sheet: PaperSize
    language: Language
    logo: Picture | None = None
    own: tuple[OwnTemplate, ...] = ()


def look_of(
    shop: ShopDetails,
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
        CatalogueError: the shop's logo cannot be used, or papers are not available in its language.
        ConfiguratorError: there are no papers on the sheet or in the language asked for.
        DataError: a template of the folder cannot be used.
        FileError: the folder cannot be read.
    """
    if page is not None:
        require_kind("page", page, str)
        if page not in PAGES:
            sizes = listed(PAGES, alternatives=True)
            raise ConfiguratorError(
                text('no papers on "{page}"; give {sizes}', page=page, sizes=sizes)
            )
    if tag is not None:
        require_kind("language", tag, str)
    return Look(
        sheet=PAGES[shop.papers.page if page is None else page],
        language=_usual_language(shop) if tag is None else _as_the_shop_writes(shop, tag),
        logo=read_logo(shop),
        own=() if templates is None else _own_templates(templates),
    )


def look_problems(shop: ShopDetails) -> tuple[Problem, ...]:
    """What would keep the shop's papers from being made as its catalogue says."""
    found: list[Problem] = []
    for part in (_usual_language, read_logo):
        try:
            part(shop)
        except CatalogueError as error:
            found += error.problems
    return tuple(found)


def _as_the_shop_writes(shop: ShopDetails, tag: str) -> Language:
    """The language asked for; without a country, as it is written in the shop's own."""
    asked = language(tag)
    if "-" not in asked.tag and shop.papers.language.replace("_", "-").startswith(f"{asked.tag}-"):
        return _usual_language(shop)
    return asked


def _usual_language(shop: ShopDetails) -> Language:
    try:
        return language(shop.papers.language)
    except ConfiguratorError as error:
        problem = Problem(shop.papers.at, str(error), "unknown-language")
        raise CatalogueError([problem]) from None
