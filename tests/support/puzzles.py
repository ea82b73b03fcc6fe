"""Puzzles whose answers are known, as catalogues."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import combinations

from tests.support.building import (
    Raw,
    choice,
    option,
    raw_catalogue,
    rule,
)


def from_dimacs(text: str) -> Raw:
    """A catalogue that says what a DIMACS CNF file says.

    Each variable is a choice of at most one with one option, "true"; each clause is a rule.
    """
    words = [line.split() for line in text.splitlines()]
    head = next(line for line in words if line[:2] == ["p", "cnf"])
    literals = [int(w) for line in words if line and line[0] not in ("c", "p") for w in line]
    clauses: list[list[int]] = [[]]
    for literal in literals:
        if literal:
            clauses[-1].append(literal)
        else:
            clauses.append([])
    assert len(clauses) == int(head[3]) + 1
    return raw_catalogue(
        [choice(f"v{n}", [option("true")], "at-most-one") for n in range(1, int(head[2]) + 1)],
        rules=[
            rule(f"clause-{number}", needs={"any": [_literal(n) for n in clause]})
            for number, clause in enumerate(clauses[:-1], 1)
        ],
    )


def _literal(number: int) -> Raw:
    test = {f"v{abs(number)}": "true"}
    return test if number > 0 else {"none": [test]}


def dimacs(variables: int, clauses: Iterable[Iterable[int]]) -> str:
    lines = [" ".join(map(str, (*clause, 0))) for clause in clauses]
    return "\n".join(["c made for a test", f"p cnf {variables} {len(lines)}", *lines])


def pigeons(birds: int, holes: int) -> str:
    """Every bird in some hole, no two in one."""
    sits = {(b, h): b * holes + h + 1 for b in range(birds) for h in range(holes)}
    clauses = [[sits[b, h] for h in range(holes)] for b in range(birds)]
    for h in range(holes):
        clauses += [[-sits[a, h], -sits[b, h]] for a, b in combinations(range(birds), 2)]
    return dimacs(birds * holes, clauses)


def coloured(edges: Iterable[tuple[int, int]], vertices: int, colours: int) -> Raw:
    """Every vertex of a graph has a colour, no two that an edge joins the same."""
    names = [f"c{n}" for n in range(colours)]
    return raw_catalogue(
        [choice(f"v{n}", [option(name) for name in names]) for n in range(vertices)],
        rules=[
            rule(f"r{a}-{b}-{name}", when={f"v{a}": name}, rules_out={f"v{b}": name})
            for a, b in edges
            for name in names
        ],
    )


def queens(size: int) -> Raw:
    """A queen in every file of a board, none where another strikes."""
    return raw_catalogue(
        [choice(f"file-{n}", [option(f"row-{m}") for m in range(size)]) for n in range(size)],
        rules=[
            rule(
                f"rule-{a}-{b}-{m}",
                when={f"file-{a}": f"row-{m}"},
                rules_out={
                    f"file-{b}": [f"row-{n}" for n in {m, m - b + a, m + b - a} if 0 <= n < size]
                },
            )
            for a, b in combinations(range(size), 2)
            for m in range(size)
        ],
    )


CYCLE_5 = [(n, (n + 1) % 5) for n in range(5)]
COMPLETE_4 = list(combinations(range(4), 2))


OCTAHEDRON = [(a, b) for a, b in combinations(range(6), 2) if a + b != 5]
