"""Output files: none without a name, and none written over a file that was read."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from attrs import evolve, frozen

from configurator.cli.arguments import option

if TYPE_CHECKING:
    from configurator.catalogue.model import Catalogue


class _Name(click.types.StringParamType):
    name = "file"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """The name as it was given.

        Raises:
            click.BadParameter: it is empty.
        """
        if not value:
            self.fail("the name is empty: give one, or leave this out", param, ctx)
        return str(value)


_REPLACE = "configurator.replace"

NAME = _Name()
"""The name of a file or folder, which may not be empty."""


@frozen(eq=False, repr=False)
class Output:
    """Where a command writes, as its options say.

    Attributes:
        path: the file or folder; None where nothing is to be written.
        replace: whether the selection that was read may be replaced.
        kinds: what the file's name may end in.
    """

    path: Path | None
    replace: bool = False
    kinds: tuple[str, ...] = ()

    @property
    def on_paper(self) -> bool:
        """Whether a paper with prices is written."""
        return self.path is not None and ".pdf" in self.kinds and ".svg" not in self.kinds

    def named(self, name: str) -> Output:
        """The same, writing to a name that nobody gave; what is there already stays.

        Raises:
            click.UsageError: something has that name.
        """
        path = Path(re.sub(r"[^\w .+-]", "-", name))
        if path.exists():
            raise click.UsageError(f"{path} is there already; name the file with -o")
        return evolve(self, path=path)

    def require_writable(
        self,
        catalogue: Catalogue,
        selections: Iterable[str | None],
        templates: str | None = None,
        names: Iterable[str] = (),
    ) -> None:
        """Find out before the work whether the answer can be written.

        Args:
            catalogue: the catalogue that was read.
            selections: the selection files that were read.
            templates: the folder of templates, if any.
            names: what is written, where the path is a folder.

        Raises:
            click.UsageError: it would replace what was read, or any catalogue.
            ConfiguratorError: its name has another ending.
            FileError: it cannot be written.
        """
        if self.path is None:
            return
        from configurator.render.files import require_writable, required_kind

        if self.kinds:
            required_kind(self.path, self.kinds)
        targets = [self.path / name for name in names] or [self.path]
        self._spare(targets, _of_the_shop(catalogue, templates), "")
        for target in targets:
            if _is_catalogue(target):
                raise click.UsageError(
                    f"-o {self.path}: {target} is a catalogue; give another name"
                )
        if not self.replace:
            found = (_file_of(name) for name in selections if name is not None)
            told = "; give another name, or --replace to write over it"
            self._spare(targets, (("the selection", file) for file in found), told)
        require_writable(targets)

    def _spare(self, targets: Iterable[Path], read: Iterable[tuple[str, Path]], told: str) -> None:
        kept = list(read)
        for target in targets:
            for what, file in kept:
                if target.exists() and file.exists() and target.samefile(file):
                    raise click.UsageError(
                        f"-o {self.path}: {target} is {what} that is read here"
                        + (told or "; give another name")
                    )


def output_option(
    metavar: str, words: str, kinds: str = "", *, reads: bool = True
) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """The options that say where to write; the command gets them as an :class:`Output`.

    Args:
        metavar: what is named, such as ``FILE``.
        words: what the help page says of it.
        kinds: what the name of the file may end in.
        reads: whether the command reads a selection file, which it might write over.
    """

    def kept(ctx: click.Context, _: click.Parameter, replace: bool) -> None:
        ctx.meta[_REPLACE] = replace

    def made(ctx: click.Context, _: click.Parameter, name: str | None) -> Output:
        path = None if name is None else Path(name)
        return Output(path, ctx.meta.get(_REPLACE, False), tuple(kinds.split()))

    def decorate(command: Callable[..., Any]) -> Callable[..., Any]:
        replacing = option(
            "--replace",
            "Let -o overwrite the SELECTION that was read.",
            is_flag=True,
            is_eager=True,
            expose_value=False,
            callback=kept,
        )
        named = click.option(
            "-o", "--output", metavar=metavar, type=NAME, callback=made, help=words
        )
        decorated: Callable[..., Any] = named(replacing(command) if reads else command)
        return decorated

    return decorate


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


_SECTION = re.compile(
    rb"^(parts|vehicles|choices|rules|limits|cautions|package-deals|labour):", re.MULTILINE
)
"""How a section of a catalogue begins in YAML; in JSON, answers have some of these keys too."""


def _of_the_shop(catalogue: Catalogue, templates: str | None) -> Iterator[tuple[str, Path]]:
    source = Path(catalogue.source)
    for file in (source, *(source.parent / part for part in catalogue.parts)):
        yield "the catalogue", file
    if catalogue.shop.papers.logo is not None:
        yield "the logo", source.parent / catalogue.shop.papers.logo.file
    if templates is not None:
        with suppress(OSError):  # reading the templates says what is wrong with the folder
            for file in sorted(Path(templates).iterdir()):
                yield "a template", file


def _file_of(selection: str) -> Path:
    from configurator.selection.reading import file_and_letter

    return Path(file_and_letter(selection)[0])
