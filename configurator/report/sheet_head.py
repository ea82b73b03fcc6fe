"""What the shop's sheets share: their head, common columns, and when there are none."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

from attrs import frozen

from configurator.catalogue.model import VEHICLE
from configurator.catalogue.shop import ShopDetails
from configurator.checking.check import check
from configurator.checking.layout import laid_out
from configurator.errors import ConfiguratorError
from configurator.findings import Finding, QuoteRefused
from configurator.fit.layout import Layout
from configurator.report.model import Column, Told
from configurator.selection.resolved import Resolved
from configurator.selection.values import require_kind
from configurator.shapes.forms import form
from configurator.words import Text, joined, text

DONE: Told[object] = (Column(text("Done"), "box", name="done"), lambda _: None)
NUMBER = Column(text("No."), "number", name="no big")
QUANTITY = Column(text("Qty"), "count", name="qty")

_LONGEST_NUMBER = 40


@form(hidden="shop")
@frozen
class SheetHead:
    """What stands at the head of every sheet of one job.

    Attributes:
        number: of the job or of its quote.
        date: day of issue.
        title: name of the selection, or empty.
        shop: who builds.
        customer: for whom, or empty.
        vehicle: title of the class of vehicle.
        own_vehicle: what the customer says of the vehicle, or empty.
    """

    number: str
    date: dt.date
    title: str
    shop: ShopDetails
    customer: str
    vehicle: str
    own_vehicle: str


def sizes(*each: Decimal | int) -> Text:
    """Sizes with a sign of multiplication between them."""
    return joined((text("{n}", n=size) for size in each), " × ")


def require_number(number: str, of: str) -> None:
    """A number of a quote or job is one line.

    Raises:
        ConfiguratorError: it is not.
    """
    if not number.strip():
        raise ConfiguratorError(f"{of} needs a number: give one that is not empty")
    if len(number) > _LONGEST_NUMBER or not number.isprintable():
        most = f"one line of at most {_LONGEST_NUMBER} characters"
        raise ConfiguratorError(f"{of}'s number is {most}")


def sheet_head(build: Resolved, number: str, day: dt.date) -> tuple[SheetHead, Layout]:
    """The head of a job's sheets, and where its units sit.

    Nothing is built that could not be quoted.

    Raises:
        QuoteRefused: findings stop it, or it is not proven where its units sit.
        SelectionError: the selection cannot be understood.
        ConfiguratorError: the number is empty, or cannot be on one line.
    """
    require_kind("number", number, str)
    require_kind("day", day, dt.date)
    require_number(number, "a job")
    checked = check(build, hints=True)
    if checked.stops:
        raise QuoteRefused(checked.stops)
    laid = laid_out(build, checked.fits)
    if checked.fits and laid.layout is None:
        unproven = f"nothing proves where the units sit: {laid.gave_up}"
        raise QuoteRefused([Finding("stop", "arrangement-not-proven", "layout", unproven)])
    customer = build.selection.customer
    head = SheetHead(
        number=number,
        date=day,
        title=build.selection.title,
        shop=build.catalogue.shop,
        customer=customer.name if customer else "",
        vehicle=build.catalogue.option(VEHICLE, str(build.selection.one(VEHICLE))).title,
        own_vehicle=customer.vehicle if customer else "",
    )
    return head, laid.layout or Layout(())
