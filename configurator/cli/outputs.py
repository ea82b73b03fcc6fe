"""Output files: none without a name, and none written over a file that was read."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from attrs import evolve, frozen

from configurator.cli.arguments import option
from configurator.errors import ConfiguratorError

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
        from configurator.machine.files import require_writable, required_kind
        from configurator.render.spared import require_spared, same_file

        if self.kinds:
            required_kind(self.path, self.kinds)
        targets = [self.path / name for name in names] or [self.path]
        try:
            require_spared(catalogue, targets, None if templates is None else Path(templates))
        except ConfiguratorError as error:
            raise click.UsageError(f"-o {self.path}: {error}") from None
        if not self.replace:
            for name in selections:
                clash = None if name is None else same_file(targets, _file_of(name))
                if clash is not None:
                    raise click.UsageError(
                        f"-o {self.path}: {clash} is the selection that is read here; "
                        "give another name, or --replace to write over it"
                    )
        require_writable(targets)


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


def _file_of(selection: str) -> Path:
    from configurator.selection.reading import file_and_letter

    return Path(file_and_letter(selection)[0])
