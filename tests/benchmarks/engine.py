"""How quick the option engine is, as ratios and counts; run by hand.

    python -m tests.benchmarks.engine [S M L XL] [formula]
    python -m tests.benchmarks.engine --sales 60 [--seed 0]

Catalogues and selections are made by seed; every query gets a fresh engine unless it says warm.
Times are CPU milliseconds: believe the proportions, and the counts.
"""

from __future__ import annotations

import resource
from argparse import ArgumentParser, RawDescriptionHelpFormatter
from collections import Counter
from collections.abc import Callable
from decimal import Decimal
from functools import partial
from random import Random
from statistics import median
from time import process_time
from typing import Any

from attrs import frozen
from pysat.solvers import Cadical153  # type: ignore[import-untyped]

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import VEHICLE, Catalogue
from configurator.catalogue.reading import shipped
from configurator.engine.availability import OptionsAnswer, options
from configurator.engine.completion import complete
from configurator.engine.conflicts import find_conflict
from configurator.engine.optimum import Optimum
from configurator.engine.search import Search
from configurator.engine.ways_out import fixes
from configurator.engine.within import within
from configurator.errors import SearchLimit
from configurator.money import Money
from configurator.pricing.price import price
from configurator.selection.picks import Selection
from configurator.selection.reading import read_selection
from configurator.selection.resolved import Resolved
from tests.benchmarks import sales
from tests.support.building import read
from tests.support.puzzles import dimacs, from_dimacs
from tests.support.random_catalogues import SIZES, Counts, LargeMaker
from tests.support.shipped import read_catalogue

SHARES = (0.3, 0.5, 0.7)
SEEDS = 4

VARIABLES, SPACED = 14_000, 20
"""Of the formula; one in so many is settled at once."""


@frozen
class Question:
    """A catalogue and a selection of it that can be completed."""

    shop: Catalogue
    selection: Selection


def selected(picks: Counts) -> Selection:
    return Selection("test", tuple(Pick(*key, n) for key, n in picks.items()))


def questions(size: str) -> list[Question]:
    found = []
    for seed in range(SEEDS):
        maker = LargeMaker(size, seed)
        shop = read(maker.catalogue(), cautions=True)
        found += [Question(shop, selected(maker.picks(share))) for share in SHARES]
    return found


def took(call: Callable[..., Any], *given: Any) -> tuple[float, Any]:
    """CPU milliseconds, and the answer."""
    before = process_time()
    answer = call(*given)
    return 1000 * (process_time() - before), answer


def p95(times: list[float]) -> float:
    return sorted(times)[min(len(times) - 1, round(0.95 * len(times)))]


def spread(times: list[float]) -> str:
    return f"{median(times):8.1f} ms   p95 {p95(times):8.1f}"


def show(told: str, value: str, aim: str = "") -> None:
    print(f"  {told:<46} {value}" + (f"   (aim: {aim})" if aim else ""))


def availability(size: str) -> float:
    """Time the states of all options, cold and again, and conflicts; the cold median."""
    cold: list[float] = []
    again: list[float] = []
    conflict: list[float] = []
    solves: list[int] = []
    rounds: list[int] = []
    for question in questions(size):
        search = Search(question.shop)
        time, found = took(partial(options, search, question.selection, reasons=False))
        cold.append(time)
        solves.append(search.counts.solves)
        rounds.append(search.counts.rounds)
        again.append(took(partial(options, search, question.selection, reasons=False))[0])
        taken = question.selection.chosen
        out = [s for s in found.options if s.state == "ruled-out" and s.choice not in taken]
        for state in out[:5]:
            key = state.choice, state.option
            fresh = Search(question.shop)
            conflict.append(took(find_conflict, fresh, question.selection, key)[0])
    choices, offered, rules = SIZES[size]
    print(f"{size}: {choices} choices, {offered} options, {rules} rules; {len(cold)} selections")
    show("every option, cold", spread(cold))
    show("the same again, warm", spread(again))
    show("again / cold", f"{median(again) / median(cold):8.3f}", "at most 0.05")
    show("one conflict, cold", spread(conflict))
    show("conflict / every option", f"{median(conflict) / median(cold):8.2f}", "at most 1")
    aim = "at most 60" if size == "M" else ""
    show("SAT solves a query, median and most", f"{median(solves):8.0f} {max(solves):8}", aim)
    aim = "at most 250" if size == "M" else ""
    show("lazy rounds a query, median and most", f"{median(rounds):8.0f} {max(rounds):8}", aim)
    return median(cold)


def states(search: Search, selection: Selection) -> OptionsAnswer:
    return options(search, selection, reasons=False)


def solver_each(question: Question) -> None:
    """What the engine saves: one solve of the optimiser for every option not met yet.

    As the engine does, it asks about the others of a decided choice of one without its pick.
    """
    search, selection = Search(question.shop), question.selection
    met = set(selection.quantities)
    for choice in question.shop.by_id.values():
        instead = choice.pick != "several" and choice.id in selection.chosen
        rest = selection.without(choice.id) if instead else selection
        literals = list(search.encoding.picks(rest).values())
        for option in choice.options:
            if (choice.id, option.id) in met:
                continue
            optimum = Optimum(search)
            for literal in [*literals, search.encoding.levels[choice.id, option.id, 1]]:
                optimum.require([literal])
            found = optimum.smallest(0) or {}
            met |= found.keys()


def best_answers(size: str, cold: float) -> None:
    """Time the optimiser's answers against its own bare feasibility."""
    each: list[float] = []
    bare: list[float] = []
    cheapest: list[float] = []
    ways: list[float] = []
    budget: list[float] = []
    for question in questions(size):
        if len(each) < 3:
            each.append(took(partial(solver_each, question))[0])
        bare.append(took(partial(feasible, question))[0])
        search = Search(question.shop)
        time, done = took(partial(complete, search, question.selection))
        cheapest.append(time)
        found = states(search, question.selection).options
        out = next(s for s in found if s.state == "ruled-out")
        key = out.choice, out.option
        ways.append(took(partial(mend, question, key))[0])
        limit = price(Resolved(question.shop, done)).total + Money(
            Decimal(500), question.shop.currency
        )
        wishes = [Pick(s.choice, s.option) for s in found if s.state == "open"][:5]
        budget.append(took(partial(keep_within, question, limit, wishes))[0])
    show("bare feasibility by CP-SAT", spread(bare))
    show("one CP-SAT solve per option", spread(each))
    show("one CP-SAT solve per option / ours", f"{median(each) / cold:8.1f}", "at least 40")
    show("cheapest completion", spread(cheapest))
    show("completion / feasibility", f"{median(cheapest) / median(bare):8.2f}", "at most 5")
    show("best three fixes", spread(ways))
    show("five wishes within a budget", spread(budget))


def mend(question: Question, key: tuple[str, str]) -> object:
    return fixes(Search(question.shop), question.selection, key)


def keep_within(question: Question, limit: Money, wishes: list[Pick]) -> object:
    return within(Search(question.shop), question.selection, limit, wishes)


def feasible(question: Question) -> object:
    search = Search(question.shop)
    optimum = Optimum(search)
    for literal in search.encoding.picks(question.selection).values():
        optimum.require([literal])
    return optimum.smallest(0)


def sale() -> None:
    """The shipped sales, one pick more at a time, all options updated, in one warm session."""
    shop = read_catalogue(shipped("catalogues") / "quandong.yaml")
    time, search = took(Search, shop)
    first, _ = took(states, search, Selection(shop.id))
    steps: list[float] = []
    told: list[float] = []
    gave_up = 0
    for file in sorted((shipped("catalogues") / "selections").iterdir()):
        wanted = read_selection(file)
        for count in range(1, len(wanted.picks) + 1):
            selection = Selection(shop.id, wanted.picks[:count])
            try:
                steps.append(took(states, search, selection)[0])
                told.append(took(options, search, selection)[0])
            except SearchLimit:
                gave_up += 1
    print(f"shipped catalogue: a warm session of {len(steps)} picks, {gave_up} given up")
    show("compiling it", f"{time:8.1f} ms")
    show("every option, the first time", f"{first:8.1f} ms")
    show("one more pick, every option", spread(steps), "under 50 ms")
    show("the same again with every reason", spread(told))


def clauses_of(count: int) -> list[list[int]]:
    """Random clauses of three literals that an assignment satisfies; some variables are settled."""
    dice = Random(1)
    planted = [dice.choice((-n, n)) for n in range(1, count + 1)]
    found: list[list[int]] = []
    while len(found) < 2.5 * count:
        clause = [dice.choice((-n, n)) for n in dice.sample(range(1, count + 1), 3)]
        if any(planted[abs(literal) - 1] == literal for literal in clause):
            found.append(clause)
    for first in range(0, count - SPACED, SPACED):
        other = planted[first + dice.randrange(1, SPACED)]
        found += [[planted[first], other], [planted[first], -other]]
    return found


def backbone(count: int, clauses: list[list[int]]) -> set[int]:
    """The literals that every solution has, by CaDiCaL, with one solve for each still in doubt."""
    solver = Cadical153(bootstrap_with=clauses)
    assert solver.solve()
    every = solver.get_model()[:count]
    doubtful, settled = set(every), set()
    for literal in every:
        if literal not in doubtful:
            continue
        if solver.solve(assumptions=[-literal]):
            doubtful &= set(solver.get_model())
        else:
            settled.add(literal)
            solver.add_clause([literal])
    return settled


def formula() -> None:
    """A formula as a catalogue: all of its options against the loop over the same clauses."""
    clauses = clauses_of(VARIABLES)
    plain, settled = took(backbone, VARIABLES, clauses)
    shop = read(from_dimacs(dimacs(VARIABLES, clauses)), cautions=True)
    time, found = took(lambda: states(Search(shop), Selection(shop.id)))
    told = Counter(one.state for one in found.options if one.choice != VEHICLE)
    assert told["ruled-out"] + told["implied"] == len(settled), told
    print(
        f"formula: {VARIABLES} variables, {len(clauses)} clauses, {len(settled)} literals settled"
    )
    show("a plain loop of CaDiCaL", f"{plain:8.0f} ms")
    show("every option, cold", f"{time:8.0f} ms")
    show("every option / the plain loop", f"{time / plain:8.1f}", "at most 10")


def main(sizes: list[str]) -> None:
    cold = {}
    if "formula" in sizes:
        formula()
    for size in sizes:
        if size not in SIZES:
            continue
        cold[size] = availability(size)
        if size == "M":
            best_answers(size, cold[size])
    for size, most in (("L", 12), ("XL", 100)):
        if size in cold and "M" in cold:
            show(f"{size} / M", f"{cold[size] / cold['M']:8.1f}", f"at most {most}")
    if cold:
        sale()
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    show("peak memory", f"{peak:8.0f} MB", "" if cold else "at most 1500")


def from_command_line() -> None:
    """Sizes, or random sales."""
    parser = ArgumentParser(description=__doc__, formatter_class=RawDescriptionHelpFormatter)
    parser.add_argument("sizes", nargs="*", help="of the seeded catalogues; or a formula")
    parser.add_argument("--sales", type=int, help="so many random sales instead")
    parser.add_argument("--seed", type=int, default=0, help="seed of the first sale")
    given = parser.parse_args()
    if given.sales:
        sales.measure(given.sales, given.seed)
    else:
        main(given.sizes or [*SIZES, "formula"])


if __name__ == "__main__":
    from_command_line()
