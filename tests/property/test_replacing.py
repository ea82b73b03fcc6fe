"""What another answer does to the total is the one total less the other, to the cent."""

from __future__ import annotations

from collections import Counter
from random import Random

from hypothesis import given, settings

from configurator.catalogue.dependence import priced_by
from configurator.money import Money
from configurator.pricing.price import lines_by_key, price
from configurator.pricing.replacements import Replacing
from configurator.selection.resolved import Resolved
from tests.support.building import read
from tests.support.price_oracle import DICE, Case, cases
from tests.support.steady import STEADY


def test_a_difference_is_the_one_total_less_the_other() -> None:
    seen: Counter[str] = Counter()

    @settings(STEADY, max_examples=120)
    @given(cases(), DICE)
    def compare(case: Case, dice: Random) -> None:
        build = Resolved(read(case.data, cautions=True), case.selection()).on(case.day)
        before = price(build)
        changes = Replacing(build, priced_by(build.catalogue))
        single = [choice for choice in build.catalogue.by_id.values() if choice.pick != "several"]
        offered = [(choice.id, option.id) for choice in single for option in choice.options]
        for key in dice.sample(offered, min(4, len(offered))):
            pick = build.catalogue.picked(*key)
            after = price(build.having(build.picking(pick).tidied()))
            assert changes.difference(pick) == after.total - before.total, pick
            known = {line.key: line for line in before.lines}
            others = [line for line in after.lines if line.choice != pick.choice]
            seen["all"] += 1
            seen["other"] += pick.key not in known
            seen["depends"] += any(known.get(line.key) != line for line in others)
            seen["deals"] += before.deals != after.deals
            seen["a deal stays"] += bool(before.deals) and before.deals == after.deals
            seen["adjusted"] += bool(before.adjustments)
            seen["rounded"] += bool(before.rounding)
            seen["tax on top"] += not before.tax_included
            seen["open"] += bool(after.open)
            seen["named"] += bool(case.named)
            parts = any(a.line or a.group or a.tax for a in build.selection.adjustments)
            seen["a part is adjusted"] += parts

    compare()
    assert not {kind: n for kind, n in seen.items() if n < seen["all"] / 40}, seen


def test_a_difference_that_waits_for_nothing_stays_whatever_is_chosen_besides() -> None:
    """A choice is opened again; what is known then must be what it is with the answer it had."""
    seen: Counter[str] = Counter()

    def listed(build: Resolved) -> Money:
        lines = lines_by_key(build).values()
        amounts = (line.amount for line in lines if line.amount is not None)
        return Money.total(amounts, build.catalogue.currency)

    def change(build: Resolved, key: tuple[str, str]) -> Money:
        pick = build.catalogue.picked(*key)
        return listed(build.having(build.picking(pick).tidied())) - listed(build)

    @settings(STEADY, max_examples=200)
    @given(cases(), DICE)
    def compare(case: Case, dice: Random) -> None:
        whole = Resolved(read(case.data, cautions=True), case.selection()).on(case.day)
        single = [choice for choice in whole.catalogue.by_id.values() if choice.pick == "one"]
        answered = [choice.id for choice in single if choice.id in whole.selection.chosen]
        if len(answered) < 2:
            return
        opened = dice.choice(answered)
        build = whole.having(whole.selection.without(opened).tidied())
        changes = Replacing(build, priced_by(build.catalogue))
        offered = [(c.id, o.id) for c in single if c.id != opened for o in c.options]
        for key in dice.sample(offered, min(6, len(offered))):
            _, waited = changes.change(build.catalogue.picked(*key))
            seen["all"] += 1
            seen["waits"] += opened in waited.choices
            seen["no price"] += bool(waited.unpriced)
            if not waited:
                assert change(build, key) == change(whole, key), (opened, key)
            elif change(build, key) != change(whole, key):
                seen["would be false"] += 1

    compare()
    assert not {kind: n for kind, n in seen.items() if n < seen["all"] / 40}, seen
    assert len(seen) == 4, seen
