"""Every open quote under a changed catalogue: what becomes of it, wherever the work is done."""

from __future__ import annotations

import csv
import datetime as dt
import json
import os
import re
import signal
import sqlite3
import subprocess
import sys
import warnings
from collections.abc import Iterator
from decimal import Decimal
from html import unescape
from operator import length_hint
from pathlib import Path
from typing import Any

import attrs
import pytest
from jsonschema import Draft202012Validator

from configurator import (
    ConfiguratorError,
    Customer,
    FileError,
    Money,
    Pick,
    Requoted,
    Selection,
    Shop,
    open_register,
    open_shop,
    to_json,
)
from configurator.shapes.shipped import schema
from tests.support.building import choice, limit, option, raw_catalogue, rule, tax, written
from tests.support.commands import TODAY, Run

HOOKS = limit("hooks", "pieces")


def shop_text(
    flat: str = "1200.00", long: str = "1500.00", *, trays: str = "flat long wide", **more: Any
) -> str:
    """A catalogue of trays and boxes, as text."""
    given = {
        "flat": option("flat", Decimal(flat), mass=40, gives={"hooks": 4}),
        "long": option("long", Decimal(long), mass=50, gives={"hooks": more.pop("hooks", 4)}),
        "wide": option("wide", 1700, mass=60, gives={"hooks": 4}),
    }
    boxes = [
        option("small", 300, mass=20, uses={"hooks": 1}),
        option("big", 500, mass=30, uses={"hooks": 4}),
    ]
    offered = [choice("tray", [given[name] for name in trays.split()]), choice("box", boxes)]
    return written(raw_catalogue(offered, limits=[HOOKS], **more))


BEFORE = shop_text()
AFTER = shop_text(
    "1250.00",
    trays="flat long",
    hooks=3,
    rules=[rule("roomy", when={"tray": "flat"}, rules_out={"box": "big"})],
)


def wanted(tray: str, box: str, name: str = "Ottilie Brandgrove") -> Selection:
    picks = (Pick("vehicle", "ute"), Pick("tray", tray), Pick("box", box))
    return Selection("test", title=f"{tray} and {box}", customer=Customer(name), picks=picks)


def issued(shop: Shop, address: Path, *selections: Selection) -> None:
    """Quotes issued one after the other, with papers that stand for PDFs."""
    with attrs.evolve(
        shop.register(str(address)),
        paper=lambda quote: quote.number.encode(),
        clock=morning,
    ) as register:
        for selection in selections:
            register.issue(shop.build(selection).quote("DRAFT", TODAY), seller="Ann")


@pytest.fixture(autouse=True)
def _today(monkeypatch: pytest.MonkeyPatch) -> None:
    """The quotes of the register stand on this day."""
    monkeypatch.setattr("configurator.shop._clock", morning)


def morning() -> dt.datetime:
    return dt.datetime.combine(TODAY, dt.time(9), dt.UTC)


@pytest.fixture
def after(tmp_path: Path) -> Shop:
    (tmp_path / "after.json").write_text(AFTER)
    return open_shop(tmp_path / "after.json", TODAY)


@pytest.fixture
def issued_before(run: Run, tmp_path: Path) -> Run:
    """A register with a quote of every fate, two that nobody waits for, and a run beside it."""
    (tmp_path / "after.json").write_text(AFTER)
    (tmp_path / "before.json").write_text(BEFORE)
    pairs = ("long small", "flat small", "flat big", "wide small", "long big", "long small")
    selections = [wanted(*pair.split()) for pair in pairs]
    spare = wanted("flat", "small", "=HYPERLINK(1)")
    issued(open_shop(BEFORE, TODAY), tmp_path / "register.sqlite", *selections, spare, spare, spare)
    for command, number in (("forget", "Q-6"), ("decline", "Q-8"), ("withdraw", "Q-9")):
        ran = run("register", command, number, "--reason", "asked for", "--seller", "Ann")
        assert ran.code == 0
    return run


FATES = {
    "Q-1": ("unchanged", "1800.00", "1800.00"),
    "Q-2": ("changed", "1500.00", "1550.00"),
    "Q-3": ("stopped", "1700.00", "1750.00"),
    "Q-4": ("not-understood", "2000.00", None),
    "Q-5": ("stopped", "2000.00", "2000.00"),
    "Q-6": ("unreadable", None, None),
    "Q-7": ("changed", "1500.00", "1550.00"),
}


def test_every_fate_is_told_with_its_reason(issued_before: Run) -> None:
    ran = issued_before("requote", "--catalogue", "after.json", "--json")
    assert (ran.code, ran.err) == (1, "")
    answer = json.loads(ran.out)
    Draft202012Validator(dict(schema("answers"))).validate(answer)
    told = {one["quote"]: (one["outcome"], one["was"], one["now"]) for one in answer["quotes"]}
    assert told == FATES
    assert list(told) == list(FATES)
    of = {one["quote"]: one for one in answer["quotes"]}
    (line,) = of["Q-2"]["changed"]
    assert (line["line"], line["was"], line["now"]) == ("tray=flat", "1200.00", "1250.00")
    assert [(stop["code"], stop["subject"]) for stop in of["Q-3"]["stops"]] == [("rule", "roomy")]
    assert [(stop["code"], stop["subject"]) for stop in of["Q-5"]["stops"]] == [("limit", "hooks")]
    (problem,) = of["Q-4"]["problems"]
    assert problem["sentence"] == 'Tray has no option "wide"'
    assert "deleted at the customer's request" in of["Q-6"]["problems"][0]["sentence"]
    counts = ("unchanged", "changed", "priced", "stopped", "not-understood", "unreadable")
    assert [answer[name] for name in counts] == [1, 2, 0, 2, 1, 1]
    assert (answer["was"], answer["now"], answer["left-out"]) == ("3000.00", "3100.00", 0)
    causes = {(c["kind"], c["subject"]): (c["quotes"], c["difference"]) for c in answer["causes"]}
    assert causes == {
        ("price", "tray=flat"): (2, "100.00"),
        ("rule", "roomy"): (1, None),
        ("limit", "hooks"): (1, None),
        ("unknown-option", 'Tray has no option "wide"'): (1, None),
    }


def test_a_terminal_and_a_table_say_the_same(issued_before: Run) -> None:
    ran = issued_before("requote", "--catalogue", "after.json")
    assert (ran.code, ran.err) == (1, "")
    for said in (
        "7 open quotes at the prices of 2026-08-03",
        "at another price (AUD 3,000.00 before, AUD 3,100.00 now)   2",
        'Tray has no option "wide"',
        "Flat: +50.00",
    ):
        assert said in ran.out
    assert "Q-1 " not in ran.out
    ran = issued_before("requote", "--catalogue", "after.json", "-o", "open.csv")
    assert ran.code == 1
    assert (
        ran.out
        == "open.csv: 7 open quotes at the prices of 2026-08-03\n2 of them now at another price\n"
        "4 of them cannot be issued as picked: the report says why\n"
    )
    with Path("open.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = {row["quote"]: row for row in csv.DictReader(file)}
    assert {n: (r["outcome"], r["was"], r["now"]) for n, r in rows.items()} == {
        number: tuple(told or "" for told in fate) for number, fate in FATES.items()
    }
    assert (rows["Q-2"]["difference"], rows["Q-2"]["why"]) == ("50.00", "Flat: +50.00")
    assert rows["Q-7"]["customer"] == "'=HYPERLINK(1)"
    assert not Path("open.csv.part").exists()


def test_where_nothing_changed_all_is_well(issued_before: Run) -> None:
    issued_before("register", "withdraw", "Q-6", "--reason", "gone", "--seller", "Ann")
    ran = issued_before("requote", "--catalogue", "before.json", "-o", "open.json")
    assert (ran.code, ran.out) == (0, "open.json: 6 open quotes at the prices of 2026-08-03\n")
    assert json.loads(Path("open.json").read_text("utf-8"))["unchanged"] == 6


@pytest.mark.usefixtures("issued_before")
def test_the_report_written_piece_by_piece_is_the_answer(after: Shop) -> None:
    quotes = after.requote(output="open.json", register="register.sqlite")
    assert length_hint(quotes) == 7
    every = tuple(quotes)
    whole = attrs.evolve(quotes.answer, quotes=every, left_out=0)
    assert Path("open.json").read_text("utf-8") == to_json(whole)


@pytest.mark.parametrize(("days", "open_quotes"), [(30, 1), (31, 0)])
def test_a_quote_is_open_to_the_end_of_its_last_day(
    days: int, open_quotes: int, tmp_path: Path, after: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    # the catalogue's quotes stand for 30 days
    address = tmp_path / "r.sqlite"
    issued(open_shop(BEFORE, TODAY), address, wanted("flat", "small"))
    late = dt.datetime.combine(TODAY + dt.timedelta(days), dt.time(23, 59), dt.UTC)
    monkeypatch.setattr("configurator.shop._clock", lambda: late)
    assert len(list(after.requote(register=str(address)))) == open_quotes


@pytest.mark.parametrize("prices", ["include", "exclude"])
def test_what_changed_adds_up_to_the_difference(prices: str, tmp_path: Path) -> None:
    """Also where tax is added, lines are gone or new, and the total is rounded."""
    usual: dict[str, Any] = {"tax": tax(10, prices), "rounding": {"to": 5, "mode": "nearest"}}
    was, now = shop_text(**usual), shop_text("1263.37", "1498.99", **usual)
    pairs = [wanted("flat", "small"), wanted("long", "big"), wanted("wide", "big")]
    issued(open_shop(was, TODAY), tmp_path / "r.sqlite", *pairs)
    shop = open_shop(now, TODAY)
    every = list(shop.requote(register=str(tmp_path / "r.sqlite")))
    assert [one.outcome for one in every] == ["changed", "changed", "unchanged"]
    for one, selection in zip(every, pairs, strict=True):
        assert one.is_now == shop.build(selection).price().total
        assert one.was == open_shop(was, TODAY).build(selection).price().total
        assert one.difference == Money.total((c.difference for c in one.changed), "AUD")


# A folder


def test_a_folder_of_files_and_papers(run: Run) -> None:
    Path("open").mkdir()
    Path("after.json").write_text(AFTER)
    Path("before.json").write_text(BEFORE)
    shop = open_shop("before.json", TODAY)
    shop.write(shop.build(wanted("flat", "small")), "open/plain.yaml")
    shop.write(shop.build(wanted("flat", "small")).quote("Q-7", TODAY), "open/paper.pdf")
    Path("open/scan.pdf").write_bytes(b"%PDF-1.7 and nothing else")
    Path("open/notes.txt").write_text("call them")
    ran = run("requote", "open", "--catalogue", "after.json", "--json")
    told = {
        one["quote"]: (one["outcome"], one["was"], one["now"])
        for one in json.loads(ran.out)["quotes"]
    }
    assert told == {
        "paper.pdf": ("changed", "1500.00", "1550.00"),
        "plain.yaml": ("priced", None, "1550.00"),
        "scan.pdf": ("unreadable", None, None),
    }
    assert "scan.pdf: cannot read it: the PDF is damaged" in ran.out
    shown = run("requote", "open", "--catalogue", "after.json").out
    assert shown.startswith("3 files at the prices of 2026-08-03\n")
    assert "priced, with no price from before to compare" in shown
    assert not re.search(r"\bopen quote|\bQuotes?\b", shown)
    assert run("requote", "open", "--catalogue", "after.json", "-o", "all.html").code == 1
    paper = Path("all.html").read_text("utf-8")
    assert "<h1>Quotes and selections</h1>" in paper
    assert not re.search(r"[Oo]pen quotes", paper)


def test_a_quote_of_another_catalogue_is_left_out_as_such(run: Run) -> None:
    Path("open").mkdir()
    Path("after.json").write_text(AFTER)
    mine, theirs = (
        wanted("flat", "small"),
        attrs.evolve(wanted("flat", "small"), catalogue="wattle"),
    )
    for name, selection in (("mine", mine), ("theirs", theirs)):
        Path(f"open/{name}.json").write_text(to_json(selection))
    ran = run("requote", "open", "--catalogue", "after.json")
    assert ran.code == 0, "what is left out stops nothing"
    told = " ".join(ran.out.split())
    assert "of another catalogue, left out 1" in told
    assert 'it is of catalogue "wattle", not of "test": left out' in told
    assert "gone" not in told
    answer = json.loads(run("requote", "open", "--catalogue", "after.json", "--json").out)
    assert answer["of-another-catalogue"] == 1
    fates = {one["quote"]: one["outcome"] for one in answer["quotes"]}
    assert fates == {"mine.json": "priced", "theirs.json": "of-another-catalogue"}
    ran = run("requote", "open", "--catalogue", "after.json", "-o", "all.csv")
    assert (ran.code, "1 of them of another catalogue, left out" in ran.out) == (0, True)
    assert "cannot be issued" not in ran.out


@pytest.mark.parametrize(
    ("arguments", "code", "said"),
    [
        (["--register", "none.sqlite"], 3, "there is no register yet"),
        (["nowhere"], 3, "nowhere: cannot read the folder"),
        (["wishes/a.json"], 3, "wishes/a.json: it is a file; give the folder that holds it"),
        (["bare"], 2, "bare: there is no selection in it"),
        (["wishes", "-o", "wishes/open.csv"], 2, "the report would lie among the quotes"),
        (["wishes", "-o", "open.txt"], 2, "must end in .csv or .json or .pdf or .html"),
        (["wishes", "-o", "shop.json/open.csv"], 3, "open.csv: cannot write it"),
        (["wishes", "-o", "other.csv"], 3, "other.csv.part: it is no file of this program's"),
        (["wishes", "-o", "torn.csv"], 3, "torn.csv.part: it is no file of this program's"),
        (["wishes", "-o", "x.pdf", "--json"], 2, "give --json or -o FILE, not both"),
        (["wishes", "--language", "xx", "-o", "x.pdf"], 2, "available: de and en"),
        (["wishes", "--cluster", "nonsense"], 3, "nonsense: the cluster does not answer"),
        (["wishes", "--date", "2031-01-01"], 1, "prices hold from"),
    ],
)
def test_what_cannot_be_done_is_said_in_a_sentence(
    arguments: list[str], code: int, said: str, run: Run
) -> None:
    for folder in ("wishes", "bare"):
        Path(folder).mkdir()
    Path("shop.json").write_text(AFTER)
    Path("wishes/a.json").write_text(to_json(wanted("flat", "small")))
    with sqlite3.connect("other.csv.part") as other:
        other.execute("CREATE TABLE mine (a)")
    other.close()
    Path("torn.csv.part").write_text("what I wrote down")
    before = sorted(str(file) for file in Path().rglob("*"))
    ran = run("requote", "--catalogue", "shop.json", *arguments)
    assert (ran.code, ran.out) == (code, "")
    assert said in ran.err
    assert len(ran.err.splitlines()) <= 4
    assert sorted(str(file) for file in Path().rglob("*")) == before


# Stopped on the way


SCRIPT = """
import os, signal, sys
import datetime as dt
from configurator import open_shop
from configurator.requoting import quotes
from configurator.checking.check import check

real, end, left = quotes.check, sys.argv[3], int(sys.argv[2])

def counted(build):
    global left
    with open("done.txt", "a") as told:
        told.write(build.selection.title + "\\n")
    left -= 1
    if not left:
        if end == "kill":
            os.kill(os.getpid(), signal.SIGKILL)
        raise KeyboardInterrupt
    return real(build)

quotes.check = counted
shop = open_shop("after.json", dt.date(2026, 8, 3))
made = shop.requote("wishes", sys.argv[1], processes=1)
list(made)
print(made.done_before)
"""


@pytest.fixture
def wishes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with some selections more than are handed over at once."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "wishes").mkdir()
    (tmp_path / "after.json").write_text(AFTER)
    (tmp_path / "count.py").write_text(SCRIPT)
    for number in range(50):
        one = wanted(("flat", "long", "wide")[number % 3], ("small", "big")[number % 2])
        told = to_json(attrs.evolve(one, title=f"number {number}"))
        (tmp_path / "wishes" / f"{number:02}.json").write_text(told)
    return tmp_path / "wishes"


def counted(output: str, left: int, end: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "count.py", output, str(left), end]
    return subprocess.run(command, capture_output=True, text=True, check=False)


@pytest.mark.parametrize("end", ["kill", "interrupt"])
def test_what_was_stopped_goes_on_where_it_was(end: str, wishes: Path, after: Shop) -> None:
    list(after.requote(wishes, "whole.json"))
    stopped = counted("open.json", 45, end)
    assert stopped.returncode in (-signal.SIGKILL, 1, -signal.SIGINT)
    assert not Path("open.json").exists()
    assert Path("open.json.part").exists()
    assert len(Path("done.txt").read_text().splitlines()) == 45
    Path("done.txt").unlink()
    again = counted("open.json", 0, "")
    assert again.stdout == "40\n", again.stderr
    assert len(Path("done.txt").read_text().splitlines()) == 10
    assert Path("open.json").read_bytes() == Path("whole.json").read_bytes()
    assert not list(Path().glob("open.json.part*"))


def test_a_command_that_is_interrupted_says_how_to_go_on(
    run: Run, wishes: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(_: object, one: Requoted) -> None:
        if one.quote == "23.json":
            raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr("configurator.answers.requote.Tally.add", interrupted)
        ran = run("requote", str(wishes), "--catalogue", "after.json", "-o", "open.csv")
    assert (ran.code, ran.out) == (130, "")
    assert ran.err == "stopped after 23 of 50; the same command goes on from there\n"
    quotes = open_shop(Path("after.json"), TODAY).requote("wishes", "open.csv")
    assert (len(list(quotes)), quotes.done_before) == (50, 40)


def test_a_quote_or_a_catalogue_that_has_changed_is_done_again(wishes: Path, after: Shop) -> None:
    assert counted("open.json", 45, "kill").returncode == -signal.SIGKILL
    (wishes / "03.json").write_text(to_json(wanted("long", "small")))
    (wishes / "04.json").unlink()
    (wishes / "005.json").write_text(to_json(wanted("long", "small")))
    quotes = after.requote(wishes, "open.json")
    list(quotes)
    assert quotes.done_before == 38
    list(after.requote(wishes, "whole.json"))
    assert Path("open.json").read_bytes() == Path("whole.json").read_bytes()
    assert counted("open.json", 45, "kill").returncode == -signal.SIGKILL
    Path("after.json").write_text(shop_text("1299.00"))
    other = open_shop(Path("after.json"), TODAY).requote(wishes, "open.json")
    assert (len(list(other)), other.done_before) == (50, 0)


def test_two_at_one_report_are_one_too_many(wishes: Path, after: Shop) -> None:
    first = after.requote(wishes, "open.json")
    next(first)
    with pytest.raises(FileError, match="another process is at this report"):
        after.requote(wishes, "open.json")
    assert len(list(first)) == 49


def test_what_is_written_down_runs_nothing(wishes: Path, after: Shop) -> None:
    """Whoever may write into the folder can write it down; it is read as answers alone."""
    assert counted("open.json", 45, "kill").returncode == -signal.SIGKILL
    with sqlite3.connect("open.json.part") as at:
        at.execute("UPDATE done SET answer = ?", (b"cposix\nsystem\n(S'touch owned'\ntR.",))
    at.close()
    with pytest.raises(FileError, match=r"open\.json\.part: it is damaged: delete it"):
        list(after.requote(wishes, "open.json"))
    assert not Path("owned").exists()


# Wherever the work is done


@pytest.fixture
def cluster() -> Iterator[Any]:
    """Two workers on this machine, as processes of their own."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from distributed import LocalCluster

        with LocalCluster(  # type: ignore[no-untyped-call]
            n_workers=2, threads_per_worker=1, dashboard_address=None, host="127.0.0.1"
        ) as made:
            yield made


def test_one_core_two_cores_and_a_cluster_that_loses_a_worker_answer_the_same(
    wishes: Path, after: Shop, cluster: Any
) -> None:
    for number in range(50, 150):
        os.link(wishes / f"{number % 50:02}.json", wishes / f"{number}.json")
    one = tuple(after.requote(wishes, processes=1))
    assert [answer.quote for answer in one] == sorted(file.name for file in wishes.iterdir())
    assert tuple(after.requote(wishes, processes=2)) == one
    quotes = after.requote(wishes, cluster=cluster.scheduler_address)
    first = next(quotes)
    os.kill(next(iter(cluster.workers.values())).pid, signal.SIGKILL)
    assert (first, *quotes) == one


def test_a_quote_that_ends_its_process_costs_no_other(wishes: Path) -> None:
    (wishes.parent / "break.py").write_text("""
import datetime as dt, os
from configurator import open_shop
from configurator.requoting import quotes

real = quotes.check
def deadly(build):
    if build.selection.title == "number 30":
        os._exit(9)
    return real(build)
quotes.check = deadly

if __name__ == "__main__":
    made = open_shop("after.json", dt.date(2026, 8, 3)).requote("wishes", processes=2)
    for one in made:
        if one.outcome == "unreadable":
            print(one.quote, one.problems[0].sentence)
    print(made.answer.count)
""")
    done = subprocess.run([sys.executable, "break.py"], capture_output=True, text=True, check=False)
    assert done.stdout.splitlines() == [
        "30.json the process that priced it ended without a word, perhaps for want of memory",
        "50",
    ], done.stderr


def test_the_register_is_read_some_at_a_time(tmp_path: Path, after: Shop) -> None:
    """More quotes than are read at once, in the order of their numbers."""
    issued(after, tmp_path / "r.sqlite", *[wanted("long", "small")] * 60)
    with open_register(str(tmp_path / "r.sqlite")) as register:
        numbers = [entry.number for entry in reversed(register.list().quotes)]
    every = list(after.requote(register=str(tmp_path / "r.sqlite")))
    assert [one.quote for one in every] == numbers
    assert {one.outcome for one in every} == {"unchanged"}


def test_what_was_altered_in_the_register_is_not_taken_for_a_quote(
    tmp_path: Path, after: Shop
) -> None:
    issued(after, tmp_path / "r.sqlite", wanted("long", "small"))
    with sqlite3.connect(tmp_path / "r.sqlite") as at:
        at.execute("UPDATE papers SET selection = replace(selection, 'long', 'flat')")
    at.close()
    (one,) = after.requote(register=str(tmp_path / "r.sqlite"))
    assert one.outcome == "unreadable"
    assert "it is not what was kept" in one.problems[0].sentence


def test_without_its_library_a_cluster_is_refused_in_a_sentence(
    wishes: Path, after: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    monkeypatch.delitem(sys.modules, "configurator.requoting.cluster", raising=False)
    with pytest.raises(ConfiguratorError, match=r"pip install tray-canopy-configurator\[cluster\]"):
        after.requote(wishes, cluster="tcp://127.0.0.1:1")


def test_what_is_wrong_with_a_file_is_said_in_the_language_of_the_report(
    run: Run, tmp_path: Path
) -> None:
    (tmp_path / "after.json").write_text(AFTER)
    (tmp_path / "open").mkdir()
    (tmp_path / "open" / "torn.yaml").write_text("format: 1\npicks: {}\n")
    asked = ("requote", "open", "--catalogue", "after.json", "-o", "open.html")
    assert run(*asked).code == 1
    assert "the file has no" in (tmp_path / "open.html").read_text("utf-8")
    assert run(*asked, "--language", "de").code == 1
    told = (tmp_path / "open.html").read_text("utf-8")
    assert "die Datei hat" in told
    assert "the file has no" not in told


@pytest.mark.parametrize(
    ("file", "english", "german"),
    [
        (
            "format: 1\npicks: {tray: {flat: -1}}\n",
            "flat in tray is -1; it must be more than 0",
            "flat in tray ist -1, muss aber mehr als 0 sein",
        ),
        (
            "format: 1\npicks: none\n",
            'picks is the text "none"; it must be a group of keys',
            'picks ist der Text "none", muss aber eine Gruppe von Schlüsseln sein',
        ),
        (
            "format: 1\npicks: {}\nadjustments: [{reason: r, percent: 400}]\n",
            "percent in entry 1 of adjustments is 400; it must be at most 100",
            "percent in Eintrag 1 von adjustments ist 400, muss aber höchstens 100 sein",
        ),
    ],
)
def test_a_wrong_value_is_told_in_the_language_of_the_report(
    file: str, english: str, german: str, run: Run, tmp_path: Path
) -> None:
    (tmp_path / "after.json").write_text(AFTER)
    (tmp_path / "open").mkdir()
    (tmp_path / "open" / "wrong.yaml").write_text(file)
    asked = ("requote", "open", "--catalogue", "after.json", "-o", "open.html")
    for more, said, other in (((), english, german), (("--language", "de"), german, english)):
        assert run(*asked, *more).code == 1
        told = unescape((tmp_path / "open.html").read_text("utf-8"))
        assert said in told
        assert other not in told
