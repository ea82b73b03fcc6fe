"""What a catalogue offers as JSON: choices, options and the ids to pick them by."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from configurator.money import exponent, round_to
from configurator.questions import ChoiceOffered

__all__ = ["choices_answer"]


def choices_answer(currency: str, choices: Iterable[ChoiceOffered]) -> dict[str, Any]:
    """The choices with their options; prices where they depend on nothing else."""
    digits = exponent(currency)
    return {
        "answer": "choices",
        "currency": currency,
        "choices": [
            {
                "choice": choice.choice,
                "title": choice.title,
                "text": choice.text,
                "pick": choice.pick,
                "at-most": choice.at_most,
                "options": [
                    {
                        "option": option.option,
                        "title": option.title,
                        "text": option.text,
                        "most": option.most,
                        "price": None
                        if option.price is None
                        else str(round_to(option.price.amount, digits)),
                    }
                    for option in choice.options
                ],
            }
            for choice in choices
        ],
    }
