"""The register on the command line: each command, what it prints, and its exit code."""

from __future__ import annotations

import csv
import json
import re
import shlex
import shutil
import sqlite3
import time
from pathlib import Path

import pytest

from configurator import FileError, open_shop
from tests.support.changed_catalogue import dearer_guards, shipped_but
from tests.support.commands import TODAY, Ran, Run

ISSUE = ("quote", "contractor.yaml", "--issue", "--seller", "Ann")


@pytest.fixture
def issued(run: Run) -> Run:
    ran = run(*ISSUE, "-o", "first.pdf")
    assert (ran.code, ran.err.count("caution: ")) == (0, 3)
    assert ran.out == "first.pdf: quote Q-1, AUD 25,630.00 including GST\n"
    return run


def test_the_paper_issued_is_the_paper_kept(issued: Run) -> None:
    ran = issued("register", "show", "Q-1", "-o", "again.pdf")
    assert (ran.code, ran.out) == (0, "again.pdf: quote Q-1, as it was issued\n")
    first = Path("first.pdf").read_bytes()
    assert Path("again.pdf").read_bytes() == first
    assert first.startswith(b"%PDF")
    build = open_shop(today=TODAY).build(first)
    assert build.selection.title == "Trade, low canopy with drawers"
    plain = issued("quote", "contractor.yaml", "--number", "Q-1", "-o", "plain.pdf")
    assert plain.code == 0
    assert Path("plain.pdf").read_bytes() == first


def test_a_number_that_was_drawn_is_not_given_to_another_quote(run: Run) -> None:
    other = ("quote", "touring.yaml", "--number", "Q-1", "-o", "other.pdf")
    assert (run(*other).code, Path("register.sqlite").exists()) == (0, False)
    Path("other.pdf").unlink()
    assert run(*ISSUE, "-o", "first.pdf").code == 0
    for more in ([], ["--json"], ["-o", "other.xml"]):
        ran = run(*other, *more)
        assert (ran.code, ran.out) == (1, "")
        assert ran.err == (
            "Q-1 is the number of another quote in the register (Jorun Hallam Fencing, Trade, low "
            "canopy with drawers, AUD 25,630.00, issued on 2026-08-03): give another number, or "
            "have the next one drawn with configurator quote SELECTION --issue; if this is the "
            "next revision of Q-1: configurator register revise SELECTION --number Q-1 --reason "
            '"..."\n'
        )
    assert run("quote", "touring.yaml", "--number", " Q-1 ", "-o", "other.pdf").err == ran.err
    assert not [*Path().glob("other.*")]
    assert run(*other[:3], "Q-2", *other[4:]).code == 0
    Path("few").mkdir()
    shutil.copy("touring.yaml", "few/1.yaml")
    many = ("quote", "--batch", "few", "-o", "many", "--number")
    assert (run(*many, "Q-").code, [*Path("many").iterdir()]) == (1, [])
    assert run(*many, "R-").out == "many/1.pdf: quote R-1, AUD 56,315.00 including GST\n"
    withdrawn = run("register", "withdraw", "Q-1", "--reason", "no longer made")
    assert (withdrawn.code, withdrawn.err) == (0, "")
    ended = run(*other).err
    assert ended.endswith("configurator quote SELECTION --issue\n")
    assert ended == ran.err.partition("; if this is the next revision")[0] + "\n"


def test_a_register_that_was_named_and_is_not_there_is_told(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    quote = ("quote", "touring.yaml", "--number", "Q-1", "-o", "q.json")
    told = "note: Q-1 not looked up in the register: {}: there is no register yet; "
    assert run(*quote, "--register", "other.sqlite").err.startswith(told.format("other.sqlite"))
    assert "register.sqlite: there is no register yet" in run(*quote).err
    monkeypatch.delenv("CONFIGURATOR_REGISTER")
    monkeypatch.setenv("XDG_DATA_HOME", str(Path.cwd()))
    assert "note: " not in run(*quote).err


def test_a_batch_tells_what_each_quote_cautions_of(run: Run) -> None:
    Path("few").mkdir()
    shutil.copy("contractor.yaml", "few")
    alone = " ".join(run("quote", "contractor.yaml", "-o", "q.json").err.split())
    assert alone.count("caution: ") == 3
    batch = run("quote", "--batch", "few", "-o", "many", "--number", "")
    assert (batch.code, batch.out.count("\n")) == (0, 1)
    told = " ".join(batch.err.split()).replace("caution: few/contractor.yaml: ", "caution: ")
    assert alone in told


def test_a_register_that_cannot_be_read_keeps_no_paper_back(run: Run) -> None:
    Path("register.sqlite").write_text("no register at all, but a text of some length" * 9)
    ran = run("quote", "contractor.yaml", "--number", "Q-1", "-o", "q.pdf")
    assert (ran.code, ran.out) == (0, "q.pdf: quote Q-1, AUD 25,630.00 including GST\n")
    assert ran.err.splitlines()[0].endswith("register.sqlite: it is not a register")
    assert ran.err.startswith("note: Q-1 not looked up in the register: ")


def test_without_a_name_the_paper_is_named_after_its_number(run: Run) -> None:
    assert run(*ISSUE).out == "Q-1.pdf: quote Q-1, AUD 25,630.00 including GST\n"
    Path("Q-2.pdf").write_text("mine")
    ran = run(*ISSUE)
    assert ran.out.startswith("quote Q-2 is issued; Q-2.pdf is there already: write it with: ")
    assert Path("Q-2.pdf").read_text() == "mine"


def test_a_name_that_nothing_can_be_written_to_draws_no_number(run: Run) -> None:
    Path("folder.pdf").mkdir()
    ran = run(*ISSUE, "-o", "folder.pdf")
    assert ran.code == 3
    assert "Traceback" not in ran.err
    assert run(*ISSUE, "-o", "x.pdf").out.startswith("x.pdf: quote Q-1,")


def test_a_paper_that_cannot_be_written_is_kept_all_the_same(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(path: Path, _: bytes) -> None:
        raise FileError(f"{path}: no space left on the disk")

    with monkeypatch.context() as patched:
        patched.setattr("configurator.machine.files.replace_file", full)
        ran = run(*ISSUE, "-o", "x.pdf")
    assert (ran.code, ran.out) == (3, "")
    assert ran.err == (
        "quote Q-1 is issued and kept, and its PDF was not written: x.pdf: no space left on the "
        "disk; write it with: configurator register show Q-1 -o FILE.pdf\n"
    )
    assert run("register", "show", "Q-1", "-o", "x.pdf").code == 0


def test_a_quote_refused_by_its_findings_draws_no_number(run: Run) -> None:
    ran = run("quote", "wish.yaml", "--issue", "--seller", "Ann")
    assert ran.code == 1
    assert ran.err.startswith("no quote:")
    assert run(*ISSUE).out.startswith("Q-1.pdf")


@pytest.mark.parametrize("more", [["--number", "Q-9"], ["--batch", "wishes"]])
def test_the_number_is_the_register_s(run: Run, more: list[str]) -> None:
    ran = run(*ISSUE, *more)
    assert ran.code == 2
    assert "the register draws the number" in ran.err


def test_a_life_of_a_quote(issued: Run) -> None:
    opened = issued("register", "open", "Q-1", "-o", "again.yaml")
    assert opened.out == (
        "Q-1: AUD 25,630.00, as quoted\nagain.yaml: the selection, to change and quote again\n"
    )
    revised = issued(
        *("register", "revise", "again.yaml", "--drop", "lights=flood-rear", "--number", "Q-1"),
        *("--reason", "without the rear light", "--seller", "Bea", "-o", "second.pdf"),
    )
    assert revised.out == "second.pdf: quote Q-1, revision 2, AUD 25,440.00 including GST\n"
    accepted = issued("register", "accept", "Q-1", "--reason", "signed", "--seller", "Ann")
    assert accepted.out == "quote Q-1: accepted\n"
    refused = issued("register", "decline", "Q-1", "--reason", "too dear", "--seller", "Ann")
    assert (refused.code, refused.out) == (1, "")
    assert refused.err == (
        "quote Q-1 is accepted and cannot be declined: it can be replaced, revised or withdrawn\n"
    )
    shown = issued("register", "show", "Q-1")
    assert shown.code == 0
    for words in (
        "Q-1, revision 2: accepted, AUD 25,440.00, valid until 2026-09-02",
        "Jorun Hallam Fencing, (08) 5550 0118, jorun@example.com",
        "Flood light over the rear",
        "-190.00",
        "without the rear light",
        "signed",
    ):
        assert words in shown.out
    listed = json.loads(issued("register", "show", "Q-1", "--json").out)
    assert [r["total"] for r in listed["revisions"]] == ["25630.00", "25440.00"]
    withdrawn = issued("register", "withdraw", "Q-1", "--reason", "a mistake", "--seller", "Ann")
    assert withdrawn.out == "quote Q-1: withdrawn\n"
    assert "cancel what was ordered from suppliers" in withdrawn.err
    assert issued("register", "check").code == 0


def test_a_quote_without_a_customer_is_not_issued(run: Run) -> None:
    text = Path("contractor.yaml").read_text("utf-8")
    nobodys = re.sub(r"(?m)^customer:\n(?:  .*\n)+", "", text)
    assert nobodys != text
    Path("nobody.yaml").write_text(nobodys, "utf-8")
    issue = ("quote", "nobody.yaml", "--issue", "--seller", "Ann", "-o", "q.pdf")
    ran = run(*issue)
    assert (ran.code, ran.out) == (1, "")
    assert ran.err == (
        "the quote names no customer: one that is issued is for somebody to sign; give --customer "
        "NAME, or customer: {name: ...} in the selection, or keep a draft with: configurator "
        "register keep SELECTION\n"
    )
    assert not Path("q.pdf").exists()
    keep = [one.replace("SELECTION", "nobody.yaml") for one in advised(ran.err)]
    assert run(*keep, "--seller", "Ann").code == 0
    assert run(*issue, "--customer", "Ottilie Brandgrove").code == 0
    assert "Ottilie Brandgrove" in run("register", "show", "Q-1").out


def test_a_quote_is_issued_without_a_file(run: Run) -> None:
    picked = json.loads(run("complete", "--pick", "vehicle=mid-single", "--json").out)["selection"]
    picks = []
    for choice, options in picked["picks"].items():
        for option, many in options.items():
            picks += ["--pick", f"{choice}={option}:{many}"]
    issue = ("quote", *picks, "--issue", "--seller", "Ann", "-o", "q.pdf")
    assert run(*issue).err.startswith("the quote names no customer: ")
    assert run(*issue, "--customer", "Ottilie Brandgrove").out.startswith("q.pdf: quote Q-1, ")
    kept = run("register", "keep", *picks, "--customer", "Ida Moorwell", "--seller", "Ann")
    assert kept.code == 0
    assert "Ida Moorwell" in run("register", "show", "draft-2").out


def test_what_is_missing_and_nobody_to_sign_are_said_at_once(run: Run) -> None:
    issue = ("quote", "--pick", "vehicle=mid-dual", "--issue", "--seller", "Ann")
    ran = run(*issue)
    assert (ran.code, ran.out) == (1, "")
    assert "  Still to be chosen: Tray, " in ran.err
    assert "  the quote names no customer: " in ran.err
    codes = [one["code"] for one in json.loads(run(*issue, "--json").out)["findings"]]
    assert (codes.count("no-customer"), codes.count("undecided") > 9) == (1, True)
    for more in (["--customer", "Ida Moorwell"], []):
        command = issue if more else [one for one in issue if one != "--issue"]
        assert "names no customer" not in run(*command, *more).err


def test_another_customer_has_no_telephone_of_the_last(run: Run) -> None:
    assert run(*ISSUE, "-o", "first.pdf").code == 0
    assert run(*ISSUE, "-o", "second.pdf", "--customer", "Jorun Hallam Fencing").code == 0
    assert run(*ISSUE, "-o", "third.pdf", "--customer", "Ida Moorwell").code == 0
    first, second, third = (run("register", "show", number).out for number in ("Q-1", "Q-2", "Q-3"))
    assert "Jorun Hallam Fencing, (08) 5550 0118, jorun@example.com" in first
    assert "Jorun Hallam Fencing, (08) 5550 0118, jorun@example.com" in second
    assert ("Ida Moorwell" in third, "5550 0118" in third, "jorun@" in third) == (
        True,
        False,
        False,
    )
    for wrong in ("", " ", "x" * 121, "Ida\nMoorwell"):
        ran = run(*ISSUE, "--customer", wrong)
        assert (ran.code, ran.out) == (2, "")
        assert ran.err == "--customer: a customer's name is one line of 1 to 120 letters\n"


def advised(told: str) -> list[str]:
    """The arguments of the command that a message ends with."""
    command = shlex.split(told.rpartition(": ")[2])
    assert command[0] == "configurator"
    return command[1:]


def test_what_is_advised_runs_as_it_stands(run: Run) -> None:
    """A number with a blank in it, too."""
    Path("T 26-1.pdf").write_text("mine")
    issued = run(*ISSUE, "--series", "T 26-")
    shown = [argument.replace("FILE", "again") for argument in advised(issued.out)]
    assert (run(*shown).code, Path("again.pdf").exists()) == (0, True)
    order = ("register", "order", "T 26-1", "-o", "orders")
    refused = run(*order)
    assert (refused.code, refused.out) == (1, "")
    assert refused.err.startswith("quote T 26-1 is issued, and nothing is ordered for it; record ")
    run("register", "decline", "T 26-1", "--reason", "too dear", "--seller", "Ann")
    declined = run(*order).err
    revise = [one.replace("SELECTION", "contractor.yaml") for one in advised(declined)]
    assert run(*revise, "--seller", "Ann", "-o", "second.pdf").code == 0
    accepted = run(*advised(refused.err), "--seller", "Ann")
    assert (accepted.code, accepted.out) == (0, "quote T 26-1: accepted\n")
    assert run(*order).code == 0
    ended = run("register", "withdraw", "T 26-1", "--reason", "a mistake", "--seller", "Ann")
    assert ended.err == (
        "quote T 26-1 was accepted: cancel what was ordered from suppliers for it\n"
    )
    assert run(*order).err == "quote T 26-1 is withdrawn, and nothing is ordered for it\n"
    kept = run("register", "keep", "contractor.yaml", "--seller", "Ann")
    draft = [argument.replace("SELECTION", "contractor.yaml") for argument in advised(kept.out)]
    assert run(*draft, "--seller", "Ann").code == 0


@pytest.mark.parametrize(
    ("command", "says"),
    [
        (
            "accept Q-1",
            'say how it was accepted with --reason, such as --reason "signed at the counter"',
        ),
        ("decline Q-1", 'say why with --reason, such as --reason "bought elsewhere"'),
        ("withdraw Q-1", 'say why with --reason, such as --reason "no longer made"'),
        ("forget Q-1", 'say why with --reason, such as --reason "asked for by letter"'),
        (
            "revise contractor.yaml --number Q-1",
            'say what changed with --reason, such as --reason "with the taller canopy"',
        ),
    ],
)
def test_a_missing_reason_is_asked_for_with_an_example(run: Run, command: str, says: str) -> None:
    ran = run("register", *command.split())
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.endswith(f"Error: {says}\n")


def test_two_who_revise_one_quote_are_told(issued: Run) -> None:
    """Whoever opened it before the other issued would undo what nobody told them of."""
    for file in ("ann.yaml", "bea.yaml"):
        assert issued("register", "open", "Q-1", "-o", file).code == 0

    def revised(file: str, by: str) -> Ran:
        return issued(
            *("register", "revise", file, "--drop", "lights=flood-rear", "--number", "Q-1"),
            *("--reason", "as agreed", "--seller", by, "-o", f"{by}.pdf"),
        )

    assert revised("bea.yaml", "Bea").code == 0
    late = revised("ann.yaml", "Ann")
    assert (late.code, late.out) == (1, "")
    assert late.err == (
        "quote Q-1: Bea issued revision 2 on 2026-08-03, after revision 1 that this comes from: "
        "open it again and change that\n"
    )
    assert not Path("Ann.pdf").exists()
    assert issued("register", "open", "Q-1", "-o", "ann.yaml").code == 0
    opened = Path("ann.yaml").read_text("utf-8")
    Path("ann.yaml").write_text(f"{opened}notes:\n  - As it was.\n", "utf-8")
    assert issued(
        *("register", "revise", "ann.yaml", "--number", "Q-1"),
        *("--reason", "as it was", "--seller", "Ann", "-o", "third.pdf"),
    ).out.startswith("third.pdf: quote Q-1, revision 3")


def test_times_are_those_of_the_place(issued: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """With the offset beside them; a program gets them in UTC."""
    monkeypatch.setenv("TZ", "Australia/Adelaide")
    time.tzset()
    try:
        assert "2026-08-03 18:30+09:30" in issued("register", "show", "Q-1").out
    finally:
        monkeypatch.delenv("TZ")
        time.tzset()
    (step,) = json.loads(issued("register", "show", "Q-1", "--json").out)["trail"]
    assert step["at"] == "2026-08-03T09:00:00Z"


def test_a_quote_with_options_that_are_gone_is_opened_all_the_same(issued: Run) -> None:
    """Its selection is written, to be mended; what it comes to, nobody can say."""
    shipped_but(Path.cwd(), "id: folded", "id: pressed")
    open_later = ("register", "open", "Q-1", "--catalogue", "quandong.yaml")
    ran = issued(*open_later, "-o", "again.yaml")
    assert ran.code == 1
    assert ran.out == "again.yaml: the selection, to change and quote again\n"
    assert ran.err.startswith("Q-1: was AUD 25,630.00, and has no price now:\n")
    assert 'Mudguards has no option "folded"' in ran.err
    assert "mudguards: folded" in Path("again.yaml").read_text("utf-8")
    told = issued(*open_later, "--json")
    assert (told.code, told.err) == (1, "")
    assert json.loads(told.out)["answer"] == "problems"


def test_a_quote_that_costs_more_now_says_what_it_was(issued: Run) -> None:
    dearer_guards(Path.cwd())
    ran = issued("register", "open", "Q-1", "--catalogue", "quandong.yaml")
    assert ran.code == 0
    assert ran.out.startswith("Q-1: was AUD 25,630.00, is AUD 25,730.00\n")
    assert "Folded aluminium guards   390.00   490.00       100.00" in ran.out
    told = json.loads(
        issued("register", "open", "Q-1", "--catalogue", "quandong.yaml", "--json").out
    )
    assert (told["was"], told["now"]) == ("25630.00", "25730.00")


def test_a_quote_that_is_opened_again_says_how_it_stands(issued: Run) -> None:
    quoted = "Q-1: AUD 25,630.00, as quoted\n"
    assert issued("register", "open", "Q-1").out == quoted
    by = ("--reason", "as agreed", "--seller", "Ann")
    ended = "it cannot be revised; issue a new quote"
    for move, status, follow in (
        ("accept", "accepted", "the customer has to accept a revision again"),
        ("withdraw", "withdrawn", ended),
    ):
        issued("register", move, "Q-1", *by)
        assert issued("register", "open", "Q-1").out == f"{quoted}Q-1 is {status}: {follow}\n"
        told = json.loads(issued("register", "open", "Q-1", "--json").out)
        assert (told["status"], told["latest"]) == (status, 1)
    issued(*ISSUE, "-o", "second.pdf")
    revise = ("register", "revise", "contractor.yaml", "--drop", "lights=flood-rear")
    assert issued(*revise, "--number", "Q-2", *by, "-o", "third.pdf").code == 0
    issued("register", "decline", "Q-2", *by)
    first = issued("register", "open", "Q-2", "--revision", "1")
    assert first.out == (
        "Q-2: AUD 25,630.00, as quoted\nQ-2 is at revision 2 by now\n"
        "Q-2 is declined: a revision issues it again\n"
    )
    shipped_but(Path.cwd(), "id: folded", "id: pressed")
    gone = issued("register", "open", "Q-1", "--catalogue", "quandong.yaml")
    assert gone.err.endswith(f"\nQ-1 is withdrawn: {ended}\n")


def test_a_revision_of_what_was_accepted_says_that_it_is_open_again(issued: Run) -> None:
    revise = ("register", "revise", "contractor.yaml", "--number", "Q-1", "--seller", "Ann")
    again = issued(*revise, "--reason", "first", "-o", "a.pdf")
    assert (again.code, again.out) == (1, "")
    assert again.err == "quote Q-1: nothing has changed since revision 1\n"
    assert not Path("a.pdf").exists()
    dearer_guards(Path.cwd())
    dearer = (*revise, "--catalogue", "quandong.yaml")
    assert "open again" not in issued(*dearer, "--reason", "first", "-o", "a.pdf").err
    issued("register", "accept", "Q-1", "--reason", "signed", "--seller", "Ann")
    ran = issued(*revise, "--reason", "second", "-o", "b.pdf")
    first, _, cautions = ran.err.partition("\n")
    assert first == "quote Q-1 was accepted: it is open again until this revision is accepted"
    assert (ran.code, cautions.count("caution: ")) == (0, 3)


def test_add_ons_taken_up_are_on_the_paper(issued: Run) -> None:
    extra = json.loads(issued("price", "contractor.yaml", "--json").out)["suggestions"][0]
    ran = issued(
        *("register", "accept", "Q-1", "--reason", "signed", "--seller", "Ann"),
        *("--add-on", extra["option"], "-o", "accepted.pdf"),
    )
    assert ran.code == 0, ran.err
    assert re.fullmatch(
        r"quote Q-1: accepted, AUD [\d,.]+ with what was added \(quoted: AUD [\d,.]+\)\n", ran.out
    )
    assert Path("accepted.pdf").read_bytes().startswith(b"%PDF")
    again = issued(
        *("register", "accept", "Q-1", "--reason", "again", "--seller", "Ann"),
        *("--add-on", extra["option"]),
    )
    assert (again.code, again.out) == (1, "")
    assert again.err == "quote Q-1 is accepted already, with these add-ons\n"
    wrong = issued(
        *("register", "accept", "Q-1", "--reason", "signed", "--seller", "Ann"),
        *("--add-on", "nothing"),
    )
    assert (wrong.code, "Traceback" in wrong.err) == (1, False)


def test_what_was_accepted_is_written_too(issued: Run) -> None:
    ran = issued(
        *("register", "accept", "Q-1", "--reason", "signed", "--seller", "Ann"),
        *("-o", "accepted.pdf"),
    )
    assert (ran.code, ran.out) == (0, "quote Q-1: accepted\n")
    assert Path("accepted.pdf").read_bytes() == Path("first.pdf").read_bytes()


def test_a_list_that_is_cut_says_so(issued: Run) -> None:
    issued(*ISSUE, "-o", "second.pdf")
    for command in (("list",), ("find", "hallam")):
        ran = issued("register", *command, "--most", "1", "--json")
        assert [quote["number"] for quote in json.loads(ran.out)["quotes"]] == ["Q-2"]
        assert ran.err == "there are more: see --most\n"
        assert issued("register", *command, "--most", "2").err == ""


def test_a_draft_is_kept_and_issued_later(run: Run) -> None:
    kept = run("register", "keep", "contractor.yaml", "--seller", "Ann")
    assert kept.out == (
        "draft-1 is kept; issue it with: configurator quote SELECTION --issue --draft draft-1\n"
    )
    none = run("register", "show", "draft-1", "-o", "x.pdf")
    assert none.code == 3
    assert "is a draft and has no PDF" in none.err
    assert run(*ISSUE, "--draft", "draft-1").code == 0
    assert "draft" not in run("register", "list").out


def test_lists_searches_and_results(issued: Run) -> None:
    issued(*ISSUE, "--series", "F-", "-o", "f.pdf")
    issued("register", "decline", "F-1", "--reason", "too dear", "--seller", "Bea")
    listed = issued("register", "list")
    assert [line.split()[0] for line in listed.out.splitlines()[2:] if line[0] != " "] == [
        "F-1",
        "Q-1",
    ]
    assert "Q-1" not in issued("register", "list", "--status", "declined").out
    assert issued("register", "list", "--by", "Nobody").out == "No quotes found.\n"
    assert "Q-1" in issued("register", "list", "--lapses-within", "30").out
    assert (
        issued("register", "list", "--lapses-within", "7").out == "No quotes lapse within 7 days.\n"
    )
    wrong = issued("register", "list", "--lapses-within", "soon")
    assert (wrong.code, "'soon' is no whole number of days" in wrong.err) == (2, True)
    assert issued("register", "list", "--status", "lost").code == 2
    found = json.loads(issued("register", "find", "hallam", "q", "--json").out)
    assert [quote["number"] for quote in found["quotes"]] == ["Q-1"]
    results = issued("register", "results", "-o", "results.svg")
    assert "too dear" in results.out
    assert "August 2026" in results.out
    assert "2026-08" not in results.out
    assert "Lost, AUD" in results.out
    assert "Withdrawn" in results.out
    assert results.out.endswith("results.svg: the same as a picture\n")
    assert Path("results.svg").read_text("utf-8").startswith("<svg")
    assert issued("register", "results", "-o", "results.pdf").out == ""
    assert json.loads(issued("register", "results", "--json").out)["months"][0]["lost"] == 1
    none = issued("register", "results", "--first", "2027-01-01")
    assert none.out == "no quotes were issued or decided in that time\n"


def test_lists_for_spreadsheets_and_programs(issued: Run) -> None:
    assert issued("register", "export", "-o", "all.csv").out == "all.csv: 1 quote\n"
    with Path("all.csv").open(encoding="utf-8-sig", newline="") as file:
        [row] = csv.DictReader(file)
    assert (row["number"], row["total"], row["currency"]) == ("Q-1", "25630.00", "AUD")
    assert issued("register", "export", "-o", "all.json").code == 0
    assert json.loads(Path("all.json").read_text("utf-8"))["quotes"][0]["number"] == "Q-1"
    assert issued("register", "export").code == 2
    assert issued("register", "export", "-o", "all.txt").code == 2


def test_backup_move_check_and_forget(
    issued: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert issued("register", "backup", "copy.sqlite").code == 0
    again = issued("register", "backup", "copy.sqlite")
    assert (again.code, "never overwritten" in again.err) == (3, True)
    assert "the register is here now" in issued("register", "move", "other.sqlite").out
    other = issued("register", "list", "--register", "other.sqlite")
    assert "Q-1" in other.out
    forget = ("register", "forget", "Q-1", "--reason", "by letter", "--seller", "Ann")
    refused = issued(*forget)
    assert refused.code == 3
    assert f"it was moved to {tmp_path / 'other.sqlite'}" in refused.err
    monkeypatch.setenv("CONFIGURATOR_REGISTER", "other.sqlite")
    assert issued(*forget).code == 0
    assert "Hallam" not in issued("register", "show", "Q-1").out
    assert issued("register", "open", "Q-1").code == 1
    assert issued("register", "check").out.endswith(": everything is as it was written\n")
    with sqlite3.connect(tmp_path / "copy.sqlite") as copy:
        copy.execute("UPDATE papers SET pdf = x'00'")
    copy.close()
    checked = ("register", "check", "--json", "--register")
    told = json.loads(issued(*checked, "other.sqlite").out)
    assert (told["register"], told["whole"], told["wrong"]) == ("other.sqlite", True, [])
    ran = issued(*checked, "copy.sqlite")
    said = ["quote Q-1, revision 1: its pdf is not what was kept"]
    assert (ran.code, json.loads(ran.out)["wrong"]) == (1, said)
    wrong = issued("register", "check", "--register", "copy.sqlite")
    assert (wrong.code, wrong.out) == (1, "quote Q-1, revision 1: its pdf is not what was kept\n")


@pytest.mark.parametrize(
    ("arguments", "code", "said"),
    [
        (["show", "Q-7"], 1, "there is no quote Q-7"),
        (["open", "Q-1", "--revision", "4"], 1, "quote Q-1 has no revision 4"),
        (["accept", "Q-1"], 2, "--reason"),
        (["accept", "Q-1", "--reason", " ", "--seller", "Ann"], 2, "the reason is empty"),
        (["show", "\udcff"], 1, "there is no quote"),
        (["show", "Q-1", "--revision", "1"], 2, "--revision goes with -o"),
        (["results", "--first", "2026-13-01"], 2, "--first 2026-13-01"),
        (["backup", "postgresql://x/y"], 2, "a backup is a file"),
        (["list", "--register", "none.sqlite"], 3, "there is no register yet"),
        (["lst"], 2, "list"),
        (["list", "--register", "mysql://x/y"], 2, "a register is in a file or in PostgreSQL"),
        (["list", "--register", "/dev/null/x"], 3, "there is no register yet"),
    ],
)
def test_what_cannot_be_done_is_said_in_a_sentence(
    issued: Run, arguments: list[str], code: int, said: str
) -> None:
    ran = issued("register", *arguments)
    assert ran.code == code
    assert said in ran.err
    assert "Traceback" not in ran.err
