"""What a catalogue offers as JSON, in the shape that ``schemas/answers.schema.json`` documents."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from configurator.catalogue.model import Catalogue, Choice, Option
from configurator.money import exponent, round_to
from configurator.pricing.whole import option_price
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved

__all__ = ["choices_answer"]


def choices_answer(catalogue: Catalogue, choices: Sequence[Choice]) -> dict[str, Any]:
    """The choices with their options; prices where they hang on nothing else."""
    return {
        "answer": "choices",
        "currency": catalogue.currency,
        "choices": [
            {
                "choice": choice.id,
                "title": choice.title,
                "text": choice.text,
                "pick": choice.pick,
                "at-most": choice.at_most,
                "options": [_option(catalogue, choice, option) for option in choice.options],
            }
            for choice in choices
        ],
    }


def _option(catalogue: Catalogue, choice: Choice, option: Option) -> dict[str, Any]:
    each = option_price(Resolved(catalogue, Selection(catalogue.id)), choice, option).each
    digits = exponent(catalogue.currency)
    return {
        "option": option.id,
        "title": option.title,
        "text": option.text,
        "most": option.most,
        "price": None if each is None else str(round_to(each.amount, digits)),
    }
