"""The command line as people meet it: words, exit codes, streams, files.

Commands run within this process, through the function that the installed command calls; a few run
as processes of their own, where pipes and devices matter.
"""

from __future__ import annotations

import errno
import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from decimal import Decimal
from importlib.metadata import version
from pathlib import Path

import click
import pytest
from pypdf import PdfReader

from configurator import Catalogue, MissingLibrary
from configurator.checking.check import check
from configurator.cli import cli
from configurator.cli.common import Commands
from configurator.render import writing
from configurator.selection.reading import read_selection
from configurator.selection.resolved import Resolved
from tests.support.building import choice, option, raw_catalogue, rule, several, written
from tests.support.commands import Run, SameAs
from tests.support.paths import GOLDEN, TESTS

DAY = ("--date", "2026-08-03")
COMMAND = (sys.executable, "-m", "configurator")


def commands(command: click.Command, path: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    yield path
    if isinstance(command, Commands):
        for name, inner in command.every().items():
            yield from commands(inner, (*path, name))


EVERY_COMMAND = list(commands(cli))
LEAVES = [p for p in EVERY_COMMAND if not any(q[: len(p)] == p and q != p for q in EVERY_COMMAND)]


def files(folder: Path) -> dict[str, bytes]:
    """What lies in a folder."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file()
    }


# Help


@pytest.mark.parametrize("path", EVERY_COMMAND, ids=lambda path: "-".join(path) or "configurator")
def test_help_pages_are_as_agreed(
    path: tuple[str, ...], run: Run, same_as: SameAs, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    ran = run(*path, "--help")
    assert (ran.code, ran.err) == (0, "")
    assert max(map(len, ran.out.splitlines())) <= 80
    assert "..." not in ran.out.replace("]...", "").replace("SELECTION...", "")
    same_as("help-" + ("-".join(path) or "configurator"), ran.out)


def test_every_help_page_kept_is_one_of_a_command() -> None:
    kept = {file.stem.removeprefix("help-") for file in GOLDEN.glob("help-*.txt")}
    assert kept == {"-".join(path) or "configurator" for path in EVERY_COMMAND}


def test_the_first_page_says_what_the_exit_codes_mean(run: Run) -> None:
    words = " ".join(run("--help").out.split())
    for code in (
        "0 fine",
        "1 something stops",
        "2 wrong usage",
        "3 a file cannot be read or written",
    ):
        assert code in words


def test_without_a_command_the_help_page_is_shown_as_wrong_usage(run: Run) -> None:
    ran = run()
    assert (ran.code, ran.out) == (2, "")
    assert ran.err == run("--help").out


def test_the_version_is_that_of_the_distribution(run: Run) -> None:
    ran = run("--version")
    assert (ran.code, ran.out) == (
        0,
        f"configurator, version {version('tray-canopy-configurator')}\n",
    )


# Wrong usage: exit code 2, one sentence, nothing on standard output


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        ("chekc wish.yaml", 'there is no command "chekc". Did you mean "check"?'),
        ("catalogue lits", 'there is no command "lits". Did you mean "list"?'),
        ("zzz", 'there is no command "zzz"; configurator --help lists them'),
        ("register zzz", 'there is no command "zzz"; configurator register --help lists them'),
        (
            "options --pick vehicle=mid-dual --pick vehicle=large-dual",
            "--pick vehicle=mid-dual and --pick vehicle=large-dual: Vehicle has one option at "
            "most: leave out one of them",
        ),
        (
            "quote --pick vehicle=mid-dual --language de-AU",
            "Invalid value for '--language': no papers in \"de-AU\" yet; available: de and en, "
            "with a country where it matters, as in en-AU: in de, there are de, de-AT, de-BE, "
            "de-CH, de-DE, de-IT, de-LI, de-LU",
        ),
        ("check --pik a=b", "No such option '--pik'. Did you mean '--pick'?"),
        ("check", "give a SELECTION file, or picks with --pick"),
        ("check --drop roof-rack", "give a SELECTION file, or picks with --pick"),
        ("check wish.yaml touring.yaml", "Got unexpected extra argument (touring.yaml)"),
        (
            "price --pick canopy-height",
            "--pick canopy-height: write it as CHOICE=OPTION or CHOICE=OPTION:QUANTITY",
        ),
        (
            "price --pick =850mm",
            "--pick =850mm: write it as CHOICE=OPTION or CHOICE=OPTION:QUANTITY",
        ),
        (
            "price --pick canopy-height=",
            "--pick canopy-height=: write it as CHOICE=OPTION or CHOICE=OPTION:QUANTITY",
        ),
        (
            "price --pick lights=strip-inside:two",
            "--pick lights=strip-inside:two: the quantity must be a number above 0, "
            "such as 2 or 3.5",
        ),
        (
            "price --pick lights=strip-inside:",
            "--pick lights=strip-inside:: the quantity must be a number above 0, such as 2 or 3.5",
        ),
        (
            "price --pick lights=strip-inside:-1",
            "--pick lights=strip-inside:-1: the quantity must be a number above 0, "
            "such as 2 or 3.5",
        ),
        (
            "price --pick lights=strip-inside:1.555",
            "--pick lights=strip-inside:1.555: the quantity must be a number above 0, "
            "such as 2 or 3.5",
        ),
        (
            "price --pick lights=strip-inside:٣",
            "--pick lights=strip-inside:٣: write it as CHOICE=OPTION or CHOICE=OPTION:QUANTITY",
        ),
        (
            "quote touring.yaml -o quote.html --date 2026-13-01",
            "--date 2026-13-01: write a day as YYYY-MM-DD, such as 2026-08-03",
        ),
        (
            "quote touring.yaml -o quote.html --date tomorrow",
            "--date tomorrow: write a day as YYYY-MM-DD, such as 2026-08-03",
        ),
        ("compare touring.yaml", "give at least two selections to compare, or one and a --change"),
    ],
)
def test_wrong_usage_says_what_to_do(arguments: str, sentence: str, run: Run) -> None:
    ran = run(*arguments.split())
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.splitlines()[-1] == f"Error: {sentence}"
    assert ran.err.startswith("Usage: configurator ")


@pytest.mark.parametrize("name", ["quote.txt", "quote", "quote.pdf.gz", "wish.yaml"])
def test_a_file_of_another_kind_is_wrong_usage_and_not_written(
    name: str, run: Run, tmp_path: Path
) -> None:
    before = files(tmp_path)
    kinds = ".pdf or .html or .json"
    for command, known in (
        (("quote", "touring.yaml"), f"{kinds} or .xml or .ics"),
        (("compare", "touring.yaml", "contractor.yaml"), kinds),
    ):
        ran = run(*command, "-o", name)
        assert (ran.code, ran.out) == (2, "")
        assert ran.err == f"{name}: the file's name must end in {known}\n"
    assert files(tmp_path) == before


@pytest.mark.parametrize(
    ("number", "sentence"),
    [
        ("", "--number: a quote needs a number; give one that is not empty"),
        ("  ", "--number: a quote needs a number; give one that is not empty"),
        ("Q-1\nQ-2", "a quote's number is one line of at most 40 characters"),
        ("Q" * 41, "a quote's number is one line of at most 40 characters"),
        ("Q-\u202e1", "a quote's number is one line of at most 40 characters"),
    ],
)
def test_a_number_that_cannot_stand_on_paper_is_refused(
    number: str, sentence: str, run: Run
) -> None:
    ran = run("quote", "touring.yaml", "-o", "quote.html", "--number", number, *DAY)
    assert (ran.code, ran.out, ran.err) == (2, "", f"{sentence}\n")


# Wrong data: exit code 1, where it stands and what to do


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (
            "--pick canopy-heigt=850mm",
            '--pick canopy-heigt=850mm: error: there is no choice "canopy-heigt" '
            "(unknown-choice)\n"
            '    hint: did you mean "canopy-height" or "canopy-length"?\n',
        ),
        (
            "--pick canopy-height=850",
            '--pick canopy-height=850: error: Canopy height has no option "850" '
            "(unknown-option)\n"
            '    hint: did you mean "850mm"?\n',
        ),
        (
            "--pick canopy-length=1500mm",
            '--pick canopy-length=1500mm: error: Canopy length has no option "1500mm" '
            "(unknown-option)\n"
            '    hint: did you mean "1400mm" or "1650mm"?\n',
        ),
        (
            "--pick canopy-length=180mm",
            '--pick canopy-length=180mm: error: Canopy length has no option "180mm" '
            "(unknown-option)\n"
            '    hint: did you mean "1800mm" or "2100mm"?\n',
        ),
        (
            "--pick oven=none",
            '--pick oven=none: error: Oven, 12 V has no option "none" (unknown-option)\n'
            "    hint: write none: [oven] beside picks, or give --none oven\n",
        ),
        (
            "--pick lights=strip-inside:0",
            "--pick lights=strip-inside:0: error: 0 is not a quantity (quantity)\n"
            "    hint: give 1 or more\n",
        ),
        (
            "touring.yaml --drop canopy-heigt",
            '--drop canopy-heigt: error: "canopy-heigt" is not picked (not-picked)\n'
            '    hint: did you mean "canopy-height" or "canopy-length"?\n',
        ),
        (
            "touring.yaml --drop canopy-height=1000",
            '--drop canopy-height=1000: error: "canopy-height=1000" is not picked (not-picked)\n'
            '    hint: did you mean "1000mm"?\n',
        ),
        (
            "touring.yaml --drop tow-bar",
            '--drop tow-bar: error: "tow-bar" is not picked (not-picked)\n',
        ),
    ],
)
def test_a_pick_or_drop_that_means_nothing_is_told_with_a_near_miss(
    arguments: str, told: str, run: Run
) -> None:
    for command in ("check", "price"):
        ran = run(command, *arguments.split())
        assert (ran.code, ran.out, ran.err) == (1, "", told)
        as_json = run(command, *arguments.split(), "--json")
        assert (as_json.code, as_json.err) == (1, "")
        assert json.loads(as_json.out)["answer"] == "problems"


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (
            "options --choice fridge",
            '--choice fridge: error: there is no choice "fridge" (unknown-choice)\n'
            '    hint: did you mean "chest-fridge", "fridge-slide" or "upright-fridge"?\n',
        ),
        (
            "catalogue list canopy-heigt",
            'CHOICE canopy-heigt: error: there is no choice "canopy-heigt" (unknown-choice)\n'
            '    hint: did you mean "canopy-height" or "canopy-length"?\n',
        ),
        (
            "options --choice zzz",
            '--choice zzz: error: there is no choice "zzz" (unknown-choice)\n'
            '    hint: "configurator catalogue list" lists all of them\n',
        ),
    ],
)
def test_a_choice_that_there_is_not_is_told_as_a_pick_is(
    arguments: str, told: str, run: Run
) -> None:
    ran = run(*arguments.split())
    assert (ran.code, ran.out, ran.err) == (1, "", told)
    as_json = run(*arguments.split(), "--json")
    assert (as_json.code, as_json.err) == (1, "")
    assert json.loads(as_json.out)["answer"] == "problems"


def test_a_budget_says_what_is_open_as_a_price_does(run: Run, tmp_path: Path) -> None:
    named = ("vehicle=mid-dual", "canopy-height=1000mm", "oven=oven-small")
    picks = [word for pick in named for word in ("--pick", pick)]
    ran = run("budget", *picks, "--limit", "20000")
    still = ran.out[ran.out.index("Still without a price: Tall, 1000 mm") :].partition("\n\n")[0]
    assert "Still to be chosen: Tray, " in still
    assert "Not checked: configurator check says whether it goes together" in still
    assert still in run("price", *picks).out
    assert "AUD 19,710.00 of the limit of AUD 20,000.00 is left for what is still open." in ran.out
    (canopy,) = [line for line in ran.out.splitlines() if "  Canopy  " in line]
    assert canopy.split() == ["Canopy", "no", "price", "yet"]
    assert "To be paid to the shop, so far" in ran.out
    data = json.loads(run("budget", *picks, "--limit", "20000", "--json").out)
    assert (data["open"], data["undecided"][0]) == (["Tall, 1000 mm"], "tray-style")
    assert run("budget", *picks, "--limit", "20000", "-o", "open.html").code == 0
    paper = (tmp_path / "open.html").read_text("utf-8").replace("\N{NO-BREAK SPACE}", " ")
    assert "<p>Still without a price: Tall, 1000 mm</p>" in paper
    assert "<p>Still to be chosen: Tray, " in paper
    assert "<p>Whether these picks go together has not been checked.</p>" in paper


@pytest.mark.parametrize("command", ["fixes wish.yaml", "budget wish.yaml --limit 20000"])
@pytest.mark.parametrize(
    ("kept", "told"),
    [
        ("vehicle=mid-duel", 'Vehicle has no option "mid-duel" (unknown-option)'),
        (
            "vehicle=mid-extra",
            '"vehicle=mid-extra" is to be kept, but is not picked (keep-not-picked)',
        ),
        ("upright-fridge=upright-120", 'Upright fridge has no option "upright-120"'),
    ],
)
def test_what_is_to_be_kept_has_to_be_picked(kept: str, told: str, command: str, run: Run) -> None:
    hints = {
        "vehicle=mid-duel": 'did you mean "mid-dual"?',
        "vehicle=mid-extra": "picked: mid-dual",
        "upright-fridge=upright-120": 'did you mean "upright-110" or "upright-130"?',
    }
    ran = run(*command.split(), "--keep", kept)
    assert (ran.code, ran.out) == (1, "")
    assert ran.err.startswith(f"--keep {kept}: error: {told}")
    assert ran.err.endswith(f"    hint: {hints[kept]}\n")


def test_none_of_a_choice_and_a_pick_of_it_contradict_each_other(run: Run) -> None:
    ran = run("check", "wish.yaml", "--none", "oven", "--pick", "oven=oven-small")
    told = "--none oven and --pick oven=oven-small contradict each other: leave out one of them\n"
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.endswith(told)


def test_a_free_line_can_be_kept(run: Run, tmp_path: Path) -> None:
    picks = (tmp_path / "wish.yaml").read_text("utf-8")
    (tmp_path / "mirrors.yaml").write_text(
        picks.replace("picks:\n", "picks:\n  free-line: {mirrors: 2}\n", 1)
        + "free-lines: [{id: mirrors, title: Mirrors, price: 180.00, mass: 3}]\n",
        "utf-8",
    )
    ran = run("budget", "mirrors.yaml", "--keep", "free-line=mirrors", "--limit", "9000")
    assert "Mirrors" in ran.out
    assert (
        "free-line=mirrors"
        in json.loads(run("budget", "mirrors.yaml", "--keep", "free-line=mirrors", "--json").out)[
            "kept"
        ]
    )


@pytest.mark.parametrize(
    "arguments",
    [
        "within wish.yaml --budget 30000 {--wish} solr=panel-200",
        "fixes wish.yaml {--keep} solr",
        "budget wish.yaml {--keep} solr",
        "check wish.yaml {--none} solr",
        "explain wish.yaml {CHOICE=OPTION} solr=panel-200",
        "fixes wish.yaml {CHOICE=OPTION} solr=panel-200",
    ],
)
def test_whatever_names_an_option_is_told_with_its_argument(arguments: str, run: Run) -> None:
    before, named, after = re.split(r"\{(.*)\}", arguments)
    typed = [*before.split(), *([named] if named.startswith("--") else []), *after.split()]
    told = f'{named}{after}: error: there is no choice "solr" (unknown-choice)\n'
    hint = '    hint: did you mean "solar" or "colour"?\n'
    ran = run(*typed)
    assert (ran.code, ran.out, ran.err) == (1, "", told + hint)


def test_everything_wrong_with_a_catalogue_is_told_at_once(run: Run, tmp_path: Path) -> None:
    (tmp_path / "bad.yaml").write_text("format: 2\nid: Bad Name\n")
    answer = run("catalogue", "check", "bad.yaml")
    assert (answer.code, answer.err) == (1, "")
    places = [line.split(": ")[0] for line in answer.out.splitlines() if ": error: " in line]
    assert places == ["bad.yaml:1:1", "bad.yaml:1:9", "bad.yaml:2:5"]
    in_the_way = run("price", "touring.yaml", "--catalogue", "bad.yaml")
    assert (in_the_way.code, in_the_way.out) == (1, "")
    assert in_the_way.err == answer.out
    as_json = run("catalogue", "check", "bad.yaml", "--json")
    told = json.loads(as_json.out)["problems"]
    assert (as_json.code, len(told)) == (1, answer.out.count(": error: "))


# Files that cannot be read or written: exit code 3


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (
            "check none.yaml",
            "none.yaml: cannot read it: No such file or directory; check its name and its folder\n",
        ),
        ("price folder", "folder: cannot read it: Is a directory; name a file in it\n"),
        ("check latin.yaml", "latin.yaml: it is not UTF-8 text (byte 9); save it as UTF-8\n"),
        (
            "check text.pdf",
            "text.pdf: it is not a PDF, despite its name; choose the PDF itself",
        ),
        ("check headless.pdf", "headless.pdf: cannot read it: the PDF is damaged or cut short; "),
        ("check photo.yaml", "photo.yaml: it is not text; check that this is the right file\n"),
        ("check wish.yaml --catalogue none.yaml", "none.yaml: cannot read it: No such file"),
        ("catalogue check folder", "folder: this folder has no catalogue.yaml, the file that "),
        ("compare touring.yaml none.yaml --json", "none.yaml: cannot read it: No such file"),
        (
            "quote touring.yaml -o wish.yaml/quote.html --date 2026-08-03",
            "wish.yaml/quote.html: cannot write it: Not a directory; name another folder\n",
        ),
        (
            "quote touring.yaml -o folder.pdf --date 2026-08-03",
            "folder.pdf: cannot write it: Is a directory\n",
        ),
        (
            "compare touring.yaml contractor.yaml -o folder.pdf",
            "folder.pdf: cannot write it: Is a directory\n",
        ),
        ("demo wish.yaml", "wish.yaml: cannot make the folder: File exists; name another folder\n"),
    ],
)
def test_a_file_that_cannot_be_read_or_written_is_named(
    arguments: str, told: str, run: Run, tmp_path: Path
) -> None:
    (tmp_path / "folder").mkdir()
    (tmp_path / "folder.pdf").mkdir()
    (tmp_path / "latin.yaml").write_bytes("title: 'M\u00e4x'\n".encode("latin-1"))
    (tmp_path / "text.pdf").write_text("Dear shop,\n: a tray, please\n")
    (tmp_path / "headless.pdf").write_bytes(b"\x9c\0 endobj\n%%EOF\n")
    (tmp_path / "photo.yaml").write_bytes(b"\x89PNG\r\n\x1a\n\0\0")
    before = files(tmp_path)
    ran = run(*arguments.split())
    assert (ran.code, ran.out) == (3, "")
    assert ran.err.startswith(told)
    assert files(tmp_path) == before


@pytest.mark.parametrize("error", [OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)), MemoryError()])
def test_a_file_is_replaced_only_when_the_new_one_is_complete(
    error: Exception, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "quote.html").write_text("the old one")
    before = files(tmp_path)

    def full(*_: object) -> None:
        raise error

    with monkeypatch.context() as broken:
        broken.setattr(Path, "replace", full)
        if isinstance(error, OSError):
            ran = run("quote", "touring.yaml", "-o", "quote.html", *DAY)
            assert (ran.code, ran.out) == (3, "")
            assert ran.err == "quote.html: cannot write it: No space left on device\n"
        else:
            with pytest.raises(MemoryError):
                run("quote", "touring.yaml", "-o", "quote.html", *DAY)
    assert files(tmp_path) == before
    assert run("quote", "touring.yaml", "-o", "quote.html", *DAY).code == 0
    assert files(tmp_path).keys() == before.keys()
    assert (tmp_path / "quote.html").read_text().startswith("<!DOCTYPE html>")


def test_a_paper_that_cannot_be_made_leaves_the_old_one(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "quote.pdf").write_text("the old one")
    before = files(tmp_path)

    def without(*_: object) -> bytes:
        raise MissingLibrary("no Pango here")

    monkeypatch.setattr(writing, "html_to_pdf", without)
    ran = run("quote", "touring.yaml", "-o", "quote.pdf", *DAY)
    assert (ran.code, ran.out, ran.err) == (3, "", "no Pango here\n")
    assert files(tmp_path) == before


def test_a_new_file_has_the_usual_permissions_and_an_old_one_keeps_its_own(
    run: Run, tmp_path: Path
) -> None:
    old = tmp_path / "old.json"
    old.touch()
    old.chmod(0o640)
    mask = os.umask(0o022)
    try:
        for name in ("old.json", "new.json"):
            assert run("quote", "touring.yaml", "-o", name, *DAY).code == 0
    finally:
        os.umask(mask)
    assert old.stat().st_mode & 0o777 == 0o640
    assert (tmp_path / "new.json").stat().st_mode & 0o777 == 0o644


# Findings that stop a quote: exit code 1, nothing written


def test_nothing_is_written_when_something_stops_the_quote(
    run: Run, tmp_path: Path, quandong: Catalogue
) -> None:
    before = files(tmp_path)
    build = Resolved(quandong, read_selection(tmp_path / "wish.yaml"))
    [stop] = check(build, hints=True).stops
    assert stop.hint
    for kind in ("pdf", "html", "json"):
        ran = run("quote", "wish.yaml", "-o", f"quote.{kind}", *DAY)
        assert (ran.code, ran.out) == (1, "")
        assert " ".join(ran.err.split()) == (
            f"no quote: {stop.sentence} hint: {stop.hint} "
            "For the best ways to fix this: configurator fixes wish.yaml"
        )
    assert files(tmp_path) == before


def test_a_partial_selection_is_not_quoted_and_says_what_is_still_to_be_chosen(run: Run) -> None:
    ran = run("quote", "touring.yaml", "--drop", "sheet", "-o", "quote.json", *DAY)
    assert (ran.code, ran.out) == (1, "")
    assert "  Still to be chosen: Canopy sheet\n" in ran.err


def test_a_day_on_which_the_prices_do_not_hold_stops_the_quote(run: Run, tmp_path: Path) -> None:
    ran = run("quote", "touring.yaml", "-o", "quote.json", "--date", "2031-01-01")
    assert (ran.code, ran.out) == (1, "")
    assert "2031-01-01" in ran.err
    assert not (tmp_path / "quote.json").exists()


def test_check_tells_by_its_exit_code_whether_a_quote_can_be_issued(run: Run) -> None:
    assert run("check", "touring.yaml").code == 0
    assert run("check", "wish.yaml").code == 1
    assert run("check", "--pick", "canopy-height=850mm").code == 1


# Answers


@pytest.mark.parametrize("command", [["check", "wish.yaml"], ["price", "touring.yaml"]])
def test_answers_go_to_standard_output_and_nothing_else_does(command: list[str], run: Run) -> None:
    ran = run(*command)
    assert ran.out
    assert not ran.err
    as_json = run(*command, "--json")
    assert not as_json.err
    assert json.loads(as_json.out)["answer"] == command[0]
    assert as_json.code == ran.code


def test_the_command_line_says_the_same_words_as_python(
    run: Run, quandong: Catalogue, tmp_path: Path
) -> None:
    findings = check(Resolved(quandong, read_selection(tmp_path / "wish.yaml"))).findings
    answer = json.loads(run("check", "wish.yaml", "--json").out)
    assert [f["sentence"] for f in answer["findings"]] == [f.sentence for f in findings]
    shown = " ".join(run("check", "wish.yaml").out.split())
    for finding in findings:
        assert " ".join(f"{finding.level}: {finding.sentence}".split()) in shown


def test_a_pick_replaces_in_a_choice_of_one_and_adds_in_a_choice_of_several(run: Run) -> None:
    def picked(*changes: str) -> dict[str, list[tuple[str, int]]]:
        answer = json.loads(run("price", "touring.yaml", *changes, "--json").out)
        lines = [line for group in answer["groups"] for line in group["lines"]]
        found: dict[str, list[tuple[str, int]]] = {}
        for line in lines:
            found.setdefault(line["choice"], []).append((line["option"], line["quantity"]))
        return found

    before = picked()
    assert before["drawers"] == [("wide-220", 2), ("wide-300", 1)]
    changed = picked("--pick", "finish=powder-doors", "--pick", "lights=flood-rear")
    assert {c for c in changed if changed[c] != before.get(c)} == {"finish", "lights"}
    assert changed["finish"] == [("powder-doors", 1)]
    assert set(changed["lights"]) == {*before["lights"], ("flood-rear", 1)}
    assert picked("--pick", "drawers=wide-220:1")["drawers"] == [("wide-220", 1), ("wide-300", 1)]
    assert picked("--drop", "drawers=wide-300")["drawers"] == [("wide-220", 2)]
    assert "drawers" not in picked("--drop", "drawers")


@pytest.mark.parametrize("change", ["--drop upright-fridge", "--pick upright-fridge=upright-110"])
def test_a_drop_or_another_pick_takes_the_wishes_along(change: str, run: Run) -> None:
    ran = run("check", "touring.yaml", *change.split(), "--json")
    answer = json.loads(ran.out)
    assert answer["answer"] == "check"
    gone = {"upright-fridge", "upright-fridge=upright-130"}
    assert gone.isdisjoint(finding["subject"] for finding in answer["findings"])


def test_picks_alone_need_no_file(run: Run) -> None:
    ran = run("price", "--pick", "canopy-height=850mm", "--pick", "lights=flood-rear", "--json")
    answer = json.loads(ran.out)
    assert ran.code == 0
    assert answer["from"] is True
    assert "vehicle" in answer["undecided"]


def test_quotes_are_written_as_the_name_asks(run: Run, tmp_path: Path) -> None:
    starts = {"pdf": b"%PDF-", "html": b"<!DOCTYPE html>", "json": b"{\n", "PDF": b"%PDF-"}
    for kind, start in starts.items():
        ran = run("quote", "contractor.yaml", "-o", f"q.{kind}", "--number", "Q-7", *DAY)
        assert (ran.code, ran.err.count("caution: ")) == (0, 3)
        assert ran.out.startswith(f"q.{kind}: quote Q-7, AUD ")
        assert ran.out.endswith(" including GST\n")
        assert (tmp_path / f"q.{kind}").read_bytes().startswith(start)


def test_a_quote_written_as_json_can_be_opened_again(run: Run, tmp_path: Path) -> None:
    assert run("quote", "touring.yaml", "-o", "q.json", *DAY).code == 0
    assert run("quote", "touring.yaml", "--json", *DAY).out == (tmp_path / "q.json").read_text()
    quote = json.loads((tmp_path / "q.json").read_text())
    (tmp_path / "again.json").write_text(json.dumps(quote["selection"]))
    assert run("quote", "again.json", "-o", "again-q.json", *DAY).code == 0
    again = json.loads((tmp_path / "again-q.json").read_text())
    assert again["price"] == quote["price"]
    assert again["customer"] == quote["customer"]


def test_a_comparison_takes_any_number_of_selections(run: Run, tmp_path: Path) -> None:
    three = ("touring.yaml", "contractor.yaml", "wish.yaml")
    answer = json.loads(run("compare", *three, "--json").out)
    assert len(answer["columns"]) == 3
    assert answer["columns"][2]["stops"]
    shown = run("compare", *three)
    assert (shown.code, shown.err) == (0, "")
    heads, _, rest = shown.out.partition("C cannot be quoted: ")
    assert "C     Weekends, with the large fridge" in heads
    assert "cannot be quoted as it is" in heads
    assert "Where they differ" in rest
    for kind in ("pdf", "html", "json"):
        ran = run("compare", *three, "-o", f"c.{kind}")
        assert ran.code == 0
        assert ran.out.startswith(f"c.{kind}: ")
    assert json.loads((tmp_path / "c.json").read_text()) == answer
    first_page = " ".join(PdfReader(tmp_path / "c.pdf").pages[0].extract_text().split())
    assert "cannot be quoted as it is; the reasons are below" in first_page
    assert first_page.index("does not fit: it needs 870 mm") < first_page.index("they differ")


def test_a_selection_without_a_title_is_compared_under_its_file_name(
    run: Run, tmp_path: Path
) -> None:
    (tmp_path / "plain.yaml").write_text("format: 1\ncatalogue: quandong\npicks: {}\n")
    answer = json.loads(run("compare", "plain.yaml", "touring.yaml", "--json").out)
    assert answer["columns"][0]["title"] == "plain"


def test_the_demo_says_what_it_did_and_where(run: Run, tmp_path: Path) -> None:
    ran = run("demo", "papers", *DAY)
    assert (ran.code, ran.err) == (0, "")
    made = sorted(path.name for path in (tmp_path / "papers").iterdir())
    assert made == ["comparison.pdf", "contractor.pdf", "touring.pdf"]
    for name in made:
        assert f"papers/{name}: " in ran.out
        assert (tmp_path / "papers" / name).read_bytes().startswith(b"%PDF-")
    assert "no quote" in ran.out
    assert "What helps: " in ran.out
    comparison = PdfReader(tmp_path / "papers" / "comparison.pdf").pages[0].extract_text()
    assert "Prices of 3 August 2026" in comparison


# The catalogue


def test_the_catalogue_is_the_one_named_or_that_of_the_environment_or_the_shipped_one(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "mine.json").write_text(written(raw_catalogue(title="Mine")))
    (tmp_path / "bad.yaml").write_text("format: 1\n")
    assert "quandong.yaml: no problems found: " in run("catalogue", "check").out
    monkeypatch.setenv("CONFIGURATOR_CATALOGUE", "mine.json")
    assert run("catalogue", "check").out.startswith("mine.json: no problems found: 1 vehicle, ")
    assert run("catalogue", "check", "bad.yaml").code == 1
    assert run("price", "--pick", "nothing=nothing").code == 0
    assert run("price", "--pick", "nothing=nothing", "--catalogue", "bad.yaml").code == 1
    monkeypatch.setenv("CONFIGURATOR_CATALOGUE", "none.json")
    assert run("price", "--pick", "nothing=nothing").code == 3


def test_a_selection_of_another_catalogue_is_told_so(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "mine.json").write_text(written(raw_catalogue()))
    monkeypatch.setenv("CONFIGURATOR_CATALOGUE", "mine.json")
    ran = run("check", "touring.yaml")
    assert (ran.code, ran.out) == (1, "")
    assert ran.err == (
        'touring.yaml:6:12: error: the selection belongs to catalogue "quandong", not "test" '
        "(other-catalogue)\n"
        "    hint: name the right catalogue with --catalogue, or change the id in the selection\n"
    )


def test_the_list_shows_what_a_pick_takes(run: Run, quandong: Catalogue) -> None:
    choices = run("catalogue", "list").out
    for known in quandong.by_id.values():
        assert f"\n{known.id} " in choices
    options = run("catalogue", "list", "canopy-height", "lights").out
    for name in ("canopy-height", "lights"):
        for known_option in quandong.by_id[name].options:
            assert f"{name}={known_option.id} " in options


# What a terminal shows, exactly


@pytest.fixture
def odd(tmp_path: Path) -> str:
    """A catalogue whose words look like markup, with one of much that an answer can have."""
    tray = choice(
        "tray",
        [
            option("flat", 1200, title="Flat [bold]tray[/bold] :smile:", mass=40),
            option("deep", 1500, title="Deep tray <b>&amp;</b>", mass=55),
        ],
    )
    boxes = several(
        "box",
        [
            option("left", Decimal("120.50"), title="Box [left]", most=3),
            option("open", [{"kind": "on-application", "note": "made to measure"}]),
        ],
    )
    raw = raw_catalogue(
        [tray, boxes],
        rules=[rule("deep-box", when={"tray": "deep"}, rules_out={"box": "left"})],
        add_ons=[option("mat", 45, suggest={"tray": "flat"}, because="It [red]protects[/red].")],
    )
    (tmp_path / "odd.json").write_text(written(raw))
    (tmp_path / "one.yaml").write_text(
        "format: 1\ncatalogue: test\ntitle: One [a]\n"
        "picks: {vehicle: ute, tray: flat, box: {left: 2}}\n"
    )
    (tmp_path / "two.yaml").write_text(
        "format: 1\ncatalogue: test\ntitle: Two\n"
        "picks: {vehicle: ute, tray: deep, box: [left, open]}\n"
    )
    return "odd.json"


@pytest.mark.parametrize(
    ("name", "arguments", "code"),
    [
        ("price-complete", "price one.yaml", 0),
        ("price-open", "price two.yaml --drop tray", 0),
        ("check-fine", "check one.yaml", 0),
        ("check-stopped", "check two.yaml", 1),
        ("compare", "compare one.yaml two.yaml", 0),
        ("catalogue-list", "catalogue list", 0),
        ("catalogue-list-options", "catalogue list tray box", 0),
    ],
)
def test_answers_look_as_agreed(
    name: str,
    arguments: str,
    code: int,
    odd: str,
    run: Run,
    same_as: SameAs,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    ran = run(*arguments.split(), "--catalogue", odd)
    assert (ran.code, ran.err) == (code, "")
    assert max(map(len, ran.out.splitlines())) <= 80
    same_as(name, ran.out)


@pytest.mark.parametrize("columns", [40, 60, 200])
def test_answers_keep_to_the_width_of_the_terminal(
    columns: int, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", str(columns))
    for arguments in (["price", "touring.yaml"], ["check", "wish.yaml"], ["catalogue", "list"]):
        ran = run(*arguments)
        assert max(map(len, ran.out.splitlines())) <= columns


# Endings


def test_an_interrupted_command_ends_quietly(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("configurator.cli.common.the_shop", interrupted)
    ran = run("price", "touring.yaml")
    assert (ran.code, ran.out.strip()) == (130, "")
    assert ran.err.strip() == "stopped; nothing half done was left behind"


@pytest.mark.usefixtures("run")
@pytest.mark.parametrize("more", [[], ["--json"]])
def test_a_reader_who_leaves_is_no_error_to_talk_about(more: list[str]) -> None:
    reading, writing_end = os.pipe()
    os.close(reading)
    try:
        done = subprocess.run(
            [*COMMAND, "price", "touring.yaml", *more],
            stdout=writing_end,
            stderr=subprocess.PIPE,
            check=False,
            text=True,
        )
    finally:
        os.close(writing_end)
    assert (done.returncode, done.stderr) == (141, "")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="the device is of Linux")
@pytest.mark.parametrize("arguments", [["price", "touring.yaml"], ["catalogue", "check", "--json"]])
@pytest.mark.usefixtures("run")
def test_an_answer_that_cannot_be_written_is_told(arguments: list[str]) -> None:
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [*COMMAND, *arguments], stdout=full, stderr=subprocess.PIPE, check=False, text=True
        )
    assert (done.returncode, done.stderr) == (
        3,
        "the answer cannot be written: No space left on device\n",
    )


@pytest.mark.usefixtures("run")
def test_the_package_runs_as_a_module_whatever_the_locale() -> None:
    done = subprocess.run(
        [*COMMAND, "price", "touring.yaml"],
        env={"LC_ALL": "C", "PYTHONIOENCODING": "ascii", "PATH": os.environ["PATH"]},
        capture_output=True,
        check=True,
    )
    assert "Total including GST" in done.stdout.decode()
    assert done.stderr == b""


def test_every_command_is_run_by_these_tests() -> None:
    known = {" ".join(path) for path in LEAVES}
    text = "".join(file.read_text("utf-8") for file in TESTS.rglob("test_*.py"))
    missing = {
        name
        for name in known
        if f'"{name} ' not in text and '"' + '", "'.join(name.split()) + '"' not in text
    }
    assert not missing


def test_too_many_of_one_option_is_one_mistake(run: Run) -> None:
    ran = run("check", "--pick", "battery=lfp-200:99")
    assert ran.code == 1
    assert ran.err.count("error: ") == 1
    assert "set its quantity to 2 or less" in ran.err
    both = run("check", "--pick", "battery=lfp-200:2", "--pick", "battery=lfp-100:2")
    assert "Auxiliary battery takes 2 at most, but 4 are picked" in both.err
