"""A catalogue may give a text in several languages; what it does not give stays as written."""

from __future__ import annotations

import datetime as dt
import pickle
from pathlib import Path

import pytest

from configurator import Catalogue, open_shop
from configurator.catalogue.reading import parse_catalogue
from configurator.render.language import language
from configurator.words import SOURCE, text
from tests.support.paths import CASES

SMALL = (CASES / "small.yaml").read_text("utf-8")
TITLE = "title: 850 mm"
DAY = dt.date(2026, 8, 3)


def catalogue(title: str, papers: str = "") -> Catalogue:
    made = SMALL.replace(TITLE, f"title: {title}", 1)
    assert made != SMALL
    if papers:
        made = made.replace("kerb-side: left", f"kerb-side: left, papers: {{language: {papers}}}")
    read, problems = parse_catalogue(made, "c.yaml")
    assert read is not None, problems
    return read


def title_of(read: Catalogue) -> str:
    return next(o.title for c in read.by_id.values() for o in c.options if o.id == "850")


@pytest.mark.parametrize(
    ("given", "papers", "asked", "said"),
    [
        ("{en: Tall, de: Hoch}", "", "de", "Hoch"),
        ("{en: Tall, de: Hoch}", "", "de-AT", "Hoch"),
        ("{en: Tall, de: Hoch, de-AT: Groß}", "", "de-AT", "Groß"),
        ("{en: Tall, de-AT: Groß}", "", "de", "Groß"),
        ("{en: Tall, en-US: Taller, de: Hoch}", "", "en-US", "Taller"),
        ("{en: Tall, fr: Haut}", "", "de", "Tall"),
        ("{de: Hoch, en: Tall}", "de", "fr", "Hoch"),
        ("Tall", "", "de", "Tall"),
    ],
)
def test_a_text_is_in_the_language_asked_for_or_else_in_the_catalogues_own(
    given: str, papers: str, asked: str, said: str
) -> None:
    title = title_of(catalogue(given, papers))
    speech = language(asked) if asked != "fr" else SOURCE
    assert speech.say(title) == said
    assert speech.say(text("{title} fits", title=title)) == speech.say(
        text("{title} fits", title=said)
    )


def test_where_no_language_was_asked_for_it_is_the_catalogues_own() -> None:
    assert title_of(catalogue("{de: Hoch, en: Tall}")) == "Tall"
    assert title_of(catalogue("{en: Tall, de: Hoch}", "de")) == "Hoch"
    kept = pickle.loads(pickle.dumps(title_of(catalogue("{de: Hoch, en: Tall}"))))
    assert (kept, language("de").say(kept)) == ("Tall", "Hoch")


def test_what_the_catalogue_needs_no_words_for_is_translated() -> None:
    choices = catalogue("Tall").by_id
    titles = [choices[name].title for name in ("vehicle", "add-on")]
    assert [language("de").say(title) for title in titles] == ["Fahrzeug", "Extras"]


def test_a_german_quote_of_the_demo_speaks_german(tmp_path: Path) -> None:
    shop = open_shop(today=DAY)
    quote = shop.build("catalogues/selections/touring.yaml").quote("Q-1", DAY)
    shop.write(quote, tmp_path / "q.html", language="de")
    german = (tmp_path / "q.html").read_text("utf-8")
    assert "Verstärkte Pritsche" in german
    assert "Heavy-duty tray" not in german
    shop.write(quote, tmp_path / "e.html")
    assert "Heavy-duty tray" in (tmp_path / "e.html").read_text("utf-8")
