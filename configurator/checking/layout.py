"""Findings about the layout: units that do not go in together, places that were not kept."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Literal

from attrs import frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Catalogue, Choice, Option
from configurator.errors import SearchLimit
from configurator.findings import Finding
from configurator.fit.layout import Layout, NoLayout, Place, UnitName, Unkept
from configurator.fit.shapes import stances
from configurator.fit.units import SIDES, UnitFit, fit_unit, misfit_words
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved, once, trial
from configurator.selection.totals import MissingPicks, space_sizes
from configurator.words import Text, itemised, joined, listed, text

_SIZES = {"length": text("length"), "width": text("width"), "height": text("height")}


@frozen(eq=False, repr=False)
class LayoutCheck:
    """What came of laying out a selection.

    Attributes:
        layout: where everything sits, when all of it does.
        refused: why not, when that is proven of units that each fit on their own.
        gave_up: what the search said when it stopped without an answer, or empty.
    """

    layout: Layout | None = None
    refused: NoLayout | None = None
    gave_up: str = ""


@once
def laid_out(build: Resolved, fits: tuple[UnitFit, ...]) -> LayoutCheck:
    """Lay out what fits on its own; what does not has a finding already and is left out here."""
    if not fits:
        return LayoutCheck()
    from configurator.layout.answers import lay_out

    alone, bad = build.selection, [fit for fit in fits if not fit.fits]
    while bad:
        for fit in bad:
            alone = alone.without(fit.choice, fit.option.id)
        here = trial(build, alone)
        rest = (fit for fit in fits if fit.option.id in alone.chosen.get(fit.choice, ()))
        bad = [fit for fit in rest if not _fits(here, fit)]
    try:
        answer = lay_out(trial(build, alone))
    except SearchLimit as limit:
        return LayoutCheck(gave_up=limit.args[0])
    if isinstance(answer, NoLayout):
        return LayoutCheck(refused=answer)
    return LayoutCheck(layout=answer if all(fit.fits for fit in fits) else None)


def _fits(build: Resolved, fit: UnitFit) -> bool:
    """Whether the unit fits on its own; not where what it stands on is still to be chosen."""
    try:
        return fit_unit(build, fit.choice, fit.option).fits
    except MissingPicks:
        return False


def unsettled(build: Resolved, patient: bool = True) -> tuple[str, ...]:
    """Ids of spaces whose units do not go in together, or where no answer was found."""
    from configurator.layout.answers import not_together

    try:
        return not_together(build, patient)
    except SearchLimit:
        return tuple(space.id for space in build.catalogue.spaces)


def layout_findings(
    build: Resolved, laid: LayoutCheck, sound: Callable[[Selection], bool] | Literal[False]
) -> Iterator[Finding]:
    """What the layout has to say.

    Args:
        build: what is picked, from which catalogue.
        laid: what came of laying it out.
        sound: whether a changed selection stops nothing that this one does not; False where nobody
            asks for the nearest fixes.
    """
    if laid.gave_up:
        yield Finding(
            level="caution",
            code="arrangement-not-proven",
            about="layout",
            sentence=text(
                "Each unit fits on its own, but whether they all fit together is not known: "
                "{gave_up}",
                gave_up=laid.gave_up,
            ),
            hint=text("draw the layout by hand before you promise it, or leave something out"),
        )
    if laid.refused is not None:
        yield _refused(build, laid.refused, sound)
    if laid.layout is not None:
        for unkept in laid.layout.unkept:
            yield _unkept(build, unkept)


def _refused(
    build: Resolved, refused: NoLayout, sound: Callable[[Selection], bool] | Literal[False]
) -> Finding:
    from configurator.layout.answers import may_yet_go_in

    units, alone = _titles(build.catalogue, refused.units), len(refused.units) == 1
    space, reason = build.catalogue.space_title(refused.space), ""
    may_come = may_yet_go_in(build, refused)
    sentence = text("there is no room for {units} in the {space}", units=units, space=space)
    if not alone:
        sentence = text("{units} do not all fit in the {space} together", units=units, space=space)
        reason = text("Each one fits on its own, but there is no way to fit them all (proven).")
        if may_come:
            more = text("Something more to stand on, or another opening, may still help.")
            reason = joined([reason, more], " ")
        if not refused.least:
            spare = text("Some of them may not be part of the problem.")
            reason = joined([reason, spare], " ")
    missing, numbers = refused.missing, tuple[tuple[str, int], ...]()
    if missing is not None:
        sentence = text(
            "{sentence}: the {size} inside would have to be {needs} mm, but is {has} mm: {short} "
            "mm short",
            sentence=sentence,
            short=missing.needs - missing.has,
            size=_SIZES[missing.what],
            needs=missing.needs,
            has=missing.has,
        )
        numbers = (("needs", missing.needs), ("has", missing.has))
    return Finding(
        level="stop",
        code="layout",
        about=refused.space,
        sentence=sentence,
        reason=reason,
        hint=joined(_nearest_fixes(build, refused, sound), "; ") if sound else "",
        numbers=numbers,
        may_come=may_come,
        at=build.catalogue.option(*refused.units[0].key).at,
    )


def _nearest_fixes(
    build: Resolved, refused: NoLayout, sound: Callable[[Selection], bool]
) -> Iterator[str]:
    """Single changes after which everything goes in and nothing else stops, each proved.

    Of a choice that makes the space, the option that makes it least large is reported. A space that
    is hard to settle is not settled for a hint.
    """

    def mends(changed: Selection) -> bool:
        return not unsettled(trial(build, changed), patient=False) and sound(changed)

    units = dict.fromkeys(name.key for name in refused.units)
    leave = []
    for choice_id, option_id in units:
        quantity = build.selection.quantity(choice_id, option_id)
        one_less = build.picking(Pick(choice_id, option_id, quantity - 1))
        fewer = build.selection.without(choice_id, option_id).tidied()
        if mends(fewer if quantity == 1 else one_less):
            leave.append(build.catalogue.option(choice_id, option_id).title)
    if len(leave) > 1:
        yield text("leave out one of {titles}", titles=itemised(leave))
    elif leave:
        yield text("leave out {title}", title=leave[0])
    for choice_id, option_id in refused.picks:
        choice = build.catalogue.by_id[choice_id]
        if (choice_id, option_id) in units or choice.pick == "several":
            continue
        found = []
        for option in choice.options:
            shapes = option.id != option_id and (option.space or option.openings)
            if shapes and mends(build.picking(Pick(choice_id, option.id))):
                sizes = [getattr(p, s) or 0 for _, p in option.space for s in _SIZES]
                found.append((sum(sizes), option.title))
        if found:
            yield text("choose {choice} {option}", choice=choice.title, option=min(found)[1])


def would_fit(build: Resolved) -> Iterator[tuple[Choice, Option]]:
    """Units that would go in too, one at a time and nothing moved out for it; rules not asked.

    Only where nothing is picked yet, or several may be; in the catalogue's order.
    """
    for choice in build.catalogue.by_id.values():
        chosen = build.selection.chosen.get(choice.id, ())
        total = sum(build.selection.quantity(choice.id, option) for option in chosen)
        if (chosen and choice.pick != "several") or total == choice.at_most:
            continue
        for option in choice.options:
            quantity = build.selection.quantity(choice.id, option.id) + 1
            if option.unit is None or quantity > option.most:
                continue
            more = trial(build, build.picking(Pick(choice.id, option.id, quantity)))
            try:
                if fit_unit(more, choice.id, option).fits and not unsettled(more):
                    yield choice, option
            except MissingPicks:
                continue


def _unkept(build: Resolved, unkept: Unkept) -> Finding:
    """What is said of a place that the layout does not keep."""
    place, wish = unkept.place, unkept.place.wish
    option = build.catalogue.option(*place.key)
    known = {"title": option.title, "where": _where(place)}
    if place.preferred:
        sentence = text("{title} is not {where}", **known)
        unknown = text(
            "It is not known whether {title} can be {where}: the search stopped first",
            **known,
        )
        hint = text(
            "if it matters, move what is in its way with --place, or a wish in the selection"
        )
    else:
        sentence = text("{title} cannot {where} as wished", **known)
        unknown = text(
            "It is not known whether {title} can {where} as wished: the search stopped first",
            **known,
        )
        hint = text("it has been placed elsewhere; change the wish or what is in its way")
    beyond, ends = _beyond(build, place), tuple[tuple[str, int], ...]()
    if beyond is None:
        why = _why(build, unkept)
    else:
        axis, low, high = beyond
        ends = ("least", low), ("most", high)
        why = text(
            "outside the space; inside it is {axis} {low} to {high} mm at most",
            axis=axis,
            low=low,
            high=high,
        )
    if beyond is not None or not (unkept.in_the_way or unkept.overloads or unkept.unsettled):
        hint = text("it has been placed elsewhere; drop the wish or try another place")
        if place.preferred:
            hint = text("if it matters, try another place with --place, or a wish in the selection")
    if why is not None:
        sentence = text("{sentence}: {why}", sentence=sentence, why=why)
    exact = (("x", wish.x), ("y", wish.y), ("z", wish.z))
    return Finding(
        level="note" if place.preferred else "caution",
        code="place" if place.preferred else "wish",
        about=Pick(*place.key),
        sentence=unknown if unkept.unsettled and beyond is None else sentence,
        hint=hint,
        numbers=(*((name, mm) for name, mm in exact if mm is not None), *ends),
        at=option.at if place.preferred else wish.at,
    )


def _beyond(build: Resolved, place: Place) -> tuple[str, int, int] | None:
    """The axis along which a wished position is outside the space, and its ends for the unit.

    Mm, of all sides and turns that are asked for; None where no position is outside. Not every
    place between the ends will do: the unit has to stand, hang or be carried there.
    """
    wish, unit = place.wish, build.catalogue.option(*place.key).unit
    if unit is None:
        return None
    try:
        inside = space_sizes(build, unit.space).interior
    except MissingPicks:
        return None
    ways = [one.free(inside) for one in stances(unit) if wish.side in ("", one.side)]
    for index, (axis, mm) in enumerate((("x", wish.x), ("y", wish.y), ("z", wish.z))):
        ends = [way[index] for way in ways if way[index][0] <= way[index][1]]
        if mm is not None and ends:
            low, high = min(low for low, _ in ends), max(high for _, high in ends)
            if not low <= mm <= high:
                return axis, low, high
    return None


def _where(place: Place) -> Text:
    """Where the unit is asked to be, in words."""
    wish = place.wish
    if place.doors:
        doors = dict.fromkeys(SIDES[door.side] for door in place.doors)
        sides = listed(doors, alternatives=True)
        return text("behind the door that is meant for it, on the {sides}", sides=sides)
    if place.preferred and wish.side:
        return text("at the {side}, where it is preferred", side=SIDES[wish.side])
    if place.preferred:
        return text("towards the {side}, where it is preferred", side=SIDES[wish.towards])
    where = []
    if wish.side:
        where.append(text("work from the {side}", side=SIDES[wish.side]))
    if wish.towards:
        where.append(text("sit towards the {side}", side=SIDES[wish.towards]))
    exact = (("x", wish.x), ("y", wish.y), ("z", wish.z))
    at = [text("{axis} {n} mm", axis=axis, n=n) for axis, n in exact if n is not None]
    if at:
        where.append(text("sit at {place}", place=joined(at)))
    return listed(where)


def _why(build: Resolved, unkept: Unkept) -> Text | None:
    """Why a place is not kept; None where that cannot be told."""
    place, wish = unkept.place, unkept.place.wish
    if unkept.overloads:
        return text("no layout with it there keeps the axle ratings")
    if unkept.in_the_way:
        units = _titles(build.catalogue, unkept.in_the_way)
        return text("blocked by {units}", units=units)
    if place.doors and any((w.choice, w.option) == place.key for w in build.selection.wishes):
        return text("the selection wishes for another place")
    if place.preferred and wish.towards:
        return text("on its side there is no room for it there, even with nothing else beside it")
    option = build.catalogue.option(*place.key)
    if wish.side and option.unit is not None:
        try:
            there = fit_unit(build, wish.choice, option, wish.side)
        except MissingPicks:
            return None
        if not there.fits:
            return joined((misfit_words(build.catalogue, there, m) for m in there.misfits), "; ")
    several = build.selection.quantity(*place.key)
    if several > 1 and wish.x is wish.y is wish.z is None:
        return text(
            "not all {n} of them would fit there, even with nothing else beside them", n=several
        )
    return text("it would not fit there even with nothing else beside it")


def _titles(catalogue: Catalogue, names: tuple[UnitName, ...]) -> Text:
    """Titles of the units, each once with how many of it."""
    keys = [name.key for name in names]
    return listed(
        text("{title} ({n} of it)", title=catalogue.option(*key).title, n=keys.count(key))
        if keys.count(key) > 1
        else catalogue.option(*key).title
        for key in dict.fromkeys(keys)
    )
