"""Rules in words: the verb agrees, and it is plain which titles belong together."""

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


@pytest.mark.parametrize(
    ("asked", "english", "german"),
    [
        (
            {"when": {"rack": "short", "tank": "low"}, "needs": {"panel": "flat"}},
            "Rack: Short and Tank: Low together need Panel: Flat",
            "Rack: Short und Tank: Low verlangen zusammen Panel: Flat",
        ),
        (
            {"when": {"rack": "short", "style": ["full", "tool"]}, "rules-out": {"tank": "low"}},
            'Rack: Short and Style: either "Full, fixed" or "Tool" together rule out Tank: Low',
            "Rack: Short und Style: entweder „Full, fixed“ oder „Tool“ schließen zusammen aus: "
            "Tank: Low",
        ),
        (
            {"when": {"rack": "short"}, "rules-out": {"style": "tool", "tank": ["low", "high"]}},
            "Rack: Short rules out Style: Tool and Tank: either Low or High together",
            "Rack: Short schließt aus: Style: Tool und Tank: entweder Low oder High zusammen",
        ),
        (
            {"when": {"panel": {"option": "flat", "at-least": 2}}, "needs": {"rack": "long"}},
            "at least 2 of Panel: Flat need Rack: Long",
            "mindestens 2 von Panel: Flat verlangen Rack: Long",
        ),
        (
            {"when": {"none": [{"tank": "low"}]}, "needs": {"rack": "long"}},
            "a package without Tank: Low needs Rack: Long",
            "ein Paket ohne Tank: Low verlangt Rack: Long",
        ),
        (
            {"when": {"none": [{"tank": "low"}, {"panel": "flat"}]}, "needs": {"rack": "long"}},
            "a package with neither Tank: Low nor Panel: Flat needs Rack: Long",
            "ein Paket (weder Tank: Low noch Panel: Flat) verlangt Rack: Long",
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
