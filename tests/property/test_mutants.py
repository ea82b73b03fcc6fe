"""No file, however wrong, ends in a traceback: it is answered, or refused with its place.

Both shipped kinds of file and those that hold every key are changed by chance, drawn from a seed,
and put through every promised name and every command. ``MUTANTS`` says how many, and a quarter of
it of each large pair; ``MUTANTS_SEED`` where the drawing begins. A mutant that fails is told with
its own seed and stays in the test's folder.
"""

from __future__ import annotations

import datetime as dt
import os
import shutil
import signal
import traceback
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from random import Random

import click
import pytest
from attrs import frozen
from PIL import Image

from configurator import Build, ConfiguratorError, Selection, Shop, open_shop
from configurator.catalogue.reading import shipped
from configurator.cli import cli
from configurator.errors import DataError
from configurator.selection.reading import read_selection
from tests.support.mutants import mutant
from tests.support.paths import CASES
from tests.support.shipped import shipped_in_one

COUNT = int(os.environ.get("MUTANTS", "24"))
SEED = int(os.environ.get("MUTANTS_SEED", "1"))
SECONDS = 120
"""More CPU seconds than any answer here may take."""

DAY = "2026-08-03"
SHIPPED = shipped("catalogues")
PAIRS = {
    "everything": (CASES / "good" / "everything.yaml", CASES / "everything-selection.yaml"),
    "touring": (SHIPPED / "quandong.yaml", SHIPPED / "selections" / "touring.yaml"),
    "contractor": (SHIPPED / "quandong.yaml", SHIPPED / "selections" / "contractor.yaml"),
    "wish": (SHIPPED / "quandong.yaml", SHIPPED / "selections" / "wish.yaml"),
}


def texts_of(pair: str) -> list[str]:
    """The texts of a catalogue and of a selection."""
    texts = [path.read_text("utf-8") for path in PAIRS[pair]]
    return texts if pair == "everything" else [shipped_in_one(), texts[1]]


QUICK = (
    "catalogue check c.yaml",
    "catalogue list --catalogue c.yaml",
    "check s.yaml --catalogue c.yaml",
    f"price s.yaml --catalogue c.yaml --date {DAY}",
    f"price s.yaml --catalogue c.yaml --date {DAY} --trace",
    f"price s.yaml --catalogue c.yaml --date {DAY} --shop",
    f"quote s.yaml --catalogue c.yaml --date {DAY} -o q.html",
    "layout s.yaml --catalogue c.yaml -o l.svg",
    "mass s.yaml --catalogue c.yaml -o m.svg --items",
    "power s.yaml --catalogue c.yaml -o p.svg",
    f"compare s.yaml s.yaml --catalogue c.yaml --date {DAY} -o c.html",
    f"sheets s.yaml --catalogue c.yaml --date {DAY} -o sheets --as html --cost",
    f"budget s.yaml --catalogue c.yaml --date {DAY} --no-savings",
)
SLOW = (
    "catalogue check c.yaml --deep",
    "options s.yaml --catalogue c.yaml",
    "explain s.yaml {pick} --catalogue c.yaml",
    "fixes s.yaml --catalogue c.yaml",
    "complete s.yaml --catalogue c.yaml -o found.yaml",
    "within s.yaml --catalogue c.yaml --budget 30000 --wish {pick}",
    f"budget s.yaml --catalogue c.yaml --date {DAY}",
    "layout s.yaml --catalogue c.yaml --more",
    "options --catalogue c.yaml",
    "complete s.yaml --catalogue c.yaml --prefer space",
)


@frozen
class Outcome:
    """What became of a mutant: which of its two files were taken."""

    catalogue: bool
    selection: bool


class TooLong(Exception):
    """An answer took more than its time."""


class Unsaid(Exception):
    """A refusal says nothing, or not where."""


@contextmanager
def in_time() -> Iterator[None]:
    def stop(*_: object) -> None:
        raise TooLong

    before = signal.signal(signal.SIGVTALRM, stop)
    signal.setitimer(signal.ITIMER_VIRTUAL, SECONDS)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)
        signal.signal(signal.SIGVTALRM, before)


def answered(question: Callable[[], object]) -> bool:
    """Whether it was answered; refused in the promised way is right too, anything else is not."""
    try:
        with in_time():
            question()
    except DataError as error:
        told = [problem.at.file and problem.sentence for problem in error.problems]
    except (ConfiguratorError, click.ClickException) as error:
        told = [str(error)]
    except SystemExit as left:
        return left.code in (0, 1)
    else:
        return True
    if not (told and all(told)):
        raise Unsaid
    return False


def commanded(line: str, pick: str) -> bool:
    """Whether the command ended fine or with findings."""
    arguments = [part.format(pick=pick) for part in line.split()]
    return answered(lambda: cli(arguments, standalone_mode=False))


def through_python(picked: Callable[[Build], None]) -> Outcome:
    """Read both files and put them through the promised names."""
    shops: list[Shop] = []
    builds: list[Build] = []
    answered(lambda: shops.append(open_shop("c.yaml", today=dt.date.fromisoformat(DAY))))
    for shop in shops:
        answered(lambda: builds.append(shop.build("s.yaml")))  # noqa: B023  # called at once
    selections: list[Selection] = []
    answered(lambda: selections.append(read_selection("s.yaml")))
    for build in builds:
        picked(build)
    return Outcome(bool(shops), bool(selections))


def every_promised_name(build: Build) -> None:
    answered(build.check)
    answered(build.price)
    answered(build.suggestions)
    answered(lambda: build.compare(build, titles=["A", "B"]))
    answered(lambda: build.quote("Q-1", dt.date.fromisoformat(DAY)))


def laid_out(folder: Path) -> None:
    """A folder with the pictures that the catalogues name."""
    folder.mkdir()
    shutil.copy(SHIPPED / "quandong-logo.svg", folder)
    Image.new("RGB", (4, 4), "green").save(folder / "logo.png", "PNG")


def put_through(pair: str, random: Random, originals: Sequence[str]) -> Outcome:
    """Spoil one of the two files, and ask of them whatever can be asked."""
    spoilt = random.choice((0, 0, 0, 1, 1))
    for index, name in enumerate(("c.yaml", "s.yaml")):
        text = originals[index]
        Path(name).write_text(mutant(text, random) if index == spoilt else text, "utf-8")
    outcome = through_python(every_promised_name)
    lines = [*QUICK, *SLOW]
    if pair != "everything":
        lines = [*random.sample(QUICK, 3), random.choice(SLOW)]
    for line in lines:
        try:
            commanded(line, "inside=fridge" if pair == "everything" else "solar=panel-200")
        except Exception as error:
            error.add_note(line)
            raise
    return outcome


@pytest.mark.parametrize("pair", PAIRS)
def test_before_it_is_spoilt_a_pair_of_files_is_taken(
    pair: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    laid_out(tmp_path / pair)
    monkeypatch.chdir(tmp_path / pair)
    for name, text in zip(("c.yaml", "s.yaml"), texts_of(pair), strict=True):
        Path(name).write_text(text, "utf-8")
    for line in QUICK:
        if pair != "wish" or line.split()[0] not in ("quote", "sheets", "layout"):
            assert commanded(line, ""), line


@pytest.mark.parametrize("pair", PAIRS)
def test_no_file_ends_in_a_traceback(
    pair: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    originals = texts_of(pair)
    taken, refused, fallen = 0, 0, []
    count = COUNT if pair == "everything" else COUNT // 4
    for seed in range(SEED, SEED + count):
        folder = tmp_path / str(seed)
        laid_out(folder)
        monkeypatch.chdir(folder)
        try:
            outcome = put_through(pair, Random(f"{pair} {seed}"), originals)
        except Exception:
            fallen.append(f"{folder}\n{traceback.format_exc()}")
            continue
        taken += outcome.catalogue and outcome.selection
        refused += not (outcome.catalogue and outcome.selection)
        capfd.readouterr()
        shutil.rmtree(folder)
    assert not fallen, "\n".join([*fallen, f"{len(fallen)} of {count} fell"])
    assert min(taken, refused) >= count // 5, (taken, refused)
