"""Messages: equal to their English, said in another language from their parts."""

from __future__ import annotations

import copy
import json
import pickle
from decimal import Decimal

from configurator import Money
from configurator.render.language import language
from configurator.words import Text, capital, itemised, joined, listed, text


def test_a_message_is_its_english_wherever_a_string_is_wanted() -> None:
    said = text("{unit} is {over} mm too high", unit="Fridge", over=12)
    assert said == "Fridge is 12 mm too high"
    assert json.dumps([said]) == '["Fridge is 12 mm too high"]'
    assert sorted([said, "A"]) == ["A", said]
    assert hash(said) == hash("Fridge is 12 mm too high")
    assert (said.message, dict(said.values)) == (
        "{unit} is {over} mm too high",
        {"unit": "Fridge", "over": 12},
    )


def test_a_message_stays_one_when_it_is_copied_or_sent_to_another_process() -> None:
    said = text("{most} and {last}", most=text("picked"), last=Decimal("1.50"))
    for again in (pickle.loads(pickle.dumps(said)), copy.deepcopy(said), copy.copy(said)):
        assert again == said == "picked and 1.5"
        assert type(again) is Text
        assert language("de").say(again) == "gewählt und 1,5"


def test_a_message_is_said_with_all_its_parts_and_the_catalogues_words_stay() -> None:
    de = language("de")
    parts = [text("picked"), "picked", text("Front axle")]
    assert listed(parts) == "picked, picked and Front axle"
    assert de.say(listed(parts)) == "gewählt, picked und Vorderachse"
    assert de.say(listed(parts, alternatives=True)) == "gewählt, picked oder Vorderachse"
    assert de.say(joined(parts, "; ")) == "gewählt; picked; Vorderachse"
    assert de.say(capital(parts[0])) == "Gewählt"
    assert de.say("picked") == "picked"
    assert (listed(["one"]), listed([])) == ("one", "")
    assert listed(["Fridge, 85 L", "Tray"]) == "Fridge, 85 L, and Tray"
    assert listed(["Tray", "Fridge, 85 L", "1 more"]) == "Tray; Fridge, 85 L; and 1 more"
    assert listed(["Tray", "Fridge, 85 L", "Box"], alternatives=True).endswith("85 L; or Box")
    assert de.say(listed(["Tray", "Fridge, 85 L", "1 more"])) == "Tray; Fridge, 85 L und 1 more"
    assert listed(['"Fridge, 85 L"', "Tray"]) == '"Fridge, 85 L" and Tray'
    assert itemised(["Fridge, 85 L", "Tray"]) == "Fridge, 85 L; Tray"
    assert itemised(["Box", "Tray"]) == "Box, Tray"


def test_figures_in_a_message_are_written_as_the_language_has_them() -> None:
    de = language("de")
    money = Money(Decimal("1234.5"), "AUD")
    said = text(
        "{a}, {b}, {c:amount}, {d:signed}, {e:change}",
        a=Decimal("-1250.50"),
        b=money,
        c=money,
        d=money,
        e=money,
    )
    assert said == "-1250.5, AUD 1,234.50, 1,234.50, +1,234.50, AUD +1,234.50"
    spaced = de.say(said).replace("\N{NO-BREAK SPACE}", " ")
    assert spaced == "-1250,5, 1.234,50 AUD, 1.234,50, +1.234,50, +1.234,50 AUD"


def test_one_and_many_agree() -> None:
    def days(n: Decimal | int) -> str:
        return text("{n} day", "{n} days", n=n)

    assert [days(n) for n in (0, 1, Decimal("1.0"), Decimal("1.5"), 2)] == [
        "0 days",
        "1 day",
        "1 day",
        "1.5 days",
        "2 days",
    ]


def test_braces_of_a_value_are_no_places() -> None:
    assert text("{title} and {{so}}", title="{over} {") == "{over} { and {so}"
    assert listed(["{a}", "{b}"]) == "{a} and {b}"
