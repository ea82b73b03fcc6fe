"""What one of an option costs is told by `options` as by `price` once it is picked, or by neither.

An option may cost nothing itself and still decide a price in a choice still to be made, as a height
does that of a canopy: neither says 0.00 of it before that choice is made.
"""

from __future__ import annotations

from collections import Counter
from random import Random

import pytest

from configurator import Build, Shop, open_shop
from configurator.catalogue.dependence import priced_by


@pytest.fixture(scope="module")
def shop() -> Shop:
    return open_shop()


def begun(shop: Shop, dice: Random) -> Build:
    """A package of which up to ten choices have some answer that is still available."""
    build = shop.build()
    choices = list(shop.catalogue.choices)
    for choice in dice.sample(choices, dice.randint(0, 10)):
        asked = build.options(choice.id, effort="quick").options
        if still := [one for one in asked if one.state in ("open", "implied")]:
            build = build.pick(choice.id, dice.choice(still).option)
    return build


def test_options_and_price_agree_for_every_option(shop: Shop) -> None:
    seen: Counter[str] = Counter()
    decide = priced_by(shop.catalogue)
    for seed in range(6):
        build = begun(shop, Random(seed))
        for one in build.options(effort="quick").options:
            if one.state not in ("picked", "open", "implied"):
                assert one.price is None, one
                continue
            priced = build if one.state == "picked" else build.pick(one.choice, one.option)
            key = (one.choice, one.option)
            lines = [line for line in priced.price().lines if line.key == key]
            if not lines:
                assert one.choice == "vehicle"
                continue
            (line,) = lines
            assert line.quantity == shop.catalogue.option(*key).how_much
            assert (one.price, one.awaits) == (line.amount, line.awaits), (seed, one, line)
            assert bool(one.awaits or one.unpriced) == (one.price is None), (seed, one)
            free = not any(getattr(p, "amount", 1) for p in shop.catalogue.option(*key).price)
            deciding = free and one.choice in decide
            kind = "awaits" if one.awaits else "unpriced" if one.unpriced else "known"
            seen[f"{one.state}, {kind}"] += 1
            seen["awaits without a price of its own"] += deciding and bool(one.awaits)
            seen["counted in another line"] += deciding and not one.awaits
    kinds = {f"{state}, {kind}" for state in ("picked", "open") for kind in ("known", "awaits")}
    kinds |= {"open, unpriced", "awaits without a price of its own", "counted in another line"}
    assert not {kind for kind in kinds if not seen[kind]}, seen
