"""Selection files (YAML or JSON) to selections."""

from __future__ import annotations

from pathlib import Path

from configurator.catalogue.model import ADD_ON
from configurator.catalogue.nodes import Placed, read_tree
from configurator.catalogue.reading import picks_from, read_text, schema, structured
from configurator.catalogue.wrong import schema_problems
from configurator.errors import SelectionError
from configurator.selection.picks import Selection

__all__ = ["parse_selection", "read_selection"]


def read_selection(path: Path | str) -> Selection:
    """Read a selection file; whether its names mean anything is asked against a catalogue later.

    Raises:
        SelectionError: with every error of shape found.
        FileError: the file cannot be read.
    """
    return parse_selection(read_text(path), str(path))


def parse_selection(text: str, file: str) -> Selection:
    """A selection from its text.

    Raises:
        SelectionError: with every error of shape found.
    """
    shape = schema("selection")
    tree = read_tree(text, file, shape)
    problems = list(tree.problems)
    if tree.data is not None:
        problems += schema_problems(tree, shape, currency="")
    if problems:
        raise SelectionError(problems)
    data: Placed = tree.data
    del data["format"]
    picks = picks_from(data.pop("picks")) if "picks" in data else ()
    if "add-ons" in data:
        add_ons = data.like({ADD_ON: data.pop("add-ons")})
        add_ons.inner = {ADD_ON: data.inner["add-ons"]}
        picks += picks_from(add_ons)
    data["picks"] = picks
    data["source"] = file
    return structured(data, Selection)
