"""Why an option is not available, which is said at once, and the fixes, each as it is found."""

from __future__ import annotations

from collections.abc import Iterator

from attrs import evolve, frozen

from configurator.build_changes import resolved
from configurator.errors import SearchLimit
from configurator.selection.changes import largest_unit
from configurator.shop import Shop
from configurator.web.settling import told_why
from configurator.web.state import FormState, Tap, tap_to
from configurator.words import capital, text


@frozen
class Reasons:
    """Why an option is not available.

    Attributes:
        title: of the option; without one, of what is told.
        choice: id of its choice.
        option: its id; empty where the fixes are for the picks.
        premises: because of these.
        conclusion: what follows from them.
        hint: what would help, or empty.
        available: it is available after all.
    """

    title: str
    choice: str = ""
    option: str = ""
    premises: tuple[str, ...] = ()
    conclusion: str = ""
    hint: str = ""
    available: bool = False


@frozen
class Ways:
    """What makes available what was asked about, or makes the picks go together.

    Attributes:
        title: of the option; empty where it is about the picks.
        fixes: changes, each in words and as the button that makes it.
        told: what is said where there is none.
        more: there may be more fixes than these, or what to do where none was settled; else empty.
        looking: the next one is still being looked for.
        ask: the button that asks for them, while nobody did.
    """

    title: str = ""
    fixes: tuple[tuple[str, Tap], ...] = ()
    told: str = ""
    more: str = ""
    looking: bool = False
    ask: Tap | None = None


def reasons_of(shop: Shop, state: FormState, asked: Tap) -> Reasons:
    """Why the option is not available that a tap asks about; of none, a title for what mends.

    What is asked about is a colon, and CHOICE:OPTION or nothing.

    Raises:
        SelectionError: the selection or the option cannot be understood.
    """
    choice, option = asked.to, asked.which
    if not option:
        return Reasons(text("What would help"))
    reasons = Reasons(shop.catalogue.option(choice, option).title, choice, option)
    build = state.build(shop)
    try:
        answer = build.explain(choice, option)
    except SearchLimit as limit:
        told = text("It could not be settled whether this is available")
        return evolve(reasons, conclusion=told, hint=told_why(limit.args[0], resolved(build)))
    if answer.possible:
        return evolve(reasons, available=True)
    if answer.conflict is None:
        told = text("It is not available with these picks. Why could not be settled")
        spaces = [space.id for space in shop.catalogue.spaces]
        unit = largest_unit(resolved(build), spaces, choice)
        hint = text("Leave out a pick, then ask again.")
        if unit is not None:
            title = shop.catalogue.option(*unit.key).title
            hint = text("Leave out {unit}, then ask again.", unit=title)
        return evolve(reasons, conclusion=told, hint=hint)
    conflict, premises = answer.conflict, tuple(answer.conflict.premises)
    conclusion = conflict.conclusion if premises else capital(conflict.conclusion)
    return evolve(reasons, premises=premises, conclusion=conclusion, hint=conflict.hint)


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
        more = "" if option else told_why(limit.args[0], resolved(build))
        yield evolve(ways, told=told, more=more, looking=False)
