"""What is sold by measure: how much of it there is, wherever that counts."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path

import pytest

from configurator import (
    Adjustment,
    Build,
    Completion,
    Customer,
    FreeLine,
    SelectionError,
    Shop,
    TradeIn,
    open_shop,
)
from configurator.render.text import show
from configurator.report.price import customer_table, price_report
from tests.support.building import choice, limit, option, raw_catalogue, several, vehicle, written

D = Decimal


def hose(identity: str, price: str, **more: object) -> dict[str, object]:
    by_the_metre = {"unit": "m", "step": D("0.5"), "least": 1, "most": 20}
    made = option(identity, D(price), sold_by=by_the_metre, mass=D("0.3"), uses={"drum": 1}, **more)
    return {**made, "cost": D("4.20"), "supplier": "Hose House", "supplier-code": "H-1"}


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    """Hose by the metre on a drum that takes 4 or 9 m."""
    file = tmp_path_factory.mktemp("measured") / "shop.json"
    data = raw_catalogue(
        [
            choice("drum", [option("small", 80, gives={"drum": 4}), option("large", 140)]),
            choice("hose", [hose("thin", "8.45"), hose("thick", "12.10")], "at-most-one"),
            several(
                "clips", [option("clip", [{"kind": "unit-price", "price": D("0.125")}], most=9)]
            ),
        ],
        limits=[limit("payload", counts="mass"), limit("drum", "m")],
        vehicles=[vehicle()],
        payable_rounding={"to": D("0.05"), "mode": "up"},
    )
    data["choices"][0]["options"][1]["gives"] = {"drum": 9}
    file.write_text(written(data), "utf-8")
    return open_shop(file, dt.date(2026, 8, 3))


def build(shop: Shop, metres: str, drum: str = "small") -> Build:
    picks = {"vehicle": "ute", "drum": drum, "hose": {"thin": D(metres)}}
    return shop.build({"format": 1, "catalogue": "test", "picks": picks})


def test_price_mass_and_limits_go_by_the_metre(shop: Shop) -> None:
    # worked by hand: 3.5 x 8.45 is 29.575, half a cent up; 3.5 x 0.3 kg
    found = build(shop, "3.5")
    line = found.price().lines[-1]
    assert (str(line.amount), line.many, line.unit) == ("AUD 29.58", "3.5 m", "m")
    checked = found.check()
    assert not checked.stops
    assert {state.limit.id: state.used for state in checked.limits} == {
        "payload": D("1.05"),
        "drum": D("3.5"),
    }
    assert [str(stop.sentence) for stop in build(shop, "5").check().stops] == [
        "Drum: over the limit by 1 m, 5 of 4 m used"
    ]


def test_a_terminal_says_how_much_as_a_paper_does(
    shop: Shop, capsys: pytest.CaptureFixture[str]
) -> None:
    found = build(shop, "3.5").price()
    show(price_report(found, (), shop.catalogue))
    assert "thin, 3.5 m " in capsys.readouterr().out.lower()
    titles = [str(row.cells[0].value).lower() for row in customer_table(found, noted=True).rows]
    assert "thin, 3.5 m" in titles


def test_a_search_keeps_the_length_and_offers_what_could_stand_instead_in_it(shop: Shop) -> None:
    too_long = build(shop, "5")
    for fix in too_long.fixes().fixes:
        amounts = {p.option: p.amount for p in fix.selection.picks if p.choice == "hose"}
        assert amounts in ({}, {"thin": D(5)})
    without = shop.build().pick("vehicle", "ute").pick("hose", "thin", D("6.5"))
    completed = without.complete()
    assert isinstance(completed, Completion)
    assert completed.selection.one("drum") == "large"
    assert completed.selection.amounts == {("hose", "thin"): D("6.5")}
    answer = build(shop, "3.5").options("hose").options
    assert [(one.option, one.state, str(one.difference)) for one in answer] == [
        ("thin", "picked", "None"),
        ("thick", "instead", "AUD 12.77"),
    ]


def test_a_saved_selection_reads_as_it_was(shop: Shop, tmp_path: Path) -> None:
    rope = FreeLine("rope", "Rope", D("0.1255"), D("0.1"), per=1, unit="m")
    made = build(shop, "3.5").add(rope, D("2.25"))
    for name in ("saved.yaml", "saved.json"):
        made.save(tmp_path / name)
        again = shop.build(tmp_path / name)
        assert again.selection == made.selection
        assert again.price() == made.price()
    assert "thin: 3.5" in (tmp_path / "saved.yaml").read_text("utf-8")


def test_the_same_length_is_the_same_whole_or_with_a_point(shop: Shop) -> None:
    assert build(shop, "3").selection == build(shop, "3.0").selection
    assert build(shop, "3").price().lines[-1].many == "3 m"


def test_the_order_list_has_the_metres_and_what_they_cost(shop: Shop) -> None:
    # worked by hand: 3.5 x 4.20
    orders = build(shop, "3.5").sheets("J-1", shop.day, cost=True).orders
    (row,) = (row for group in orders.groups for row in group.rows if row.code)
    assert (row.quantity, row.unit, str(row.cost)) == (D("3.5"), "m", "AUD 14.70")


@pytest.mark.parametrize(
    ("metres", "said"),
    [
        ("0.5", "Thin is sold in steps of 0.5 from 1 to 20 m, not as 0.5"),
        ("2.25", "Thin is sold in steps of 0.5 from 1 to 20 m, not as 2.25"),
        ("21", "Thin is sold in steps of 0.5 from 1 to 20 m, not as 21"),
    ],
)
def test_a_length_that_is_not_sold_is_told_so(shop: Shop, metres: str, said: str) -> None:
    with pytest.raises(SelectionError, match=said):
        build(shop, metres).price()


def test_a_question_about_another_length_says_to_pick_it_first(shop: Shop) -> None:
    with pytest.raises(SelectionError, match="the question is about") as told:
        build(shop, "3.5").explain("hose", "thick", D(6))
    assert told.value.problems[0].hint == "pick hose=thick:6 first, then ask what goes with it"


def test_an_unchanged_catalogue_is_kept_for_the_same_length(shop: Shop) -> None:
    first, second = build(shop, "3.5"), build(shop, "3.5")
    assert first.catalogue is second.catalogue
    assert first.drop("hose").price().total.amount == 80
    mapping: Mapping[tuple[str, str], Decimal] = first.selection.amounts
    assert mapping == {("hose", "thin"): D("3.5")}


def test_a_register_keeps_fine_prices_lengths_and_roundings_to_the_digit(
    shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    nine = dt.datetime.combine(shop.day, dt.time(9), dt.UTC)
    monkeypatch.setattr("configurator.shop._clock", lambda: nine)
    # worked by hand: 80 + 3.5 x 8.45, half a cent up, + 7 x 0.125, half up, is 110.46; 5 % off is
    # 5.52; less 20.02 is 84.92, up to the next 5 cents
    made = build(shop, "3.5").pick("clips", "clip", 7)
    made = made.adjust(Adjustment("Show", "at the show", percent=D(-5), tax="usual"))
    made = made.trade_in(TradeIn("Old tray", "traded in", D("20.02")))
    made = made.change(customer=Customer("Jo"))
    address = str(tmp_path / "register.sqlite")
    with shop.register(address) as register:
        register.issue(made.quote("DRAFT", shop.day), seller="Ann")
        kept = register.open("Q-1")
        again = shop.build(kept.selection)
        price = again.price()
        assert [str(money) for money in (kept.total, price.total, price.to_pay)] == [
            "AUD 104.94",
            "AUD 104.94",
            "AUD 84.95",
        ]
        assert again.selection.amounts == {("hose", "thin"): D("3.5")}
        assert kept.priced(price).changed == ()
        longer = again.pick("hose", "thin", 4).quote("DRAFT", shop.day)
        register.revise("Q-1", longer, seller="Ann", reason="a longer hose")
        changed = register.show("Q-1").revisions[-1].changed
        # 4 x 8.45; 5 % of 114.68 is 5.734
        assert [(one.line, str(one.was), str(one.is_now)) for one in changed] == [
            ("hose=thin", "AUD 29.58", "AUD 33.80"),
            ("adjustment Show", "AUD -5.52", "AUD -5.73"),
        ]
        assert register.check().wrong == ()
    text = Path(shop.catalogue.source).read_text("utf-8")
    dearer = open_shop(text.replace("8.45", "9.45"), shop.day)
    # 4 x 9.45, less 5 % of 118.68
    for asked, now in ((shop, "AUD 108.95"), (dearer, "AUD 112.75")):
        (one,) = asked.requote(register=address, processes=1)
        assert (str(one.was), str(one.is_now), one.goes) == ("AUD 108.95", now, True)
