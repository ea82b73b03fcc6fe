"""Any answer of a shop or a build as data, in the shape of the answers' schema."""

from __future__ import annotations

from typing import Any

from configurator.answers.budget import budget_answer
from configurator.answers.engine import (
    completion_answer,
    explanation_answer,
    fixes_answer,
    options_answer,
    within_answer,
)
from configurator.answers.layout import layout_answer
from configurator.answers.ratings import mass_answer, power_answer
from configurator.answers.selling import comparison_answer, quote_answer
from configurator.engine.answers import (
    Completion,
    Explanation,
    Fixes,
    OptionsAnswer,
    WithinAnswer,
)
from configurator.questions import LayoutAnswer, MassAnswer, PowerAnswer
from configurator.report.budget import BudgetPaper
from configurator.report.comparison import Comparison
from configurator.report.quote import Quote

__all__ = ["to_data"]


def to_data(answer: Any) -> Any:
    """The answer as data, where the converter does not make it yet."""
    match answer:
        case Quote():
            return quote_answer(answer)
        case Comparison():
            return comparison_answer(answer)
        case BudgetPaper():
            return budget_answer(answer)
        case LayoutAnswer():
            return layout_answer(
                answer.build.catalogue, answer.layout, answer.findings, answer.would_fit
            )
        case MassAnswer() if answer.picture is not None:
            return mass_answer(answer.picture, answer.findings)
        case PowerAnswer():
            return power_answer(answer.picture, answer.findings)
        case OptionsAnswer():
            return options_answer(answer)
        case Explanation():
            return explanation_answer(answer)
        case Fixes():
            return fixes_answer(answer)
        case Completion():
            return completion_answer(answer)
        case WithinAnswer():
            return within_answer(answer)
        case _:
            return answer
