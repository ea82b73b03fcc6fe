"""Where things are that tests read."""

from pathlib import Path

ROOT = Path(__file__).parents[2]
"""The whole project."""

PACKAGE = ROOT / "configurator"
TESTS = ROOT / "tests"
CASES = TESTS / "cases"
GOLDEN = TESTS / "golden"
