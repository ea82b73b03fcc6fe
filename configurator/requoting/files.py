"""The open quotes of a folder: selection files, and PDFs that carry what was quoted."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from attrs import frozen

from configurator.errors import ConfiguratorError
from configurator.requoting.quotes import OpenQuote
from configurator.selection.reading import open_selection, selections_in


@frozen
class QuoteFiles:
    """Files in the order of their names, each read when its turn comes."""

    files: tuple[Path, ...]

    def __len__(self) -> int:
        return len(self.files)

    def __iter__(self) -> Iterator[OpenQuote]:
        for file in self.files:
            try:
                yield OpenQuote(file.name, open_selection(file).content)
            except ConfiguratorError as error:
                yield OpenQuote(file.name, problem=str(error))


def quotes_in(folder: Path, output: Path | None) -> QuoteFiles:
    """The open quotes in a folder, which a report on them must not join.

    Raises:
        ConfiguratorError: the folder holds no selection, or the report would lie in it.
        FileError: the folder cannot be read.
    """
    files = QuoteFiles(selections_in(folder))
    if output is not None and output.absolute().parent.resolve() == folder.resolve():
        raise ConfiguratorError(
            f"{output}: the report would lie among the quotes, and be taken for one of them the "
            "next time; name another folder with -o"
        )
    return files
