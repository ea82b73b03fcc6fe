"""What another answer to a choice of one does to the total, calculated as a difference.

Where nothing is asked of a part of the package alone, the total follows from two sums: what is
listed, and what package deals save. A change then prices the lines that it changes, and no others:
243 changes of the shipped selections take 30 ms for 280.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import VEHICLE
from configurator.money import Money
from configurator.pricing.changes import adjustment_amount, best_deals, rounding_amount
from configurator.pricing.lines import Key, Line, option_price
from configurator.pricing.price import total
from configurator.pricing.tax import with_tax
from configurator.pricing.waiting import Waits, waits
from configurator.selection.resolved import Resolved
from configurator.selection.totals import undecided


class Replacing:
    """Differences to the total of one selection.

    Args:
        build: the selection.
        dependent: by a choice, the options whose prices depend on its answer.
    """

    def __init__(self, build: Resolved, dependent: Mapping[str, Collection[Key]]) -> None:
        self._build, self._dependent = build, dependent
        catalogue, adjustments, tax = (
            build.catalogue,
            build.selection.adjustments,
            build.catalogue.tax,
        )
        self._lines = {
            (choice.id, option.id): option_price(build, choice, option, quantity)
            for choice, option, quantity in build.picks
            if choice.id != VEHICLE or option.price
        }
        self._priced = {line.key for line in self._lines.values() if line.amount is not None}
        self._dealt = {pick.key for deal in catalogue.package_deals for pick in deal.picks}
        self._undecided = undecided(build)
        self._whole = (
            bool(self._priced)
            and (tax.included or (tax.basis != "line" and len(tax.rates) == 1))
            and not any(a.line or a.group or a.tax for a in adjustments)
            and not build.selection.named_prices
        )
        self._listed, self._saved = self._sum(self._lines.values()), self._savings(self._lines)
        if self._whole:
            self._before = self._total(self._listed - self._saved)
        else:
            self._before = total(build, self._lines)

    def difference(self, pick: Pick) -> Money:
        """The total with the pick, in place of what its choice has, less the total as it is.

        What has no price yet counts nothing in either.
        """
        return self.change(pick)[0]

    def change(self, pick: Pick) -> tuple[Money, Waits]:
        """That difference, and what it still waits for: it is not known before."""
        build, depend = self._build, self._dependent.get(pick.choice, ())
        others = [key for key in depend if key[0] != pick.choice and key in self._lines]
        own = ((pick.choice, option) for option in build.selection.chosen.get(pick.choice, ()))
        gone = {key: self._lines[key] for key in (*own, *others) if key in self._lines}
        whole = self._whole and not gone.keys() >= self._priced
        sold_by = build.catalogue.option(*pick.key).sold_by
        if others or pick.key in depend or sold_by is not None or not whole:
            build = build.having(build.picking(pick).tidied())
        counts = {pick.key: pick.quantity} | {
            key: build.selection.quantities[key] for key in others
        }
        new: dict[Key, Line] = {}
        for (choice_id, option_id), quantity in counts.items():
            choice = build.choices[choice_id]
            option = choice.by_id[option_id]
            if choice_id != VEHICLE or option.price:
                new[choice_id, option_id] = option_price(build, choice, option, quantity)
        kept = {key: line for key, line in self._lines.items() if key not in gone}
        still = [choice for choice in self._undecided if choice != pick.choice]
        waited = waits(
            build.catalogue, still, self._dependent, [pick.choice], self._lines, kept | new
        )
        if not whole:
            known = {} if self._build.selection.named_prices else kept
            return total(build, known) - self._before, waited
        saved = self._saved
        if not self._dealt.isdisjoint({*gone, *new}):
            saved = self._savings(kept | new)
        package = self._listed - self._sum(gone.values()) + self._sum(new.values()) - saved
        return self._total(package) - self._before, waited

    def _total(self, package: Money) -> Money:
        """What the lines less what deals save come to in the end."""
        catalogue = self._build.catalogue
        for adjustment in self._build.selection.adjustments:
            package += adjustment_amount(adjustment, package)
        return with_tax(catalogue.tax, package + rounding_amount(catalogue.rounding, package))

    def _sum(self, lines: Collection[Line]) -> Money:
        amounts = (line.amount for line in lines if line.amount is not None)
        return Money.total(amounts, self._build.catalogue.currency)

    def _savings(self, lines: Mapping[Key, Line]) -> Money:
        catalogue = self._build.catalogue
        deals = best_deals(catalogue, tuple(lines.values()))
        return Money.total((applied.saving for _, applied in deals), catalogue.currency)
