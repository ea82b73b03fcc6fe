"""The build budget as a value for paper, screen and JSON: the reckoning and what would help."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress

import attrs
from attrs import frozen

from configurator.budget.build import Reckoning, reckon, reckoned
from configurator.budget.savings import (
    LeastRegret,
    Saving,
    SearchGivenUp,
    least_regret,
    lowest,
    single_savings,
)
from configurator.catalogue.model import Catalogue, Shop
from configurator.forms import form
from configurator.money import Money
from configurator.render.bars import BuildUp
from configurator.render.language import ENGLISH, Language
from configurator.render.phrases import spoken
from configurator.selection.picks import Budget, Selection
from configurator.selection.resolved import Resolved
from configurator.words import text

__all__ = ["MOST_SHOWN", "BudgetPaper", "Helps", "budget_paper", "build_up"]


@form(inline="saving")
@frozen
class Helps:
    """A single change, and what the whole build comes to after it.

    Attributes:
        saving: the change and what it saves at the shop.
        total: the build after it, contingency and all.
        under: whether that is under the limit; None without one.
    """

    saving: Saving
    total: Money
    under: bool | None


@form(inline="found")
@frozen
class Plan:
    """A set of changes, and what the whole build comes to after it.

    Attributes:
        found: the changes, and what they save together.
        total: the build after them, contingency and all.
    """

    found: LeastRegret
    total: Money | None


@form(
    "budget",
    hidden="shop plan plan_total lowest lowest_total kept_titles selection",
    also="best_plan lowest_plan",
    inline="reckoning",
    keys={
        "helps": "savings",
        "hopeless": "no-set-of-changes-does-it",
        "best_plan": "plan",
        "lowest_plan": "lowest",
    },
)
@frozen
class BudgetPaper:
    """Everything that stands on a build budget.

    Attributes:
        title: name of the selection.
        customer: name of the customer, or empty.
        shop: who quotes.
        day: whose prices, as an ISO date.
        reckoning: what it comes to.
        helps: single changes that save and stay sound, the largest first; None when not asked for.
        plan: the least-regret set of changes that comes under the limit; None without a limit,
            where nothing needs to be saved, or where no set of changes does it.
        plan_total: the build after it.
        gave_up: why the least-regret set is not known, or empty.
        hopeless: whether no set of changes comes under the limit.
        lowest: the set that brings it lowest, where none comes under the limit and that is known.
        lowest_total: the build after it.
        kept: what is not to be touched, as choice ids or ``choice=option``.
        kept_titles: the same as a customer reads it.
        selection: what was reckoned, with the budget that counted.
    """

    title: str
    customer: str
    shop: Shop
    day: str
    reckoning: Reckoning
    helps: tuple[Helps, ...] | None
    plan: LeastRegret | None
    plan_total: Money | None
    gave_up: str
    hopeless: bool
    lowest: LeastRegret | None
    lowest_total: Money | None
    kept: tuple[str, ...]
    kept_titles: tuple[str, ...]
    selection: Selection

    @property
    def stops(self) -> bool:
        """Whether the build is over its limit."""
        over = self.reckoning.over
        return over is not None and over.amount > 0

    @property
    def best_plan(self) -> Plan | None:
        """The least-regret set of changes with what the build comes to after it."""
        return None if self.plan is None else Plan(self.plan, self.plan_total)

    @property
    def lowest_plan(self) -> Plan | None:
        """The set that brings the build lowest, likewise."""
        return None if self.lowest is None else Plan(self.lowest, self.lowest_total)


def budget_paper(
    build: Resolved,
    limit: Budget | None = None,
    keep: Sequence[str] = (),
    with_savings: bool = True,
) -> BudgetPaper:
    """Reckon the build and look for savings.

    Args:
        build: what is picked, from which catalogue.
        limit: a budget to take in place of the selection's.
        keep: what else is not to be touched.
        with_savings: whether to look for savings, which takes longer.

    Raises:
        SelectionError: the selection cannot be understood.
    """
    catalogue, selection = build.catalogue, build.selection
    if limit is not None:
        selection = attrs.evolve(selection, budget=limit)
    budget = selection.budget or Budget()
    budget = attrs.evolve(budget, keep=tuple(dict.fromkeys((*budget.keep, *keep))))
    selection = attrs.evolve(selection, budget=budget)
    reckoning = reckon(Resolved(catalogue, selection))

    def enough(to_pay: Money) -> bool:
        total = reckoned(catalogue, budget, to_pay)
        return reckoning.limit is None or total <= reckoning.limit

    helps = plan = best = None
    hopeless, gave_up = False, ""
    if with_savings:
        helps = tuple(
            Helps(
                saving,
                reckoned(catalogue, budget, saving.to_pay),
                None if reckoning.limit is None else enough(saving.to_pay),
            )
            for saving in single_savings(Resolved(catalogue, selection), budget.keep)
        )
        over = reckoning.over
        if over is not None and over.amount > 0:
            try:
                plan = least_regret(Resolved(catalogue, selection), enough, budget.keep)
                hopeless = plan is None
            except SearchGivenUp as reason:
                gave_up = str(reason)
            if hopeless:
                with suppress(SearchGivenUp):
                    best = lowest(Resolved(catalogue, selection), budget.keep)
    return BudgetPaper(
        title=selection.title,
        customer=selection.customer.name if selection.customer else "",
        shop=catalogue.shop,
        day=catalogue.price_day,
        reckoning=reckoning,
        helps=helps,
        plan=plan,
        plan_total=None if plan is None else reckoned(catalogue, budget, plan.to_pay),
        gave_up=gave_up,
        hopeless=hopeless,
        lowest=best,
        lowest_total=None if best is None else reckoned(catalogue, budget, best.to_pay),
        kept=budget.keep,
        kept_titles=tuple(_title(catalogue, name) for name in budget.keep),
        selection=selection,
    )


def _title(catalogue: Catalogue, name: str) -> str:
    choice_id, _, option_id = name.partition("=")
    choice = catalogue.by_id[choice_id]
    return choice.by_id[option_id].title if option_id else choice.title


MOST_SHOWN = 20
"""Single changes that stand on paper and screen; JSON has them all."""


def build_up(reckoning: Reckoning, language: Language = ENGLISH) -> tuple[BuildUp, ...]:
    """The steps that the total is built up of, in the order of the paper."""
    steps = [BuildUp(spoken(g.title, language), g.amount) for g in reckoning.shop]
    for group in reckoning.elsewhere:
        steps += [BuildUp(line.title, line.amount, not line.guessed) for line in group.lines]
    for sale in reckoning.sales:
        title = language.say(text("Less {what}", what=sale.title))
        steps.append(BuildUp(title, sale.amount, not sale.guessed))
    if reckoning.contingency:
        steps.append(BuildUp(language.say(text("Contingency")), reckoning.contingency, False))
    return tuple(steps)
