"""The words of the papers: gathered from the source, all of them in every language shipped."""

from __future__ import annotations

import datetime as dt
import re
from collections import Counter
from collections.abc import Iterator
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from functools import cache
from html import unescape
from pathlib import Path
from typing import get_args, get_type_hints

import attrs
import jinja2
import pytest
from babel.messages.pofile import read_po
from hypothesis import given, settings, strategies as st

from configurator import Catalogue, ConfiguratorError, Layout, Money, Pick, Selection
from configurator.catalogue.fields import ForPeople
from configurator.catalogue.reading import parse_catalogue, shipped
from configurator.checking.check import check
from configurator.drawing.charts import charge_svg, mass_svg
from configurator.drawing.layouts import layout_svg
from configurator.drawing.workshop import shop_views
from configurator.layout.answers import lay_out
from configurator.mass.picture import mass_picture
from configurator.power.summary import power_picture
from configurator.render.html import budget_html, comparison_html, layout_html, quote_html
from configurator.render.language import language, languages
from configurator.render.look import Look, look_of
from configurator.render.sheets import cuts_html, job_html, orders_html, wiring_html
from configurator.report.budget import budget_paper
from configurator.report.comparison import compare
from configurator.report.cuts import cut_list
from configurator.report.job import job_sheet
from configurator.report.quote import make_quote
from configurator.report.sheet_head import sheet_head
from configurator.report.shop import order_list
from configurator.report.wiring import wiring_sheet
from configurator.selection.reading import read_selection
from configurator.selection.resolved import Resolved
from configurator.words import InLanguages, Speech, Text, text as message_of
from tests.support.commands import Run
from tests.support.paper_words import TEMPLATES, of_template, words
from tests.support.paths import CASES, PACKAGE
from tests.support.shipped import read_catalogue

DAY = dt.date(2026, 8, 3)
PLACE = re.compile(r"%\((\w+)\)[sd]|%%|\{\w+(?::\w+)?\}")
TRANSLATIONS = sorted((PACKAGE / "translations").glob("*.po"))


@cache
def quandong() -> Catalogue:
    return read_catalogue(shipped("catalogues") / "quandong.yaml")


@cache
def chosen(name: str) -> Selection:
    return read_selection(shipped("catalogues") / "selections" / f"{name}.yaml")


def laid(name: str) -> Layout:
    layout = lay_out(Resolved(quandong(), chosen(name)))
    assert isinstance(layout, Layout)
    return layout


@cache
def papers(tag: str) -> dict[str, str]:
    """The papers that a customer gets, as HTML in a language."""
    c, look = quandong(), look_of(quandong().shop, tag=tag)
    both = [chosen("touring"), chosen("contractor")]
    budget = budget_paper(Resolved(c, chosen("touring")), with_savings=False)
    return {
        **{s.title: quote_html(make_quote(Resolved(c, s), "Q-2041", DAY), look) for s in both},
        "comparison": comparison_html(
            compare([Resolved(c, one) for one in both], ["one", "two"]), look
        ),
        "budget": budget_html(budget, look),
        "layout": layout_html(Resolved(c, chosen("touring")), laid("touring"), look),
        **{f"sheets of {s.title}": sheets_of(Resolved(c, s), look) for s in both},
    }


def sheets_of(build: Resolved, look: Look) -> str:
    """The sheets of workshop, electrician and saw, and the order list, one after the other."""
    head, layout = sheet_head(build, "Q-2041", DAY)
    wiring = wiring_sheet(build, head, layout)
    job = job_sheet(build, head, layout)
    cuts = cut_list(build, head, job)
    assert wiring is not None
    assert cuts is not None
    pages = (
        job_html(build.catalogue, job, look),
        wiring_html(wiring, look),
        cuts_html(cuts, look),
        orders_html(order_list(build, head), look),
    )
    return "".join(pages)


def shown(html: str) -> str:
    """What a reader sees of a page, without spaces."""
    body = re.sub(r"<style>.*?</style>", "", html, flags=re.DOTALL)
    return re.sub(r"\s", "", unescape(re.sub(r"<[^>]*>", " ", body)))


# The catalogue of translations


def test_german_is_shipped_beside_english() -> None:
    assert languages() == ("de", "en")
    assert [path.stem for path in TRANSLATIONS] == ["de"]


@pytest.mark.parametrize("file", TRANSLATIONS, ids=lambda path: path.stem)
def test_every_word_of_the_papers_is_translated_and_nothing_else_is(file: Path) -> None:
    with file.open("rb") as opened:
        read = {m.id: m for m in read_po(opened, locale=file.stem, abort_invalid=True) if m.id}
    wanted = words()
    assert len(wanted) > 150
    missing = {f"{place}: {text}" for text, place in wanted.items() if text not in read}
    assert not missing, f"{file.name} has nothing for these"
    assert not set(read) - set(wanted), f"{file.name} has these, which no paper says"
    for text, message in read.items():
        assert not message.fuzzy, text
        said = [message.string] if isinstance(message.string, str) else [*(message.string or ())]
        sources = [text] if isinstance(text, str) else list(text)
        assert said
        assert all(said), text
        assert {places(one) for one in said} <= {places(one) for one in sources}, text


def places(text: str) -> tuple[str, ...]:
    """What is put into a text, and its percent signs, in alphabetical order."""
    return tuple(sorted(match[0] for match in PLACE.finditer(text)))


def test_the_gathering_of_words_sees_every_way_to_say_one() -> None:
    template = (
        '{{ _("one") }}{% trans n=3 %}two {{ n }}{% endtrans %}'
        '{{ ngettext("%(num)s a", "%(num)s b", 3) }}{% if _("three") %}{% endif %}'
        '{% macro m() %}{{ "x" if 1 else _("four") }}{% endmacro %}'
    )
    found = {text for _, text in of_template(template)}
    assert found == {"one", "two %(n)s", ("%(num)s a", "%(num)s b"), "three", "four"}


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.name)
def test_a_template_says_nothing_but_words_that_can_be_translated(path: Path) -> None:
    """No letters stand in a template by themselves, and what it says is written out."""
    environment = jinja2.Environment(extensions=["jinja2.ext.i18n"])
    text = path.read_text("utf-8")
    found = environment.extract_translations(text)  # type: ignore[attr-defined]
    for line, _, message in found:
        first = message[0] if isinstance(message, tuple) else message
        assert isinstance(first, str), f"line {line} says what is not written out"
    bare = re.sub(r"\{#.*?#\}|<style>.*?</style>|<!DOCTYPE html>", "", text, flags=re.DOTALL)
    bare = re.sub(r"\{% block \w*look %\}.*?\{% endblock %\}(?=\n)", "", bare, flags=re.DOTALL)
    bare = re.sub(r"\{[{%].*?[%}]\}", "", bare, flags=re.DOTALL)
    said = re.findall(r"[^\W\d_]{2,}", unescape(re.sub(r"<[^>]*>", "", bare)))
    assert set(said) <= {"mm", "kg", "Ah", "AWG", "xyz"}
    for output in environment.parse(text).find_all(jinja2.nodes.Output):
        for node in output.nodes:
            literals = set(_literals(node))
            assert not {s for s in literals if re.match(r"(?! |.*=).*[^\W\d_]{3}", s)}


def _literals(node: jinja2.nodes.Expr) -> Iterator[str]:
    """Texts that are shown as they are: not said, not a name of a key, not an argument."""
    if isinstance(node, jinja2.nodes.Const) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, jinja2.nodes.CondExpr):
        for branch in (node.expr1, node.expr2):
            if branch is not None:
                yield from _literals(branch)
    elif isinstance(node, jinja2.nodes.Concat):
        for part in node.nodes:
            yield from _literals(part)


# The shipped catalogue

NAMES = {"SunPlace.title", "SunPlace.source", "Tax.name"}
"""Texts for people that are names, and so the same in every language."""


def for_people(value: object, hint: object = None, where: str = "") -> Iterator[tuple[str, str]]:
    """Every text for people in a value of the catalogue, with the field that it is in."""
    if isinstance(value, str):
        if value and any(isinstance(one, ForPeople) for one in marks(hint)):
            yield where, value
    elif isinstance(value, tuple):
        for one in value:
            yield from for_people(one, hint, where)
    elif attrs.has(type(value)):
        for name, of_field in get_type_hints(type(value), include_extras=True).items():
            inside = f"{type(value).__name__}.{name}"
            yield from for_people(getattr(value, name, None), of_field, inside)


def marks(hint: object) -> Iterator[object]:
    yield from getattr(hint, "__metadata__", ())
    for part in get_args(hint):
        yield from marks(part)


def test_every_text_of_the_shipped_catalogue_is_in_both_languages() -> None:
    found = [(where, said) for where, said in for_people(quandong()) if where not in NAMES]
    assert len(found) > 1000
    assert {"Rule.because", "Limit.hint", "Option.text", "Caution.text"} <= {w for w, _ in found}
    german = language("de")
    for where, said in found:
        ours = isinstance(said, Text) and german.words.gettext(said.message) != said.message
        both = isinstance(said, InLanguages) and {"en", "de"} <= set(said.versions)
        assert both or ours, f"{where}: {said}"


# Papers in German


def test_a_german_paper_has_no_english_words_of_its_own() -> None:
    """Whatever the shop and the core wrote may stand on it; no word that a translation has."""
    c = quandong()
    ours = "".join(papers("de").values())
    english = "".join(map(shown, papers("en-AU").values()))
    theirs = re.sub(r"\s", "", c.text)
    for name in ("touring", "contractor"):
        theirs += re.sub(r"\s", "", repr(chosen(name)))
    text, german = shown(ours), language("de")
    tried = 0
    for word in words():
        if isinstance(word, tuple) or german.words.gettext(word) == word:
            continue
        for part in PLACE.split(word):
            piece = re.sub(r"\s", "", part or "")
            if len(piece) >= 8 and piece in english and piece not in theirs:
                tried += 1
                assert piece not in text, f"{part!r} stands on a German paper"
    assert tried > 60
    for wanted in ("Angebot Q-2041", "gültig bis", "Seite", "Worin sie sich unterscheiden"):
        assert re.sub(r"\s", "", wanted) in text or wanted == "Seite"


SAME = {"Name"}
"""Words that German has too."""


def seen(html: str) -> set[str]:
    """Each text that a reader sees or hears, whole; of drawings too."""
    bare = re.sub(r"<(style|script).*?</\1>", "", html, flags=re.S)
    heard = re.findall(r'(?:alt|title|aria-label)="([^"]*)"', bare)
    return {" ".join(unescape(one).split()) for one in [*re.split(r"<[^>]*>", bare), *heard]}


def test_no_text_of_a_german_paper_stands_on_the_english_one() -> None:
    """Whole texts, whatever makes them: only the catalogue's and the customer's own may be."""
    folder = shipped("catalogues") / "selections"
    files = [(folder / f"{name}.yaml").read_text("utf-8") for name in ("touring", "contractor")]
    theirs = " ".join(" ".join((quandong().text, *files)).split())
    tried = 0
    for name, html in papers("de").items():
        english = seen(papers("en-AU")[name])
        assert len(english) > 20
        for one in seen(html):
            if re.search(r"[A-Za-z]{3}", one) and one not in theirs and one not in SAME:
                tried += 1
                assert one not in english, f"{name}: {one}"
    assert tried > 300


@pytest.mark.parametrize("name", ["touring", "contractor", "wish"])
def test_findings_are_said_in_german(name: str) -> None:
    """Every sentence, reason and hint of ours is said anew; only the catalogue's words stay."""
    c, german, pieces = quandong(), language("de"), english_pieces()
    theirs = re.sub(r"\s+", " ", c.text) + repr(chosen(name))
    found = 0
    for build in (Resolved(c, chosen(name)), *unsound(name)):
        for finding in check(build).findings:
            for sentence in (finding.sentence, finding.reason, finding.hint):
                said = german.say(sentence)
                if sentence and sentence not in theirs:
                    found += 1
                    assert said != sentence, sentence
                for piece in pieces:
                    assert piece not in said or piece in theirs, (piece, said)
    assert found > 10


def unsound(name: str) -> Iterator[Resolved]:
    """The selection with a choice that shapes much set to its last option."""
    c, s = quandong(), chosen(name)
    for choice in c.choices:
        picked = s.one(choice.id) if choice.pick == "one" else None
        if picked is not None and choice.id in ("canopy-height", "tray-length", "vehicle"):
            last = choice.options[-1 if picked != choice.options[-1].id else 0]
            yield Resolved(c, Resolved(c, s).picking(Pick(choice.id, last.id)))


@cache
def english_pieces() -> tuple[str, ...]:
    """What our messages say between their places, where it has three words at least."""
    messages = (one for word in words() for one in (word if isinstance(word, tuple) else (word,)))
    found = {part.strip() for one in messages for part in re.split(PLACE.pattern, one) if part}
    return tuple(sorted(piece for piece in found if len(piece.split()) > 2))


def test_why_a_unit_does_not_fit_is_said_in_german_without_guessing_its_gender() -> None:
    """A Kühlschrank is masculine, a Schublade feminine: no pronoun stands for either."""
    said = [told for told, at in words().items() if at.startswith("units.py:")]
    german = [language("de").translated(told, "", 1) for told in said if isinstance(told, str)]
    assert len(german) > 20
    guess = re.compile(r"\b(er|sie|es|ihn|ihm|ihr(e[mnrs]?)?|sein(e[mnrs]?)?)\b", re.IGNORECASE)
    assert [told for told in german if guess.search(told)] == []


def test_a_german_paper_says_its_language_and_writes_as_germans_do() -> None:
    html = next(iter(papers("de").values()))
    total = make_quote(Resolved(quandong(), chosen("touring")), "Q-2041", DAY).price.total
    assert '<html lang="de">' in html
    assert '"Seite " counter(page) " von " counter(pages)' in html
    assert "3. August 2026" in html
    assert "2. September 2026" in html
    whole, _, cents = f"{total.amount:.2f}".partition(".")
    assert f"{int(whole):,}".replace(",", ".") + f",{cents}\N{NO-BREAK SPACE}AUD" in html
    for name, page in papers("de").items():
        pointed = re.findall(r"\d\.\d\d?\s(?:kg|mm|L|m|Ah|A|W|V|h|%)\b", page)
        assert pointed == [], name


def digits(html: str) -> list[str]:
    """Every run of digits in the words of a page, in order of size."""
    words = unescape(re.sub(r"<style>.*?</style>|<[^>]*>", " ", html, flags=re.S))
    plain = re.sub(r"(?<=\d)[.,](?=\d)|(?<=\d)\N{NO-BREAK SPACE}", "", words)
    return sorted(re.findall(r"\d+", plain))


def test_what_changes_with_the_language_is_words_and_signs_and_no_figure() -> None:
    """The figures of a German paper are those of the English one.

    Drawings are left aside: as many names are written into them as find room in the language.
    """
    for name, html in papers("en-AU").items():
        english, german = (
            re.sub(r"<svg.*?</svg>", "", page, flags=re.S) for page in (html, papers("de")[name])
        )
        assert digits(english) == digits(german), name
    build, layout = Resolved(quandong(), chosen("touring")), laid("touring")
    mass, power = mass_picture(build, layout), power_picture(build, layout)
    assert mass is not None
    assert digits(mass_svg(mass)) == digits(mass_svg(mass, language("de")))
    assert digits(charge_svg(power)) == digits(charge_svg(power, speech=language("de")))


@pytest.mark.parametrize("name", ["touring", "contractor"])
def test_the_cautions_beside_masses_and_power_are_said_in_the_papers_language(name: str) -> None:
    c, s, german = quandong(), chosen(name), language("de")
    mass = mass_picture(Resolved(c, s), laid(name))
    assert mass is not None
    cautions = (*mass.cautions, *power_picture(Resolved(c, s), laid(name)).cautions)
    assert len(cautions) >= 4
    for caution in cautions:
        assert german.say(caution) != caution
        assert caution not in unescape(papers("de")[s.title])


# What pictures say


class Masked(Speech):
    """A language in which every letter of what can be said in another is an x."""

    __slots__ = ()

    def say(self, words: str) -> str:
        return re.sub(r"[^\W\d_]", "x", super().say(words)) if isinstance(words, Text) else words


@pytest.mark.parametrize("name", ["touring", "contractor"])
def test_whatever_a_picture_says_can_be_said_in_another_language(name: str) -> None:
    build, layout, masked = Resolved(quandong(), chosen(name)), laid(name), Masked()
    mass, power = mass_picture(build, layout), power_picture(build, layout)
    assert mass is not None
    for picture in (
        layout_svg(build, layout, speech=masked),
        *(view.svg for view in shop_views(quandong(), layout, (), (128, 70), (128, 148), masked)),
        mass_svg(mass, masked),
        charge_svg(power, speech=masked),
    ):
        said = texts_of(picture)
        assert len(said) > 5
        assert any("xxx" in one for one in said)
        for one in said:
            assert not re.search(r"[^\W\d_x]{3,}", one), one


def test_titles_in_pictures_are_broken_into_lines_in_the_papers_language() -> None:
    layout, german = laid("touring"), language("de")
    said = " ".join(
        texts_of(layout_svg(Resolved(quandong(), chosen("touring")), layout, speech=german))
    )
    for placement in layout.placements:
        assert german.say(placement.title) != placement.title
        assert set(german.say(placement.title).split()) <= set(said.split())


def texts_of(svg: str) -> list[str]:
    return [unescape(one) for one in re.findall(r"<(?:text|title)\b[^>]*>([^<]*)</", svg)]


# Numbers, money and days


SIGNS = {
    "en-AU": (",", "."),
    "de": (".", ","),
    "de-CH": ("'\N{RIGHT SINGLE QUOTATION MARK}", "."),
    "en-IN": (",", "."),
}
"""Between groups of digits, one of them, and before decimals: Unicode CLDR, from memory.

Swiss figures are set apart by the curved apostrophe, since version 48 by the straight one.
"""


@given(
    tag=st.sampled_from(sorted(SIGNS)),
    amount=st.decimals(
        allow_nan=False, allow_infinity=False, places=3, min_value=-(10**30), max_value=10**30
    ),
    currency=st.sampled_from(["AUD", "JPY", "BHD"]),
)
@settings(max_examples=100, derandomize=True, deadline=None)
def test_an_amount_on_paper_is_the_exact_one(tag: str, amount: Decimal, currency: str) -> None:
    between, before = SIGNS[tag]
    digits = {"AUD": 2, "JPY": 0, "BHD": 3}[currency]
    written = language(tag).amount(Money(amount, currency))
    whole, _, rest = written.partition(before)
    groups = re.split(f"[{between}]", whole.lstrip("-"))
    assert 1 <= len(groups[0]) <= 3
    assert {len(group) for group in groups[1:]} <= {3}
    read = f"{'-' * written.startswith('-')}{''.join(groups)}{rest}"
    cents = int(abs(Fraction(amount)) * 1000)
    step = 10 ** (3 - digits)
    wanted = (2 * cents + step) // (2 * step) * (-1 if amount < 0 else 1)
    assert int(read) == wanted
    assert len(rest) == digits


@given(
    number=st.decimals(
        allow_nan=False, allow_infinity=False, places=2, min_value=-(10**9), max_value=10**9
    )
)
@settings(max_examples=100, derandomize=True, deadline=None)
def test_a_measure_on_paper_is_the_exact_one(number: Decimal) -> None:
    written = language("de").number(number)
    assert Decimal(written.replace(",", ".")) == number.quantize(Decimal("0.01"), ROUND_HALF_UP)
    assert not written.endswith(",")


@pytest.mark.parametrize(
    ("tag", "day", "money"),
    [
        ("en-AU", "3 August 2026", "AUD 1,234.50"),
        ("en-US", "August 3, 2026", "AUD 1,234.50"),
        ("de", "3. August 2026", "1.234,50 AUD"),
        ("de-AT", "3. August 2026", "AUD 1.234,50"),
    ],
)
def test_days_and_money_are_written_as_is_usual_there(tag: str, day: str, money: str) -> None:
    """Unicode CLDR, from memory; Austria's own way with currencies is in it too."""
    speak = language(tag)
    assert speak.day(DAY) == speak.day("2026-08-03") == day
    amount = Money(Decimal("1234.50"), "AUD")
    found = speak.amount_with_currency(amount).replace("\N{NO-BREAK SPACE}", " ")
    assert found.replace("1 234", "1.234") == money


def test_a_month_is_written_in_words() -> None:
    month = message_of("{month:month}", month=dt.date(2026, 3, 1))
    said = [month, *(language(tag).say(month) for tag in ("en-AU", "de-AT"))]
    assert said == ["March 2026", "March 2026", "März 2026"]


def test_tags_are_read_whatever_their_case_and_give_the_same_value() -> None:
    assert language("EN_au") is language("EN_au")
    assert language("EN_au") == language("en-AU")
    assert language("de-DE").amount(None) == "noch kein Preis"


@pytest.mark.parametrize(
    ("tag", "hint"),
    [("dee", 'did you mean "de"'), ("en-AUS", 'did you mean "en-US" or "en-AU"'), ("fr", "")],
)
def test_a_language_that_papers_do_not_speak_is_told(
    tag: str, hint: str, run: Run, tmp_path: Path
) -> None:
    with pytest.raises(ConfiguratorError, match=f'no papers in "{tag}" yet; available: de and en'):
        language(tag)
    ran = run("quote", "touring.yaml", "-o", "q.html", "--date", "2026-08-03", "--language", tag)
    assert (ran.code, ran.out) == (2, "")
    assert hint in ran.err
    assert "'--language': no papers in" in ran.err
    assert not (tmp_path / "q.html").exists()


def test_what_is_wrong_with_a_catalogue_is_said_in_german() -> None:
    """Of each wrong catalogue under ``tests/cases/bad``: codes, sentences and hints of ours."""
    german, told = language("de"), Counter[str]()
    for file in sorted((CASES / "bad").glob("*/catalogue.yaml")):
        _, problems = parse_catalogue(file.read_text("utf-8"), file.name)
        for problem in problems:
            for sentence in (problem.sentence, problem.hint):
                if isinstance(sentence, Text) and german.say(sentence) != sentence:
                    told[problem.code] += 1
                else:
                    told[f"{problem.code} in English"] += bool(sentence)
    both = {"syntax", "unknown-option", "unknown-choice", "unknown-limit", "repeated-id"}
    both |= {"rule-on-itself", "table-depth", "too-many-picks", "opening", "works-from"}
    assert both <= told.keys()
    assert not [code for code in both if told[f"{code} in English"]]
