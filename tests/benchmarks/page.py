"""The page at the counter against what is wanted of it: what is found stands beside it.

    python -m tests.benchmarks.page [start] [fresh] [steps] [browser] [sellers] [kills]
                                    [--steps 300] [--seed 0]

Sales are made by seed, in the order in which the catalogue asks, with picks dropped and changed.
Steps are asked of the code that a worker runs, in one process, in CPU milliseconds. What a browser
and several sellers wait for is time by the clock, with the load of the machine beside it: believe
it on an idle machine only. ``fresh`` installs into a new environment first; it is left out unless
it is asked for.
"""

from __future__ import annotations

import datetime as dt
import gc
import html
import os
import pickle
import re
import signal
import subprocess
import sys
import tempfile
import threading
import time
from argparse import ArgumentParser, RawDescriptionHelpFormatter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from random import Random
from statistics import median

import httpx2 as httpx
from attrs import field, frozen, mutable

from configurator import Shop, open_shop
from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Choice
from configurator.engine.availability import OptionAnswer
from configurator.machine.collector import collect_between, collect_if_due
from configurator.web.answers import answered
from configurator.web.counter import Counter
from configurator.web.messages import Answer, PageRequest, for_sellers
from configurator.web.state import FormState, unpacked, written
from configurator.web.views import groups_of
from tests.support.browsers import MISSING, browser, chromium
from tests.support.crowded import HARD
from tests.support.paths import ROOT
from tests.support.served import Served, descendants, gone, served, waited

CATALOGUE = ROOT / "catalogues" / "quandong.yaml"
DAY = dt.date(2026, 8, 3)
CHANGES = 0.12
"""Share of the steps that drop or change a pick."""
SKIPPED = 0.5
"""Share of the choices that may stay empty in which nothing is picked."""
FRESH = 20
"""One step in so many is asked of a fresh engine too."""
SELLERS, EVERY = 8, 2.0
"""Sellers, and the seconds between two steps of each."""


def show(told: str, found: str, wanted: str = "") -> None:
    print(f"  {told:<58} {found}" + (f"   (wanted: {wanted})" if wanted else ""), flush=True)


def p95(times: list[float]) -> float:
    return sorted(times)[min(len(times) - 1, round(0.95 * len(times)))]


def spread(times: list[float], unit: str = "ms") -> str:
    """Median, 95 in 100, and the most."""
    return f"{median(times):.1f} / {p95(times):.1f} / {max(times):.1f} {unit}"


def load() -> str:
    return f"load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores"


@mutable
class Seat:
    """A page, as a browser has it: the state in its form, and the parts that it shows.

    Attributes:
        ask: answers a request with the messages of its stream.
        state: that its form carries.
        parts: by name, what is in them.
        seen: by name, what the form sends back of them.
    """

    ask: Callable[[PageRequest], Iterator[bytes]]
    state: str
    parts: dict[str, str] = field(factory=dict)
    seen: dict[str, str] = field(factory=dict)

    def tap(self, what: str) -> Iterator[bytes]:
        """The messages that answer a tap, each when it has been taken in."""
        asked = PageRequest(
            "step",
            form={"state": self.state, "tap": what},
            seen=frozenset(self.seen.values()),
            streams=True,
        )
        for sent in self.ask(asked):
            self._take(sent.decode())
            yield sent

    def _take(self, sent: str) -> None:
        for name, inside in re.findall(
            r'<hx-partial id="p-([^"]+)">(.*?)</hx-partial>', sent, re.S
        ):
            if name == "choices":  # the cards that were there are gone
                self.seen = {n: one for n, one in self.seen.items() if not n.startswith("c-")}
            self.parts[name] = html.unescape(inside)
            for value in re.findall(r'name="seen" value="([^"]+)"', inside):
                self.seen[value.rpartition(".")[0]] = value
        if state := re.search(r'name="state" value="([^"]+)"', sent):
            self.state = state.group(1)

    @property
    def now(self) -> FormState:
        return unpacked(self.state)


@frozen
class Taken:
    """What a step took.

    Attributes:
        slices: CPU milliseconds of each piece of work: facts, own group, pictures, other groups.
        drawn: which of them are the pictures.
        sent: bytes.
        received: bytes of the form.
    """

    slices: tuple[float, ...]
    drawn: int
    sent: int
    received: int


@frozen
class Here:
    """A worker's shop and its work, in this process."""

    counter: Counter
    slices: list[float] = field(factory=list)

    def ask(self, asked: PageRequest) -> Iterator[bytes]:
        """As a worker does it, piece by piece; keeps what each took."""
        self.slices.clear()
        pieces = answered(self.counter, asked)
        while True:
            before = time.process_time()
            piece = next(pieces, None)
            self.slices.append(1000 * (time.process_time() - before))
            if piece is None:
                return
            if piece.of is not None:
                yield piece.of.content if isinstance(piece.of, Answer) else piece.of

    def step(self, seat: Seat, tap: str) -> Taken:
        received = len(tap) + len(seat.state) + sum(map(len, seat.seen.values()))
        sent, drawn = 0, 0
        for message in seat.tap(tap):
            sent += len(message)
            if b'id="p-later"' in message:
                drawn = len(self.slices) - 1
        return Taken(tuple(self.slices), drawn, sent, received)

    def states(self, seat: Seat) -> dict[str, tuple[OptionAnswer, ...]]:
        """The states that the worker has settled for what the page shows, by choice."""
        known, selection = self.counter.settled, seat.now.selection
        return {
            choice: known[selection, choice].states
            for choice in self.counter.shop.catalogue.by_id
            if (selection, choice) in known
        }

    def new_seat(self) -> Seat:
        return Seat(self.ask, FormState(written(self.counter.shop.build().selection)).packed())


def here() -> Here:
    """A worker that has just been started, and is warm."""
    shop = Shop(pickle.loads(for_sellers(open_shop(CATALOGUE, today=DAY))))
    counter = Counter(shop, lambda: shop.register(None), lambda: DAY)
    worker = Here(counter)
    for _ in worker.ask(PageRequest("start")):
        pass
    worker.step(worker.new_seat(), "")
    collect_between()
    return worker


def sale(worker: Here, seat: Seat, seed: int) -> Iterator[str]:
    """The taps of a sale, each to be made before the next is asked for."""
    chance, shop = Random(seed), worker.counter.shop
    groups = {one.id: id_ for id_, (_, choices) in groups_of(shop).items() for one in choices}
    picks: tuple[Pick, ...] = ()

    def changed() -> Iterator[str]:
        pick = chance.choice(picks)
        states = worker.states(seat).get(pick.choice, ())
        instead = [one.option for one in states if one.state == "instead"]
        if instead and chance.random() < 0.5:
            yield f"pick:{pick.choice}:{chance.choice(instead)}"
        elif shop.catalogue.by_id[pick.choice].pick != "one":
            yield f"drop:{pick.choice}:{pick.option}"

    def picked(choice: Choice) -> Iterator[str]:
        states = worker.states(seat).get(choice.id, ())
        able = [one.option for one in states if one.state in ("open", "implied")]
        chosen = choice.id in {pick.choice for pick in picks}
        if able and not chosen and (choice.pick == "one" or chance.random() >= SKIPPED):
            yield f"pick:{choice.id}:{chance.choice(able)}"

    for choice in shop.catalogue.by_id.values():
        for taps in (changed, partial(picked, choice)):
            picks = seat.now.build(shop).selection.picks
            if taps is changed and not (picks and chance.random() < CHANGES):
                continue
            for tap in taps():
                if (group := groups[tap.split(":")[1]]) != seat.now.group:
                    yield f"look:{group}"
                yield tap


def steps(worker: Here, first: int, count: int) -> Iterator[tuple[int, str, Seat, Taken]]:
    """Seed, tap, page and what it took, of so many steps; what only turns to a group as well."""
    seed, made = first, 0
    while True:
        seat = worker.new_seat()
        worker.step(seat, "")
        for tap in sale(worker, seat, seed):
            made += not tap.startswith("look:")
            collect_if_due()  # as a worker does where nobody asks for a moment
            yield seed, tap, seat, worker.step(seat, tap)
            if made == count:
                return
        seed += 1


def differing(shop: Shop, seat: Seat) -> list[str]:
    """What the library says otherwise of price and findings than the page does."""
    build = shop.build(seat.now.selection.encode())
    parts = {name: part.replace("\N{NO-BREAK SPACE}", " ") for name, part in seat.parts.items()}
    shown_total = re.search(r"<strong>(?:from )?([^<]+)</strong>", parts["total"])
    assert shown_total is not None
    told, price = [], build.price()
    total = "No price yet" if price.is_from and not price.total else str(price.total)
    if shown_total.group(1) != total:
        told.append(f"total {shown_total.group(1)}, not {total}")
    checked = build.check()
    wanted = [str(f.sentence) for f in checked.findings if f.code != "undecided"]
    shown = re.findall(r"<p><strong>[^<]+:</strong> (.*?)</p>", parts["findings"], re.S)
    if len(wanted) != len(shown) or not all(map(str.startswith, shown, wanted)):
        told.append(f"findings {shown}, not {wanted}")
    if checked.can_quote != ("Ready to quote" in parts["total"]):
        told.append("whether it can be quoted")
    return told


def warm(first: int, count: int) -> None:
    """Steps of a warm worker: what each slice takes, what it sends, and that it is right."""
    worker, apart = here(), open_shop(CATALOGUE, today=DAY)
    facts, group, pictures, states, slices = [list[float]() for _ in range(5)]
    sent, received = list[int](), list[int]()
    long, wrong, settled, left, compared = list[str](), list[str](), 0, 0, 0
    gc.collect()
    for number, (seed, tap, seat, taken) in enumerate(steps(worker, first, count)):
        slices += taken.slices
        worst = max(taken.slices)
        if worst > 350:
            long.append(f"seed {seed}, {tap}: slice {taken.slices.index(worst)}, {worst:.0f} ms")
        if tap.startswith("look:"):
            continue
        facts.append(taken.slices[0])
        group.append(sum(taken.slices[: taken.drawn]))
        pictures.append(taken.slices[taken.drawn])
        states.append(sum(taken.slices[1:]) - taken.slices[taken.drawn])
        sent.append(taken.sent)
        received.append(taken.received)
        wrong += [f"seed {seed}, {tap}: {one}" for one in differing(apart, seat)]
        found = [one for some in worker.states(seat).values() for one in some]
        settled += sum(one.state != "undecided" for one in found)
        left += sum(one.state == "undecided" for one in found)
        if number % FRESH == 0:
            alone = open_shop(CATALOGUE, today=DAY).build(seat.now.selection.encode())
            exact = {(one.choice, one.option): one.state for one in alone.options().options}
            for one in found:
                other = exact[one.choice, one.option]
                compared += 1
                unsure = one.state == "open" and one.reason  # whether it is the only one left
                if "undecided" in (one.state, other) or (unsure and other == "implied"):
                    continue
                if one.state != other:
                    wrong.append(f"seed {seed}, {tap}: {one.choice}={one.option} {one.state}")
    print(f"2. {count} steps from seed {first}, median / p95 / most in CPU ms")
    show("facts", spread(facts), "10 / 40")
    show("facts and own group", spread(group))
    show("pictures, and what is sent with them", spread(pictures))
    show("quick states of all options", spread(states), "50 / 300")
    show("one slice", spread(slices), "none over 350")
    for said in long:
        print(f"    {said}")
    show("options not settled", f"{100 * left / (settled + left):.2f} % of {settled + left}")
    show("answers that differ from the library's", str(len(wrong)), "0")
    show("  of which states asked of a fresh engine too", str(compared))
    for said in wrong:
        print(f"    {said}")
    print("4. what a step sends, median / p95 / most")
    show("from the worker", spread([one / 1000 for one in sent], "kB"), "20 kB at the median")
    show("from the page", spread([one / 1000 for one in received], "kB"))


def start(command: list[str], folder: Path) -> tuple[float, float]:
    """Seconds by the clock and of CPU from the command until its page answers."""
    port = "0"
    with (folder / "log").open("wb") as told:
        before = time.monotonic()
        process = subprocess.Popen(
            [*command, "serve", "--port", port], stdout=told, stderr=told, cwd=folder
        )
    try:
        found = None
        while found is None:
            time.sleep(0.005)
            found = re.search(r"http://\S+", (folder / "log").read_text())
        httpx.get(found.group(0), timeout=60).raise_for_status()
        took = time.monotonic() - before
        work = sum(map(cpu, [process.pid, *descendants(process.pid)]))
    finally:
        process.send_signal(signal.SIGTERM)
        process.wait(20)
    return took, work


def cpu(pid: int) -> float:
    """CPU seconds of a process so far."""
    figures = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(figures[11]) + int(figures[12])) / os.sysconf("SC_CLK_TCK")


def cold(fresh: bool) -> None:
    """From the command to the page."""
    print(f"1. from the command to the page, {load()}")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        commands = {"here": [sys.executable, "-m", "configurator"]}
        if fresh:
            subprocess.run([sys.executable, "-m", "venv", folder / "venv"], check=True)
            own = folder / "venv" / "bin" / "python"
            subprocess.run([own, "-m", "pip", "install", "-q", ROOT], check=True)
            commands["in a new environment"] = [str(own), "-m", "configurator"]
        for where, command in commands.items():
            took, work = zip(*(start(command, folder) for _ in range(3)), strict=True)
            show(
                f"{where}, the first of three starts",
                f"{took[0]:.2f} s, {work[0]:.2f} CPU s",
                "3 s",
            )
            show(f"{where}, the best of them", f"{min(took):.2f} s, {min(work):.2f} CPU s")


@contextmanager
def page_served(*options: str) -> Iterator[Served]:
    """The page on the shipped catalogue, with every process of it at work."""
    with tempfile.TemporaryDirectory() as name, served(Path(name), *options) as running:
        assert waited(30, lambda: len(running.workers()) >= 3)
        yield running


WATCH = """() => { const form = document.querySelector("form.counter"); window.step = null;
document.addEventListener("click", () => { window.step = {from: performance.now()}; }, true);
new MutationObserver(changes => { const step = window.step; if (!step) return;
  const now = performance.now() - step.from; step.facts ??= now;
  const within = node => (node.closest ? node : node.parentElement)?.closest(
    "#p-choices, [id^=p-c-]");
  if (changes.some(one => within(one.target))) step.group = now;
}).observe(form, {childList: true, characterData: true, subtree: true,
                  attributeFilter: ["value"]});
let stream = null;
document.addEventListener("htmx:sse:after:connection", event => {
  stream = event.detail.connection; });
document.addEventListener("htmx:sse:close", event => {
  if (window.step?.facts && event.detail.connection === stream) window.step.ended = true; });
}"""


def recorded(first: int, count: int) -> dict[int, list[str]]:
    """The taps of so many steps, by the seed of their sale."""
    taps: dict[int, list[str]] = {}
    for seed, tap, _, _ in steps(here(), first, count):
        taps.setdefault(seed, []).append(tap)
    return taps


def in_browser(first: int, count: int) -> None:
    """From tap to price, and to the group that is looked at, in a browser."""
    if chromium() is None:
        print(f"3. {MISSING}")
        return
    price, group = list[float](), list[float]()
    sales = recorded(first, count)
    with page_served() as running, browser() as chrome:
        before = work_of(running)
        page = chrome.new_page(base_url=running.address, viewport={"width": 1280, "height": 900})
        page.set_default_timeout(60_000)
        for taps in sales.values():
            page.goto("/")
            page.locator("button.main").click()
            page.evaluate(WATCH)
            for tap in taps:
                page.locator(f"button[value='{tap}'], button[value='{more(tap)}']").first.click()
                page.wait_for_function("() => window.step && window.step.ended")
                told = page.evaluate("window.step")
                if not tap.startswith("look:"):
                    price.append(told["facts"])
                    group.append(told.get("group", told["facts"]))
        work = work_of(running) - before
    print(f"3. {count} steps from seed {first} in a browser, by the clock, {load()}")
    show("from tap to price", spread(price), "60 / 150")
    show("from tap to own group", spread(group), "150 / 400")
    show("CPU of the server for each step", f"{1000 * work / count:.0f} ms")


def more(tap: str) -> str:
    """The button that does it where several of an option can be picked."""
    what, _, rest = tap.partition(":")
    return f"{ {'pick': 'more', 'drop': 'less'}.get(what, what) }:{rest}".replace(" ", "")


def work_of(running: Served) -> float:
    """CPU seconds of every process of the page so far."""
    return sum(map(cpu, [running.process.pid, *running.processes()]))


def asked_of(client: httpx.Client, asked: PageRequest) -> Iterator[bytes]:
    """The messages of the server's answer."""
    data = {**asked.form, "seen": sorted(asked.seen)}
    sent = ""
    with client.stream("POST", "/package", data=data, headers={"hx-request": "true"}) as answer:
        for text in answer.iter_text():
            sent += text
            *whole, sent = sent.split("\n\n")
            yield from (one.encode() for one in whole)


@mutable
class Seller:
    """Somebody who sells at a steady pace; a step ends what is left of the one before."""

    client: httpx.Client
    taps: list[str]
    began: float
    prices: list[float] = field(factory=list)

    def sell(self, state: str) -> None:
        seat = Seat(lambda asked: asked_of(self.client, asked), state)
        for number, tap in enumerate(self.taps):
            time.sleep(max(0.0, self.began + EVERY * number - time.monotonic()))
            before, due = time.monotonic(), self.began + EVERY * (number + 1)
            answer = seat.tap(tap)
            next(answer)
            self.prices.append(1000 * (time.monotonic() - before))
            for _ in answer:
                if time.monotonic() > due:
                    break
            answer.close()  # type: ignore[attr-defined]


def together(
    running: Served, sales: list[list[str]], worst: FormState | None, why: str
) -> list[float]:
    """What sellers wait for the price, side by side, while somebody asks why or nobody does."""
    ended, answers = threading.Event(), list[str]()

    def asking() -> None:
        with running.client() as client:
            assert worst is not None
            seat = Seat(lambda asked: asked_of(client, asked), worst.packed())
            while not ended.is_set():
                for _ in seat.tap(why):
                    if ended.is_set():
                        break
                answers.append(why)

    began = time.monotonic() + 0.5
    empty = FormState(written(open_shop(CATALOGUE, today=DAY).build().selection)).packed()
    clients = [running.client() for _ in sales]
    sellers = [
        Seller(client, taps, began + EVERY * rank / len(sales))
        for rank, (client, taps) in enumerate(zip(clients, sales, strict=True))
    ]
    threads = [threading.Thread(target=seller.sell, args=[empty]) for seller in sellers]
    if worst is not None:
        threading.Thread(target=asking, daemon=True).start()
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    ended.set()
    for client in clients:
        client.close()
    return [price for seller in sellers for price in seller.prices]


def sellers(first: int, each: int) -> None:
    """Several sellers at once, and somebody who asks the hardest questions."""
    shop = open_shop(CATALOGUE, today=DAY)
    touring = shop.build(ROOT / "catalogues" / "selections" / "touring.yaml")
    crowded = shop.build()
    for pick in HARD.split():
        (choice, _, option), many = pick.split(":")[0].partition("="), pick.partition(":")[2]
        crowded = crowded.pick(choice, option, int(many or 1))
    sales = [next(iter(recorded(seed, each).values())) for seed in range(first, first + SELLERS)]
    print(f"3. {SELLERS} sellers, a step every {EVERY:.0f} s each, by the clock, {load()}")
    with page_served() as running:
        alone = together(running, sales, None, "")
    show("price, nobody asks why", spread(alone), "p95 at most 300")
    for told, build, why in (
        ("a crowded canopy", crowded, "why:"),
        ("touring", touring, "why:canopy-length:1400mm"),
    ):
        with page_served() as running:
            prices = together(running, sales, FormState(written(build.selection)), why)
        show(f"price, while somebody asks why of {told}", spread(prices), "p95 at most 300")
        longer = max(0.0, max(prices) - max(alone))
        show("  the longest is longer by", f"{longer:.0f} ms", "at most 350")
    show("the load at the end", load())


def kills(first: int) -> None:
    """Any worker killed in the middle of a step; and the end of it all."""
    print(f"5. processes that end, by the clock, {load()}")
    shop = open_shop(CATALOGUE, today=DAY)
    build = shop.build(ROOT / "catalogues" / "selections" / "wish.yaml")
    waits, kept = list[float](), 0
    with page_served() as running, running.client() as client:
        state = FormState(written(build.selection)).packed()
        chance = Random(first)
        for worker in running.workers():
            killing = threading.Timer(
                chance.uniform(0.005, 0.04), os.kill, (worker, signal.SIGKILL)
            )
            killing.start()
            seat = Seat(lambda asked: asked_of(client, asked), state)
            before = time.monotonic()
            next(seat.tap("pick:canopy-height:1000mm"))
            waits.append(time.monotonic() - before)
            killing.join()
            before = time.monotonic()
            next(seat.tap("look:tray"))
            waits.append(time.monotonic() - before)
            after = build.pick("canopy-height", "1000mm").tidied()
            kept += seat.now.selection == written(after.selection)
        show("next answer after kill -9 of each worker, the longest", f"{max(waits):.2f} s", "5 s")
        show("picks kept", f"{kept} of {len(waits) // 2}", "all")
        assert waited(30, lambda: len(running.workers()) >= 3)
        everything = [running.process.pid, *running.processes()]
        before = time.monotonic()
        running.process.send_signal(signal.SIGTERM)
        running.process.wait(30)
        ended = waited(30, gone, everything[1:])
        took = time.monotonic() - before
    show("SIGTERM, until every process has ended", f"{took:.2f} s", "2 s")
    show("processes left", "none" if ended else "some", "none")


def main() -> None:
    """Measure what is asked for, and print it."""
    parser = ArgumentParser(description=__doc__, formatter_class=RawDescriptionHelpFormatter)
    parser.add_argument("figures", nargs="*", help="steps start fresh browser sellers kills")
    parser.add_argument("--steps", type=int, default=300)
    parser.add_argument("--seed", type=int, default=0)
    given = parser.parse_args()
    asked = given.figures or ["start", "steps", "browser", "sellers", "kills"]
    if "start" in asked or "fresh" in asked:
        cold("fresh" in asked)
    if "steps" in asked:
        warm(given.seed, given.steps)
    if "browser" in asked:
        in_browser(given.seed, min(60, given.steps))
    if "sellers" in asked:
        sellers(given.seed, 12)
    if "kills" in asked:
        kills(given.seed)


if __name__ == "__main__":
    main()
