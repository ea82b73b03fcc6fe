"""A machine without Pango: simulated by a module that fails as WeasyPrint does there.

WeasyPrint 70 without its system libraries prints a banner on standard output and raises OSError
while it is imported (seen on a clean Debian 12).
"""

from __future__ import annotations

import os
import subprocess
import sys
from itertools import count
from pathlib import Path

import pytest

from configurator.render.pdf import html_to_pdf
from tests.support.commands import Run
from tests.support.made_papers import page_of
from tests.support.paths import ROOT

BANNER = """
print("\\n-----\\n\\nWeasyPrint could not import some external libraries. Please follow\\n")
raise OSError(
    "cannot load library 'libpango-1.0-0': libpango-1.0.so.0: cannot open shared object file: "
    "No such file or directory"
)
"""
TOLD = """\
the PDF renderer lacks system libraries (cannot load library 'libpango-1.0-0': \
libpango-1.0.so.0: cannot open shared object file: No such file or directory). \
On Debian and Ubuntu:
    apt-get install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0
Everything but PDF works without them; -o FILE.html writes the same page.
"""


@pytest.fixture
def without_pango(tmp_path: Path) -> dict[str, str]:
    """An environment in which the module that is found as weasyprint fails."""
    broken = tmp_path / "broken" / "weasyprint"
    broken.mkdir(parents=True)
    (broken / "__init__.py").write_text(BANNER)
    found = [str(broken.parent), str(ROOT), os.environ.get("PYTHONPATH")]
    return {**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, found))}


SELECTION = str(ROOT / "catalogues" / "selections" / "contractor.yaml")


WITHOUT = """\
import sys
from configurator.__main__ import main
for one in {}:
    sys.argv = ["configurator", *one]
    try:
        main()
    except SystemExit as left:
        print(left.code)
"""


def test_a_pdf_names_the_line_that_installs_what_is_missing(
    without_pango: dict[str, str], tmp_path: Path
) -> None:
    """One process for all: what failed to be imported once fails again."""
    commands = (
        ["quote", SELECTION, "-o", "out.pdf", "--date", "2026-08-03"],
        ["compare", SELECTION, SELECTION, "-o", "out.pdf"],
        ["demo", "."],
    )
    done = subprocess.run(
        [sys.executable, "-c", WITHOUT.format(commands)],
        env=without_pango, cwd=tmp_path, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (done.stdout, done.stderr) == ("3\n" * len(commands), TOLD * len(commands))
    assert not list(tmp_path.glob("*.pdf"))


def cautions(run: Run) -> str:
    """What the quote cautions of, as it is told on standard error where the libraries are there."""
    told = run("quote", SELECTION, "-o", "cautions.json", "--date", "2026-08-03").err
    assert told.startswith("caution: ")
    return told


EACH = """\
from configurator.cli import cli
for one in {}:
    try:
        cli(one, standalone_mode=False)
    except SystemExit as left:
        assert not left.code, one
"""


def test_everything_else_works_without_them(
    without_pango: dict[str, str], tmp_path: Path, run: Run
) -> None:
    """One process for all: what failed to be imported once fails again."""
    commands = (
        ["check", SELECTION],
        ["price", SELECTION],
        ["compare", SELECTION, SELECTION],
        ["catalogue", "check"],
        ["quote", SELECTION, "-o", "q.html", "--date", "2026-08-03"],
        ["quote", SELECTION, "-o", "q.json", "--date", "2026-08-03"],
        ["compare", SELECTION, SELECTION, "-o", "c.html"],
    )
    done = subprocess.run(
        [sys.executable, "-c", EACH.format(commands)],
        env=without_pango, cwd=tmp_path, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0
    assert done.stderr.split() == 2 * cautions(run).split()
    assert "WeasyPrint" not in done.stdout
    assert (tmp_path / "q.html").read_text("utf-8").startswith("<!DOCTYPE html>")


def test_without_the_optional_library_the_same_page_is_still_the_same_file(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    html_to_pdf(page_of("layout of contractor"))
    monkeypatch.setattr("weasyprint.pdf.fonts.harfbuzz_subset", None)
    clock = count(3_900_000_000)
    monkeypatch.setattr("fontTools.ttLib.tables._h_e_a_d.timestampNow", lambda: next(clock))
    assert html_to_pdf(page_of("layout of contractor")) == html_to_pdf(
        page_of("layout of contractor")
    )


HIDDEN = """\
import sys
import cffi
found = cffi.FFI.dlopen
def dlopen(self, name, flags=0):
    if "harfbuzz-subset" in str(name):
        raise OSError(name)
    return found(self, name, flags)
cffi.FFI.dlopen = dlopen
from configurator.__main__ import main
try:
    main()
finally:
    from weasyprint.pdf import fonts
    assert fonts.harfbuzz_subset is None
"""


def test_with_pango_and_without_the_optional_library_nothing_is_warned_of(
    tmp_path: Path, run: Run
) -> None:
    quote = ("quote", SELECTION, "-o", "q.pdf", "--date", "2026-08-03")
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", HIDDEN, *quote],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, cautions(run))
    assert (tmp_path / "q.pdf").read_bytes().startswith(b"%PDF-")


def test_the_readme_and_the_set_up_name_the_same_packages() -> None:
    wanted = "libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0"
    for file in ("README.md", ".ci/libraries"):
        assert wanted in (ROOT / file).read_text("utf-8"), file


def _set_up(folder: Path, *commands: str) -> subprocess.CompletedProcess[str]:
    """Run the set-up of the libraries where only these commands exist, as an ordinary user."""
    tools = folder / "tools"
    tools.mkdir()
    script = '#!/bin/sh\necho "$(basename "$0")" "$@" >> "$LOG"\n'
    for name in ("apt-get", "sudo", "id", "python3"):
        if name not in commands:
            continue
        text = {"id": "#!/bin/sh\necho 1000\n", "python3": "#!/bin/sh\nexit 1\n"}.get(name, script)
        (tools / name).write_text(text)
        (tools / name).chmod(0o755)
    for name in ("basename", "cat"):
        (tools / name).symlink_to(Path("/usr/bin") / name)
    return subprocess.run(
        ["/bin/sh", str(ROOT / ".ci" / "libraries")],
        env={"PATH": str(tools), "LOG": str(folder / "log")},
        capture_output=True,
        text=True,
        check=False,
    )


def test_an_ordinary_user_installs_them_through_sudo(tmp_path: Path) -> None:
    done = _set_up(tmp_path, "apt-get", "sudo", "id", "python3")
    assert (done.returncode, done.stderr) == (0, "")
    update, install = (tmp_path / "log").read_text().splitlines()
    assert update == "sudo apt-get update -qq"
    assert install.endswith(
        "python3 python3-venv libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0"
    )


def test_without_sudo_or_apt_it_says_what_to_install(tmp_path: Path) -> None:
    done = _set_up(tmp_path, "apt-get", "id", "python3")
    assert done.returncode == 1
    assert done.stderr.startswith("as root, run: apt-get install python3 python3-venv libpango")
    (other := tmp_path / "other").mkdir()
    done = _set_up(other, "id", "python3")
    assert (done.returncode, done.stdout) == (0, "")
    assert done.stderr.startswith("install Python 3.11 or later, Pango and HarfBuzz")
