"""Random sales on the shipped catalogue: how long each question of a seller takes.

    python -m tests.benchmarks.engine --sales 60 [--seed 0]

A sale picks in catalogue order, each step one pick more among what is available; some steps drop
a pick or change it for what is available instead. Sales are made by seed, so that one that was slow
can be asked again alone. Everything is asked in one process, of one engine for each effort, in CPU
time; the commands at the end are processes of their own.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from random import Random
from statistics import median
from time import process_time
from typing import Any

from attrs import evolve, field, frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Catalogue, Choice
from configurator.catalogue.reading import shipped
from configurator.checking.check import check
from configurator.engine.availability import OptionAnswer, one_by_one
from configurator.engine.conflicts import find_conflict
from configurator.engine.search import Search
from configurator.errors import SearchLimit
from configurator.machine.collector import collect_between, collect_if_due
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved
from tests.support.shipped import read_catalogue

CHANGES = 0.12
"""Share of the steps that drop or change a pick."""

SKIPPED = 0.5
"""Share of the choices that may stay empty in which nothing is picked."""

FRESH = 20
"""One step in so many is asked of a fresh engine too."""

SLOW = {"quick": 500.0, "instead": 500.0, "patient": 10_000.0, "explain": 1_000.0, "facts": 100.0}
"""Milliseconds above which a step's seed is printed."""


@frozen
class Measured:
    """What was measured, by question; milliseconds."""

    times: dict[str, list[float]] = field(factory=dict)
    counts: dict[str, int] = field(factory=dict)

    def ask(self, question: str, step: str, call: Callable[[], Any]) -> Any:
        """The answer, None where it was not settled or something was raised."""
        collect_if_due()  # as a worker of the page does between two questions
        before, answer = process_time(), None
        try:
            answer = call()
        except SearchLimit:
            self.count(f"{question} not settled")
        except Exception as error:
            self.count("tracebacks")
            print(f"  {step}: {question}: {error!r}", flush=True)
        took = 1000 * (process_time() - before)
        self.times.setdefault(question, []).append(took)
        if took > SLOW[question]:
            print(f"  {step}: {question} {took:.0f} ms", flush=True)
        return answer

    def count(self, what: str, more: int = 1) -> None:
        self.counts[what] = self.counts.get(what, 0) + more

    def spread(self, question: str) -> str:
        """Median, 95 in 100, and the most."""
        times = sorted(self.times.get(question, [0.0]))
        high = times[min(len(times) - 1, round(0.95 * len(times)))]
        return f"{median(times):.0f} / {high:.0f} / {times[-1]:.0f} ms"

    def share(self, what: str, of: str) -> str:
        part, whole = self.counts.get(what, 0), self.counts.get(of, 0)
        return f"{100 * part / max(1, whole):.2f} % ({part} of {whole})"


def states(search: Search, selection: Selection, asked: list[Choice], quick: bool) -> Any:
    """The state of every option of the choices."""
    found = one_by_one(search, selection, asked, reasons=False, quick=quick)
    return [state for some in found for state in some]


def split(shop: Catalogue, selection: Selection) -> tuple[list[Choice], list[Choice]]:
    """Choices that are open, and choices of one that are decided."""
    decided = [c for c in shop.choices if c.pick != "several" and c.id in selection.chosen]
    return [c for c in shop.by_id.values() if c not in decided], decided


def sale(
    shop: Catalogue, seed: int, told: Callable[[Selection], list[OptionAnswer]]
) -> Iterator[Selection]:
    """The selections of one sale, step by step."""
    chance, selection, waiting = Random(seed), Selection(shop.id), list(shop.choices)
    while waiting:
        choice = waiting[0]
        if selection.picks and chance.random() < CHANGES:
            pick = chance.choice(selection.picks)
            instead = [
                s for s in told(selection) if s.choice == pick.choice and s.state == "instead"
            ]
            selection = selection.without(pick.choice, pick.option)
            if instead and chance.random() < 0.5:
                picked = Pick(pick.choice, chance.choice(instead).option)
                selection = evolve(selection, picks=(*selection.picks, picked))
            yield selection
            continue
        waiting.pop(0)
        available = [
            state.option
            for state in told(selection)
            if state.choice == choice.id and state.state in ("open", "implied")
        ]
        skipped = choice.pick != "one" and chance.random() < SKIPPED
        if available and not skipped and choice.id not in selection.chosen:
            picked = Pick(choice.id, chance.choice(available))
            selection = evolve(selection, picks=(*selection.picks, picked))
            yield selection


def differing(some: list[OptionAnswer], others: list[OptionAnswer]) -> int:
    """How many options have different states where both are settled.

    One that is open, with a reason, may be implied as well: that was not settled.
    """

    def settled(answer: OptionAnswer) -> str:
        unsure = answer.state == "undecided" or (answer.state == "open" and answer.reason)
        return "" if unsure else answer.state

    known = {(s.choice, s.option): settled(s) for s in others}
    pairs = ((settled(s), known[s.choice, s.option]) for s in some)
    return sum(a != b and "" not in (a, b) for a, b in pairs)


def measure(count: int, first: int) -> None:
    """Ask everything at every step of so many sales, and print what it took beside the aims."""
    shop = read_catalogue(shipped("catalogues") / "quandong.yaml")
    quick, patient, measured = Search(shop), Search(shop), Measured()
    latest: list[OptionAnswer] = []
    steps = 0
    collect_between()
    for seed in range(first, first + count):
        latest = states(quick, Selection(shop.id), list(shop.by_id.values()), quick=True)
        chance = Random(seed)
        for number, selection in enumerate(sale(shop, seed, lambda _: latest), start=1):  # noqa: B023
            steps += 1
            step = f"seed {seed}, step {number}"
            still_open, decided = split(shop, selection)
            ask = partial(measured.ask, step=step)
            found = ask("quick", call=partial(states, quick, selection, still_open, True)) or []
            instead = ask("instead", call=partial(states, quick, selection, decided, True)) or []
            latest = [*found, *instead]
            asked = list(shop.by_id.values())
            settled = ask("patient", call=partial(states, patient, selection, asked, False)) or []
            for effort, some in (("quick", latest), ("patient", settled)):
                measured.count(f"{effort} options", len(some) or len(latest))
                measured.count(f"{effort} left", sum(s.state == "undecided" for s in some))
            measured.count("differing", differing(latest, settled) if settled else 0)
            ask("facts", call=partial(check, Resolved(shop, selection)))
            out = [s for s in settled if s.state == "ruled-out"]
            if out:
                one = chance.choice(out)
                rest = (
                    selection.without(one.choice)
                    if one.choice in {c.id for c in decided}
                    else selection
                )
                ask("explain", call=partial(find_conflict, patient, rest, (one.choice, one.option)))
            if steps % FRESH == 0 and settled:
                fresh = states(Search(shop), selection, asked, quick=False)
                measured.count("compared with fresh", len(fresh))
                measured.count("differing", differing(settled, fresh) + differing(latest, fresh))
    report(measured, steps, count)


def report(measured: Measured, steps: int, count: int) -> None:
    """The table: what was measured, and the aim."""
    rows = [
        ("states of open choices, quick", measured.spread("quick"), "30 / 200 / 500 ms"),
        ("options not settled, quick", measured.share("quick left", "quick options"), "1.5 %"),
        ("instead-states, quick", measured.spread("instead"), "20 / 200 ms"),
        ("states of all options, patient", measured.spread("patient"), "p95 500, most 10 000 ms"),
        (
            "options not settled, patient",
            measured.share("patient left", "patient options"),
            "0.2 %",
        ),
        ("one explain", measured.spread("explain"), "5 ms, most 1 000 ms"),
        ("explains not settled", str(measured.counts.get("explain not settled", 0)), "said"),
        ("facts of a check", measured.spread("facts"), "5 / 25 ms"),
        ("tracebacks", str(measured.counts.get("tracebacks", 0)), "0"),
        ("states that differ", str(measured.counts.get("differing", 0)), "0"),
        (
            "  options compared with a fresh engine",
            str(measured.counts.get("compared with fresh", 0)),
            "",
        ),
    ]
    rows += [(f"{told}, cold command", f"{took:.2f} CPU s", "1.5 CPU s") for told, took in cold()]
    print(f"{count} sales, {steps} steps on the shipped catalogue (median / p95 / most)")
    for told, value, aim in rows:
        print(f"  {told:<42} {value:<30}" + (f" (aim: {aim})" if aim else ""))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"  {'peak memory':<42} {peak:.0f} MB")


def cold() -> Iterator[tuple[str, float]]:
    """CPU seconds of commands that ask the optimiser, each a process of its own, best of three."""
    command = str(Path(sys.executable).with_name("configurator"))
    wish = str(shipped("catalogues") / "selections" / "wish.yaml")
    tall = ["--pick", "vehicle=mid-dual", "--pick", "upright-fridge=upright-110"]
    for told, arguments in (
        ("fixes", ["fixes", wish]),
        ("complete", ["complete", *tall]),
        ("within", ["within", *tall, "--budget", "20000", "--wish", "oven=oven-small"]),
    ):
        took = []
        for _ in range(3):
            before = resource.getrusage(resource.RUSAGE_CHILDREN)
            subprocess.run(
                [command, *arguments], stdout=subprocess.DEVNULL, env=os.environ, check=False
            )
            after = resource.getrusage(resource.RUSAGE_CHILDREN)
            took.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
        yield told, min(took)


if __name__ == "__main__":
    measure(count=6, first=0)
