"""References in a catalogue that go round in a circle, and must not."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise
from typing import Any

from configurator.catalogue.fields import Pick
from configurator.catalogue.names import GROUPING, Spot, options
from configurator.errors import Problem


def circle_problems(data: Spot) -> Iterator[Problem]:
    """Options that need each other, and units that can stand on nothing but each other."""
    yield from _cyclic_needs(data)
    yield from _cyclic_support(data)


def circles(edges: Mapping[tuple[str, str], Spot]) -> Iterator[tuple[str, Spot]]:
    """Circles in the graph, each told from its smallest name, with the place of its first edge.

    Breaking each circle found at its first edge leaves the others to be found; twenty are enough
    for one reading.
    """
    left = dict(sorted(edges.items(), key=lambda edge: edge[0]))
    for _ in range(20):
        graph: dict[str, list[str]] = {}
        for start, end in left:
            graph.setdefault(start, []).append(end)
        try:
            TopologicalSorter(graph).prepare()
        except CycleError as error:
            circle: list[str] = error.args[1][:0:-1]
            turn = circle.index(min(circle))
            names = [*circle[turn:], *circle[: turn + 1]]
            steps = list(pairwise(names))
            if steps[0] not in left:
                names.reverse()
                steps = list(pairwise(names))
            yield " -> ".join(names), left.pop(steps[0])
        else:
            return


def _cyclic_needs(data: Spot) -> Iterator[Problem]:
    """Single options that, rule by rule, need each other: one thing sold as several."""
    edges: dict[tuple[str, str], Spot] = {}
    for rule in data.records("rules"):
        when, needs = _single(rule["when"].value), _single(rule["needs"].value)
        if when and needs and when != needs:
            edges.setdefault((when, needs), rule)
    for names, rule in circles(edges):
        sentence = f"these need each other in a circle: {names}"
        hint = "sell them as one option, or leave one of the rules out"
        yield rule.say(sentence, "cyclic-needs", hint, level="caution")


def _cyclic_support(data: Spot) -> Iterator[Problem]:
    """Units that can stand on nothing but each other."""
    edges: dict[tuple[str, str], Spot] = {}
    for choice, option in options(data):
        carriers = option["unit"]["stands-on"]
        named = [Pick.named(carrier.text) for carrier in carriers]
        if len(named) == 1 and named[0].option:
            edges[str(Pick(choice, str(option["id"].value))), str(named[0])] = carriers
    for names, carriers in circles(edges):
        sentence = f"these can stand on nothing but each other: {names}"
        yield carriers.say(sentence, "cyclic-support", "let one of them stand on the floor too")


def _single(condition: Any) -> str | None:
    """``choice=option`` when the raw condition asks for just that."""
    tests = list(condition.items()) if isinstance(condition, dict) else []
    if len(tests) == 1 and isinstance(tests[0][1], str) and tests[0][0] not in GROUPING:
        return str(Pick(*tests[0]))
    return None
