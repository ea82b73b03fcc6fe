"""Rules in words: they read well with any titles, and it is plain which belong together."""

from __future__ import annotations

from typing import Any

import pytest

from configurator.render.language import language
from configurator.selection.rules import rule_words
from tests.support.building import catalogue, choice, option, rule, several

CHOICES = [
    choice("style", [option("full", title="Full, fixed"), option("tool", title="Tool")]),
    choice("rack", [option("short", title="Short"), option("long", title="Long")]),
    choice("tank", [option("low", title="Low"), option("high", title="High")], "at-most-one"),
    several("panel", [option("flat", title="Flat", most=3)]),
]
NO_LOW = {"none": [{"tank": "low"}]}


@pytest.mark.parametrize(
    ("asked", "english", "german"),
    [
        (
            {"when": {"rack": "short", "tank": "low"}, "needs": {"panel": "flat"}},
            "Rack: Short and Tank: Low together must come with Panel: Flat",
            "Rack: Short und Tank: Low zusammen nur mit Panel: Flat",
        ),
        (
            {"when": {"rack": "short", "style": ["full", "tool"]}, "rules-out": {"tank": "low"}},
            'Rack: Short and Style: either "Full, fixed" or "Tool" together cannot go with '
            "Tank: Low",
            "Rack: Short und Style: entweder „Full, fixed“ oder „Tool“ zusammen nicht mit "
            "Tank: Low",
        ),
        (
            {"when": {"rack": "short"}, "rules-out": {"style": "tool", "tank": ["low", "high"]}},
            "Rack: Short cannot go with Style: Tool and Tank: either Low or High together",
            "Rack: Short nicht zusammen mit Style: Tool und Tank: entweder Low oder High zusammen",
        ),
        (
            {"when": {"panel": {"option": "flat", "at-least": 2}}, "needs": {"rack": "long"}},
            "2 or more of Panel: Flat can only go with Rack: Long",
            "mindestens 2 von Panel: Flat nur zusammen mit Rack: Long",
        ),
        (
            {"when": {"none": [{"tank": "low"}]}, "needs": {"rack": "long"}},
            "a package without Tank: Low must have Rack: Long",
            "ein Paket ohne Tank: Low verlangt Rack: Long",
        ),
        (
            {"when": {"none": [{"tank": "low"}, {"panel": "flat"}]}, "needs": {"rack": "long"}},
            "a package with neither Tank: Low nor Panel: Flat must have Rack: Long",
            "ein Paket (weder Tank: Low noch Panel: Flat) verlangt Rack: Long",
        ),
        (
            {"when": {"tank": {"at-least": 1}}, "needs": {"panel": {"at-least": 1}}},
            "Tank must come with Panel",
            "Tank nur zusammen mit Panel",
        ),
        (
            {"when": {"rack": "short"}, "needs": {"tank": {"at-most": 0}}},
            "Rack: Short cannot go with Tank",
            "Rack: Short nicht zusammen mit Tank",
        ),
        (
            {"when": {"rack": "short"}, "rules-out": {"panel": {"option": "flat", "at-most": 0}}},
            "Rack: Short must come with Panel: Flat",
            "Rack: Short nur zusammen mit Panel: Flat",
        ),
        (
            {"when": {"rack": "short"}, "needs": {"none": [{"tank": "low"}, {"panel": "flat"}]}},
            "Rack: Short cannot go with Tank: Low or Panel: Flat",
            "Rack: Short nicht zusammen mit Tank: Low oder Panel: Flat",
        ),
        (
            {"when": {"tank": {"at-most": 0}}, "rules-out": {"rack": "long"}},
            "a package without Tank cannot have Rack: Long",
            "ein Paket ohne Tank schließt aus: Rack: Long",
        ),
        (
            {"when": {"rack": "short"}, "needs": {"any": [{"panel": "flat"}, NO_LOW]}},
            "Rack: Short must come with Panel: Flat or no Tank: Low",
            "Rack: Short nur zusammen mit Panel: Flat oder nichts von Tank: Low",
        ),
        (
            {"when": {"rack": "short"}, "needs": {"none": [NO_LOW]}},
            "Rack: Short must come with Tank: Low",
            "Rack: Short nur zusammen mit Tank: Low",
        ),
        (
            {"rules-out": {"none": [{"none": [{"tank": "low", "rack": "long"}]}]}},
            "no package can have Tank: Low and Rack: Long together",
            "kein Paket geht mit Tank: Low und Rack: Long zusammen",
        ),
        (
            {"needs": {"none": [{"rack": "long"}, NO_LOW]}},
            "every package must have no Rack: Long and Tank: Low",
            "jedes Paket verlangt nichts von Rack: Long und Tank: Low",
        ),
        (
            {"needs": {"rack": "long"}},
            "every package must have Rack: Long",
            "jedes Paket verlangt Rack: Long",
        ),
        (
            {"rules-out": {"rack": "long"}},
            "no package can have Rack: Long",
            "kein Paket geht mit Rack: Long",
        ),
    ],
)
def test_a_rule_is_a_sentence_that_says_what_belongs_together(
    asked: dict[str, Any], english: str, german: str
) -> None:
    shop = catalogue(CHOICES, rules=[rule("r", because="So it is.", **asked)])
    said = rule_words(shop, shop.rules[0])
    assert said == english
    assert language("de").say(said) == german
