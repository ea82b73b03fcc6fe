"""What another answer to a choice of one does to the total, worked out as a difference.

Where nothing is asked of a part of the package alone, the total follows from two sums: what is
listed, and what package deals save. A change then prices the lines that it changes, and no others.
"""

from __future__ import annotations

from collections.abc import Callable, Collection

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import VEHICLE
from configurator.money import Money
from configurator.pricing.changes import adjustment_amount, best_deals, rounding_amount
from configurator.pricing.lines import Key, Line, option_price
from configurator.pricing.tax import TaxedAmount, tax_total
from configurator.pricing.whole import priced, total
from configurator.selection.resolved import Resolved


class Replacing:
    """Differences to the total of one selection.

    Args:
        build: the selection.
        dependent: by a choice, the options whose prices depend on its answer.
    """

    def __init__(self, build: Resolved, dependent: Callable[[str], Collection[Key]]) -> None:
        self._build, self._dependent, self._before = build, dependent, priced(build)
        catalogue, selection = build.catalogue, build.selection
        self._lines = {line.key: line for line in self._before.lines}
        self._listed = self._sum(self._lines.values())
        self._saved = self._savings(self._lines.values())
        self._dealt = {pick.key for deal in catalogue.package_deals for pick in deal.picks}
        tax = catalogue.tax
        self._whole = (
            (tax.included or (tax.basis != "line" and len(tax.rates) == 1))
            and not any(a.line or a.group or a.tax for a in selection.adjustments)
            and not selection.named_prices
        )

    def difference(self, pick: Pick) -> Money:
        """The total with the pick, in place of what its choice has, less the total as it is."""
        build, depend = self._build, self._dependent(pick.choice)
        gone = {k: one for k, one in self._lines.items() if k[0] == pick.choice or k in depend}
        kept = {key: line for key, line in self._lines.items() if key not in gone}
        others = [key for key in gone if key[0] != pick.choice]
        whole = self._whole and any(line.amount is not None for line in kept.values())
        sold_by = build.catalogue.option(*pick.key).sold_by
        if others or pick.key in depend or sold_by is not None or not whole:
            build = build.having(build.picking(pick).tidied())
        if not whole:
            known = {} if self._build.selection.named_prices else kept
            return total(build, known) - self._before.total
        counts = {pick.key: pick.quantity} | {
            key: build.selection.quantities[key] for key in others
        }
        new = []
        for (choice_id, option_id), quantity in counts.items():
            choice = build.choices[choice_id]
            option = choice.by_id[option_id]
            if option.price or choice_id != VEHICLE:
                new.append(option_price(build, choice, option, quantity))
        saved = self._saved
        if not self._dealt.isdisjoint({*gone, pick.key}):
            saved = self._savings([*kept.values(), *new])
        package = self._listed - self._sum(gone.values()) + self._sum(new) - saved
        for adjustment in build.selection.adjustments:
            package += adjustment_amount(adjustment, package)
        package += rounding_amount(build.catalogue.rounding, package)
        tax = build.catalogue.tax
        amounts = [TaxedAmount(package, tax.rates[0][0])]
        return tax_total(tax, amounts, package.currency).total - self._before.total

    def _sum(self, lines: Collection[Line]) -> Money:
        amounts = (line.amount for line in lines if line.amount is not None)
        return Money.total(amounts, self._build.catalogue.currency)

    def _savings(self, lines: Collection[Line]) -> Money:
        catalogue = self._build.catalogue
        deals = best_deals(catalogue, tuple(lines))
        return Money.total((applied.saving for _, applied in deals), catalogue.currency)
