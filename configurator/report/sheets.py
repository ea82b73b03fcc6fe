"""The sheets of one job, for the shop's eyes only: no customer's paper is made with them."""

from __future__ import annotations

import datetime as dt

from attrs import frozen

from configurator.catalogue.model import Catalogue
from configurator.report.cut_tables import cuts_report
from configurator.report.cuts import CutList, cut_list
from configurator.report.job import JobSheet, job_sheet
from configurator.report.job_tables import job_report
from configurator.report.model import Report
from configurator.report.sheet_head import sheet_head
from configurator.report.shop import OrderList, order_list, orders_report
from configurator.report.wiring import WiringSheet, wiring_sheet
from configurator.report.wiring_tables import wiring_report
from configurator.selection.resolved import Resolved
from configurator.shapes.forms import form


@form("sheets", hidden="catalogue")
@frozen(repr=False)
class Sheets:
    """The sheets of one job.

    Attributes:
        job: what the workshop builds from.
        wiring: what the electrician works from; None where nothing is to be wired.
        cuts: what is cut from sheets and bars; None where the catalogue says nothing of it.
        orders: what is bought from whom.
        catalogue: what its drawings are of, without what the shop pays.
    """

    job: JobSheet
    wiring: WiringSheet | None
    cuts: CutList | None
    orders: OrderList
    catalogue: Catalogue


def make_sheets(build: Resolved, number: str, day: dt.date, cost: bool = False) -> Sheets:
    """The sheets of a job.

    Args:
        build: a complete and sound selection.
        number: the job's number.
        day: day of issue.
        cost: whether the order list has what the shop pays.

    Raises:
        ConfiguratorError: the number is empty, or cannot be on one line.
        QuoteRefused: findings stop it, or it is not proven where its units sit.
        SelectionError: the selection cannot be understood.
    """
    head, layout = sheet_head(build, number, day)
    job = job_sheet(build, head, layout)
    cuts = cut_list(build, head, job)
    return Sheets(
        job,
        wiring_sheet(build, head, layout),
        cuts,
        order_list(build, head, cuts, cost),
        build.catalogue.for_customers(),
    )


def sheets_report(sheets: Sheets) -> Report:
    """The sheets of one job for a terminal, without their drawings."""
    wiring = () if sheets.wiring is None else wiring_report(sheets.wiring)
    cuts = () if sheets.cuts is None else cuts_report(sheets.cuts)
    return (*job_report(sheets.job), *wiring, *cuts, *orders_report(sheets.orders))
