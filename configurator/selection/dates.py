"""Days that a selection knows: when its quote was issued, and what is agreed for when."""

from typing import Annotated

from attrs import frozen

from configurator.catalogue.fields import Day, Written
from configurator.shapes.forms import form
from configurator.shapes.schema import asks, up_to


@form(hidden="at")
@frozen(repr=False, eq=False)
class Revision(Written):
    """One issue of a quote."""

    revision: Annotated[
        int, "Its number, at most the one that this is.", asks(minimum=1, maximum=999)
    ]
    date: Annotated[Day, "Day of issue, YYYY-MM-DD."]
    what: Annotated[
        str, "What changed, as part of a sentence; empty for the first issue.", asks(maxLength=300)
    ] = ""


@frozen(repr=False, eq=False)
class PlannedDate(Written):
    """A day that is agreed: a payment is due, or something is done."""

    day: Annotated[Day, "The day, or the first of several, YYYY-MM-DD."]
    until: Annotated[Day, "The last day, where there are several."] = ""
    title: Annotated[str, "What is done, such as the build or the collection.", up_to(80)] = ""
    payment: Annotated[
        str, "The payment that is due, by the title of its stage in the catalogue.", up_to(120)
    ] = ""

    @property
    def what(self) -> str:
        """What is done, or the payment."""
        return self.title or self.payment
