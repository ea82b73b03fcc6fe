"""Comparisons: what they say adds up, and turns round when the selections do."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from attrs import evolve
from click.testing import CliRunner
from hypothesis import given, strategies as st

from configurator import Catalogue, Comparison, Money, Selection
from configurator.catalogue.reading import shipped
from configurator.cli import cli
from configurator.render.html import comparison_html
from configurator.report.comparison import compare
from configurator.report.comparison_tables import money_chart
from configurator.selection.resolved import Resolved
from tests.support.building import (
    amount,
    catalogue,
    choice,
    limit,
    option,
    percent,
    selection,
    several,
    tax,
)
from tests.support.steady import STEADY

TOURING = str(shipped("catalogues") / "selections" / "touring.yaml")
SIX = [
    TOURING,
    *("--change", "finish=two-pack,colour=matched"),
    *("--change", "inverter=,mains-charger="),
    *("--change", "canopy-height=850mm"),
    *("--change", "battery=lfp-200"),
    *("--change", "roof-rack="),
    *("--date", "2026-11-02"),
]


def shop(prices: str = "include") -> Catalogue:
    return catalogue(
        [
            choice("size", [option("small", 100, mass=10), option("large", 180, mass=25)]),
            several(
                "parts",
                [
                    option("a", Decimal("19.95"), most=3, mass=2, uses={"watts": 40}),
                    option("b", Decimal("7.35"), mass=1),
                    option("c", [{"kind": "on-application"}]),
                ],
            ),
            choice("lid", [option("lid", 45, gives={"watts": 100})], "at-most-one", group="top"),
        ],
        groups=[{"id": "build", "title": "The build"}, {"id": "top", "title": "Top"}],
        limits=[limit("watts", "W")],
        tax=tax(10, prices),
        rounding={"to": 5},
        package_deals=[
            {"id": "set", "title": "Set", "picks": {"size": "large", "lid": "lid"}, "price": 200}
        ],
    )


def resolved(selections: Iterable[Selection], prices: str = "include") -> list[Resolved]:
    """The selections with what they are picked from."""
    of = shop(prices)
    return [Resolved(of, one) for one in selections]


@st.composite
def wanted(draw: st.DrawFn) -> Selection:
    picks: dict[str, Any] = {}
    if draw(st.integers(0, 5)):
        picks["size"] = draw(st.sampled_from(["small", "large"]))
    parts = dict.fromkeys(draw(st.sets(st.sampled_from("abc"))), 1)
    if "a" in parts:
        parts["a"] = draw(st.integers(1, 3))
    if parts:
        picks["parts"] = parts
    if draw(st.booleans()):
        picks["lid"] = "lid"
    adjustments = [percent(-5)] if draw(st.booleans()) else []
    adjustments += [amount(12)] if draw(st.booleans()) else []
    return selection(picks, adjustments)


def negated(values: Iterable[Any]) -> list[Any]:
    return [None if value is None else -value for value in values]


@STEADY
@given(wanted(), wanted(), st.sampled_from(["include", "exclude"]))
def test_comparing_the_other_way_about_turns_every_difference_round(
    one: Selection, other: Selection, prices: str
) -> None:
    there = compare(resolved([one, other], prices), ["one", "other"])
    back = compare(resolved([other, one], prices), ["other", "one"])
    assert there.differences[1] == -back.differences[1]
    turned = {row.choice: row for row in back.choices}
    for row in there.choices:
        assert [row.differences[1]] == negated([turned[row.choice].differences[1]])
        assert row.has == turned[row.choice].has[::-1]
    figures = {figure.id: figure for figure in back.figures}
    for figure in there.figures:
        assert [figure.differences[1]] == negated([figures[figure.id].differences[1]])
    assert (there.besides[1].has, there.besides[1].lacks) == (
        back.besides[1].lacks,
        back.besides[1].has,
    )


@STEADY
@given(st.lists(wanted(), min_size=2, max_size=6), st.sampled_from(["include", "exclude"]))
def test_where_the_money_goes_adds_up_to_each_total(found: list[Selection], prices: str) -> None:
    compared = compare(resolved(found, prices), [f"s{n}" for n in range(len(found))])
    for index, column in enumerate(compared.columns):
        parts = sum((amounts[index].amount for _, amounts in compared.money), Decimal(0))
        assert parts == column.price.total.amount
    charted = zip(compared.money, money_chart(compared).groups, strict=True)
    for (title, amounts), (heading, bars) in charted:
        assert heading == title
        told = {name: bar.amount for bar in bars for name in bar.label.split()}
        assert [told[name] for name in sorted(told)] == list(amounts)


def test_a_selection_compared_with_itself_differs_in_nothing() -> None:
    one = selection({"size": "large", "parts": {"a": 2}})
    compared = compare(resolved([one, one, one]), ["x", "y", "z"])
    assert not any(row.differs for row in compared.choices)
    assert all(not difference.amount for difference in compared.differences)
    assert all(not besides.has and not besides.lacks for besides in compared.besides)


def test_what_one_has_and_the_other_lacks_is_told_with_quantities() -> None:
    one = selection({"size": "small", "parts": {"a": 1, "b": 1}})
    other = selection({"size": "small", "parts": {"a": 3}, "lid": "lid"})
    besides = compare(resolved([one, other]), ["one", "other"]).besides[1]
    assert besides.has == ("3 × A", "Lid")
    assert besides.lacks == ("A", "B")


# Through the command


def run(*arguments: str) -> str:
    result = CliRunner().invoke(cli, ["compare", *arguments], env={"COLUMNS": "100"})
    assert result.exception is None, result.output
    return result.output


def test_what_one_has_and_the_other_lacks_is_told_where_the_choices_do_not_say_it() -> None:
    alone = run(TOURING, "--change", "finish=raw", "--change", "canopy-height=850mm")
    several = run(TOURING, str(Path(TOURING).with_name("contractor.yaml")))
    assert "A has, B lacks:" not in alone
    assert "A has, B lacks:" in several
    assert "B has, A lacks:" in several


def test_six_columns_are_readable_in_a_hundred_columns() -> None:
    shown = run(*SIX)
    lines = shown.splitlines()
    assert max(map(len, lines)) <= 100
    assert all(f"\n{letter}   " in f"\n{shown}" for letter in "ABCDEF")
    heads = next(line for line in lines if line.split() == ["AUD", *"ABCDEF"])
    totals = next(line for line in lines if line.startswith("Total including GST"))
    numbers = totals.removeprefix("Total including GST").split()
    assert len(numbers) == 6
    ends = [heads.index(f" {letter}") + 2 for letter in "BCDEF"]
    assert [totals.index(number) + len(number) for number in numbers[1:]] == ends


def test_a_change_is_one_more_column_of_the_first_selection() -> None:
    told = json.loads(run(*SIX, "--json"))
    titles = [column["title"] for column in told["columns"]]
    assert titles[3] == "A with Canopy height: Standard, 850 mm"
    paint = next(row for row in told["choices"] if row["choice"] == "finish")
    assert paint["has"][0] != paint["has"][1]
    assert paint["has"][0] == paint["has"][2]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ([TOURING], "give at least two selections to compare, or one and a --change"),
        ([TOURING, "--change", "finish"], "write it as CHOICE=OPTION"),
        ([TOURING, "--change", "kitchen=:2"], "write it as CHOICE=OPTION"),
        ([TOURING, "--change", "box-left="], "nothing is picked in box-left"),
    ],
)
def test_a_change_that_is_none_is_told_how_to_write_it(arguments: list[str], said: str) -> None:
    result = CliRunner().invoke(cli, ["compare", *arguments])
    assert result.exit_code == 2
    assert said in " ".join(result.output.split())


# On paper


def six(prices: str = "include") -> Comparison:
    found = [selection({"size": "large", "parts": {"a": 1 + n % 3}}) for n in range(6)]
    return compare(resolved(found, prices), [f"Package {n}" for n in range(6)])


def test_a_wide_comparison_lies_on_its_side_and_a_narrow_one_stands() -> None:
    wide = comparison_html(six())
    assert "landscape" in wide
    two = compare(
        resolved([selection({"size": "small"}), selection({"size": "large"})]), ["a", "b"]
    )
    assert "landscape" not in comparison_html(two)


def test_every_number_of_a_picture_stands_in_the_table_too() -> None:
    page = comparison_html(six("exclude"))
    assert page.count("<svg") == page.count("</svg>") == page.count("<title>") - 1
    money = six("exclude").money
    assert money
    for title, amounts in money:
        row = page.split(f'"row" class="first">{title}</th>', 1)[1].split("</tr>", 1)[0]
        cells = re.findall(r"<td[^>]*>(.*?)</td>", row)
        told = [re.sub(r"<[^>]+>", "", cell).split()[-1] for cell in cells]
        assert told == [shown_as(money) for money in amounts]


def shown_as(money: Money) -> str:
    return f"{money.amount:,.2f}"


def test_titles_from_a_customer_cannot_break_the_page() -> None:
    one = selection({"size": "small"})
    evil = "<script>alert(1)</script>"
    compared = compare(resolved([one, evolve(one, title=evil)]), [evil, "b"])
    assert "<script>" not in comparison_html(compared)
