"""How much one question may try where rooms are crowded, in counts."""

from __future__ import annotations

from configurator import open_shop
from configurator.catalogue.fields import Pick
from configurator.catalogue.reading import shipped
from configurator.engine.availability import options
from configurator.engine.conflicts import find_conflict
from configurator.engine.search import Search
from configurator.engine.violation import ConstraintId
from configurator.fit.search import handed_over, searched
from configurator.selection.picks import Selection
from tests.support.shipped import read_catalogue

FULL = (
    "vehicle=full-size-dual tray-style=standard tray-width=1840mm tray-length=1800mm "
    "tray-floor=plain tray-sides=tail-only mudguards=wide-folded canopy-style=part-tray "
    "canopy-length=1400mm canopy-height=850mm sheet=tread-2-5mm door-layout=long-both-rear-lift "
    "door-locks=t-handles lining=bare vents=filter-fan upright-fridge=upright-110 "
    "chest-fridge=chest-75 drawers=steel-lined-250 tail-lights=led-standard kitchen=bench-slim"
)
"""A canopy that is all but full: a quick question searches 328 rooms where neither tries nor crowds
end, 161 where tries alone do, and 200 where crowds alone do.
"""


def asking(picks: str) -> tuple[Search, Selection]:
    """A search of the shipped catalogue, and the picks as a selection of it."""
    shop = read_catalogue(shipped("catalogues") / "quandong.yaml")
    return Search(shop), Selection(shop.id, tuple(map(Pick.named, picks.split())))


def test_a_quick_question_about_a_full_canopy_searches_so_many_rooms_and_no_more() -> None:
    search, selection = asking(FULL)
    searched.cache_clear()
    found = options(search, selection, reasons=False, quick=True).options
    assert 50 < searched.cache_info().misses < 150
    assert sum(state.state == "undecided" for state in found) < 50


SHORT = (
    "canopy-style=part-tray canopy-length=1200mm canopy-height=700mm door-layout=long-both-barn "
    "upright-fridge=upright-45 chest-fridge=chest-50 fridge-slide=straight-short pantry=pantry-540 "
    "table=stow-small"
)
"""A canopy in which what more goes in depends on what else it stands on."""


def test_a_patient_question_about_a_crowded_canopy_refuses_so_many_rooms_and_no_more() -> None:
    search, selection = asking(SHORT)
    handed_over.cache_clear()
    found = options(search, selection, reasons=False).options
    assert 10 < search.counts.crowded < 40
    assert 0 < handed_over.cache_info().misses < 8
    assert sum(state.state == "undecided" for state in found) < 50


NEARLY_FULL = (
    "vehicle=mid-dual canopy-length=1400mm canopy-height=850mm chest-fridge=chest-75 "
    "kitchen=bench-slim table=stow-small pantry=pantry-640"
)
"""A canopy beside whose units no upright fridge goes in, which takes a proof of OR-Tools."""

BESIDE_A_DRAWER = (
    "vehicle=mid-dual canopy-length=1200mm upright-fridge=upright-65 kitchen=bench-slim "
    "table=stow-small pantry=pantry-640"
)
"""Units that leave no room for the drawer that the table needs, behind doors of one length."""


def test_what_a_conflict_names_cannot_hold_together() -> None:
    search, selection = asking(BESIDE_A_DRAWER)
    wanted = Pick.named("door-layout=long-both")
    conflict = find_conflict(search, selection, (wanted.choice, wanted.option))
    assert conflict is not None
    named = [(pick.choice, pick.option) for pick in (wanted, *conflict.picks)]
    literals = [search.encoding.at_least(*key) for key in named]
    assert search.sound(literals, frozenset(conflict.facts)) is None
    facts = conflict.facts
    assert ConstraintId("layout", "canopy") in facts
    loose = frozenset(facts) - {ConstraintId("layout", "canopy")}
    assert search.sound(literals, loose) is not None


def test_an_option_that_is_refused_among_all_is_explained_alone() -> None:
    search, selection = asking(NEARLY_FULL)
    conflict = find_conflict(search, selection, ("upright-fridge", "upright-85"))
    assert conflict is not None
    assert Pick("chest-fridge", "chest-75") in conflict.picks
    search, selection = asking(NEARLY_FULL)
    fridges = [search.catalogue.by_id["upright-fridge"]]
    found = options(search, selection, fridges, reasons=False).options
    assert {one.option: one.state for one in found}["upright-85"] == "ruled-out"


FULL_TO_THE_ROOF = (
    "vehicle=mid-dual canopy-length=1200mm upright-fridge=upright-65 kitchen=bench-slim "
    "table=stow-small pantry=pantry-640"
)
"""Units of which the search refuses 20 rooms without finding one that they go in."""


def test_options_beside_picks_that_fill_a_canopy_are_settled_where_they_leave_its_room() -> None:
    search, selection = asking(FULL_TO_THE_ROOF)
    found = options(search, selection, reasons=False)
    assert found.possible
    states = {(one.choice, one.option): one.state for one in found.options}
    assert "undecided" not in {state for (choice, _), state in states.items() if choice in OUTSIDE}
    assert states["tray-style", "heavy"] == states["finish", "raw"] == "open"
    assert search.counts.crowded < 60


OUTSIDE = ("tray-style", "tray-length", "tray-floor", "mudguards", "headboard", "finish", "lights")
"""Choices that the room of the canopy does not depend on."""


def test_reasons_of_all_options_are_looked_for_in_few_crowded_rooms() -> None:
    shop = open_shop()
    build = shop.build(shipped("catalogues") / "selections" / "contractor.yaml")
    search, selection = Search(shop.catalogue), build.pick("upright-fridge", "upright-45").selection
    states = options(search, selection, reasons=False).options
    before = search.counts.crowded
    found = options(search, selection)
    settled = {"undecided"}.isdisjoint
    pairs = [(one.state, other.state) for one, other in zip(states, found.options, strict=True)]
    assert all(one == other for one, other in pairs if settled((one, other)))
    assert sum(bool(one.conflict) for one in found.options if one.state == "ruled-out") > 50
    assert 0 < search.counts.crowded - before < 40
