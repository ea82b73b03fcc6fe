"""Suppliers' price lists through the command and the library, on the shipped catalogue."""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
import stat
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from jsonschema import Draft202012Validator

from configurator import CatalogueError, FileError, PriceUpdate, SheetError, Shop, open_shop
from configurator.catalogue.reading import shipped
from configurator.shapes.shipped import schema
from tests.support.commands import TODAY, Run
from tests.support.paths import CASES

MAP = """\
format: 1
supplier: Bolt Barn
columns: {code: Code, price: Price}
tax: exclude
sets: [cost]
"""
Priced = Callable[..., PriceUpdate]


@pytest.fixture
def ours(tmp_path: Path) -> Path:
    """A copy of the shipped catalogue, and of a list and a map for it."""
    shutil.copytree(shipped("catalogues"), tmp_path / "ours")
    for file in (CASES / "lists").glob("cold-supply.*"):
        shutil.copy(file, tmp_path)
    return tmp_path / "ours" / "quandong.yaml"


def texts(catalogue: Path) -> dict[str, list[bytes]]:
    """The lines of every file of the catalogue."""
    files = sorted(catalogue.parent.rglob("*.yaml"))
    return {file.name: file.read_bytes().splitlines(keepends=True) for file in files}


def test_a_list_changes_one_line_of_the_shipped_catalogue(
    ours: Path, tmp_path: Path, run: Run
) -> None:
    before = texts(ours)
    command = ("catalogue", "prices", str(tmp_path / "cold-supply.csv"))
    asked = ("--supplier", str(tmp_path / "cold-supply.yaml"), "--catalogue", str(ours))
    dry = run(*command, *asked)
    assert (dry.code, dry.err) == (0, "")
    assert re.search(r"UR-045, .* 809\.00 +842\.00 +4\.1 +[0-9.]+ +inside\.yaml:\d+ *\n", dry.out)
    assert "Not written yet: 1 new figure." in dry.out
    assert texts(ours) == before
    assert "Written: 1 new figure." in run(*command, *asked, "--write").out
    after = texts(ours)
    changed = [
        (old, new)
        for name in before
        for old, new in zip(before[name], after[name], strict=True)
        if old != new
    ]
    assert changed == [(b"        cost: 809.00\n", b"        cost: 842.00\n")]
    again = run(*command, *asked, "--write")
    assert (again.code, texts(ours)) == (0, after)
    assert "Nothing changes: 2 figures are as they were." in again.out


def test_the_answer_as_json_is_of_its_schema(ours: Path, tmp_path: Path, run: Run) -> None:
    asked = ("--supplier", str(tmp_path / "cold-supply.yaml"), "--catalogue", str(ours))
    ran = run("catalogue", "prices", str(tmp_path / "cold-supply.csv"), *asked, "--json")
    answer = json.loads(ran.out)
    Draft202012Validator(schema("answers")).validate(answer)
    (change,) = answer["changes"]
    assert (change["old"], change["new"], change["cell"]) == ("809.00", "842.00", "B2")
    assert re.fullmatch(r"quandong/[\w-]+\.yaml:\d+:15", change["at"])
    assert change["percent"] == "4.1"


def test_nothing_is_written_into_a_catalogue_that_nobody_named(run: Run) -> None:
    ran = run("catalogue", "prices", "list.csv", "--supplier", "map.yaml", "--write")
    assert (ran.code, "--catalogue" in ran.err) == (2, True)


@pytest.mark.parametrize("kind", ["xlsx", "csv"])
def test_prices_go_out_as_a_sheet_and_come_back(
    ours: Path, tmp_path: Path, run: Run, kind: str
) -> None:
    before, sheet = texts(ours), tmp_path / f"prices.{kind}"
    ran = run("catalogue", "export", "--catalogue", str(ours), "-o", str(sheet))
    count = int(re.fullmatch(r".*: (\d+) prices and costs\n", ran.out)[1])  # type: ignore[index]
    assert count > 500
    back = run("catalogue", "prices", str(sheet), "--catalogue", str(ours), "--write")
    assert f"Nothing changes: {count} figures are as they were." in back.out
    assert texts(ours) == before


def test_a_changed_sheet_changes_what_was_changed(ours: Path, tmp_path: Path) -> None:
    """Every amount one dearer, and as it was again."""
    before, sheet = texts(ours), tmp_path / "prices.xlsx"
    count = open_shop(ours, TODAY).export(sheet)
    for step in (1, -1):
        book = openpyxl.load_workbook(sheet)
        for row in book["Prices"].iter_rows(min_row=2, min_col=6, max_col=7):
            for cell in row:
                if cell.value is not None:
                    cell.value = float(Decimal(str(cell.value)) + step)
        book.save(sheet)
        update = open_shop(ours, TODAY).prices(sheet, write=True)
        assert (len(update.changes), update.unchanged, update.refused) == (count, 0, ())
        assert {change.new.amount - change.old.amount for change in update.changes} == {step}
        assert (texts(ours) == before) == (step == -1)


@pytest.fixture
def priced(tmp_path: Path) -> Priced:
    """What a list changes in the catalogue of the bad lists, or in another text of it."""

    def priced(
        rows: str, extra: str = "", text: str = "", write: bool = False, **more: Any
    ) -> PriceUpdate:
        original = (CASES / "bad-lists" / "catalogue.yaml").read_text("utf-8")
        (tmp_path / "c.yaml").write_text(text or original, "utf-8")
        (tmp_path / "map.yaml").write_text(extra if extra.startswith("format") else MAP + extra)
        (tmp_path / "list.csv").write_text(f"Code,Price\n{rows}", "utf-8")
        shop = open_shop(tmp_path / "c.yaml", TODAY)
        return shop.prices(tmp_path / "list.csv", tmp_path / "map.yaml", write=write, **more)

    return priced


def news(update: PriceUpdate) -> list[tuple[str, str, str]]:
    return [(change.item, change.sets, str(change.new.amount)) for change in update.changes]


def test_tax_factor_and_quantity_make_the_cost(priced: Priced) -> None:
    # by hand: 132.00 less 10 % tax is 120.00, for 4, at 0.8
    extra = "per: 4\nfactor: 0.8\n"
    update = priced("B-100,132.00\n", MAP.replace("exclude", "include") + extra)
    assert news(update) == [("part=plate", "cost", "24.00")]


def test_a_file_that_is_replaced_is_read_by_no_more_people_than_before(
    priced: Priced, tmp_path: Path
) -> None:
    priced("B-100,120.00\n")
    (tmp_path / "c.yaml").chmod(0o600)
    assert priced("B-100,120.00\n", write=True).written
    assert stat.S_IMODE((tmp_path / "c.yaml").stat().st_mode) == 0o600


def test_a_price_for_several_of_a_unit_is_divided_by_both(priced: Priced) -> None:
    # by hand: 120.00 for 2 boxes of 10 is 6.00 each, and 21.00 for 2 is 10.50
    heads = MAP.replace("{code: Code, price: Price}", "{code: A, price: B, unit: C}")
    extra = f"{heads}header-row: 0\nper: 2\nunits: {{each: 1, box: 10}}\n"
    assert news(priced("B-100,120.00,box\nB-200,21.00,each\n", extra)) == [
        ("part=plate", "cost", "6.00"),
        ("part=strap", "cost", "10.50"),
    ]


def test_mark_up_tax_and_rounding_make_the_price(priced: Priced) -> None:
    # by hand: 100.00 and 40 % is 140.00, with tax 154.00; up to fives 155; without rounding 154.00
    both = MAP.replace("[cost]", "[cost, price]") + "mark-up: 40\n"
    up = both + "rounding: {to: 5, mode: up}\n"
    assert news(priced("B-100,100\n", both))[1] == ("part=plate", "price", "154.00")
    assert news(priced("B-100,100\n", up))[1] == ("part=plate", "price", "155")
    # a list of retail prices is taken as it is
    retail = MAP.replace("[cost]", "[price]").replace("exclude", "include") + "mark-up: 0\n"
    assert news(priced("B-100,99.95\n", retail)) == [("part=plate", "price", "99.95")]


def test_the_supplier_s_price_of_a_markup_is_a_cost(priced: Priced, tmp_path: Path) -> None:
    update = priced("B-300,312.50\n", write=True)
    assert news(update) == [("part=rack", "cost", "312.50")]
    assert "{kind: markup, cost: 312.50, percent: 40}" in (tmp_path / "c.yaml").read_text()


def test_a_code_that_lost_its_noughts_is_taken_only_where_the_map_says_so(
    tmp_path: Path, priced: Priced
) -> None:
    priced("B-100,120.00\n")
    book = openpyxl.Workbook()
    for row in (["Code", "Price"], [750, 1.25]):
        book.active.append(row)
    book.save(tmp_path / "list.xlsx")
    shop = open_shop(tmp_path / "c.yaml", TODAY)
    plain = shop.prices(tmp_path / "list.xlsx", tmp_path / "map.yaml")
    assert ([u.near for u in plain.unknown], plain.changes) == ([("0750",)], ())
    (tmp_path / "map.yaml").write_text(f"{MAP}code-digits: 4\n")
    padded = shop.prices(tmp_path / "list.xlsx", tmp_path / "map.yaml")
    assert news(padded) == [("part=bolt", "cost", "1.25")]


def test_columns_may_be_named_by_letters_and_a_list_may_have_semicolons(priced: Priced) -> None:
    extra = MAP.replace("{code: Code, price: Price}", "{code: A, price: B}") + "header-row: 0\n"
    assert news(priced("B-100,120.00\n", extra)) == [("part=plate", "cost", "120.00")]


def test_large_changes_and_thin_margins_are_held_and_pointed_out(
    priced: Priced, tmp_path: Path
) -> None:
    # by hand: the plate sells at 200.00 without tax and would cost 190.00
    rows, extra = "B-100,190.00\nB-200,12.50\n", "caution: {change: 10, margin: 20}\n"
    held = priced(rows, extra, write=True)
    assert [(c.item, c.large, c.thin, str(c.margin)) for c in held.changes] == [
        ("part=plate", True, True, "5.0"),
        ("part=strap", False, False, "58.3"),
    ]
    assert (held.held, held.written, held.large, held.thin) == (True, False, 1, 1)
    assert "cost: 110.00" in (tmp_path / "c.yaml").read_text()
    assert priced(rows, extra, write=True, accept_large=True).written
    assert "cost: 190.00" in (tmp_path / "c.yaml").read_text()


def test_what_is_pointed_out_is_said_without_colour_too(
    priced: Priced, tmp_path: Path, run: Run
) -> None:
    priced("B-100,190.00\nB-200,12.50\n", "caution: {change: 10, margin: 20}\n")
    files = [str(tmp_path / name) for name in ("list.csv", "map.yaml", "c.yaml")]
    command = ("catalogue", "prices", files[0], "--supplier", files[1], "--catalogue", files[2])
    ran = run(*command, "--write")
    assert ran.code == 1
    assert "\nLarger than the map allows: B-100 (72.7%)\n" in ran.out
    assert "\nMargin lower than the map asks: B-100 (5.0%)\n" in ran.out
    assert "Nothing is written: 1 change is larger than the map allows." in ran.out
    assert run(*command, "--write", "--accept-large").code == 0


def test_labour_is_part_of_what_is_earned(priced: Priced) -> None:
    # by hand: 220.00 and 2 h at 55.00 are 300.00 without tax; 150.00 is half of it
    text = (CASES / "bad-lists" / "catalogue.yaml").read_text("utf-8")
    parts = "[{kind: fixed, amount: 220.00}, {kind: labour, hours: 2, trade: shed}]"
    text = text.replace("price: 220.00", f"price: {parts}") + "labour: {shed: 55.00}\n"
    (change,) = priced("B-100,150.00\n", text=text).changes
    assert change.margin == Decimal("50.0")


def test_a_price_for_many_stays_finer_than_the_currency(priced: Priced, tmp_path: Path) -> None:
    # by hand: 1.234 for a box of 1 000 is 0.1234 for 100, at 40 % and with tax 0.190036
    text = (CASES / "bad-lists" / "catalogue.yaml").read_text("utf-8")
    for old in ("price: 220.00", "cost: 110.00"):
        key = old.split(":")[0]
        text = text.replace(old, f"{key}: [{{kind: unit-price, price: 0.2, per: 100}}]")
    both = MAP.replace("[cost]", "[cost, price]") + "mark-up: 40\nper: 1000\n"
    update = priced("B-100,1.234\n", both, text, write=True)
    assert [value for *_, value in news(update)] == ["0.123400", "0.190036"]
    written = (tmp_path / "c.yaml").read_text("utf-8")
    assert "cost: [{kind: unit-price, price: 0.1234, per: 100}]" in written
    assert not priced("B-100,1.234\n", both, written).changes


def test_what_shares_a_figure_is_not_changed_behind_its_back(
    priced: Priced, tmp_path: Path
) -> None:
    text = (CASES / "bad-lists" / "catalogue.yaml").read_text("utf-8")
    shared = text.replace("cost: 110.00", "cost: &c 110.00").replace("cost: 12.00", "cost: *c")
    inside = text.replace("cost: 110.00", "cost: &c [{kind: fixed, amount: 110.00}]").replace(
        "cost: 12.00", "cost: *c"
    )
    for given, words in ((shared, "an anchor"), (inside, "something else")):
        with pytest.raises(CatalogueError, match=words) as caught:
            priced("B-100,120.00\n", text=given, write=True)
        assert [problem.code for problem in caught.value.problems] == ["not-replaced"]
        assert (tmp_path / "c.yaml").read_text("utf-8") == given
    both = priced("B-100,120.00\nB-200,120.00\n", text=inside, write=True)
    assert (both.written, len(both.changes)) == (True, 2)


def test_a_catalogue_that_changed_meanwhile_is_left_alone(tmp_path: Path, priced: Priced) -> None:
    priced("B-100,120.00\n")
    file = tmp_path / "c.yaml"
    shop = open_shop(file, TODAY)
    for old, new in (("title: Bolts", "# one more line\ntitle: Nuts"), ("110.00", "111.00")):
        now = file.read_text("utf-8").replace(old, new)
        file.write_text(now, "utf-8")
        with pytest.raises(CatalogueError):
            shop.prices(tmp_path / "list.csv", tmp_path / "map.yaml", write=True)
        assert file.read_text("utf-8") == now


def test_a_catalogue_without_a_file_takes_no_prices(tmp_path: Path, priced: Priced) -> None:
    priced("B-100,120.00\n")
    shop: Shop = open_shop((tmp_path / "c.yaml").read_text("utf-8"), TODAY)
    with pytest.raises(FileError, match="only be written into a file"):
        shop.prices(tmp_path / "list.csv", tmp_path / "map.yaml", write=True)


@pytest.mark.parametrize(
    ("row", "column", "value", "said"),
    [
        (2, 7, "", "G2: part=bolt: the price is empty"),
        (2, 6, "cheap", 'F2: part=bolt: "cheap" is no price'),
        (2, 6, "1.105", "F2: part=bolt: 1.105 has more than 2 decimals"),
        (6, 6, "3.00", "F6: part=hook: the catalogue has no amount here"),
        (3, 1, "part=bolt", "A3: part=bolt: this item and part are in row 2 already"),
    ],
)
def test_a_sheet_of_ours_is_read_with_the_same_care(
    tmp_path: Path, row: int, column: int, value: str, said: str
) -> None:
    shop = open_shop(CASES / "bad-lists" / "catalogue.yaml", TODAY)
    shop.export(tmp_path / "p.csv")
    rows = list(csv.reader(io.StringIO((tmp_path / "p.csv").read_text("utf-8-sig"))))
    rows[row - 1][column - 1] = value
    written = io.StringIO()
    csv.writer(written).writerows(rows)
    (tmp_path / "p.csv").write_text(written.getvalue(), "utf-8")
    update = shop.prices(tmp_path / "p.csv")
    (refusal,) = update.refused
    assert f"{refusal.cell}: {refusal.code}: {refusal.sentence}".startswith(said)
    assert not update.changes


def test_another_sheet_asks_for_its_map(tmp_path: Path) -> None:
    (tmp_path / "list.csv").write_text("Code,Price\nB-100,1\n")
    with pytest.raises(SheetError, match=r"has \"Item\" here(.|\n)*--supplier") as caught:
        open_shop(CASES / "bad-lists" / "catalogue.yaml", TODAY).prices(tmp_path / "list.csv")
    (problem,) = caught.value.problems
    assert (problem.code, problem.at.line, problem.at.column) == ("no-map", 1, 1)
