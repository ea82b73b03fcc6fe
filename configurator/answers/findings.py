"""A finding as data: the shape that ``schemas/answers.schema.json`` documents."""

from __future__ import annotations

from typing import Any

from configurator.findings import Finding
from configurator.words import plain

__all__ = ["finding_answer"]


def finding_answer(finding: Finding) -> dict[str, Any]:
    """One finding."""
    return {
        "level": finding.level,
        "code": finding.code,
        "subject": finding.subject,
        "sentence": finding.sentence,
        "reason": finding.reason,
        "hint": finding.hint,
        "numbers": {name: plain(number) for name, number in finding.numbers},
        "at": str(finding.at) if finding.at.line else "",
    }
