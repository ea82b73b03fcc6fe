"""What is shipped: the wheel, built and installed as a customer would, runs the main job."""

from __future__ import annotations

import json
import subprocess
import sys
import tarfile
import venv
import zipfile
from pathlib import Path

import pytest

from tests.support.paths import ROOT
from tests.support.wheel import CLEAN


def run(*command: str | Path, folder: Path) -> str:
    done = subprocess.run(
        [str(part) for part in command],
        cwd=folder,
        env=CLEAN,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the wheel and the source archive, both built from the checkout."""
    folder = tmp_path_factory.mktemp("dist")
    run(sys.executable, "-m", "build", "--outdir", folder, ROOT, folder=folder)
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


def test_the_installed_wheel_does_the_main_job_from_anywhere(built: Path, tmp_path: Path) -> None:
    (wheel,) = built.glob("*.whl")
    venv.create(tmp_path / "fresh", with_pip=True)
    fresh = tmp_path / "fresh" / "bin"
    quick = ("--quiet", "--disable-pip-version-check", "--no-compile")
    run(fresh / "pip", "install", *quick, wheel, folder=tmp_path)
    listed = run(fresh / "pip", "list", "--disable-pip-version-check", folder=tmp_path).lower()
    for name in ("pytest", "hypothesis", "mypy", "ruff"):
        assert f"\n{name} " not in listed

    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    said = run(fresh / "configurator", "demo", "papers", folder=elsewhere)
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
    day = ("--date", "2026-08-03")
    run(fresh / "configurator", "quote", shipped, "-o", "quote.pdf", *day, folder=elsewhere)
    assert run(fresh / "configurator", "check", "quote.pdf", folder=elsewhere) == run(
        fresh / "configurator", "check", shipped, folder=elsewhere
    )
    compared = ("compare", "quote.pdf", copied.name, "--json", *day)
    answer = json.loads(run(fresh / "configurator", *compared, folder=elsewhere))
    assert [row["choice"] for row in answer["choices"] if row["differs"]] == ["colour"]
