"""What the engine's questions are answered with, told in words: the same for every reader."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from attrs import frozen

from configurator.catalogue.model import Catalogue, Pick
from configurator.engine.availability import Options, OptionState
from configurator.engine.conflicts import Conflict
from configurator.engine.search import Search
from configurator.engine.ways_out import PREFERENCES, Fix, Within
from configurator.engine.wording import Argument, argument, fix_words
from configurator.forms import form
from configurator.money import Money
from configurator.pricing.whole import Price
from configurator.report.engine import reason_for
from configurator.selection.picks import Selection

__all__ = [
    "Completion",
    "Fixes",
    "OptionAnswer",
    "OptionsAnswer",
    "ToldConflict",
    "ToldFix",
    "UngrantedWish",
    "Why",
    "WithinAnswer",
]


@form(inline="conflict argument")
@frozen
class ToldConflict:
    """Picks and facts that cannot all hold, as a short argument too.

    Attributes:
        conflict: the picks and facts.
        argument: the same in words.
    """

    conflict: Conflict
    argument: Argument

    @classmethod
    def of(
        cls, catalogue: Catalogue, conflict: Conflict | None, whole: bool = False
    ) -> ToldConflict | None:
        """The conflict in words, if there is one; see :func:`argument`."""
        return None if conflict is None else cls(conflict, argument(catalogue, conflict, whole))


@form(
    values={"state": ("picked", "open", "implied", "instead", "ruled-out", "undecided")},
)
@frozen
class OptionAnswer:
    """Whether one option is available.

    Attributes:
        choice: id of the choice.
        option: id of the option.
        title: what the customer reads.
        state: picked; open; implied: every complete sound selection with the picks has it;
            instead: available in place of the pick of that choice; ruled-out; or undecided, where
            the search gave up.
        difference: where it is available instead, what it would do to the total.
        reason: why it is ruled out, or what could not be settled; empty otherwise.
    """

    choice: str
    option: str
    title: str
    state: str
    difference: Money | None
    reason: str


@form("options")
@frozen
class OptionsAnswer:
    """The state of every option asked about.

    Attributes:
        conflict: why the picks themselves cannot be completed; None where they can.
        options: the options, in the catalogue's order.
    """

    conflict: ToldConflict | None
    options: tuple[OptionAnswer, ...]

    @classmethod
    def of(cls, search: Search, found: Options) -> OptionsAnswer:
        """What was found, in words."""

        def told(state: OptionState) -> OptionAnswer:
            title = search.catalogue.option(state.choice, state.option).title
            return OptionAnswer(
                state.choice,
                state.option,
                title,
                state.state,
                state.difference,
                reason_for(search, state),
            )

        conflict = ToldConflict.of(search.catalogue, found.conflict, whole=True)
        return cls(conflict, tuple(map(told, found.states)))


@form("why", also="possible")
@frozen
class Why:
    """Why an option, or without one the picks, is not available; or that it is.

    Attributes:
        wanted: the option asked about, as ``choice=option``, or empty.
        instead_of: the pick of the same choice that was set aside for the question, or empty.
        difference: what the option in its place would do to the total, where it is available.
        conflict: why it is not available; None where it is.
    """

    wanted: str
    instead_of: str
    difference: Money | None
    conflict: ToldConflict | None

    @property
    def possible(self) -> bool:
        """Whether it is available."""
        return self.conflict is None

    @classmethod
    def of(
        cls,
        search: Search,
        wanted: Pick | None,
        conflict: Conflict | None,
        replaced: Pick | None = None,
        difference: Money | None = None,
    ) -> Why:
        """What was found, in words.

        Args:
            search: the catalogue's search.
            wanted: the option asked about.
            conflict: why not, if so.
            replaced: the pick of the same choice that was set aside for the question, if any.
            difference: what the option in its place would do to the total.
        """
        return cls(
            "" if wanted is None else str(wanted),
            "" if replaced is None else str(replaced),
            difference,
            ToldConflict.of(search.catalogue, conflict, whole=True),
        )


@form(inline="fix")
@frozen
class ToldFix:
    """A change of picks that makes the conflicts go away.

    Attributes:
        words: what it does, and what that does to the price.
        fix: the change.
    """

    words: str
    fix: Fix


@form("fixes")
@frozen
class Fixes:
    """The best few changes.

    Attributes:
        currency: ISO 4217 code of every amount.
        fixes: best first.
    """

    currency: str
    fixes: tuple[ToldFix, ...]

    @classmethod
    def of(cls, catalogue: Catalogue, found: Iterable[Fix]) -> Fixes:
        """What was found, in words."""
        told = tuple(ToldFix(fix_words(catalogue, fix), fix) for fix in found)
        return cls(catalogue.currency, told)


@form("completion", hidden="price", also="currency total", values={"prefer": PREFERENCES})
@frozen
class Completion:
    """The best complete selection.

    Attributes:
        prefer: what it is the best for.
        price: what it costs.
        mass: kg of everything picked, empty; None while it depends on an open choice.
        added: what was added to the picks.
        selection: the selection.
    """

    prefer: str
    price: Price
    mass: Decimal | None
    added: tuple[Pick, ...]
    selection: Selection

    @property
    def currency(self) -> str:
        """ISO 4217 code of the total."""
        return self.price.currency

    @property
    def total(self) -> Money:
        """What it costs, with tax."""
        return self.price.total


@form()
@frozen
class UngrantedWish:
    """A wish that the budget or the catalogue does not allow.

    Attributes:
        wish: the wish, as ``choice=option``.
        over: by how much the cheapest package with it would exceed the budget; None where no sound
            package has it.
        conflict: why no sound package has it.
    """

    wish: str
    over: Money | None
    conflict: ToldConflict | None


@form("within")
@frozen
class WithinAnswer:
    """The most of a wish list that a budget allows.

    Attributes:
        currency: ISO 4217 code of every amount.
        total: of the selection; without one, of the cheapest package with the picks; None where
            there is none.
        granted: wishes in the selection, in order, as ``choice=option``.
        left_out: the other wishes.
        added: what the selection holds besides the picks and the wishes granted.
        selection: the cheapest complete selection with the wishes granted; None where not even the
            picks alone can be had.
    """

    currency: str
    total: Money | None
    granted: tuple[str, ...]
    left_out: tuple[UngrantedWish, ...]
    added: tuple[Pick, ...]
    selection: Selection | None

    @classmethod
    def of(cls, search: Search, found: Within) -> WithinAnswer:
        """What was found, in words."""
        return cls(
            search.catalogue.currency,
            found.total,
            tuple(map(str, found.granted)),
            tuple(
                UngrantedWish(
                    str(one.wish), one.over, ToldConflict.of(search.catalogue, one.conflict)
                )
                for one in found.left_out
            ),
            found.added,
            found.selection,
        )
