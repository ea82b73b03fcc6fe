"""What is asked for is read as the shop writes: its country, and budgets above zero."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import pytest

from tests.support.commands import Run
from tests.support.paths import ROOT

TOURING = str(ROOT / "catalogues" / "selections" / "touring.yaml")
DAY = dt.date(2026, 8, 3)


@pytest.mark.parametrize(
    ("asked", "day"),
    [
        ("en", "3 August 2026"),
        ("en-AU", "3 August 2026"),
        ("en-US", "August 3, 2026"),
        ("de", "3. August 2026"),
    ],
)
def test_a_language_without_a_country_is_written_as_in_the_shops_own(
    asked: str, day: str, run: Run, tmp_path: Path
) -> None:
    paper = tmp_path / "quote.html"
    run("quote", TOURING, "--number", "Q-1", f"--date={DAY}", "--language", asked, "-o", str(paper))
    told = " ".join(re.sub("<[^>]*>", " ", paper.read_text("utf-8")).split())
    assert day in told
    assert ("August 3, 2026" in told) == (asked == "en-US")


@pytest.mark.parametrize("budget", ["-5", "0", "0.00", "AUD -5", "-AUD 5"])
def test_a_budget_that_is_not_above_zero_is_refused_as_such(budget: str, run: Run) -> None:
    told = run("within", TOURING, "--budget", budget)
    assert told.code == 2
    assert f'has to be above zero, and "{budget}" is not' in " ".join(told.err.split())
