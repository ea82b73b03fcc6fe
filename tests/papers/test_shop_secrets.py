"""What the shop pays and earns is for its own eyes: no paper and no answer of a customer's has it.

A catalogue full of figures and names that occur nowhere else is priced, quoted, compared and
budgeted in every way; none of them may come out, but in the one answer that is the shop's.
"""

from __future__ import annotations

import datetime as dt
import json
import pickle
import re
import shutil
from collections.abc import Callable, Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import attrs
import pypdf
import pytest
from click.testing import CliRunner

from configurator import (
    Build,
    Catalogue,
    Money,
    Pick,
    PriceAnswer,
    Selection,
    SelectionError,
    TraceAnswer,
    open_shop,
    to_data,
    to_json,
)
from configurator.budget.savings import lowest
from configurator.catalogue.reading import shipped
from configurator.checking.check import check
from configurator.checking.suggestions import suggestions
from configurator.cli import cli
from configurator.engine.availability import options
from configurator.engine.completion import complete
from configurator.engine.conflicts import find_conflict
from configurator.engine.search import Search
from configurator.engine.ways_out import fixes
from configurator.engine.within import within
from configurator.layout.answers import lay_out
from configurator.pricing.margin import margin
from configurator.pricing.price import price
from configurator.render.html import quote_html
from configurator.render.look import look_of
from configurator.report.budget import budget_paper
from configurator.report.comparison import compare
from configurator.report.quote import make_quote
from configurator.selection.reading import read_selection
from configurator.selection.resolved import Resolved
from tests.support.building import (
    catalogue,
    choice,
    option,
    percent,
    raw_catalogue,
    selection,
    several,
    tax,
    vehicle,
    written,
)
from tests.support.pdfs import Pages
from tests.support.shipped import read_catalogue
from tests.support.source import MODULES, imports

D = Decimal
SECRETS = ("7431.07", "7,431", "18.53", "Sundry Secret", "SS-9917", "612.77")
WORDS = ("margin", "markup percent", "supplier-code", '"cost"', '"supplier"')


def shop() -> dict[str, Any]:
    """A tray at 10 000 that costs 7 431.07, a rack marked up by 18.53 percent on 612.77."""
    secret = {"supplier": "Sundry Secret", "supplier-code": "SS-9917"}
    rack = [{"kind": "markup", "cost": D("612.77"), "percent": D("18.53")}]
    trays = [
        option("alloy", 10_000, cost=D("7431.07"), **secret),
        option("steel", 9_000, cost=D("7431.07"), **secret),
    ]
    return raw_catalogue(
        [
            choice("tray", trays),
            choice("rack", [option("rack", rack, **secret)], "at-most-one"),
            several("lamps", [option("lamp", 50, most=4, power={"load": {"amps": 1}})]),
        ],
        add_ons=[
            option("mat", 80, cost=D("18.53"), because="It is soft.", suggest={"tray": "alloy"})
        ],
        vehicles=[vehicle()],
    )


@pytest.fixture
def files(tmp_path: Path) -> tuple[str, str]:
    """The catalogue and a selection of it, as files."""
    where, wanted = tmp_path / "shop.json", tmp_path / "wanted.json"
    where.write_text(written(shop()))
    picks = {"vehicle": "ute", "tray": "alloy", "rack": "rack", "lamps": {"lamp": 2}}
    data = {
        "format": 1,
        "catalogue": "test",
        "picks": picks,
        "budget": {"limit": 9000, "entries": [{"title": "Ute", "amount": 5}]},
    }
    wanted.write_text(written(data))
    return str(where), str(wanted)


CUSTOMERS: list[tuple[str, ...]] = [
    ("check", "{s}"),
    ("check", "{s}", "--json"),
    ("price", "{s}"),
    ("price", "{s}", "--json"),
    ("price", "{s}", "--trace"),
    ("price", "{s}", "--trace", "--json"),
    ("compare", "{s}", "--change", "tray=steel"),
    ("compare", "{s}", "--change", "tray=steel", "--json"),
    ("budget", "{s}"),
    ("budget", "{s}", "--json"),
    ("catalogue", "list", "tray", "rack"),
    ("mass", "{s}"),
    ("mass", "{s}", "--items"),
    ("mass", "{s}", "--json"),
    ("power", "{s}"),
    ("power", "{s}", "--json"),
    ("layout", "{s}", "--json"),
    ("options", "{s}"),
    ("options", "{s}", "--json"),
    ("explain", "{s}", "tray=steel"),
    ("explain", "{s}", "tray=steel", "--json"),
    ("fixes", "{s}", "tray=steel"),
    ("fixes", "{s}", "tray=steel", "--json"),
    ("complete", "{s}"),
    ("complete", "{s}", "--json"),
    ("within", "{s}", "--budget", "20000", "--wish", "lamps=lamp:3"),
    ("within", "{s}", "--budget", "20000", "--wish", "lamps=lamp:3", "--json"),
]
PAPERS: list[tuple[str, ...]] = [
    ("quote", "{s}", "--date", "2026-05-05"),
    ("compare", "{s}", "--change", "tray=steel"),
    ("budget", "{s}"),
]


def told(files: tuple[str, str], *arguments: str) -> str:
    where, wanted = files
    filled = [a.format(s=wanted) for a in arguments]
    extra = [] if arguments[0] == "catalogue" and "check" in arguments else ["--catalogue", where]
    result = CliRunner().invoke(cli, [*filled, *extra], env={"COLUMNS": "200"})
    assert result.exit_code in (0, 1), result.output
    assert result.output
    return result.output


def text_of(paper: Path) -> str:
    """What a paper holds, its style aside; of a PDF its pages and all that is inside it."""
    if paper.suffix == ".pdf":
        text = "\n".join(Pages(paper).lines)
        return text + paper.read_bytes().decode("latin-1") + inside(paper)
    return re.sub(r"<style\b.*?</style>", "", paper.read_text(), flags=re.DOTALL)


def inside(paper: Path) -> str:
    """Every stream of a PDF unpacked: what it carries, its metadata, its pages."""
    opened = pypdf.PdfReader(paper)
    found = (opened.get_object(pypdf.generic.IndirectObject(n, 0, opened)) for n in opened.xref[0])
    streams = [o.get_data() for o in found if isinstance(o, pypdf.generic.StreamObject)]
    assert streams
    return "\n".join(stream.decode("latin-1") for stream in streams)


def test_what_a_pdf_carries_is_looked_into(files: tuple[str, str], tmp_path: Path) -> None:
    """Else the papers below could hide in it what their pages do not show."""
    paper = tmp_path / "quote.pdf"
    told(files, "quote", "{s}", "--date", "2026-05-05", "-o", str(paper))
    carried = pypdf.PdfReader(paper).attachments
    assert len(carried) >= 2
    unpacked = inside(paper)
    for contents in (c for listed in carried.values() for c in listed):
        assert contents.decode("latin-1") in unpacked
    assert '"tray"' in unpacked


@pytest.mark.parametrize("arguments", CUSTOMERS, ids=" ".join)
def test_no_answer_of_a_customers_has_what_the_shop_pays(
    files: tuple[str, str], arguments: tuple[str, ...]
) -> None:
    shown = told(files, *arguments)
    assert not [secret for secret in (*SECRETS, *WORDS) if secret in shown]


@pytest.mark.parametrize("suffix", ["html", "json", "pdf"])
@pytest.mark.parametrize("arguments", PAPERS, ids=lambda a: a[0])
def test_no_paper_has_what_the_shop_pays(
    files: tuple[str, str], arguments: tuple[str, ...], suffix: str, tmp_path: Path
) -> None:
    paper = tmp_path / f"paper.{suffix}"
    told(files, *arguments, "-o", str(paper))
    text = text_of(paper)
    assert not [secret for secret in (*SECRETS, *WORDS) if secret in text]


def test_no_open_standard_quotation_has_what_the_shop_pays(
    files: tuple[str, str], tmp_path: Path
) -> None:
    paper = tmp_path / "quote.xml"
    told(files, "quote", "{s}", "--date", "2026-05-05", "-o", str(paper))
    text = paper.read_text("utf-8")
    assert "<cbc:Name>Alloy</cbc:Name>" in text
    assert not [secret for secret in (*SECRETS, *WORDS) if secret in text]


def test_the_shops_own_view_has_it_by_line_and_in_total(files: tuple[str, str]) -> None:
    # worked by hand: 10 000 with GST brings 9 090.91 and costs 7 431.07; the rack is 612.77 and
    # 18.53 percent, 726.32 without tax; two lamps at 50 have no known cost
    answer = json.loads(told(files, "price", "{s}", "--shop", "--json"))
    assert answer["answer"] == "margin"
    tray, rack, lamp = answer["lines"]
    assert (tray["net"], tray["cost"], tray["margin"]) == ("9090.91", "7431.07", "1659.84")
    assert tray["supplier"] == "Sundry Secret SS-9917"
    assert (rack["net"], rack["cost"]) == ("726.32", "612.77")
    assert (lamp["cost"], answer["unknown"]) == (None, ["Lamp"])
    assert (answer["net"], answer["cost"], answer["margin"]) == ("9817.23", "8043.84", "1773.39")
    shown = told(files, "price", "{s}", "--shop")
    assert "For the shop's eyes only" in shown
    assert "7,431.07" in shown


def test_discounts_come_off_the_margin_of_the_lines_they_are_on() -> None:
    # worked by hand: 1 000 without tax, cost 700; 10 % off leaves 200 of 900
    made = catalogue([several("parts", [option("a", 1000, cost=700)])], tax=tax(10, "exclude"))
    picked = selection({"parts": "a"}, [percent(-10)])
    found = margin(Resolved(made, picked))
    assert (str(found.margin.amount), found.percent) == ("200.00", D("22.2"))


def test_a_cost_may_hang_on_what_a_price_hangs_on() -> None:
    # worked by hand: 2 m at 30 a metre and 25, and a table
    length = choice("length", [option("two", space={"canopy": {"length": 2000}})])
    made = catalogue(
        [
            length,
            several(
                "parts",
                [
                    option(
                        "a",
                        500,
                        cost=[
                            {"kind": "measure", "of": "canopy.length", "rate": 30},
                            {"kind": "fixed", "amount": 25},
                            {"kind": "table", "by": ["length"], "rows": {"two": 7}},
                        ],
                    )
                ],
            ),
        ],
        spaces=[{"id": "canopy", "title": "canopy"}],
        vehicles=[vehicle(space={"canopy": {"width": 1800, "height": 900}})],
    )
    picked = selection({"length": "two", "parts": "a"})
    found = margin(Resolved(made, picked))
    assert found.cost.amount == 92
    open_length = selection({"parts": "a"})
    assert margin(Resolved(made, open_length)).unknown == ("A",)


def values(shop_of: Catalogue, wanted: Selection) -> dict[str, Any]:
    """Every kind of value that a customer's door hands out."""
    other = Resolved(shop_of, wanted).picking(Pick("tray", "steel"))
    both = [Resolved(shop_of, one) for one in (wanted, other)]
    checked = check(both[0])
    search = Search(shop_of)
    given = Money(D(20_000), "AUD")
    return {
        "check": checked,
        "layout": lay_out(Resolved(shop_of, wanted)),
        "mass": checked.mass,
        "power": checked.power,
        "price": price(Resolved(shop_of, wanted)),
        "trace": price(Resolved(shop_of, wanted)).traced,
        "suggestions": suggestions(Resolved(shop_of, wanted)),
        "comparison": compare(
            [Resolved(shop_of, wanted), Resolved(shop_of, other)], ["one", "other"]
        ),
        "quote": make_quote(Resolved(shop_of, wanted), "Q-1", dt.date(2026, 5, 5)),
        "budget": budget_paper(Resolved(shop_of, wanted)),
        "savings": lowest(Resolved(shop_of, wanted)),
        "options": options(search, wanted),
        "conflict": find_conflict(search, wanted, ("tray", "steel")),
        "fixes": fixes(search, wanted, ("tray", "steel")),
        "completed": complete(search, wanted),
        "within": within(search, wanted, given, [Pick("lamps", "lamp", 3)]),
        **answered(open_shop(shop_of.source).build(wanted)),
    }


def answered(build: Build) -> dict[str, Any]:
    """What the methods of a build answer, those for the shop's eyes apart."""
    return {
        "build.check": build.check(),
        "build.layout": build.layout(more=True),
        "build.mass": build.mass(),
        "build.power": build.power(),
        "build.options": build.options(),
        "build.explain": build.explain("tray", "steel"),
        "build.fixes": build.fixes("tray", "steel"),
        "build.complete": build.complete(),
        "build.within": build.within(20_000, [Pick("lamps", "lamp", 3)]),
        "build.compare": build.compare(build.pick("tray", "steel")),
        "build.budget": build.budget(savings=False),
    }


def forms(value: Any) -> Iterator[str]:
    """Ways in which a program could write a value down."""
    yield repr(value)
    yield str(value)
    yield json.dumps(to_data(value), default=str)
    yield from map(repr, parts(value))
    yield pickle.dumps(value, protocol=4).decode("latin-1")
    if attrs.has(type(value)):
        yield repr(attrs.asdict(value))
    else:
        assert value is None or isinstance(value, tuple), type(value)
        yield repr([attrs.asdict(one) for one in value or ()])


def test_no_value_of_a_customers_door_has_what_the_shop_pays(files: tuple[str, str]) -> None:
    shop_of, wanted = read_catalogue(files[0]), read_selection(files[1])
    made = values(shop_of, wanted)
    assert all(made[name] for name in made if name not in ("conflict", "layout"))
    told = {name: set(secrets_in(value)) for name, value in made.items()}
    assert told == {name: set() for name in made}
    assert set(secrets_in(shop_of)) == set(SECRETS) - {"7,431"}, "nothing would be found"


def test_no_value_of_a_door_tells_where_the_shop_s_files_lie(tmp_path: Path) -> None:
    """The shipped catalogue, with its parts and its logo, opened by its path from the root."""
    home = tmp_path / "sentinel"
    shutil.copytree(shipped("catalogues"), home)
    opened = open_shop(home / "quandong.yaml", dt.date(2026, 8, 3))
    files = home / "selections" / "touring.yaml", home / "selections" / "wish.yaml"
    touring, wish = (opened.build(file) for file in files)
    day = opened.day
    made: dict[str, Any] = {
        "selection": touring.selection,
        "check": touring.check(),
        "hints": wish.check(hints=True),
        "price": PriceAnswer(touring.price(), touring.suggestions()),
        "trace": TraceAnswer(wish.price()),
        "margin": touring.margin(),
        "layout": touring.layout(),
        "conflict": wish.layout(),
        "mass": touring.mass(),
        "power": touring.power(),
        "options": touring.options("canopy-height"),
        "explain": wish.explain("upright-fridge", "upright-130"),
        "fixes": wish.fixes(count=1),
        "complete": touring.complete(),
        "within": touring.within(60_000, ["oven=oven-small"]),
        "quote": touring.quote("Q-1", day),
        "compare": touring.compare(wish),
        "budget": touring.budget(savings=False),
        "sheets": touring.sheets("J-1", day),
        "catalogue check": opened.check(),
    }
    made["kept"] = made["fixes"].fixes[0].selection
    told = {name for name, value in made.items() for form in forms(value) if str(home) in form}
    assert told == set()
    with pytest.raises(SelectionError, match=re.escape(str(files[0]))):  # what is wrong is told so
        opened.build(files[0]).pick("canopy-hight", "850mm").change(
            picks=(attrs.evolve(touring.selection.picks[0], choice="no"),)
        ).price()
    again = pickle.loads(pickle.dumps(opened.catalogue))
    assert look_of(again.shop).logo, "another process finds the logo"


def parts(value: Any) -> Iterator[Any]:
    """Every value that a value is made of, itself too."""
    if attrs.has(type(value)):
        yield value
        for field in attrs.fields(type(value)):
            yield from parts(getattr(value, field.name))
    elif isinstance(value, tuple | list | frozenset):
        for inner in value:
            yield from parts(inner)
    elif isinstance(value, dict):
        yield from parts(tuple(value.values()))


def test_every_value_of_a_door_is_shown_in_one_line_or_two(files: tuple[str, str]) -> None:
    shop_of, wanted = read_catalogue(files[0]), read_selection(files[1])
    handed = (*values(shop_of, wanted).values(), shop_of, wanted, Resolved(shop_of, wanted))
    long = {type(part).__name__ for part in parts(handed) if len(repr(part)) > 200}
    assert long == set()


def secrets_in(value: Any) -> Iterator[str]:
    for form in forms(value):
        yield from (secret for secret in SECRETS if secret in form)


EVERYTHING = """{% extends "shipped/NAME" %}{% block main %}{{ shop }} {{ VALUE }}
{% for name in ["price", "selection", "limits", "power", "mass", "groups", "columns"] %}
{{ VALUE[name] if VALUE[name] is defined }}
{% endfor %}
{% for line in LINES %}{% for part in line.parts %}{{ part }}
{{ part.cost if part.cost is defined }}{{ part.at }}{{ part.words }}{{ part.note }}
{% endfor %}{% endfor %}
{% endblock %}"""
"""A template that writes out whatever it is given."""


@pytest.mark.parametrize("suffix", ["html", "pdf"])
@pytest.mark.parametrize(
    ("arguments", "name", "value", "lines"),
    [
        (PAPERS[0], "quote.html", "quote", "quote.price.lines"),
        (PAPERS[1], "comparison.html", "comparison", "comparison.columns[0].price.lines"),
        (PAPERS[2], "budget.html", "paper", "[]"),
    ],
)
def test_no_template_of_a_shops_own_can_print_what_the_shop_pays(
    files: tuple[str, str],
    arguments: tuple[str, ...],
    name: str,
    value: str,
    lines: str,
    suffix: str,
    tmp_path: Path,
) -> None:
    own = tmp_path / "own"
    own.mkdir()
    text = EVERYTHING.replace("NAME", name).replace("VALUE", value).replace("LINES", lines)
    (own / name).write_text(text)
    paper = tmp_path / f"paper.{suffix}"
    told(files, *arguments, "--templates", str(own), "-o", str(paper))
    shown = text_of(paper)
    assert re.search(r"(Quote|Comparison|BudgetPaper)\(", shown)
    assert not [secret for secret in SECRETS if secret in shown]


MAY_KNOW = {
    "pricing.margin",
    "report.shop",
    "render.sheets",
    "report.sheets",
    "schemas.answers",
    "exchange.order",
    "register.reading",
    "checking.catalogue",
    "suppliers.amounts",
    "suppliers.export",
    "suppliers.update",
    "suppliers.writing",
    "report.price_list",
    "writer",
    "cli.catalogue",
    "cli.facts",
    "cli.papers",
    "build",
    "__init__",
}
"""Of what a catalogue knows of cost and suppliers, only these modules may speak."""

SECRET = {"pricing.margin", "report.shop", "report.sheets", "report.price_list", "suppliers.update"}
"""What is for the shop's eyes only."""

MAKE_CUSTOMERS_PAPERS = (
    "render.writing",
    "render.html",
    "report.job",
    "report.wiring",
    "report.comparison",
    "budget.savings",
)
MAKE_CUSTOMERS_ANSWERS = tuple(module for module in MODULES if module.startswith("answers."))


def reached(module: str) -> set[str]:
    """Every module that a module leads to."""
    found: set[str] = set()
    left = [module]
    while left:
        new = {name for name in imports(left.pop()) if name in MODULES} - found
        found |= new
        left += sorted(new)
    return found


@pytest.mark.parametrize("module", [*MAKE_CUSTOMERS_PAPERS, *MAKE_CUSTOMERS_ANSWERS])
def test_nothing_that_makes_a_customers_papers_or_answers_leads_to_a_cost(module: str) -> None:
    assert len(reached(module)) > 3
    assert not reached(module) & SECRET


def test_nothing_that_makes_papers_or_answers_can_reach_a_cost() -> None:
    for secret in SECRET:
        assert secret in MODULES
        assert {module for module in MODULES if secret in imports(module)} <= MAY_KNOW
    for module, path in MODULES.items():
        if module in {"pricing.margin", "pricing.lines"} or module.startswith("catalogue."):
            continue
        text = path.read_text("utf-8").replace("configurator.suppliers.", "")
        for word in (".supplier", ".supplier_code", ".trade_of(", ".trade\n", "catalogue.text"):
            known = module in MAY_KNOW or "line.supplier" in text
            assert known or word not in text, (module, word)


@pytest.mark.parametrize("kind", ["html", "json", "pdf"])
@pytest.mark.parametrize("sheet", ["job", "wiring", "orders"])
def test_no_sheet_has_what_the_shop_pays_unless_it_is_asked_for(
    files: tuple[str, str], sheet: str, kind: str, tmp_path: Path
) -> None:
    # a supplier reads the order list: its own name and part number may stand there, no cost; tray
    # and rack have one part number, and 7 431.07 and 612.77 are 8 043.84 together
    where, wanted = files
    named = {"Sundry Secret", "SS-9917"} if sheet == "orders" else set()
    arguments = ["sheets", wanted, "--catalogue", where, "-o", str(tmp_path), "--as", kind]
    for extra, costs in (([], False), (["--cost"], sheet == "orders")):
        ran = CliRunner().invoke(cli, [*arguments, *extra])
        assert ran.exit_code == 0, ran.output
        shown = text_of(tmp_path / f"{sheet}.{kind}")
        assert {secret for secret in SECRETS if secret in shown} == named
        assert ("8,043.84" in shown or "8043.84" in shown) == costs
        assert ("for the shop's eyes only" in ran.output) == bool(extra)


@pytest.mark.parametrize("make", [quote_html, to_json])
def test_the_shipped_quotes_name_no_supplier(make: Callable[[Any], str]) -> None:
    shipped_shop = read_catalogue(shipped("catalogues") / "quandong.yaml")
    suppliers = {
        name
        for trade in shipped_shop.trade
        for name in (trade.supplier, trade.supplier_code)
        if name
    }
    wanted = read_selection(shipped("catalogues") / "selections" / "touring.yaml")
    paper = make(make_quote(Resolved(shipped_shop, wanted), "Q-1", dt.date(2026, 11, 2)))
    assert len(suppliers) > 20
    assert not [name for name in suppliers if f">{name}<" in paper or f'"{name}"' in paper]
