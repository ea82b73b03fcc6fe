"""The languages that papers speak: English, and every catalogue of translations that is shipped.

A translation is a file ``configurator/translations/LANGUAGE.po`` in the format of GNU gettext, read
as it is when a paper in that language is made.
"""

from __future__ import annotations

import gettext
import io
from collections.abc import Iterable
from functools import cache
from importlib.resources import files
from pathlib import Path

import babel
from babel.localedata import locale_identifiers

from configurator.errors import ConfiguratorError, near_miss
from configurator.render.language import Language

__all__ = ["language", "languages"]

_SOURCE = "en"


def _folder() -> Path:
    return Path(str(files("configurator"))) / "translations"


@cache
def languages() -> tuple[str, ...]:
    """The languages that papers speak, without their countries."""
    return tuple(sorted({_SOURCE, *(path.stem for path in _folder().glob("*.po"))}))


@cache
def language(tag: str) -> Language:
    """The language of a tag such as ``en-AU`` or ``de``; the same value for the same tag.

    Raises:
        ConfiguratorError: papers do not speak it.
    """
    locale = _known().get(tag.replace("_", "-").lower())
    if locale is None:
        spoken = " and ".join(languages())
        hint = near_miss(tag, _known().values())
        raise ConfiguratorError(
            f'papers do not speak "{tag}"; they speak {spoken}, with a country where it matters, '
            f"as in en-AU" + (f": {hint}" if hint else "")
        )
    spoken = locale.partition("-")[0]
    return Language(locale) if spoken == _SOURCE else Language(locale, _words(spoken))


@cache
def _known() -> dict[str, str]:
    """Every language that papers speak, alone and with each country that Babel knows for it."""
    tags: Iterable[str] = (identifier.replace("_", "-") for identifier in locale_identifiers())
    return {
        tag.lower(): tag
        for tag in sorted(tags)
        if tag.partition("-")[0] in languages() and not babel.Locale.parse(tag, sep="-").script
    }


@cache
def _words(spoken: str) -> gettext.GNUTranslations:
    from babel.messages.mofile import write_mo
    from babel.messages.pofile import read_po

    with (_folder() / f"{spoken}.po").open("rb") as file:
        catalogue = read_po(file, locale=spoken)
    compiled = io.BytesIO()
    write_mo(compiled, catalogue)
    compiled.seek(0)
    return gettext.GNUTranslations(compiled)
