"""What a conflict says of a rating: by how many kilograms, and what would carry it."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from attrs import frozen

from configurator.engine.constraint import ConstraintId, Explanation
from configurator.mass.demands import LIFTING
from configurator.mass.states import STATES, lifted_words, load_words, over_words, upgrade_words
from configurator.words import Text, text, used

PLAIN = {
    "people": text("more are to travel than there are seats"),
    "tow-ball": text("the tow ball would carry more than vehicle and tow bar are rated for"),
}

_MORE_THAN_RATED = {
    "gcm": text("the trailer is heavier than the ratings of vehicle and tow bar allow"),
    "axles": text("an axle would carry more than it is rated for, with what has to go with it"),
    "gvm": text("the vehicle would carry more than it is rated for, with what has to go with it"),
}
"""What is said where nobody can tell by how much."""


@frozen
class Exceeded:
    """A load over its rating, kg.

    Attributes:
        subject: which load.
        state: id of the state that it is in.
        load: the least that it comes to.
        rating: the highest that it may come to.
    """

    subject: str
    state: str
    load: Fraction
    rating: Fraction

    @property
    def over(self) -> Fraction:
        """By how much."""
        return self.load - self.rating


@frozen
class RatingExplained(Explanation):
    """What a conflict has to say of a rating: by how many kilograms, and what would carry it.

    Attributes:
        subject: which rating.
        found: what it comes to at least, as far as the picks of the conflict tell. They are just
            enough to exceed it, and so may exceed it by very little.
        every: what all picks come to, where that is more.
        by_layout: it rests on how units are in each other's way.
        overhang: how far behind the rear axle something may end, mm, where that is known.
        upgrades: what would carry the load and is available, with its rating.
        covers: the fit of all units in a space.
    """

    subject: str
    found: Exceeded | None = None
    every: Exceeded | None = None
    by_layout: bool = False
    overhang: Fraction | None = None
    upgrades: tuple[tuple[str, Fraction], ...] = ()
    covers: frozenset[ConstraintId] = frozenset()

    @property
    def sentence(self) -> str:
        """The least load, by how much it is too much, and the rating."""
        if self.subject in PLAIN:
            return PLAIN[self.subject]
        if self.subject == "overhang":
            if self.overhang is None:
                return text("tray or canopy would end too far behind the rear axle")
            most = Decimal(self.overhang.numerator) / Decimal(self.overhang.denominator)
            return text(
                "tray or canopy would end too far behind the rear axle: at most {most} mm are "
                "allowed",
                most=most,
            )
        told = self._told()
        if self.by_layout:
            return text("{load}, however the units are placed", load=told)
        return told

    def _told(self) -> Text:
        if self.found is None:
            return _MORE_THAN_RATED[self.subject]
        found, state = self.found, STATES[self.found.state]
        if found.subject == LIFTING:
            return lifted_words(state)
        return over_words(found.subject, state, found.load, found.rating, at_least=True)

    @property
    def more(self) -> str:
        """What all that is picked comes to, where that is more."""
        every, found = self.every, self.found
        if every is None or found is None or LIFTING in (found.subject, every.subject):
            return ""
        load: Text = text("at least {kg}", kg=used(every.load))
        if (every.subject, every.state) != (found.subject, found.state):
            load = load_words(every.subject, STATES[every.state], load)
        else:
            load = text("{load} kg", load=load)
        return text(
            "(with all that is picked, {load}, {over} kg more)", load=load, over=used(every.over)
        )

    @property
    def hint(self) -> str:
        """The upgrade that would carry it, or else what to do."""
        if self.found is None:
            return ""
        if self.found.subject == LIFTING:
            return text("Choose lighter parts, or carry less behind the rear axle.")
        for title, rating in self.upgrades[:1]:
            return text("{told}.", told=upgrade_words(title, rating))
        return text("Choose lighter parts, or a vehicle that carries more.")
