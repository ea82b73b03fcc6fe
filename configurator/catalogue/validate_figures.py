"""Errors in figures that a schema cannot see: prices and their dates, masses, power, colours."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from datetime import date
from decimal import Decimal
from itertools import pairwise
from typing import TypeAlias

from configurator.catalogue.fields import Pick
from configurator.catalogue.names import TreeValue, circles, options
from configurator.catalogue.plain_data import Tree
from configurator.errors import Problem
from configurator.words import text

LEAST_CONTRAST = 4.5
"""Least contrast of text with what is behind it: WCAG 2.2, success criterion 1.4.3, level AA."""

WHITE, PANEL = "#ffffff", "#f2f4f4"
"""What text of a paper stands on: the sheet, and a panel."""


def contrast(one: str, other: str) -> float:
    """How far two colours stand apart in lightness, from 1 (the same) to 21 (black and white).

    They are written ``#rrggbb`` or ``#rgb``.

    The formula is that of "contrast ratio" and "relative luminance" in WCAG 2.2.
    """
    dark, light = sorted((_luminance(one), _luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def _luminance(colour: str) -> float:
    digits = colour.removeprefix("#")
    if len(digits) == 3:
        digits = "".join(2 * digit for digit in digits)
    red, green, blue = (_linear(int(digits[i : i + 2], 16) / 255) for i in (0, 2, 4))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _linear(share: float) -> float:
    return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4


Days: TypeAlias = tuple[date, date]

_SWAP_DAYS = text("swap the two days")

_ADD_UP_APART = frozenset(("labour", "credit"))
"""Kinds of which several may count on one day without a doubt about what was meant."""


def figure_problems(tree: Tree) -> Iterator[Problem]:
    """Figures that contradict themselves, each other, or the days on which they hold."""
    data = TreeValue(tree, (), tree.data)
    yield from _terms(data)
    yield from _look(data["shop"]["accent"])
    yield from _volts(data["power"])
    vehicles = [(vehicle, _kerb(vehicle)) for vehicle in data.records("vehicles")]
    for vehicle, kerb in vehicles:
        yield from _ratings(vehicle, kerb)
    valid = _days(data["valid"])
    taken_off: dict[tuple[str, str], TreeValue] = {}
    for choice, option in options(data):
        if "ratings" in option:
            yield from _upgrade(option["ratings"], [kerb for _, kerb in vehicles])
        for part in option.records("mass"):
            yield from _section(part)
        name = str(Pick(choice, str(option["id"].value)))
        for facet in ("price", "cost"):
            parts = list(option.records(facet))
            for part in parts:
                yield from _part(part, valid, name)
                if part["replaces"].text and part["replaces"].text != name:
                    taken_off[name, part["replaces"].text] = part["replaces"]
            if valid is not None and parts:
                yield from _covered(option[facet], parts, valid, facet)
            yield from _unit_prices(parts, facet)
        yield from _sold_by(option)
    for names, credit in circles(taken_off):
        sentence = text("these take each other's price off in a circle: {names}", names=names)
        yield credit.say(sentence, "cyclic-credit", text("leave one of the credits out"))


def _terms(data: TreeValue) -> Iterator[Problem]:
    """The days of the catalogue, its stages of payment, its rates of labour."""
    first, until = data["valid"]["from"].day, data["valid"]["until"].day
    if first and until and first > until:
        days = {"until": str(until), "first": str(first)}
        sentence = text("valid until {until} is before valid from {first}", **days)
        yield data["valid"]["until"].say(sentence, "never-valid", _SWAP_DAYS)
    payments = data["quote"]["payments"]
    percents = [payment["percent"].number for payment in payments]
    known = [percent for percent in percents if percent is not None and 0 < percent <= 100]
    if known and len(known) == len(percents) and sum(known) != 100:
        sentence = text(
            "the payments come to {total} per cent of the total, not 100", total=str(sum(known))
        )
        hint = text("change a percent so that they add up to 100")
        yield payments.say(sentence, "payments-sum", hint)
    for trade, rate in data["labour"].items():
        if rate.number is not None and rate.number < 0:
            sentence = text(
                "an hour of {trade} costs {rate}; it must be at least 0",
                trade=trade.value,
                rate=str(rate.number),
            )
            hint = text(
                "take money off with a fixed part of the price below zero, or with an adjustment"
            )
            yield rate.say(sentence, "out-of-range", hint)


def _days(valid: TreeValue) -> Days | None:
    first, until = valid["from"].day, valid["until"].day
    return (first, until) if first and until and first <= until else None


def _part(part: TreeValue, valid: Days | None, option: str) -> Iterator[Problem]:
    first, until = part["from"].day, part["until"].day
    if first and until and first > until:
        sentence = text(
            "a price of {part} ends on {until}, before it starts on {first}",
            part=part.thing,
            until=str(until),
            first=str(first),
        )
        yield part["until"].say(sentence, "never-valid", _SWAP_DAYS)
    elif valid and first and first > valid[1]:
        sentence = text(
            "a price of {part} starts on {first}, after the catalogue ends on {last}",
            part=part.thing,
            first=str(first),
            last=str(valid[1]),
        )
        hint = text("make the catalogue valid for longer once that price is to apply")
        yield part.say(sentence, "never-valid", hint, level="caution")
    elif valid and until and until < valid[0]:
        sentence = text(
            "a price of {part} never applies: it ends on {until}, and the catalogue starts on "
            "{start}",
            part=part.thing,
            until=str(until),
            start=str(valid[0]),
        )
        hint = text("change its days, or leave it out")
        yield part.say(sentence, "never-valid", hint, level="caution")
    if part["replaces"].value == option:
        hint = text("name the option that it replaces")
        sentence = text("{part} takes its own price off", part=part.thing)
        yield part["replaces"].say(sentence, "cyclic-credit", hint)
    percent = part["percent"].number
    if part["kind"].value == "credit" and percent is not None and percent > 100:
        sentence = text(
            "{part} takes {percent} per cent of another price off; 100 is all of it",
            part=part.thing,
            percent=str(percent),
        )
        hint = text("write 100 or less, or leave it out for all of it")
        yield part["percent"].say(sentence, "out-of-range", hint)
    starts = [step["from"] for step in part["steps"]]
    if not all(type(start.value) is int for start in starts):
        return
    if starts and starts[0].value != 1:
        sentence = text(
            "the first step of {part} is from {n}, so fewer have no price",
            part=part.thing,
            n=str(starts[0].value),
        )
        yield starts[0].say(sentence, "breaks", text("start the first step from 1"))
    for before, start in pairwise(starts):
        if start.value <= before.value:
            sentence = text(
                "a step of {part} from {n} follows one from {before}",
                part=part.thing,
                n=str(start.value),
                before=str(before.value),
            )
            yield start.say(sentence, "breaks", text("put the steps in rising order, each once"))


def _unit_prices(parts: list[TreeValue], facet: str) -> Iterator[Problem]:
    """A unit price with something added to it, which would have to be rounded twice."""
    for part in parts:
        others = [one for one in parts if one is not part and _on_one_day(part, one)]
        if part["kind"].value == "unit-price" and others:
            if facet == "price":
                sentence = text(
                    "the unit price of {part} has another part of its price beside it",
                    part=part.thing,
                )
            else:
                sentence = text(
                    "the unit price of {part} has another part of its cost beside it",
                    part=part.thing,
                )
            hint = text("keep it as the only part, or give the two different days")
            yield part.say(sentence, "unit-price", hint)
            return


def _on_one_day(one: TreeValue, other: TreeValue) -> bool:
    """Whether two parts of a price may count on the same day."""
    starts = [part["from"].day or date.min for part in (one, other)]
    ends = [part["until"].day or date.max for part in (one, other)]
    return max(starts) <= min(ends)


_NOT_MEASURED = (
    *("unit", "openings", "space", "power", "work", "tray", "ratings", "hitch", "vehicle", "most"),
)
"""Keys of an option that mean a piece, of which there cannot be 3.5 m."""


def _sold_by(option: TreeValue) -> Iterator[Problem]:
    """What is sold by measure and is a piece, or in steps that make no sense."""
    sold = option["sold-by"]
    if not isinstance(sold.value, dict):
        return
    for key in _NOT_MEASURED:
        if key in option:
            known = {"option": option.thing, "key": key}
            sentence = text(
                '{option} is sold by measure, but has "{key}", which only a whole piece has',
                **known,
            )
            hint = text(
                'leave out "sold-by", or put "{key}" on an option sold by the piece', key=key
            )
            yield option[key].say(sentence, "sold-by", hint)
    step = sold["step"].number if "step" in sold else Decimal("0.1")
    if step is None or step <= 0:
        return
    if step % Decimal("0.01"):
        sentence = text(
            "{option} is sold in steps of {step}, finer than a hundredth",
            option=option.thing,
            step=str(step),
        )
        hint = text("use a step with two decimals at most")
        yield sold["step"].say(sentence, "sold-by", hint)
        return
    least, most = sold["least"].number, sold["most"].number
    for key, amount in (("least", least), ("most", most)):
        if amount is not None and amount % step:
            sentence = text(
                "{key} of {option} is {amount}, which is not a multiple of its step",
                key=key,
                option=option.thing,
                amount=str(amount),
            )
            hint = text("use a multiple of {step}, or another step", step=str(step))
            yield sold[key].say(sentence, "sold-by", hint)
    if least is not None and most is not None and least > most:
        sentence = text(
            "{option} is sold from {least} to {most} only",
            option=option.thing,
            least=str(least),
            most=str(most),
        )
        yield sold["most"].say(sentence, "sold-by", text("swap the two numbers"))


def _covered(
    price: TreeValue, parts: list[TreeValue], valid: Days, facet: str
) -> Iterator[Problem]:
    """Days on which nothing counts, and days on which a price and its successor both do.

    A part that counts on no day of the catalogue, such as one entered ahead for the next, neither
    covers a day nor leaves one uncovered.
    """
    spans: list[tuple[Days, int, str]] = []
    for index, part in enumerate(parts):
        days = (
            max(part["from"].day or valid[0], valid[0]),
            min(part["until"].day or valid[1], valid[1]),
        )
        if days[0] <= days[1]:
            spans.append((days, index, str(part["kind"].value)))
    for start, end in _gaps([days for days, _, _ in spans], valid):
        known = {"option": price.thing, "start": str(start), "end": str(end)}
        if facet == "price":
            sentence = text("{option} has no price from {start} to {end}", **known)
        else:
            sentence = text("{option} has no cost from {start} to {end}", **known)
        hint = text("make one of its parts apply on those days, or add one that does")
        yield price.say(sentence, "uncovered-days", hint)
    for kind in sorted({kind for _, _, kind in spans} - _ADD_UP_APART):
        dated = sorted((days, index) for days, index, k in spans if k == kind and days != valid)
        for (days, _), (later, index) in pairwise(dated):
            if later[0] <= days[1]:
                known = {
                    "kind": kind,
                    "option": price.thing,
                    "start": str(later[0]),
                    "end": str(min(days[1], later[1])),
                }
                if facet == "price":
                    sentence = text(
                        "two {kind} parts of the price of {option} "
                        "both apply from {start} to {end}",
                        **known,
                    )
                else:
                    sentence = text(
                        "two {kind} parts of the cost of {option} both apply from {start} to {end}",
                        **known,
                    )
                hint = text("end the first on the day before the second begins")
                yield parts[index].say(sentence, "overlapping-days", hint, level="caution")


def _gaps(spans: Iterable[Days], valid: Days) -> Iterator[Days]:
    """Days of ``valid`` in no span; counted by number, for there is no day before the first one."""
    covered, last = valid[0].toordinal() - 1, valid[1].toordinal()
    for first, until in sorted(spans):
        if first.toordinal() > covered + 1:
            yield date.fromordinal(covered + 1), date.fromordinal(min(first.toordinal() - 1, last))
        covered = max(covered, until.toordinal())
        if covered >= last:
            return
    yield date.fromordinal(covered + 1), valid[1]


def _volts(power: TreeValue) -> Iterator[Problem]:
    volts, low = power["volts"].number if "volts" in power else 12, power["low-volts"].number
    if volts is not None and low is not None and low > volts:
        sentence = text(
            "low-volts of {low} V is above the nominal {volts} V", low=str(low), volts=str(volts)
        )
        hint = text("give the lowest voltage at which the inverter still works")
        yield power["low-volts"].say(sentence, "low-volts", hint)


def _kerb(vehicle: TreeValue) -> dict[str, Decimal | int]:
    """Kerb mass by the rating that it is under."""
    kerb = vehicle["vehicle"]["kerb"]
    front, rear = kerb["front"].number, kerb["rear"].number
    if front is None or rear is None:
        return {}
    return {"gvm": front + rear, "gcm": front + rear, "front-axle": front, "rear-axle": rear}


def _ratings(vehicle: TreeValue, kerb: dict[str, Decimal | int]) -> Iterator[Problem]:
    """Ratings that not even the empty vehicle keeps within."""
    for key, mass in kerb.items():
        rating = vehicle["vehicle"][key]
        if key != "gcm" and rating.number is not None and rating.number < mass:
            known = {"key": key, "vehicle": vehicle.thing, "mass": str(mass)}
            known["rating"] = str(rating.number)
            if key == "gvm":
                sentence = text(
                    "{key} of {vehicle} is {rating} kg, less than its kerb mass, {mass} kg", **known
                )
            else:
                sentence = text(
                    "{key} of {vehicle} is {rating} kg, less than its kerb mass on that axle, "
                    "{mass} kg",
                    **known,
                )
            hint = text("check both figures against the maker's")
            yield rating.say(sentence, "rating-below-kerb", hint)


def _upgrade(ratings: TreeValue, kerbs: list[dict[str, Decimal | int]]) -> Iterator[Problem]:
    """Ratings of an upgrade that not even the lightest vehicle keeps within, empty."""
    for key, rating in ratings.items():
        least = min((kerb[key.value] for kerb in kerbs if key.value in kerb), default=None)
        if rating.number is not None and least is not None and rating.number < least:
            sentence = text(
                "{key} of {option} is {rating} kg, less than the kerb mass of every vehicle, at "
                "least {least} kg",
                key=key.value,
                option=ratings.thing,
                rating=str(rating.number),
                least=str(least),
            )
            hint = text(
                "check it against the upgrade's papers; it replaces the vehicle's own rating"
            )
            yield rating.say(sentence, "rating-below-kerb", hint)


def _section(part: TreeValue) -> Iterator[Problem]:
    """Walls so thick that they leave no hollow."""
    if part["kind"].value != "section":
        return
    sizes = [part[key].number for key in ("width", "height", "thickness")]
    known = [size for size in sizes if size is not None]
    if len(known) == 3 and 2 * known[2] >= min(known[:2]):
        width, height, thickness = known
        sentence = text(
            "a wall of {thickness} mm leaves no hollow in the {width} × {height} mm section of "
            "{part}",
            thickness=str(thickness),
            width=str(width),
            height=str(height),
            part=part.thing,
        )
        yield part["thickness"].say(sentence, "section", text("check the three sizes, in mm"))


def _look(accent: TreeValue) -> Iterator[Problem]:
    """An accent colour in which headings are hard to read."""
    colour = accent.text
    if re.fullmatch("#[0-9a-fA-F]{6}", colour) and contrast(colour, PANEL) < LEAST_CONTRAST:
        sentence = text(
            "headings in {colour} are hard to read: its contrast is {white} to white and {panel} "
            "to a panel, and WCAG 2.2 AA asks for {least}",
            colour=colour,
            white=f"{contrast(colour, WHITE):.1f}",
            panel=f"{contrast(colour, PANEL):.1f}",
            least=str(LEAST_CONTRAST),
        )
        hint = text("use a darker colour")
        yield accent.say(sentence, "accent-contrast", hint, level="caution")
