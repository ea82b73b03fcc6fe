"""The lowest versions that pyproject.toml allows do the main job: what it says is true.

They are installed from the package index, as somebody would who keeps old versions of the rest.
"""

from __future__ import annotations

import re
import subprocess
import tomllib
import venv
from pathlib import Path

import pytest

from tests.support.paths import ROOT
from tests.support.wheel import CLEAN

QUICK = ("--quiet", "--disable-pip-version-check", "--no-compile")


def lowest() -> list[str]:
    """Each direct requirement at its lowest version; where 9.11 is no version, any 9.11."""
    wanted = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["dependencies"]
    found = []
    for one in wanted:
        named = re.fullmatch(r"([a-z0-9-]+)([>=]=)([0-9a-z.]+)", one)
        assert named, f"{one}: write it as name>=version or name==version"
        name, _, version = named.groups()
        found.append(f"{name}=={version}.*" if name == "ortools" else f"{name}=={version}")
    return found


def run(*command: str | Path, folder: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [str(part) for part in command],
        cwd=folder,
        env={**CLEAN, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.fixture(scope="module")
def python(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A Python with the lowest versions and nothing else."""
    folder = tmp_path_factory.mktemp("lowest")
    venv.create(folder / "old", with_pip=True)
    python = folder / "old" / "bin" / "python"
    install = (python, "-m", "pip", "install", *QUICK)
    probe = run(*install, "--dry-run", "--no-deps", "attrs", folder=folder)
    if probe.returncode:
        pytest.skip("no package index can be reached from here")
    done = run(*install, *lowest(), folder=folder)
    assert done.returncode == 0, done.stderr
    return python


def test_the_lowest_versions_make_the_demo(python: Path, tmp_path: Path) -> None:
    done = run(python, "-W", "error", "-m", "configurator", "demo", "papers", folder=tmp_path)
    assert done.returncode == 0, done.stdout + done.stderr
    for name in ("touring", "contractor", "comparison"):
        assert (tmp_path / "papers" / f"{name}.pdf").read_bytes().startswith(b"%PDF-")
    again = run(python, "-m", "configurator", "check", "papers/touring.pdf", folder=tmp_path)
    assert (again.returncode, again.stderr) == (0, "")


def test_the_lowest_versions_refuse_what_never_ends(python: Path, tmp_path: Path) -> None:
    (tmp_path / "deep.yaml").write_text("[" * 100_000, "utf-8")
    done = run(python, "-m", "configurator", "check", "deep.yaml", folder=tmp_path)
    assert done.returncode == 1
    assert "deep.yaml:1:" in done.stderr
