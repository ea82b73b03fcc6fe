"""Open quotes priced and checked anew: quotes a CPU second, what a second process gains, memory.

    python -m tests.benchmarks.requote [--quotes 1000]

Everything is in CPU time, as other work on the machine does not count there. What two idle cores
would gain is the CPU time of one process, over half of what two take together with the one that
hands out the work: where the machine is idle, the wall time beside it says the same. Each size is a
process of its own, for its peak of memory.
"""

from __future__ import annotations

import argparse
import datetime as dt
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import attrs
from attrs import frozen

from configurator import open_shop, to_json
from configurator.answers.data import selection_data
from configurator.register.open_quotes import StandingQuotes
from configurator.register.opening import open_database
from configurator.register.register import Register
from configurator.render.look import look_of
from configurator.requoting.quotes import OpenQuote, requoted
from configurator.requoting.run import Requotes, on_this_machine
from tests.support.paths import ROOT

DAY = dt.date(2026, 8, 3)
SHOP = open_shop(ROOT / "catalogues" / "quandong.yaml", DAY)
NAMES = ("touring", "contractor", "wish")


@frozen
class Shipped:
    """Quotes of the shipped selections by turns, as a register would give them."""

    quotes: tuple[OpenQuote, ...]
    count: int

    def __len__(self) -> int:
        return self.count

    def __iter__(self) -> Iterator[OpenQuote]:
        for number in range(self.count):
            yield attrs.evolve(self.quotes[number % len(self.quotes)], name=f"Q-{number + 1}")


def shipped() -> tuple[OpenQuote, ...]:
    """The shipped selections; of two of them, what was quoted too."""
    found = []
    for name in NAMES:
        build = SHOP.build(ROOT / "catalogues" / "selections" / f"{name}.yaml")
        answer = "" if build.check().stops else to_json(build.quote("Q-1", DAY))
        found.append(OpenQuote(name, to_json(selection_data(build.selection)).encode(), answer, 1))
    return tuple(found)


def worked(count: int, processes: int) -> None:
    """Requote so many, and print the seconds: wall, CPU here, CPU of the others; and the memory."""
    quotes = Shipped(shipped(), count)
    with tempfile.TemporaryDirectory() as folder:
        began, own = time.perf_counter(), time.process_time()
        look = partial(look_of, SHOP.catalogue.shop)
        share = on_this_machine(processes, count)
        done = Requotes(SHOP.catalogue, quotes, Path(folder) / "r.json", look, share, None)
        assert sum(1 for _ in done) == count
    others = resource.getrusage(resource.RUSAGE_CHILDREN)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    wall, own = time.perf_counter() - began, time.process_time() - own
    print(wall, own, others.ru_utime + others.ru_stime, peak, others.ru_maxrss / 1024)


def apart(count: int, processes: int) -> tuple[float, ...]:
    """The same in a process of its own."""
    command = [sys.executable, "-m", "tests.benchmarks.requote", "--work", str(count)]
    done = subprocess.run(
        [*command, str(processes)], capture_output=True, text=True, check=True, cwd=ROOT
    )
    return tuple(map(float, done.stdout.split()))


def main() -> None:
    """Measure."""
    reader = argparse.ArgumentParser()
    reader.add_argument("--quotes", type=int, default=1000)
    reader.add_argument("--work", type=int, nargs=2)
    given = reader.parse_args()
    if given.work:
        worked(*given.work)
        return
    count = given.quotes
    print(f"load of the machine: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    some = shipped() * 20
    requoted(SHOP.catalogue, some[:6])
    began = time.process_time()
    requoted(SHOP.catalogue, some)
    print(f"the function alone: {len(some) / (time.process_time() - began):.0f} a CPU s (aim: 80)")
    print(f"read from a register: {1000 * read_from_register():.2f} CPU ms a quote")
    least = apart(20, 1)
    one, two = apart(count, 1), apart(count, 2)
    begun = apart(20, 2)
    cpu = one[1] - least[1]
    shared = two[1] + two[2] - begun[1] - begun[2]
    print(f"{count} quotes, one process: {count / cpu:.0f} a CPU s, {one[0]:.1f} s of wall time")
    print(f"two processes: {one[0] / two[0]:.2f} times as fast by the wall (aim: 1.8, when idle)")
    print(f"               {2 * cpu / shared:.2f} times as fast on two idle cores, by CPU time")
    print(f"               {two[1] / count * 1000:.2f} CPU ms a quote to hand out and gather")
    print(f"peak memory: {least[3]:.0f} MB for 20 quotes, {one[3]:.0f} MB for {count}")
    print(f"             {two[3]:.0f} MB and {two[4]:.0f} MB a worker with two processes")


def read_from_register(held: int = 200) -> float:
    """CPU seconds to read one quote of a register."""
    with tempfile.TemporaryDirectory() as folder:
        database = open_database(str(Path(folder) / "register.sqlite"))
        quote = SHOP.build(ROOT / "catalogues" / "selections" / "touring.yaml").quote("D", DAY)

        def now() -> dt.datetime:
            return dt.datetime(2026, 8, 3, 9, tzinfo=dt.UTC)

        with Register(database, lambda _: b"%PDF" * 20_000, now) as register:
            for _ in range(held):
                register.issue(quote, seller="Ann")
            began = time.process_time()
            assert sum(1 for _ in StandingQuotes(database, DAY.isoformat())) == held
            return (time.process_time() - began) / held


if __name__ == "__main__":
    main()
