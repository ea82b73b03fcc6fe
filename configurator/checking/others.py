"""Findings on constraints of any kind that no other module of checks tells in words of its own."""

from __future__ import annotations

from configurator.engine import kinds
from configurator.findings import Finding, Saying
from configurator.selection.resolved import Resolved, once
from configurator.words import joined

_SAYING = Saying("stop", "{told:capital}")


@once
def other_findings(build: Resolved) -> tuple[Finding, ...]:
    """What each of them says where the selection breaks it; its kind is the code."""
    if not kinds.MORE:
        return ()
    # half of the engine, for nothing where there is no other kind
    from configurator.engine.refusals import refusals

    return tuple(
        _SAYING.finding(
            refusal.constraint.id.kind,
            refusal.constraint.id.subject,
            {"told": joined(filter(None, (refusal.told.sentence, refusal.told.more)), " ")},
            refusal.told.numbers,
            hint=refusal.told.hint,
            may_come=refusal.may_come,
            at=refusal.constraint.at,
        )
        for refusal in refusals(build, kinds.MORE)
    )
