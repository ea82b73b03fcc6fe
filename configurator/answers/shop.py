"""Answers for the shop's eyes only; nothing that makes a customer's papers imports this."""

from __future__ import annotations

from attrs import frozen

from configurator.forms import form
from configurator.report.job import JobSheet
from configurator.report.shop import OrderList
from configurator.report.wiring import WiringSheet

__all__ = ["Sheets"]


@form("sheets")
@frozen
class Sheets:
    """The sheets of one job.

    Attributes:
        job: what the workshop builds from.
        wiring: what the electrician works from; None where nothing is to be wired.
        orders: what is bought from whom.
    """

    job: JobSheet
    wiring: WiringSheet | None
    orders: OrderList
