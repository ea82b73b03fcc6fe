"""What Python code may rely on: the names of the package, their documentation, their answers."""

from __future__ import annotations

import ast
import datetime as dt
import doctest
import importlib
import inspect
import json
import pickle
import re
import shutil
import subprocess
import sys
import types
import typing
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from decimal import Decimal
from functools import lru_cache
from pathlib import Path, PurePosixPath
from textwrap import dedent
from typing import Any, cast

import attrs
import pytest
import yaml
from hypothesis import given, settings, strategies as st

import configurator
from configurator.catalogue.reading import parse_catalogue
from configurator.cli import cli
from configurator.register.database import Database
from configurator.render.language import language
from tests.support.building import choice, option, raw_catalogue, selection
from tests.support.paths import CASES, PACKAGE, ROOT
from tests.support.source import MODULES


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


DOORS = [
    getattr(configurator, name)
    for name in ("open_shop", "check_catalogue", "open_register", "to_data", "to_json")
]
METHODS = [
    (f"{kind.__name__}.{name}", method)
    for kind in (configurator.Shop, configurator.Build, configurator.Register)
    for name, method in inspect.getmembers(kind)
    if not name.startswith("_") and inspect.isfunction(method)
]
DAY = dt.date(2026, 8, 3)


def test_every_command_is_a_method_of_the_same_name() -> None:
    every: Any = cli
    commands = {*every.every()} - {"demo", "catalogue", "register", "serve", "sellers", "requote"}
    assert commands <= {name for name in dir(configurator.Build) if not name.startswith("_")}
    register = {*every.every()["register"].every()}
    assert register <= {name for name in dir(configurator.Register) if not name.startswith("_")}
    shops = {*every.every()["catalogue"].every(), "compare", "batch", "requote"}
    assert shops <= {name for name in dir(configurator.Shop) if not name.startswith("_")}


@pytest.mark.parametrize(("name", "method"), METHODS)
def test_every_method_is_typed_by_promised_names_and_documented(name: str, method: Any) -> None:
    known = {promised: getattr(configurator, promised) for promised in configurator.__all__}
    hints = typing.get_type_hints(
        method,
        globalns={**vars(sys.modules[method.__module__]), **known, "Self": configurator.Build},
    )
    assert set(hints) == {*inspect.signature(method).parameters} - {"self"} | {"return"}, name
    told = _types_in(hints.values())
    assert {t.__name__ for t in told} <= set(configurator.__all__), name
    text = inspect.getdoc(method) or ""
    assert "Example:" in text, name
    for parameter in {*inspect.signature(method).parameters} - {"self"}:
        assert parameter in text or name in ("Build.change",), (name, parameter)


@pytest.mark.parametrize("name", ["Selection", "FreeLine", "Customer", "Travel", "Budget", "Sale"])
def test_what_goes_in_is_made_of_promised_names(name: str) -> None:
    made = getattr(configurator, name)
    known = {promised: getattr(configurator, promised) for promised in configurator.__all__}
    hints = typing.get_type_hints(made, {**vars(sys.modules[made.__module__]), **known})
    asked = {field.name for field in attrs.fields(made) if field.init}
    told = _types_in(hint for field, hint in hints.items() if field in asked)
    assert {t.__name__ for t in told} <= set(configurator.__all__)


def test_errors_and_problems_are_shown_in_one_line_or_two(names: dict[str, Any]) -> None:
    place = configurator.Location("x" * 999, 1, 1)
    problem = configurator.Problem(place, "y" * 999, "code")
    with pytest.raises(configurator.QuoteRefused) as refused:
        names["shop"].build(configurator.Selection(names["shop"].catalogue.id)).quote("Q-1", DAY)
    for shown in (place, problem, configurator.SelectionError([problem]), refused.value):
        assert type(shown).__name__ in repr(shown)
        assert len(repr(shown)) <= 200


HOSTILE: list[Any] = [
    None,
    True,
    10**5000,
    -(10**5000),
    Decimal("1e300"),
    Decimal("NaN"),
    Decimal("9" * 5000),
    "x" * 999,
    "\n\0\ud800",
    ("a",) * 999,
    {"a": 10**5000},
    configurator.Pick("a", "b", 10**5000),
    configurator.Money(Decimal("1e50"), "AUD"),
    configurator.Money(Decimal(f"1.{'3' * 999}"), "AUD"),
    configurator.Location("/x" * 999, 10**4000, 1),
    configurator.Problem(configurator.Location("x" * 999, 1, 1), "y" * 999, "code"),
    DAY,
]
"""What a field may hold by a mistake, or because a customer's texts and figures are long."""
VALUES = [
    value
    for value in (getattr(configurator, name) for name in configurator.__all__)
    if attrs.has(value) and value.__repr__ is not object.__repr__
]


@pytest.mark.parametrize("kind", VALUES, ids=lambda kind: kind.__name__)
@settings(max_examples=20, deadline=None)
@given(data=st.data())
def test_whatever_a_value_holds_it_is_shown_in_one_line_or_two(kind: Any, data: Any) -> None:
    """The fields are set without what would refuse them."""
    made = kind.__new__(kind)
    if kind in OF_A_SHOP:
        made = OF_A_SHOP[kind](data.draw(st.sampled_from(["x" * 999, "\ud800"])))
    elif kind is configurator.Money:
        size, digits = data.draw(st.integers(-300, 50)), data.draw(st.integers(1, 10**60))
        amount = Decimal(digits).scaleb(size - len(str(digits)) + 1)
        made = configurator.Money(amount, data.draw(st.sampled_from(["AUD", "JPY", "CLF"])))
    elif kind is configurator.Location:
        made = kind(data.draw(st.sampled_from(["/" * 999, "\ud800"])), 10**5000, -(10**5000))
    else:
        for field in attrs.fields(kind):
            object.__setattr__(made, field.name, data.draw(st.sampled_from(HOSTILE)))
    shown = repr(made)
    assert kind.__name__ in shown
    assert len(shown) <= 200
    if kind is configurator.Money:
        assert str(made)


def test_whatever_an_answer_leads_to_is_shown_in_one_line_or_two(names: dict[str, Any]) -> None:
    """Every value that is reached by the attributes and properties of an answer, from all of it."""
    build = names["taller"]
    asked = (build.check, build.explain, build.layout, build.mass, build.power, build.price)
    to_look_at: list[Any] = [names["shop"], build, *(ask() for ask in asked)]
    to_look_at += [build.options("canopy-height"), build.quote("Q-1", DAY), names["wish"].check()]
    met: dict[int, Any] = {}
    while to_look_at:
        value = to_look_at.pop()
        if isinstance(value, typing.Mapping):
            to_look_at += [*value, *value.values()]
        elif isinstance(value, tuple | list | set | frozenset):
            to_look_at += value
        elif type(value).__module__.startswith("configurator.") and id(value) not in met:
            met[id(value)] = value
            to_look_at += _attributes(value)
    values = [value for value in met.values() if not isinstance(value, str)]
    assert {configurator.Price, configurator.Finding, configurator.Pick} < {*map(type, values)}
    shown = {repr(value) for value in values}
    assert not [told for told in shown if len(told) > 200 or " object at 0x" in told]


def _attributes(value: Any) -> list[Any]:
    """What can be read of a value: but for what has no answer, and what is not for everybody."""
    found = []
    for name, attribute in inspect.getmembers_static(type(value)):
        field = isinstance(attribute, property | types.MemberDescriptorType)
        if field and not name.startswith("_"):
            with suppress(configurator.ConfiguratorError):
                found.append(getattr(value, name))
    return found


@lru_cache
def _small() -> configurator.Catalogue:
    return small()


OF_A_SHOP: dict[Any, Callable[[str], Any]] = {
    configurator.Shop: lambda name: configurator.Shop(attrs.evolve(_small(), id=name)),
    configurator.Build: lambda name: configurator.Shop(_small()).build(
        configurator.Selection(name, title=name)
    ),
    configurator.Register: lambda name: configurator.Register(
        Database(name, cast("Any", None), None, 0), cast("Any", None), cast("Any", None)
    ),
}


def test_an_amount_too_large_to_be_rounded_is_refused_when_it_is_made() -> None:
    for much in ("1e300", "-1e51", "1e51"):
        with pytest.raises(configurator.MoneyError, match="more than an amount of money can be"):
            configurator.Money(Decimal(much), "AUD")
    with pytest.raises(configurator.MoneyError, match="more than an amount"):
        configurator.Money(Decimal(2), "AUD") * Decimal("1e300")
    assert str(configurator.Money(Decimal("0e300"), "AUD")) == "AUD 0.00"


def _types_in(hints: Any) -> set[type]:
    """The package's own classes in type hints, however deep."""
    found: set[type] = set()
    for hint in hints:
        if isinstance(hint, type) and hint.__module__.startswith("configurator"):
            found.add(hint)
        found |= _types_in(typing.get_args(hint))
    return found


def test_findings_are_of_three_kinds() -> None:
    shop = configurator.open_shop(today=DAY)
    bare = shop.build(configurator.Selection(shop.catalogue.id))
    bare = bare.pick("vehicle", "mid-dual").pick("upright-fridge", "upright-130")
    checked = bare.pick("canopy-height", "850mm").check()
    assert {f.code for f in checked.to_choose} == {"undecided"}
    missing = {(f.code, f.subject) for f in checked.missing}
    assert {("rule", "upright-battery"), ("power", "battery")} & missing
    assert not {*checked.missing} & {*checked.impossible}
    assert {*checked.stops} <= {*checked.to_choose, *checked.missing, *checked.impossible}


def test_options_come_one_choice_at_a_time_and_say_what_is_not_settled() -> None:
    shop = configurator.open_shop(today=DAY)
    wish = shop.build(ROOT / "catalogues" / "selections" / "touring.yaml")
    asked = ("finish", "canopy-height", "kitchen")
    answers = wish.one_by_one(*asked, effort="quick")
    first = next(answers)
    assert {one.choice for one in first} == {"finish"}
    other = shop.build(ROOT / "catalogues" / "selections" / "wish.yaml")
    assert other.options("canopy-height").options
    settled = {(o.choice, o.option): o.state for o in wish.options(*asked).options}
    for one in (*first, *(one for some in answers for one in some)):
        if one.state == "undecided":
            assert one.reason
        else:
            assert settled.pop((one.choice, one.option)) == one.state
    with pytest.raises(configurator.ConfiguratorError, match="quick or patient"):
        wish.options(effort="hasty")  # type: ignore[arg-type]


@pytest.fixture
def names(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    """What examples find: the promised names, a shop, and two builds, in an empty folder."""
    (tmp_path / "catalogues").symlink_to(ROOT / "catalogues")
    (tmp_path / "wishes").symlink_to(ROOT / "catalogues" / "selections")
    shutil.copy(ROOT / "catalogues" / "quandong.yaml", tmp_path)
    shutil.copytree(ROOT / "catalogues" / "quandong", tmp_path / "quandong")
    shutil.copy(ROOT / "catalogues" / "selections" / "wish.yaml", tmp_path)
    shutil.copy(ROOT / "catalogues" / "quandong-logo.svg", tmp_path)
    for file in (CASES / "lists").glob("cold-supply.*"):
        shutil.copy(file, tmp_path)
    monkeypatch.chdir(tmp_path)
    shop = configurator.open_shop(today=DAY)
    wish = shop.build("wish.yaml")
    promised = {name: getattr(configurator, name) for name in configurator.__all__}
    taller = wish.pick("canopy-height", "1000mm")
    return {**promised, "dt": dt, "Decimal": Decimal, "shop": shop, "wish": wish, "taller": taller}


def register_with_two_quotes(names: dict[str, Any], file: str) -> configurator.Register:
    """A new register, whose papers are blank."""
    shop: configurator.Shop = names["shop"]
    opened = attrs.evolve(shop.register(file), paper=lambda _: b"", clock=morning)
    for _ in range(2):
        opened.issue(names["taller"].quote("DRAFT", DAY), seller="Ann")
    return opened


def morning() -> dt.datetime:
    return dt.datetime.combine(DAY, dt.time(9), dt.UTC)


def test_every_docstring_s_example_prints_what_it_says(names: dict[str, Any]) -> None:
    finder, runner = doctest.DocTestFinder(recurse=False), doctest.DocTestRunner(verbose=False)
    told: list[str] = []
    for name, value in [*METHODS, *((door.__name__, door) for door in DOORS)]:
        (example,) = finder.find(value, name, module=False, globs=names)
        assert example.examples, name
        if name.startswith("Register."):
            with register_with_two_quotes(names, f"{name}.sqlite") as example.globs["register"]:
                runner.run(example, out=told.append)
        else:
            runner.run(example, out=told.append)
    assert not told, "".join(told)


@pytest.mark.usefixtures("names")
@pytest.mark.parametrize("module", ["configurator", "configurator.shop"])
def test_the_example_above_all_others_prints_what_it_says(module: str) -> None:
    finder, runner = doctest.DocTestFinder(recurse=False), doctest.DocTestRunner(verbose=False)
    known = {"dt": dt, "open_shop": configurator.open_shop}
    (example,) = finder.find(importlib.import_module(module), module, globs=known)
    told: list[str] = []
    assert runner.run(example, out=told.append).attempted > 1
    assert not told, "".join(told)


def test_every_task_of_the_package_is_done_by_what_it_names(names: dict[str, Any]) -> None:
    """Each call of the table is a method, and what is read of its answer is there."""
    table = (configurator.__doc__ or "").split("how\n")[1].split("\n\n")[0]
    lines = [re.split(r" {2,}", line.strip(), maxsplit=1)[1] for line in table.splitlines()]
    assert len({line.index(how) for line, how in zip(table.splitlines(), lines, strict=True)}) == 1
    asked = {**names, "build": names["taller"], "other": names["wish"], "day": DAY, "wishes": ()}
    for how in lines:
        if "requote" not in how:  # which would open the register of whoever runs this
            eval(how.replace("(...)", "()"), asked)


def test_every_method_is_in_the_readme_with_an_example_that_runs(names: dict[str, Any]) -> None:
    table = (ROOT / "README.md").read_text("utf-8").split("| task | method | example |")[1]
    rows = [line.split("|")[2:4] for line in table.split("\n\n")[0].splitlines()[2:]]
    told = {name for methods, _ in rows for name in re.findall(r"`([\w.]+)`", methods)}
    assert told == {name for name, _ in METHODS} - HELPS | {door.__name__ for door in DOORS}
    names["build"] = names["wish"]
    with register_with_two_quotes(names, "table.sqlite") as names["register"]:
        for _, example in rows:
            eval(example.strip().strip("`"), names)


HELPS = {"Shop.on_nearest", "Build.tidied", "Register.close"}
"""Methods that README has no row for."""


@pytest.mark.parametrize("name", configurator.__all__)
def test_what_is_promised_is_documented_and_typed(name: str) -> None:
    value = getattr(configurator, name)
    assert inspect.getdoc(value)
    if inspect.isfunction(value):
        signature = inspect.signature(value)
        assert signature.return_annotation is not inspect.Signature.empty
        assert all(p.annotation is not p.empty for p in signature.parameters.values())


RUN = ("__main__", "register.migrations.env")
"""Modules that are run, by Python and by Alembic, and not imported."""


def test_values_are_frozen() -> None:
    for name in configurator.__all__:
        value = getattr(configurator, name)
        if attrs.has(value):
            assert attrs.fields(value), name
            assert value.__setattr__ is not object.__setattr__, f"{name} can be changed"


@pytest.mark.parametrize("module", [name for name in MODULES if name not in RUN])
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
    assert (PACKAGE / "py.typed").exists()


def test_importing_the_package_loads_nothing_slow() -> None:
    code = (
        "import sys, configurator\n"
        "slow = {'weasyprint', 'jinja2', 'rich', 'click', 'ortools', 'pysat', 'numpy'}\n"
        "print(sorted(slow & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"


def test_the_main_job_needs_only_promised_names(tmp_path: Path) -> None:
    """The four tasks of a salesperson: a quote, why something does not fit, paper, comparison."""
    shop = configurator.open_shop(ROOT / "catalogues" / "quandong.yaml", DAY)
    touring = shop.build(ROOT / "catalogues" / "selections" / "touring.yaml")
    quote = touring.quote("Q-1", DAY)
    assert quote.price.total.amount > Decimal(0)
    wish = shop.build(ROOT / "catalogues" / "selections" / "wish.yaml")
    (fit,) = wish.check().impossible
    assert fit.code == "fit"
    assert not fit.hint
    (advised,) = wish.check(hints=True).stops
    assert "the lowest canopy that takes it" in advised.hint
    assert (advised.sentence, advised.numbers) == (fit.sentence, fit.numbers)
    shop.write(quote, tmp_path / "quote.pdf")
    assert shop.build(tmp_path / "quote.pdf").selection.quantities == touring.selection.quantities
    other = touring.pick("finish", "powder-doors")
    assert touring.compare(other).differences[1] == other.price().total - touring.price().total


def test_a_catalogue_and_a_selection_may_be_a_path_text_bytes_or_data(tmp_path: Path) -> None:
    text = SMALL.read_text("utf-8")
    picks = {"vehicle": "single-cab", "length": "1500", "height": "850"}
    data = {"format": 1, "catalogue": "small", "picks": picks}
    written = json.dumps(data)
    (tmp_path / "s.json").write_text(written, "utf-8")
    mapping = json.loads(json.dumps(yaml.load(text, yaml.BaseLoader)))
    assert mapping["format"] == "1"
    shops = [
        configurator.open_shop(source, DAY) for source in (SMALL, str(SMALL), text, text.encode())
    ]
    for shop in shops:
        for source in (data, written, written.encode(), tmp_path / "s.json", bare_canopy()):
            assert shop.build(source).price().total == shops[0].build(data).price().total
    with pytest.raises(configurator.CatalogueError, match="format"):
        configurator.open_shop(mapping)
    with pytest.raises(configurator.SelectionError):
        shops[0].build({"format": 1})


def test_a_build_is_changed_by_making_another() -> None:
    shop = configurator.Shop(small())
    build = shop.build(bare_canopy())
    dropped = build.drop("height")
    assert (build.selection.one("height"), dropped.selection.one("height")) == ("850", None)
    with pytest.raises(configurator.SelectionError, match='"height" is not picked'):
        dropped.drop("height")
    with pytest.raises(configurator.SelectionError, match="is not picked"):
        dropped.place("height", side="left")
    with pytest.raises(configurator.SelectionError, match=r'no choice "hight"(.|\n)*"height"'):
        build.pick("hight", "850").price()
    with pytest.raises(configurator.ConfiguratorError, match=r'no choice .hight.*"height"'):
        shop.list("hight")


def test_threads_may_share_a_shop() -> None:
    shop = configurator.Shop(small())
    build = shop.build(bare_canopy())
    expected = build.options()
    with ThreadPoolExecutor(4) as pool:
        found = list(pool.map(lambda _: build.options(), range(8)))
    assert found == [expected] * 8


SMALL = CASES / "small.yaml"


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
    quote = configurator.Shop(catalogue).build(bare_canopy()).quote("Q-1", issued)
    assert quote.valid_until == min(
        dt.date.max, issued + dt.timedelta(min(30, (dt.date.max - issued).days))
    )


def test_lines_that_come_to_less_than_nothing_are_not_laid_on_adjustments() -> None:
    catalogue = small(("price: 2900.00", "price: -2900.00"))
    build = configurator.Shop(catalogue).build(bare_canopy())
    (stop,) = [f for f in build.check().stops if f.code == "price"]
    assert stop.sentence.startswith("The prices of the lines bring the total below zero, to AUD -")
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
    lambda build: build.check(),
    lambda build: build.price(),
    lambda build: build.suggestions(),
    lambda build: build.quote("Q-1", DAY),
    lambda build: build.change(title="A").compare(build, titles=["A", "B"]),
]


@pytest.mark.parametrize("ask", ASKS, ids=("check", "price", "suggestions", "quote", "compare"))
def test_what_a_file_may_not_say_python_may_not_either(ask: Any) -> None:
    for chosen, words in OUT_OF_BOUNDS:
        with pytest.raises(configurator.SelectionError, match=words) as caught:
            ask(configurator.Shop(small()).build(chosen))
        assert all(problem.at.file for problem in caught.value.problems)


WORDS: Any = ("a",)
WRONG_TYPES: list[tuple[Any, str]] = [
    (7, "selection is the int 7; give a path, the text or bytes of a file, data or a Selection"),
    (bare_canopy(title=7), "selection.title is the int 7; give a str"),
    (bare_canopy(notes=["a"]), "selection.notes is the list"),
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
            ask(configurator.Shop(small()).build(chosen))
    with pytest.raises(TypeError, match=r"catalogue is the dict \{\}; give a Catalogue"):
        ask(configurator.Shop(cast("Any", {})).build(bare_canopy()))


def made(name: str, *given: Any, **named: Any) -> tuple[Any, Any, Any]:
    """A promised class, and what it is wrongly made from."""
    return getattr(configurator, name), given, named


ONE = Decimal(1)
WRONGLY_MADE = [
    (made("Adjustment", "Less", "Why", percent=-10), "percent is the int -10; give a Decimal"),
    (made("Adjustment", "Less", "Why", percent=-1.5), "percent is the float -1.5; give a Decimal"),
    (made("Adjustment", "Less", "Why", amount=Decimal("NaN")), "amount is NaN; give a finite"),
    (made("FreeLine", "box", "Box", 10, ONE), "price is the int 10; give a Decimal"),
    (made("FreeLine", "box", ["Box"], ONE, ONE), "title is the list .*; give a str"),
    (made("FreeLine", "box", "Box", ONE, ONE, per=True), "per is the bool True; give an int"),
    (made("Wish", "fridge", "chest", x="450"), "x is the str '450'; give an int"),
    (made("TradeIn", "Old tray", None, ONE), "reason is the NoneType None; give a str"),
    (made("Override", "gvm", "Ida", 7), "reason is the int 7; give a str"),
    (made("Travel", people="2"), "people is the str '2'; give an int"),
    (made("NamedPrice", "tray=flat", 7), "amount is the int 7; give a Decimal"),
    (made("Budget", limits=[("tray", ONE)]), "limits is the list .*; give a tuple"),
    (made("BudgetEntry", "Bed", 900), "amount is the int 900; give a Decimal"),
    (made("Sale", "Ute", ONE, guessed="yes"), "guessed is the str 'yes'; give a bool"),
]


@pytest.mark.parametrize(("wrong", "words"), WRONGLY_MADE)
def test_a_value_of_a_wrong_type_is_refused_where_it_is_made(wrong: Any, words: str) -> None:
    cls, given, named = wrong
    with pytest.raises(TypeError, match=rf"^{cls.__name__}\.{words}"):
        cls(*given, **named)


def test_changes_and_ways_out_tell_a_wrong_type() -> None:
    build = configurator.Shop(small()).build(bare_canopy())
    given: Any = "abc"
    for ask, words in (
        (lambda: build.change(title=5), "selection.title is the int 5; give a str"),
        (
            lambda: build.change(customer="Runa"),
            "selection.customer is the str 'Runa'; give a Cust",
        ),
        (lambda: build.within(given), "budget is the str 'abc'; give an int or a Decimal"),
        (lambda: build.add(given), r"line is the str 'abc'; give a FreeLine; .* add-ons too: pick"),
        (lambda: build.fixes(count=given), "count is the str 'abc'; give an int"),
        (lambda: build.fixes(keep=cast("Any", 5)), "keep is the int 5; give a list"),
        (lambda: build.fixes(keep="length=1500"), "keep is the str 'length=1500'; give a list"),
        (lambda: build.fixes(keep=[cast("Any", 5)]), r"keep\[0\] is the int 5; give a Pick"),
        (lambda: build.within(1, cast("Any", 5)), "wishes is the int 5; give a list"),
    ):
        with pytest.raises(TypeError, match=words):
            ask()


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


def test_money_reads_as_an_amount() -> None:
    """With the decimals that ISO 4217 gives the currency, and never a negative nothing."""
    for amount, currency, text in (
        ("31920", "AUD", "AUD 31,920.00"),
        ("-1250.5", "AUD", "AUD -1,250.50"),
        ("-0.001", "AUD", "AUD 0.00"),
        ("1999.5", "JPY", "JPY 2,000"),
    ):
        assert str(configurator.Money(Decimal(amount), currency)) == text


def test_what_is_saved_is_opened_again_as_it_was(names: dict[str, Any]) -> None:
    """With picks made in any order, and one said twice."""
    box = configurator.FreeLine("box", "Box", Decimal(10), Decimal(2))
    build = names["wish"].add(box, 2).drop("canopy-height").pick("add-on", "certificate")
    build = build.pick("lights", "flood-rear").pick("canopy-height", "1000mm")
    build = build.pick("lights", "strip-dimmer", 2)
    again = (*build.selection.picks, configurator.Pick("lights", "flood-rear"))
    for chosen in (build, build.change(picks=again), build.change(picks=again[::-1])):
        for file in ("saved.yaml", "saved.json"):
            chosen.save(file)
            opened = names["shop"].build(file).selection
            assert opened == chosen.selection
            assert opened.picks == chosen.selection.picks


# What goes wrong is said so that the next step is clear


def test_a_build_and_a_shop_say_what_to_write_or_pickle_in_their_place(
    names: dict[str, Any],
) -> None:
    for value in (names["shop"], names["wish"]):
        with pytest.raises(TypeError, match="is no answer: write what a method of it gives"):
            configurator.to_json(value)
        with pytest.raises(TypeError, match=r"with what .* pays?: pickle"):
            pickle.dumps(value)
    assert pickle.loads(pickle.dumps(names["wish"].selection)) == names["wish"].selection


def test_a_change_with_the_wrong_argument_tells_what_to_give(names: dict[str, Any]) -> None:
    wish = names["wish"]
    for change, kind in (
        (wish.add, "FreeLine"),
        (wish.adjust, "Adjustment"),
        (wish.trade_in, "TradeIn"),
        (wish.override, "Override"),
    ):
        with pytest.raises(TypeError, match=f"is the str 'x'; give an? {kind}"):
            change("x")
    with pytest.raises(TypeError, match="other is the str 'x'; give a Build"):
        wish.compare("x")
    with pytest.raises(TypeError, match="day is the str '2026-08-03'; give a date"):
        configurator.open_shop(day="2026-08-03")  # type: ignore[arg-type]
    with pytest.raises(configurator.SelectionError, match='write the side as side="left"'):
        wish.place("upright-fridge", "left")
    with pytest.raises(configurator.SelectionError, match='did you mean "upright-fridge"'):
        wish.place("upright-fridg", side="left")
    with pytest.raises(configurator.SelectionError, match='did you mean "850mm"'):
        wish.explain("canopy-height=85mm")


def test_an_option_may_be_asked_about_as_one_text(names: dict[str, Any]) -> None:
    wish = names["wish"]
    told = wish.explain("upright-fridge=upright-170")
    assert told == wish.explain("upright-fridge", "upright-170")
    assert str(told.wanted) == "upright-fridge=upright-170"


def test_a_build_with_free_lines_has_its_engine_compiled_once(
    names: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    from configurator.engine import search

    made: list[Any] = []

    class Counted(search.Search):
        def __init__(self, *given: Any, **named: Any) -> None:
            made.append(given)
            super().__init__(*given, **named)

    monkeypatch.setattr(search, "Search", Counted)
    box = configurator.FreeLine("box", "Box", Decimal(10), Decimal(2))
    build = names["shop"].build(names["wish"].selection).add(box)
    build.options("canopy-height")
    build.explain("canopy-height", "1000mm")
    assert len(made) == 1


# Days and sheets of paper


def test_a_moment_is_no_day(names: dict[str, Any], tmp_path: Path) -> None:
    """A datetime is a date to Python; as a day of issue it would be written with its time."""
    moment = dt.datetime.combine(DAY, dt.time(9))
    shop, build = names["shop"], names["taller"]
    for ask in (
        lambda: build.quote("Q-1", moment),
        lambda: build.sheets("J-1", moment),
        lambda: configurator.open_shop(day=moment),
        lambda: configurator.open_shop(today=moment),
        lambda: shop.on_nearest(moment),
        lambda: shop.batch("wishes", "quotes", moment),
        lambda: configurator.Shop.new("new", "New", ["1 Lane"], first=moment),
    ):
        with pytest.raises(TypeError, match=r"(day|today|first) is the datetime .*; give a date"):
            ask()
    assert not (tmp_path / "quotes").exists()
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize(
    ("look", "words"),
    [
        ({"page": "A9"}, 'no papers on "A9"; give A4 or Letter'),
        ({"page": "letter"}, 'no papers on "letter"; give A4 or Letter'),
        ({"page": ""}, 'no papers on ""; give A4 or Letter'),
        ({"language": "xx"}, 'no papers in "xx" yet'),
    ],
)
def test_a_look_that_cannot_be_had_is_refused_before_anything_is_written(
    names: dict[str, Any], tmp_path: Path, look: Any, words: str
) -> None:
    shop, build = names["shop"], names["taller"]
    before = sorted(tmp_path.iterdir())
    asks: tuple[Callable[[], object], ...] = (
        lambda: shop.write(build.layout(), "new/layout.pdf", **look),
        lambda: shop.write_sheets(build.sheets("J-1", DAY), "new", **look),
        lambda: shop.batch("wishes", "new", DAY, processes=1, **look),
        lambda: shop.requote("wishes", "new.pdf", **look),
        lambda: shop.register("new.sqlite", **look),
    )
    for ask in asks:
        with pytest.raises(configurator.ConfiguratorError, match=words):
            ask()
    assert sorted(tmp_path.iterdir()) == before
    for argument in look:
        with pytest.raises(TypeError, match=f"{argument} is the int 7; give a str"):
            shop.write(build.layout(), "new/layout.pdf", **{argument: 7})


def test_nothing_is_written_over_a_catalogue_or_a_file_of_the_shop(
    names: dict[str, Any], tmp_path: Path
) -> None:
    shutil.copy(SMALL, tmp_path / "other.yaml")
    shutil.copy(SMALL, tmp_path / "job.json")
    shutil.copy(SMALL, tmp_path / "sheet.csv")
    shutil.copy(SMALL, tmp_path / "sheet.pdf")
    (tmp_path / "one").mkdir()
    (tmp_path / "one" / "sheet.yaml").write_text("format: 1\ncatalogue: small\n")
    (tmp_path / "linked.yaml").symlink_to("quandong.yaml")
    (tmp_path / "look").mkdir()
    for name in ("job", "requote", "quote"):
        template = f'{{% extends "shipped/{name}.html" %}}'
        (tmp_path / "look" / f"{name}.html").write_text(template)
    shop = configurator.open_shop("quandong.yaml", DAY)
    part = f"quandong/{next((tmp_path / 'quandong').glob('*.yaml')).name}"
    build = shop.build("wish.yaml").pick("canopy-height", "1000mm")
    kept = {file: file.read_bytes() for file in tmp_path.rglob("*") if file.is_file()}
    asks: tuple[Callable[[], object], ...] = (
        lambda: build.save("quandong.yaml"),
        lambda: build.save("linked.yaml"),
        lambda: build.save(part),
        lambda: build.save("other.yaml"),
        lambda: shop.write(build, "quandong.yaml"),
        lambda: shop.write(build.check(), "job.json"),
        lambda: shop.write(build.layout(), "quandong-logo.svg"),
        lambda: shop.write_sheets(build.sheets("J-1", DAY), "", "json"),
        lambda: shop.write_sheets(build.sheets("J-1", DAY), "look", "html", templates="look"),
        lambda: shop.write(build.quote("Q-1", DAY), "look/quote.html", templates="look"),
        lambda: shop.requote("wishes", "job.json"),
        lambda: shop.requote("wishes", "look/requote.html", templates="look"),
        lambda: configurator.open_shop("sheet.csv", DAY).export("sheet.csv"),
        lambda: configurator.open_shop("sheet.pdf", DAY).batch("one", "", DAY),
    )
    for ask in asks:
        with pytest.raises(configurator.ConfiguratorError, match="give another name"):
            ask()
    over_another = pytest.raises(configurator.ConfiguratorError, match=r"job.json is a catalogue")
    with register_with_two_quotes(names, "spared.sqlite") as register, over_another:
        register.export("job.json")
    assert {file: file.read_bytes() for file in kept} == kept
    build.save("wish.yaml")
    assert shop.build("wish.yaml").selection.one("canopy-height") == "1000mm"


def test_a_kind_a_status_and_a_count_that_there_are_not_are_refused(
    names: dict[str, Any], tmp_path: Path
) -> None:
    shop, build, wish = names["shop"], names["taller"], names["wish"]
    sheets = build.sheets("J-1", DAY)
    with pytest.raises(configurator.ConfiguratorError, match='no sheets as "doc"; give pdf or'):
        shop.write_sheets(sheets, "new", "doc")
    with pytest.raises(TypeError, match="kind is the NoneType None; give a str"):
        shop.write_sheets(sheets, "new", None)
    assert not (tmp_path / "new").exists()
    for count in (0, -1):
        with pytest.raises(configurator.ConfiguratorError, match=f"count is {count}; give 1 or"):
            wish.fixes(count=count)
    with register_with_two_quotes(names, "status.sqlite") as register:
        too_few: tuple[Callable[[], object], ...] = (
            lambda: register.list(most=0),
            lambda: register.list(most=-(10**5000)),
            lambda: register.list(lapses_within=-1),
            lambda: register.find("weekends", most=0),
        )
        for ask in too_few:
            with pytest.raises(configurator.ConfiguratorError, match=r" is .*; give [01] or more"):
                ask()
        no_number: tuple[Callable[[], object], ...] = (
            lambda: register.list(most=cast("Any", "5")),
            lambda: register.list(lapses_within=cast("Any", 1.5)),
            lambda: register.find("weekends", most=cast("Any", None)),
        )
        for ask in no_number:
            with pytest.raises(TypeError, match="give an int"):
                ask()
        assert register.list(most=10**40, lapses_within=10**40).quotes
        with pytest.raises(configurator.ConfiguratorError, match=r'no quote is "x"; .*issued'):
            register.list(status="x")
        assert len(register.list(status="issued").quotes) == 2


def test_a_mistake_of_the_caller_is_told_by_the_argument(
    names: dict[str, Any], tmp_path: Path
) -> None:
    shop, build = names["shop"], names["taller"]
    no: Any = None
    box = configurator.FreeLine("box", "Box", Decimal(10), Decimal(2))
    number = "give an int or a Decimal"
    with register_with_two_quotes(names, "mistakes.sqlite") as register:
        quote = build.quote("DRAFT", DAY)
        asks: tuple[tuple[Callable[[], object], str], ...] = (
            (lambda: configurator.open_shop(cast("Any", 7)), "catalogue is the int 7"),
            (lambda: build.explain(7), "choice is the int 7; give a str"),
            (lambda: build.explain("finish", 7), "option is the int 7; give a str"),
            (
                lambda: build.explain("solar", "panel-200", "2"),
                f"quantity is the str '2'; {number}",
            ),
            (lambda: build.fixes(7), "choice is the int 7; give a str"),
            (lambda: build.fixes(count=True), "count is the bool True; give an int"),
            (lambda: build.options(7), "choice is the int 7; give a str"),
            (lambda: build.one_by_one(7), "choice is the int 7; give a str"),
            (lambda: build.within(True), f"budget is the bool True; {number}"),
            (lambda: build.drop(no), "choice is the NoneType None; give a str"),
            (lambda: build.place(no, side="left"), "choice is the NoneType None; give a str"),
            (lambda: build.without(no), "choice is the NoneType None; give a str"),
            (lambda: build.pick(7, "panel-200"), "choice is the int 7; give a str"),
            (lambda: build.pick("solar", no), "option is the NoneType None; give a str"),
            (lambda: build.pick("solar", "panel-200", no), f"is the NoneType None; {number}"),
            (lambda: build.pick("solar", "panel-200", "2"), f"quantity is the str '2'; {number}"),
            (lambda: build.pick("solar", "panel-200", 1.5), f"quantity is the float 1.5; {number}"),
            (lambda: build.pick("solar", "panel-200", Decimal("NaN")), "NaN; give a finite"),
            (lambda: build.add(box, "2"), f"quantity is the str '2'; {number}"),
            (lambda: build.travel(driving="2"), f"driving is the str '2'; {number}"),
            (lambda: build.compare(build, titles="ab"), "titles is the str 'ab'; give a list"),
            (
                lambda: build.compare(build, titles=["a", 7]),
                r"titles\[1\] is the int 7; give a str",
            ),
            (lambda: shop.compare("x"), "build is the str 'x'; give a Build"),
            (lambda: shop.compare(build, "x"), "other is the str 'x'; give a Build"),
            (lambda: shop.list(7), "choice is the int 7; give a str"),
            (lambda: shop.batch("wishes", "new", "2026-08-03"), "day is the str .*; give a date"),
            (lambda: shop.write_sheets(build.price(), "new"), "sheets is the Price .* a Sheets"),
            (lambda: shop.write(no, "new.json"), "answer is the NoneType None; give what a"),
            (lambda: shop.write("text", "new.json"), "answer is the str 'text'; give what a"),
            (lambda: shop.new("new", "New", "1 Lane"), "address is the str '1 Lane'; give a list"),
            (lambda: register.find(cast("Any", 7)), "query is the int 7; give a str"),
            (lambda: register.list(seller=cast("Any", 7)), "seller is the int 7; give a str"),
            (lambda: register.show(cast("Any", 7)), "number is the int 7; give a str"),
            (lambda: register.open(cast("Any", 7)), "number is the int 7; give a str"),
            (lambda: register.issue(quote, seller=no), "seller is the NoneType None; give a str"),
            (
                lambda: register.decline("Q-1", seller="Ann", reason=cast("Any", 7)),
                "reason is the int 7; give a str",
            ),
        )
        for ask, words in asks:
            with pytest.raises(TypeError, match=words):
                ask()
    assert not [*tmp_path.glob("new*")]


def test_whole_numbers_paths_and_days_are_taken_as_they_come(names: dict[str, Any]) -> None:
    shop, build = names["shop"], names["taller"]
    assert (
        build.travel(driving=2, tow_ball=90, trailer=700).selection.travel
        == build.travel(
            driving=Decimal(2), tow_ball=Decimal(90), trailer=Decimal(700)
        ).selection.travel
    )
    path = PurePosixPath("catalogues/quandong.yaml")
    assert configurator.open_shop(path, DAY).catalogue == shop.catalogue
    data = {"format": 1, "catalogue": "quandong", "picks": {"vehicle": "mid-dual"}}
    dated = {**data, "dates": [{"title": "Fitting", "day": "2026-09-01"}]}
    read = {**data, "dates": [{"title": "Fitting", "day": dt.date(2026, 9, 1)}]}
    assert shop.build(read).selection == shop.build(dated).selection
    moment = {**data, "dates": [{"title": "Fitting", "day": morning()}]}
    with pytest.raises(configurator.SelectionError, match="2026-08-03T09:00:00"):
        shop.build(moment)


def test_builds_of_two_shops_are_not_compared(names: dict[str, Any]) -> None:
    other = configurator.Shop(small()).build(bare_canopy())
    with pytest.raises(configurator.ConfiguratorError, match=r'one shop.*"quandong" and "small"'):
        names["taller"].compare(other)


def test_builds_of_two_days_are_compared_on_the_day_of_the_first() -> None:
    """Of a catalogue whose prices change between the two days."""
    changed = [
        {"kind": "fixed", "amount": 100, "until": "2026-08-31"},
        {"kind": "fixed", "amount": 150, "from": "2026-09-01"},
    ]
    one = raw_catalogue([choice("floor", [option("plain", changed)])])
    before, after = (
        configurator.open_shop(one, day).build(selection({"floor": "plain"}))
        for day in (dt.date(2026, 8, 3), dt.date(2026, 9, 3))
    )
    assert before.price().total != after.price().total
    assert not any(before.compare(after).differences)


def test_what_is_refused_can_be_said_in_german(tmp_path: Path) -> None:
    shop = configurator.Shop(small())
    build = shop.build(bare_canopy())
    register = shop.register(tmp_path / "register.sqlite")
    german = language("de")
    for ask, words in (
        (lambda: shop.write(build.mass(), "x.svg", page="A5"), 'keine Papiere auf "A5"; möglich:'),
        (lambda: build.fixes(count=0), "count ist 0; geben Sie 1 oder mehr an"),
        (lambda: register.list(status="lost"), 'kein Angebot ist "lost"; möglich: '),
        (lambda: shop.write(build.mass(), "x.doc"), "x.doc: der Name der Datei muss auf"),
    ):
        with pytest.raises(configurator.ConfiguratorError) as caught:
            ask()
        assert words in german.say(caught.value.args[0])


@pytest.mark.parametrize(
    ("price", "english", "german"),
    [
        ('"12"', 'is the text "12"; it must be', 'ist der Text "12", muss aber'),
        ("1.005", "is 1.005; AUD has 2 decimals", "ist 1.005; AUD hat 2 Nachkommastellen"),
    ],
)
def test_a_wrong_value_of_a_catalogue_names_its_owner_in_german(
    price: str, english: str, german: str
) -> None:
    catalogue = """
        format: 1
        currency: AUD
        tax: {name: GST, percent: 10, prices: inclusive}
        vehicles: [{id: ute, title: Ute}]
        choices:
        - id: tray
          title: Tray
          pick: one
          options: [{id: wide, title: Wide, price: PRICE}]
        """
    with pytest.raises(configurator.CatalogueError) as caught:
        configurator.open_shop(dedent(catalogue).replace("PRICE", price))
    (found,) = (one.sentence for one in caught.value.problems if english in one.sentence)
    assert found.startswith('price of option "wide" of choice "tray"')
    said = language("de").say(found)
    assert german in said
    assert said.startswith('price von Option "wide" von Frage "tray"')


def test_what_comes_choice_by_choice_is_written_as_the_options_are() -> None:
    build = configurator.Shop(small()).build(bare_canopy())
    whole = configurator.to_data(build.options())["options"]
    parts = [
        configurator.to_data(options)
        for options in build.one_by_one(effort="patient", reasons=True)
    ]
    assert len(parts) > 1
    written = [option for part in parts for option in part]
    assert sorted(map(str, written)) == sorted(map(str, whole))
    assert (
        json.loads(configurator.to_json(next(build.one_by_one(effort="patient", reasons=True))))
        == parts[0]
    )
