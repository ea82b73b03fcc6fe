"""The README's examples for other programs, run against the command's own server."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from collections.abc import Iterator

import httpx2 as httpx
import pytest

from tests.support.paths import ROOT
from tests.support.programs import selection as shipped
from tests.support.served import Served, served, waited


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    with served(tmp_path_factory.mktemp("api")) as running:
        yield running


def example(kind: str, address: str) -> str:
    """The README's only example of a kind, asking this server."""
    text = (ROOT / "README.md").read_text("utf-8")
    (found,) = re.findall(rf"^```{kind}\n(.*?)^```$", text, re.DOTALL | re.MULTILINE)
    assert "http://127.0.0.1:8080/" in found
    return str(found).replace("http://127.0.0.1:8080/", address)


def test_the_python_example_of_the_readme_prints_a_total(server: Served) -> None:
    program = example("python", server.address)
    ran = subprocess.run([sys.executable, "-c", program], capture_output=True, check=True)
    assert re.fullmatch(rb"[0-9]+\.[0-9]{2}\n", ran.stdout)


@pytest.mark.skipif(shutil.which("curl") is None, reason="curl is not installed")
def test_the_curl_example_of_the_readme_gets_its_answer(server: Served) -> None:
    ran = subprocess.run(
        ["sh", "-c", example("bash", server.address)], capture_output=True, check=True
    )
    assert b'"answer": "check"' in ran.stdout


def test_a_worker_that_has_answered_stays_and_one_that_nobody_waits_for_ends(
    server: Served,
) -> None:
    """The ways out here take long. A worker that is still starting would not have begun on them."""
    asked = {"choice": "canopy-length", "option": "1400mm", "selection": shipped("touring")}
    assert waited(60, lambda: len(server.workers()) >= 3)
    first = set(server.workers())
    with httpx.Client(base_url=server.address, timeout=60) as client:
        assert client.post("/api/v1/explain", json=asked).status_code == 200
        assert waited(60, lambda: len(server.workers()) >= 4)
        every = set(server.workers())
        assert first <= every
        with pytest.raises(httpx.ReadTimeout):
            client.post("/api/v1/fixes", json={**asked, "count": 20}, timeout=1.5)
        assert waited(60, lambda: every - set(server.workers()))
        assert client.post("/api/v1/price", json={}).status_code == 200
