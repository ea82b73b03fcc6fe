"""What a layout has to say: units that do not go in together, and places that are not kept."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from typing import Literal

from attrs import frozen

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Catalogue, Choice, Option
from configurator.errors import SearchLimit
from configurator.findings import Finding
from configurator.fit.layout import Layout, NoLayout, UnitName, Unkept
from configurator.fit.units import SIDES, UnitFit, fit_unit, misfit_words
from configurator.selection.picks import Selection, Wish
from configurator.selection.resolved import Resolved, trial
from configurator.totals import MissingPicks
from configurator.words import Text, joined, listed, text


@frozen
class Laid:
    """What came of laying out a selection.

    Attributes:
        layout: where everything sits, when all of it does.
        refused: why not, when that is proven of units that each fit on their own.
        gave_up: what the search said when it stopped without an answer, or empty.
    """

    layout: Layout | None = None
    refused: NoLayout | None = None
    gave_up: str = ""


def laid_out(build: Resolved, fits: tuple[UnitFit, ...]) -> Laid:
    """Lay out what fits on its own; what does not has a finding already and is left out here."""
    if not fits:
        return Laid()
    from configurator.fit.answers import lay_out

    alone, whole = _fitting(build, fits)
    try:
        answer = lay_out(trial(build, alone))
    except SearchLimit as limit:
        return Laid(gave_up=limit.args[0])
    if isinstance(answer, NoLayout):
        return Laid(refused=answer)
    return Laid(layout=answer if whole else None)


def _fitting(build: Resolved, fits: tuple[UnitFit, ...]) -> tuple[Selection, bool]:
    """The selection without units that do not fit on their own, and whether that is all of it."""
    left, whole = build.selection, True
    while True:
        bad = [fit for fit in fits if not fit.fits]
        if not bad:
            return left, whole
        whole = False
        for fit in bad:
            left = left.without(fit.choice, fit.option.id)
        gone = {(fit.choice, fit.option.id) for fit in bad}
        fits = tuple(
            fit_unit(trial(build, left), fit.choice, fit.option)
            for fit in fits
            if (fit.choice, fit.option.id) not in gone
        )


def unsettled(build: Resolved) -> tuple[str, ...]:
    """Ids of spaces whose units do not go in together, or where no answer was found."""
    from configurator.fit.answers import not_together

    try:
        return not_together(build)
    except SearchLimit:
        return tuple(space.id for space in build.catalogue.spaces)


def layout_findings(
    build: Resolved,
    laid: Laid,
    sound: Callable[[Selection], bool] | Literal[False],
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
            subject="layout",
            sentence=text(
                "Each unit fits on its own; whether all of them go in together is not known: "
                "{gave_up}",
                gave_up=laid.gave_up,
            ),
            hint=text("lay out the inside by hand before you promise it, or leave some of it out"),
        )
    if laid.refused is not None:
        yield _refused(build, laid.refused, sound)
    if laid.layout is not None:
        for unkept in laid.layout.unkept:
            say = _not_preferred if unkept.preferred else _unkept
            yield say(build, unkept)


def _refused(
    build: Resolved,
    refused: NoLayout,
    sound: Callable[[Selection], bool] | Literal[False],
) -> Finding:
    units, alone = _titles(build.catalogue, refused.units), len(refused.units) == 1
    space = build.catalogue.space_title(refused.space)
    if alone:
        sentence = text("{units} has no place in the {space}", units=units, space=space)
    else:
        sentence = text("{units} do not all go together into the {space}", units=units, space=space)
    missing = refused.missing
    numbers: tuple[tuple[str, int], ...] = ()
    if missing is not None:
        sentence = text(
            "{sentence}: {short} mm of {size} are missing ({needs} mm inside would do, {has} mm "
            "are available)",
            sentence=sentence,
            short=missing.needs - missing.has,
            size=_SIZES[missing.what],
            needs=missing.needs,
            has=missing.has,
        )
        numbers = (("needs", missing.needs), ("has", missing.has))
    option = build.catalogue.option(*refused.units[0].key)
    return Finding(
        level="stop",
        code="layout",
        subject=refused.space,
        sentence=sentence,
        reason=""
        if alone
        else text("Each one fits on its own, but there is no way to fit them all (proven)."),
        hint=joined(nearest_fixes(build, refused, sound), "; ") if sound else "",
        numbers=numbers,
        at=option.at,
    )


def nearest_fixes(
    build: Resolved,
    refused: NoLayout,
    sound: Callable[[Selection], bool],
) -> Iterator[str]:
    """Single changes after which everything goes in and nothing else stops, each proved.

    Of a choice that makes the space, the option that makes it least large is reported.
    """
    units = dict.fromkeys(name.key for name in refused.units)
    leave = []
    for choice_id, option_id in units:
        fewer = build.selection.without(choice_id, option_id).tidied()
        quantity = build.selection.quantity(choice_id, option_id)
        one_less = Pick(choice_id, option_id, quantity - 1)
        changed = fewer if quantity == 1 else build.picking(one_less)
        if _goes_in(trial(build, changed)) and sound(changed):
            leave.append(build.catalogue.option(choice_id, option_id).title)
    if leave:
        if len(leave) > 1:
            yield text("leave out one of {titles}", titles=joined(leave))
        else:
            yield text("leave out {title}", title=leave[0])
    for choice_id, option_id in refused.picks:
        choice = build.catalogue.by_id[choice_id]
        if (choice_id, option_id) in units or choice.pick == "several":
            continue
        found = []
        for option in choice.options:
            if option.id == option_id or not (option.space or option.openings):
                continue
            changed = build.picking(Pick(choice_id, option.id))
            if _goes_in(trial(build, changed)) and sound(changed):
                sizes = [getattr(p, s) or 0 for _, p in option.space for s in _SIZES]
                found.append((sum(sizes), option.title))
        if found:
            yield text("choose {choice} {option}", choice=choice.title, option=min(found)[1])


_SIZES = {"length": text("length"), "width": text("width"), "height": text("height")}


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
            more = build.picking(Pick(choice.id, option.id, quantity))
            try:
                fits = fit_unit(trial(build, more), choice.id, option).fits
            except MissingPicks:
                continue
            if fits and _goes_in(trial(build, more)):
                yield choice, option


def _goes_in(build: Resolved) -> bool:
    return not unsettled(build)


def _unkept(build: Resolved, unkept: Unkept) -> Finding:
    option = build.catalogue.option(unkept.choice, unkept.option)
    wish = next(
        w
        for w in build.selection.wishes
        if (w.choice, w.option, w.side, w.towards, w.x, w.y, w.z)
        == (
            unkept.choice,
            unkept.option,
            unkept.side,
            unkept.towards,
            unkept.x,
            unkept.y,
            unkept.z,
        )
    )
    where = []
    if unkept.side:
        where.append(text("work from the {side}", side=SIDES[unkept.side]))
    place = [
        text("{axis} {n} mm", axis=axis, n=n)
        for axis, n in zip("xyz", (wish.x, wish.y, wish.z), strict=True)
        if n is not None
    ]
    if unkept.towards:
        where.append(text("sit towards the {side}", side=SIDES[unkept.towards]))
    if place:
        where.append(text("sit at {place}", place=joined(place)))
    if unkept.unsettled:
        sentence = text(
            "Whether {title} can {where} as wished is not known: the search stopped before an "
            "answer",
            title=option.title,
            where=listed(where),
        )
    else:
        sentence = _with_why(
            text("{title} cannot {where} as wished", title=option.title, where=listed(where)),
            _why(build, unkept),
        )
    return Finding(
        level="caution",
        code="wish",
        subject=str(Pick(unkept.choice, unkept.option)),
        sentence=sentence,
        hint=text("it has been placed elsewhere; change the wish or what is in its way"),
        numbers=tuple((name, mm) for name, mm in _wished(wish) if mm is not None),
        at=wish.at,
    )


def _wished(wish: Wish) -> tuple[tuple[str, int | None], ...]:
    return ("x", wish.x), ("y", wish.y), ("z", wish.z)


def _not_preferred(build: Resolved, unkept: Unkept) -> Finding:
    option = build.catalogue.option(unkept.choice, unkept.option)
    if unkept.doors:
        sides = listed((SIDES[door] for door in unkept.doors), alternatives=True)
        place = text("behind the door that is meant for it, on the {sides}", sides=sides)
    elif unkept.side:
        place = text("at the {side}, where it is preferred", side=SIDES[unkept.side])
    else:
        place = text("towards the {side}, where it is preferred", side=SIDES[unkept.towards])
    if unkept.unsettled:
        sentence = text(
            "Whether {title} can be {place}, is not known: the search stopped before an answer",
            title=option.title,
            place=place,
        )
    else:
        sentence = _with_why(
            text("{title} is not {place}", title=option.title, place=place), _why(build, unkept)
        )
    return Finding(
        level="note",
        code="place",
        subject=str(Pick(unkept.choice, unkept.option)),
        sentence=sentence,
        hint=text(
            "if it matters, move what is in its way with --place, or a wish in the selection"
        ),
        at=option.at,
    )


def _with_why(sentence: Text, why: Text | None) -> Text:
    return sentence if why is None else text("{sentence}: {why}", sentence=sentence, why=why)


def _why(build: Resolved, unkept: Unkept) -> Text | None:
    """Why a place is not kept; None where that cannot be told."""
    if unkept.overloads:
        return text("no layout with it there keeps the axle ratings")
    if unkept.in_the_way:
        units = _titles(build.catalogue, unkept.in_the_way)
        return text("in the way of that is {units}", units=units)
    if unkept.doors and any(
        (w.choice, w.option) == (unkept.choice, unkept.option) for w in build.selection.wishes
    ):
        return text("the selection wishes for another place")
    if unkept.preferred and unkept.towards:
        return text("on its side there is no place for it there, even with nothing else beside it")
    return _alone(build, unkept)


def _alone(build: Resolved, unkept: Unkept) -> Text | None:
    """Why a unit cannot be where it is wished even on its own, where that can be told."""
    option = build.catalogue.option(unkept.choice, unkept.option)
    if unkept.side and option.unit is not None:
        try:
            there = fit_unit(build, unkept.choice, option, unkept.side)
        except MissingPicks:
            return None
        if not there.fits:
            title = build.catalogue.space_title(option.unit.space)
            return joined((misfit_words(there, m, title) for m in there.misfits), "; ")
    several = build.selection.quantity(unkept.choice, unkept.option)
    if several > 1 and unkept.x is unkept.y is unkept.z is None:
        return text("not all {n} of it, even with nothing else beside them", n=several)
    return text("not even with nothing else beside it")


def _titles(catalogue: Catalogue, names: tuple[UnitName, ...]) -> Text:
    """Titles of the units, each once with how many of it."""
    counts = Counter(name.key for name in names)
    return listed(
        text("{title} ({n} of it)", title=catalogue.option(*key).title, n=count)
        if count > 1
        else catalogue.option(*key).title
        for key, count in counts.items()
    )
