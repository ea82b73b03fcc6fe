"""The processes behind the page: killed, replaced, ended; and a catalogue that changes."""

from __future__ import annotations

import asyncio
import html
import os
import re
import shutil
import signal
import threading
import time
from collections.abc import Callable, Coroutine, Iterable, Iterator
from contextlib import aclosing, suppress
from multiprocessing import active_children
from pathlib import Path

import httpx2 as httpx
import pytest

from configurator import open_shop
from configurator.web.crew import Crew
from configurator.web.messages import Answer, PageRequest, Posting, for_sellers
from configurator.web.state import FormState, written
from tests.support.paths import ROOT
from tests.support.served import Served, gone, served, waited

CATALOGUE = ROOT / "catalogues" / "quandong.yaml"


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    folder = tmp_path_factory.mktemp("served")
    shutil.copytree(CATALOGUE.parent, folder, dirs_exist_ok=True)
    (folder / CATALOGUE.name).rename(folder / "shop.yaml")
    with served(folder, "--catalogue", str(folder / "shop.yaml")) as running:
        yield running


def state_of(text: str) -> str:
    found = re.search(r'name="state" value="([^"]+)"', text)
    assert found is not None, text[:500]
    return found.group(1)


def ready(client: httpx.Client, title: str) -> str:
    """The state of a ready package."""
    text = client.get("/").text
    found = re.search(rf'value="([^"]+)">\s*<button name="tap" value="">{title}', text)
    assert found is not None
    return found.group(1)


def total(text: str) -> str:
    found = re.search(r"<strong>(?:from |so far )?([^<]+)</strong>", text)
    assert found is not None
    return html.unescape(found.group(1)).replace("\N{NO-BREAK SPACE}", " ")


def told(workers: Iterable[int], what: signal.Signals) -> None:
    """Signal workers, but for those that have ended: nobody waited for their answer any more."""
    for worker in workers:
        with suppress(ProcessLookupError):
            os.kill(worker, what)


def test_any_worker_killed_in_mid_step_is_replaced_and_the_picks_are_kept(server: Served) -> None:
    with server.client() as client:
        state = ready(client, "Weekends")
        assert waited(60, lambda: len(server.workers()) >= 3)
        for worker in server.workers():
            killing = threading.Timer(0.02, told, [[worker], signal.SIGKILL])
            killing.start()
            data = {"state": state, "tap": "pick:canopy-height:1000mm"}
            answer = client.post("/package", data=data)
            killing.join()
            assert total(answer.text) == "AUD 28,335.00"
        assert "Redo" in client.post("/package", data={"state": state, "tap": ""}).text
        assert waited(60, lambda: len(server.workers()) >= 3)


def at_work() -> set[int]:
    """The processes that this one has started."""
    return {one.pid for one in active_children() if one.pid}


async def answered(crew: Crew) -> float:
    """A step, answered right within so many seconds."""
    shop = open_shop(CATALOGUE)
    build = shop.build(CATALOGUE.parent / "selections" / "wish.yaml")
    form = {
        "state": FormState(written(build.selection)).packed(),
        "tap": "pick:canopy-height:1000mm",
    }
    begun = time.monotonic()
    async with aclosing(crew.ask(PageRequest("step", form=form), False, "seat")) as pieces:
        page = await anext(pieces)
    assert isinstance(page, Answer)
    assert total(page.content.decode()) == "AUD 28,335.00"
    return time.monotonic() - begun


def worked(sell: Callable[[Crew], Coroutine[None, None, None]]) -> None:
    """That much is done by a crew of its own."""

    async def all_day() -> None:
        crew = Crew(Posting(for_sellers(open_shop(CATALOGUE))), quick=1)
        await crew.start()
        try:
            await sell(crew)
        finally:
            crew.stop()

    asyncio.run(asyncio.wait_for(all_day(), 300))


def test_a_reason_does_not_wait_for_the_fixes_of_others() -> None:
    def asked(what: str, name: str, tap: str) -> PageRequest:
        build = open_shop(CATALOGUE).build(CATALOGUE.parent / "selections" / f"{name}.yaml")
        state = FormState(written(build.selection)).packed()
        return PageRequest(what, form={"state": state, "tap": tap}, streams=True)

    async def sell(crew: Crew) -> None:
        async def told(one: PageRequest) -> str:
            async with aclosing(crew.ask(one, True, "seat")) as pieces:
                found = [one.content if isinstance(one, Answer) else one async for one in pieces]
            return b"".join(found).decode()

        long = asked("ways", "touring", "ways:vehicle:mid-dual")
        others = [asyncio.create_task(told(long)) for _ in range(5)]
        while len(at_work()) < 5:
            await asyncio.sleep(0.05)
        reason = await told(asked("reasons", "wish", "why:canopy-height:1200mm"))
        assert "Looking for ways" in reason
        assert not any(one.done() for one in others)

    worked(sell)


def test_workers_that_hang_delay_nobody_and_are_replaced() -> None:
    """A stopped process neither answers nor ends; first all of them are, then one at a time."""

    async def sell(crew: Crew) -> None:
        await answered(crew)
        while len(first := at_work()) < 2:
            await asyncio.sleep(0.05)
        crew.silence = max(1.0, 20 * await answered(crew))  # however busy the machine is
        told(first, signal.SIGSTOP)
        await answered(crew)
        while first <= at_work():
            await asyncio.sleep(0.05)
        told(first, signal.SIGKILL)
        await answered(crew)
        for worker in at_work():
            told([worker], signal.SIGSTOP)
            await answered(crew)
            told([worker], signal.SIGCONT)

    worked(sell)


def test_a_worker_that_hangs_as_it_starts_is_replaced() -> None:
    async def sell(crew: Crew) -> None:
        first, usual = at_work(), crew.patience
        told(first, signal.SIGSTOP)
        crew.patience = 0.2
        waiting = asyncio.create_task(answered(crew))
        while first & at_work():
            await asyncio.sleep(0.05)
        crew.patience = usual
        await waiting

    worked(sell)


def test_fixes_that_nobody_waits_for_are_ended(server: Served) -> None:
    """The fixes here take long; their process goes with whoever asked."""
    with server.client() as client:
        assert waited(60, lambda: len(server.workers()) >= 3)
        data = {"state": ready(client, "Touring"), "tap": "why:vehicle:mid-dual"}
        with client.stream("POST", "/package", data=data, headers={"hx-request": "true"}) as answer:
            told = ""
            for more in answer.iter_text():
                told += more
                if "way-1" in told:
                    before = set(server.workers())  # leaving the loop ends the stream
                    break
            assert "Looking for more" in told
        assert waited(60, lambda: before - set(server.workers()))
        assert client.post("/package", data={**data, "tap": "look:tray"}).status_code == 200


def test_a_changed_catalogue_is_read_and_a_wrong_one_is_said_by_line(server: Served) -> None:
    file = Path(str(server.process.args[-1]))  # type: ignore[index]
    text = file.read_text("utf-8")
    name = "Quandong Flat Fabrication"
    with server.client() as client:
        file.write_text(text.replace(f"name: {name}", "name: Mulga & Sons", 1), "utf-8")
        assert waited(60, lambda: "Mulga &amp; Sons" in client.get("/").text, every=0.3)
        lines = text.splitlines()
        number = next(n for n, line in enumerate(lines, 1) if line.startswith("currency:"))
        file.write_text("\n".join(["currency: dollars" if n == number else line for n, line in
                                   enumerate(lines, 1)]), "utf-8")  # fmt: skip
        assert waited(60, lambda: "cannot be read" in client.get("/").text, every=0.3)
        page = client.get("/").text
        assert re.search(rf"shop\.yaml:{number}:", page)
        assert "Mulga &amp; Sons" in page
        told(server.workers(), signal.SIGKILL)
        assert "Mulga &amp; Sons" in client.get("/").text
        file.write_text(text, "utf-8")
        assert waited(60, lambda: name in client.get("/").text, every=0.3)
        assert "cannot be read" not in client.get("/").text


def test_a_signal_ends_every_process(tmp_path: Path) -> None:
    with served(tmp_path) as running:
        assert waited(60, lambda: len(running.processes()) >= 4)
        everything = running.processes()
        with running.client() as client:
            state = ready(client, "Touring")
            data = {"state": state, "tap": "look:canopy"}
            with client.stream("POST", "/package", data=data, headers={"hx-request": "true"}):
                running.process.send_signal(signal.SIGTERM)
                assert waited(60, lambda: running.process.poll() is not None)
        assert waited(60, gone, everything)
        assert "Traceback" not in running.log.read_text()


def test_nothing_is_left_where_the_command_itself_is_killed(tmp_path: Path) -> None:
    with served(tmp_path) as running:
        with running.client() as client:
            client.get("/")
        everything = running.processes()
        os.kill(running.process.pid, signal.SIGKILL)
        running.process.wait(60)
        assert waited(60, gone, everything)
