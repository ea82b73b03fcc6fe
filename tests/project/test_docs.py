"""The documentation is run: its sessions replayed, its example read, its names looked up.

Sessions are compared to the letter, but for spaces at the ends of lines. UPDATE_GOLDEN=1 writes
what is printed now into the README instead: look at it before it is committed.
"""

from __future__ import annotations

import ast
import doctest
import os
import re
import shlex
from collections.abc import Iterator
from pathlib import Path

import click
import pytest

from configurator.catalogue.reading import parse_catalogue
from configurator.cli import cli
from configurator.cli.common import Commands
from tests.support.commands import Run
from tests.support.paths import ROOT
from tests.support.source import MODULES, tree

README = ROOT / "README.md"
DEVELOPERS = ROOT / "DEVELOPERS.md"
UPDATE = os.environ.get("UPDATE_GOLDEN") == "1"


def blocks(kind: str, file: Path = README) -> list[str]:
    """What stands between the fences of one kind, in order."""
    return re.findall(rf"^```{kind}\n(.*?)^```$", file.read_text("utf-8"), re.DOTALL | re.MULTILINE)


def trimmed(text: str) -> str:
    """Without spaces at the ends of lines and empty lines around."""
    return "\n".join(line.rstrip() for line in text.strip("\n").splitlines())


@pytest.fixture
def beside_the_catalogues(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """A folder as the README sees it, with the README's own catalogue in it."""
    (tmp_path / "catalogues").symlink_to(ROOT / "catalogues")
    (tmp_path / "corner-yard.yaml").write_text(blocks("yaml")[0], "utf-8")
    for name, text in zip(("fishing", "dogs", "cold-supply"), blocks("yml"), strict=True):
        (tmp_path / f"{name}.yaml").write_text(text, "utf-8")
    (tmp_path / "cold-supply.csv").write_text(blocks("csv")[0], "utf-8")
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "paper.css").write_text(blocks("css")[0], "utf-8")
    (tmp_path / "mine" / "page.html").write_text(blocks("html")[0], "utf-8")
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.delenv("CONFIGURATOR_REGISTER")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    return run


def replayed(block: str, run: Run) -> Iterator[str]:
    for command in re.findall(r"^\$ (.+)$", block, re.MULTILINE):
        program, *arguments = shlex.split(command)
        assert program == "configurator"
        ran = run(*arguments)
        assert ran.code in (0, 1), ran.err
        yield trimmed(f"$ {command}\n{ran.out}{ran.err}")


def test_the_sessions_of_the_readme_print_what_it_says(beside_the_catalogues: Run) -> None:
    sessions = blocks("console")
    assert len(sessions) >= 4
    text = README.read_text("utf-8")
    for session in sessions:
        now = "\n".join(replayed(session, beside_the_catalogues)) + "\n"
        if UPDATE:
            text = text.replace(f"```console\n{session}```", f"```console\n{now}```")
            README.write_text(text, "utf-8")
        else:
            assert session == now


def test_the_readme_s_own_catalogue_shows_no_size_on_the_road_that_it_does_not_state(
    beside_the_catalogues: Run,
) -> None:
    picks = ["--pick", "vehicle=single-cab", "--pick", "box=low", "--pick", "lock=key"]
    ran = beside_the_catalogues("mass", "--catalogue", "corner-yard.yaml", *picks)
    assert ran.code == 0
    assert "Payload used, fully loaded" in ran.out
    assert "overhang" not in ran.out
    assert "Overall" not in ran.out
    kept = ["--number", "Q-1", "--date", "2026-08-03", "-o", "q.html"]
    ran = beside_the_catalogues("quote", "--catalogue", "corner-yard.yaml", *picks, *kept)
    assert ran.code == 0
    page = Path("q.html").read_text("utf-8")
    assert "Fully loaded" in page
    assert "overhang" not in page
    assert "Overall" not in page


def test_the_python_session_of_the_readme_prints_what_it_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "catalogues").symlink_to(ROOT / "catalogues")
    monkeypatch.chdir(tmp_path)
    (session,) = blocks("pycon")
    parsed = doctest.DocTestParser().get_doctest(session, {}, "README", str(README), 0)
    found: list[str] = []
    runner = doctest.DocTestRunner(verbose=False)
    if UPDATE:
        for example in parsed.examples:
            example.want = ""
        now = _rerun(parsed)
        text = README.read_text("utf-8")
        README.write_text(text.replace(f"```pycon\n{session}```", f"```pycon\n{now}```"), "utf-8")
    else:
        runner.run(parsed, out=found.append)
        assert not found, "".join(found)
        assert len(parsed.examples) >= 6


def _rerun(parsed: doctest.DocTest) -> str:
    import contextlib
    import io

    lines, names = [], dict(parsed.globs)
    for example in parsed.examples:
        shown = io.StringIO()
        with contextlib.redirect_stdout(shown):
            exec(compile(example.source, "README", "single"), names)
        source = example.source.rstrip("\n").split("\n")
        lines.append("\n".join([f">>> {source[0]}", *(f"... {line}" for line in source[1:])]))
        if shown.getvalue():
            lines.append(shown.getvalue().rstrip("\n"))
    return "\n".join(lines) + "\n"


def test_nothing_is_wrong_with_the_catalogue_in_the_readme() -> None:
    text, *_ = blocks("yaml")
    catalogue, problems = parse_catalogue(text, "README.md")
    assert problems == ()
    assert catalogue is not None


def test_the_readme_starts_with_what_the_program_is_for_and_two_lines_that_set_it_up() -> None:
    title, first, *_ = README.read_text("utf-8").split("\n\n")
    assert title.startswith("# ")
    assert "quote" in first
    assert "catalogue" in first
    main_job, tests = (block.strip() for block in blocks("sh"))
    assert "\n" not in main_job + tests
    assert main_job.startswith("sh .ci/libraries && python3 -m venv .venv && ")
    assert main_job.endswith(" && .venv/bin/configurator demo")
    assert tests.endswith(" && .venv/bin/pytest -q -n auto --dist worksteal")


def test_the_automatic_check_runs_the_lines_of_the_readme() -> None:
    script = (ROOT / ".ci" / "run").read_text("utf-8")
    assert "README.md" in script


def commands(command: click.Command, path: str = "configurator") -> Iterator[str]:
    if isinstance(command, Commands):
        for name, inner in command.every().items():
            yield from commands(inner, f"{path} {name}")
    else:
        yield path


def test_the_readme_tells_of_every_command() -> None:
    told = re.findall(r"^\| `(configurator [a-z -]+)` \|", README.read_text("utf-8"), re.MULTILINE)
    assert sorted(told) == sorted(commands(cli))


@pytest.mark.parametrize("file", [README, DEVELOPERS], ids=lambda file: file.name)
def test_every_link_leads_to_a_file(file: Path) -> None:
    links = re.findall(r"\]\(([^)#]+)\)", file.read_text("utf-8"))
    assert links
    for link in links:
        assert (ROOT / link).exists(), link


@pytest.mark.parametrize("file", [README, DEVELOPERS], ids=lambda file: file.name)
def test_lines_are_short_enough_to_read_in_a_terminal(file: Path) -> None:
    fenced = False
    for line in file.read_text("utf-8").splitlines():
        fenced ^= line.startswith("```")
        assert fenced or line.startswith(("|", "```")) or len(line) <= 105, line


def modules_told() -> str:
    """A table for each folder: its modules, each with the first line of its docstring."""
    folders: dict[str, list[str]] = {}
    for name in MODULES:
        folder, _, module = name.rpartition(".")
        says = (ast.get_docstring(tree(name)) or "").partition("\n")[0].replace("``", "`")
        if any(other.startswith(f"{name}.") for other in MODULES):
            folders.setdefault(name, []).insert(
                0, f"### {name.replace('.', '/')}\n\n{says}\n\n| module | what it is |\n|---|---|"
            )
        elif not module.startswith("__"):
            folders.setdefault(folder, []).append(f"| `{module}.py` | {says} |")
    folders[""].insert(0, "| module | what it is |\n|---|---|")
    return "\n\n".join("\n".join(lines) for _, lines in sorted(folders.items()))


def test_the_developers_page_tells_of_every_module_in_its_own_words() -> None:
    before, heading, told = DEVELOPERS.read_text("utf-8").partition("## Every module\n\n")
    assert heading
    if UPDATE:
        DEVELOPERS.write_text(f"{before}{heading}{modules_told()}\n", "utf-8")
        return
    assert told == f"{modules_told()}\n"


def test_the_developers_page_names_only_modules_that_are_there() -> None:
    text = DEVELOPERS.read_text("utf-8").partition("## Every module")[0]
    told = set(re.findall(r"`((?:[a-z_]+/)*[a-z_]+)\.py`", text))
    there = {name.replace(".", "/") for name in MODULES}
    assert {name for name in told if not name.startswith(("tests/", "configurator/"))} <= there


def test_the_developers_page_names_only_what_exists() -> None:
    text = DEVELOPERS.read_text("utf-8")
    for path in re.findall(r"`((?:tests|templates|catalogues|configurator|\.ci)/[\w./-]*)`", text):
        assert (ROOT / path).exists(), path


def test_glossary_words_are_those_of_the_schema() -> None:
    """The catalogue's own keys are words of the glossary."""
    text = README.read_text("utf-8").split("## Glossary")[1].split("## ")[0].lower()
    for word in ("choice", "option", "rule", "limit", "space", "unit", "add-on", "package deal"):
        assert f"| {word}" in text
