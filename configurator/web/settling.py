"""The states of the options on a page: settled quickly first, then patiently what was left."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import chain

from attrs import evolve, frozen

from configurator.build import Effort
from configurator.build_changes import resolved
from configurator.catalogue.model import Choice
from configurator.engine.availability import OptionAnswer
from configurator.errors import SearchLimit
from configurator.selection.changes import largest_unit
from configurator.selection.resolved import Resolved
from configurator.web.counter import ChoiceStates, Counter
from configurator.web.state import FormState, Tap
from configurator.web.views import PackageView
from configurator.words import Text, text

_QUICK: Effort = "quick"
_PATIENT: Effort = "patient"


def settling(
    counter: Counter, state: FormState, choices: Sequence[Choice], patient: bool = False
) -> Iterator[Choice | None]:
    """The choices, one after the other, as the states of their options become known.

    Those that are known already come first; patiently, those alone that have a state left. None
    after each option: a newer step may then go before.
    """
    known = [one for one in choices if _known(counter, state, one, patient)]
    if not patient:
        yield from known
    unknown = [one.id for one in choices if one not in known]
    if not unknown:
        return
    build, effort = state.build(counter.shop), _PATIENT if patient else _QUICK
    try:
        for states in build.one_by_one(*unknown, effort=effort, pauses=True):
            if not states:
                yield None
                continue
            choice = states[0].choice
            before = counter.settled.get((state.selection, choice))
            counter.settle(state.selection, choice, _better(before, states), patient)
            yield build.catalogue.by_id[choice]
    except SearchLimit:
        if patient:
            yield from _given_up(counter, state, choices)


def settled_by_reason(counter: Counter, state: FormState, choice: Choice) -> bool:
    """Whether more is settled of a choice, now that the reason of one of its options is known."""
    before = counter.settled.get((state.selection, choice.id))
    if before is None or not before.left:
        return False
    (states,) = state.build(counter.shop).one_by_one(choice.id, effort=_QUICK)
    now = evolve(before, states=_better(before, states))
    if not now.better_than(before):
        return False
    counter.settle(state.selection, choice.id, now.states, patient=before.final)
    counter.share(state.selection)
    return True


def _known(counter: Counter, state: FormState, choice: Choice, patient: bool) -> bool:
    before = counter.settled.get((state.selection, choice.id))
    return before is not None and (before.final or not patient)


def _better(before: ChoiceStates | None, now: tuple[OptionAnswer, ...]) -> tuple[OptionAnswer, ...]:
    """The states now, but of what is not settled now those before."""
    if before is None:
        return now
    both = zip(before.states, now, strict=True)
    return tuple(old if new.state == "undecided" else new for old, new in both)


def _given_up(counter: Counter, state: FormState, choices: Sequence[Choice]) -> Iterator[Choice]:
    """The choices that stay as they are, where the picks themselves could not be settled."""
    for choice in choices:
        before = counter.settled.get((state.selection, choice.id))
        if before is not None and not before.final:
            counter.settle(state.selection, choice.id, before.states, patient=True)
            yield choice


@frozen
class Unsettled:
    """What a page does not know yet, or could not find out.

    Attributes:
        checking: options of the group looked at that are still being asked about.
        left: options of it that could not be settled.
        picks: whether the picks go together: ``checking``, ``unknown`` or ``impossible``; empty
            where they do, where a stop says so already, and while nothing speaks against it.
        because: why something could not be settled, and what to do.
    """

    checking: int = 0
    left: int = 0
    picks: str = ""
    because: Text | None = None


def unsettled(counter: Counter, view: PackageView, here: Sequence[Choice]) -> Unsettled:
    """What is not settled, as far as anything was asked about."""
    of = view.state.selection
    found = [counter.settled.get((of, choice.id)) for choice in here]
    open_here = [(one.final, one.left) for one in found if one is not None]
    known = Unsettled(
        sum(len(left) for final, left in open_here if not final),
        sum(len(left) for final, left in open_here if final),
        _of_picks(counter, view),
    )
    if not known.left and known.picks != "unknown":
        return known
    every = (counter.settled.get((of, id_)) for id_ in view.build.catalogue.by_id)
    left = chain.from_iterable(one.left for one in (*found, *every) if one is not None)
    return evolve(known, because=told_why(_cause(next(left)), resolved(view.build)))


def in_doubt(counter: Counter, view: PackageView, here: Sequence[Choice]) -> bool:
    """Whether an option of these choices is left, or none proves that the picks go together."""
    of = view.state.selection
    found = [counter.settled.get((of, choice.id)) for choice in here]
    every = [state for one in found if one is not None for state in one.states]
    if any(one.left for one in found if one is not None):
        return True
    return not (_proved(every) or _checked(view))


def _checked(view: PackageView) -> bool:
    """Whether the check says of the picks whether they go together: all are made, or some clash."""
    return view.clash or not (view.to_choose or view.check.missing)


def left_over(counter: Counter, state: FormState, choices: Iterable[Choice]) -> list[Choice]:
    """The choices with an option that may still be settled, patiently."""
    return [one for one in choices if not _known(counter, state, one, patient=True)]


def doubted(counter: Counter, view: PackageView) -> bool:
    """Whether it is known that the picks do not go together."""
    return view.clash or _of_picks(counter, view) == "impossible"


def undecided(counter: Counter, state: FormState, asked: Tap) -> bool:
    """Whether an option that a tap asks about is not settled."""
    known = counter.settled.get((state.selection, asked.to))
    return known is not None and any(one.option == asked.which for one in known.left)


def _proved(every: Iterable[OptionAnswer]) -> bool:
    """Whether some option is available, so that the picks go together."""
    return any(one.state in ("open", "implied") for one in every)


def _of_picks(counter: Counter, view: PackageView) -> str:
    """Whether the picks go together, of which every available option is a proof."""
    if _checked(view):
        return ""
    of = view.state.selection
    found = {id_: counter.settled.get((of, id_)) for id_ in view.build.catalogue.by_id}
    known = {id_: one for id_, one in found.items() if one is not None}
    every = [state for one in known.values() for state in one.states]
    if len(known) < len(found) or _proved(every):
        return ""
    if any(all(one.state == "ruled-out" for one in known[id_].states) for id_ in view.needed):
        return "impossible"
    if not any(one.left for one in known.values()):
        return ""
    return "unknown" if all(one.final for one in known.values()) else "checking"


def _cause(answer: OptionAnswer) -> object:
    reason = answer.reason
    return reason.values.get("cause", reason) if isinstance(reason, Text) else reason


def told_why(cause: object, build: Resolved) -> Text:
    """Why something was not settled, and what to do to settle it.

    Args:
        cause: what the search said.
        build: what is picked.
    """
    space = cause.values.get("space") if isinstance(cause, Text) else None
    if space is None:
        return text("{cause:capital}. Leave out a pick, then ask again.", cause=cause)
    spaces = [one.id for one in build.catalogue.spaces if one.title == space]
    unit = largest_unit(build, spaces)
    if unit is None:
        return text("{cause:capital}. Choose a larger {space}.", cause=cause, space=space)
    return text(
        "{cause:capital}. Leave out {unit}, or choose a larger {space}.",
        cause=cause,
        unit=build.catalogue.option(*unit.key).title,
        space=space,
    )
