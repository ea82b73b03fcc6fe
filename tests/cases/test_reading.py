"""Text to catalogue: what was typed is what is read, and nothing that is typed can break it."""

from __future__ import annotations

import json
import time
import tracemalloc
from collections.abc import Callable, Iterator
from contextlib import suppress
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings, strategies as st

from configurator import (
    Catalogue,
    CatalogueError,
    FileError,
    Location,
    Problem,
    Selection,
    SelectionError,
)
from configurator.catalogue import fields as conditions
from configurator.catalogue.parts import FixedPrice, Part, PriceTable
from configurator.catalogue.plain_data import read_tree
from configurator.catalogue.reading import parse_catalogue, read_text
from configurator.selection.reading import parse_selection, read_selection
from configurator.shapes.shipped import linked
from tests.support.building import catalogue, choice, option, rule, written
from tests.support.paths import CASES
from tests.support.shipped import read_catalogue
from tests.support.steady import STEADY as EVERY

SMALL = (CASES / "small.yaml").read_text("utf-8")
EVERYTHING = (CASES / "good" / "everything.yaml").read_text("utf-8")
SELECTION = """\
format: 1
catalogue: small
title: Ours
customer: {name: A. Nother, address: [2 Example Lane]}
picks: {length: 1800, height: 850, fridge: [chest], slide: {short: 1, long: 2}}
add-ons: [cover]
wishes:
- {choice: fridge, option: chest, side: left, x: 40}
adjustments:
- {title: Show price, reason: Seen at the show, percent: -5, group: kitchen}
notes: [Ready by winter.]
"""

STEADY = settings(EVERY, max_examples=150)


def read(text: str) -> Catalogue:
    found, problems = parse_catalogue(text, "c.yaml")
    assert not problems, "\n".join(map(str, problems))
    assert found is not None
    return found


def problems_of(text: str) -> tuple[Problem, ...]:
    return parse_catalogue(text, "c.yaml")[1]


def codes(text: str) -> list[str]:
    return [problem.code for problem in problems_of(text)]


# What was typed


@pytest.mark.parametrize(
    "typed",
    [
        *("no", "yes", "on", "true", "1.10", "12:30", "0750", "850", "1e3", "0x1F", "1_000"),
        *("-0", ".5", "2026-01-01", "Null", "none", "NaN", "<<", "=", "(08) 5550 0100", "É ☕ 🛠"),
    ],
)
def test_where_text_is_asked_for_every_word_is_text(typed: str) -> None:
    text = SMALL.replace("title: A small catalogue", f"title: {typed}")
    assert read(text).title == typed


@pytest.mark.parametrize("typed", ["", "~", "null"])
def test_nothing_is_not_text(typed: str) -> None:
    (problem,) = problems_of(SMALL.replace("title: A small catalogue", f"title: {typed}"))
    assert problem.sentence == "title is empty; it must be text"


@pytest.mark.parametrize("typed", ['"null"', "'~'", "!!str null"])
def test_a_word_for_nothing_is_text_when_it_is_marked_as_text(typed: str) -> None:
    text = SMALL.replace("title: A small catalogue", f"title: {typed}")
    assert read(text).title in ("null", "~")


@pytest.mark.parametrize(
    "typed", ["0", "850", "850.00", "850.10", "0.1", "-12.50", "100000000", "10000000000"]
)
def test_money_keeps_the_digits_that_were_typed(typed: str) -> None:
    found = read(SMALL.replace("price: 95.00", f"price: {typed}"))
    (part,) = found.add_ons.by_id["cover"].price
    assert isinstance(part, FixedPrice)
    amount = part.amount
    assert isinstance(amount, Decimal)
    assert str(amount) == typed


@pytest.mark.parametrize(
    ("typed", "kept"),
    [("126.0500", "126.05"), ("126.000000000", "126.00"), ("0.50" + "0" * 30, "0.50")],
)
def test_noughts_at_the_end_of_an_amount_are_no_decimals(typed: str, kept: str) -> None:
    found = read(SMALL.replace("price: 95.00", f"price: {typed}"))
    (part,) = found.add_ons.by_id["cover"].price
    assert isinstance(part, FixedPrice)
    assert str(part.amount) == kept


@pytest.mark.parametrize(
    ("typed", "code"),
    [("999999999999.999999", ""), ("9999999999999", "too-many-digits")]
    + [(f"24.{'1' * more}", "too-many-digits") for more in (7, 13, 40)],
)
def test_a_mass_may_have_twelve_digits_and_six_decimals(typed: str, code: str) -> None:
    _, problems = parse_catalogue(SMALL.replace("mass: 24", f"mass: {typed}"), "small.yaml")
    assert [p.code for p in problems if p.code.startswith("too-many")] == [code] * bool(code)


@pytest.mark.parametrize(
    ("typed", "hint"),
    [
        ('"95.00"', "write 95.00 without quotation marks"),
        ("0095", "write 95"),
        ("'1,200.00'", "write 1200.00"),
        ("1 200", "write 1200"),
        ("$95", "write 95"),
        ("+95", "write 95"),
        (".5", "write 0.5"),
        ("95.", "write 95"),
        ("1_000", "write 1000"),
        ("-$95", "write digits, with a point before decimals, and nothing else"),
        ("'95,50'", "write digits, with a point before decimals, and nothing else"),
        ("1e3", "write digits, with a point before decimals, and nothing else"),
        ("0x1F", "write digits, with a point before decimals, and nothing else"),
        ("12:30", "write digits, with a point before decimals, and nothing else"),
        (".inf", "write digits, with a point before decimals, and nothing else"),
        ("95 AUD", "write digits, with a point before decimals, and nothing else"),
        ("٩٥", "write digits, with a point before decimals, and nothing else"),
    ],
)
def test_what_only_looks_like_a_number_is_refused_with_what_to_write(typed: str, hint: str) -> None:
    (problem,) = problems_of(SMALL.replace("price: 95.00", f"price: {typed}"))
    assert (problem.code, problem.hint) == ("wrong-type", hint)


@pytest.mark.parametrize(
    ("typed", "hint"),
    [("yes", "write true"), ("No", "write false"), ("True", "write true"), ("1", "")],
)
def test_only_true_and_false_are_true_and_false(typed: str, hint: str) -> None:
    (problem,) = problems_of(SMALL.replace("{amps: 4.5,", f"{{amps: 4.5, mains: {typed},"))
    assert (problem.code, problem.hint) == ("wrong-type", hint)
    assert not codes(SMALL.replace("{amps: 4.5,", "{amps: 4.5, mains: true,"))


def test_ids_that_look_like_numbers_are_ids_everywhere() -> None:
    found = read(SMALL)
    assert list(found.by_id["length"].by_id) == ["1500", "1800"]
    assert found.rules[0].needs == conditions.Test("length", ("1800",), 1)
    table = found.by_id["height"].options[0].price[0]
    assert isinstance(table, PriceTable)
    assert table.cells[("1500",)] == Decimal("400.00")
    assert str(found.package_deals[0].picks[0]) == "height=850"


def test_text_over_several_lines_is_one_line() -> None:
    assert read(EVERYTHING).quote.terms[0].startswith("Paragraphs may be written over several")
    assert "\n" not in read(EVERYTHING).quote.terms[0]


def test_a_record_with_an_anchor_may_stand_in_two_places() -> None:
    found = read(EVERYTHING)
    assert found.option("tray", "plain") == found.option("spare-tray", "plain")


# YAML and JSON


@pytest.mark.parametrize("text", [SMALL, EVERYTHING], ids=["small", "everything"])
@pytest.mark.parametrize(
    "layout",
    [
        lambda text: text,
        lambda text: text.replace(", ", ",").replace(": ", ":"),
        lambda text: text.replace(", ", ",\n\t").replace(": ", ":\t"),
        lambda text: text.replace(", ", " ,\r\n  ").replace("{", "{\n"),
    ],
    ids=["plain", "compact", "tabs", "windows"],
)
def test_the_same_data_as_json_is_the_same_catalogue(
    text: str, layout: Callable[[str], str]
) -> None:
    data = read_tree(text, "c.yaml", linked("catalogue")).data
    spaced = layout(written(_coded(data)))
    assert read(spaced.replace("@COMMA@", ", ").replace("@COLON@", ": ")) == read(text)


def _coded(value: Any) -> Any:
    """The data with the commas and colons inside texts out of the way of the layouts."""
    if isinstance(value, str):
        return value.replace(", ", "@COMMA@").replace(": ", "@COLON@")
    if isinstance(value, dict):
        return {key: _coded(inner) for key, inner in value.items()}
    return [_coded(inner) for inner in value] if isinstance(value, list) else value


def test_characters_that_json_writes_as_two_escapes_are_read() -> None:
    data = read_tree(SMALL, "c.yaml", linked("catalogue")).data
    data["title"] = r"Fire 🔥, backslash \ud83d\udd25, end \\"
    text = written(data)
    assert r"\ud83d\udd25" in text
    assert "🔥" not in text
    assert read(text).title == data["title"]
    assert read(json.dumps(json.loads(text), ensure_ascii=False)).title == data["title"]


# Places


def test_every_record_knows_where_it_was_written() -> None:
    found = read(SMALL)
    height = found.by_id["height"]
    fridge = found.by_id["fridge"].by_id["chest"]
    places = {
        "- id: height": height.at,
        "- id: 850": height.options[0].at,
        "- {kind: table": height.options[0].price[0].at,
        "- {space: canopy, side": height.options[0].openings[0].at,
        "- id: chest": fridge.at,
        "- {id: payload": found.limits[0].at,
        "- id: long-slide": found.rules[0].at,
        "- {id: cover": found.add_ons.by_id["cover"].at,
        "- {id: camper": found.package_deals[0].at,
    }
    lines = SMALL.splitlines()
    for written_as, at in places.items():
        assert lines[at.line - 1][at.column - 3 :].startswith(written_as)
        assert at.file == "c.yaml"


def test_conditions_picks_and_plain_prices_know_where_they_were_written() -> None:
    found = read(SMALL)
    lines = SMALL.splitlines()

    def at(place: Location) -> str:
        return lines[place.line - 1][place.column - 1 :]

    when, needs = found.rules[0].when, found.rules[0].needs
    assert isinstance(when, conditions.Test)
    assert isinstance(needs, conditions.Test)
    assert at(when.at) == "long}"
    assert at(needs.at) == "1800}"
    assert at(found.package_deals[0].picks[0].at).startswith("850, fridge")
    assert at(found.package_deals[0].picks[1].at).startswith("[chest]")
    assert at(found.package_deals[0].picks[2].at).startswith("1}")
    assert at(fixed(found).at).startswith("1450.00")


def fixed(found: Catalogue) -> Part:
    return found.by_id["fridge"].by_id["chest"].price[0]


def test_a_place_counts_characters_and_not_bytes() -> None:
    (problem,) = problems_of(SMALL.replace("title: Canopy length", "title: 'É☕🛠 \\u202e': no"))
    assert problem.code == "syntax"
    text = SMALL.replace("{id: 1500, title: 1 500 mm, price", "{title: É☕🛠, id: 1500, prise")
    (problem,) = problems_of(text)
    line = text.splitlines()[problem.at.line - 1]
    assert line[problem.at.column - 1 :].startswith("prise")


def test_places_and_sources_make_no_difference_between_catalogues() -> None:
    assert parse_catalogue(SMALL, "a.yaml")[0] == parse_catalogue("\n\n" + SMALL, "b.yaml")[0]


def test_problems_are_sorted_by_place_and_told_once() -> None:
    text = SMALL.replace("kind: table", "kind: tabel").replace("side: left", "side: port")
    problems = problems_of(text)
    assert [problem.code for problem in problems] == ["unknown-word"] * 3
    assert list(problems) == sorted(set(problems), key=lambda problem: problem.at)


# Files


def test_a_byte_order_mark_and_windows_lines_make_no_difference(tmp_path: Path) -> None:
    path = tmp_path / "c.yaml"
    path.write_bytes(b"\xef\xbb\xbf" + SMALL.replace("\n", "\r\n").encode())
    assert read_catalogue(path) == read(SMALL)


@pytest.mark.parametrize("data", [SMALL.encode("utf-16"), b"title: \xe9\n", b"\xff\xfe\x00"])
def test_a_file_that_is_not_utf_8_is_refused_by_name(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "c.yaml"
    path.write_bytes(data)
    with pytest.raises(
        FileError, match=r"c\.yaml: it is not UTF-8 text \(byte \d+\); save it as UTF-8"
    ):
        read_text(path)


def test_a_file_that_is_not_there_is_refused_by_name(tmp_path: Path) -> None:
    for reads in (read_text, read_catalogue, read_selection):
        with pytest.raises(FileError, match=r"none\.yaml: cannot read it: No such file"):
            reads(tmp_path / "none.yaml")


def test_a_folder_and_an_impossible_name_are_refused(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "x\0y"):
        with pytest.raises(FileError, match="cannot read it"):
            read_text(path)


def test_a_bad_file_raises_with_every_problem(tmp_path: Path) -> None:
    path = tmp_path / "c.yaml"
    path.write_text(SMALL.replace("GST", "''").replace("AUD", "XXX"), "utf-8")
    with pytest.raises(CatalogueError) as caught:
        read_catalogue(path)
    assert [problem.code for problem in caught.value.problems] == ["bad-currency", "empty"]
    assert str(caught.value).count(f"{path}:") == 2


# Names whose definitions are wrong


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("- id: length\n", "- id: Length\n", "bad-name"),
        ("- id: length\n", "- idd: length\n", "unknown-key"),
        ("{id: 1800, title", "{id: '18 00', title", "bad-name"),
        ("{id: 1800, title", "{title", "missing-key"),
        ("groups: [{id: canopy", "groups: [{id: -canopy", "bad-name"),
        ("spaces: [{id: canopy, title: canopy}]", "spaces: canopy", "wrong-type"),
        ("spaces: [", "space: [", "unknown-key"),
        ("limits:\n", "limit:\n", "unknown-key"),
        ("labour: {electrician", "labor: {electrician", "unknown-key"),
        ("labour: {electrician", "labour: {Electrician", "bad-name"),
        ("- id: fridge\n", "- id: height\n", "repeated-id"),
        (
            "- id: length\n",
            "- id: length\n  options: [{id: x, title: X, price: 1}]\n",
            "repeated-key",
        ),
        ("  pick: one\n", "  pick: on\n", "unknown-word"),
        ("until: 2026-12-31", "until: 2025-2-2", "bad-date"),
        ("percent: 70", "percent: '70'", "wrong-type"),
        ("percent: 70", "percent: 170", "out-of-range"),
        ("most: 2}", "most: two}", "wrong-type"),
        ("at-most: 3", "at-most: none", "wrong-type"),
        ("{amps: 4.5", "{amp: 4.5", "unknown-key"),
        ("front: 80, ", "fornt: 80, ", "unknown-key"),
        ("needs: {length", "need: {length", "unknown-key"),
        ("rate: 6.5", "rat: 6.5", "unknown-key"),
    ],
)
def test_one_slip_gives_one_problem(old: str, new: str, code: str) -> None:
    assert old in SMALL
    assert codes(SMALL.replace(old, new, 1)) == [code]


@pytest.mark.parametrize(
    ("text", "wrong"),
    [(SMALL, "NOTHING"), (SMALL, [["x"]]), (SMALL, {"zz": 1}), (EVERYTHING, {"zz": 1})],
    ids=["small-nothing", "small-list", "small-group", "everything-group"],
)
def test_any_one_value_of_the_wrong_kind_gives_one_problem(text: str, wrong: Any) -> None:
    """Of the large catalogue, one place of each key."""
    tree = read_tree(text, "c.yaml", linked("catalogue")).data
    kinds = {path if text == SMALL else _kind(path): path for path in _paths(tree)}
    for path in kinds.values():
        right = _at_itself(tree, path)
        if not isinstance(right, dict | list):
            _replace(tree, path, wrong)
            told = problems_of(written(tree).replace('"NOTHING"', "null"))
            assert len(told) == 1, (path, [str(problem) for problem in told])
            _replace(tree, path, right)


def _kind(path: tuple[Any, ...]) -> tuple[Any, ...]:
    return tuple(key for key in path if isinstance(key, str))[-1:]


# Nothing that is typed breaks it


def holds(text: str) -> None:
    """What must hold whatever the text: problems with places, or a catalogue, and no exception."""
    found, problems = parse_catalogue(text, "c.yaml")
    refused = any(problem.level == "error" for problem in problems)
    assert (found is None) == refused
    assert found is None or isinstance(found, Catalogue)
    lines = text.splitlines()
    for problem in problems:
        assert problem.at.file == "c.yaml"
        assert 1 <= problem.at.line <= len(lines) + 1
        assert problem.at.column >= 1
        assert "\n" not in problem.sentence + problem.hint
        assert len(problem.sentence) < 400
    assert list(problems) == sorted(problems, key=lambda problem: problem.at)


CHARACTERS = st.sampled_from(
    "{}[]:,-#&*!|>'\"%@`?~\t \n\r\\01.9aé=<\u202e\u2028\x00\x85\ud800\ufeff"
)


@STEADY
@given(st.data())
def test_no_change_of_characters_breaks_it(data: st.DataObject) -> None:
    text = data.draw(st.sampled_from([SMALL, EVERYTHING, SELECTION]))
    for _ in range(data.draw(st.integers(1, 4))):
        start = data.draw(st.integers(0, len(text)))
        length = data.draw(st.sampled_from([0, 0, 1, 1, 2, 20]))
        text = text[:start] + data.draw(st.text(CHARACTERS, max_size=3)) + text[start + length :]
    holds(text)


@STEADY
@given(st.data())
def test_no_change_of_lines_breaks_it(data: st.DataObject) -> None:
    lines = data.draw(st.sampled_from([SMALL, EVERYTHING])).splitlines(keepends=True)
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(lines) - 1))
        other = lines[data.draw(st.integers(0, len(lines) - 1))]
        line = lines[at]
        swapped = [[], [line, line], [other], [other, line], ["\n"], [line.rstrip("\n")]]
        moved = [["  " + line], ["\t" + line], [line.lstrip()]]
        lines[at : at + 1] = data.draw(st.sampled_from([*swapped, *moved]))
        lines = lines or ["\n"]
    holds("".join(lines))


@STEADY
@given(st.data())
def test_no_change_of_values_breaks_it(data: st.DataObject) -> None:
    text = data.draw(st.sampled_from([SMALL, EVERYTHING]))
    tree = read_tree(text, "c.yaml", linked("catalogue")).data
    paths = list(_paths(tree))
    for _ in range(data.draw(st.integers(1, 3))):
        _replace(tree, data.draw(st.sampled_from(paths)), data.draw(_values(tree, paths)))
    holds(written(tree).replace('"NOTHING"', "null"))


@STEADY
@given(st.data())
def test_no_change_of_a_selection_breaks_it(data: st.DataObject) -> None:
    if data.draw(st.booleans()):
        tree = read_tree(SELECTION, "s.yaml", linked("selection")).data
        paths = list(_paths(tree))
        _replace(tree, data.draw(st.sampled_from(paths)), data.draw(_values(tree, paths)))
        text = written(tree).replace('"NOTHING"', "null")
    else:
        start = data.draw(st.integers(0, len(SELECTION)))
        new = data.draw(st.text(CHARACTERS, max_size=3))
        text = SELECTION[:start] + new + SELECTION[start + data.draw(st.integers(0, 3)) :]
    with suppress(SelectionError):
        assert isinstance(parse_selection(text, "s.yaml"), Selection)


def _paths(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    inner = (
        value.items()
        if isinstance(value, dict)
        else enumerate(value)
        if isinstance(value, list)
        else ()
    )
    for key, part in inner:
        yield (*path, key)
        yield from _paths(part, (*path, key))


def _values(tree: Any, paths: list[tuple[Any, ...]]) -> st.SearchStrategy[Any]:
    """Values to put in the place of another: of every kind, or a piece of the same tree."""
    plain = ["NOTHING", "", "x", "floor", "850", "Ä Ö", "a" * 200, 0, 1, -1, 10**9, True, [], {}]
    plain += [Decimal("0.001"), ["x"], [["x"]], {"x": 1}, {"id": "x"}, {"all": []}, [{"id": "x"}]]
    return st.sampled_from(plain) | st.sampled_from(paths).map(lambda path: _at(tree, path))


def _at(tree: Any, path: tuple[Any, ...]) -> Any:
    for step in path:
        try:
            tree = tree[step]
        except (KeyError, IndexError, TypeError):
            return "gone"
    return json.loads(json.dumps(tree, default=str)) if isinstance(tree, dict | list) else tree


def _replace(tree: Any, path: tuple[Any, ...], value: Any) -> None:
    around = _at_itself(tree, path[:-1])
    if isinstance(around, dict) or (isinstance(around, list) and len(around) > path[-1]):
        around[path[-1]] = value


def _at_itself(tree: Any, path: tuple[Any, ...]) -> Any:
    for step in path:
        try:
            tree = tree[step]
        except (KeyError, IndexError, TypeError):
            return None
    return tree


# Texts that are meant to do harm


def bomb(levels: int) -> str:
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 10)}]" for n in range(1, levels)]
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize("levels", [6, 9, 50])
def test_a_bomb_of_aliases_is_refused_without_going_off(levels: int) -> None:
    text = bomb(levels)
    tracemalloc.start()
    started = time.monotonic()
    problems = problems_of(text)
    took, (_, peak) = time.monotonic() - started, tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert [problem.code for problem in problems] == ["syntax"]
    assert "its aliases, written out, stand for" in problems[0].sentence
    assert took < 10
    assert peak < 5_000_000


def test_many_values_are_fine_where_none_is_an_alias() -> None:
    many = ", ".join(["* entry"] * 150_000)
    tree = read_tree(f'["{many}", {many.replace("* ", "")}]', "c.yaml", {})
    assert not tree.problems
    assert len(tree.data) == 150_001


def test_a_bomb_of_keys_is_refused_too() -> None:
    text = bomb(5).replace("[", "{k: [").replace("]", "]}") + SMALL
    assert problems_of(text)


@pytest.mark.parametrize(
    "text",
    [
        *("[" * 100_000, "{a: " * 50_000, "- " * 100_000 + "x", "[" * 70 + "]" * 70),
        *("a: &a [*a]\n", "&a {b: {c: [*a]}}\n", "&a {*a : 1}\n"),
    ],
    ids=range(7),
)
def test_what_never_ends_is_refused(text: str) -> None:
    assert codes(text) == ["syntax"]


def test_a_long_word_is_shown_short() -> None:
    (problem,) = problems_of(SMALL.replace("pick: several", f"pick: {'several ' * 5000}"))
    assert len(str(problem)) < 250


@pytest.mark.parametrize("character", ["\u202e", "\u200b", "\u2066", "\ufeff", "\u2028"])
def test_characters_that_cannot_be_seen_are_refused_with_their_number(character: str) -> None:
    (problem,) = problems_of(SMALL.replace("A small catalogue\n", f'"A small{character}one"\n'))
    assert problem.code == "invisible-character"
    assert f"U+{ord(character):04X}" in problem.sentence


def test_a_catalogue_made_in_python_reads_as_it_was_made() -> None:
    made = catalogue(
        [choice("size", [option("s", Decimal("1.10")), option("l", 2)])],
        rules=[rule("r", needs={"size": "s"})],
    )
    (part,) = made.by_id["size"].by_id["s"].price
    assert isinstance(part, FixedPrice)
    assert part.amount == Decimal("1.10")
