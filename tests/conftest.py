"""Fixtures for all tests: the shipped catalogue, and the command line run as a person runs it."""

from __future__ import annotations

import contextlib
import datetime as dt
import gc
import logging
import os
import re
import shutil
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from configurator import Catalogue, Selection, shop
from configurator.catalogue.reading import shipped
from configurator.cli import common, main
from configurator.selection.reading import read_selection
from tests.support.commands import TODAY, Ran, Run, SameAs
from tests.support.paths import GOLDEN
from tests.support.reading import known_once
from tests.support.rendered import anew, is_about_the_machine, kept_in
from tests.support.shipped import read_catalogue

MEMORY = Path("/dev/shm")  # pytest makes a folder of its own in it
"""A disk in memory, on Linux."""


def pytest_configure() -> None:
    """The tests' folders lie in memory where it has room: many tests mostly wait for a disk."""
    with contextlib.suppress(OSError):
        found = os.statvfs(MEMORY)
        if found.f_bavail * found.f_frsize > 2 * 10**9 and not found.f_flag & os.ST_NOEXEC:
            os.environ.setdefault("PYTEST_DEBUG_TEMPROOT", str(MEMORY))
    # garbage is looked for hardly ever: most of what tests make is gone by itself
    gc.set_threshold(1_000_000, 10, 50)
    # processes that tests start need not compile every module again
    sys.dont_write_bytecode = False
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_auto_num_workers() -> int:
    """One more than cores.

    With as many, those of page and register left a third of two cores idle, waiting for servers.
    """
    return (os.cpu_count() or 1) + 1


@pytest.hookimpl(trylast=True)  # what is left out by -k does not count
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """The first worker begins in the browser, the second with what else is asked of the page.

    These take a quarter of the time and wait for servers, while the third worker uses what they
    leave idle. All on one worker they would outlast the others by a fifth, calculated from the
    CPU seconds of each test where one of the page waits as long as it works.
    """
    workers = int(getattr(config, "workerinput", {}).get("workercount", 1))
    page = [item for item in items if "page" in item.path.parts]
    browser = [item for item in page if item.path.name == "test_browser.py"]
    others = [item for item in items if "page" not in item.path.parts]
    first = max(0, len(items) // workers - len(browser))
    asked = [item for item in page if item not in browser]
    items[:] = [*browser, *others[:first], *asked, *others[first:]]


def pytest_collection_finish() -> None:
    """Modules and tests stay: no search for garbage need look at them again."""
    gc.collect()
    gc.freeze()


@pytest.fixture(scope="session", autouse=True)
def _rendered_once(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Every page is made into a PDF once, for all workers."""
    base = tmp_path_factory.getbasetemp()
    folder = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "rendered"
    folder.mkdir(exist_ok=True)
    with kept_in(folder):
        yield


@pytest.fixture(scope="session", autouse=True)
def _read_once() -> Iterator[None]:
    """Every command reads its files; what was read and answered already is not made again."""
    with known_once():
        yield


@pytest.fixture
def rendered_anew() -> Iterator[None]:
    """What commands write within this test is made anew each time."""
    with anew():
        yield


@pytest.fixture(scope="session")
def quandong() -> Catalogue:
    """The shipped catalogue."""
    return read_catalogue(shipped("catalogues") / "quandong.yaml")


@pytest.fixture(scope="session")
def touring() -> Selection:
    """The shipped selection of the couple who travel."""
    return read_selection(shipped("catalogues") / "selections" / "touring.yaml")


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]) -> Run:
    """Run a command within this process, in an empty folder with the shipped selections in it.

    No line that it writes ends in a blank.
    """
    for file in (shipped("catalogues") / "selections").iterdir():
        shutil.copy(file, tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.delenv("CONFIGURATOR_CATALOGUE", raising=False)
    monkeypatch.setenv("CONFIGURATOR_REGISTER", str(tmp_path / "register.sqlite"))
    monkeypatch.delenv("CONFIGURATOR_SELLER", raising=False)
    monkeypatch.setattr(common, "today", lambda: TODAY)
    monkeypatch.setattr(shop, "_clock", lambda: dt.datetime.combine(TODAY, dt.time(9), dt.UTC))

    def run(*arguments: str) -> Ran:
        monkeypatch.setattr(sys, "argv", ["configurator", *arguments])
        capfd.readouterr()
        try:
            main()
        except SystemExit as left:
            code = left.code
        else:
            code = 0
        out, err = capfd.readouterr()
        assert code is None or isinstance(code, int)
        assert not re.search(r"[ \t]$", out + err, re.MULTILINE), "a line ends in a blank"
        return Ran(code or 0, out, err)

    return run


@pytest.fixture
def nothing_logged(caplog: pytest.LogCaptureFixture) -> Iterator[None]:
    """WeasyPrint has nothing to say about any page made here."""
    with caplog.at_level(logging.WARNING, logger="weasyprint"):
        yield
    records = [r for r in caplog.get_records("call") if r.name.startswith("weasyprint")]
    assert not [said for r in records if not is_about_the_machine(said := r.getMessage())]


@pytest.fixture
def same_as() -> SameAs:
    """Compare a text with a file in tests/golden.

    UPDATE_GOLDEN=1 writes the files instead; a file that is missing fails.
    """

    def same_as(name: str, text: str) -> None:
        file = GOLDEN / f"{name}.txt"
        if os.environ.get("UPDATE_GOLDEN") == "1":
            file.write_text(text, "utf-8")
        assert file.exists(), f"{file} is missing: run once with UPDATE_GOLDEN=1 and look at it"
        assert text == file.read_text("utf-8")

    return same_as
