"""What is written in arguments: numbers, days, picks, changes, places of units, output files."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

import click
from attrs import evolve, frozen

from configurator.build import Build
from configurator.build_changes import SIDES
from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Catalogue
from configurator.errors import NOWHERE, ConfiguratorError, Location, SelectionError
from configurator.words import Text, joined, near_miss, of_choice, text


def option(
    name: str, words: str, metavar: str | None = None, *, to: str = "", **more: Any
) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """An option of a command, read as the parameter that takes it is annotated.

    ``bool`` makes a flag of it, a tuple makes it repeatable, and ``str`` empty where it is not
    given.

    Args:
        name: with its hyphens.
        words: what the help page says of it.
        metavar: what stands for its value there.
        to: the parameter; by default the one of its name.
        more: whatever else click is told.
    """

    def declared(command: Callable[..., Any]) -> Callable[..., Any]:
        parameter = to or name[2:].replace("-", "_")
        kind = command.__annotations__.get(parameter, "")
        read: dict[str, Any] = {"help": words, "metavar": metavar, "show_envvar": "envvar" in more}
        if kind == "bool":
            read["is_flag"] = True
        elif kind.startswith("tuple"):
            read["multiple"] = True
        elif kind == "str" and not more.get("required"):
            read["default"] = ""
        return click.option(name, parameter, **read | more)(command)

    return declared


_MOST_OF_ONE = 100_000
"""The largest quantity, as in a selection."""

_DIGITS = 4_000
"""Most digits, leading zeros and all, that are read as a quantity."""

_FURTHEST = 100_000
"""The furthest exact position, mm, as the selection's schema has it."""

_ENDS, _AXES = ("front", "rear"), ("x", "y", "z")


def number_from(text: str, most: int) -> Decimal | None:
    """The number from 0 to ``most`` that the text writes out in digits; None where it does not.

    Commas may part thousands, as they do on our papers.
    """
    if re.fullmatch(r"[0-9][0-9,]{0,14}(\.[0-9]{1,6})?", text) is None:
        return None
    number = Decimal(text.replace(",", ""))
    return number if number <= most else None


def number_to(
    most: int,
) -> Callable[[click.Context, click.Parameter, str | None], Decimal | None]:
    """What reads an option as a number from zero to so much, digit by digit."""

    def read(_: click.Context, __: click.Parameter, value: str | None) -> Decimal | None:
        number = None if value is None else number_from(value, most)
        if value is not None and number is None:
            raise click.BadParameter(f"{value!r} is no number of zero or more, at most {most}")
        return number

    return read


def budget_given(text: str, currency: str, option: str) -> Decimal:
    """The amount that an option gives, read as the page reads it.

    Raises:
        click.UsageError: it is none.
    """
    from configurator.budget.reading import budget_from

    try:
        return budget_from(text, currency)
    except ConfiguratorError as error:
        raise click.UsageError(f"{option}: {error}") from None


def day_from(text: str, option: str = "--date") -> dt.date:
    """The day written as YYYY-MM-DD.

    Raises:
        click.UsageError: it is no such day.
    """
    try:
        if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
            return dt.date.fromisoformat(text)
    except ValueError:
        pass
    raise click.UsageError(f"{option} {text}: write a day as YYYY-MM-DD, such as 2026-08-03")


def pick_from(text: str, option_name: str = "") -> Pick:
    """The pick written as CHOICE=OPTION or CHOICE=OPTION:QUANTITY.

    Raises:
        click.UsageError: it is not written so.
    """
    where = f"{option_name}{text}"
    pick, colon, number = _counted(text)
    if not (pick.choice and pick.option) or (colon and not number.isascii()):
        raise click.UsageError(f"{where}: write it as CHOICE=OPTION or CHOICE=OPTION:QUANTITY")
    quantity = _quantity(number) if colon else 1
    if quantity is None:
        raise click.UsageError(f"{where}: the quantity must be a number above 0, such as 2 or 3.5")
    return Pick.counting(*pick.key, quantity, Location(where, 0, 0))


def picks_from(
    texts: Iterable[str], catalogue: Catalogue, settled: Collection[str] = ()
) -> Iterator[Pick]:
    """What ``--pick`` names, each where it was said.

    Raises:
        click.UsageError: one is not written as a pick, or is of a choice settled as one of which
            none is wanted; or two are of a choice that has one option.
    """
    first: dict[str, Pick] = {}
    for one in texts:
        pick = pick_from(one, "--pick ")
        before = first.setdefault(pick.choice, pick)
        choice = catalogue.by_id.get(pick.choice)
        if before.option != pick.option and choice is not None and choice.pick != "several":
            raise click.UsageError(
                f"{before.at.file} and {pick.at.file}: {choice.title} has one option at most: "
                "leave out one of them"
            )
        if pick.choice in settled:
            both = f"--none {pick.choice} and {pick.at.file}"
            raise click.UsageError(f"{both} contradict each other: leave out one of them")
        yield pick


def kept_from(texts: Iterable[str]) -> list[Pick]:
    """What ``--keep`` names, each where it was said."""
    return [evolve(Pick.named(one), at=Location(f"--keep {one}", 0, 0)) for one in texts]


def _counted(text: str) -> tuple[Pick, str, str]:
    """The pick that is named, and what is written after its colon."""
    pick = Pick.named(text)
    option, colon, number = pick.option.partition(":")
    return Pick(pick.choice, option), colon, number


def _quantity(text: str) -> Decimal | None:
    """The quantity that the text writes out in digits; None where it does not.

    Raises:
        click.UsageError: it is more than a selection may have.
    """
    if re.fullmatch(r"[0-9]+(\.[0-9]{1,2})?", text) is None:
        return None
    if len(text) > _DIGITS or Decimal(text) > _MOST_OF_ONE:
        raise click.UsageError(f"the quantity {text} is too large; give at most {_MOST_OF_ONE}")
    return Decimal(text)


# Changes to a selection, such as finish=two-pack,inverter=


def changed(build: Build, text: str) -> Build:
    """The build with the changes made; what depended on a pick that is gone goes with it.

    Raises:
        click.UsageError: the text is not written as changes.
    """
    for pick in _changes(text):
        if pick.option:
            where = Location(f"--change {text}", 0, 0)
            build = build.pick(*pick.key, pick.many, at=where)
        elif pick.choice not in build.selection.chosen:
            raise click.UsageError(f"--change {text}: nothing is picked in {pick.choice}")
        else:
            build = build.drop(pick.choice)
    return build.tidied()


def change_title(catalogue: Catalogue, change: str) -> Text:
    """What a column with the changes is called."""
    told = []
    for pick in _changes(change):
        choice = catalogue.by_id.get(pick.choice)
        option = choice.by_id.get(pick.option) if choice else None
        if choice is not None and not pick.option:
            told.append(text("without {units}", units=choice.title))
        else:
            units = option.times(pick.many) if option else str(pick)
            if choice and option:
                units = of_choice(choice.title, [option.title], units)
            told.append(text("with {units}", units=units))
    return joined(told)


def _changes(text: str) -> Iterator[Pick]:
    """The picks of the changes; one without an option leaves its choice out."""
    for change in text.split(","):
        pick, colon, number = _counted(change.strip())
        quantity = _quantity(number) if colon else 1
        if not pick.choice or "=" not in change or quantity is None or (colon and not pick.option):
            raise click.UsageError(
                f"--change {text}: write it as CHOICE=OPTION or CHOICE=OPTION:QUANTITY, or as "
                "CHOICE= to leave the choice out; commas between changes that go together"
            )
        yield Pick.counting(*pick.key, quantity, NOWHERE)


# Places of units, such as kitchen=left


def placed(build: Build, text: str) -> Build:
    """The build with the unit wished in that place, instead of wherever it was wished before.

    Written as ``UNIT=PLACE``: the unit is a choice (all that is picked in it) or ``CHOICE=OPTION``,
    the place any of a side, ``towards:front`` or ``:rear``, and ``x:``, ``y:`` and ``z:`` with mm.

    Raises:
        click.UsageError: the text is not written as a place.
        SelectionError: the unit is not picked.
    """
    named, _, place = text.rpartition("=")
    unit = Pick.named(named)
    if not unit.choice or named.endswith("="):
        raise _unplaced(text, "")
    return build.place(*unit.key, **_place(text, place), at=Location(f"--place {text}", 0, 0))


def placed_where_picked(builds: Sequence[Build], texts: Iterable[str]) -> list[Build]:
    """The builds with the units placed in each that picks them; one of them has to.

    Raises:
        click.UsageError: a text is not written as a place.
        SelectionError: no build picks the unit.
    """
    changed = list(builds)
    for place in texts:
        refused = []
        for index, build in enumerate(changed):
            try:
                changed[index] = placed(build, place)
            except SelectionError as error:
                refused.append(error)
        if len(refused) == len(changed):
            raise refused[0]
    return changed


def _place(text: str, place: str) -> dict[str, Any]:
    """The place as fields of a wish.

    Raises:
        click.UsageError: it is not written as one, or says the same thing twice.
    """
    values: dict[str, Any] = {}
    for part in place.split(","):
        key, colon, value = (piece.strip() for piece in part.partition(":"))
        if not colon:
            key, value = "side", key
        if key in values:
            raise _unplaced(text, f"it says {key} twice")
        if key in _AXES:
            if not (value.isascii() and value.isdigit() and len(value) < 7):
                raise _unplaced(text, f"{key} must be a whole number of mm, 0 or more")
            if int(value) > _FURTHEST:
                raise _unplaced(text, f"{key} may be {_FURTHEST} mm at most")
            values[key] = int(value)
        elif key in ("side", "towards"):
            known, what = (SIDES, "a side") if key == "side" else (_ENDS, "an end")
            if value not in known:
                why = f'"{value}" is not {what}; {near_miss(value, known)}'
                raise _unplaced(text, why.rstrip("; "))
            values[key] = value
        else:
            why = f'"{key}" is not known; {near_miss(key, ("towards", *_AXES))}'
            raise _unplaced(text, why.rstrip("; "))
    return values


def _unplaced(text: str, why: str) -> click.UsageError:
    told = f"{why}{'' if why.endswith('?') else '.'} " if why else ""
    return click.UsageError(
        f"--place {text}: {told}Write it as UNIT=SIDE, such as kitchen=left; the side is left, "
        "right or rear. Besides the side, or instead: towards:front, towards:rear, and x:MM, y:MM "
        "or z:MM, with commas between them"
    )


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
        from configurator.render.safeguard import require_spared, same_file
        from configurator.writer import folder_of

        if self.kinds:
            required_kind(self.path, self.kinds)
        targets = [self.path / name for name in names] or [self.path]
        try:
            require_spared(catalogue, targets, folder_of(templates))
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
