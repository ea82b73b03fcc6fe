"""What another answer does to the total is the one total less the other, to the cent."""

from __future__ import annotations

from collections import Counter
from random import Random

from hypothesis import given, settings

from configurator.engine.figures import priced_by
from configurator.pricing.price import price
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
