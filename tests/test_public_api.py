"""What Python code may rely on: the names of the package, their documentation, their answers."""

from __future__ import annotations

import ast
import datetime as dt
import importlib
import inspect
import pickle
import re
import subprocess
import sys
from decimal import Decimal
from pathlib import Path
from typing import Any

import attrs
import pytest

import configurator
from configurator.catalogue.reading import parse_catalogue
from configurator.selection.resolved import Resolved
from tests.test_layers import MODULES

ROOT = Path(__file__).parent.parent


def test_the_promised_names_are_sorted_and_there() -> None:
    assert list(configurator.__all__) == sorted(configurator.__all__)
    assert len(set(configurator.__all__)) == len(configurator.__all__)
    for name in configurator.__all__:
        assert getattr(configurator, name) is not None
    assert set(configurator.__all__) <= set(dir(configurator))


def test_a_name_that_is_not_there_is_told_as_python_does() -> None:
    with pytest.raises(AttributeError, match=r"'configurator' has no attribute 'nothing'"):
        getattr(configurator, "nothing")  # noqa: B009  # mypy knows that it is not there


def test_the_readme_tells_of_every_promised_name() -> None:
    text = (ROOT / "README.md").read_text("utf-8")
    told = set(re.findall(r"`(\w+)`", text.split("| promised names |")[1].split("\n## ")[0]))
    assert told == set(configurator.__all__)


@pytest.mark.parametrize("name", configurator.__all__)
def test_what_is_promised_is_documented_and_typed(name: str) -> None:
    value = getattr(configurator, name)
    assert inspect.getdoc(value)
    if inspect.isfunction(value):
        signature = inspect.signature(value)
        assert signature.return_annotation is not inspect.Signature.empty
        assert all(p.annotation is not p.empty for p in signature.parameters.values())


def test_values_are_frozen() -> None:
    for name in configurator.__all__:
        value = getattr(configurator, name)
        if attrs.has(value):
            assert attrs.fields(value), name
            assert value.__setattr__ is not object.__setattr__, f"{name} can be changed"


@pytest.mark.parametrize("module", [name for name in MODULES if name != "__main__"])
def test_every_public_name_of_a_module_is_documented(module: str) -> None:
    short = "" if module == "__init__" else f".{module}"
    loaded = importlib.import_module(f"configurator{short}")
    assert loaded.__doc__, module
    listed = getattr(loaded, "__all__", ())
    assert all(hasattr(loaded, name) for name in listed), module
    for node in ast.parse(MODULES[module].read_text("utf-8")).body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            assert ast.get_docstring(node), f"{module}.{node.name}"


def test_the_package_is_typed_for_its_users() -> None:
    assert (ROOT / "configurator" / "py.typed").exists()


def test_importing_the_package_loads_nothing_slow() -> None:
    code = (
        "import sys, configurator\n"
        "slow = {'weasyprint', 'jinja2', 'rich', 'click', 'ortools', 'pysat', 'numpy'}\n"
        "print(sorted(slow & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"


def test_the_main_job_needs_only_promised_names() -> None:
    """The four tasks of a salesperson: a quote, why something does not fit, paper, comparison."""
    from configurator import Pick, check, compare, make_quote, price, read_catalogue, read_selection

    catalogue = read_catalogue(ROOT / "catalogues" / "quandong.yaml")
    touring = read_selection(ROOT / "catalogues" / "selections" / "touring.yaml")
    wish = read_selection(ROOT / "catalogues" / "selections" / "wish.yaml")
    quote = make_quote(Resolved(catalogue, touring), "Q-1", dt.date(2026, 8, 3))
    assert quote.price.total.amount > Decimal(0)
    fits = [
        finding for finding in check(Resolved(catalogue, wish)).findings if finding.code == "fit"
    ]
    assert fits[0].hint
    other = Resolved(catalogue, touring).picking(Pick("finish", "powder-doors"))
    side_by_side = compare(catalogue, [touring, other], ["one", "other"])
    assert side_by_side.differences[1] == (
        price(Resolved(catalogue, other)).total - price(Resolved(catalogue, touring)).total
    )


SMALL = ROOT / "tests" / "cases" / "small.yaml"


def small(*changes: tuple[str, str]) -> configurator.Catalogue:
    """The small catalogue with pieces of its text replaced."""
    text = SMALL.read_text("utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    found, problems = parse_catalogue(text, "small.yaml")
    assert found is not None, problems
    return found


def bare_canopy(**fields: Any) -> configurator.Selection:
    """A sound selection of the small catalogue, with more of its fields given."""
    picks = (("vehicle", "single-cab"), ("length", "1500"), ("height", "850"))
    return configurator.Selection(
        "small", tuple(configurator.Pick(*pick) for pick in picks), **fields
    )


@pytest.mark.parametrize(
    ("first", "until", "day"),
    [
        ("2026-01-01", "9999-12-31", "9999-12-31"),
        ("0001-01-01", "2026-12-31", "0001-01-01"),
        ("0001-01-01", "9999-12-31", "2026-08-03"),
    ],
)
def test_prices_may_hold_for_ever_and_a_quote_ends_by_the_last_day_there_is(
    first: str, until: str, day: str
) -> None:
    catalogue = small(
        ("from: 2026-01-01, until: 2026-12-31", f"from: {first}, until: {until}"),
        ("price: 2900.00", f"price: [{{kind: fixed, amount: 2900.00, until: {until}}}]"),
    )
    issued = dt.date.fromisoformat(day)
    quote = configurator.make_quote(Resolved(catalogue, bare_canopy()), "Q-1", issued)
    assert quote.valid_until == min(
        dt.date.max, issued + dt.timedelta(min(30, (dt.date.max - issued).days))
    )


def test_lines_that_come_to_less_than_nothing_are_not_laid_on_adjustments() -> None:
    catalogue = small(("price: 2900.00", "price: -2900.00"))
    (stop,) = [
        f for f in configurator.check(Resolved(catalogue, bare_canopy())).stops if f.code == "price"
    ]
    assert stop.sentence.startswith("The prices of the lines bring the total below zero: AUD -")
    assert "prices" in stop.hint


def off(**what: Any) -> configurator.Selection:
    """A selection with one adjustment made in Python."""
    return bare_canopy(adjustments=(configurator.Adjustment("Less", "Because", **what),))


OUT_OF_BOUNDS = [
    (off(percent=Decimal(-1000)), "percent in entry 1 of adjustments is -1000; it must be"),
    (off(percent=Decimal("0.1234567")), "has at most 6 decimals"),
    (off(amount=Decimal(10) ** 30), "has at most 12 digits"),
    (bare_canopy(title="x" * 500), "has 500 characters"),
    (bare_canopy(customer=configurator.Customer("A\u3164B")), "U\\+3164"),
    (bare_canopy(customer=configurator.Customer("")), 'has no "name"'),
    (bare_canopy(customer=configurator.Customer("A", email="a\nb")), "must be one line"),
]
ASKS = [
    lambda shop, chosen: configurator.check(Resolved(shop, chosen)),
    lambda shop, chosen: configurator.price(Resolved(shop, chosen)),
    lambda shop, chosen: configurator.suggestions(Resolved(shop, chosen)),
    lambda shop, chosen: configurator.make_quote(
        Resolved(shop, chosen), "Q-1", dt.date(2026, 8, 3)
    ),
    lambda shop, chosen: configurator.compare(shop, [bare_canopy(), chosen], ["A", "B"]),
]


@pytest.mark.parametrize("ask", ASKS, ids=("check", "price", "suggestions", "quote", "compare"))
def test_what_a_file_may_not_say_python_may_not_either(ask: Any) -> None:
    for chosen, words in OUT_OF_BOUNDS:
        with pytest.raises(configurator.SelectionError, match=words) as caught:
            ask(small(), chosen)
        assert all(problem.at.file for problem in caught.value.problems)


WORDS: Any = ("a",)
WRONG_TYPES: list[tuple[Any, str]] = [
    (None, "selection is the NoneType None; give a Selection"),
    (bare_canopy(title=7), "selection.title is the int 7; give a str"),
    (bare_canopy(notes=["a"]), "selection.notes is the list"),
    (off(percent=-10), r"selection.adjustments\[0\].percent is the int -10; give a Decimal"),
    (off(percent=-1.5), "is the float -1.5; give a Decimal"),
    (off(amount=Decimal("NaN")), "is NaN; give a finite Decimal"),
    (
        configurator.Selection("small", WORDS),
        r"selection.picks\[0\] is the str 'a'; give a Pick",
    ),
    (
        attrs.evolve(bare_canopy(), picks=(configurator.Pick("slide", "short", True),)),
        r"picks\[0\].quantity is the bool True; give an int",
    ),
]


@pytest.mark.parametrize("ask", ASKS, ids=("check", "price", "suggestions", "quote", "compare"))
def test_a_wrong_type_is_told_with_the_argument_and_the_field(ask: Any) -> None:
    for chosen, words in WRONG_TYPES:
        with pytest.raises(TypeError, match=words):
            ask(small(), chosen)
    with pytest.raises(TypeError, match=r"catalogue is the dict \{\}; give a Catalogue"):
        ask({}, bare_canopy())


def test_what_is_looked_up_cannot_be_changed() -> None:
    shop, chosen = small(), bare_canopy()
    for found in (shop.by_id, shop.by_id["length"].by_id, shop.by_id["length"].order):
        with pytest.raises(TypeError):
            found["x"] = found  # type: ignore[index]
    with pytest.raises(TypeError):
        chosen.quantities["length", "1500"] = 9  # type: ignore[index]
    with pytest.raises(TypeError):
        chosen.chosen["length"] = ()  # type: ignore[index]
    again, like = pickle.loads(pickle.dumps((shop, chosen)))
    assert (again, like) == (shop, chosen)
    assert again.by_id == shop.by_id


def test_a_negated_amount_keeps_every_digit() -> None:
    exact = Decimal("1234567890123456789012345678.123456789")
    assert (-configurator.Money(exact, "AUD")).amount == exact.copy_negate()
    assert str(-configurator.Money(Decimal("0.00"), "AUD").amount) == "0.00"
