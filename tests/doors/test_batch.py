"""A folder of selections quoted at once, through the command, in processes of its own."""

from __future__ import annotations

import datetime as dt
import json
import os
import pty
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from operator import length_hint
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from configurator import Job, open_shop
from configurator.render.batch import jobs_of, quote_all
from configurator.selection.reading import read_selection
from configurator.shapes.shipped import schema
from tests.support.building import catalogue, choice, option
from tests.support.commands import Run

DATE = ("--date", "2026-08-03")
SHOP = ("--catalogue", "shop.json")
COMMAND = [sys.executable, "-m", "configurator", "quote", *DATE, *SHOP]
DAY = dt.date(2026, 8, 3)
SMALL = catalogue(
    [choice("tray", [option("flat", 1200, mass=40), option("long", 1500, mass=50)])],
    add_ons=[option("mat", 45, suggest={"tray": "flat"}, because="It protects.")],
)
SELECTION = "format: 1\ncatalogue: test\ntitle: {0}\npicks: {{vehicle: ute, tray: {0}}}\n"


@pytest.fixture
def wishes(tmp_path: Path, run: Run, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with two selections that can be quoted, and things that are no selection.

    The register is the usual one, of which there is none yet.
    """
    del run  # before, as it names a register
    monkeypatch.delenv("CONFIGURATOR_REGISTER")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    folder = tmp_path / "wishes"
    (folder / "older").mkdir(parents=True)
    (tmp_path / "shop.json").write_text(SMALL.text)
    for name in ("flat", "long"):
        (folder / f"{name}.yaml").write_text(SELECTION.format(name))
    (folder / "notes.txt").write_text("call them on Monday")
    (folder / ".hidden.yaml").write_text("no selection")
    return folder


@pytest.fixture
def alone(monkeypatch: pytest.MonkeyPatch) -> None:
    """Batches within this process are made by it alone: others would import everything anew."""
    monkeypatch.setattr("configurator.render.batch.cores", lambda: 1)


TWO = (
    "from configurator.render import batch\n"
    "from configurator.__main__ import main\n"
    "batch.cores = lambda: 2\n"
    "main()\n"
)
"""The command, with a process on each of two cores wherever it runs."""


@pytest.mark.usefixtures("rendered_anew")
def test_a_batch_of_two_processes_is_the_same_to_the_byte_as_each_quote_alone(
    run: Run, wishes: Path
) -> None:
    batch = ("--batch", "wishes", "-o", "quotes", "--number", "Q-")
    done = subprocess.run(
        [sys.executable, "-c", TWO, *COMMAND[3:], *batch],
        cwd=wishes.parent,
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert sorted(file.name for file in Path("quotes").iterdir()) == ["flat.pdf", "long.pdf"]
    said = []
    for name in ("flat", "long"):
        alone = ("-o", f"{name}.pdf", "--number", f"Q-{name}", *DATE, *SHOP)
        one = run("quote", f"wishes/{name}.yaml", *alone)
        said.append(one.out.replace(name, f"quotes/{name}", 1))
        assert Path(f"{name}.pdf").read_bytes() == Path(f"quotes/{name}.pdf").read_bytes()
    assert done.stdout == "".join(said)


@pytest.mark.usefixtures("alone")
def test_one_that_fails_is_told_and_the_others_go_on(run: Run, wishes: Path) -> None:
    (wishes / "wish.yaml").write_text(SELECTION.format("round"))
    (wishes / "broken.yaml").write_text("format: 1\ncatalogue: test\npicks: [1\n")
    (wishes / "empty.json").write_text("")
    assert run("quote", "wishes/flat.yaml", "-o", "wishes/opened.pdf", *DATE, *SHOP).code == 0
    (wishes / "scan.pdf").write_bytes(b"%PDF-1.7 and nothing else")
    ran = run("quote", "--batch", "wishes", "-o", "quotes", *DATE, *SHOP)
    assert ran.code == 1
    assert [line.split(",")[0] for line in ran.out.splitlines()] == [
        "quotes/flat.pdf: quote flat",
        "quotes/long.pdf: quote long",
        "quotes/opened.pdf: quote opened",
    ]
    for start in (
        "wishes/broken.yaml:4:1: error: ",
        "wishes/empty.json:1:1: error: the file is empty (syntax)",
        "wishes/scan.pdf: cannot read it: the PDF is damaged",
        'wishes/wish.yaml:4:29: error: Tray has no option "round"',
    ):
        assert f"\n{start}" in f"\n{ran.err}", start
    assert ran.err.splitlines()[-1] == "4 of 7 selections have no quote"
    assert sorted(file.stem for file in Path("quotes").iterdir()) == [
        "flat",
        "long",
        "opened",
    ]


@pytest.mark.usefixtures("alone")
def test_a_batch_answers_as_json(run: Run, wishes: Path) -> None:
    (wishes / "long.yaml").write_text(SELECTION.format("flat").replace(", tray: flat", ""))
    ran = run(
        "quote", "--batch", "wishes", "-o", "quotes", "--number", "Q-", "--json", *DATE, *SHOP
    )
    assert (ran.code, ran.err) == (1, "")
    answer = json.loads(ran.out)
    Draft202012Validator(dict(schema("answers"))).validate(answer)
    good, bad = answer["quotes"]
    assert good["file"] == "quotes/flat.pdf"
    assert good["number"] == "Q-flat"
    assert good["total"] == "1200.00"
    assert (bad["selection"], bad["file"], bad["total"]) == ("wishes/long.yaml", "", None)
    assert bad["problem"].startswith("no quote: ")


def test_two_selections_that_would_have_the_same_quote_are_both_refused(
    run: Run, wishes: Path
) -> None:
    (wishes / "Flat.json").write_text("{}")
    ran = run("quote", "--batch", "wishes", "-o", "quotes", *DATE, *SHOP)
    assert ran.code == 1
    said = "would have the same quote: rename one of them"
    assert ran.err.splitlines() == [
        f"wishes/Flat.json: wishes/flat.yaml {said}",
        f"wishes/flat.yaml: wishes/Flat.json {said}",
        "2 of 3 selections have no quote",
    ]
    assert [file.name for file in Path("quotes").iterdir()] == ["long.pdf"]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (
            ["touring.yaml"],
            "give --batch alone, without SELECTION, --customer, --pick, --drop, --none and --place",
        ),
        (
            ["--pick", "a=b"],
            "give --batch alone, without SELECTION, --customer, --pick, --drop, --none and --place",
        ),
    ],
)
def test_a_batch_takes_no_single_selection(
    arguments: list[str], said: str, run: Run, wishes: Path
) -> None:
    ran = run("quote", "--batch", str(wishes), "-o", "quotes", *arguments)
    assert ran.code == 2
    assert said in ran.err


def test_wrong_folders_are_told(run: Run, wishes: Path) -> None:
    (wishes.parent / "bare").mkdir()
    for arguments, code, said in (
        (["--batch", "wishes"], 2, "say in which folder to write the quotes with -o DIR"),
        (["--batch", "wishes", "-o", "wishes"], 2, "quotes would lie among the selections"),
        (["--batch", "bare", "-o", "quotes"], 2, "bare: there is no selection in it"),
        (["--batch", "nowhere", "-o", "quotes"], 3, "nowhere: cannot read the folder"),
        (["--batch", "wishes", "-o", "touring.yaml"], 3, "touring.yaml: cannot make the folder"),
    ):
        ran = run("quote", *arguments, *DATE, *SHOP)
        assert (ran.code, ran.out) == (code, "")
        assert said in ran.err
        assert len(ran.err.splitlines()) <= 4
    assert not (wishes.parent / "quotes").exists()


def test_a_fault_in_one_quote_costs_only_that_one(
    wishes: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def faulty(path: str) -> object:
        if "long" in path:
            raise ZeroDivisionError("by nought")
        return read_selection(path)

    monkeypatch.setattr("configurator.render.batch.read_selection", faulty)
    results = list(quote_all(SMALL, jobs_of(wishes, tmp_path), DAY, 1))
    assert [quoted.problem for quoted in results] == [
        "",
        "a fault of this program: ZeroDivisionError: by nought",
    ]


def test_a_quote_that_cannot_be_written_is_told(wishes: Path, tmp_path: Path) -> None:
    nowhere = f"{wishes}/flat.yaml/q.pdf"
    jobs = [Job(job.selection, "Q-1", nowhere) for job in jobs_of(wishes, tmp_path)][:1]
    (only,) = quote_all(SMALL, jobs, DAY, 1)
    assert only.price is None
    assert only.problem == f"{nowhere}: cannot write it: Not a directory; name another folder"


def test_a_worker_that_dies_takes_only_its_own_quote_with_it(tmp_path: Path) -> None:
    """A selection that ends whichever process reads it; the code runs where it can be broken."""
    code = f"""
import datetime as dt, os, sys
from pathlib import Path
from configurator.catalogue.reading import open_catalogue
from configurator.render import batch

real = batch.read_selection
def deadly(path):
    if "deadly" in path:
        os._exit(9)
    return real(path)
batch.read_selection = deadly

if __name__ == "__main__":
    catalogue, _ = open_catalogue("shop.json")
    jobs = batch.jobs_of(Path("wishes"), Path("quotes"))
    found = batch.quote_all(catalogue, jobs, dt.date.fromisoformat("{DAY}"), 2)
    for quoted in sorted(found, key=lambda quoted: quoted.job.selection):
        print(quoted.job.selection, quoted.problem)
"""
    for folder in ("wishes", "quotes"):
        (tmp_path / folder).mkdir()
    for name in ("a", "deadly", "z"):
        (tmp_path / "wishes" / f"{name}.yaml").write_text(SELECTION.format("flat"))
    (tmp_path / "shop.json").write_text(SMALL.text)
    (tmp_path / "break.py").write_text(code)
    done = subprocess.run(
        [sys.executable, "break.py"], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert done.stdout.splitlines() == [
        "wishes/a.yaml ",
        "wishes/deadly.yaml the process that made it ended without a word, "
        "perhaps for want of memory",
        "wishes/z.yaml ",
    ]
    assert sorted(file.name for file in (tmp_path / "quotes").iterdir()) == ["a.pdf", "z.pdf"]


# Stopped half way


@pytest.fixture
def many(wishes: Path) -> Path:
    """More selections than can be quoted in a moment."""
    for number in range(98):
        (wishes / f"more-{number:02}.yaml").write_text(SELECTION.format("flat"))
    return wishes


MINDING = (
    "import signal\n"
    "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
    "from configurator.__main__ import main\n"
    "main()\n"
)
"""The command, minding Ctrl-C even where these tests run in the background and do not."""


@pytest.fixture
def started(many: Path, tmp_path: Path) -> Iterator[subprocess.Popen[str]]:
    """A batch at work, with its first quote written."""
    (tmp_path / "temporary").mkdir()
    with subprocess.Popen(
        [sys.executable, "-c", MINDING, *COMMAND[3:], "--batch", many.name, "-o", "quotes"],
        cwd=tmp_path,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
        env={**os.environ, "TMPDIR": str(tmp_path / "temporary")},
    ) as process:
        until = time.monotonic() + 120
        while not list((tmp_path / "quotes").glob("*.pdf")):
            assert process.poll() is None
            assert time.monotonic() < until
            time.sleep(0.05)
        yield process
        process.kill()


def session_of(leader: int) -> set[int]:
    """The processes still alive that were started with this one."""
    found = set()
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = stat.read_text().rpartition(")")[2].split()
        except OSError:
            continue
        if int(fields[3]) == leader and fields[0] != "Z":
            found.add(int(stat.parent.name))
    return found


def ended(leader: int) -> None:
    """Every process that was started with this one ends within moments of it."""
    until = time.monotonic() + 20
    while session_of(leader):
        assert time.monotonic() < until, "a process outlives the batch"
        time.sleep(0.1)


def whole(folder: Path) -> None:
    """Nothing but whole PDFs lies in the folder."""
    files = list(folder.iterdir())
    assert files
    for file in files:
        content = file.read_bytes()
        assert file.suffix == ".pdf"
        assert content.startswith(b"%PDF-")
        assert content.rstrip().endswith(b"%%EOF")


@pytest.mark.parametrize("to_all", [True, False], ids=["from the keyboard", "to one process"])
def test_control_c_leaves_whole_files_and_no_process_behind(
    to_all: bool, started: subprocess.Popen[str], tmp_path: Path
) -> None:
    assert len(session_of(started.pid)) > 1
    if to_all:
        os.killpg(started.pid, signal.SIGINT)
    else:
        started.send_signal(signal.SIGINT)
    out, err = started.communicate(timeout=60)
    assert (started.returncode, out) == (130, "")
    assert err.strip() == "stopped; nothing half done was left behind"
    ended(started.pid)
    whole(tmp_path / "quotes")
    assert len(list((tmp_path / "quotes").iterdir())) < 100
    assert list((tmp_path / "temporary").iterdir()) == []


def test_control_c_is_not_lost_while_a_job_is_handed_over(many: Path, tmp_path: Path) -> None:
    hasty = (
        "import os, signal\n"
        "from concurrent.futures import ProcessPoolExecutor\n"
        "submit = ProcessPoolExecutor.submit\n"
        "def interrupted(*given):\n"
        "    os.kill(os.getpid(), signal.SIGINT)\n"
        "    return submit(*given)\n"
        "ProcessPoolExecutor.submit = interrupted\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", hasty + MINDING, *COMMAND[3:], "--batch", many.name, "-o", "quotes"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout) == (130, "")
    assert done.stderr.strip() == "stopped; nothing half done was left behind"


def test_workers_end_with_a_batch_that_is_killed(
    started: subprocess.Popen[str], tmp_path: Path
) -> None:
    started.kill()
    started.wait()
    ended(started.pid)
    whole(tmp_path / "quotes")


# What a terminal sees


def test_a_bar_is_drawn_on_a_terminal_and_nowhere_else(wishes: Path) -> None:
    """On standard error, so that the answer can be piped on."""
    reading, writing = pty.openpty()
    process = subprocess.Popen(
        [*COMMAND, "--batch", "wishes", "-o", "quotes", *DATE],
        cwd=wishes.parent,
        stdout=subprocess.PIPE,
        stderr=writing,
        env={**os.environ, "TERM": "xterm", "COLUMNS": "80"},
    )
    os.close(writing)
    shown = b""
    while True:
        try:
            piece = os.read(reading, 4096)
        except OSError:
            break
        if not piece:
            break
        shown += piece
    os.close(reading)
    out, _ = process.communicate()
    assert process.returncode == 0
    assert b"Quotes" in shown
    assert b"/2" in shown
    assert b"\x1b" not in out
    assert out.count(b"including GST") == 2


def test_the_day_of_issue_is_the_same_for_all(wishes: Path, tmp_path: Path) -> None:
    """Outside the days on which the prices hold, each is refused and none is written."""
    results = list(quote_all(SMALL, jobs_of(wishes, tmp_path / "q"), dt.date(2031, 1, 1), 1))
    assert all("prices hold from" in quoted.problem for quoted in results)
    assert not (tmp_path / "q").exists()


@pytest.mark.usefixtures("alone")
def test_a_folder_is_listed_once_and_what_is_to_come_is_counted(
    run: Run, wishes: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    listed, real = [], Path.iterdir

    def counted(folder: Path) -> Iterator[Path]:
        listed.append(folder)
        return real(folder)

    monkeypatch.setattr(Path, "iterdir", counted)
    assert run("quote", "--batch", "wishes", "-o", "quotes", *DATE, *SHOP).code == 0
    assert listed.count(Path("wishes")) == 1
    quotes = open_shop(SMALL.text, DAY).batch(wishes, "again", DAY, processes=1)
    assert [length_hint(quotes), *(length_hint(quotes) for _ in quotes)] == [2, 1, 0]
