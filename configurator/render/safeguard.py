"""What is never written over: any catalogue, and the files that a shop is made of."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from contextlib import suppress
from pathlib import Path

from configurator.catalogue.model import Catalogue
from configurator.errors import ConfiguratorError

_SECTION = re.compile(
    rb"^(parts|vehicles|choices|rules|limits|cautions|package-deals|labour):", re.MULTILINE
)
"""How a section of a catalogue begins in YAML; in JSON, answers have some of these keys too."""


def require_spared(
    catalogue: Catalogue, targets: Iterable[Path], templates: Path | None = None
) -> None:
    """Raise where a file that is to be written is one of the shop's, or any catalogue.

    Args:
        catalogue: the catalogue that was read.
        targets: what is to be written.
        templates: the folder of templates, if any.

    Raises:
        ConfiguratorError: it is.
    """
    wanted = list(targets)
    for what, file in _of_the_shop(catalogue, templates):
        if clash := same_file(wanted, file):
            raise ConfiguratorError(f"{clash} is {what} that is read here; give another name")
    require_no_catalogue(wanted)


def require_no_catalogue(targets: Iterable[Path]) -> None:
    """Raise where a file that is to be written is a catalogue that is there already.

    Raises:
        ConfiguratorError: it is.
    """
    for target in targets:
        if _is_catalogue(target):
            raise ConfiguratorError(f"{target} is a catalogue; give another name")


def same_file(targets: Iterable[Path], file: Path) -> Path | None:
    """The target that is the file, by whatever name; None where there is none."""
    if not file.exists():
        return None
    return next((one for one in targets if one.exists() and one.samefile(file)), None)


def _is_catalogue(file: Path) -> bool:
    """Whether a text file that is there already has sections of a catalogue."""
    if file.suffix.lower() not in (".yaml", ".yml", ".json") or not file.is_file():
        return False
    try:
        text = file.read_bytes()
    except OSError:
        return False
    if _SECTION.search(text):
        return True
    return all(re.search(rb'^[ {]*"?%s"?:' % key, text, re.M) for key in (b"vehicles", b"choices"))


def _of_the_shop(catalogue: Catalogue, templates: Path | None) -> Iterator[tuple[str, Path]]:
    source = Path(catalogue.source)
    for file in (source, *(source.parent / part for part in catalogue.parts)):
        yield "the catalogue", file
    if catalogue.shop.papers.logo is not None:
        yield "the logo", source.parent / catalogue.shop.papers.logo.file
    if templates is not None:
        with suppress(OSError):  # reading the templates says what is wrong with the folder
            for file in sorted(templates.iterdir()):
                yield "a template", file
