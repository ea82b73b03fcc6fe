"""The parts of a package's page, each by its name, so that a step sends only those that changed.

A part carries its name and a digest in a hidden field of the form: what comes back with the next
tap says what the page shows, and nothing has to be kept of it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from hashlib import blake2s
from typing import Any

from attrs import evolve, field, frozen
from markupsafe import Markup

from configurator.catalogue.model import VEHICLE, Choice
from configurator.report.model import Paragraph
from configurator.web.cards import ChoiceCard
from configurator.web.counter import Counter
from configurator.web.messages import PageRequest
from configurator.web.views import PackageView, pictures_of
from configurator.words import text

FACTS = (
    "note", "why", "total", "groups", "find", "unsettled", "missing", "findings", "loads", "power",
    "customer",
)  # fmt: skip
"""The parts that are facts: each is templates/parts/NAME.html."""

UNSETTLED = ("total", "unsettled")
"""The parts that say what is not settled."""

_LATER = ("spaces", "places", "prices", "extras", "agreed", "travel")
"""The parts that follow the facts and the pictures, since they are seldom looked at."""

PICTURES = 4
"""The most pictures of a package; each is a part, since few taps change them all."""


_NOTHING: dict[str, Any] = {
    "notes": (),
    "problems": (),
    "looking": False,
    "undecided": False,
    "reasons": None,
    "ways": None,
    "unsettled": None,
}


@frozen
class PageNote:
    """Something said above the page.

    Attributes:
        words: what is said.
        more: what follows from it or explains it; folded where that is long.
    """

    words: str
    more: tuple[str, ...] = ()


def notes_of(told: Iterable[Paragraph]) -> list[PageNote]:
    """Paragraphs as notes: those that are indented go with the one above them."""
    notes: list[PageNote] = []
    for one in told:
        if one.depth and notes:
            notes[-1] = evolve(notes[-1], more=(*notes[-1].more, one.words))
        else:
            notes.append(PageNote(one.words))
    return notes


@frozen
class PagePart:
    """A part of the page.

    Attributes:
        name: of the part; its element is ``p-NAME``.
        inside: what is in it.
        digest: of what it shows.
    """

    name: str
    inside: str
    digest: str

    @property
    def seen(self) -> str:
        """What the page sends back of it."""
        return f"{self.name}.{self.digest}"

    def _html(self) -> str:
        return f'{self.inside}<input type="hidden" name="seen" value="{self.seen}">'

    def __html__(self) -> str:
        """The part in a page."""
        return f'<div class="part" id="p-{self.name}">{self._html()}</div>'

    @property
    def sent(self) -> str:
        """The part as it is sent to a page that has an older one."""
        return f'<hx-partial id="p-{self.name}">{self._html()}</hx-partial>'


def part(name: str, inside: str, of: str | None = None) -> PagePart:
    """A part with its digest, of what is inside or of a text that stands for it."""
    told = inside if of is None else of
    return PagePart(name, inside, blake2s(told.encode(), digest_size=6).hexdigest())


@frozen
class PageParts:
    """The parts of one state of a package.

    Attributes:
        counter: the shop at the counter.
        asked: for which request.
        view: the facts.
        wrong: what is wrong with what was typed, by the name of its field.
    """

    counter: Counter
    asked: PageRequest
    view: PackageView
    wrong: Mapping[str, str] = field(factory=dict)

    def one(self, name: str, template: str, **values: Any) -> PagePart:
        """A part, filled in."""
        told = {**_NOTHING, "view": self.view, "wrong": self.wrong, **values}
        return part(name, self.counter.filled(self.asked, f"parts/{template}.html", **told).strip())

    def facts(self, **values: Any) -> dict[str, PagePart]:
        """The parts that are facts, and the state itself."""
        parts = {name: self.one(name, name, **values) for name in FACTS}
        return {"state": self.one("state", "state", state=self.view.state.packed()), **parts}

    def later(self) -> dict[str, PagePart]:
        """The parts that follow the facts; none where the page has them of this selection."""
        shop, language = self.view.shop, self.counter.speech(self.asked)
        selection = self.view.state.selection
        wrong = " ".join(f"{name}: {told}" for name, told in self.wrong.items())
        of = " ".join((shop.catalogue.digest, str(shop.day), language.tag, wrong, selection))
        whole = part("later", "", of)
        if self.asked.streams and whole.seen in self.asked.seen:
            return {}
        drawn = dict(enumerate(pictures_of(self.view, language)))
        parts = [
            self.one(f"picture-{n}", "picture", picture=drawn.get(n, "")) for n in range(PICTURES)
        ]
        build = self.view.build
        extras = build.suggestions() if build.selection.one(VEHICLE) else ()
        parts += [self.one(name, name, extras=extras) for name in _LATER]
        return {one.name: one for one in (*parts, whole)}

    def card(self, card: ChoiceCard) -> PagePart:
        """A choice with its options."""
        return self.one(f"c-{card.choice.id}", "card", card=card)

    def choices(self, shown: Sequence[Choice], cards: list[PagePart]) -> PagePart:
        """The choices that are looked at; what is in their cards is not in the digest."""
        inside = Markup("").join(Markup(card.__html__()) for card in cards)
        if not shown:
            language = self.counter.speech(self.asked)
            told = language.say(text("No option has these words in its name."))
            inside = Markup("<p>{}</p>").format(told)
        return part("choices", inside, ",".join(choice.id for choice in shown))


def message(asked: PageRequest, parts: list[PagePart]) -> bytes:
    """The parts that the page has not, as a message of a stream; empty where it has all."""
    changed = "".join(one.sent for one in parts if one.seen not in asked.seen)
    if not changed:
        return b""
    shorter = _BESIDE_TAGS.sub(" ", changed)
    lines = "".join(f"data: {line}\n" for line in shorter.splitlines())
    return f"{lines}\n".encode()


_BESIDE_TAGS = re.compile(r"(?<=>)\n+|\n+(?=<)")
"""Line ends that show as a space: each would cost a line of the stream."""
