"""What a PDF of ours carries, so that it can be opened again, and how it is read.

Files are attached as PDF/A-3 has it. Their SHA-256 digests are next to them, where a PDF keeps the
data of the program that made it (ISO 32000-1, 14.5, page-piece dictionaries). They tell a file that
was changed by accident from one that was not; they are no seal, as whoever changes a file on
purpose can write a new digest too.

Nothing in a file that is read is trusted: what is unpacked is capped one by one and in sum, and
whatever the PDF library stumbles over becomes one message.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import io
import json
import logging
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

from attrs import frozen

from configurator.catalogue.reading import MOST_BYTES_OF_PDF
from configurator.errors import FileError, Location, Problem, SelectionError
from configurator.words import Text, joined, listed, text

if TYPE_CHECKING:
    from pypdf import Configuration, PdfReader

OWNER = "TrayCanopyConfigurator"
"""Whose data they are."""

DIGESTS = "Digests"
"""Key under which file names and digests are in turn."""

SELECTION = "selection"
"""What the file name of an attached selection begins with."""


QUOTE = "quote.json"
"""The file name of an attached quote."""

QUOTATION = "quote.xml"
"""The file name of an attached quote for programs that know nothing of ours."""


@frozen
class Attachment:
    """A file inside a PDF.

    Attributes:
        name: its file name.
        content: its bytes.
        description: what a reader of the PDF reads about it.
        relationship: ``Source`` for what the paper was made from, ``Data`` for what it shows,
            ``Alternative`` for the same in another form (ISO 19005-3, annex E).
    """

    name: str
    content: bytes
    description: str
    relationship: str


@frozen
class Carried:
    """The files inside a PDF, in the order of their names, and the day on which they were made."""

    files: tuple[Attachment, ...]
    day: dt.date


def selection_name(letter: str = "") -> str:
    """The file name of the only selection attached, or of the one with that letter."""
    return f"{SELECTION}-{letter}.json" if letter else f"{SELECTION}.json"


def _is_selection(name: str) -> bool:
    """Whether the attached file of that name is a selection."""
    return name == selection_name() or name.startswith(f"{SELECTION}-")


def digest(content: bytes) -> str:
    """The SHA-256 digest, in hexadecimal digits."""
    return hashlib.sha256(content).hexdigest()


def altered(found: Mapping[str, bytes], digests: Mapping[str, str]) -> tuple[str, ...]:
    """Names of attached files that are missing or not what was attached, in their order."""
    return tuple(
        name for name, written in digests.items() if digest(found.get(name, b"")) != written
    )


MOST_UNPACKED = 50_000_000
"""Most bytes that what a PDF carries for us may unpack to, all of it together."""

_MOST_WORK = 2_000_000
"""Most bytes that the first stream unpacked to find its way about a PDF may take and give; the
second may half of that, the third a third. Python needs up to a second for a million of them."""

_MOST_STREAMS = 40
"""Most streams that are unpacked to find the way about a PDF."""

_MOST_MENDED = 50_000
"""Most bytes of a damaged stream that the PDF library tries to mend, one by one."""

_MOST_FILES = 200
"""Most files of a PDF that are looked at, and most parts of the tree that names them."""


def read_carried(content: bytes, file: str, wanted: str = "") -> tuple[str, str]:
    """The selection that a PDF carries: its text, and what messages call its place.

    Args:
        content: the PDF.
        file: its path, for messages.
        wanted: the letter of one selection, where it carries several.

    Raises:
        FileError: it cannot be read.
        SelectionError: it carries no selection, not the one wanted, several with none wanted, or
            one that was altered.
    """
    found, digests = _carried(content, file)
    names = [name for name in digests if _is_selection(name)]
    if not names:
        raise _refused(
            file,
            text("the PDF carries no selection"),
            "pdf-without-selection",
            text(
                "use a quote, comparison, budget or layout as this program wrote it, not printed "
                "to PDF or merged, or the selection file itself"
            ),
        )
    changed = altered(found, digests)
    if changed:
        raise _refused(
            file,
            text(
                "{files} in it has been changed since the PDF was made",
                "{files} in it have been changed since the PDF was made",
                files=joined(changed, text(" and ")),
                n=len(changed),
            ),
            "pdf-altered",
            text("take the file as it was issued, or the selection file itself"),
        )
    name = _one_of(names, file, wanted)
    try:
        return found[name].decode("utf-8"), f"{file}, {name}"
    except UnicodeDecodeError as error:
        place = f"{file}, {name}"
        raise FileError(
            text("{path}: it is not UTF-8 text (byte {n})", path=place, n=error.start)
        ) from None


@frozen
class Issued:
    """What a quote says of itself.

    Attributes:
        number: its number.
        date: day of issue, an ISO date.
        catalogue_digest: of the catalogue's text when it was made.
    """

    number: str
    date: str
    catalogue_digest: str


def read_issued(content: bytes, file: str) -> Issued | None:
    """What the quote in a PDF says of itself; None where the PDF is of something else.

    Raises:
        FileError: it cannot be read.
    """
    told = read_quoted(content, file)
    try:
        return (
            None
            if told is None
            else Issued(*(str(told[key]) for key in ("number", "date", "catalogue-digest")))
        )
    except (KeyError, TypeError):
        return None


def read_quoted(content: bytes, file: str) -> Any:
    """The quote in a PDF, in the shape of its JSON; None where the PDF is of something else.

    Raises:
        FileError: the PDF cannot be read.
    """
    found, digests = _carried(content, file)
    if QUOTE not in digests or altered(found, {QUOTE: digests[QUOTE]}):
        return None
    try:
        return json.loads(found[QUOTE])
    except ValueError:
        return None


def _one_of(names: list[str], file: str, wanted: str) -> str:
    by_letter = {name.removesuffix(".json").rpartition("-")[2]: name for name in names}
    if wanted in by_letter and len(names) > 1:
        return by_letter[wanted]
    if not wanted and len(names) == 1:
        return names[0]
    if len(names) == 1:
        sentence = text("it holds only one selection, which has no letter")
        hint = text("write {file}", file=file)
    else:
        known = {"count": len(names), "letters": listed(sorted(by_letter)), "letter": wanted}
        sentence = text("it carries {count} selections: {letters}", **known)
        if wanted:
            sentence = text('it has no selection "{letter}": it carries {letters}', **known)
        hint = text("say which one, such as {file}#{first}", file=file, first=min(by_letter))
    raise _refused(f"{file}#{wanted}" if wanted else file, sentence, "pdf-which-selection", hint)


def _refused(file: str, sentence: Text, code: str, hint: Text) -> SelectionError:
    return SelectionError([Problem(Location(file, 0, 0), sentence, code, hint)])


def _carried(content: bytes, file: str) -> tuple[dict[str, bytes], dict[str, str]]:
    """The files that the PDF carries for us, and the digests that they had.

    Raises:
        FileError: it cannot be read.
    """
    from pypdf import PdfReader, apply_configuration
    from pypdf.errors import LimitReachedError

    logging.getLogger("pypdf").addHandler(logging.NullHandler())
    with apply_configuration(_shrinking()):
        try:
            # some mail programs put something before the PDF
            start = max(0, content.find(b"%PDF-"))
            reader = PdfReader(io.BytesIO(content[start:]))
            files = None if reader.is_encrypted else _files_of(reader)
        except (LimitReachedError, MemoryError, RecursionError):
            raise FileError(
                text("{path}: cannot read it: the PDF has too much in it", path=file)
            ) from None
        except _Larger as larger:
            most = MOST_UNPACKED // 1_000_000
            sentence = text(
                "{path}: cannot read it: its attachments unpack to more than {most} MB, more than "
                "any paper's",
                path=f"{file}, {larger}",
                most=most,
            )
            raise FileError(sentence) from None
        except Exception:  # what the library stumbles over in a damaged file has no common type
            sentence = text(
                "{path}: cannot read it: the PDF is damaged or cut short; choose the file again, "
                "or fetch it again from where it came",
                path=file,
            )
            raise FileError(sentence) from None
    if files is None:
        raise FileError(
            text("{path}: cannot read it: it is encrypted; save it without a password", path=file)
        )
    return files


def _shrinking() -> Configuration:
    """Limits of the PDF library, tighter with each stream that it unpacks.

    The library bounds each stream by itself, however many there are; it asks for its limits anew
    with each, which is where they are counted.
    """
    from pypdf import Configuration

    outputs = {f"{how}_maximum_output_length" for how in ("zlib", "lzw", "run_length", "brotli")}
    streams = 0

    class Shrinking(Configuration):
        def __getattribute__(self, name: str) -> Any:
            nonlocal streams
            if name == "stream_decoding_work_maximum_length":
                streams += 1
                return _MOST_WORK // streams if streams <= _MOST_STREAMS else 0
            if name in outputs:
                return _MOST_WORK // max(1, streams)
            return super().__getattribute__(name)

    return Shrinking(
        maximum_declared_stream_length=MOST_BYTES_OF_PDF,
        zlib_maximum_recovery_input_length=_MOST_MENDED,
    )


class _Larger(Exception):
    """The attached file of this name unpacks to more than is left."""


def _files_of(reader: PdfReader) -> tuple[dict[str, bytes], dict[str, str]]:
    root: Any = reader.root_object
    ours = root.get("/PieceInfo", {}).get(f"/{OWNER}", {}).get("/Private", {})
    said = [str(text) for text in ours.get(f"/{DIGESTS}", ())][: 2 * _MOST_FILES]
    digests = dict(zip(said[::2], said[1::2], strict=False))
    if not digests:
        return {}, {}
    found: dict[str, bytes] = {}
    left = MOST_UNPACKED
    tree = root.get("/Names", {}).get("/EmbeddedFiles", {})
    for described in _leaves(tree):
        name = str(described.get("/UF", described.get("/F", "")))
        if name in digests and name not in found:
            found[name] = _unpacked(described["/EF"]["/F"], name, left)
            left -= len(found[name])
    return found, digests


def _unpacked(stream: Any, name: str, most: int) -> bytes:
    """The content of an attached file.

    Raises:
        _Larger: it is more than the most.
        ValueError: it is packed in a way that no program packs a file.
    """
    from pypdf import Configuration, apply_configuration
    from pypdf.errors import LimitReachedError

    ways = [str(way) for way in _listed(stream, "/Filter")]
    guessed = [more for more in _listed(stream, "/DecodeParms") if isinstance(more, dict) and more]
    if ways not in ([], ["/FlateDecode"]) or guessed:
        raise ValueError(f"{name}: an unknown way of packing")
    bounds = Configuration(
        maximum_declared_stream_length=MOST_BYTES_OF_PDF,
        zlib_maximum_output_length=max(1, most),
        zlib_maximum_recovery_input_length=_MOST_MENDED,
    )
    try:
        with apply_configuration(bounds):
            content: bytes = stream.get_data()
    except LimitReachedError:
        raise _Larger(name) from None
    if len(content) > most:
        raise _Larger(name)
    return content


def _listed(stream: Any, key: str) -> list[Any]:
    """What a stream says under the key, which may be one, several or none."""
    found = stream.get(key, [])
    several = found if isinstance(found, list) else [found]
    return [one.get_object() for one in several]


def _leaves(tree: Any) -> Iterator[Any]:
    """The descriptions of files in a tree of names, from at most this many of its parts."""
    waiting = [tree]
    for _ in range(_MOST_FILES):
        if not waiting:
            return
        part = waiting.pop().get_object()
        for described in list(part.get("/Names", ()))[1 : 2 * _MOST_FILES : 2]:
            yield described.get_object()
        waiting += list(part.get("/Kids", ()))[:_MOST_FILES]
