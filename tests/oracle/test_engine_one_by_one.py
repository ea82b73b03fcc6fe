"""Answers come one at a time, in their order, and as patiently as asked for."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from itertools import islice, zip_longest
from pathlib import Path

import pytest

from configurator import Catalogue, Selection
from configurator.catalogue.reading import shipped
from configurator.engine.availability import one_by_one, options
from configurator.engine.search import Search
from configurator.engine.ways_out import Fixes, fixes, one_by_one as fixes_one_by_one
from configurator.selection.reading import read_selection
from tests.support.building import read
from tests.support.engine_cases import selected
from tests.support.random_catalogues import LargeMaker
from tests.support.shipped import read_catalogue

SELECTIONS = shipped("catalogues") / "selections"


def made(seed: int) -> tuple[Catalogue, list[Selection]]:
    maker = LargeMaker("S", seed)
    shop = read(maker.catalogue(), cautions=True)
    return shop, [selected(maker.picks(share)) for share in (0.2, 0.5)]


@pytest.mark.parametrize("pauses", [False, True])
@pytest.mark.parametrize("seed", range(3))
def test_choices_are_answered_in_the_order_asked_for_whatever_is_asked_between(
    seed: int, pauses: bool
) -> None:
    shop, (first, second) = made(seed)
    asked = [choice for choice in shop.by_id.values() if choice.options][::-1]
    search = Search(shop)
    both = zip_longest(
        one_by_one(search, first, asked, reasons=False, pauses=pauses),
        one_by_one(search, second, asked[:5], reasons=False, pauses=pauses),
    )
    given = [states for states, _ in both if states is not None]
    found = [states for states in given if states]
    options_asked = sum(len(choice.options) for choice in asked)
    assert len(given) - len(found) >= options_asked if pauses else given == found
    assert [states[0].choice for states in found] == [choice.id for choice in asked]
    told = {state for states in found for state in states}
    assert told == set(options(Search(shop), first, reasons=False).options)


def test_an_answer_may_be_abandoned_and_what_it_learned_serves_the_next() -> None:
    shop, (first, second) = made(1)
    search = Search(shop)
    (begun,) = islice(one_by_one(search, first, reasons=False), 1)
    afterwards = options(search, second, reasons=False)
    assert set(afterwards.options) == set(options(Search(shop), second, reasons=False).options)
    assert set(begun) < set(options(search, first, reasons=False).options)


@pytest.mark.parametrize("pauses", [False, True])
def test_an_answer_that_is_closed_ends_and_leaves_the_search_to_others(pauses: bool) -> None:
    shop, (first, second) = made(1)
    search = Search(shop)
    answers = one_by_one(search, first, reasons=False, pauses=pauses)
    next(answers)
    answers.close()
    assert not [*answers]
    answers.close()
    after = options(search, second, reasons=False)
    assert set(after.options) == set(options(Search(shop), second, reasons=False).options)


def test_only_the_owner_of_a_search_closes_its_answers() -> None:
    shop, (first, _) = made(1)
    answers = one_by_one(Search(shop), first, reasons=False)
    before = next(answers)
    with ThreadPoolExecutor(1) as others, pytest.raises(RuntimeError):
        others.submit(answers.close).result()
    assert next(answers) != before


def shop_and(name: str) -> tuple[Catalogue, Selection]:
    shop = read_catalogue(Path(str(shipped("catalogues") / "quandong.yaml")))
    return shop, read_selection(Path(str(SELECTIONS / name)))


def test_a_quick_answer_leaves_open_what_takes_a_proof_and_says_nothing_else() -> None:
    shop, selection = shop_and("contractor.yaml")
    asked = [choice for choice in shop.by_id.values() if choice.pick != "several"]
    patient = options(Search(shop), selection, asked, reasons=False).options
    search = Search(shop)
    quick = options(search, selection, asked, reasons=False, quick=True).options
    for one, other in zip(patient, quick, strict=True):
        assert (one.choice, one.option) == (other.choice, other.option)
        if other.state == "undecided":
            assert other.reason
        elif other.state == "open":
            assert one.state in ("open", "implied")
        else:
            assert one.state == other.state
    assert options(search, selection, asked, reasons=False).options == patient


def test_another_thread_is_refused_and_the_owner_gets_all_the_rest() -> None:
    shop, (first, _) = made(0)
    search = Search(shop)
    answers = one_by_one(search, first, reasons=False)
    found = list(next(answers))
    with ThreadPoolExecutor(1) as other, pytest.raises(RuntimeError, match="belongs to the thread"):
        other.submit(next, answers).result()
    found += [state for states in answers for state in states]
    assert tuple(found) == options(Search(shop), first, reasons=False).options


def test_fixes_come_one_by_one_in_their_order_whatever_is_asked_between() -> None:
    shop, selection = shop_and("wish.yaml")
    wanted = ("canopy-height", "1200mm")
    whole = fixes(Search(shop), selection, wanted)
    assert len(whole.fixes) > 1
    search = Search(shop)
    begun: list[Fixes] = []
    for answer in fixes_one_by_one(search, selection, wanted):
        begun.append(answer)
        assert answer.fixes == whole.fixes[: len(begun)]
        another = shop_and("contractor.yaml")[1]
        options(search, another, [shop.by_id["finish"]], reasons=False)
    *before, last = begun
    assert last == whole
    assert all(answer.looking and not answer.stopped for answer in before)
    assert not last.looking


def test_fixes_of_another_thread_are_refused_and_the_owner_gets_the_rest() -> None:
    shop, selection = shop_and("wish.yaml")
    answers = fixes_one_by_one(Search(shop), selection)
    next(answers)
    with ThreadPoolExecutor(1) as other, pytest.raises(RuntimeError, match="belongs to the thread"):
        other.submit(next, answers).result()
    *_, last = answers
    assert last == fixes(Search(shop), selection)
