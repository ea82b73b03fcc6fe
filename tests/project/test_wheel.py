"""What is shipped: the wheel, built and installed as a customer would, runs the main job.

It is installed beside the lowest versions that it allows, as somebody would who keeps old versions
of the rest: what pyproject.toml says of them is true.
"""

from __future__ import annotations

import fcntl
import json
import os
import re
import subprocess
import sys
import tarfile
import tomllib
import venv
import zipfile
from pathlib import Path

import pytest

from tests.support.paths import ROOT

CLEAN = {
    name: value
    for name, value in os.environ.items()
    if not name.startswith(("PYTHON", "VIRTUAL_ENV", "PYTEST", "CONFIGURATOR"))
}


def ran(*command: str | Path, folder: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [str(part) for part in command],
        cwd=folder,
        env=CLEAN,
        capture_output=True,
        text=True,
        check=False,
    )


def run(*command: str | Path, folder: Path) -> str:
    done = ran(*command, folder=folder)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the wheel and the source archive, built from the checkout once.

    All workers of one run share it.
    """
    base = tmp_path_factory.getbasetemp()
    folder = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "dist"
    folder.mkdir(exist_ok=True)
    with (folder / "lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not list(folder.glob("*.whl")):
            build = (sys.executable, "-m", "build", "--no-isolation")  # pip isolates in .ci/run
            run(*build, "--outdir", folder, ROOT, folder=folder)
    return folder


def shipped_files() -> set[str]:
    """Everything of the checkout that belongs into a wheel, as the wheel should call it."""
    code = {path.relative_to(ROOT) for path in (ROOT / "configurator").rglob("*")}
    data = {
        Path("configurator") / path.relative_to(ROOT)
        for folder in ("catalogues", "templates")
        for path in (ROOT / folder).rglob("*")
    }
    found = {path for path in code | data if path.suffix and path.suffix != ".pyc"}
    assert len(found) > 30
    return {path.as_posix() for path in found}


def test_the_wheel_holds_the_package_with_its_data_and_nothing_else(built: Path) -> None:
    (wheel,) = built.glob("*.whl")
    assert wheel.name.startswith("tray_canopy_configurator-")
    assert wheel.name.endswith("-py3-none-any.whl")
    names = {n for n in zipfile.ZipFile(wheel).namelist() if ".dist-info/" not in n}
    assert names == shipped_files()
    assert {"configurator/py.typed", "configurator/catalogues/quandong.yaml"} <= names


def test_the_source_archive_holds_what_builds_and_tests_it(built: Path) -> None:
    (archive,) = built.glob("*.tar.gz")
    with tarfile.open(archive) as tar:
        names = {name.partition("/")[2] for name in tar.getnames()}
    tops = {name.split("/")[0] for name in names}
    wanted = {"README.md", "DEVELOPERS.md", "pyproject.toml", "configurator", "catalogues"}
    assert wanted | {"templates", "tests"} <= tops
    rest = {"templates", "tests", ".ci", ".pictures", "PKG-INFO", ".gitignore"}
    assert tops - wanted - rest == set()
    assert {
        "catalogues/quandong.yaml",
        "templates/paper.css",
        "tests/project/test_wheel.py",
        ".ci/run",
    } <= names


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


def test_the_installed_wheel_does_the_main_job_from_anywhere_with_the_lowest_versions(
    built: Path, tmp_path: Path
) -> None:
    (wheel,) = built.glob("*.whl")
    venv.create(tmp_path / "fresh")
    fresh = tmp_path / "fresh" / "bin"
    pip = (sys.executable, "-m", "pip", "--disable-pip-version-check", "--python", fresh / "python")
    run(*pip, "install", "--quiet", "--no-compile", wheel, *lowest(), folder=tmp_path)
    listed = json.loads(run(*pip, "list", "--format=json", folder=tmp_path))
    versions = {found["name"].lower(): found["version"] for found in listed}
    assert f"attrs=={versions['attrs']}" in [f"{one}.0" for one in lowest()]
    assert not versions.keys() & {"pytest", "hypothesis", "mypy", "ruff"}

    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    strict = (fresh / "python", "-W", "error", "-m", "configurator")
    said = run(*strict, "demo", "papers", folder=elsewhere)
    for name in ("touring", "contractor", "comparison"):
        assert f"papers/{name}.pdf: " in said
        assert (elsewhere / "papers" / f"{name}.pdf").read_bytes().startswith(b"%PDF-")
    home = "import configurator; print(configurator.__file__)"
    place = Path(run(fresh / "python", "-c", home, folder=elsewhere).strip())
    assert place.is_relative_to(tmp_path / "fresh")
    assert "no problems" in run(fresh / "configurator", "catalogue", "check", folder=elsewhere)

    copied = elsewhere / "wish.yaml"
    shipped = place.parent / "catalogues" / "selections" / "touring.yaml"
    copied.write_text(shipped.read_text("utf-8").replace("colour: stone", "colour: white"), "utf-8")
    quote = Path("papers") / "touring.pdf"
    assert run(fresh / "configurator", "check", quote, folder=elsewhere) == run(
        fresh / "configurator", "check", shipped, folder=elsewhere
    )
    compared = ("compare", quote, copied.name, "--json", "--date", "2026-08-03")
    answer = json.loads(run(fresh / "configurator", *compared, folder=elsewhere))
    assert [row["choice"] for row in answer["choices"] if row["differs"]] == ["colour"]

    (elsewhere / "deep.yaml").write_text("[" * 100_000, "utf-8")
    done = ran(fresh / "configurator", "check", "deep.yaml", folder=elsewhere)
    assert done.returncode == 1
    assert "deep.yaml:1:" in done.stderr
