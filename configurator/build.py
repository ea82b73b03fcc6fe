"""A build: what is picked from a shop's catalogue, and the answer to every question about it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Literal, TypeAlias

import attrs
from attrs import frozen

from configurator.build_changes import BuildChanges
from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Catalogue, Choice
from configurator.errors import ConfiguratorError
from configurator.money import Money
from configurator.selection.asked import asked_about
from configurator.selection.picks import Budget, Selection
from configurator.selection.validate import require_kept, require_known
from configurator.selection.values import (
    choice_of,
    picks_of,
    require_count,
    require_each,
    require_figure,
    require_kind,
)
from configurator.words import letter

if TYPE_CHECKING:
    from configurator.answers.facts import LayoutAnswer, MassAnswer, PowerAnswer
    from configurator.checking.check import Check
    from configurator.checking.suggestions import Suggestion
    from configurator.engine.availability import ExplainAnswer, OptionAnswer, OptionsAnswer
    from configurator.engine.completion import Completion
    from configurator.engine.search import Search
    from configurator.engine.ways_out import Fixes
    from configurator.engine.within import WithinAnswer
    from configurator.pricing.margin import Margin
    from configurator.pricing.price import Price
    from configurator.report.budget import BudgetPaper
    from configurator.report.comparison import Comparison
    from configurator.report.quote import Quote
    from configurator.report.sheets import Sheets


Effort: TypeAlias = Literal["quick", "patient"]
"""How much work an answer may take, in counts and never in seconds."""


def _is_quick(effort: Effort) -> bool:
    require_kind("effort", effort, str, '"quick" or "patient"')
    if effort not in ("quick", "patient"):
        raise ConfiguratorError(f"effort is quick or patient, not {effort!r}")
    return effort == "quick"


@frozen(eq=False, repr=False)
class Build(BuildChanges):
    """A package in the making: what is picked from a shop's catalogue, and every answer about it.

    A build never changes: each change gives a new one. What follows from it is calculated once.

    Attributes:
        remark: of a quote opened again, what has changed since; else empty.
    """

    _engine: Callable[[Catalogue], Search]

    # Questions: facts

    def check(self, hints: bool = False) -> Check:
        """Every fact about the build, most serious first; three kinds of findings are told apart.

        Still to be chosen (``to_choose``), may yet come (``missing``), cannot be (``impossible``).

        Args:
            hints: whether to look for the nearest fixes of what does not fit, too, and whether
                other picks can complete these; a second question, which takes much longer.

        Raises:
            SelectionError: the selection cannot be understood.

        Example:
            >>> [finding.code for finding in wish.check().stops]
            ['fit']
        """
        from configurator.answers.facts import checked

        return checked(self._resolved, self._search if hints else None)

    def price(self) -> Price:
        """The price, complete or partial, tax as the catalogue has it.

        Raises:
            SelectionError: the selection cannot be understood.

        Example:
            >>> print(taller.price().total)
            AUD 28,335.00
        """
        from configurator.pricing.price import price

        return price(self._resolved)

    def suggestions(self) -> tuple[Suggestion, ...]:
        """Add-ons that go with the build, with their reasons and prices; never in the total.

        Raises:
            SelectionError: the selection cannot be understood.

        Example:
            >>> wish.suggestions()[0].line.title
            'Fridge thermometer with a display in the cab'
        """
        from configurator.checking.suggestions import suggestions

        return suggestions(self._resolved)

    def margin(self) -> Margin:
        """What the shop pays and earns, also in per cent: for the shop's eyes only.

        Raises:
            SelectionError: the selection cannot be understood.

        Example:
            >>> wish.margin().percent > 0
            True
        """
        from configurator.pricing.margin import margin

        return margin(self._resolved)

    def layout(self, more: bool = False, view: str = "all") -> LayoutAnswer:
        """Where everything sits, mm, or what does not go in together and what would fix it.

        Args:
            more: whether to try what else would fit too.
            view: which picture it is when written as .svg: ``all`` views of the spaces with a
                key, the whole ``vehicle`` from the side, the package from a ``corner`` above, or
                the spaces from the ``left``, the ``right`` or ``above``.

        Raises:
            ConfiguratorError: there is no such view.
            SelectionError: the selection cannot be understood.

        Example:
            >>> shop.write(taller.layout(view="vehicle"), "vehicle.svg")
            >>> [p.side for p in taller.layout().layout.placements][:2]
            ['left', 'right']
        """
        from configurator.answers.facts import layout

        require_kind("view", view, str)
        return layout(self._resolved, more, view)

    def mass(self) -> MassAnswer | None:
        """Mass and axle loads against the ratings, kg: delivered, full, and with a trailer.

        None while no vehicle is picked. An estimate: a weighbridge, the maker's ratings and a
        licensed certifier decide.

        Raises:
            SelectionError: the selection cannot be understood.

        Example:
            >>> taller.mass().stopped
            False
        """
        from configurator.answers.facts import mass

        return mass(self._resolved)

    def power(self) -> PowerAnswer:
        """What is drawn a day (Ah), how long the battery lasts, and every cable (mm²) and fuse (A).

        A planning aid: a licensed electrician decides.

        Raises:
            SelectionError: the selection cannot be understood.

        Example:
            >>> taller.power().stopped
            False
        """
        from configurator.answers.facts import power

        return power(self._resolved)

    # Questions: the engine

    def options(self, *choices: str, effort: Effort = "patient") -> OptionsAnswer:
        """For every option of the choices, all by default, whether it is available, or why not.

        Args:
            choices: ids of the choices.
            effort: ``patient``, or ``quick``, which says ``undecided`` of whatever takes a proof
                that a crowded room is too full; it may be asked about again.

        Raises:
            ConfiguratorError: there is no such choice.
            SearchLimit: the search stopped without an answer on the picks themselves.
            SelectionError: the selection cannot be understood.

        Example:
            >>> [one.state for one in wish.options("canopy-height").options][:2]
            ['ruled-out', 'picked']
        """
        from configurator.engine.availability import options

        search, asked = self._asked(choices)
        return options(search, self.selection, asked, quick=_is_quick(effort))

    def one_by_one(
        self,
        *choices: str,
        effort: Effort = "quick",
        reasons: bool = False,
        pauses: bool = False,
    ) -> Iterator[tuple[OptionAnswer, ...]]:
        """As :meth:`options`, one choice after the other, in the order asked for.

        It may be left after any of them, and other builds may be asked about in between.

        Args:
            choices: ids of the choices, all by default.
            effort: as for :meth:`options`.
            reasons: whether to say why options are ruled out, which takes longer.
            pauses: whether to give an empty tuple after each option that has been asked about, so
                that it may be left there as well.

        Raises:
            ConfiguratorError: there is no such choice.
            SearchLimit: the search stopped without an answer on the picks themselves.
            SelectionError: the selection cannot be understood.

        Example:
            >>> heights, *_ = wish.one_by_one("canopy-height", "finish")
            >>> heights[0].choice
            'canopy-height'
        """
        from configurator.engine.availability import one_by_one

        search, asked = self._asked(choices)
        return one_by_one(search, self.selection, asked, reasons, _is_quick(effort), pauses)

    def explain(
        self, choice: str = "", option: str = "", quantity: int | Decimal = 1
    ) -> ExplainAnswer:
        """Why an option is not available, or without one why the picks do not go together.

        Where another option of a choice of one is picked, that pick is set aside first.

        Args:
            choice: id of the choice.
            option: id of the option.
            quantity: how many in all.

        Raises:
            SearchLimit: the search stopped without an answer.
            SelectionError: the selection or the option cannot be understood.

        Example:
            >>> wish.explain("upright-fridge", "upright-170").possible
            False
        """
        from configurator.engine.availability import explain

        search = self._search()
        return explain(search, self._resolved, self._wanted(choice, option, quantity))

    def fixes(
        self, choice: str = "", option: str = "", *, count: int = 3, keep: Iterable[Pick | str] = ()
    ) -> Fixes:
        """The best fixes for a conflict, or for what is missing, each proved: fewest picks changed.

        Args:
            choice: id of the choice of an option that is wanted too.
            option: id of that option.
            count: how many at most.
            keep: choices, or ``choice=option``, that stay as they are.

        Raises:
            ConfiguratorError: the count is less than 1.
            SearchLimit: the search stopped without an answer.
            SelectionError: the selection, the option or what is to be kept cannot be understood.
            TypeError: an argument is not of its type.

        Example:
            >>> wish.fixes(count=1).fixes[0].count
            1
        """
        from configurator.engine.ways_out import fixes

        return fixes(*self._to_mend(choice, option, count, keep))

    def fixes_one_by_one(
        self, choice: str = "", option: str = "", *, count: int = 3, keep: Iterable[Pick | str] = ()
    ) -> Iterator[Fixes]:
        """As :meth:`fixes`: the answer so far, after each fix that is found; the last one is whole.

        It may be left after any of them, and other builds may be asked about in between.

        Args:
            choice: id of the choice of an option that is wanted too.
            option: id of that option.
            count: how many at most.
            keep: choices, or ``choice=option``, that stay as they are.

        Raises:
            ConfiguratorError: the count is less than 1.
            SearchLimit: the search stopped before the first.
            SelectionError: the selection, the option or what is to be kept cannot be understood.
            TypeError: an argument is not of its type.

        Example:
            >>> next(wish.fixes_one_by_one()).looking
            True
        """
        from configurator.engine.ways_out import one_by_one

        return one_by_one(*self._to_mend(choice, option, count, keep))

    def complete(self, prefer: str = "price") -> Completion | ExplainAnswer:
        """The cheapest, lightest or roomiest complete selection with the picks.

        Where no complete selection has them, the answer is that of :meth:`explain`: why not.

        Args:
            prefer: ``price``, ``mass`` or ``space``.

        Raises:
            SearchLimit: the search stopped without an answer.
            SelectionError: the selection cannot be understood.
            ValueError: there is no such preference.

        Example:
            >>> wish.pick("canopy-height", "1000mm").complete().prefer
            'price'
            >>> wish.complete().possible
            False
        """
        from configurator.engine.completion import completion

        return completion(self._search(), self._resolved, prefer)

    def within(self, budget: Decimal | int, wishes: Iterable[Pick | str] = ()) -> WithinAnswer:
        """The most of a wish list that a budget allows.

        Args:
            budget: the most that may be to pay, in the catalogue's currency, tax included.
            wishes: the most important first, each a pick or its ``choice=option``.

        Raises:
            SearchLimit: the search stopped without an answer.
            SelectionError: the selection or a wish cannot be understood.
            TypeError: the budget is no number, or a wish is no pick.

        Example:
            >>> len(taller.within(40_000, [Pick("solar", "panel-200", 2)]).granted)
            1
        """
        from configurator.engine.within import within

        require_figure("budget", budget)
        search = self._search()
        wished = [asked_about(self._resolved, wish) for wish in picks_of("wishes", wishes)]
        limit = Money(Decimal(budget), self.catalogue.currency)
        return within(search, self.selection, limit, wished)

    # Questions: papers

    def quote(self, number: str, day: dt.date, *, all_extras: bool = False) -> Quote:
        """Quote the build.

        Args:
            number: the quote's number, such as ``Q-2041``.
            day: day of issue.
            all_extras: show every extra that suits the build, not only the first eight.

        Raises:
            ConfiguratorError: the number is empty, or cannot be on one line.
            QuoteRefused: findings stop it, or the catalogue's prices do not hold on that day.
            SelectionError: the selection cannot be understood.

        Example:
            >>> print(taller.quote("Q-2041", shop.day).price.total)
            AUD 28,335.00
        """
        from configurator.report.quote import make_quote

        return make_quote(self._resolved, number, day, all_extras)

    def compare(self, *others: Build, titles: Sequence[str] = ()) -> Comparison:
        """This build and others side by side on price, mass (kg) and content, differences first.

        All are priced by this build's catalogue, on its day.

        Args:
            others: one or more of the same shop.
            titles: a name for each, this one first; by default its title, or its letter.

        Raises:
            ConfiguratorError: they are of different shops.
            SelectionError: one of them cannot be understood.
            TypeError: an argument is not of its type.
            ValueError: there is no other, or not as many titles as builds.

        Example:
            >>> print(wish.compare(taller).differences[1])
            AUD 815.00
        """
        from configurator.report.comparison import compare

        for other in others:
            require_kind("other", other, Build)
        require_each("titles", titles, str)
        builds = (self, *others)
        if any(one.catalogue.id != self.catalogue.id for one in others):
            ids = " and ".join(dict.fromkeys(f'"{one.catalogue.id}"' for one in builds))
            raise ConfiguratorError(f"compare builds of one shop, and not of {ids}")
        named = [b.selection.title or letter(index) for index, b in enumerate(builds)]
        here = [
            b._resolved if b.catalogue is self.catalogue else self._resolved.having(b.selection)
            for b in builds
        ]
        return compare(here, list(titles) or named)

    def budget(self, budget: Budget | None = None, *, savings: bool = True) -> BudgetPaper:
        """The whole build against the customer's limit, and what would bring it under.

        Args:
            budget: in place of the selection's.
            savings: whether to look for savings.

        Raises:
            SelectionError: the selection cannot be understood.

        Example:
            >>> print(taller.budget(savings=False).reckoning.total)
            AUD 28,335.00
        """
        from configurator.report.budget import budget_paper

        tidy = self._resolved.having(self.selection.tidied())
        if budget is not None:
            require_known(tidy.having(attrs.evolve(tidy.selection, budget=budget)))
        return budget_paper(tidy, budget, with_savings=savings)

    def sheets(self, number: str, day: dt.date, *, cost: bool = False) -> Sheets:
        """The sheets for workshop, electrician, cutting and orders: the shop's, no customer's.

        Args:
            number: the job's number.
            day: day of issue.
            cost: whether the order list has what the shop pays.

        Raises:
            QuoteRefused: findings stop it.
            SelectionError: the selection cannot be understood.

        Example:
            >>> len(taller.sheets("J-7", shop.day).job.units)
            7
        """
        from configurator.report.sheets import make_sheets

        return make_sheets(self._resolved, number, day, cost)

    def _search(self) -> Search:
        """The engine for this build's catalogue with its free lines, if any."""
        require_known(self._resolved)
        return self._engine(self._resolved.offering)

    def _asked(self, choices: Sequence[str]) -> tuple[Search, Sequence[Choice]]:
        search = self._search()
        asked = [choice_of(self.catalogue, choice) for choice in choices]
        return search, asked or tuple(search.catalogue.by_id.values())

    def _to_mend(
        self, choice: str, option: str, count: int, keep: Iterable[Pick | str]
    ) -> tuple[Search, Selection, tuple[str, str] | None, int, Collection[Pick]]:
        """The question for fixes, as the engine takes it."""
        require_count("count", count)
        kept = picks_of("keep", keep)
        require_kept(self._resolved, kept)
        search, wanted = self._search(), self._wanted(choice, option)
        key = None if wanted is None else wanted.key
        return search, self.selection, key, count, kept

    def _wanted(self, choice: str, option: str, quantity: int | Decimal = 1) -> Pick | None:
        """What is asked about; ``choice=option`` may stand in place of the two."""
        require_kind("choice", choice, str)
        require_kind("option", option, str)
        require_figure("quantity", quantity)
        if not choice:
            return None
        named = Pick(choice, option) if option else Pick.named(choice)
        return asked_about(self._resolved, Pick.counting(*named.key, quantity, named.at))
