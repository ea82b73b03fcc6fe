"""Wishes about side, end and place: kept wherever they can be, or told with what is in the way."""

from __future__ import annotations

import random
from functools import partial

import attrs
import pytest

from configurator import Catalogue, Layout, Pick, Selection, Wish
from configurator.checking.check import check
from configurator.fit.layout import Placement, UnitName
from configurator.layout.answers import lay_out
from configurator.selection.resolved import Resolved
from tests.support.holds import hold, space, unit
from tests.support.layout_oracle import (
    Hole,
    Posed,
    Space,
    TooMany,
    doors_of,
    faults,
    picks_of,
    possible,
    space_of,
)
from tests.support.tiny_rooms import case


def wished(wish: Wish) -> tuple[Catalogue, Selection, Layout]:
    wide = [unit(name, (400, 600, 300), works_from=["left", "right"]) for name in ("a", "b")]
    pinned = unit("c", (500, 600, 300), works_from=["left"])
    catalogue, selection = hold(space((900, 1300, 400)), [*wide, pinned])
    selection = attrs.evolve(selection, wishes=(wish,))
    answer = lay_out(Resolved(catalogue, selection))
    assert isinstance(answer, Layout)
    assert not faults(Resolved(catalogue, selection), answer.placements)
    return catalogue, selection, answer


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize("towards", ["front", "rear"])
def test_wishes_are_kept_where_they_can_be(side: str, towards: str) -> None:
    *_, answer = wished(Wish("units", "a", side=side, towards=towards))
    place = next(p for p in answer.placements if p.option == "a")
    assert place.side == side
    assert (2 * place.x + place.length <= 900) == (towards == "front")
    assert answer.unkept == ()


def test_wish_that_cannot_be_kept_says_what_is_in_its_way() -> None:
    catalogue, selection, answer = wished(Wish("units", "a", side="left", x=300))
    assert [u.in_the_way for u in answer.unkept] == [(UnitName("units", "c"),)]
    (finding,) = [f for f in check(Resolved(catalogue, selection)).findings if f.code == "wish"]
    assert finding.sentence == (
        "A cannot work from the left and sit at x 300 mm as wished: blocked by C"
    )


def test_wish_outside_the_space_is_a_finding() -> None:
    catalogue, selection, answer = wished(Wish("units", "a", x=99_999))
    assert [u.in_the_way for u in answer.unkept] == [()]
    assert any(f.code == "wish" for f in check(Resolved(catalogue, selection)).findings)


def sentences(build: Resolved) -> list[str]:
    return [f.sentence for f in check(build).findings if f.code == "wish"]


@pytest.mark.parametrize(
    "wish",
    [Wish("units", "a", x=500), Wish("units", "a", y=700), Wish("units", "a", x=500, y=700, z=0)],
)
def test_exact_position_is_kept_to_the_millimetre(wish: Wish) -> None:
    catalogue, selection, answer = wished(wish)
    (found,) = [p for p in answer.placements if p.option == "a"]
    assert kept(wish, 900, found)
    assert answer.unkept == ()
    assert sentences(Resolved(catalogue, selection)) == []


def test_exact_position_one_millimetre_off_names_what_is_in_its_way() -> None:
    catalogue, selection, answer = wished(Wish("units", "a", side="left", x=1))
    assert [u.in_the_way for u in answer.unkept] == [(UnitName("units", "c"),)]
    assert sentences(Resolved(catalogue, selection)) == [
        "A cannot work from the left and sit at x 1 mm as wished: blocked by C"
    ]
    (hint,) = [f.hint for f in check(Resolved(catalogue, selection)).findings if f.code == "wish"]
    assert hint == "it has been placed elsewhere; change the wish or what is in its way"


def test_height_at_which_a_unit_cannot_stand_is_told_so() -> None:
    catalogue, selection, _ = wished(Wish("units", "a", z=50))
    assert sentences(Resolved(catalogue, selection)) == [
        "A cannot sit at z 50 mm as wished: it would not fit there even with nothing else beside it"
    ]


def test_side_where_it_does_not_fit_alone_is_told_with_its_millimetres() -> None:
    deep = unit("deep", (300, 600, 300), works_from=["left", "right"])
    catalogue, selection = hold(space((400, 1000, 400), divider=10, divider_at=300), [deep])
    selection = attrs.evolve(selection, wishes=(Wish("units", "deep", side="left"),))
    assert sentences(Resolved(catalogue, selection)) == [
        "Deep cannot work from the left as wished: it needs 600 mm along the width of the hold "
        "with its clearances, 295 mm are available: 305 mm short"
    ]


def test_several_of_a_kind_that_do_not_all_go_to_one_side_are_told_so() -> None:
    box = unit("box", (400, 300, 300), most=3, works_from=["left", "right"])
    catalogue, selection = hold(space((900, 700, 300)), [box], box=3)
    selection = attrs.evolve(selection, wishes=(Wish("units", "box", side="left"),))
    assert sentences(Resolved(catalogue, selection)) == [
        "Box cannot work from the left as wished: not all 3 of them would fit there, even "
        "with nothing else beside them"
    ]


def test_of_two_wishes_for_one_place_the_other_names_the_unit_that_has_it() -> None:
    boxes = [unit(name, (400, 600, 300), works_from=["left"]) for name in ("a", "b")]
    catalogue, selection = hold(space((900, 700, 400)), boxes)
    both = (Wish("units", "b", towards="front"), Wish("units", "a", towards="front"))
    selection = attrs.evolve(selection, wishes=both)
    assert sentences(Resolved(catalogue, selection)) == [
        "B cannot sit towards the front as wished: blocked by A"
    ]


def kept(wish: Wish, length: int, p: Placement) -> bool:
    """Whether the placement keeps the wish, written from what a wish means."""
    if (p.choice, p.option) != (wish.choice, wish.option):
        return True
    if wish.side and p.side != wish.side:
        return False
    if wish.towards == "front" and 2 * p.x + p.length > length:
        return False
    if wish.towards == "rear" and 2 * p.x + p.length < length:
        return False
    exact = ((wish.x, p.x), (wish.y, p.y), (wish.z, p.z)) if p.number == 1 else ()
    return all(at in (None, found) for at, found in exact)


def test_wishes_are_kept_exactly_where_trying_every_place_finds_a_way() -> None:
    rng = random.Random(11)
    outcomes = []
    for seed in range(3000, 3140):
        catalogue, selection = case(seed)
        bare = lay_out(Resolved(catalogue, selection))
        if not isinstance(bare, Layout):
            continue
        wish = rng.choice(
            [
                Wish("units", "u0", side=rng.choice(["left", "right"])),
                Wish("units", "u0", towards=rng.choice(["front", "rear"])),
                Wish("units", "u0", x=rng.randint(0, 3), y=rng.choice([None, 0, 1])),
                Wish("units", "u0", z=rng.randint(0, 2)),
            ]
        )
        (room,) = bare.spaces
        length = room.interior.length
        try:
            plain = possible(Resolved(catalogue, selection), 4_000, partial(kept, wish, length))
        except TooMany:
            continue
        answer = lay_out(Resolved(catalogue, attrs.evolve(selection, wishes=(wish,))))
        assert isinstance(answer, Layout)
        assert not faults(Resolved(catalogue, selection), answer.placements)
        assert (answer.unkept == ()) == plain, f"seed {seed}, {wish}"
        assert all(kept(wish, length, p) for p in answer.placements) or not plain
        outcomes.append(plain)
    assert min(outcomes.count(True), outcomes.count(False)) > 7


def preferring(catalogue: Catalogue, index: int) -> tuple[Catalogue, list[Hole]]:
    """The catalogue with one door that prefers the first unit, and what is clear of that door."""
    shell = catalogue.by_id["shell"].options[0]
    doors = list(shell.openings)
    doors[index] = attrs.evolve(doors[index], prefers=(Pick("units", "u0"),))
    choices = list(catalogue.choices)
    rank = next(i for i, choice in enumerate(choices) if choice.id == "shell")
    changed = attrs.evolve(shell, openings=tuple(doors))
    choices[rank] = attrs.evolve(choices[rank], options=(changed,))
    alone = [("shell", attrs.evolve(shell, openings=(doors[index],)), 1)]
    holes = space_of(catalogue, alone, "hold").holes
    return attrs.evolve(catalogue, choices=tuple(choices)), holes


def works_through(catalogue: Catalogue, space: Space, hole: Hole, p: Placement) -> bool:
    """Whether the first unit works through that door, written from what a door bares."""
    if p.option != "u0":
        return True
    option = catalogue.option(p.choice, p.option)
    posed = Posed(p.option, option, p.side, p.side, (p.x, p.y, p.z), str(p.on))
    return p.side == hole.side and any(
        hole.start <= at.start and at.end <= hole.end and (at.sill, at.top) == hole[3:5]
        for at in doors_of(posed, space)
    )


def test_a_door_gets_the_unit_that_it_prefers_exactly_where_trying_every_place_finds_a_way() -> (
    None
):
    rng = random.Random(12)
    outcomes = []
    for seed in range(5000, 5200):
        catalogue, selection = case(seed)
        doors = catalogue.by_id["shell"].options[0].openings
        bare = lay_out(Resolved(catalogue, selection))
        if not doors or not isinstance(bare, Layout):
            continue
        changed, clear = preferring(catalogue, rng.randrange(len(doors)))
        if not clear:
            continue
        (hole,) = clear
        space = space_of(catalogue, picks_of(Resolved(catalogue, selection)), "hold")

        behind = partial(works_through, catalogue, space, hole)
        try:
            plain = possible(Resolved(catalogue, selection), 4_000, behind)
        except TooMany:
            continue
        answer = lay_out(Resolved(changed, selection))
        assert isinstance(answer, Layout)
        assert not faults(Resolved(changed, selection), answer.placements)
        assert (answer.unkept == ()) == plain, f"seed {seed}"
        assert all(map(behind, answer.placements)) or not plain
        assert all(
            u.place.preferred and [d.side for d in u.place.doors] == [hole.side]
            for u in answer.unkept
        )
        outcomes.append(plain)
    assert min(outcomes.count(True), outcomes.count(False)) > 7
