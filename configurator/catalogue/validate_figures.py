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
        sentence = f"these take each other's price off in a circle: {names}"
        yield credit.say(sentence, "cyclic-credit", "leave one of the credits out")


def _terms(data: TreeValue) -> Iterator[Problem]:
    """The days of the catalogue, its stages of payment, its rates of labour."""
    first, until = data["valid"]["from"].day, data["valid"]["until"].day
    if first and until and first > until:
        sentence = f"valid until {until} is before valid from {first}"
        yield data["valid"]["until"].say(sentence, "never-valid", "swap the two days")
    payments = data["quote"]["payments"]
    percents = [payment["percent"].number for payment in payments]
    known = [percent for percent in percents if percent is not None and 0 < percent <= 100]
    if known and len(known) == len(percents) and sum(known) != 100:
        sentence = f"the payments come to {sum(known)} percent of the total, not 100"
        hint = "change a percent so that they add up to 100"
        yield payments.say(sentence, "payments-sum", hint)
    for trade, rate in data["labour"].items():
        if rate.number is not None and rate.number < 0:
            sentence = f"an hour of {trade.value} costs {rate.number}; it must be at least 0"
            hint = "take money off with a fixed part of the price below zero, or with an adjustment"
            yield rate.say(sentence, "out-of-range", hint)


def _days(valid: TreeValue) -> Days | None:
    first, until = valid["from"].day, valid["until"].day
    return (first, until) if first and until and first <= until else None


def _part(part: TreeValue, valid: Days | None, option: str) -> Iterator[Problem]:
    first, until = part["from"].day, part["until"].day
    if first and until and first > until:
        sentence = f"a price of {part} counts until {until}, before it counts from {first}"
        yield part["until"].say(sentence, "never-valid", "swap the two days")
    elif valid and first and first > valid[1]:
        sentence = (
            f"a price of {part} from {first} on does not count yet: the catalogue holds until "
            f"{valid[1]}"
        )
        hint = "let the catalogue hold longer once that price is to count"
        yield part.say(sentence, "never-valid", hint, level="caution")
    elif valid and until and until < valid[0]:
        sentence = (
            f"a price of {part} never counts: the catalogue holds from {valid[0]} to {valid[1]}"
        )
        hint = "change its days, or leave it out"
        yield part.say(sentence, "never-valid", hint, level="caution")
    if part["replaces"].value == option:
        hint = "name the option that it replaces"
        yield part["replaces"].say(f"{part} takes its own price off", "cyclic-credit", hint)
    percent = part["percent"].number
    if part["kind"].value == "credit" and percent is not None and percent > 100:
        sentence = f"{part} takes {percent} percent of another price off; 100 is all of it"
        hint = "write 100 or less, or leave it out for all of it"
        yield part["percent"].say(sentence, "out-of-range", hint)
    starts = [step["from"] for step in part["steps"]]
    if not all(type(start.value) is int for start in starts):
        return
    if starts and starts[0].value != 1:
        sentence = f"the first step of {part} is from {starts[0].value}, so fewer have no price"
        yield starts[0].say(sentence, "breaks", "let the first step be from 1")
    for before, start in pairwise(starts):
        if start.value <= before.value:
            sentence = f"a step of {part} from {start.value} follows one from {before.value}"
            yield start.say(sentence, "breaks", "put the steps in rising order, each once")


def _unit_prices(parts: list[TreeValue], facet: str) -> Iterator[Problem]:
    """A unit price with something added to it, which would have to be rounded twice."""
    for part in parts:
        others = [one for one in parts if one is not part and _on_one_day(part, one)]
        if part["kind"].value == "unit-price" and others:
            sentence = f"the unit price of {part} has another part of its {facet} beside it"
            hint = "let it stand alone, or give the two different days"
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
            sentence = f'{option} is sold by measure, but has "{key}", which is of a piece'
            hint = f'leave out "sold-by", or put "{key}" on an option sold by the piece'
            yield option[key].say(sentence, "sold-by", hint)
    step = sold["step"].number if "step" in sold else Decimal("0.1")
    if step is None or step <= 0:
        return
    if step % Decimal("0.01"):
        sentence = f"{option} is sold in steps of {step}, finer than a hundredth"
        yield sold["step"].say(sentence, "sold-by", "take a step with two decimals at most")
        return
    least, most = sold["least"].number, sold["most"].number
    for key, amount in (("least", least), ("most", most)):
        if amount is not None and amount % step:
            sentence = f"{key} of {option} is {amount}, which is no multiple of its step"
            hint = f"take a multiple of {step}, or another step"
            yield sold[key].say(sentence, "sold-by", hint)
    if least is not None and most is not None and least > most:
        sentence = f"{option} is sold from {least} to {most} only"
        yield sold["most"].say(sentence, "sold-by", "swap the two numbers")


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
        sentence = f"{price} has no {facet} from {start} to {end}"
        hint = "let one of its parts count on those days, or write one that does"
        yield price.say(sentence, "uncovered-days", hint)
    for kind in sorted({kind for _, _, kind in spans} - _ADD_UP_APART):
        dated = sorted((days, index) for days, index, k in spans if k == kind and days != valid)
        for (days, _), (later, index) in pairwise(dated):
            if later[0] <= days[1]:
                sentence = (
                    f"two {kind} parts of the {facet} of {price} both count from {later[0]} "
                    f"to {min(days[1], later[1])}"
                )
                hint = "end the first on the day before the second begins"
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
        sentence = f"low-volts of {low} V is above the nominal {volts} V"
        hint = "give the lowest voltage at which the inverter still works"
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
            on = "" if key == "gvm" else f" on the {key.replace('-', ' ')}"
            sentence = (
                f"{key} of {vehicle} is {rating.number} kg, less than its kerb mass{on}, {mass} kg"
            )
            hint = "check both figures against the maker's"
            yield rating.say(sentence, "rating-below-kerb", hint)


def _upgrade(ratings: TreeValue, kerbs: list[dict[str, Decimal | int]]) -> Iterator[Problem]:
    """Ratings of an upgrade that not even the lightest vehicle keeps within, empty."""
    for key, rating in ratings.items():
        least = min((kerb[key.value] for kerb in kerbs if key.value in kerb), default=None)
        if rating.number is not None and least is not None and rating.number < least:
            sentence = (
                f"{key.value} of {ratings} is {rating.number} kg, less than the kerb mass of "
                f"every vehicle, {least} kg at the least"
            )
            hint = "check it against the upgrade's papers; it replaces the vehicle's own rating"
            yield rating.say(sentence, "rating-below-kerb", hint)


def _section(part: TreeValue) -> Iterator[Problem]:
    """Walls so thick that they leave no hollow."""
    if part["kind"].value != "section":
        return
    sizes = [part[key].number for key in ("width", "height", "thickness")]
    known = [size for size in sizes if size is not None]
    if len(known) == 3 and 2 * known[2] >= min(known[:2]):
        width, height, thickness = known
        sentence = (
            f"a wall of {thickness} mm leaves no hollow in the {width} × {height} mm section of "
            f"{part}"
        )
        yield part["thickness"].say(sentence, "section", "check the three sizes, in mm")


def _look(accent: TreeValue) -> Iterator[Problem]:
    """An accent colour in which headings are hard to read."""
    colour = accent.text
    if re.fullmatch("#[0-9a-fA-F]{6}", colour) and contrast(colour, PANEL) < LEAST_CONTRAST:
        sentence = (
            f"headings in {colour} are hard to read: its contrast is {contrast(colour, WHITE):.1f} "
            f"to white and {contrast(colour, PANEL):.1f} to a panel, and WCAG 2.2 AA asks for "
            f"{LEAST_CONTRAST}"
        )
        yield accent.say(sentence, "accent-contrast", "take a darker colour", level="caution")
