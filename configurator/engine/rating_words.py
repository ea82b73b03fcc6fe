"""What a conflict says of a rating: by how many kilograms, and what would carry it."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from attrs import frozen

from configurator.mass.demands import LIFTING
from configurator.mass.states import STATES, lifted_words, load_words, over_words
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


def overhang_words(most: Fraction | None) -> Text:
    """That something ends too far behind the rear axle, and how far it may, mm, where known."""
    if most is None:
        return text("tray or canopy would end too far behind the rear axle")
    return text(
        "tray or canopy would end too far behind the rear axle: at most {most} mm are allowed",
        most=Decimal(most.numerator) / Decimal(most.denominator),
    )


def least_words(subject: str, found: Exceeded | None, by_layout: bool) -> Text:
    """The least load, by how much it is too much, and the rating, as far as they are known.

    Args:
        subject: which rating.
        found: what it comes to as far as the picks of the conflict tell. They are just enough to
            exceed it, and so may exceed it by very little.
        by_layout: it rests on how units are in each other's way.
    """
    if found is None:
        told = _MORE_THAN_RATED[subject]
    elif found.subject == LIFTING:
        told = lifted_words(STATES[found.state])
    else:
        state = STATES[found.state]
        told = over_words(found.subject, state, found.load, found.rating, at_least=True)
    return text("{load}, however the units are placed", load=told) if by_layout else told


def all_words(every: Exceeded, found: Exceeded) -> Text:
    """What all that is picked comes to, which is more than is found."""
    load: Text = text("at least {kg}", kg=used(every.load))
    if (every.subject, every.state) != (found.subject, found.state):
        load = load_words(every.subject, STATES[every.state], load)
    else:
        load = text("{load} kg", load=load)
    return text(
        "(with all that is picked, {load}, {over} kg more)", load=load, over=used(every.over)
    )
