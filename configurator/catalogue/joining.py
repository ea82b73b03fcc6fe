"""Several files of one catalogue joined into one document; every node knows its file.

Lists, such as ``choices`` and ``rules``, follow each other in the order of the files; whatever
else a catalogue holds is in one of them.
"""

from __future__ import annotations

from collections.abc import Sequence

import yaml

from configurator.catalogue.nodes import first_at, place_of
from configurator.errors import Problem
from configurator.shapes import Schema

PARTS = "parts"
"""The key by which the file that opens a catalogue names the others."""


def named_parts(opening: yaml.Node) -> list[yaml.ScalarNode]:
    """The names of the other files, as far as they are names."""
    pairs = opening.value if isinstance(opening, yaml.MappingNode) else ()
    for key, value in pairs:
        if key.value == PARTS and isinstance(value, yaml.SequenceNode):
            return [name for name in value.value if isinstance(name, yaml.ScalarNode)]
    return []


def joined(
    documents: Sequence[yaml.MappingNode], schema: Schema
) -> tuple[yaml.MappingNode, list[Problem]]:
    """One document with what is in all of them, and the sections that may not be there again.

    Args:
        documents: the files, first the one that opens the catalogue.
        schema: of the whole catalogue; it says which sections are lists.
    """
    opening = documents[0]
    sections: dict[str, tuple[yaml.Node, yaml.Node]] = {}
    pairs: list[tuple[yaml.Node, yaml.Node]] = []
    problems = []
    for document in documents:
        own: dict[str, yaml.Node] = {}
        for key, value in document.value:
            name = str(key.value)
            first_key, before = sections.get(name, (key, None))
            if name in own or (before and not _are_lists(name, before, value, schema)):
                at, first = place_of(key), place_of(own.get(name, first_key))
                again = "twice" if at.file == first.file else "again"
                sentence = f'the key "{name}" is here {again}, first in {first_at(first, at)}'
                problems.append(Problem(at, sentence, "repeated-key", "keep one of the two"))
            elif before:
                before.value.extend(value.value)
            else:
                sections[name] = key, _copied(value)
                pairs.append(sections[name])
            own.setdefault(name, key)
    return yaml.MappingNode(opening.tag, pairs, opening.start_mark), problems


def _copied(node: yaml.Node) -> yaml.Node:
    """A list that may grow, where its file may have an alias of it; anything else as it is."""
    if not isinstance(node, yaml.SequenceNode):
        return node
    return yaml.SequenceNode(node.tag, [*node.value], node.start_mark)


def _are_lists(name: str, one: yaml.Node, other: yaml.Node, schema: Schema) -> bool:
    """Whether what two files have of a section is a list in both, as it may be."""
    right = name != PARTS and schema["properties"].get(name, {}).get("type") == "array"
    return right and all(isinstance(node, yaml.SequenceNode) for node in (one, other))
