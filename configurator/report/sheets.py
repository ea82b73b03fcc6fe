"""The sheets that the shop works from, together: job, wiring and orders."""

from __future__ import annotations

import datetime as dt

from attrs import frozen

from configurator.catalogue.model import Catalogue
from configurator.report.job import JobSheet, job_sheet
from configurator.report.orders import OrderList, order_list
from configurator.report.sheet_head import sheet_head
from configurator.report.wiring import WiringSheet, wiring_sheet
from configurator.selection.resolved import Resolved

__all__ = ["Sheets", "make_sheets"]


@frozen
class Sheets:
    """The sheets of one job; the shop's own, never the customer's.

    Attributes:
        catalogue: the shop's catalogue.
        job: for the workshop.
        wiring: for the electrician; None where nothing is to be wired.
        orders: for whoever buys.
    """

    catalogue: Catalogue
    job: JobSheet
    wiring: WiringSheet | None
    orders: OrderList


def make_sheets(build: Resolved, number: str, day: dt.date, cost: bool = False) -> Sheets:
    """The sheets of a job.

    Args:
        build: a complete and sound selection.
        number: the job's number.
        day: day of issue.
        cost: whether the order list has what the shop pays.

    Raises:
        ConfiguratorError: the number is empty, or cannot stand on one line.
        QuoteRefused: findings stop it, or it is not proven where its units sit.
        SelectionError: the selection cannot be understood.
    """
    head, layout = sheet_head(build, number, day)
    return Sheets(
        build.catalogue,
        job_sheet(build, head, layout),
        wiring_sheet(build, head, layout),
        order_list(build, head, cost),
    )
