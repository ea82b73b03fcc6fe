"""The pick and the choices that a question is about."""

from __future__ import annotations

from collections.abc import Iterable

from configurator.catalogue.fields import Pick
from configurator.catalogue.model import Catalogue
from configurator.errors import NOWHERE, Location, Problem, SelectionError
from configurator.selection.picks import Selection
from configurator.selection.resolved import Resolved
from configurator.selection.validate import require_known
from configurator.words import in_unit, near_miss, plain, text


def asked_about(build: Resolved, pick: Pick) -> Pick:
    """The pick, if the catalogue has it.

    Raises:
        SelectionError: it does not, or it would have to be measured off for the question.
    """
    catalogue = build.catalogue
    require_known(build.having(Selection(catalogue.id, (pick,))))
    option = catalogue.option(*pick.key)
    if option.sold_by is None or pick.many in (1, option.how_much):
        return catalogue.picked(*pick.key, pick.quantity if option.sold_by is None else 1)
    much = in_unit(option.how_much, option.sold_by.unit)
    at = Location(str(pick), 0, 0) if pick.at is NOWHERE else pick.at
    sentence = f"the question is about {much} of {option.title}"
    hint = f"pick {pick}:{plain(pick.many)} first, then ask what goes with it"
    raise SelectionError([Problem(at, sentence, "quantity", hint)])


def require_choices(catalogue: Catalogue, choices: Iterable[str], named: str = "") -> None:
    """Raise unless the catalogue has these choices.

    Args:
        catalogue: the catalogue.
        choices: their ids.
        named: what stands before an id where it was given.

    Raises:
        SelectionError: with every one that it does not have.
    """
    problems = [
        Problem(
            Location(f"{named}{choice}", 0, 0),
            text('there is no choice "{name}"', name=choice),
            "unknown-choice",
            near_miss(choice, catalogue.by_id)
            or text('"configurator catalogue list" lists all of them'),
        )
        for choice in choices
        if choice not in catalogue.by_id
    ]
    if problems:
        raise SelectionError(problems)
