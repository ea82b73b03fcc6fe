"""Whatever has to do with gas comes with its caution, which defers and claims no legal rule."""

from __future__ import annotations

import json

import attrs
import pytest
from click.testing import CliRunner

from configurator import Catalogue, Pick, Selection
from configurator.cli import cli
from configurator.selection.resolved import Resolved
from configurator.selection.rules import holds


def said(catalogue: Catalogue, *picks: Pick) -> list[str]:
    chosen = Selection(catalogue.id, picks)
    return [c.text for c in catalogue.cautions if holds(Resolved(catalogue, chosen), c.when)]


def test_every_pick_that_burns_or_stores_gas_comes_with_the_caution(quandong: Catalogue) -> None:
    named = [
        Pick(choice.id, option.id)
        for choice in quandong.choices
        for option in choice.options
        if choice.id == "gas" or "gas burner" in option.title.lower()
    ]
    assert len(named) >= 5
    for pick in named:
        (text,) = [text for text in said(quandong, pick) if "gas fitter" in text]
        assert "licensed gas fitter under local rules" in text
        assert "Never use a gas burner" in text


def test_a_gas_bottle_needs_a_place_and_so_never_goes_without_the_caution(
    quandong: Catalogue,
) -> None:
    whole = [attrs.asdict(rule) for rule in quandong.rules]
    (rule,) = [rule for rule in whole if "gas-bottle" in str(rule["when"])]
    assert "gas" in str(rule["needs"])


@pytest.mark.parametrize("claim", ["illegal", "by law", "AS/NZS", "offence", "must not by"])
def test_no_caution_claims_a_legal_rule(quandong: Catalogue, claim: str) -> None:
    for text in [c.text for c in quandong.cautions] + list(quandong.quote.cautions):
        assert claim not in text


def test_nothing_is_said_of_gas_where_there_is_none(quandong: Catalogue) -> None:
    assert not [text for text in said(quandong, Pick("kitchen", "bench-slim")) if "gas" in text]


@pytest.mark.parametrize(
    ("pick", "said"),
    [
        ("gas=locker-4", "licensed gas fitter"),
        ("inverter=inverter-2000", "licensed electrician under local rules"),
        ("battery=lfp-200", "Where a lithium battery may sit"),
        ("vehicle=large-single", "Confirm on a weighbridge"),
    ],
)
def test_a_check_shows_the_cautions_of_what_is_picked(pick: str, said: str) -> None:
    arguments = ["check", "--pick", pick]
    shown = " ".join(CliRunner().invoke(cli, arguments).output.split())
    assert said in shown
    answer = json.loads(CliRunner().invoke(cli, [*arguments, "--json"]).output)
    assert any(said in text for text in answer["cautions"])
    other = CliRunner().invoke(cli, ["check", "--pick", "kitchen=bench-slim"]).output
    assert said not in " ".join(other.split())
