"""Why an option is not available, which is said at once, and the fixes, each as it is found."""

from __future__ import annotations

from collections.abc import Iterator

from attrs import evolve, frozen

from configurator.build import Build
from configurator.build_changes import resolved
from configurator.catalogue.fields import Pick
from configurator.engine.conflicts import Conflict
from configurator.errors import SearchLimit
from configurator.report.engine import available_told
from configurator.selection.changes import largest_unit
from configurator.shop import Shop
from configurator.web.settling import told_why
from configurator.web.state import FormState, Tap, tap_to
from configurator.web.views import PackageView
from configurator.words import capital, text


@frozen
class Reasons:
    """Why an option is not available.

    Attributes:
        title: of the option; without one, of what is told.
        choice: id of its choice.
        option: its id; empty where the fixes are for the picks.
        picks: that the picks do not go together anyway, which is said first; else empty.
        premises: because of these.
        conclusion: what follows from them.
        hint: what would help, or empty.
        available: that it is available after all, or empty.
    """

    title: str
    choice: str = ""
    option: str = ""
    picks: str = ""
    premises: tuple[str, ...] = ()
    conclusion: str = ""
    hint: str = ""
    available: str = ""


@frozen
class Ways:
    """What makes available what was asked about, or makes the picks go together.

    Attributes:
        title: of the option; empty where it is about the picks.
        fixes: changes, each in words and as the button that makes it.
        told: what is said where there is none.
        more: there may be more fixes than these, or what to do where none was settled; else empty.
        leave: what makes room where none was settled, in words and as the button that does it.
        looking: the next one is still being looked for.
        ask: the button that asks for them, while nobody did.
    """

    title: str = ""
    fixes: tuple[tuple[str, Tap], ...] = ()
    told: str = ""
    more: str = ""
    leave: tuple[str, Tap] | None = None
    looking: bool = False
    ask: Tap | None = None


def reasons_of(view: PackageView, asked: Tap, doubted: bool) -> Reasons:
    """Why the option is not available that a tap asks about; of none, why the picks clash.

    Args:
        view: the package.
        asked: what is asked about: a colon, and CHOICE:OPTION or nothing.
        doubted: it is known that the picks do not go together.

    Raises:
        SelectionError: the selection or the option cannot be understood.
    """
    choice, option, build = asked.to, asked.which, view.build
    if not option:
        return _of_picks(build)
    title = build.catalogue.option(choice, option).title
    reasons = Reasons(title, choice, option)
    if doubted and (conflict := _without(build, choice)):
        told = text("These picks do not go together, with or without {option}:", option=title)
        hint = text("Change one of these picks first, then look at {option} again.", option=title)
        return evolve(reasons, picks=told, premises=tuple(conflict.premises), hint=hint)
    try:
        answer = build.explain(choice, option)
    except SearchLimit as limit:
        told = text("It could not be settled whether this is available")
        return evolve(reasons, conclusion=told, hint=told_why(limit.args[0], resolved(build)))
    if answer.possible:
        return evolve(reasons, available=available_told(build.catalogue, answer))
    if answer.conflict is None:
        told = text("It is not available with these picks. Why could not be settled")
        unit = _to_leave_out(build, choice)
        hint = text("Leave out a pick, then tap Why? again.")
        if unit is not None:
            hint = text("Leave out {unit}, then tap Why? again.", unit=_titled(build, unit))
        return evolve(reasons, conclusion=told, hint=hint)
    return _told(reasons, answer.conflict)


def _of_picks(build: Build) -> Reasons:
    """Why the picks do not go together, where they do not and that is settled."""
    reasons = Reasons(text("What would help"))
    try:
        conflict = build.explain().conflict
    except SearchLimit:
        return reasons
    return reasons if conflict is None else _told(reasons, conflict)


def _told(reasons: Reasons, conflict: Conflict) -> Reasons:
    premises = tuple(conflict.premises)
    conclusion = conflict.conclusion if premises else capital(conflict.conclusion)
    return evolve(reasons, premises=premises, conclusion=conclusion, hint=conflict.hint)


def _without(build: Build, choice: str) -> Conflict | None:
    """Why the picks do not go together, whatever is picked of a choice; None where it counts."""
    try:
        conflict = build.explain().conflict
    except SearchLimit:
        return None
    counts = conflict is None or any(pick.choice == choice for pick in conflict.picks)
    return None if counts else conflict


def _to_leave_out(build: Build, choice: str) -> Pick | None:
    """The largest unit that may be left out so that there is room for the options of a choice."""
    spaces = [space.id for space in build.catalogue.spaces]
    return largest_unit(resolved(build), spaces, [choice])


def _titled(build: Build, unit: Pick) -> str:
    return build.catalogue.option(*unit.key).title


def to_ask_for(reasons: Reasons, streams: bool) -> Ways:
    """What stands in the place of the fixes until there are some: that, or who asks for them."""
    if reasons.available:
        return Ways()
    if streams:
        return Ways(looking=True)
    return Ways(ask=Tap("ways", reasons.choice, reasons.option))


def ways_of(shop: Shop, state: FormState, asked: Tap) -> Iterator[Ways]:
    """The fixes so far, after each that is found; the last time with what is said of them.

    Raises:
        SelectionError: the selection or the option cannot be understood.
    """
    choice, option = asked.to, asked.which
    build = state.build(shop)
    answers = build.fixes_one_by_one(choice, option)
    ways = Ways(shop.catalogue.option(choice, option).title if option else "")
    try:
        for found in answers:
            taps = tuple((fix.words, tap_to(fix.selection)) for fix in found.fixes)
            ways = evolve(ways, fixes=taps, looking=found.looking)
            if found.unsettled and not found.looking:
                ways = evolve(ways, more=text("There may be more: finding them takes longer."))
            if found.stopped:
                ways = evolve(ways, told=text("Changing a few picks does not fix it."))
            elif found.nothing_to_mend and not option:
                later = text("These picks go together; what is missing can still be chosen.")
                ways = evolve(ways, told=later)
            yield ways
    except SearchLimit as limit:
        told = text("It could not be settled whether changing a few picks fixes it.")
        more, leave = told_why(limit.args[0], resolved(build)), None
        if unit := _to_leave_out(build, choice):
            words = text("Leave out {unit}", unit=_titled(build, unit))
            leave = words, Tap("drop", *unit.key)
        yield evolve(ways, told=told, more=more, looking=False, leave=leave)
