"""What became of a batch of quotes, as JSON."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from configurator.answers.data import amount_text
from configurator.report.batch import Quoted

__all__ = ["batch_answer"]


def batch_answer(results: Sequence[Quoted]) -> dict[str, Any]:
    """Every selection of the folder, with its quote or why there is none."""
    return {
        "answer": "batch",
        "quotes": [
            {
                "selection": quoted.job.selection,
                "number": quoted.job.number,
                "file": quoted.job.output if quoted.price else "",
                "currency": quoted.price.currency if quoted.price else "",
                "total": amount_text(quoted.price.total) if quoted.price else None,
                "from": bool(quoted.price and quoted.price.is_from),
                "problem": quoted.problem,
            }
            for quoted in results
        ],
    }
