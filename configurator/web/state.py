"""The package in work, carried by the page's form: a reload or a restart loses nothing.

Nothing is kept by the server. What comes back from a browser is read as a selection file is, so
that it can hold nothing that a file could not.
"""

from __future__ import annotations

import base64
import binascii
import json
import re
import secrets
import zlib
from functools import lru_cache

import attrs
from attrs import field, frozen

from configurator.answers.data import selection_data, to_json
from configurator.build import Build
from configurator.errors import ConfiguratorError
from configurator.selection.picks import Selection
from configurator.shop import Shop
from configurator.words import Text, text

_MOST_STEPS, MOST_KEPT = 20, 4
_MOST_PACKED, _MOST_UNPACKED = 300_000, 3_000_000


@frozen
class FormState:
    """A package in work.

    Attributes:
        selection: as the text of a selection file.
        group: the group of choices that is looked at.
        before: what undoing goes back to, the latest last.
        after: what redoing goes on to, the next last.
        kept: packages set aside to be compared.
        number: of the quote that is being revised; empty for a new one.
        words: that options are looked for by; empty while none are.
        accepted: the customer has accepted that quote.
        key: under which the package is issued, once, however often its form is sent; a revision
            has none.
    """

    selection: str
    group: str = ""
    before: tuple[str, ...] = field(default=(), converter=tuple[str, ...])
    after: tuple[str, ...] = field(default=(), converter=tuple[str, ...])
    kept: tuple[str, ...] = field(default=(), converter=tuple[str, ...])
    number: str = ""
    words: str = ""
    accepted: bool = False
    key: str = ""

    @property
    def caution(self) -> str:
        """What to think of before the quote is issued anew; empty where nothing is."""
        if not self.accepted:
            return ""
        return text(
            "The customer has accepted {number}. A revision takes its place: the customer has to "
            "accept it again.",
            number=self.number,
        )

    def changed(self, build: Build) -> FormState:
        """With another selection, from which undoing leads back to this one."""
        selection = written(build.selection)
        if selection == self.selection:
            return self
        before = (*self.before, self.selection)[-_MOST_STEPS:]
        return attrs.evolve(self, selection=selection, before=before, after=())

    def undone(self) -> FormState:
        """A step back, where there is one."""
        if not self.before:
            return self
        *before, selection = self.before
        after = (*self.after, self.selection)
        return attrs.evolve(self, selection=selection, before=before, after=after)

    def redone(self) -> FormState:
        """A step forward again, where one was undone."""
        if not self.after:
            return self
        *after, selection = self.after
        before = (*self.before, self.selection)[-_MOST_STEPS:]
        return attrs.evolve(self, selection=selection, before=before, after=after)

    def set_aside(self) -> FormState:
        """With this package among those to be compared, the oldest of them left out."""
        kept = [one for one in self.kept if one != self.selection]
        return attrs.evolve(self, kept=(*kept, self.selection)[-MOST_KEPT:])

    def build(self, shop: Shop) -> Build:
        """The package.

        Raises:
            SelectionError: the selection cannot be understood.
        """
        return _opened(shop, self.selection)

    def packed(self) -> str:
        """As a text for a field of a form."""
        return _packed(json.dumps(attrs.asdict(self), separators=(",", ":")))


def new_key() -> str:
    """A key that no other package has."""
    return secrets.token_hex(8)


def is_key(sent: object) -> bool:
    """Whether what a form sent is such a key."""
    return isinstance(sent, str) and re.fullmatch("[0-9a-f]{16}", sent) is not None


@lru_cache(maxsize=64)
def _opened(shop: Shop, selection: str) -> Build:
    """The package, read once, with what is known of it: a step asks about the last one too."""
    return shop.build(selection.encode())


def written(selection: Selection) -> str:
    """A package as the text of a selection file."""
    return to_json(selection_data(selection))


@frozen
class Tap:
    """What a button does, and to what: its value in a form has these parts, with colons between.

    Attributes:
        what: what it does, such as ``pick``.
        to: what it is about: a choice, a group, a unit, a package; empty for none.
        which: which option of it, or where to; empty for none.
    """

    what: str
    to: str = ""
    which: str = ""

    @classmethod
    def read(cls, value: str) -> Tap:
        """The tap that a form sent."""
        return cls(*value.split(":", 2))

    def __str__(self) -> str:
        return ":".join((self.what, self.to, self.which)).rstrip(":")


SETTLE = "settle"
"""The tap that changes nothing, and asks for what is left of the states of the options."""


def tap_to(selection: Selection) -> Tap:
    """The tap that goes on with a selection."""
    return Tap("take", _packed(written(selection)))


def _packed(written: str) -> str:
    """A text made short enough for a form."""
    return base64.urlsafe_b64encode(zlib.compress(written.encode(), 9)).decode("ascii")


def _unpacked(packed: str) -> bytes:
    if len(packed) > _MOST_PACKED:
        raise ValueError(packed[:20])
    unpacking = zlib.decompressobj()
    content = unpacking.decompress(base64.urlsafe_b64decode(packed.encode("ascii")), _MOST_UNPACKED)
    if unpacking.unconsumed_tail:
        raise ValueError(packed[:20])
    return content


def unpacked_selection(packed: str) -> bytes:
    """The selection file that a button holds.

    Raises:
        ConfiguratorError: it holds none.
    """
    try:
        return _unpacked(packed)
    except (ValueError, zlib.error):
        raise ConfiguratorError(text("the page has no such button")) from None


def _unreadable() -> Text:
    return text(
        "the page's own memory of the package cannot be read: go back, or start again from a saved "
        "file"
    )


def unpacked(packed: str) -> FormState:
    """The state that a field of a form holds.

    Raises:
        ConfiguratorError: it holds none.
    """
    try:
        data = json.loads(_unpacked(packed))
        texts = [data[name] for name in ("selection", "group", "number", "words")]
        texts += [*data["before"], *data["after"], *data["kept"]]
        right = isinstance(data.get("accepted", False), bool)
        right = right and (data.get("key", "") == "" or is_key(data["key"]))
        if not (right and all(isinstance(one, str) for one in texts)):
            raise ValueError(packed[:20])
        return FormState(**data)
    except (ValueError, KeyError, TypeError, zlib.error, binascii.Error):
        raise ConfiguratorError(_unreadable()) from None
