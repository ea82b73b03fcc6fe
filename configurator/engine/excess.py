"""What there is to say of a rating that is exceeded: its words, with the numbers in them."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import TypeAlias

from attrs import frozen

from configurator.mass.demands import LIFTING
from configurator.mass.states import STATES, lifted_words, load_words, over_words
from configurator.words import Text, left, text, used

PLAIN = {
    "people": text("there are more people than seats"),
    "tow-ball": text("the tow ball would carry more than vehicle and tow bar are rated for"),
}
"""What is said of ratings that have no numbers to show."""

_MORE_THAN_RATED = {
    "gcm": text("the trailer is heavier than the ratings of vehicle and tow bar allow"),
    "axles": text(
        "an axle would carry more than its rating, counting what has to go with these picks"
    ),
    "gvm": text(
        "the vehicle would carry more than its rating, counting what has to go with these picks"
    ),
}
"""What is said where nobody can tell by how much."""


Numbers: TypeAlias = tuple[tuple[str, Decimal], ...]


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

    @property
    def numbers(self) -> Numbers:
        """Load, rating and excess as findings have them; of the front axle what it is short."""
        if self.subject == LIFTING:
            return (("short", used(self.over)),)
        return ("load", used(self.load)), ("rating", left(self.rating)), ("over", used(self.over))

    @property
    def of_all(self) -> Numbers:
        """Load and excess with all that is picked."""
        return ("load-of-all", used(self.load)), ("over-of-all", used(self.over))


def overhang_words(most: Fraction | None) -> Text:
    """That something ends too far behind the rear axle, and how far it may, mm, where known."""
    if most is None:
        return text("the rear overhang would be too long")
    return text(
        "the rear overhang would be too long: at most {most} mm is allowed",
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
