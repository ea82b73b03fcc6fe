"""The command line at its edges: files read and written over, days without prices, closed streams.

What matters to pipes, devices and signals runs in a process of its own.
"""

from __future__ import annotations

import datetime as dt
import json
import os
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from configurator import FileError, QuoteRefused, open_shop
from configurator.catalogue.reading import MOST_BYTES, shipped
from configurator.cli import common
from configurator.machine.files import replace_file
from configurator.selection.reading import read_selection
from tests.support.answers import valid
from tests.support.building import option, raw_catalogue, several, written
from tests.support.commands import Ran, Run
from tests.support.paths import CASES
from tests.support.shipped import shipped_in_one
from tests.support.work import lines_run

DAY = ("--date", "2026-08-03")
COMMAND = (sys.executable, "-m", "configurator")
TODAY_HERE = common.today
"""The day by the clock and the zone of this process."""
SELECTIONS = shipped("catalogues") / "selections"


def fresh(folder: Path, line: str, **environment: str) -> Ran:
    """Run a line of a shell in which ``configurator`` is this program."""
    for file in SELECTIONS.iterdir():
        shutil.copy(file, folder)
    shell = shutil.which("bash")
    if shell is None:
        pytest.skip("there is no bash")
    done = subprocess.run(
        [shell, "-c", f'configurator() {{ {" ".join(COMMAND)} "$@"; }}; {line}'],
        cwd=folder,
        env={**os.environ, "COLUMNS": "100", **environment},
        capture_output=True,
        text=True,
        check=False,
    )
    return Ran(done.returncode, done.stdout, done.stderr)


# What is read is not written over


def shop(folder: Path) -> None:
    """The shipped catalogue with its logo, as a shop of its own."""
    shutil.copy(SELECTIONS.parent / "quandong.yaml", folder / "shop.yaml")
    shutil.copytree(SELECTIONS.parent / "quandong", folder / "quandong")
    shutil.copy(SELECTIONS.parent / "quandong-logo.svg", folder)
    (folder / "mine").mkdir()
    shutil.copy(shipped("templates") / "quote.html", folder / "mine")


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (
            "complete wish.yaml --drop upright-fridge -o shop.yaml",
            "-o shop.yaml: shop.yaml is the catalogue that is read here; give another name",
        ),
        (
            "complete wish.yaml --drop upright-fridge -o wish.yaml",
            "-o wish.yaml: wish.yaml is the selection that is read here; "
            "give another name, or --replace to write over it",
        ),
        (
            "within wish.yaml --drop upright-fridge --budget 30000 -o wish.yaml",
            "-o wish.yaml: wish.yaml is the selection that is read here; "
            "give another name, or --replace to write over it",
        ),
        (
            "quote touring.json -o touring.json --date 2026-08-03",
            "-o touring.json: touring.json is the selection that is read here; "
            "give another name, or --replace to write over it",
        ),
        (
            "quote touring.json -o linked.json --date 2026-08-03",
            "-o linked.json: linked.json is the selection that is read here; "
            "give another name, or --replace to write over it",
        ),
        (
            "compare contractor.yaml touring.json -o touring.json",
            "-o touring.json: touring.json is the selection that is read here; "
            "give another name, or --replace to write over it",
        ),
        (
            "budget touring.json -o touring.json",
            "-o touring.json: touring.json is the selection that is read here; "
            "give another name, or --replace to write over it",
        ),
        (
            "sheets job.json -o . --as json",
            "-o .: job.json is the selection that is read here; "
            "give another name, or --replace to write over it",
        ),
        (
            "layout touring.yaml -o quandong-logo.svg",
            "-o quandong-logo.svg: quandong-logo.svg is the logo that is read here; "
            "give another name",
        ),
        (
            "quote touring.yaml -o mine/quote.html --templates mine --replace --date 2026-08-03",
            "-o mine/quote.html: mine/quote.html is a template that is read here; "
            "give another name",
        ),
        (
            "complete wish.yaml -o quandong/tray.yaml --replace",
            "-o quandong/tray.yaml: quandong/tray.yaml is the catalogue that is read here; "
            "give another name",
        ),
        (
            "complete wish.yaml -o shop.yaml --replace",
            "-o shop.yaml: shop.yaml is the catalogue that is read here; give another name",
        ),
    ],
)
def test_nothing_that_was_read_is_written_over(
    arguments: str, told: str, run: Run, tmp_path: Path
) -> None:
    shop(tmp_path)
    assert run("complete", "touring.yaml", "-o", "touring.json").code == 0
    shutil.copy("touring.json", "job.json")
    Path("linked.json").symlink_to("touring.json")
    before = {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}
    ran = run(*arguments.split(), "--catalogue", "shop.yaml")
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.splitlines()[-1] == f"Error: {told}"
    assert {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()} == before


def test_a_catalogue_is_never_written_over_even_where_another_was_read(
    run: Run, tmp_path: Path
) -> None:
    shop(tmp_path)
    shutil.copy(CASES / "small.yaml", "whole.yaml")
    for name in ("shop.yaml", "quandong/tray.yaml", "whole.yaml"):
        before = (tmp_path / name).read_bytes()
        for more in ((), ("--replace",)):
            ran = run("complete", "touring.yaml", "-o", name, *more)
            assert (ran.code, ran.out) == (2, "")
            assert ran.err.endswith(f"-o {name}: {name} is a catalogue; give another name\n")
        assert (tmp_path / name).read_bytes() == before


def test_a_selection_is_written_over_where_that_is_asked_for(run: Run, tmp_path: Path) -> None:
    ran = run("complete", "--pick", "vehicle=mid-dual", "-o", "new.yaml")
    assert ran.code == 0
    first = read_selection(tmp_path / "new.yaml")
    again = ("complete", "new.yaml", "--pick", "door-locks=compression", "-o", "new.yaml")
    assert run(*again).code == 2
    assert run(*again, "--replace").code == 0
    assert read_selection(tmp_path / "new.yaml").one("door-locks") == "compression"
    assert first.one("door-locks") != "compression"
    assert run("quote", "new.yaml", "-o", "q.html", *DAY).code == 0
    assert run("quote", "new.yaml", "-o", "q.html", *DAY).code == 0, "a paper is made again"


def test_a_link_is_followed_and_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "real" / "q.txt").write_text("old")
    (tmp_path / "link").symlink_to(tmp_path / "real" / "q.txt")
    (tmp_path / "new").symlink_to(tmp_path / "real" / "n.txt")
    (tmp_path / "loop").symlink_to(tmp_path / "loop")
    replace_file(tmp_path / "link", b"one")
    replace_file(tmp_path / "new", b"two")
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "new").is_symlink()
    assert (tmp_path / "real" / "q.txt").read_text() == "one"
    assert (tmp_path / "real" / "n.txt").read_text() == "two"
    with pytest.raises(FileError, match="loop: cannot write it: Too many levels of symbolic links"):
        replace_file(tmp_path / "loop", b"three")
    assert sorted(path.name for path in tmp_path.rglob("*")) == sorted(
        ["real", "link", "new", "loop", "q.txt", "n.txt"]
    )


@pytest.mark.parametrize("command", ["quote", "compare contractor.yaml", "budget", "layout"])
def test_a_file_that_cannot_be_written_is_told_before_the_work(
    command: str, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def never(*_: object) -> str:
        raise AssertionError("it was made first")

    monkeypatch.setattr("configurator.render.writing.html_to_pdf", never)
    (tmp_path / "old.pdf").write_bytes(b"old")
    (tmp_path / "old.pdf").chmod(0o444)
    os.mkfifo(tmp_path / "pipe.pdf")
    (tmp_path / "null.pdf").symlink_to("/dev/null")
    for name, told in (
        ("old.pdf", "it is read-only; make it writable, or give another name"),
        ("pipe.pdf", "it is a device or a pipe, not a file"),
        ("null.pdf", "it is a device or a pipe, not a file"),
        ("wish.yaml/q.pdf", "Not a directory; name another folder"),
    ):
        ran = run(*command.split(), "touring.yaml", "-o", name)
        assert (ran.code, ran.out, ran.err) == (3, "", f"{name}: cannot write it: {told}\n")
    assert (tmp_path / "old.pdf").read_bytes() == b"old"


def test_a_name_of_another_kind_is_refused_before_the_work(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    def never(*_: object) -> None:
        raise AssertionError("it was searched first")

    monkeypatch.setattr("configurator.build.Build._search", never)
    for command in ("complete", "within --budget 9000"):
        ran = run(*command.split(), "--pick", "vehicle=mid-dual", "-o", "found.txt")
        assert (ran.code, ran.out) == (2, "")
        assert ran.err == "found.txt: the file's name must end in .yaml or .json\n"


def test_a_folder_that_is_missing_is_made(run: Run, tmp_path: Path) -> None:
    for arguments in (
        ("quote", "touring.yaml", "-o", "a/b/q.html", *DAY),
        ("compare", "touring.yaml", "contractor.yaml", "-o", "c/c.html"),
        ("sheets", "touring.yaml", "-o", "d/e", "--as", "html"),
        ("complete", "touring.yaml", "-o", "f/found.yaml"),
        ("mass", "touring.yaml", "-o", "g/mass.svg"),
    ):
        assert run(*arguments).code == 0
        assert (tmp_path / arguments[arguments.index("-o") + 1]).exists()
    refused = run("quote", "wish.yaml", "-o", "never/q.html", *DAY)
    assert refused.code == 1
    assert not (tmp_path / "never").exists()


def test_a_quote_without_a_name_is_called_by_its_number_and_spares_what_is_there(
    run: Run, tmp_path: Path
) -> None:
    ran = run("quote", "touring.yaml", "--number", "Q-7/2", *DAY)
    assert ran.code == 0
    assert ran.out.startswith("Q-7-2.pdf: quote Q-7/2, AUD ")
    assert (tmp_path / "Q-7-2.pdf").read_bytes().startswith(b"%PDF-")
    again = run("quote", "touring.yaml", "--number", "Q-7/2", *DAY)
    assert (again.code, again.out) == (2, "")
    assert again.err.splitlines()[-1] == (
        "Error: Q-7-2.pdf is there already; name the file with -o"
    )


@pytest.mark.parametrize(
    "arguments",
    [
        ("check", ""),
        ("price", "touring.yaml", "--catalogue", ""),
        ("quote", "touring.yaml", "-o", ""),
        ("quote", "touring.yaml", "-o", "q.html", "--templates", ""),
        ("quote", "--batch", "", "-o", "quotes"),
        ("compare", "touring.yaml", ""),
        ("explain", "", "canopy-height=850mm"),
        ("fixes", ""),
        ("catalogue", "check", ""),
        ("demo", ""),
        ("sheets", "touring.yaml", "-o", ""),
    ],
    ids=" ".join,
)
def test_an_empty_name_names_nothing(arguments: tuple[str, ...], run: Run) -> None:
    ran = run(*arguments)
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.splitlines()[-1].endswith("the name is empty: give one, or leave this out")


# Files are read once, and not without end


def test_selections_and_catalogues_may_come_through_pipes(tmp_path: Path, run: Run) -> None:
    assert run("quote", "touring.yaml", "-o", "q.pdf", *DAY).code == 0
    priced = run("price", "touring.yaml").out
    for source in ("touring.yaml", "q.pdf"):
        ran = fresh(tmp_path, f"configurator price <(cat {source}) --date 2026-08-03")
        assert (ran.code, ran.err) == (0, "")
        assert ran.out == priced
    Path("shop.yaml").write_text(shipped_in_one(), "utf-8")
    ran = fresh(tmp_path, "configurator price touring.yaml --catalogue <(cat shop.yaml)")
    assert (ran.code, ran.err) == (0, "")


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="the device is of Linux")
def test_a_file_without_end_is_refused(run: Run, tmp_path: Path) -> None:
    for arguments in (
        ("check", "/dev/zero"),
        ("check", "touring.yaml", "--catalogue", "/dev/zero"),
        ("catalogue", "check", "/dev/zero"),
    ):
        ran = run(*arguments)
        assert (ran.code, ran.out) == (3, "")
        assert "cannot read it: it has more than " in ran.err
    (tmp_path / "long.yaml").write_bytes(b"# " + b"x" * MOST_BYTES + b"\n")
    ran = run("check", "long.yaml")
    assert (ran.code, ran.err) == (
        3,
        "long.yaml: cannot read it: it has more than 10 MB; check that this is the right file\n",
    )


# Days without prices


PROMISING = (
    *("price", "compare contractor.yaml", "budget --no-savings"),
    *("sheets -o s --as html", "quote -o q.html"),
)


@pytest.mark.parametrize("command", PROMISING)
def test_a_day_without_prices_has_no_answer(command: str, run: Run, tmp_path: Path) -> None:
    for day in ("2026-06-30", "2027-07-01", "2031-01-01"):
        ran = run(*command.split(), "touring.yaml", "--date", day)
        assert (ran.code, ran.out) == (1, "")
        assert ran.err == (
            f"--date {day}: error: the catalogue's prices hold from 2026-07-01 to 2027-06-30, "
            f"not on {day} (day-without-prices)\n"
            "    hint: give a day on which they hold, or bring the catalogue up to date\n"
        )
        as_json = run(*command.split(), "touring.yaml", "--date", day, "--json")
        assert as_json.code == 1
        assert valid(as_json)["problems"][0]["code"] == "day-without-prices"
    assert not (tmp_path / "s").exists()
    assert not (tmp_path / "q.html").exists()
    for day in ("2026-07-01", "2027-06-30"):
        answered = run(*command.split(), "contractor.yaml", "--date", day)
        assert (answered.code, day in answered.err) == (0, False)


def test_a_build_is_not_quoted_on_a_day_without_prices() -> None:
    build = open_shop(today=dt.date(2026, 8, 3)).build(SELECTIONS / "touring.yaml")
    with pytest.raises(QuoteRefused) as raised:
        build.quote("Q-1", dt.date(2031, 1, 1))
    assert [found.code for found in raised.value.findings] == ["no-prices"]


def test_today_without_prices_is_said_and_no_paper_is_made(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(common, "today", lambda: dt.date(2031, 1, 1))
    note = (
        "quandong.yaml: note: the catalogue's prices hold from 2026-07-01 to 2027-06-30, not on "
        "2031-01-01; shown are those of 2027-06-30\n"
    )
    for command in ("price", "compare touring.yaml", "budget", "check", "complete", "options"):
        ran = run(*command.split(), "contractor.yaml")
        assert (ran.code, bool(ran.out)) == (0, True)
        assert ran.err.endswith(note)
    for command in ("quote -o q.html", "compare contractor.yaml -o c.html", "budget -o b.html",
                    "sheets -o s", "quote --json"):  # fmt: skip
        ran = run(*command.split(), "touring.yaml")
        assert ran.code == 1
        assert "not on 2031-01-01" in ran.out + ran.err
    assert not [path for path in tmp_path.iterdir() if path.suffix == ".html" or path.is_dir()]


def test_every_command_has_the_prices_of_today(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    dear = [
        {"kind": "markup", "cost": 50, "percent": 100, "until": "2026-08-31"},
        {"kind": "markup", "cost": 450, "percent": 100, "from": "2026-09-01"},
    ]
    raw = raw_catalogue([several("box", [option("left", dear)])])
    (tmp_path / "dated.json").write_text(written(raw))
    monkeypatch.setenv("CONFIGURATOR_CATALOGUE", "dated.json")
    for day, total in ((dt.date(2026, 8, 31), "110.00"), (dt.date(2026, 9, 1), "990.00")):
        monkeypatch.setattr(common, "today", lambda day=day: day)
        picks = ("--pick", "vehicle=ute", "--pick", "box=left")
        assert f" {total}" in run("price", *picks).out
        assert json.loads(run("complete", *picks, "--json").out)["total"] == total
        within = run("within", "--budget", "500", "--wish", "box=left", "--json", *picks[:2])
        granted = json.loads(within.out)["granted"]
        assert bool(granted) == (total == "110.00")


@pytest.mark.parametrize(
    "day", ["2026-W32-1", "20260803", "2026-8-3", "3 August 2026", "03/08/2026", ""]
)
def test_a_day_is_written_in_one_way(day: str, run: Run) -> None:
    ran = run("price", "touring.yaml", "--date", day)
    assert (ran.code, ran.out) == (2, "")
    said = f"Error: --date {day}: write a day as YYYY-MM-DD, such as 2026-08-03"
    assert ran.err.splitlines()[-1] == said


# Refusals as JSON, and exit codes


@pytest.mark.parametrize("command", ["quote", "sheets"])
def test_a_refusal_is_told_as_json_too(command: str, run: Run) -> None:
    plain = run(command, "wish.yaml", "-o", "q.html", *DAY)
    ran = run(command, "wish.yaml", "--json", *DAY)
    assert (ran.code, ran.err) == (1, "")
    answer = valid(ran)
    assert answer["answer"] == "refused"
    told = [f"{one['sentence']} hint: {one['hint']}" for one in answer["findings"]]
    more = "For the best ways to fix this: configurator fixes wish.yaml"
    assert " ".join(plain.err.split()) == " ".join([f"no {command}:", *told, more])
    assert answer["stops"] == [one["sentence"] for one in answer["findings"]]


@pytest.mark.parametrize("kind", ["svg", "html", "pdf"])
def test_what_does_not_go_together_is_a_finding_and_has_no_picture(
    kind: str, run: Run, tmp_path: Path
) -> None:
    file = f"x.{kind}"
    for more in ((), ("--json",)):
        ran = run("layout", "wish.yaml", "-o", file, *more)
        assert ran.code == 1
        assert "Upright fridge with freezer, 130 L does not fit" in " ".join(ran.out.split())
        assert ran.err == f"{file}: not written, because there is no layout to draw\n"
    assert not (tmp_path / file).exists()
    assert run("layout", "wish.yaml", "-o", "x.json").code == 1
    assert json.loads((tmp_path / "x.json").read_text())["answer"] == "layout"


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="the device is of Linux")
@pytest.mark.parametrize(
    ("line", "code"),
    [
        ("configurator chekc 2>/dev/full", 3),
        ("configurator check none.yaml 2>/dev/full", 3),
        ("configurator quote wish.yaml -o q.html 2>/dev/full", 3),
        ("configurator price touring.yaml --catalogue /dev/null 2>/dev/full", 3),
        ("configurator price touring.yaml >&-", 3),
        ("configurator quote touring.yaml -o q.pdf --date 2026-08-03 >&-", 3),
        ("configurator price touring.yaml 2>&-", 0),
        ("configurator check wish.yaml 2>&-", 1),
        ("configurator chekc 2>&-", 2),
        ("configurator price touring.yaml <&-", 0),
        ("configurator price touring.yaml >&- 2>&- <&-", 3),
        ("set -o pipefail; configurator check wish.yaml --json | true", 141),
    ],
)
def test_streams_that_are_full_or_closed_change_the_exit_code_and_nothing_else(
    line: str, code: int, tmp_path: Path
) -> None:
    ran = fresh(tmp_path, line)
    assert ran.code == code
    assert "Traceback" not in ran.err
    assert "Exception ignored" not in ran.err
    assert bool(ran.out) == (code in (0, 1))
    assert not (tmp_path / "q.pdf").exists()


def test_an_interruption_of_the_first_imports_ends_quietly(tmp_path: Path) -> None:
    (tmp_path / "early.py").write_text(
        "import sys\n"
        "class Interrupted:\n"
        "    def find_spec(self, name, path=None, target=None):\n"
        "        if name == 'configurator.cli':\n"
        "            raise KeyboardInterrupt\n"
        "sys.meta_path.insert(0, Interrupted())\n"
        "from configurator.__main__ import main\n"
        "main()\n"
    )
    done = subprocess.run(
        [sys.executable, "early.py", "price"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout, done.stderr) == (130, "", "")


@pytest.fixture
def here() -> Iterator[pytest.MonkeyPatch]:
    """Sets the time zone of this process, which has its own back afterwards."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(common, "today", TODAY_HERE)
        yield patch
    time.tzset()


@pytest.mark.usefixtures("rendered_anew")
@pytest.mark.parametrize("zone", ["XXX+24", "XXX-24", "nowhere", ""])
def test_any_time_zone_has_a_day(
    zone: str, run: Run, tmp_path: Path, here: pytest.MonkeyPatch
) -> None:
    small = raw_catalogue([several("box", [option("left", 450)])])
    (tmp_path / "small.json").write_text(written(small))
    (tmp_path / "small.yaml").write_text("format: 1\ncatalogue: test\npicks: {vehicle: ute}\n")
    here.setenv("TZ", zone)
    time.tzset()
    ran = run("quote", "small.yaml", "-o", "q.pdf", "--catalogue", "small.json", *DAY)
    assert (ran.code, ran.err) == (0, "")
    assert (tmp_path / "q.pdf").exists()
    assert run("price", "small.yaml", "--catalogue", "small.json").code == 0


# What was typed is not repeated without end


@pytest.mark.parametrize(
    "arguments",
    [
        ["price", "--" + "a" * 100_000],
        ["a" * 100_000],
        ["price", "--pick", "x=y:" + "9" * 100_000],
        ["compare", "touring.yaml", "--change", "x=y:" + "9" * 100_000],
        ["within", "--budget", "3", "--wish", "x=y:" + "9" * 100_000],
        ["price", "--pick", "a=" + "b" * 100_000],
        ["price", "--pick", "a " * 50_000],
        ["check", "a" * 100_000],
        ["check", "touring.yaml", "--drop", "a" * 100_000],
        ["quote", "touring.yaml", "-o", "a" * 100_000],
        ["quote", "touring.yaml", "-o", "q.html", "--number", "a" * 100_000],
        ["price", "touring.yaml", "--date", "9" * 100_000],
        ["mass", "touring.yaml", "--people", "9" * 100_000],
        ["mass", "touring.yaml", "--tow-ball", "9" * 100_000],
        ["budget", "touring.yaml", "--limit", "9" * 100_000],
        ["catalogue", "list", "a" * 100_000],
        ["options", "--choice", "a" * 100_000],
        ["demo", "a" * 100_000],
        ["quote", "touring.yaml", "--language", "a" * 100_000, "-o", "q.html"],
    ],
    ids=lambda arguments: " ".join(arguments)[:40],
)
def test_a_message_does_not_repeat_what_has_no_end(arguments: list[str], run: Run) -> None:
    ran = run(*arguments)
    assert ran.code in (1, 2, 3)
    assert not ran.out
    assert ran.err
    assert len(ran.err) < 3_000


def test_a_quantity_is_at_most_a_hundred_thousand(run: Run) -> None:
    ran = run("price", "--pick", "lights=strip-inside:100001")
    assert (ran.code, ran.out) == (2, "")
    assert (
        ran.err.splitlines()[-1] == "Error: the quantity 100001 is too large; give at most 100000"
    )
    assert run("price", "--pick", "lights=strip-inside:1000").code == 1


# Very many mistakes


@pytest.mark.parametrize(
    ("head", "line", "code"),
    [
        ("", "key{n}: 1", "unknown-key"),
        ("picks:", "  key{n}: a", "unknown-choice"),
        ("picks:", "  Key {n}: a", "bad-name"),
        ("notes:", "- [{n}]", "wrong-type"),
    ],
    ids=["keys", "choices", "names", "entries"],
)
def test_of_very_many_mistakes_a_hundred_are_told_and_the_rest_counted(
    head: str, line: str, code: str, run: Run, tmp_path: Path
) -> None:
    """And four times as many are four times the work, not sixteen times."""
    work = []
    for count in (150, 600):
        made = "\n".join(line.format(n=n) for n in range(count))
        (tmp_path / "many.yaml").write_text(f"format: 1\ncatalogue: quandong\n{head}\n{made}\n")
        ran = run("check", "many.yaml")
        work.append(lines_run(lambda: run("check", "many.yaml")))
    assert (ran.code, ran.out) == (1, "")
    assert ran.err.count(f" ({code})\n") == 100
    assert ran.err.splitlines()[-1] == "and 500 more problems: fix these first"
    assert len(ran.err) < 50_000
    assert work[1] < 4.5 * work[0]
    as_json = json.loads(run("check", "many.yaml", "--json").out)
    assert len(as_json["problems"]) == 600


def test_the_check_of_a_catalogue_counts_the_rest_too(run: Run, tmp_path: Path) -> None:
    text = shipped_in_one()
    (tmp_path / "many.yaml").write_text(text + "".join(f"key{n}: 1\n" for n in range(101)))
    ran = run("catalogue", "check", "many.yaml")
    assert (ran.code, ran.err) == (1, "")
    assert ran.out.splitlines()[-1] == "and 1 more problem: fix these first"


def test_fonts_that_find_no_room_are_told_with_their_folder(tmp_path: Path) -> None:
    touring = SELECTIONS / "touring.yaml"
    line = f"ulimit -f 20; configurator quote {touring} -o big.pdf"
    ran = fresh(tmp_path, line, PYTHONDONTWRITEBYTECODE="1")
    assert ran.code == 3
    assert re.search(r"^the fonts of papers cannot be written into .+: File too large; ", ran.err)
    assert ran.err.count("\n") == 1
    assert not (tmp_path / "big.pdf").exists()


@pytest.mark.parametrize(
    "asked",
    [
        "compare touring.yaml wish.yaml --language de",
        "budget touring.yaml --language de",
        "layout touring.yaml --language de",
        "sheets touring.yaml --language de",
        "requote --language de",
    ],
)
def test_a_language_that_no_paper_is_written_in_is_refused(asked: str, run: Run) -> None:
    ran = run(*asked.split())
    assert (ran.code, ran.out) == (2, "")
    said = "Error: --language is for a paper: add -o, or leave it out"
    assert ran.err.splitlines()[-1] == said


def test_a_comparison_written_to_a_file_says_what_of_it_cannot_be_quoted(run: Run) -> None:
    ran = run("compare", "touring.yaml", "wish.yaml", "-o", "both.html", *DAY)
    assert ran.code == 0
    assert ran.err == "caution: B cannot be quoted as it is; both.html says why\n"
