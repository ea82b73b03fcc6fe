"""What is written to a terminal shows control characters and sends none but the program's own.

The list of controls is written here anew, from Unicode's own data.
"""

from __future__ import annotations

import json
import os
import pty
import shutil
import subprocess
import sys
import unicodedata
from pathlib import Path

import pikepdf
import pytest

from configurator.render.control import visible
from tests.support.commands import Run
from tests.support.made_papers import pdf_of
from tests.support.pdfs import rewrite

OSC = "\x1b]0;owned\x07"
CLEAR = "\x9b2J"
TURNED = "\u202egpj.exe"
EVIL = (OSC, CLEAR, TURNED, "a\rb", "\x08\x08\x08")


def controls(text: str) -> list[str]:
    kept = "\n\t"
    turning = {"LRE", "RLE", "PDF", "LRO", "RLO", "LRI", "RLI", "FSI", "PDI"}
    return [
        c
        for c in text
        if (unicodedata.category(c) in ("Cc", "Zl", "Zp") and c not in kept)
        or unicodedata.bidirectional(c) in turning
    ]


def test_every_control_character_is_shown_and_nothing_else_is_changed() -> None:
    for code in (*range(0xD800), *range(0xE000, 0x110000)):
        letter = chr(code)
        shown = visible(letter)
        if controls(letter):
            assert shown == f"\\u{code:04x}", code
            assert json.loads(f'"{shown}"') == letter
        else:
            assert shown == letter or unicodedata.name(letter).endswith(" MARK"), code


@pytest.mark.parametrize("evil", EVIL)
@pytest.mark.parametrize(
    "command",
    [
        ["check", "{}.yaml"],
        ["check", "touring.yaml", "--pick", "{}=b"],
        ["check", "touring.yaml", "--pick", "battery={}"],
        ["check", "touring.yaml", "--drop", "{}"],
        ["check", "touring.yaml", "--{}"],
        ["check", "touring.yaml", "--catalogue", "{}"],
        ["quote", "touring.yaml", "--date", "{}"],
        ["quote", "touring.yaml", "--language", "{}"],
        ["compare", "touring.yaml", "copy{}.yaml"],
        ["compare", "touring.yaml", "copy{}.yaml", "--json"],
        ["complete", "touring.yaml", "-o", "{}.yaml"],
        ["quote", "touring.yaml", "--date", "2026-08-03", "-o", "{}.html"],
        ["{}"],
    ],
    ids=" ".join,
)
def test_no_argument_and_no_file_name_reaches_the_terminal_as_a_control(
    command: list[str], evil: str, run: Run, tmp_path: Path
) -> None:
    text = (tmp_path / "touring.yaml").read_text("utf-8")
    untitled = "".join(line for line in text.splitlines(True) if not line.startswith("title:"))
    (tmp_path / f"copy{evil}.yaml").write_text(untitled, "utf-8")
    ran = run(*(part.format(evil) for part in command))
    assert controls(ran.out + ran.err) == []
    assert ran.out + ran.err
    if "--json" in command:
        assert repr(f"copy{evil}") in repr(json.loads(ran.out)), "the answer is what it was"


def test_what_a_customers_pdf_says_reaches_the_terminal_without_a_control(
    run: Run, tmp_path: Path
) -> None:
    """The number and the day of its quote, and the names of what it carries."""
    file = tmp_path / "quote.pdf"
    file.write_bytes(pdf_of("quote of touring"))

    def other(name: str, content: bytes) -> bytes:
        if name != "quote.json":
            return content
        data = json.loads(content)
        data |= {"number": f"Q{OSC}", "date": f"2026{CLEAR}", "catalogue-digest": "0"}
        return json.dumps(data).encode()

    rewrite(file, other, digests_too=True)
    ran = run("check", "quote.pdf")
    assert ran.code == 0
    assert "since quote Q\\u001b]0;owned\\u0007 of 2026\\u009b2J; " in ran.err
    assert controls(ran.out + ran.err) == []
    with pikepdf.open(file, allow_overwriting_input=True) as opened:
        sums = opened.Root.PieceInfo.TrayCanopyConfigurator.Private.Digests
        for name in (f"selection-{CLEAR}.json", f"selection-{OSC}.json"):
            opened.attachments[name] = pikepdf.AttachedFileSpec(opened, b"{}", filename=name)
            sums.extend([pikepdf.String(name), pikepdf.String("0")])
        opened.save(file)
    ran = run("check", "quote.pdf")
    assert ran.code == 1
    assert "\\u009b2J" in ran.err
    assert controls(ran.out + ran.err) == []


@pytest.mark.skipif(shutil.which("configurator", path=Path(sys.executable).parent) is None,
                    reason="the program is not installed beside this Python")  # fmt: skip
def test_on_a_real_terminal_only_the_programs_own_colours_are_sent(
    run: Run, tmp_path: Path
) -> None:
    name = f"copy{OSC}{CLEAR}\x1b[31m.yaml"
    (tmp_path / name).write_text("format: 1\ncatalogue: quandong\npicks: {}\n", "utf-8")
    assert run("check", name).code == 1
    theirs, ours = pty.openpty()
    command = [str(Path(sys.executable).parent / "configurator"), "compare", name, "touring.yaml"]
    environment = {"PATH": os.environ["PATH"], "TERM": "xterm", "COLUMNS": "120"}
    process = subprocess.Popen(command, stdout=ours, stderr=ours, cwd=tmp_path, env=environment)
    os.close(ours)
    said = b""
    try:
        while part := os.read(theirs, 65536):
            said += part
    except OSError:
        pass  # the end of a terminal on Linux
    assert process.wait(60) == 0
    assert b"\x1b[1m" in said, "colours and weights are still sent"
    assert b"copy\\u001b]0;owned\\u0007\\u009b2J\\u001b[31m" in said
    assert b"\x1b]" not in said
    assert b"\x1b[31m" not in said
    os.close(theirs)
