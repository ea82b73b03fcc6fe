"""What stands on a quote besides its prices, read back by PDFium and pdfplumber.

Every figure on the page is one of the answer's, and what is said of a suggested extra is what a
quote with that extra says. Long and short quotes keep their shape; the shipped ones are compared
with ``golden/papers/``, their text and where headings and totals lie, in whole millimetres:
``UPDATE_GOLDEN=1`` writes that anew.
"""

from __future__ import annotations

import datetime as dt
import json
import os
import re
from collections import Counter
from collections.abc import Iterator
from decimal import Decimal
from functools import cache
from typing import Any

import attrs
import pytest

from configurator import (
    Catalogue,
    Money,
    Override,
    Pick,
    PlannedDate,
    Quote,
    Revision,
    Selection,
    to_json,
)
from configurator.catalogue.model import ADD_ON
from configurator.catalogue.reading import shipped
from configurator.drawing.layouts import compact_drawing, travels_of
from configurator.render.html import quote_html
from configurator.render.look import look_of
from configurator.report.extras import extras_table
from configurator.report.mass import LOADS, mass_table
from configurator.report.price import customer_table
from configurator.report.quote import make_quote
from configurator.report.quote_tables import in_brief, standing_table
from configurator.selection.reading import parse_selection, read_selection
from configurator.selection.resolved import Resolved
from configurator.shapes.shipped import schema
from configurator.words import amount, plain, shown
from tests.support.building import Raw, catalogue, choice, limit, option, selection, several, tax
from tests.support.made_papers import quandong
from tests.support.paths import GOLDEN, TESTS
from tests.support.pdfs import (
    MM,
    Pages,
    found_by_page_validation,
    found_by_pdfua,
    measure,
    opened_pdf,
    squeezed,
)
from tests.support.quotes import generated, shipped_quote
from tests.support.rendered import pdf_from

pytestmark = pytest.mark.usefixtures("nothing_logged")

DAY = dt.date(2026, 8, 3)
REFERENCE = GOLDEN / "papers"
PACKAGES = TESTS / "cases" / "packages"
SMALLEST = 7.95
"""Letters are 8 pt high or more; what is read back is rounded."""


@cache
def shipped_pdf(name: str) -> bytes:
    return pdf_from(quote_html(shipped_quote(name)))


@cache
def shipped_pages(name: str) -> Pages:
    return Pages(shipped_pdf(name))


def pages_of(quote: Quote) -> Pages:
    return Pages(pdf_from(quote_html(quote)))


def answer_of(quote: Quote) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(to_json(quote))
    return found


def in_pages(text: str) -> str:
    return text.replace(",", "")


# The figures are those of the answer


NUMBER = r"-?\d+(?:\.\d+)?"


@pytest.mark.parametrize("name", ["touring", "contractor"])
def test_every_amount_on_the_pages_is_one_of_the_answer(name: str) -> None:
    pages, answer = shipped_pages(name), answer_of(shipped_quote(name))
    known = set(re.findall(NUMBER, json.dumps(answer)))
    known |= {f"-{saved}" for deal in answer["price"]["package-deals"] for saved in deal.values()}
    printed = [w["text"] for page in pages.words for w in page]
    amounts = [in_pages(w).rstrip(".,") for w in printed]
    amounts = [w for w in amounts if re.fullmatch(r"-?\d+\.\d\d", w)]
    assert len(amounts) > 40
    assert [shown for shown in amounts if shown not in known] == []


@pytest.mark.parametrize("name", ["touring", "contractor"])
def test_every_line_subtotal_and_total_of_the_answer_is_on_the_pages(name: str) -> None:
    price = answer_of(shipped_quote(name))["price"]
    wanted = [line["amount"] for group in price["groups"] for line in group["lines"]]
    wanted += [group["subtotal"] for group in price["groups"]]
    wanted += [price["total"], price["tax"], *(stage["amount"] for stage in price["payments"])]
    wanted += [f"-{deal['saving']}" for deal in price["package-deals"]]
    words = [in_pages(w["text"]) for page in shipped_pages(name).words for w in page]
    missing = Counter(a for a in wanted if Decimal(a)) - Counter(words)
    assert not missing


def loads(quote: Quote) -> dict[str, list[Any]]:
    """Of each rating its figures: what is rated, each state's load, the rest, the percent used."""
    rows = mass_table(quote.mass).rows[:-1]
    return {str(row.cells[0].value): [cell.value for cell in row.cells[1:]] for row in rows}


def told(value: object) -> str:
    return plain(value) if isinstance(value, Decimal) else str(value or "")


def test_payload_axles_and_days_are_the_answer_s_and_stand_beside_their_caution() -> None:
    quote, pages = shipped_quote("touring"), shipped_pages("touring")
    table = standing_table(quote.mass, quote.power)
    for row in table.rows:
        *figures, share = (cell.value for cell in row.cells)
        assert pages.has("".join(map(told, figures)))
        assert isinstance(share, Decimal)
    page = pages.page_of("Payload and power")
    assert page == pages.page_of("Confirm on a weighbridge, loaded as you travel")
    assert page == pages.page_of("A planning aid for a licensed electr")
    answer = answer_of(quote)
    full = next(s for s in answer["mass"]["states"] if s["state"] == "full")
    rows = {str(row.cells[0].value): [cell.value for cell in row.cells[1:]] for row in table.rows}
    for bar in full["bars"]:
        load, rated, remaining = map(Decimal, map(str, rows[f"{LOADS[bar['rating']]}, kg"][:3]))
        assert rated == Decimal(bar["rated"])
        assert abs(Decimal(bar["load"]) - load) <= Decimal("0.05")
        assert 0 <= Decimal(bar["left"]) - remaining < Decimal("0.11")
    assert rows["Battery, without charging"][:3] == ["73.3 Ah a day", "340 Ah", "4.6 days"]
    assert Decimal(answer["power"]["days-alone"]) == Decimal("4.6")


def test_what_is_left_is_rounded_down_and_the_bar_is_as_long_as_the_fullest_state() -> None:
    for name in ("touring", "contractor"):
        told = loads(shipped_quote(name))
        if name == "contractor":
            assert told.pop("Tow ball")[-2:] == [None, None], "nobody said what it is loaded with"
        for rating, *states, remaining, percent in told.values():
            most = max(load for load in states if load is not None)
            assert remaining <= rating - most + Decimal("0.1")
            assert 0 <= percent - 100 * most / rating < Decimal("1.1")


# Extras do what is said of them


def same_with(shop: Catalogue, chosen: Selection, quote: Quote, whose: str) -> Quote:
    return make_quote(
        Resolved(shop, Resolved(shop, chosen).picking(Pick(ADD_ON, whose))),
        quote.number,
        quote.date,
    )


@pytest.mark.parametrize("name", ["touring", "contractor"])
def test_a_quote_with_a_suggested_extra_says_what_was_said_of_it(name: str) -> None:
    before = shipped_quote(name)
    assert len(before.extras) >= 10
    for extra in before.extras:
        then = same_with(quandong(), before.selection, before, extra.suggestion.line.option)
        assert then.mass.payload - then.mass.payload_used == extra.payload_left
        limits = {state.limit.title: state for state in then.limits}
        for effect in extra.limits:
            assert limits[effect.title].left == effect.left
        if extra.power is not None:
            more = then.power.daily - before.power.daily
            assert extra.power.daily - Decimal("0.1") < more <= extra.power.daily
            assert shown(then.power).days_alone == extra.power.days
        else:
            assert then.power.daily == before.power.daily
        line = next(x for x in then.price.lines if x.option == extra.suggestion.line.option)
        assert line.each == extra.suggestion.line.each
        assert then.price.total - before.price.total == extra.difference
    printed = [row.cells[2].value for row in extras_table(before.extras, before.price).rows]
    assert printed == [extra.difference for extra in before.extras]
    assert printed != [extra.suggestion.price for extra in before.extras]


HOLD: Raw = {"length": 2600, "width": 1720, "height": 900}
DOORS = [{"space": "hold", "side": side, "front": 0, "rear": 0} for side in ("left", "right")]


def unit(width: int, depth: int, height: int, **more: Any) -> Raw:
    body = {"width": width, "depth": depth, "height": height}
    return {"space": "hold", "body": body, "works-from": ["left", "right"], **more}


def with_units(count: int, **more: Any) -> tuple[Catalogue, Selection]:
    """A space with so many units along its sides."""
    units = [
        option(f"u{n}", 100, title=f"Drawer number {n}", mass=10, unit=unit(340, 600, 300))
        for n in range(count)
    ]
    shell = option("box", 1000, space={"hold": HOLD}, openings=DOORS)
    shop = catalogue(
        [choice("shell", [shell]), several("units", units)],
        spaces=[{"id": "hold", "title": "hold"}],
        **more,
    )
    return shop, selection({"shell": "box", "units": [u["id"] for u in units]})


def test_what_an_extra_takes_gives_and_changes_is_worked_out_from_the_catalogue() -> None:
    """Against sums by hand: a unit's litres, a lining's millimetres, and water's mass."""
    when = {"shell": "box"}
    extras = [
        option(
            "crate", 50, mass=4, unit=unit(500, 400, 200, contents=6), suggest=when, because="A.",
        ),
        option("lining", 60, mass=3, space={"hold": {"wall": 10}}, suggest=when, because="B."),
        option("tank", 70, mass=2, gives={"water": 25}, suggest=when, because="C."),
        option("upgrade", 80, mass=20, ratings={"gvm": 3500}, suggest=when, because="D."),
        option(
            "tent", 90, mass=30, suggest=when, because="E.",
            position={"from": "tray-front", "x": 900, "z": 100, "above": "roof"},
        ),
    ]  # fmt: skip
    shop, chosen = with_units(2, add_ons=extras, limits=[limit("water", "L")])
    quote = make_quote(Resolved(shop, chosen), "Q-1", DAY)
    before = quote.mass.payload - quote.mass.payload_used
    found = {extra.suggestion.line.option: extra for extra in quote.extras}
    assert set(found) == {"crate", "lining", "tank", "upgrade", "tent"}
    takes = found["crate"].takes
    assert takes is not None
    free = Decimal(2600 * 1720 * 900 - 2 * 340 * 600 * 300) / 10**6
    assert takes.litres == 40
    assert takes.left == free - 40
    assert found["crate"].adds == 10
    assert found["crate"].payload_left == before - 10
    (name, inside), *rest = found["lining"].inside
    assert (name, inside.length, inside.width, inside.height, rest) == ("hold", 2580, 1700, 900, [])
    (water,) = found["tank"].limits
    assert water.gives == water.left == 25
    assert found["upgrade"].payload_left == before - 20 + 200
    assert [identity for identity, extra in found.items() if extra.outside] == ["tent"]
    pages = pages_of(quote)
    for said in (
        "Takes 40 L in the hold: 500 mm wide, 400 mm deep, 200 mm high.",
        f"{plain(free - 40)} L remain.",
        "Inside, the hold is then 2580 mm long, 1700 mm wide and 900 mm high.",
        "Water: adds 25 L, 25 L remaining.",
        "It sits on the roof and takes no room inside.",
    ):
        assert pages.has(said), said
    for extra in quote.extras:
        then = same_with(shop, chosen, quote, extra.suggestion.line.option)
        assert then.mass.payload - then.mass.payload_used == extra.payload_left


def test_what_nobody_states_of_an_extra_is_not_guessed() -> None:
    shop = catalogue(
        [choice("tray", [option("flat", 1200)])],
        add_ons=[option("mat", 45, mass=3, suggest={"tray": "flat"}, because="It protects.")],
    )
    quote = make_quote(Resolved(shop, selection({"tray": "flat"})), "Q-1", DAY)
    (extra,) = quote.extras
    assert (extra.takes, extra.inside, extra.outside, extra.limits) == (None, (), False, ())
    assert extra.power is None
    assert pages_of(quote).has(f"MatIt protects.{plain(extra.left_kg or 0)}45.00")


# The pictures


@pytest.mark.parametrize("name", ["touring", "contractor"])
def test_the_first_page_shows_the_vehicle_and_the_package_with_every_unit(name: str) -> None:
    quote, pages = shipped_quote(name), shipped_pages(name)
    for load in ("front-axle", "rear-axle"):
        assert squeezed(LOADS[load]) in pages.texts[0]
    assert squeezed("From behind and the left") in pages.texts[0]
    assert quote.layout is not None
    for rank, placement in enumerate(quote.layout.placements, 1):
        assert str(rank) in pages.texts[0], placement.title


def test_without_units_there_is_a_vehicle_and_without_numbers_no_coordinates() -> None:
    flat = catalogue([choice("tray", [option("flat", 1)])])
    bare = make_quote(Resolved(flat, selection({"tray": "flat"})), "Q-1", DAY)
    assert bare.layout is None
    assert quote_html(bare).count("<svg") == 1
    assert answer_of(bare)["layout"] is None
    for name in ("touring", "contractor"):
        for shop_matter in ("front wall", "Fused ways", "Board area", "Vent area"):
            assert not shipped_pages(name).has(shop_matter)


def test_pictures_fit_the_room_that_they_are_given() -> None:
    build = Resolved(*with_units(14))
    layout = make_quote(build, "Q-1", DAY).layout
    assert layout is not None
    travels = travels_of(build.catalogue, layout)
    for width, height in ((174, 165), (174, 120), (120, 250)):
        drawn = compact_drawing(layout, travels, "x", width, height)
        sizes = [
            [Decimal(n) for n in re.findall(r'(?:width|height)="([\d.]+)mm"', svg)]
            for svg in (drawn.views, drawn.plan)
        ]
        assert sum(tall for _, tall in sizes) <= height
        assert all(wide <= width + Decimal("0.01") for wide, _ in sizes)


# Revisions, overrides, what is said


HISTORY = (
    Revision(2, "2026-07-20", "no rear window"),
    Revision(3, "2026-08-03", "powder coat instead of paint"),
)


def test_a_revision_is_told_and_stands_with_the_number_on_every_page() -> None:
    chosen = attrs.evolve(shipped_quote("contractor").selection, revision=3, revisions=HISTORY)
    quote = make_quote(Resolved(quandong(), chosen), "Q-2041", DAY)
    pages = pages_of(quote)
    assert (
        squeezed(
            "Revision 3 of 3 August 2026: powder coat instead of paint; replaces revision 2 of "
            "20 July 2026: no rear window."
        )
        in pages.texts[0]
    )
    for number, text in enumerate(pages.texts, 1):
        assert squeezed("Quandong Flat Fabrication, quote Q-2041 revision 3") in text
        assert f"Page{number}of{len(pages.texts)}" in text
    assert pages.has("I accept quote Q-2041 revision 3 of 3 August 2026")
    assert pages.metadata["Title"].startswith("Quote Q-2041 revision 3")
    answer = answer_of(quote)
    assert answer["revision"] == 3
    assert [entry["revision"] for entry in answer["revisions"]] == [3, 2]
    again = parse_selection(json.dumps(answer["selection"]), "carried.json")
    assert (again.revision, again.revisions) == (3, HISTORY)


def test_a_revision_that_nobody_explains_is_of_the_day_of_issue() -> None:
    chosen = attrs.evolve(shipped_quote("contractor").selection, revision=2)
    pages = pages_of(make_quote(Resolved(quandong(), chosen), "Q-9", DAY))
    assert pages.has("Revision 2 of 3 August 2026.")
    assert not shipped_pages("contractor").has("revision")


def heavy() -> tuple[Catalogue, Selection]:
    shop = catalogue(
        [several("load", [option("brick", 100, mass=1400, title="Brick")])],
        cautions=[{"id": "heavy", "when": {"load": "brick"}, "text": "Bricks are heavy."}],
        quote={
            "valid-days": 30,
            "payments": [{"title": "In full", "percent": 100}],
            "cautions": ["Bricks are heavy.", "Drive with care."],
        },
    )
    passes = tuple(Override(s, "Ida Example", "Plated higher") for s in ("gvm", "rear-axle"))
    return shop, attrs.evolve(selection({"load": "brick"}), overrides=passes)


def test_what_was_let_pass_comes_first_and_cautions_are_said_once() -> None:
    quote = make_quote(Resolved(*heavy()), "Q-1", DAY)
    pages = pages_of(quote)
    passed = "overridden by Ida Example: Plated higher"
    assert passed in quote.cautions[0]
    assert passed in quote.cautions[1]
    assert [c.partition(".")[0] for c in quote.cautions[-2:]] == [
        "Bricks are heavy", "Drive with care",
    ]  # fmt: skip
    assert len(set(quote.cautions)) == len(quote.cautions)
    for caution in quote.cautions:
        assert pages.text.count(squeezed(caution)) == 1
    table = standing_table(quote.mass, quote.power)
    over = [
        row
        for row in table.rows
        if isinstance(row.cells[3].value, Decimal) and row.cells[3].value < 0
    ]
    assert over
    assert quote_html(quote).count('class="bar over"') == len(over)


def test_extras_have_a_box_to_tick_and_their_price_and_a_place_to_sign() -> None:
    quote, html = shipped_quote("touring"), quote_html(shipped_quote("touring"))
    assert html.count('class="tick"') == len(quote.shown_extras) == 8
    assert shipped_pages("touring").has(f"{len(quote.extras) - 8} more suit this package")
    whole = quote_html(attrs.evolve(quote, all_extras=True))
    assert whole.count('class="tick"') == len(quote.extras) > 8
    assert "more suit this package" not in whole
    assert html.index("Acceptance") > html.rindex('class="tick"')
    assert shipped_pages("touring").has("with the extras ticked above, at the total then confirmed")


def test_what_costs_nothing_shares_a_line_and_areas_are_the_workshop_s() -> None:
    """The family's finish and suspension come as they are; its sheet is priced by area."""
    quote, pages = packaged("family"), pages_of(packaged("family"))
    for group, told in (
        ("Finish", "Raw aluminium"),
        ("On the tray, on the roof and underneath", "Suspension as the vehicle comes"),
    ):
        assert pages.text.count(squeezed(group)) == 1
        assert pages.has(f"{group}{told}included")
    assert "0.00" not in pages.lines[1].split()
    assert "15.24 m² at 24.00" in [note for line in quote.price.lines for note in line.notes]
    assert not pages.has("15.24")
    assert pages.has("2.5 mm plain sheet, 5052365.66")


@pytest.mark.parametrize(
    ("tag", "asked", "later"),
    [
        ("en-AU", "price on application", "From, with some prices still to come"),
        ("de", "Preis auf Anfrage", "Ab, einige Preise stehen noch aus"),
    ],
)
def test_what_is_priced_on_application_says_so(tag: str, asked: str, later: str) -> None:
    """Two lines and an extra without a price; their group is worth what is known, or more."""
    poa = [{"kind": "on-application"}]
    shop = catalogue(
        [
            several("tray", [option("flat", 900, title="Flat"), option("odd", poa, title="Odd")]),
            choice("freight", [option("far", [poa[0] | {"note": "by road train"}], title="Far")]),
        ],
        add_ons=[option("sign", poa, title="Sign", suggest={"tray": "flat"}, because="It sells.")],
    )
    picked = selection({"tray": ["flat", "odd"], "freight": "far"})
    quote = make_quote(Resolved(shop, picked), "Q-1", DAY)
    pages = Pages(pdf_from(quote_html(quote, look_of(shop.shop, tag=tag))))
    for told in (f"Odd{asked}", f"Far by road train{asked}", later):
        assert pages.has(told), told
    assert pages.text.count(squeezed(asked)) == 3
    assert pages.has("The buildfrom 900.00" if tag == "en-AU" else "The buildab 900,00")


def test_of_a_tow_ball_that_nobody_names_nothing_is_used() -> None:
    """What axles and vehicle leave room for in this layout remains; no bar tells of a share."""
    for name, wanted in (("contractor", (None, 350, 320, None)), ("touring", None)):
        quote = shipped_quote(name)
        rows = {str(r.cells[0].value): r for r in standing_table(quote.mass, quote.power).rows}
        row = rows.pop("Tow-ball download, in this layout, kg", None)
        payload = rows.pop("Payload with 320 kg on the tow ball, kg", None)
        assert (payload is None) == (row is None)
        assert all(cell.value is not None for row in rows.values() for cell in row.cells)
        told = None if row is None else tuple(cell.value for cell in row.cells[1:])
        assert told == wanted
        if wanted:
            assert quote_html(quote).count('class="bar"') == len(rows) == 5


def test_what_is_simply_included_is_told_together() -> None:
    parts = ["No sides", "No headboard", "Plain floor"]
    choices = [choice(f"c{n}", [option("o", 0, title=t)]) for n, t in enumerate(parts)]
    shop = catalogue([*choices, choice("tray", [option("flat", 900, title="Flat tray")])])
    picked = selection({f"c{n}": "o" for n in range(3)} | {"tray": "flat"})
    quote = make_quote(Resolved(shop, picked), "Q-1", DAY)
    assert pages_of(quote).has("No sides; No headboard; Plain floorincluded")
    only = catalogue([choice("tray", [option("flat", 0, title="Flat tray")])])
    quote = make_quote(Resolved(only, selection({"tray": "flat"})), "Q-1", DAY)
    assert pages_of(quote).has("Flat trayincluded")


def test_an_agreed_day_that_is_over_is_cautioned_of_in_the_paper_s_language() -> None:
    """Of several days the last counts; the day of the quote itself is not over."""
    days = (
        PlannedDate("2026-07-30", "2026-08-02", title="Build"),
        PlannedDate("2026-08-01", "2026-08-03", title="Collection"),
    )
    chosen = attrs.evolve(shipped_quote("contractor").selection, dates=days)
    quote = make_quote(Resolved(quandong(), chosen), "Q-1", DAY)
    (past,) = (finding for finding in quote.findings if finding.code == "date-past")
    assert past.sentence == "Build is agreed for 2026-08-02, which has passed"
    said = {"en-AU": "Build is agreed for 2 August 2026", "de": "Build ist für den 2. August 2026"}
    for tag, words in said.items():
        html = quote_html(quote, look_of(quote.shop, tag=tag))
        assert words in html.replace("\N{NO-BREAK SPACE}", " ")
    assert not [f for f in shipped_quote("contractor").findings if f.code == "date-past"]


# Length and shape


def shape(pages: Pages) -> None:
    """Everything inside the margins, nothing over anything, and no page all but empty."""
    measure(pages)
    for words in pages.words[:-1]:
        assert len(words) > 25


SMALL = """
format: 1
catalogue: quandong
title: Part canopy with a box under the tray
picks:
  vehicle: mid-dual
  tray-style: standard
  tray-width: 1780mm
  tray-length: 1800mm
  tray-floor: plain
  tray-sides: no-sides
  headboard: no-headboard
  mudguards: folded
  tail-lights: led-standard
  canopy-style: part-tray
  canopy-length: 1200mm
  canopy-height: 700mm
  sheet: 2-5mm
  door-layout: long-both
  door-locks: compression
  lining: bare
  finish: raw
  box-left: left-600
  suspension: as-delivered
"""


def test_a_small_package_takes_two_pages() -> None:
    small = make_quote(Resolved(quandong(), parse_selection(SMALL, "small.yaml")), "Q-1", DAY)
    assert len(pages_of(small).texts) <= 2


@pytest.mark.parametrize("name", ["touring", "contractor"])
def test_no_letter_is_smaller_than_eight_points(name: str) -> None:
    pdf = opened_pdf(shipped_pdf(name))
    flat = (c for p in pdf.pages for c in p.chars if c["upright"] and not c["matrix"][1])
    sizes = {round(c["size"], 1) for c in flat}
    assert min(sizes) >= SMALLEST, sorted(sizes)


def test_the_first_page_says_who_what_and_how_much() -> None:
    for name in ("touring", "contractor"):
        quote, first = shipped_quote(name), shipped_pages(name).texts[0]
        assert quote.customer is not None
        for said in (quote.customer.name, quote.vehicle, amount(quote.price.total), "At a glance"):
            assert squeezed(said) in first


def wordy() -> Quote:
    terms = [" ".join(f"word{n}" for n in range(part, part + 100)) + "." for part in range(20)]
    pay = [{"title": "In full", "percent": 100}]
    shop = catalogue(
        [choice("tray", [option("flat", 1200)])],
        quote={"valid-days": 30, "payments": pay, "terms": terms},
    )
    return make_quote(Resolved(shop, selection({"tray": "flat"})), "Q-1", DAY)


def added_tax() -> Quote:
    shop = catalogue([choice("tray", [option("flat", 1200)])], tax=tax(10, "exclude"))
    return make_quote(Resolved(shop, selection({"tray": "flat"})), "Q-1", DAY)


CASES = {
    "one line": lambda: generated(1, 20, 0),
    "two hundred lines": lambda: generated(200, 60, 0),
    "names of eighty letters": lambda: generated(30, 80, 5),
    "fourteen units": lambda: make_quote(Resolved(*with_units(14)), "Q-1", DAY),
    "terms of two thousand words": wordy,
    "tax added": added_tax,
}


@pytest.mark.parametrize("case", CASES)
def test_quotes_of_every_length_keep_their_shape(case: str) -> None:
    quote = CASES[case]()
    pages = pages_of(quote)
    shape(pages)
    for group in customer_table(quote.price, noted=True).bodies:
        total = amount(group.total) if isinstance(group.total, Money) else ""
        together = f"{group.title}{total}"
        first = str(group.rows[0].cells[0].value)
        assert squeezed(first) in pages.texts[pages.page_of(together)]
    for term in quote.terms:
        assert pages.has(term)
    assert pages.page_of("I accept quote") == pages.page_of("NameSignatureDate")


def test_amounts_of_nine_figures_and_a_wide_plan_stay_on_the_page() -> None:
    """The dearest that a price may be, beside a space as wide as a vehicle."""
    wide = option(
        "box", Decimal("98765432.10"), title="Box across", openings=DOORS,
        space={"hold": {**HOLD, "length": 3000, "width": 600}},
    )  # fmt: skip
    inside = option("chest", Decimal("99999999.00"), unit=unit(620, 400, 480))
    shop = catalogue(
        [choice("shell", [wide]), choice("cold", [inside])],
        spaces=[{"id": "hold", "title": "hold"}],
    )
    quote = make_quote(Resolved(shop, selection({"shell": "box", "cold": "chest"})), "Q-1", DAY)
    pages = pages_of(quote)
    measure(pages)
    words = {w["text"] for page in pages.words for w in page}
    assert {"98,765,432.10", "99,999,999.00", "198,765,431.10"} <= words
    assert found_by_page_validation(pages.pdf) == found_by_pdfua(pages.pdf) == []


def test_a_share_of_all_stays_on_one_line() -> None:
    terms = {"valid-days": 30, "payments": [{"title": "In full", "percent": 100}]}
    shop = catalogue([choice("tray", [option("flat", 1200)])], quote=terms)
    pages = pages_of(make_quote(Resolved(shop, selection({"tray": "flat"})), "Q-1", DAY))
    assert any("100 %" in line.replace("\xa0", " ") for line in pages.lines[0].splitlines())


def test_a_draft_has_no_place_to_sign_and_nobody_is_made_up() -> None:
    shop = catalogue([choice("tray", [option("flat", 1200)])])
    draft, issued = (
        pages_of(make_quote(Resolved(shop, selection({"tray": "flat"})), number, DAY))
        for number in ("DRAFT", "Q-1")
    )
    assert draft.has("Draft: not issued, and not to be signed.")
    assert not draft.has("Signature")
    assert issued.has("NameSignatureDate")
    for pages in (draft, issued):
        assert not pages.has("To whom")


@cache
def packaged(name: str) -> Quote:
    """A shipped package, or one of the invented customers, as a quote."""
    folder = shipped("catalogues") / "selections" if name != "family" else PACKAGES
    return make_quote(Resolved(quandong(), read_selection(folder / f"{name}.yaml")), "Q-2041", DAY)


@pytest.mark.parametrize(("sheet", "tag"), [("A4", "en-AU"), ("Letter", "de")])
@pytest.mark.parametrize("name", ["touring", "contractor", "family"])
def test_quotes_are_short_and_full_and_signed_on_page_two_or_three(
    name: str, sheet: str, tag: str
) -> None:
    """No page less than a third full but the last, and that at least a quarter.

    On the sheet that is usual here, and on the shorter one in the language of longer words.
    """
    quote = packaged(name)
    pdf = pdf_from(quote_html(quote, look_of(quote.shop, sheet, tag)))
    pages = Pages(pdf)
    high = {"A4": 297, "Letter": 279.4}[sheet] * MM
    lowest = [[w["bottom"] for w in page if w["bottom"] < high - 13 * MM] for page in pages.letters]
    full = [max(page) / high for page in lowest]
    assert len(full) <= 3
    assert min(full[:-1]) > 1 / 3, full
    assert full[-1] > 1 / 4, full
    terms, signature = ("Terms", "Signature") if tag == "en-AU" else ("Bedingungen", "Unterschrift")
    signed = pages.page_of(signature) + 1
    assert signed in (2, 3), f"signed on page {signed}"
    assert terms in pages.texts[signed - 1].partition(signature)[0], "a signature by itself"


# The reference


def headings_and_totals(pdf: bytes) -> Iterator[str]:
    """Lines of large letters on each page, with the box they lie in, whole millimetres."""
    opened = opened_pdf(pdf)
    for number, page in enumerate(opened.pages, 1):
        large = page.filter(lambda o: o["object_type"] != "char" or o["size"] > 11.5)
        for line in large.extract_text_lines():
            box = [round(line[edge] / MM) for edge in ("x0", "top", "x1", "bottom")]
            assert 17 <= box[0] < box[2] <= 193, line["text"]
            assert 10 <= box[1] < box[3] <= 290, line["text"]
            yield f"page {number} {box}: {line['text']}"


def reference(pdf: bytes) -> str:
    texts = enumerate((page.extract_text() for page in opened_pdf(pdf).pages), 1)
    pages = [f"--- page {number} ---\n{text}" for number, text in texts]
    return "\n".join([*headings_and_totals(pdf), *pages]) + "\n"


@pytest.mark.parametrize("name", ["touring", "contractor"])
def test_a_shipped_quote_is_as_it_was_agreed_on(name: str) -> None:
    found, file = reference(shipped_pdf(name)), REFERENCE / f"{name}.txt"
    if os.environ.get("UPDATE_GOLDEN"):
        REFERENCE.mkdir(exist_ok=True)
        file.write_text(found, "utf-8")
    assert found == file.read_text("utf-8")


def test_revisions_are_described_in_the_schema_of_selections() -> None:
    known = schema("selection")["properties"]
    assert {"revision", "revisions"} <= set(known)
    assert all(known[key]["description"] for key in ("revision", "revisions"))


def test_groups_stand_in_the_order_of_the_catalogue() -> None:
    """What costs nothing stands under its own heading, not below that of the accepted extras."""
    quote = packaged("family")
    groups = [group.title for group in customer_table(quote.price, noted=True).bodies]
    assert groups == [group.title for group in quote.price.groups]


@pytest.mark.parametrize(("days", "told"), [("1", "1 day"), ("1.5", "1.5 days"), ("2", "2 days")])
def test_one_day_is_told_as_one(days: str, told: str) -> None:
    quote = packaged("family")
    table = standing_table(quote.mass, attrs.evolve(quote.power, days_alone=Decimal(days)))
    (row,) = (r for r in table.rows if r.cells[0].value == "Battery, without charging")
    assert row.cells[3].value == told


def test_a_summary_says_how_many_more_there_are() -> None:
    """What costs money and is not named beside the picture is counted: a list is not complete."""
    quote = shipped_quote("touring")
    told = {str(r.cells[0].value): str(r.cells[1].value) for r in in_brief(quote).rows}
    for group in quote.price.groups:
        if group.title not in told:
            continue
        named, _, more = told[group.title].partition("; and ")
        paid = [line for line in group.lines if line.amount is None or line.amount]
        assert len(named.split("; ")) + int((more or "0").split()[0]) == len(paid)
    assert told["Inside the canopy"].endswith("; and 6 more")
