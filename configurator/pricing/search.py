"""Sets of changes of a given size that bring a price low enough, the closest to the limit first.

Prices hang on each other in few places: choices that a table looks up, that give a measured space
its size, or that give what a measure counts. Those choices are the frame. For each way to change
the frame, every other option has one price, so that listed prices add up. Package deals hang on the
picks that they name; once those are settled, the rest is a sum of whole cents, and which further
changes bring it into a window below the limit is found by looking them up in sorted lists. The
window moves down and widens, so that whoever wants the closest set need not wait for all of them.
Adjustments, rounding, tax and trade-ins are worked out on the sum by the same functions that price
a selection; they never rise when it falls, so the limit on the sum is found by halving.

Where adjustments on single groups or lines, or several rates on top of the prices, make the total
hang on more than the sum, every set is priced in full.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Iterator, Sequence
from decimal import Decimal
from functools import cached_property
from itertools import chain
from typing import TypeAlias

from attrs import frozen

from configurator.catalogue.model import VEHICLE, Catalogue, Option, PackageDeal
from configurator.money import Money, exponent
from configurator.pricing.adjustments import adjustment_amount, rounding_amount
from configurator.pricing.deals import best_deals, most_times
from configurator.pricing.lines import Line, option_price
from configurator.pricing.tax import TaxedAmount, tax_total
from configurator.pricing.whole import price
from configurator.selection.changes import Change, applied
from configurator.selection.picks import Selection, known_picks

__all__ = ["PriceSearch", "TooManySets"]

Enough: TypeAlias = Callable[[Money], bool]
Priced: TypeAlias = tuple[Money, tuple[Change, ...]]

_NEVER = -(10**18)
_WINDOWS = 256
"""Into how many windows the room below the limit would be cut, did they not widen."""

_CONTEXT, _IN_FULL = 200, 400
"""How many steps a change of the frame, and the full price of a selection, count for."""


class TooManySets(Exception):
    """More steps were taken than allowed."""


class PriceSearch:
    """Prices sets of changes of one selection.

    Attributes:
        steps: how much work was done so far.
    """

    def __init__(
        self,
        catalogue: Catalogue,
        selection: Selection,
        changes: Sequence[Change],
        most_steps: int,
    ) -> None:
        self.catalogue, self.selection = catalogue, selection
        self.most_steps, self.steps = most_steps, 0
        frame = _frame_choices(catalogue)
        in_deals = {pick.choice for deal in catalogue.package_deals for pick in deal.picks}
        self.frame_slots = _by_slot(c for c in changes if c.choice in frame)
        others = [c for c in changes if c.choice not in frame]
        self.deal_slots = _by_slot(c for c in others if c.choice in in_deals)
        self.plain_slots = _by_slot(c for c in others if c.choice not in in_deals)
        self.sum_decides = _sum_decides(catalogue, selection)
        self.open = len(price(catalogue, selection).open)
        self.digits = exponent(catalogue.currency)
        self.contexts: dict[tuple[Change, ...], _Context] = {}

    def step(self, count: int = 1) -> None:
        """Count work.

        Raises:
            TooManySets: there was too much of it.
        """
        self.steps += count
        if self.steps > self.most_steps:
            raise TooManySets

    def closest(self, size: int, enough: Enough) -> Iterator[Priced]:
        """Every set of exactly so many changes after which what is to be paid is enough.

        The most that is to be paid comes first; ties go to the alphabet.

        Raises:
            TooManySets: there was too much work.
        """
        if not self.sum_decides:
            yield from sorted(self._in_full(size, enough), key=_closest)
            return
        contexts = list(self._contexts(size))
        if not contexts:
            return
        least = min(context.least(size) for context in contexts)
        high = self.limit(enough, least)
        width = 1 if high is None else max((high - least) // _WINDOWS, 1)
        while high is not None and high >= least:
            low = max(self.same_to_pay(high - width, least), least)
            found = chain.from_iterable(context.between(size, low, high) for context in contexts)
            yield from sorted(found, key=_closest)
            high, width = low - 1, width * 4

    def could_reach(self, enough: Enough) -> bool:
        """Whether any set of changes at all might be enough; True when unsure.

        The frame may be changed in too many ways to look at; then this is unsure.
        """
        frames = 1
        for changes in self.frame_slots:
            frames *= len(changes) + 1
        if not self.sum_decides or frames > _MOST_FRAMES:
            return True
        contexts = self._contexts(len(self.frame_slots))
        return any(enough(self.to_pay(context.least_ever())) for context in contexts)

    def to_pay(self, units: int) -> Money:
        """What is to be paid when the lines after deals come to so many smallest units."""
        left = Money(Decimal(units).scaleb(-self.digits), self.catalogue.currency)
        for adjustment in self.selection.adjustments:
            left += adjustment_amount(adjustment, left)
        left += rounding_amount(self.catalogue, left)
        rate = self.catalogue.tax.rates[0][0]
        total = (
            left.rounded()
            if self.catalogue.tax.included
            else tax_total(self.catalogue.tax, [TaxedAmount(left, rate)], left.currency).total
        )
        taken = sum((t.amount for t in self.selection.trade_ins), Decimal(0))
        return total - Money(taken, left.currency)

    def units(self, money: Money | None) -> int:
        """Smallest units of an amount; none for an open one."""
        return 0 if money is None else int(money.amount.scaleb(self.digits))

    def limit(self, enough: Enough, least: int) -> int | None:
        """The largest sum that is enough; None when even the least is not."""
        if not enough(self.to_pay(least)):
            return None
        low, high = least, least + 1
        while enough(self.to_pay(high)):
            low, high = high, high + 2 * (high - least)
            if high - least > 10**15:
                return high
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if enough(self.to_pay(middle)) else (low, middle)
        return low

    def same_to_pay(self, units: int, least: int) -> int:
        """The smallest sum after which as much is to be paid, so that no tie is torn apart."""
        same = self.to_pay(units)
        low, high = min(least, units) - 1, units
        if low < least and self.to_pay(max(low, least)) == same:
            return least
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if self.to_pay(middle) >= same else (middle, high)
        return high

    def _contexts(self, size: int) -> Iterator[_Context]:
        for frame in _subsets(self.frame_slots, size):
            if frame not in self.contexts:
                self.step(_CONTEXT)
                self.contexts[frame] = _Context(self, frame)
            if not self.contexts[frame].more_open:
                yield self.contexts[frame]

    def _in_full(self, size: int, enough: Enough) -> Iterator[Priced]:
        slots = [*self.frame_slots, *self.deal_slots, *self.plain_slots]
        for chosen in _subsets(slots, size, exactly=True):
            self.step(_IN_FULL)
            changes = tuple(sorted(chosen, key=lambda change: change.key))
            priced = price(self.catalogue, applied(self.selection, changes))
            if len(priced.open) <= self.open and enough(priced.to_pay):
                yield priced.to_pay, changes


_MOST_FRAMES = 500


def _closest(priced: Priced) -> tuple[Decimal, list[tuple[str, str, str, int]]]:
    return -priced[0].amount, [change.key for change in priced[1]]


@frozen
class _Way:
    """One change of a slot outside the frame, and what it adds to the sum, in smallest units."""

    change: Change
    line: Line | None
    adds: int


class _Slots:
    """Slots whose ways add up, and the most that r of those from i on can take off or add."""

    def __init__(self, slots: list[list[_Way]]) -> None:
        self.slots = slots
        self.off = _best([-min(way.adds for way in ways) for ways in slots])
        self.on = _best([max(way.adds for way in ways) for ways in slots])
        self.after = [
            sorted(
                (
                    (way.adds, index, way)
                    for index, ways in enumerate(slots[start:])
                    for way in ways
                ),
                key=lambda entry: (entry[0], entry[2].change.key),
            )
            for start in range(len(slots) + 1)
        ]
        self.adds = [[adds for adds, _, _ in entries] for entries in self.after]

    def most_off(self, start: int, count: int) -> int:
        """The most that exactly so many slots from there on take off; hugely negative for none."""
        return self.off[start][count] if count < len(self.off[start]) else _NEVER

    def most_on(self, start: int, count: int) -> int:
        """The most that exactly so many slots from there on add; hugely negative for none."""
        return self.on[start][count] if count < len(self.on[start]) else _NEVER


class _Context:
    """The frame changed in one way, and what everything costs within it."""

    def __init__(self, search: PriceSearch, frame: tuple[Change, ...]) -> None:
        self.search, self.frame = search, frame
        self.catalogue = search.catalogue
        self.selection = applied(search.selection, frame)
        self.lines = {line.key: line for line in self._lines()}
        self.more_open = sum(line.each is None for line in self.lines.values()) > search.open

    def _lines(self) -> Iterator[Line]:
        for choice, option, quantity in known_picks(self.catalogue, self.selection):
            if choice.id != VEHICLE or option.price:
                yield option_price(self.catalogue, self.selection, choice, option, quantity)

    @cached_property
    def listed(self) -> int:
        """What the lines come to before any further change."""
        return sum(self.search.units(line.amount) for line in self.lines.values())

    @cached_property
    def deal_slots(self) -> _Slots:
        """The slots of choices that package deals name."""
        return _Slots(self._ways(self.search.deal_slots))

    @cached_property
    def plain_slots(self) -> _Slots:
        """All other slots outside the frame."""
        return _Slots(self._ways(self.search.plain_slots))

    def _ways(self, slots: Iterable[Sequence[Change]]) -> list[list[_Way]]:
        found = ([way for c in changes if (way := self._way(c)) is not None] for changes in slots)
        return [ways for ways in found if ways]

    def _way(self, change: Change) -> _Way | None:
        """None when its price would be open and was not before."""
        now = self.lines[change.slot].amount
        line = None
        if change.to:
            choice = self.catalogue.by_id[change.choice]
            option = choice.by_id[change.to]
            line = option_price(self.catalogue, self.selection, choice, option, change.quantity)
            if line.amount is None and now is not None:
                return None
        then = 0 if line is None else self.search.units(line.amount)
        return _Way(change, line, then - self.search.units(now))

    def deals_within(self, changes: int) -> int:
        """No less than what package deals can save after so many further changes."""
        return sum(
            most_times(self.catalogue, deal)
            * max(self._listed(deal) - deal.price, Decimal(0)).scaleb(self.search.digits).__ceil__()
            for deal in self.catalogue.package_deals
            if self._missing(deal) <= changes
        )

    def _missing(self, deal: PackageDeal) -> int:
        return sum(self.selection.quantity(p.choice, p.option) < p.quantity for p in deal.picks)

    def _listed(self, deal: PackageDeal) -> Decimal:
        return sum(
            (self._most_each(p.choice, p.option) * p.quantity for p in deal.picks), Decimal(0)
        )

    def _most_each(self, choice_id: str, option_id: str) -> Decimal:
        """The most that one of the option costs here, in whatever quantity."""
        choice = self.catalogue.by_id[choice_id]
        option = choice.by_id[option_id]
        each = (
            option_price(self.catalogue, self.selection, choice, option, quantity).each
            for quantity in _quantities(self.catalogue, option)
        )
        return max((money.amount for money in each if money is not None), default=Decimal(0))

    def least(self, size: int) -> int:
        """No more than the least that the sum can come to after sets of so many changes."""
        left = size - len(self.frame)
        deals, plain = self.deal_slots, self.plain_slots
        off = max(
            deals.most_off(0, count) + plain.most_off(0, left - count) for count in range(left + 1)
        )
        return self.listed - max(off, 0) - self.deals_within(left)

    def least_ever(self) -> int:
        """No more than the least that the sum can come to after any set of changes."""
        slots = [*self.deal_slots.slots, *self.plain_slots.slots]
        off = sum(max(-min(way.adds for way in ways), 0) for ways in slots)
        return self.listed - off - self.deals_within(len(slots))

    def between(self, size: int, low: int, high: int) -> Iterator[Priced]:
        """Every set of so many changes after which the sum lies there, both ends included."""
        left = size - len(self.frame)
        for taken, adds in self._deal_ways(0, left, 0, (), low, high + self.deals_within(left)):
            listed = self.listed + adds
            if self.catalogue.package_deals:
                listed -= self._saved(taken)
            plain = self._plain_ways(0, left - len(taken), listed, (), low, high)
            for more, units in plain:
                changes = (*self.frame, *(way.change for way in (*taken, *more)))
                in_order = tuple(sorted(changes, key=lambda change: change.key))
                yield self.search.to_pay(units), in_order

    def _saved(self, taken: Sequence[_Way]) -> int:
        """What package deals save when these ways are taken."""
        lines = dict(self.lines)
        for way in taken:
            del lines[way.change.slot]
        more = [way.line for way in taken if way.line is not None]
        deals = best_deals(self.catalogue, [*lines.values(), *more])
        return sum(self.search.units(deal.saving) for _, deal in deals)

    def _deal_ways(
        self, start: int, left: int, adds: int, taken: tuple[_Way, ...], low: int, high: int
    ) -> Iterator[tuple[tuple[_Way, ...], int]]:
        """Ways of at most so many deal slots after which the rest can still meet the window."""
        self.search.step()
        deals, plain = self.deal_slots, self.plain_slots
        here = self.listed + adds
        if here - plain.most_off(0, left) <= high and here + plain.most_on(0, left) >= low:
            yield taken, adds
        if not left:
            return
        off = max(deals.most_off(start, n) + plain.most_off(0, left - n) for n in range(left + 1))
        on = max(deals.most_on(start, n) + plain.most_on(0, left - n) for n in range(left + 1))
        if here - off > high or here + on < low:
            return
        for index in range(start, len(deals.slots)):
            for way in deals.slots[index]:
                if not any(_clash(way.change, other.change) for other in taken):
                    more = (*taken, way)
                    yield from self._deal_ways(
                        index + 1, left - 1, adds + way.adds, more, low, high
                    )

    def _plain_ways(
        self, start: int, left: int, units: int, taken: tuple[_Way, ...], low: int, high: int
    ) -> Iterator[tuple[tuple[_Way, ...], int]]:
        """Ways of exactly so many plain slots after which the sum lies in the window."""
        self.search.step()
        plain = self.plain_slots
        if units - plain.most_off(start, left) > high or units + plain.most_on(start, left) < low:
            return
        if left == 0:
            yield taken, units
        elif left == 1:
            first = bisect_left(plain.adds[start], low - units)
            last = bisect_right(plain.adds[start], high - units)
            for adds, _, way in plain.after[start][first:last]:
                if not any(_clash(way.change, other.change) for other in taken):
                    self.search.step()
                    yield (*taken, way), units + adds
        else:
            for index in range(start, len(plain.slots)):
                for way in plain.slots[index]:
                    if not any(_clash(way.change, other.change) for other in taken):
                        more = (*taken, way)
                        yield from self._plain_ways(
                            index + 1, left - 1, units + way.adds, more, low, high
                        )


def _best(gains: Sequence[int]) -> list[list[int]]:
    """``[i][r]``: the most that exactly r of the gains from i on come to."""
    best = [[0]]
    for gain in reversed(gains):
        after = best[-1]
        row = [0]
        for count in range(1, len(after) + 1):
            leaving = after[count] if count < len(after) else _NEVER
            row.append(max(leaving, after[count - 1] + gain))
        best.append(row)
    return best[::-1]


def _by_slot(changes: Iterable[Change]) -> list[list[Change]]:
    slots: dict[tuple[str, str], list[Change]] = {}
    for change in changes:
        slots.setdefault(change.slot, []).append(change)
    return [slots[slot] for slot in sorted(slots)]


def _subsets(
    slots: Sequence[Sequence[Change]], size: int, exactly: bool = False
) -> Iterator[tuple[Change, ...]]:
    """Sets of at most, or of exactly, so many changes, one for each slot."""

    def visit(index: int, left: int, taken: tuple[Change, ...]) -> Iterator[tuple[Change, ...]]:
        if left == 0 or index == len(slots):
            if left == 0 or not exactly:
                yield taken
            return
        for change in slots[index]:
            if not any(_clash(change, other) for other in taken):
                yield from visit(index + 1, left - 1, (*taken, change))
        yield from visit(index + 1, left, taken)

    return visit(0, size, ())


def _clash(change: Change, other: Change) -> bool:
    """Whether both put the same option in."""
    return bool(change.to) and (change.choice, change.to) == (other.choice, other.to)


def _frame_choices(catalogue: Catalogue) -> frozenset[str]:
    """The choices on whose answers the price of some other option hangs."""
    parts = [p for c in catalogue.by_id.values() for o in c.options for p in o.price]
    looked_up = {choice for part in parts for choice in part.by}
    measured = {part.of.partition(".")[0] for part in parts if part.of}
    for choice in catalogue.by_id.values():
        for option in choice.options:
            if measured & ({name for name, _ in option.space} | dict(option.gives).keys()):
                looked_up.add(choice.id)
    return frozenset(looked_up)


def _sum_decides(catalogue: Catalogue, selection: Selection) -> bool:
    """Whether the total hangs on nothing but the sum of the lines."""
    whole = all(not a.group and not a.line for a in selection.adjustments)
    falls = all(a.percent is None or a.percent >= -100 for a in selection.adjustments)
    tax = catalogue.tax
    return whole and falls and (tax.included or (len(tax.rates) == 1 and tax.basis != "line"))


def _quantities(catalogue: Catalogue, option: Option) -> list[int]:
    """The quantities from which on one of it may cost something else."""
    found = {1}
    for part in option.price:
        found |= {step.first for step in part.steps}
        if part.replaces:
            choice, _, replaced = part.replaces.partition("=")
            found |= set(_quantities(catalogue, catalogue.option(choice, replaced)))
    return sorted(found)
