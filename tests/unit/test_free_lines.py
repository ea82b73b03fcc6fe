"""Free lines: what a selection sells that is not in the catalogue, priced, weighed and shown.

Prices are held against the clerk in ``test_price_oracle``. Here masses and the engine are held
against the oracles of axles and of complete selections, for which the same thing stands in the
catalogue as an option like any other; and every paper and answer is read.
"""

from __future__ import annotations

import json
from collections import Counter
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from random import Random

import pytest
from attrs import evolve

from configurator import Catalogue, FreeLine, Pick, QuoteRefused, Selection, SelectionError
from configurator.catalogue.units import Position
from configurator.checking.check import check
from configurator.engine.availability import options
from configurator.engine.completion import complete
from configurator.engine.search import Search
from configurator.engine.ways_out import fixes
from configurator.mass.picture import mass_picture
from configurator.pricing.price import price
from configurator.report.quote import make_quote
from configurator.selection.changes import applied, possible_changes
from configurator.selection.reading import read_selection
from configurator.selection.resolved import Resolved
from configurator.selection.totals import limit_states
from tests.support.building import Raw, catalogue, limit, option, read, selection as picked, several
from tests.support.commands import Run
from tests.support.engine_oracle import Oracle
from tests.support.layout_oracle import TooMany
from tests.support.made_papers import DAY
from tests.support.pdfs import Pages
from tests.support.random_catalogues import Counts, Maker

BOX = FreeLine("box", "Dog box", Decimal("690.00"), Decimal("32.5"), group="tray")
PLACED = evolve(BOX, position=Position("rear-axle", 900, y=200, z=300))


# Masses and axles


def stated(line: FreeLine, quantity: int) -> Raw:
    """The line as an option of a choice in the catalogue."""
    made = option(line.id, line.price, mass=line.mass, most=quantity)
    if line.position is not None:
        made["position"] = {"from": line.position.origin, "x": line.position.x}
    return several("own", [made], group=line.group)


def worlds(seeds: range) -> list[tuple[int, Oracle, Catalogue, FreeLine, int]]:
    """Random catalogues about axles, each with a free line that an oracle has as an option."""
    found = []
    for seed in seeds:
        dice = Random(seed)
        maker = Maker(seed, "axles")
        data = maker.catalogue()
        group = dice.choice([g["id"] for g in data["groups"]])
        spot = Position("front-axle", dice.randint(0, 2000)) if dice.random() < 0.6 else None
        line = FreeLine(
            "own", "Own", Decimal(dice.randint(0, 9)), Decimal(dice.randint(1, 60)), "", group, spot
        )
        quantity = dice.choice([1, 1, 2])
        listed = {**data, "choices": [*data["choices"], stated(line, quantity)]}
        try:
            this = Oracle(listed)
        except TooMany:
            continue
        found.append((seed, this, read(data, cautions=True), line, quantity))
    return found


@pytest.fixture(scope="module")
def some() -> list[tuple[int, Oracle, Catalogue, FreeLine, int]]:
    return worlds(range(9100, 9114))


def with_line(counts: Counts, line: FreeLine) -> Selection:
    picks = tuple(Pick(*key, n) for key, n in counts.items() if key[0] != "own")
    return Selection("test", picks).adding(line, counts["own", "own"])


def test_the_axles_carry_a_free_line_as_they_carry_an_option_of_the_catalogue(
    some: list[tuple[int, Oracle, Catalogue, FreeLine, int]],
) -> None:
    told: Counter[object] = Counter()
    for seed, this, shop, line, quantity in some:
        for world in this.worlds[::7]:
            if world.counts.get(("own", "own")) != quantity:
                continue
            if any(kind in ("fit", "layout") for kind, _ in world.broken):
                continue
            picture = mass_picture(Resolved(shop, with_line(world.counts, line)), None)
            assert picture is not None
            ours = this.loads(world.counts)
            mine = sum((m.full for m in ours.masses if m.key == ("own", "own")), Fraction(0))
            items = [i for i in picture.state("full").items if i.pick == Pick("free-line", "own")]
            assert sum((i.mass for i in items), Fraction(0)) == mine == line.mass * quantity
            where = {m.x for m in ours.masses if m.key == ("own", "own")}
            assert {i.x for i in items} == where, (seed, world)
            assert {i.placed for i in items} == {line.position is not None}
            heavy = any(s.bar("gvm").left < 0 for s in picture.counted)
            assert heavy == (("rating", "gvm") in world.broken), (seed, world)
            told[line.position is None, heavy] += 1
    assert len(told) >= 3, told


def test_the_engine_counts_a_free_line_as_the_oracle_counts_an_option(
    some: list[tuple[int, Oracle, Catalogue, FreeLine, int]],
) -> None:
    seen: Counter[str] = Counter()
    for seed, this, shop, line, quantity in some:
        chosen = Selection("test").adding(line, quantity)
        found = options(
            Search(Resolved(shop, chosen).offering), chosen, tuple(shop.by_id.values()), False
        )
        states = {(s.choice, s.option): s.state for s in found.options}
        expected = this.states({("own", "own"): quantity})
        without = this.states({})
        for key, state in states.items():
            assert state == expected[key], (seed, key)
            seen[state] += 1
            seen["changed"] += state != without[key]
    assert seen["ruled-out"] > 5, seen
    assert seen["open"] > 5, seen
    assert seen["changed"] > 5, seen


def test_a_completion_keeps_the_free_line_and_a_fix_may_leave_it_out() -> None:
    shop = catalogue(
        [several("parts", [option("a", 10, mass=600), option("b", 20, mass=300)])],
        limits=[limit("payload", counts="mass")],
    )
    heavy = FreeLine("box", "Dog box", Decimal(690), Decimal(600))
    chosen = picked({"parts": "a"}).adding(heavy)
    search = Search(Resolved(shop, chosen).offering)
    assert check(Resolved(shop, chosen)).stops
    mended = fixes(search, chosen).fixes
    assert mended
    assert {fix.selection.free_lines for fix in mended} == {(), (heavy,)}
    for fix in mended:
        assert not check(Resolved(shop, fix.selection)).stops
    finished = complete(search, picked({"parts": "b"}).adding(heavy))
    assert finished is not None
    assert finished.free_lines == (heavy,)
    assert price(Resolved(shop, finished)).total.amount == 710


def test_a_limit_on_mass_counts_each_of_them() -> None:
    shop = catalogue(limits=[limit("payload", counts="mass"), limit("room", "cm")])
    (payload, room) = limit_states(Resolved(shop, picked({}).adding(evolve(BOX, group=""), 3)))
    assert (payload.used, payload.given) == (Decimal("97.5"), Decimal(1100))
    assert room.used == 0


# Nothing is hidden by one


def test_a_free_line_breaks_a_quote_that_its_mass_overloads(
    quandong: Catalogue, touring: Selection
) -> None:
    heavy = touring.adding(evolve(BOX, mass=Decimal(400)))
    with pytest.raises(QuoteRefused, match="over the limit"):
        make_quote(Resolved(quandong, heavy), "Q-1", DAY)


def test_without_a_position_the_quote_says_that_a_place_was_assumed(
    quandong: Catalogue, touring: Selection
) -> None:
    def assumed(chosen: Selection) -> tuple[str, ...]:
        found = mass_picture(Resolved(quandong, chosen), None)
        assert found is not None
        return tuple(title for title in found.assumed if "Dog box" in title)

    assert assumed(touring.adding(BOX)) == ("Dog box (not from the catalogue)",)
    assert assumed(touring.adding(PLACED)) == ()


@pytest.mark.parametrize(
    ("line", "code"),
    [
        (evolve(BOX, price=Decimal(-1)), "out-of-range"),
        (evolve(BOX, mass=Decimal(-1)), "out-of-range"),
        (evolve(BOX, mass=Decimal("24.1111111111111")), "out-of-range"),
        (evolve(BOX, price=Decimal("0.001")), "bad-money"),
        (evolve(BOX, tax="none"), "unknown-tax-rate"),
        (evolve(BOX, group="none"), "unknown-group"),
    ],
)
def test_a_free_line_made_in_python_is_refused_like_one_in_a_file(
    line: FreeLine, code: str, quandong: Catalogue, touring: Selection
) -> None:
    with pytest.raises(SelectionError) as raised:
        price(Resolved(quandong, touring.adding(line)))
    assert [problem.code for problem in raised.value.problems] == [code]


def test_a_free_line_without_a_pick_and_a_pick_without_one_are_refused(
    quandong: Catalogue, touring: Selection
) -> None:
    for chosen, code in (
        (evolve(touring, free_lines=(BOX,)), "quantity"),
        (touring.adding(BOX, 0), "quantity"),
        (Resolved(quandong, touring).picking(Pick("free-line", "box")), "unknown-choice"),
    ):
        with pytest.raises(SelectionError) as raised:
            price(Resolved(quandong, chosen))
        assert code in [problem.code for problem in raised.value.problems]


# Everywhere it is shown


LINES = """
free-lines:
- title: Dog box for two
  price: 690.00
  mass: 32.5
  group: tray
  position: {from: rear-axle, x: 900, y: 200, z: 300, top: 620}
  note: Galvanised.
- {title: Freight to Darwin, price: 480.00, tax: free, mass: 0}
- {id: esky, title: Esky, price: 89.95, mass: 11, quantity: 2}
adjustments:
- {title: For friends, reason: Old friends, amount: -20, line: free-line=esky}
"""


def text_of_pdf(file: Path) -> str:
    return " ".join(" ".join(Pages(file).lines).split())


MARK = "Not from the catalogue"


@pytest.fixture
def dogs(run: Run) -> str:  # noqa: ARG001  # it makes the folder
    text = Path("touring.yaml").read_text("utf-8")
    Path("dogs.yaml").write_text(text + LINES, "utf-8")
    return "dogs.yaml"


def test_a_package_with_free_lines_can_be_quoted(dogs: str, run: Run) -> None:
    assert run("check", dogs).code == 0


def test_prices_tax_and_groups_of_free_lines_are_those_of_the_file(dogs: str, run: Run) -> None:
    answer = json.loads(run("price", dogs, "--json", "--date", "2026-08-03").out)
    lines = {line["title"]: line for group in answer["groups"] for line in group["lines"]}
    groups = {line["title"]: group for group in answer["groups"] for line in group["lines"]}
    box, freight, esky = lines["Dog box for two"], lines["Freight to Darwin"], lines["Esky"]
    assert (box["amount"], box["tax-rate"], box["text"]) == ("690.00", "standard", "Galvanised.")
    assert (freight["amount"], freight["tax-rate"]) == ("480.00", "free")
    assert (esky["quantity"], esky["each"], esky["amount"]) == (2, "89.95", "179.90")
    assert all(line["notes"] == [MARK] for line in (box, freight, esky))
    assert groups["Dog box for two"]["group"] == "tray"
    assert groups["Esky"]["title"] == "Not from the catalogue"
    plain = json.loads(run("price", "touring.yaml", "--json", "--date", "2026-08-03").out)
    assert answer["package-deals"] == plain["package-deals"]
    (rate,) = [rate for rate in answer["tax-by-rate"] if rate["rate"] == "free"]
    assert rate["tax"] == "0.00"
    assert 479 < Decimal(rate["before-tax"]) <= 480


def test_every_paper_and_answer_shows_free_lines_and_marks_them(dogs: str, run: Run) -> None:
    day = ("--date", "2026-08-03")
    for command in ("price", "mass --items", "price --trace", "price --shop"):
        said = run(*command.split(), dogs, *(day if "price" in command else ())).out
        assert "Dog box for two" in said, command
        assert "Esky" in said, command
        assert MARK.lower() in " ".join(said.split()).lower(), command
    assert run("quote", dogs, "-o", "q.pdf", "--number", "Q-1", "--date", "2026-08-03").code == 0
    paper = text_of_pdf(Path("q.pdf"))
    assert "Dog box for two" in paper
    assert paper.lower().count(MARK.lower()) == 4, "a heading, and beside each line"
    assert run("quote", dogs, "-o", "d.html", "--language", "de", "--date", "2026-08-03").code == 0
    assert Path("d.html").read_text("utf-8").lower().count("nicht aus dem katalog") == 4
    assert run("sheets", dogs, "-o", "s", "--as", "html", *day).code == 0
    for sheet in ("job", "orders"):
        said = Path(f"s/{sheet}.html").read_text("utf-8")
        assert "Not from the catalogue" in said, sheet
        assert "Dog box for two" in said, sheet


def test_several_tax_rates_are_shown_each_with_its_amount(dogs: str, run: Run) -> None:
    day = ("--date", "2026-08-03")
    answer = json.loads(run("price", dogs, "--json", *day).out)
    rates = answer["tax-by-rate"]
    assert [rate["percent"] for rate in rates] == ["10", "0"]
    for key in ("before-tax", "tax"):
        assert sum(Decimal(rate[key]) for rate in rates) == Decimal(answer[key])
    compared = json.loads(run("compare", "touring.yaml", dogs, "--json", *day).out)
    column = compared["columns"][1]
    assert {key: column[key] for key in ("before-tax", "tax", "tax-by-rate")} == {
        key: answer[key] for key in ("before-tax", "tax", "tax-by-rate")
    }
    wanted = [
        (
            f"GST at {rate['percent']} % on {Decimal(rate['before-tax']):,}",
            f"{Decimal(rate['tax']):,}",
        )
        for rate in rates
    ]
    said = " ".join(run("price", dogs, *day).out.split())
    run("quote", dogs, "-o", "q.pdf", "--number", "Q-1", *day)
    paper = text_of_pdf(Path("q.pdf"))
    for words, amount in wanted:
        assert f"{words} {amount}" in said
        assert f"{words} {amount}" in paper
    assert said.count("GST at 0 %") == 2, "beside the rate and beside its one line"
    run("quote", dogs, "-o", "q.html", "--number", "Q-1", *day)
    page = " ".join(Path("q.html").read_text("utf-8").split())
    assert page.count("GST at 0 %") == 3, "below the total on the first page, too"
    assert "GST at" not in run("price", "touring.yaml", *day).out


@pytest.mark.usefixtures("rendered_anew")
def test_the_quote_read_back_keeps_free_lines_and_quotes_the_same(dogs: str, run: Run) -> None:
    assert run("quote", dogs, "-o", "q.pdf", "--number", "Q-1", "--date", "2026-08-03").code == 0
    assert read_selection("q.pdf").free_lines == read_selection(dogs).free_lines
    assert run("quote", "q.pdf", "-o", "r.pdf", "--number", "Q-1", "--date", "2026-08-03").code == 0
    assert Path("q.pdf").read_bytes() == Path("r.pdf").read_bytes()
    assert run("complete", dogs, "-o", "again.yaml").code == 0
    assert read_selection("again.yaml").free_lines == read_selection(dogs).free_lines


def test_a_comparison_shows_free_lines_as_a_difference(dogs: str, run: Run) -> None:
    said = run("compare", "touring.yaml", dogs, "--json", "--date", "2026-08-03")
    answer = json.loads(said.out)
    (row,) = [row for row in answer["choices"] if row["choice"] == "free-line"]
    assert row["has"] == [[], ["Dog box for two", "Freight to Darwin", "2 × Esky"]]
    assert row["amounts"] == ["0.00", "1349.90"]
    assert f"Dog box for two ({MARK.lower()})" in answer["besides"][1]["has"]
    text = run("compare", "touring.yaml", dogs, "--date", "2026-08-03").out
    assert "Not from the catalogue" in text
    same = json.loads(run("compare", dogs, dogs, "--json", "--date", "2026-08-03").out)
    assert not any(row["differs"] for row in same["choices"])


def test_the_budget_counts_free_lines_and_batches_quote_them(
    dogs: str, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    answer = json.loads(run("budget", dogs, "--json", "--no-savings", "--date", "2026-08-03").out)
    assert "Not from the catalogue" in json.dumps(answer)
    monkeypatch.setattr("configurator.render.batch.cores", lambda: 1)
    Path("wishes").mkdir()
    Path("dogs.yaml").rename("wishes/dogs.yaml")
    made = run("quote", "--batch", "wishes", "-o", "out", "--number", "Q-", "--date", "2026-08-03")
    assert made.code == 0, made.err
    assert "Dog box for two" in text_of_pdf(Path("out/dogs.pdf"))


def test_savings_leave_free_lines_alone() -> None:
    shop = catalogue([several("parts", [option("a", 100), option("b", 60)])])
    chosen = picked({"parts": ["a", "b"]}).adding(FreeLine("own", "Own", Decimal(500), Decimal(1)))
    changes = possible_changes(Resolved(shop, chosen))
    assert {change.choice for change in changes} == {"parts"}
    assert applied(chosen, changes[:1]).free_lines == chosen.free_lines


@pytest.mark.parametrize("lines", range(4))
def test_a_quote_has_its_total_and_its_payments_once_wherever_a_page_ends(
    lines: int, run: Run
) -> None:
    own = "".join(f"- {{title: Crate {n}, price: 690.00, mass: 20}}\n" for n in range(lines))
    text = Path("touring.yaml").read_text("utf-8") + (f"free-lines:\n{own}" if lines else "")
    Path("more.yaml").write_text(text, "utf-8")
    ran = run("quote", "more.yaml", "-o", "more.pdf", "--number", "Q-1")
    assert ran.code == 0, ran.err
    assert "\ncaution: " in f"\n{ran.err}"
    words = "\n".join(Pages(Path("more.pdf")).lines)
    assert words.count("Deposit with the order") == 1
    assert words.count("of which GST") == 1
