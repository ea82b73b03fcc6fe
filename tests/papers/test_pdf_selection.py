"""A paper opened again: the selection that its PDF carries, and every PDF that carries none.

The files inside are read and changed by pikepdf, which shares no code with the writer (WeasyPrint)
or the reader (pypdf). The digests stand against accidents; that they are no signature is told.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import io
import json
import os
import re
import shutil
import subprocess
import sys
import zlib
from collections.abc import Callable
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

import attrs
import pikepdf
import pytest
from attrs import evolve
from hypothesis import HealthCheck, given, settings, strategies as st
from jsonschema import Draft202012Validator

from configurator import (
    Adjustment,
    Budget,
    BudgetEntry,
    ConfiguratorError,
    Customer,
    FileError,
    FreeLine,
    NamedPrice,
    Override,
    Pick,
    PlannedDate,
    Revision,
    Sale,
    Selection,
    SelectionError,
    TradeIn,
    Travel,
    Wish,
    to_json,
)
from configurator.answers.data import selection_data, selection_yaml
from configurator.catalogue.reading import MOST_BYTES_OF_PDF as MOST_BYTES, shipped
from configurator.catalogue.units import Position
from configurator.render.pdf import html_to_pdf
from configurator.render.writing import carrying
from configurator.selection.attachments import MOST_UNPACKED, Attachment, Carried
from configurator.selection.reading import parse_selection, read_selection
from configurator.shapes.shipped import schema
from tests.support.building import choice, option, raw_catalogue, vehicle, written
from tests.support.commands import Run
from tests.support.made_papers import DAY, pdf_of, shipped_selection
from tests.support.paths import ROOT
from tests.support.pdfs import rewrite
from tests.support.shipped import shipped_in_one

pytestmark = pytest.mark.usefixtures("nothing_logged")

OF = {
    "quote of touring": "touring",
    "quote of contractor": "contractor",
    "budget": "touring",
    "layout of contractor": "contractor",
}


@pytest.fixture
def quoted(tmp_path: Path) -> Path:
    """A quote of the shipped touring selection, in the folder where commands are run."""
    file = tmp_path / "quote.pdf"
    file.write_bytes(pdf_of("quote of touring"))
    return file


# What a paper carries


@pytest.mark.parametrize(("name", "of"), OF.items())
def test_the_selection_read_from_a_paper_is_the_one_it_was_made_from(
    name: str, of: str, tmp_path: Path
) -> None:
    file = tmp_path / "paper.pdf"
    file.write_bytes(pdf_of(name))
    read = read_selection(file)
    assert read == shipped_selection(of)
    assert read.customer == shipped_selection(of).customer
    assert read.source == file.name


def test_each_selection_of_a_comparison_is_read_by_its_letter(tmp_path: Path) -> None:
    file = tmp_path / "comparison.pdf"
    file.write_bytes(pdf_of("comparison"))
    for letter, name in zip("ABC", ("touring", "contractor", "wish"), strict=True):
        assert read_selection(f"{file}#{letter}") == shipped_selection(name)


def carried(pdf: bytes) -> dict[str, dict[str, Any]]:
    """What pikepdf says of the files inside."""
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        return {
            name: {
                "content": file.get_file().read_bytes(),
                "relationship": str(file.obj.AFRelationship),
                "description": file.description,
                "type": file.get_file().mime_type,
                "created": file.get_file().creation_date,
                "modified": file.get_file().mod_date,
            }
            for name, file in opened.attachments.items()
        }


def test_what_is_attached_says_what_it_is_and_from_which_day() -> None:
    files = carried(pdf_of("quote of touring"))
    assert list(files) == ["quote.json", "quote.xml", "selection.json"]
    day = dt.datetime(2026, 8, 3, tzinfo=dt.UTC)
    for file in files.values():
        assert (file["created"], file["modified"]) == (day, day)
    assert {file["type"] for file in files.values()} <= {"application/json", "text/xml"}
    told = {name: (file["relationship"], file["description"]) for name, file in files.items()}
    assert told == {
        "selection.json": ("/Source", "The selection"),
        "quote.json": ("/Data", "The quote, with every price"),
        "quote.xml": ("/Alternative", "The quote as an open-standard quotation (UBL 2.1)"),
    }
    compared = carried(pdf_of("comparison"))
    letters = [f"selection-{letter}.json" for letter in "ABC"]
    assert list(compared) == ["comparison.json", *letters]


def test_every_file_inside_is_associated_with_the_document() -> None:
    """PDF/A-3 wants it: ISO 19005-3, 6.8."""
    with pikepdf.open(io.BytesIO(pdf_of("quote of touring"))) as opened:
        names = [str(file.UF) for file in opened.Root.AF]
    assert names == ["quote.json", "quote.xml", "selection.json"]


def test_the_quote_inside_is_the_answer_as_json_and_has_the_shape_of_its_schema(
    run: Run, tmp_path: Path
) -> None:
    asked = ("quote", "touring.yaml", "--number", "Q-2041", "--date", "2026-08-03")
    assert run(*asked, "-o", "q.pdf").code == 0
    content = carried((tmp_path / "q.pdf").read_bytes())["quote.json"]["content"]
    assert content.decode() == run(*asked, "--json").out
    data = json.loads(content)
    assert data["answer"] == "quote"
    answers = dict(schema("answers"))
    Draft202012Validator(answers).validate(data)
    assert data["selection"] == json.loads(
        carried((tmp_path / "q.pdf").read_bytes())["selection.json"]["content"]
    )


def test_no_path_of_this_machine_is_carried(run: Run, tmp_path: Path) -> None:
    asked = ("--number", "Q-2041", "--date", "2026-08-03", "-o", "q.pdf")
    assert run("quote", str(tmp_path / "touring.yaml"), *asked).code == 0
    for file in carried((tmp_path / "q.pdf").read_bytes()).values():
        assert str(tmp_path).encode() not in file["content"]


# Writing a selection and reading it again gives it back

INVISIBLE = "\u034f\u115f\u1160\u17b4\u17b5\u180b\u180c\u180d\u180f\u2800\u3164\uffa0"
SEEN = st.characters(exclude_categories=("C", "Zl", "Zp"), exclude_characters=INVISIBLE)
WORD = st.text(SEEN, min_size=1, max_size=12).map(lambda text: f"x{text}x")
ID = st.from_regex("[a-z0-9]{1,6}(-[a-z0-9]{1,4})?", fullmatch=True)
MONEY = st.decimals("0.01", "99999999", places=2)
FINE = st.decimals("0.000001", "99", places=6)
ADJUSTED = st.one_of(
    st.builds(Adjustment, WORD, WORD, percent=FINE),
    st.builds(Adjustment, WORD, WORD, amount=st.decimals("-9999", "9999", places=2), group=ID),
)
BUDGETS = st.builds(
    Budget,
    limit=st.none() | MONEY,
    limits=st.dictionaries(ID, MONEY, max_size=2).map(lambda d: tuple(d.items())),
    contingency=st.just(Decimal(0)) | FINE,
    entries=st.lists(
        st.builds(
            BudgetEntry, WORD, MONEY, who=WORD, group=WORD, guessed=st.booleans(),
            spent=st.booleans(),
        ),
        max_size=2,
    ).map(tuple),
    sales=st.lists(st.builds(Sale, WORD, MONEY, received=st.booleans()), max_size=2).map(tuple),
    keep=st.lists(ID, max_size=2).map(tuple),
).filter(lambda budget: budget != Budget())  # fmt: skip
FREE = st.builds(
    FreeLine, ID, WORD, MONEY, FINE, tax=st.just("") | ID, group=st.just("") | ID,
    position=st.none() | st.builds(
        Position, st.sampled_from(["front-axle", "rear-axle"]), st.integers(-9000, 9000),
        y=st.integers(-900, 900), above=st.sampled_from(["tray-floor", "roof"]),
        top=st.none() | st.integers(0, 900),
    ),
    note=st.just("") | WORD,
)  # fmt: skip


def picked(chosen: Selection) -> Selection:
    """With a quantity of each free line."""
    picks = (Pick("free-line", line.id, n) for n, line in enumerate(chosen.free_lines, 1))
    return evolve(chosen, picks=(*chosen.picks, *picks))


SELECTIONS = st.builds(
    Selection,
    catalogue=ID,
    none=st.lists(ID, max_size=2).map(lambda ids: tuple(Pick(one) for one in ids)),
    picks=st.dictionaries(ID, st.dictionaries(ID, st.integers(1, 9), min_size=1), max_size=4).map(
        lambda picks: [
            Pick(choice, option, quantity)
            for choice, options in picks.items()
            for option, quantity in options.items()
        ]
    )
    .flatmap(lambda picks: st.permutations([*picks, *picks[:2]]))
    .map(tuple),
    title=st.just("") | WORD,
    customer=st.none()
    | st.builds(Customer, WORD, st.lists(WORD, max_size=2).map(tuple), WORD, WORD, WORD),
    free_lines=st.lists(FREE, max_size=2, unique_by=lambda line: line.id).map(tuple),
    wishes=st.lists(
        st.builds(
            Wish, ID, ID, side=st.sampled_from(["", "left", "rear"]),
            x=st.none() | st.integers(0, 9000),
        ),
        max_size=2,
    ).map(tuple),
    adjustments=st.lists(ADJUSTED, max_size=3).map(tuple),
    trade_ins=st.lists(st.builds(TradeIn, WORD, WORD, MONEY), max_size=2).map(tuple),
    named_prices=st.lists(st.builds(NamedPrice, WORD, MONEY, by=WORD), max_size=2).map(tuple),
    budget=st.none() | BUDGETS,
    notes=st.lists(WORD, max_size=2).map(tuple),
    travel=st.builds(Travel, people=st.none() | st.integers(1, 9), tow_ball=st.none() | FINE),
    overrides=st.lists(st.builds(Override, ID, WORD, WORD), max_size=2).map(tuple),
    revision=st.none() | st.integers(1, 99),
    revisions=st.lists(
        st.builds(Revision, st.integers(1, 99), st.dates(dt.date(1990, 1, 1)).map(str), WORD),
        max_size=3,
    ).map(tuple),
    dates=st.lists(
        st.builds(PlannedDate, st.dates(dt.date(1990, 1, 1)).map(str), title=WORD), max_size=2
    ).map(tuple),
).map(picked)  # fmt: skip


@settings(max_examples=30, deadline=None, suppress_health_check=list(HealthCheck))
@given(chosen=SELECTIONS)
def test_a_selection_written_and_read_again_is_equal_to_the_digit(
    chosen: Selection,
) -> None:
    """As a PDF carries it, and as a file; however its picks are mixed, and one said twice."""
    for text in (to_json(selection_data(chosen)), selection_yaml(chosen)):
        read = parse_selection(text, "again")
        assert read == chosen
        assert read.picks == chosen.picks


@pytest.mark.parametrize("title", ["1e3", "0o17", "0x1F", "12_000", "yes", "null", "~", "1:30"])
def test_a_title_like_a_number_stays_text_in_a_selection_file(
    title: str,
) -> None:
    chosen = Selection("quandong", notes=(title,), title=title)
    assert parse_selection(selection_yaml(chosen), "again") == chosen


def test_the_selections_made_up_above_have_every_part_that_a_selection_has() -> None:
    """A new field must be carried too: it needs its own strategy, or a reason to be missing."""
    tried = {
        *("catalogue", "picks", "title", "customer", "wishes", "adjustments", "trade_ins"),
        "free_lines",
        *("none", "dates"),
        *("named_prices", "budget", "notes", "travel", "overrides", "revision", "revisions"),
    }
    elsewhere = {"source", "at"}
    assert {field.name for field in attrs.fields(Selection)} <= tried | elsewhere


# Wherever a selection is accepted

COMMANDS = (
    ["check"],
    ["price", "--date", "2026-08-03"],
    ["layout"],
    ["mass"],
    ["power"],
    ["budget", "--no-savings", "--date", "2026-08-03"],
    ["options", "--choice", "finish"],
    ["quote", "--json", "--date", "2026-08-03", "--number", "Q-1"],
)


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: command[0])
def test_commands_answer_to_the_paper_as_to_the_selection_itself(
    command: list[str], run: Run, quoted: Path
) -> None:
    name, *more = command
    from_paper, from_file = (run(name, file, *more) for file in (quoted.name, "touring.yaml"))
    assert (from_paper.code, from_paper.out) == (from_file.code, from_file.out)
    assert from_paper.err == from_file.err


def test_a_paper_is_compared_with_a_changed_selection(run: Run, quoted: Path) -> None:
    text = Path("touring.yaml").read_text("utf-8")
    Path("new.yaml").write_text(text.replace("colour: stone", "colour: white"), "utf-8")
    ran = run("compare", quoted.name, "new.yaml", "--json", "--date", "2026-08-03")
    assert ran.code == 0
    (differs,) = [row for row in json.loads(ran.out)["choices"] if row["differs"]]
    assert differs["choice"] == "colour"


@pytest.mark.usefixtures("rendered_anew")
def test_a_paper_quoted_anew_is_the_same_to_the_byte(run: Run, quoted: Path) -> None:
    ran = run("quote", quoted.name, "-o", "b.pdf", "--number", "Q-2041", "--date", "2026-08-03")
    assert ran.code == 0
    assert Path("b.pdf").read_bytes() == quoted.read_bytes()


def test_a_quote_made_with_another_text_of_the_catalogue_is_told_as_such(
    run: Run, quoted: Path
) -> None:
    newer = Path("newer.yaml")
    newer.write_text(f"# prices of next year\n{shipped_in_one()}", "utf-8")
    logo = shipped("catalogues") / "quandong-logo.svg"
    newer.with_name(logo.name).write_bytes(logo.read_bytes())
    said = (
        "quote.pdf: note: the catalogue has changed since quote Q-2041 of 2026-08-03; "
        "prices and answers here are today's, not those on that paper\n"
    )
    with_it = ("--catalogue", str(newer), "--date", "2026-08-03")
    for command in (
        ("check", quoted.name, *with_it[:2]),
        ("price", quoted.name, *with_it),
        ("compare", quoted.name, "contractor.yaml", *with_it),
    ):
        ran = run(*command)
        assert (ran.code, ran.err) == (0, said)
        assert ran.out
    assert run("check", quoted.name).err == ""


def test_a_name_that_a_newer_catalogue_lacks_is_told_with_its_place_in_the_paper(
    run: Run, quoted: Path
) -> None:
    def older(name: str, content: bytes) -> bytes:
        return content.replace(b'"stone"', b'"sandstone"') if name == "selection.json" else content

    rewrite(quoted, older, digests_too=True)
    ran = run("check", quoted.name)
    assert ran.code == 1
    assert ran.err.startswith("quote.pdf, selection.json:")
    assert 'Colour has no option "sandstone"' in ran.err


# What is no paper of ours, or not any more


def cheaper(_: str, content: bytes) -> bytes:
    return content.replace(b'"lfp-200": 2', b'"lfp-200": 1')


ALTERED = (
    "quote.pdf: error: {} been changed since the PDF was made (pdf-altered)\n"
    "    hint: take the file as it was issued, or the selection file itself\n"
)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (cheaper, "quote.json and selection.json in it have"),
        (lambda name, c: cheaper(name, c) if name == "quote.json" else c, "quote.json in it has"),
        (lambda name, c: None if name == "selection.json" else c, "selection.json in it has"),
        (lambda name, c: c + b" " if name == "selection.json" else c, "selection.json in it has"),
        (
            lambda name, c: b"\xff\xfe" if name == "selection.json" else c,
            "selection.json in it has",
        ),
    ],
    ids=["both", "the quote", "removed", "a space", "no text"],
)
def test_a_paper_whose_files_were_altered_is_refused(
    change: Callable[[str, bytes], bytes | None], said: str, run: Run, quoted: Path
) -> None:
    rewrite(quoted, change)
    ran = run("price", quoted.name)
    assert (ran.code, ran.out, ran.err) == (1, "", ALTERED.format(said))
    as_json = json.loads(run("price", quoted.name, "--json").out)
    assert [problem["code"] for problem in as_json["problems"]] == ["pdf-altered"]


def test_the_digests_are_no_seal(quoted: Path) -> None:
    """Whoever writes the digests anew can change what they stand for: the documents say so."""
    rewrite(quoted, cheaper, digests_too=True)
    assert read_selection(quoted).quantity("battery", "lfp-200") == 1
    readme = (ROOT / "README.md").read_text("utf-8")
    assert "They are not a signature" in " ".join(readme.split())


def test_a_paper_saved_anew_by_another_program_is_still_read(quoted: Path) -> None:
    rewrite(quoted, lambda _, content: content)
    assert read_selection(quoted) == shipped_selection("touring")


def test_a_paper_saved_with_its_objects_packed_together_is_still_read(quoted: Path) -> None:
    packed = pikepdf.ObjectStreamMode.generate
    with pikepdf.open(quoted, allow_overwriting_input=True) as opened:
        opened.save(quoted, object_stream_mode=packed, recompress_flate=True)
    assert b"/ObjStm" in quoted.read_bytes()
    assert read_selection(quoted) == shipped_selection("touring")


def test_files_that_others_attach_besides_are_let_be(quoted: Path) -> None:
    with pikepdf.open(quoted, allow_overwriting_input=True) as opened:
        for name in ("photo.jpg", "selection-Z.json", "aaa.json"):
            opened.attachments[name] = pikepdf.AttachedFileSpec(opened, b"{}", filename=name)
        opened.save(quoted)
    assert read_selection(quoted) == shipped_selection("touring")


def test_a_comparison_asks_which_of_its_selections_is_meant(run: Run, tmp_path: Path) -> None:
    (tmp_path / "c.pdf").write_bytes(pdf_of("comparison"))
    three, hint = (
        "it carries 3 selections: A, B and C",
        "    hint: say which one, such as c.pdf#A\n",
    )
    for wanted in ("", "#D", "#a", "#selection"):
        ran = run("check", f"c.pdf{wanted}")
        other = f'it has no selection "{wanted[1:]}": it carries A, B and C'
        said = f"c.pdf{wanted}: error: {other if wanted else three} (pdf-which-selection)\n{hint}"
        assert (ran.code, ran.out, ran.err) == (1, "", said)
    assert run("check", "c.pdf#A").out == run("check", "touring.yaml").out


def test_a_letter_where_there_is_one_selection_is_told(run: Run, quoted: Path) -> None:
    ran = run("check", f"{quoted.name}#A")
    assert (ran.code, ran.err) == (
        1,
        "quote.pdf#A: error: it holds only one selection, which has no letter "
        "(pdf-which-selection)\n"
        "    hint: write quote.pdf\n",
    )


def test_a_number_sign_in_the_name_of_a_file_is_part_of_its_name(quoted: Path) -> None:
    odd = quoted.rename(quoted.with_name("quote#2.pdf"))
    assert read_selection(odd) == shipped_selection("touring")
    plain = odd.with_name("touring#A")
    plain.write_text("format: 1\ncatalogue: quandong\n")
    assert read_selection(plain) == Selection("quandong")


NOT_OURS = (
    "other.pdf: error: the PDF carries no selection (pdf-without-selection)\n"
    "    hint: use a quote, comparison, budget or layout as this program wrote it, not printed to "
    "PDF or merged, or the selection file itself\n"
)


def blank() -> bytes:
    file = io.BytesIO()
    made = pikepdf.new()
    made.add_blank_page()
    made.save(file)
    return file.getvalue()


def with_a_selection_of_others() -> bytes:
    made = pikepdf.open(io.BytesIO(blank()))
    spec = pikepdf.AttachedFileSpec(made, b"{}", filename="selection.json")
    made.attachments["selection.json"] = spec
    file = io.BytesIO()
    made.save(file)
    return file.getvalue()


def without_a_selection() -> bytes:
    only = Attachment("quote.json", b"{}", "The quote", "Data")
    page = '<html lang="en"><title>x</title><h1 style="font-family: Paper">x</h1>'
    return html_to_pdf(page, Carried((only,), DAY))


@pytest.mark.parametrize(
    "make", [blank, with_a_selection_of_others, without_a_selection], ids=lambda f: f.__name__
)
def test_a_pdf_that_is_not_ours_is_told(
    make: Callable[[], bytes], run: Run, tmp_path: Path
) -> None:
    (tmp_path / "other.pdf").write_bytes(make())
    ran = run("check", "other.pdf")
    assert (ran.code, ran.out, ran.err) == (1, "", NOT_OURS)


def test_a_pdf_is_known_by_what_is_in_it_and_not_by_its_name(quoted: Path) -> None:
    assert read_selection(quoted.rename(quoted.with_name("wish.yaml"))) == shipped_selection(
        "touring"
    )
    text = quoted.with_name("text.pdf")
    text.write_text("format: 1\ncatalogue: quandong\n")
    assert read_selection(text) == Selection("quandong")


@pytest.mark.parametrize("password", ["", "secret"])
def test_an_encrypted_pdf_is_told(password: str, run: Run, quoted: Path) -> None:
    with pikepdf.open(quoted, allow_overwriting_input=True) as opened:
        locked = pikepdf.Encryption(owner="owner", user=password)
        opened.save(quoted, encryption=locked)
    ran = run("check", quoted.name)
    assert (ran.code, ran.out, ran.err) == (
        3,
        "",
        "quote.pdf: cannot read it: it is encrypted; save it without a password\n",
    )


DAMAGED = (
    "quote.pdf: cannot read it: the PDF is damaged or cut short; choose the file again, or fetch "
    "it again from where it came\n"
)


@pytest.mark.parametrize("share", [0, 0.001, 0.1, 0.5, 0.9])
def test_a_pdf_that_is_cut_short_is_told(share: float, run: Run, quoted: Path) -> None:
    content = quoted.read_bytes()
    quoted.write_bytes(content[: max(5, int(len(content) * share))])
    ran = run("check", quoted.name)
    assert (ran.code, ran.out, ran.err) == (3, "", DAMAGED)


def test_a_pdf_that_is_too_large_is_not_read_at_all(run: Run, quoted: Path) -> None:
    os.truncate(quoted, MOST_BYTES + 1)
    ran = run("check", quoted.name)
    assert (ran.code, ran.out, ran.err) == (
        3,
        "",
        "quote.pdf: cannot read it: it has more than 30 MB; check that this is the right file\n",
    )


def test_a_pdf_that_would_unpack_without_end_is_told(quoted: Path) -> None:
    """80 MB of spaces in 80 kB."""
    squeezed = zlib.compressobj(9)
    block = b" " * 1_000_000
    packed = b"".join([*(squeezed.compress(block) for _ in range(80)), squeezed.flush()])
    assert len(packed) < MOST_UNPACKED < 80_000_000
    with pikepdf.open(quoted, allow_overwriting_input=True) as opened:
        file = opened.Root.AF[0].EF.F
        file.write(packed, filter=pikepdf.Name.FlateDecode)
        opened.save(quoted, stream_decode_level=pikepdf.StreamDecodeLevel.none)
    with pytest.raises(ConfiguratorError, match=r"cannot read it|been changed since"):
        read_selection(quoted)


# PDFs made to keep a reader busy: each is read by a process of its own, whose work is measured


def hostile(quoted: Path, packed: bytes, count: int = 1, **how: Any) -> bytes:
    """The paper with so many files that it says it carries, packed as given."""
    with pikepdf.open(quoted) as opened:
        sums = opened.Root.PieceInfo.TrayCanopyConfigurator.Private.Digests
        for number in range(count):
            name = f"selection-{number}.json"
            opened.attachments[name] = pikepdf.AttachedFileSpec(opened, b"", filename=name)
            stream = opened.attachments[name].obj.EF.F
            stream.write(packed, filter=how.get("filter"), decode_parms=how.get("decode_parms"))
            sums.extend([pikepdf.String(name), pikepdf.String("0")])
        file = io.BytesIO()
        opened.save(
            file, stream_decode_level=pikepdf.StreamDecodeLevel.none, compress_streams=False
        )
    return file.getvalue()


def many_large(quoted: Path) -> bytes:
    return hostile(quoted, zlib.compress(bytes(45_000_000), 9), 60, filter=pikepdf.Name.FlateDecode)


def one_large(quoted: Path) -> bytes:
    return hostile(quoted, zlib.compress(bytes(60_000_000), 9), 1, filter=pikepdf.Name.FlateDecode)


def noughts(quoted: Path) -> bytes:
    return hostile(quoted, b"z" * 29_000_000 + b"~>", filter=pikepdf.Name.ASCII85Decode)


def narrow_rows(quoted: Path) -> bytes:
    """Rows of one byte, each with its own way of guessing from the row above."""
    return hostile(
        quoted,
        zlib.compress(bytes([4, 7]) * 20_000_000, 9),
        filter=pikepdf.Name.FlateDecode,
        decode_parms=pikepdf.Dictionary(Predictor=15, Columns=1),
    )


def chained(count: int, size: int, filters: bytes, packed: bytes) -> bytes:
    """A PDF of nothing but tables of where things lie, each of which names the one before it."""
    made, before = bytearray(b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n"), b""
    for number in range(1, count + 1):
        place = len(made)
        made += b"%d 0 obj\n<</Type/XRef/Size %d/W[1 2 1]/Root 1 0 R%s%s/Length %d>>\nstream\n" % (
            number,
            size,
            before,
            filters,
            len(packed),
        )
        made += packed + b"\nendstream\nendobj\n"
        before = b"/Prev %d" % place
    return bytes(made + b"startxref\n%d\n%%%%EOF\n" % place)


def tables_of_narrow_rows(_: Path) -> bytes:
    filters = b"/Filter/FlateDecode/DecodeParms<</Predictor 15/Columns 1>>"
    return chained(300, 10, filters, zlib.compress(bytes([4, 0]) * 20_000_000, 9))


def tables_of_noughts(_: Path) -> bytes:
    return chained(14, 10, b"/Filter/ASCII85Decode", b"z" * 2_000_000 + b"~>")


def tables_of_mended_bytes(_: Path) -> bytes:
    return chained(14, 10, b"/Filter/FlateDecode", b"\x78\x9c" + b"\xff" * 2_000_000)


@pytest.mark.skipif(not hasattr(os, "wait4"), reason="this system does not say what a process used")
@pytest.mark.parametrize(
    ("make", "said"),
    [
        (
            many_large,
            ", selection-{}.json: cannot read it: its attachments unpack to more than 50",
        ),
        (one_large, ", selection-{}.json: cannot read it: its attachments unpack to more"),
        (noughts, ": cannot read it: the PDF is damaged or cut short"),
        (narrow_rows, ": cannot read it: the PDF is damaged or cut short"),
        (tables_of_narrow_rows, ": cannot read it: the PDF "),
        (tables_of_noughts, ": cannot read it: the PDF "),
        (tables_of_mended_bytes, ": cannot read it: the PDF "),
    ],
    ids=lambda made: getattr(made, "__name__", ""),
)
def test_a_pdf_made_to_keep_a_reader_busy_is_refused_with_little_work(
    make: Callable[[Path], bytes], said: str, quoted: Path, tmp_path: Path
) -> None:
    (tmp_path / "evil.pdf").write_bytes(make(quoted))
    # a process starts with the peak of the one that starts it, so a small one starts this one
    measured = (
        "import os, subprocess, sys\n"
        "process = subprocess.Popen(sys.argv[1:], stdout=sys.stderr)\n"
        "_, status, used = os.wait4(process.pid, 0)\n"
        "print(os.waitstatus_to_exitcode(status), used.ru_utime, used.ru_maxrss)\n"
    )
    command = (sys.executable, "-m", "configurator", "check", "evil.pdf")
    with (tmp_path / "err").open("wb") as err:
        answer = subprocess.run(
            [sys.executable, "-c", measured, *command],
            cwd=tmp_path,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            stderr=err,
            stdout=subprocess.PIPE,
            check=True,
        )
    code, seconds, kilobytes = map(float, answer.stdout.split())
    told = (tmp_path / "err").read_text()
    assert code == 3
    assert re.match(re.escape(f"evil.pdf{said}").replace(r"\{\}", r"\d+"), told)
    assert len(told.splitlines()) == 1
    assert seconds < 20, "seconds of work"
    assert kilobytes < 700_000, "kilobytes of memory"


def test_a_pdf_with_something_before_it_is_read(run: Run, quoted: Path) -> None:
    content = quoted.read_bytes()
    for before in (
        b"\n",
        b"HTTP/1.1 200 OK\r\nContent-Type: application/pdf\r\n\r\n",
        b"\xff" * 900,
    ):
        quoted.write_bytes(before + content)
        assert read_selection(quoted) == shipped_selection("touring")
    ran = run("check", quoted.name)
    assert (ran.code, ran.err) == (0, "")


def test_a_text_that_speaks_of_a_pdf_is_a_text(tmp_path: Path) -> None:
    file = tmp_path / "wish.yaml"
    file.write_text('format: 1\ncatalogue: quandong\ntitle: "\u00e9 %PDF-1.7"\n', "utf-8")
    assert read_selection(file).title == "\u00e9 %PDF-1.7"


def loops() -> dict[str, Callable[[pikepdf.Pdf], None]]:
    """Ways to lead a reader round in circles, or to a place that is none."""

    def own_kid(pdf: pikepdf.Pdf) -> None:
        tree = pdf.make_indirect(pikepdf.Dictionary())
        tree.Kids = pikepdf.Array([tree, tree, tree])
        pdf.Root.Names.EmbeddedFiles = tree

    def no_tree(pdf: pikepdf.Pdf) -> None:
        pdf.Root.Names.EmbeddedFiles = pikepdf.Array([1, 2, 3])

    def no_digests(pdf: pikepdf.Pdf) -> None:
        pdf.Root.PieceInfo.TrayCanopyConfigurator.Private = pikepdf.String("x")

    def odd_names(pdf: pikepdf.Pdf) -> None:
        pdf.Root.Names.EmbeddedFiles.Names = pikepdf.Array([pikepdf.String("x")] * 999)

    return {f.__name__: f for f in (own_kid, no_tree, no_digests, odd_names)}


@pytest.mark.parametrize("name", loops())
def test_a_pdf_that_leads_in_circles_or_nowhere_is_told(name: str, quoted: Path) -> None:
    with pikepdf.open(quoted, allow_overwriting_input=True) as opened:
        loops()[name](opened)
        opened.save(quoted)
    with pytest.raises(ConfiguratorError):
        read_selection(quoted)


@cache
def small_paper() -> bytes:
    """A page with one heading that carries a whole selection."""
    page = '<html lang="en"><title>x</title><h1 style="font-family: Paper">x</h1>'
    return html_to_pdf(page, carrying(shipped_selection("touring"), DAY.isoformat()))


@settings(
    max_examples=75,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(st.data())
def test_whatever_bytes_of_a_paper_are_changed_it_is_read_right_or_refused(
    tmp_path: Path, data: st.DataObject
) -> None:
    """Never a fault of ours, and never another selection than the one that was put in."""
    content = bytearray(small_paper())
    for _ in range(data.draw(st.integers(1, 4))):
        place = data.draw(st.integers(5, len(content) - 1))
        if data.draw(st.booleans()):
            content[place] = data.draw(st.integers(0, 255))
        else:
            del content[place : place + data.draw(st.integers(1, 400))]
    file = tmp_path / "paper.pdf"
    file.write_bytes(content)
    with contextlib.suppress(FileError, SelectionError):
        assert read_selection(file) == shipped_selection("touring")


# The same every time


DAY_OF_ALL = ("--date", "2026-08-03")
EVERY_PAPER = {
    "quote.pdf": ("quote", "touring.yaml", "--number", "Q-2041", *DAY_OF_ALL),
    "compare.pdf": ("compare", "touring.yaml", "contractor.yaml", *DAY_OF_ALL),
    "budget.pdf": ("budget", "touring.yaml", "--no-savings", *DAY_OF_ALL),
    "layout.pdf": ("layout", "contractor.yaml"),
    "pages": ("sheets", "contractor.yaml", "--as", "html", *DAY_OF_ALL),
    "sheets": ("sheets", "small.yaml", "--catalogue", "small.json", "--number", "J-1", *DAY_OF_ALL),
}
"""How each paper is made; of the shop's sheets their pages, and the PDFs of a small package."""

EACH = """\
import contextlib
from configurator.cli import cli
for name, command in {}.items():
    with contextlib.suppress(SystemExit):
        cli([*command, "-o", name], standalone_mode=False)
"""


def small_shop(folder: Path) -> None:
    """A shop whose package has a unit, a circuit and a panel, so that all its sheets are made."""
    door = {"space": "box", "side": "left", "sill": 0, "header": 30, "front": 40, "rear": 40}
    size = {"length": 1800, "width": 1700, "height": 800, "wall": 20}
    panel = {"title": "Side", "length": {"mm": 1800}, "width": {"mm": 800}, "stock": "thin"}
    lamp = {"load": {"amps": 3}, "circuit": {"run": 2}}
    chest = {"space": "box", "body": {"width": 600, "depth": 400, "height": 480}}
    sheet = {"id": "thin", "title": "Thin", "thickness": 2}
    stock = {"sheets": [{**sheet, "sizes": [{"length": 2400, "width": 1200}]}], "bars": []}
    raw = raw_catalogue(
        [
            choice("box", [option("low", 9, space={"box": size}, openings=[door], panels=[panel])]),
            choice("cold", [option("chest", 9, unit={**chest, "works-from": ["left"]})]),
            choice("light", [option("lamp", 9, power=lamp)]),
        ],
        spaces=[{"id": "box", "title": "box"}],
        vehicles=[vehicle()],
        cutting=stock,
    )
    (folder / "small.json").write_text(written(raw))
    picks = {"vehicle": "ute", "box": "low", "cold": "chest", "light": "lamp"}
    text = to_json({"format": 1, "catalogue": "test", "picks": picks})
    (folder / "small.yaml").write_text(text)


def contents(folder: Path) -> dict[str, bytes]:
    """Every paper below a folder."""
    files = [folder / name for name in EVERY_PAPER]
    files = [one for file in files for one in (sorted(file.iterdir()) if file.is_dir() else [file])]
    return {str(file.relative_to(folder)): file.read_bytes() for file in files}


def test_every_paper_is_the_same_file_in_any_process(run: Run, tmp_path: Path) -> None:
    """With another hash seed, in another time zone and locale, in another folder.

    And nothing is left behind: no word on standard error but what the quote cautions of, no
    temporary file.
    """
    left, there = tmp_path / "temporary", tmp_path / "there"
    left.mkdir()
    small_shop(tmp_path)
    inputs = [file for file in tmp_path.iterdir() if file.is_file()]
    there.mkdir()
    for file in inputs:
        shutil.copy(file, there)
    seed = "1" if os.environ.get("PYTHONHASHSEED") == "77" else "77"
    elsewhere = {"PYTHONHASHSEED": seed, "TZ": "Asia/Kathmandu", "LC_ALL": "C"}
    done = subprocess.run(
        [sys.executable, "-c", EACH.format(EVERY_PAPER)],
        env={**os.environ, **elsewhere, "TMPDIR": str(left)},
        cwd=there,
        check=True,
        capture_output=True,
    )
    cautions = run(*EVERY_PAPER["quote.pdf"], "-o", "quote.pdf").err
    assert done.stderr.decode() == cautions
    assert list(left.iterdir()) == []
    for name, command in EVERY_PAPER.items():
        assert run(*command, "-o", name).err in ("", cautions), name
    here = contents(tmp_path)
    sheets = {"job", "wiring", "cuts", "orders"}
    assert {Path(file).stem for file in here if "/" in file} == sheets
    assert len(here) == 4 + 2 * len(sheets)
    assert contents(there) == here


# Cost and quiet


def test_the_reader_of_pdfs_is_loaded_only_for_a_pdf(tmp_path: Path) -> None:
    code = (
        "import sys\n"
        "from configurator.selection.reading import read_selection\n"
        "from configurator.catalogue.reading import shipped\n"
        "read_selection(shipped('catalogues') / 'selections' / 'touring.yaml')\n"
        "print('pypdf' in sys.modules, 'configurator.selection.attachments' in sys.modules)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=tmp_path
    )
    assert done.stdout == "False False\n"


def test_nothing_is_said_about_a_damaged_file_but_the_message(tmp_path: Path) -> None:
    """The library's own warnings would stand on standard error of a fresh process."""
    file = tmp_path / "q.pdf"
    file.write_bytes(pdf_of("quote of touring")[:-300])
    done = subprocess.run(
        [sys.executable, "-m", "configurator", "check", str(file)],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    assert done.returncode in (0, 1, 3)
    assert len(done.stderr.splitlines()) <= 2
    assert "Traceback" not in done.stderr
