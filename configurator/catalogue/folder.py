"""Which files a catalogue has, the one that opens it and its parts, and how they are joined.

A part lies in the folder of the file that names it, or below. In a folder that holds parts, every
file that could be one has to be named, so that no rule or limit is silently left out.

In the one document that they make every node knows its file. Lists, such as ``choices`` and
``rules``, follow each other in the order of the files; whatever else there is, is in one of them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import yaml
from attrs import frozen

from configurator.catalogue.nodes import first_at, place_of
from configurator.errors import FileError, Location, Problem, unreadable_folder
from configurator.shapes.schema import Schema
from configurator.words import near_miss, text

_OPENING = "catalogue.yaml"
"""The file that opens a catalogue where its folder is named."""

PARTS = "parts"
"""The key by which the file that opens a catalogue names the others."""

_ENDINGS = (".yaml", ".yml", ".json")


@frozen(eq=False, repr=False)
class CatalogueFile:
    """One of the other files of a catalogue.

    Attributes:
        name: as the file that opens the catalogue names it.
        file: as messages name it.
        text: what is in it.
    """

    name: str
    file: str
    text: str


def named_parts(opening: yaml.Node) -> list[yaml.ScalarNode]:
    """The names of the other files, as far as they are names."""
    pairs = opening.value if isinstance(opening, yaml.MappingNode) else ()
    for key, value in pairs:
        if key.value == PARTS and isinstance(value, yaml.SequenceNode):
            return [name for name in value.value if isinstance(name, yaml.ScalarNode)]
    return []


def opening_file(path: Path) -> Path:
    """The file that opens the catalogue at the path, which may be that of its folder.

    Raises:
        FileError: it is the path of a folder without one.
    """
    try:
        if not path.is_dir():
            return path
        opening = path / _OPENING
        if opening.exists():
            return opening
    except OSError as error:
        raise FileError(f"{path}: cannot read it: {error.strerror}") from None
    raise FileError(
        f"{path}: this folder has no {_OPENING}, the file that opens a catalogue; name another "
        f"folder or file, or start a catalogue with: configurator catalogue new {path}"
    )


def read_parts(
    opening: yaml.Node, file: Path, read: Callable[[Path], str], most: int
) -> tuple[list[CatalogueFile], list[Problem]]:
    """The parts that a catalogue names, and what is wrong with their names.

    Args:
        opening: the document that names them.
        file: where it lies.
        read: reads a text.
        most: characters that they may have together.

    Raises:
        FileError: one of them, or a folder of theirs, cannot be read, or there is too much.
    """
    parts: list[CatalogueFile] = []
    problems: list[Problem] = []
    home, met = _real(file.parent), {_real(file)}
    for name in named_parts(opening):
        path = file.parent / name.value
        real = _real(path)
        problem: tuple[str, str, str] | None
        try:
            if not real.is_relative_to(home):
                sentence = text(
                    'the part "{part}" is outside the folder of the catalogue', part=name.value
                )
                hint = text(
                    "put the file itself in the folder of {file}, or in one below it",
                    file=file.name,
                )
                problem = sentence, "part-outside", hint
            elif real in met:
                sentence = text('the part "{part}" is read already', part=name.value)
                hint = text("name each file once, and not the one that names them")
                problem = sentence, "part-twice", hint
            else:
                problem = _not_there(name.value, path)
        except OSError as error:
            sentence = text(
                'the part "{part}" cannot be read: {why}', part=name.value, why=error.strerror
            )
            problem = sentence, "part-no-file", text("correct its name")
        if problem is None:
            met.add(real)
            parts.append(CatalogueFile(name.value, _told(path, file.parent), read(path)))
            most -= len(parts[-1].text)
            if most < 0:
                raise FileError(f"{path}: the parts of the catalogue have too many characters")
        else:
            problems.append(Problem(place_of(name), *problem))
    if not problems:
        problems += _unnamed(parts, file, met)
    return parts, problems


def _not_there(name: str, path: Path) -> tuple[str, str, str] | None:
    """That there is no such file, or none that can be read: sentence, code and hint."""
    if path.is_file():
        return None
    if not path.exists():
        beside = path.parent.iterdir() if path.parent.is_dir() else ()
        near = near_miss(path.name, [one.name for one in beside if one.suffix in _ENDINGS])
        hint = near or text("write the file, or take its name out")
        return text('there is no file for the part "{part}"', part=name), "part-missing", hint
    sentence = text('the part "{part}" is not an ordinary file', part=name)
    return sentence, "part-no-file", text("name a text file")


def _unnamed(parts: list[CatalogueFile], file: Path, met: set[Path]) -> Iterator[Problem]:
    """The files beside parts that could be parts and are not named."""
    named = {str(file.parent / part.name) for part in parts}
    endings = {".yaml", ".yml", *(Path(name).suffix for name in named)}
    for folder in sorted({Path(name).parent for name in named}):
        try:
            beside = sorted(folder.iterdir())
        except OSError as error:
            raise unreadable_folder(folder, error) from None
        for path in beside:
            could_be = path.suffix in endings and not path.name.startswith(".")
            if could_be and str(path) not in named and _real(path) not in met:
                sentence = text(
                    "{file} does not name this file, so nothing in it would count", file=file.name
                )
                name = path.relative_to(file.parent).as_posix()
                hint = text(
                    'add "{part}" to its parts, or move the file out of the folder', part=name
                )
                yield Problem(
                    Location(_told(path, file.parent), 0, 0), sentence, "part-unnamed", hint
                )


def _told(path: Path, home: Path) -> str:
    """The path as places have it: named from the root, what counts is its name in the folder."""
    if home.is_absolute() and path.is_relative_to(home):
        return f"{home}//{path.relative_to(home).as_posix()}"
    return str(path)


def _real(path: Path) -> Path:
    """Where the path leads; of one that leads nowhere, itself."""
    try:
        return path.resolve()
    except (OSError, RuntimeError, ValueError):  # links in a circle, or no name at all
        return path.absolute()


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
                known = {"key": name, "first": first_at(first, at)}
                if at.path == first.path:
                    sentence = text('the key "{key}" is here twice, first in {first}', **known)
                else:
                    sentence = text('the key "{key}" is here again, first in {first}', **known)
                hint = text("keep one of the two")
                problems.append(Problem(at, sentence, "repeated-key", hint))
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
