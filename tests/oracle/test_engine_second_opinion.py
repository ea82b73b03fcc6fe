"""The engine against z3, a general-purpose solver that it does not use, on middle-sized catalogues.

The catalogue is told to z3 as plain data, rules and limits as they are written: no clause of the
engine's goes in. Units are left aside, so fit is not asked here.
"""

from __future__ import annotations

from collections import Counter
from typing import Any

import pytest

from configurator.engine.availability import options
from configurator.engine.completion import complete
from configurator.engine.conflicts import find_conflict
from configurator.engine.search import Search
from configurator.pricing.price import price
from configurator.selection.resolved import Resolved
from tests.support.building import Raw, read
from tests.support.engine_cases import selected
from tests.support.random_catalogues import Counts, LargeMaker, kind_of, most_of, offers

z3 = pytest.importorskip("z3")


class Told:
    """A catalogue told to z3: one whole number for each option, its quantity."""

    def __init__(self, data: Raw) -> None:
        self.data = data
        self.by = offers(data)
        self.count = {
            (name, one): z3.Int(f"{name}={one}") for name, by in self.by.items() for one in by
        }
        self.facts: dict[tuple[str, str], Any] = {}
        self.shape = [self._shape(name) for name, by in self.by.items() if by]
        for rule in data["rules"]:
            self.facts["rule", rule["id"]] = self._rule(rule)
        for limit in data["limits"]:
            self.facts["limit", limit["id"]] = self._limit(limit)
        self.solver = z3.Solver()
        self.solver.add(self.shape)
        self.solver.add([z3.Implies(z3.Bool(str(f)), held) for f, held in self.facts.items()])

    def _shape(self, name: str) -> Any:
        by, kind = self.by[name], kind_of(self.data, name)
        total = z3.Sum([self.count[name, one] for one in by])
        parts = [total == 1 if kind == "one" else total <= most_of(self.data, name)]
        for one, written in by.items():
            most = written.get("most", 1)
            parts += [self.count[name, one] >= 0, self.count[name, one] <= most]
        return z3.And(parts)

    def condition(self, asked: Raw) -> Any:
        return z3.And([self._part(key, value) for key, value in asked.items()])

    def _part(self, key: str, asked: Any) -> Any:
        if key in ("all", "any", "none"):
            parts = [self.condition(part) for part in asked]
            return {"all": z3.And, "any": z3.Or}.get(key, lambda p: z3.Not(z3.Or(p)))(parts)
        if isinstance(asked, str | list):
            named = [asked] if isinstance(asked, str) else asked
            return z3.Or([self.count[key, one] >= 1 for one in named])
        named = [asked["option"]] if "option" in asked else list(self.by[key])
        total = z3.Sum([self.count[key, one] for one in named])
        bounds = [total >= asked.get("at-least", 0)]
        return z3.And([*bounds, *([total <= asked["at-most"]] if "at-most" in asked else [])])

    def _rule(self, rule: Raw) -> Any:
        when = self.condition(rule.get("when", {}))
        if "needs" in rule:
            return z3.Implies(when, self.condition(rule["needs"]))
        return z3.Not(z3.And(when, self.condition(rule["rules-out"])))

    def _limit(self, limit: Raw) -> Any:
        used, given = [], [z3.RealVal(-limit.get("reserve", 0))]
        for key, count in self.count.items():
            one = self.by[key[0]][key[1]]
            used.append(count * z3.RealVal(one.get("uses", {}).get(limit["id"], 0)))
            given.append(count * z3.RealVal(one.get("gives", {}).get(limit["id"], 0)))
            if limit.get("counts") == "mass":
                used.append(count * z3.RealVal(str(one.get("mass", 0))))
                if "vehicle" in one:
                    kerb = one["vehicle"]["kerb"]
                    payload = one["vehicle"]["gvm"] - kerb["front"] - kerb["rear"]
                    given.append(count * z3.RealVal(payload))
        return z3.Or(z3.Sum(used) <= 0, z3.Sum(used) <= z3.Sum(given))

    def possible(self, picks: Counts, facts: Any = None) -> bool:
        self.solver.push()
        self.solver.add([self.count[key] >= n for key, n in picks.items()])
        kept = self.facts if facts is None else facts
        answer = self.solver.check([z3.Bool(str(fact)) for fact in kept if fact in self.facts])
        self.solver.pop()
        assert answer != z3.unknown
        return bool(answer == z3.sat)

    def cheapest(self, picks: Counts) -> int:
        """What the cheapest selection with the picks comes to; fixed prices only, no deals."""
        best = z3.Optimize()
        best.add(*self.shape, *self.facts.values())
        best.add([self.count[key] >= n for key, n in picks.items()])
        total = z3.Sum([n * self.by[c][o].get("price", 0) for (c, o), n in self.count.items()])
        best.minimize(total)
        assert best.check() == z3.sat
        value: int = best.model().eval(total).as_long()
        return value


def middle(seed: int) -> tuple[Raw, LargeMaker]:
    """A catalogue of twelve choices with its units taken away."""
    maker = LargeMaker("S", seed)
    data = maker.catalogue()
    for one in data["choices"]:
        for option in one["options"]:
            for facet in ("unit", "openings", "space"):
                option.pop(facet, None)
    data["package-deals"] = []
    return data, maker


@pytest.mark.parametrize("seed", range(5))
def test_z3_finds_the_same_options_possible(seed: int) -> None:
    data, maker = middle(seed)
    told, search = Told(data), Search(read(data, cautions=True))
    seen: Counter[bool] = Counter()
    for share in (0.0, 0.4, 0.7):
        picks = maker.picks(share)
        for state in options(search, selected(picks)).options:
            key = state.choice, state.option
            single = kind_of(data, state.choice) != "several"
            kept = {k: n for k, n in picks.items() if not single or k[0] != state.choice}
            if key not in picks:
                can = told.possible({**kept, key: 1})
                assert (state.state == "instead") == (can and len(kept) < len(picks))
                assert (state.state != "ruled-out") == can, (seed, picks, key)
                seen[can] += 1
            if state.conflict is not None:
                core = {(p.choice, p.option): p.quantity for p in state.conflict.picks}
                facts = {(fact.kind, fact.subject) for fact in state.conflict.facts}
                assert not told.possible({**core, key: 1}, facts)
                for fact in facts:
                    assert told.possible({**core, key: 1}, facts - {fact})
                for dropped in core:
                    fewer = {k: n for k, n in core.items() if k != dropped}
                    assert told.possible({**fewer, key: 1}, facts)
    assert min(seen[True], seen[False]) > 5


@pytest.mark.parametrize("seed", range(5))
def test_z3_finds_no_cheaper_completion(seed: int) -> None:
    data, maker = middle(seed)
    told, search = Told(data), Search(read(data, cautions=True))
    for share in (0.5, 0.8):
        picks = maker.picks(share)
        found = complete(search, selected(picks))
        assert found is not None
        assert told.possible(dict(found.quantities))
        assert price(Resolved(search.catalogue, found)).total.amount == told.cheapest(picks)


def test_z3_agrees_that_a_known_selection_is_sound() -> None:
    for seed in range(5):
        data, maker = middle(seed)
        search = Search(read(data, cautions=True))
        assert Told(data).possible(maker.known)
        assert find_conflict(search, selected(maker.known)) is None
