"""Reading generated catalogues of 1 000, 3 000 and 10 000 options: linear in size, cost per option.

Each option has a price by table or by measure, a mass, a unit or a limit's figure, as real ones do;
one rule for every four options, one add-on for every ten. And the shipped catalogue, which is in
several files, against the same text in one. CPU time, the least of a few runs.
"""

from __future__ import annotations

import time
from collections.abc import Iterator

from configurator.catalogue.reading import open_catalogue, parse_catalogue, shipped
from tests.support.shipped import shipped_in_one

SIZES = (1_000, 3_000, 10_000)
PER_CHOICE = 20

HEAD = """\
format: 1
id: generated
title: Generated
currency: AUD
valid: {from: 2026-01-01, until: 2026-12-31}
shop: {name: Generated, address: [1 Example Lane], kerb-side: left}
tax: {name: GST, prices: include, rates: {standard: 10}}
quote: {valid-days: 30, payments: [{title: In full, percent: 100}]}
groups: [{id: build, title: Build}]
spaces: [{id: box, title: box}]
limits:
- {id: payload, title: Payload, unit: kg, counts: mass, because: The plate says so.}
- {id: ways, title: Ways, unit: ways, because: There are no more.}
vehicles:
- id: ute
  title: Ute
  vehicle:
    kerb: {front: 1200, rear: 1000}
    wheelbase: 3200
    gvm: 3300
    front-axle: 1700
    rear-axle: 2300
    cab-back: 1900
    tray-front: 2000
    seats: [{x: 1400, count: 2}]
choices:
- id: size
  title: Size
  group: build
  pick: one
  options:
  - id: small
    title: Small
    price: 100.00
    space: {box: {length: 1200, width: 600, height: 500}}
    gives: {ways: 100}
  - id: large
    title: Large
    price: 200.00
    space: {box: {length: 1800, width: 600, height: 700}}
    gives: {ways: 200}
"""


def written(size: int) -> str:
    """A catalogue with so many options beside the two that set the size."""
    return "\n".join([HEAD.rstrip("\n"), *_choices(size), *_rules(size), *_add_ons(size)]) + "\n"


def _choices(size: int) -> Iterator[str]:
    for number in range(size):
        choice, place = divmod(number, PER_CHOICE)
        if place == 0:
            yield f"- id: c{choice}\n  title: Choice {choice}\n  group: build"
            yield "  pick: several\n  options:"
        prices = (
            f"[{{kind: table, by: [size], rows: {{small: {place}.50, large: 90.00}}}}]",
            f"[{{kind: measure, of: box.skin, rate: {place + 1}.25}}]",
            f"{place + 10}.95",
        )
        body = f"{{width: {300 + place}, depth: 200, height: 150}}"
        facets = ("uses: {ways: 1}", f"unit: {{space: box, body: {body}}}")
        yield f"  - id: o{place}\n    title: Option {place} of choice {choice}"
        yield f"    text: What option {place} is for, in a sentence of its own."
        yield f"    price: {prices[number % 3]}\n    mass: {place + 1}.5\n    {facets[number % 2]}"


def _rules(size: int) -> Iterator[str]:
    yield "rules:"
    for number in range(0, size - PER_CHOICE, 4):
        choice, place = divmod(number, PER_CHOICE)
        yield f"- id: r{number}\n  when: {{c{choice}: o{place}}}"
        yield f"  rules-out: {{c{choice + 1}: o{place}}}\n  because: The two do not go together."


def _add_ons(size: int) -> Iterator[str]:
    yield "add-ons:"
    for number in range(0, size, 10):
        choice, place = divmod(number, PER_CHOICE)
        yield f"- id: a{number}\n  title: Add-on {number}\n  price: 25.00"
        yield f"  suggest: {{c{choice}: o{place}}}\n  because: It goes with it."


def main() -> None:
    """Measure and print."""
    per_option = []
    for size in SIZES:
        text = written(size)
        best = float("inf")
        for _ in range(4 if size < SIZES[-1] else 2):
            start = time.process_time()
            catalogue, problems = parse_catalogue(text, "generated")
            best = min(best, time.process_time() - start)
            assert not problems, "\n".join(map(str, problems[:5]))
            assert catalogue is not None
        per_option.append(best / size)
        told = f"{size:6} options, {len(text) // 1024:5} kB"
        print(f"{told}: {best:.2f} s, {best / size * 1e6:.0f} us each")
    print(f"cost of an option, largest to smallest: {per_option[-1] / per_option[0]:.2f}")
    print("wanted: linear in size, which is 1")
    text, file = shipped_in_one(), shipped("catalogues") / "quandong.yaml"
    whole = parted = float("inf")
    for _ in range(20):
        start = time.process_time()
        parse_catalogue(text, "generated")
        between = time.process_time()
        open_catalogue(file)
        whole = min(whole, between - start)
        parted = min(parted, time.process_time() - between)
    print(f"the shipped catalogue in its files, to the same in one: {parted / whole:.2f}")
    print("wanted: at most 1.1")


if __name__ == "__main__":
    main()
