"""Catalogues by their path, and the shipped one as one text, to change a few words of it."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import yaml

from configurator import Catalogue, CatalogueError
from configurator.catalogue.reading import open_catalogue, shipped


@cache
def shipped_in_one() -> str:
    """What is in all of its files, section by section, lists after each other."""
    folder = shipped("catalogues")
    head = (folder / "quandong.yaml").read_text("utf-8")
    parts = yaml.safe_load(head)["parts"]
    sections: dict[str, str] = {}
    for text in (head, *((folder / part).read_text("utf-8") for part in parts)):
        for key, body in re.findall(r"^([a-z-]+):(.*?)(?=^[a-z#]|\Z)", text, re.M | re.S):
            sections[key] = sections.get(key, "") + body
    del sections["parts"]
    return "".join(f"{key}:{body}" for key, body in sections.items())


def read_catalogue(path: Path | str) -> Catalogue:
    """The catalogue in a file or folder.

    Raises:
        CatalogueError: with every error found.
    """
    catalogue, problems = open_catalogue(path)
    if catalogue is None:
        raise CatalogueError(problems)
    return catalogue
