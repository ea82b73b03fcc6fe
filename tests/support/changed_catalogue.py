"""The shipped catalogue in a folder of its own, with something in it changed."""

from __future__ import annotations

import shutil
from pathlib import Path

from configurator.catalogue.reading import shipped


def shipped_but(folder: Path, before: str, after: str, behind: str = "") -> Path:
    """A copy of the shipped catalogue with one text replaced in it, the first behind another."""
    shutil.copytree(shipped("catalogues"), folder, dirs_exist_ok=True)
    for part in sorted((folder / "quandong").glob("*.yaml")):
        text = part.read_text("utf-8")
        at = text.find(before, max(0, text.find(behind)))
        if behind in text and at >= 0:
            part.write_text(f"{text[:at]}{after}{text[at + len(before) :]}", "utf-8")
            return folder / "quandong.yaml"
    raise ValueError(f"{before} is nowhere in the shipped catalogue")


def dearer_guards(folder: Path) -> Path:
    """The shipped catalogue with folded mudguards at 490.00, 100.00 more."""
    return shipped_but(folder, "390.00", "490.00", behind="id: folded")
