"""What a price list would change in a catalogue, what it does not have, and what to look at first.

For the shop's eyes only.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from fractions import Fraction

from attrs import evolve, field, frozen

from configurator.catalogue.model import Catalogue
from configurator.catalogue.parts import FixedPrice, Labour, MeasuredPrice, PricePart, UnitPrice
from configurator.catalogue.shop import Rounding
from configurator.errors import Location
from configurator.money import Money, exponent, round_to
from configurator.shapes.forms import form
from configurator.suppliers.amounts import (
    BOUGHT,
    COST,
    PRICE,
    PricedItem,
    StatedAmount,
    Wanted,
    items,
)
from configurator.suppliers.cells import (
    SheetCell,
    Unreadable,
    Worksheet,
    amount_in,
    near_codes,
    refused,
)
from configurator.suppliers.mapping import ListedRow, SupplierMap
from configurator.suppliers.patch import Edit
from configurator.words import near_miss

_SETTABLE = (FixedPrice, UnitPrice, MeasuredPrice)
"""Parts that have one figure."""

_STEP_MODES = {"nearest": "half-up", "down": "down", "up": "up"}


@form(hidden="amount", also="percent", values={"sets": (COST, PRICE)})
@frozen(repr=False)
class PriceChange:
    """One figure that a price list changes.

    Attributes:
        item: ``choice=option``, or a package deal.
        title: as the customer reads it.
        code: the supplier's part number, or empty.
        sets: what it is.
        part: which figure of several it is, or empty.
        old: as it is in the catalogue.
        new: as the list makes it.
        margin: what is earned then, in per cent of the price without tax, to a tenth; None where it
            depends on other picks or is not known.
        large: whether it is a larger change than the map allows.
        thin: whether the margin is below the one that the map asks for.
        cell: the cell of the list that says so.
        at: where the figure is in the catalogue.
        amount: the figure in the catalogue.
    """

    item: str
    title: str
    code: str
    sets: str
    part: str
    old: Money
    new: Money
    margin: Decimal | None
    large: bool
    thin: bool
    cell: str
    at: Location
    amount: StatedAmount = field(repr=False)

    @property
    def percent(self) -> Decimal | None:
        """How much more that is, to a tenth; None where the old one is nothing."""
        old, new = Fraction(self.old.amount), Fraction(self.new.amount)
        return round_to((new - old) * 100 / old, 1) if old else None


@form()
@frozen(repr=False)
class RefusedRow:
    """A row of a list that changes nothing, because something in it cannot be used.

    Attributes:
        cell: where that is.
        code: the code in its row, or the name of the item.
        sentence: what is wrong.
        hint: what to do about it.
    """

    cell: str
    code: str
    sentence: str
    hint: str


@form()
@frozen(repr=False)
class UnknownCode:
    """A code of a list that nothing in the catalogue has.

    Attributes:
        cell: where it is.
        code: as it is written.
        title: what the list calls it, or empty.
        near: codes of the catalogue that are written much alike and that the list lacks. They are
            never taken for it.
    """

    cell: str
    code: str
    title: str
    near: tuple[str, ...]


@form()
@frozen(repr=False)
class LackedOption:
    """What the catalogue has from the supplier, and the list does not.

    Attributes:
        item: ``choice=option``, or a package deal.
        title: as the customer reads it.
        code: the supplier's part number; empty where the catalogue has none.
        at: where it is in the catalogue.
    """

    item: str
    title: str
    code: str
    at: Location


@form("price-update", also="large thin held")
@frozen(repr=False)
class PriceUpdate:
    """What a price list changes in the catalogue. For the shop's eyes only.

    Attributes:
        supplier: whose list it is; empty for a sheet that this program exported.
        sheet: the file, and its sheet.
        rows: how many rows with a code the list has.
        changes: every figure that changes, in the catalogue's order.
        unchanged: how many figures the list states as they are.
        refused: rows for something in the catalogue that cannot be used.
        unknown: codes that nothing in the catalogue has.
        lacking: what the list does not have.
        accepted: whether large changes are to be written too.
        written: whether the catalogue has the new figures now.
    """

    supplier: str
    sheet: str
    rows: int
    changes: tuple[PriceChange, ...]
    unchanged: int
    refused: tuple[RefusedRow, ...]
    unknown: tuple[UnknownCode, ...]
    lacking: tuple[LackedOption, ...]
    accepted: bool = False
    written: bool = False

    @property
    def large(self) -> int:
        """How many changes are larger than the map allows."""
        return sum(change.large for change in self.changes)

    @property
    def thin(self) -> int:
        """How many margins are below the one that the map asks for."""
        return len({change.item for change in self.changes if change.thin})

    @property
    def held(self) -> bool:
        """Whether nothing is written before its large changes are accepted."""
        return self.large > 0 and not self.accepted

    @property
    def wanted(self) -> Wanted:
        """The new figures by item and slot."""
        found: dict[str, dict[tuple[str, int, tuple[str | int, ...]], Decimal]] = {}
        for change in self.changes:
            found.setdefault(change.item, {})[change.amount.slot] = change.new.amount
        return found

    def edits(self) -> Mapping[str, list[Edit]]:
        """What is to be written, by file."""
        found: dict[str, list[Edit]] = {}
        for change in self.changes:
            at, old, new = change.amount.at, change.old, change.new
            edit = Edit(at, change.amount.keys, old.amount, new.amount, exponent(new.currency))
            found.setdefault(at.path, []).append(edit)
        return found


def price_update(
    catalogue: Catalogue, sheet: Worksheet, rows: Iterable[ListedRow], asked: SupplierMap
) -> PriceUpdate:
    """What a supplier's list changes, on the day whose prices the catalogue stands at.

    Raises:
        SheetError: the catalogue has nothing from this supplier.
    """
    ours = [item for item in items(catalogue) if item.supplier == asked.supplier]
    if not ours:
        known = {trade.supplier for trade in catalogue.trade if trade.supplier}
        hint = near_miss(asked.supplier, known) or "name the supplier as the catalogue does"
        said = f'nothing in the catalogue is from "{asked.supplier}"'
        raise refused(asked.at, said, "no-supplier", hint)
    by_code: dict[str, list[PricedItem]] = {}
    for item in ours:
        by_code.setdefault(item.code, []).append(item)
    by_code.pop("", None)

    reader = _RowReader(catalogue, asked)
    first: dict[str, ListedRow] = {}
    unknown: list[ListedRow] = []
    count = 0
    for row in rows:
        count += 1
        if row.code not in by_code:
            if row.price != "":
                unknown.append(row)
        elif row.code in first:
            reader.compare(first[row.code], row)
        else:
            first[row.code] = row
    for code, row in first.items():
        reader.read(row, by_code[code])
    lacking = [item for item in ours if item.code not in first]
    near = near_codes((row.code for row in unknown), filter(None, (i.code for i in lacking)))
    order = {item.name: place for place, item in enumerate(ours)}
    return PriceUpdate(
        asked.supplier,
        sheet.name,
        count,
        tuple(sorted(reader.changes, key=lambda change: order[change.item])),
        reader.unchanged,
        reader.refused,
        tuple(
            UnknownCode(row.code_at.name, row.code, row.title, near.get(row.code, ()))
            for row in unknown
        ),
        lacked(lacking),
    )


def lacked(found: Iterable[PricedItem]) -> tuple[LackedOption, ...]:
    """Items as what a list lacks."""
    return tuple(LackedOption(item.name, item.title, item.code, item.at) for item in found)


class _RowReader:
    """Reads rows one by one, and keeps what they change and what is wrong with them."""

    def __init__(self, catalogue: Catalogue, asked: SupplierMap) -> None:
        self.catalogue, self.asked = catalogue, asked
        scale = Fraction(asked.factor) / Fraction(asked.per)
        self.scales = {word: scale / Fraction(count) for word, count in asked.units}
        self.scale = scale
        rates = {name: 1 + Fraction(percent) / 100 for name, percent in catalogue.tax.rates}
        self.taxed = {"": next(iter(rates.values())), **rates}
        self.hourly = dict(catalogue.labour)
        self.least = None if asked.caution.margin is None else Fraction(asked.caution.margin)
        marked_up = 1 + Fraction(asked.mark_up or 0) / 100
        taxed = catalogue.tax.prices == "include"
        self.priced = {name: marked_up * (one if taxed else 1) for name, one in self.taxed.items()}
        self.unchanged = 0
        self.changes: list[PriceChange] = []
        self._repeated: dict[str, tuple[SheetCell, str, str]] = {}
        self._refused: list[tuple[SheetCell, str, Unreadable]] = []

    @property
    def refused(self) -> tuple[RefusedRow, ...]:
        """What is wrong, from the top of the sheet."""
        found = sorted(self._refused, key=lambda one: one[0])
        return tuple(RefusedRow(at.name, code, str(e), e.hint) for at, code, e in found)

    def compare(self, first: ListedRow, row: ListedRow) -> None:
        """A code is here for the second time."""
        if (first.price, first.unit) != (row.price, row.unit):
            said = f"{first.price_at.name} has another price for the same code"
            hint = "leave one of the two rows out of the list"
            error = Unreadable(said, hint)
            self._refused.append((row.price_at, row.code, error))
            self._repeated[row.code] = (row.price_at, "", "")

    def read(self, row: ListedRow, found: Iterable[PricedItem]) -> None:
        """What a row says of the items that have its code."""
        if row.code in self._repeated:
            return
        try:
            each = self._each(row)
            for item in found:
                self._set(row, item, each)
        except Unreadable as error:
            self._refused.append((error.at or row.price_at, row.code, error))

    def _each(self, row: ListedRow) -> Fraction:
        """The list's price for one of what the catalogue sells, as the list has tax."""
        scale = self.scale
        if self.scales:
            if row.unit not in self.scales:
                known = ", ".join(f'"{one}"' for one in self.scales)
                said = f'the unit "{row.unit}" is none that the map knows: {known}'
                hint = 'add it to "units" in the map'
                raise Unreadable(said, hint, row.unit_at)
            scale = self.scales[row.unit]
        amount = amount_in(row.price, self.asked.decimal, self.catalogue.currency)
        return Fraction(amount) * scale

    def _set(self, row: ListedRow, item: PricedItem, each: Fraction) -> None:
        cost = each / self.taxed[item.tax] if self.asked.tax == "include" else each
        new: list[tuple[StatedAmount, Decimal]] = []
        if COST in self.asked.sets:
            amount = self._one(item, (COST, BOUGHT), "cost")
            new.append((amount, self._finest(cost, amount)))
        if PRICE in self.asked.sets and not (new and new[0][0].kind == BOUGHT):
            amount = self._one(item, (PRICE,), "price")
            price = cost * self.priced[item.tax]
            rule = None if isinstance(amount.of, UnitPrice) else self.asked.rounding
            new.append((amount, rounded(price, rule) if rule else self._finest(price, amount)))
        if not all(value for _, value in new):
            said = "the price is too small: it comes to nothing in the catalogue"
            hint = "check the price, and the factor and units of the map"
            raise Unreadable(said, hint)
        changed = [(amount, value) for amount, value in new if value != amount.value]
        self.unchanged += len(new) - len(changed)
        if not changed:
            return
        margin, caution = self._margin(item, new), self.asked.caution
        thin = margin is not None and self.least is not None and margin < self.least
        shown = None if margin is None else round_to(margin, 1)
        for amount, value in changed:
            old, most = amount.value, caution.change
            large = most is not None and abs(value - old) * 100 > most * abs(old) > 0
            change = change_of(item, amount, value, self.catalogue.currency, row.price_at)
            self.changes.append(evolve(change, margin=shown, large=large, thin=thin))

    def _finest(self, value: Fraction, amount: StatedAmount) -> Decimal:
        """Rounded to the currency's smallest unit, or as fine as the catalogue has it already."""
        if isinstance(amount.of, UnitPrice):
            value *= amount.of.per
        return round_to(value, amount.digits(self.catalogue.currency))

    def _one(self, item: PricedItem, kinds: tuple[str, ...], word: str) -> StatedAmount:
        """The one figure that a list can set."""
        day = self.catalogue.price_day
        usual = [
            amount
            for amount in item.amounts
            if amount.kind in kinds and amount.of is not None and amount.of.counts_on(day)
        ]
        found = [one for one in usual if isinstance(one.of, _SETTABLE)]
        if len(found) == 1:
            return found[0]
        if found or usual:
            said = f"{item.name} has a {word} of several figures, and the list has one"
            hint = "set it by hand"
        elif word == PRICE and any(amount.kind == BOUGHT for amount in item.amounts):
            said = f"the price of {item.name} is marked up from its cost in the catalogue"
            hint = 'let the list set the cost: "sets: [cost]" in the map'
        else:
            said = f"{item.name} has no {word} in the catalogue that could be replaced"
            hint = f'write "{word}: 0.00" there first, or leave the row out'
        raise Unreadable(said, hint)

    def _margin(
        self, item: PricedItem, new: Iterable[tuple[StatedAmount, Decimal]]
    ) -> Fraction | None:
        """What is earned with the new figures, in per cent of the price without tax."""
        if item.pick is None:
            return None
        trade = self.catalogue.trade_of(*item.pick)
        changed = {amount.slot[:2]: value for amount, value in new}
        cost = self._sum(COST, trade.cost, changed)
        price = self._sum(PRICE, self.catalogue.option(*item.pick).price, changed)
        if trade.bought or cost is None or price is None or cost[0] != price[0] or price[1] <= 0:
            return None
        share = Fraction(cost[1] * 100) / Fraction(price[1])
        if self.catalogue.tax.prices == "include":
            share *= self.taxed[item.tax]
        return 100 - share

    def _sum(
        self, kind: str, parts: Iterable[PricePart], changed: Mapping[tuple[str, int], Decimal]
    ) -> tuple[str, Decimal | Fraction] | None:
        """What the parts come to, and of which measure it is; None where they are of several."""
        of, total = set(), Decimal(0)
        for index, part in enumerate(parts):
            if not part.counts_on(self.catalogue.price_day):
                continue
            if isinstance(part, UnitPrice):  # nothing is added to one
                return "", Fraction(changed.get((kind, index), part.price)) / part.per
            if isinstance(part, FixedPrice):
                of.add("")
                total += changed.get((kind, index), part.amount)
            elif isinstance(part, MeasuredPrice):
                of.add(part.of)
                total += changed.get((kind, index), part.rate)
            elif isinstance(part, Labour):
                of.add("")
                total += max(part.hours * self.hourly[part.trade], part.minimum or Decimal(0))
            else:
                return None
        return (of.pop(), total) if len(of) == 1 else None


def change_of(
    item: PricedItem, amount: StatedAmount, value: Decimal, currency: str, cell: SheetCell
) -> PriceChange:
    """A change of one figure, of which nothing is pointed out yet."""
    old, new = Money(amount.value, currency), Money(value, currency)
    sets = PRICE if amount.kind == PRICE else COST
    named = item.name, item.title, item.code, sets, amount.part, old, new
    return PriceChange(*named, None, False, False, cell.name, amount.at, amount)


def rounded(amount: Fraction, rule: Rounding) -> Decimal:
    """The amount to the steps that the rule asks for."""
    steps = round_to(amount / Fraction(rule.to), 0, _STEP_MODES[rule.mode])
    return steps * rule.to
