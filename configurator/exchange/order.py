"""What is bought from one supplier as an Order of UBL 2.1: for the shop and that supplier.

It names the job and nothing of the customer. What the shop pays is in it only where the order list
has it: it is then the supplier's own price.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from xml.etree import ElementTree as ET

from configurator.exchange.ubl import (
    amount,
    document,
    group,
    named,
    quantity,
    seller,
    value,
    written,
)
from configurator.money import Money
from configurator.report.shop import OrderGroup, OrderList, OrderRow
from configurator.words import in_unit, listed


def order_files(orders: OrderList) -> Iterator[tuple[str, bytes]]:
    """An order for each supplier, under the name of its file, in the order of the list."""
    taken: set[str] = set()
    suppliers = [group for group in orders.groups if group.supplier]
    for number, one in enumerate(suppliers, 1):
        name = re.sub(r"[^a-z0-9]+", "-", one.supplier.lower()).strip("-") or "supplier"
        if name in taken:
            name = f"{name}-{number}"
        taken.add(name)
        yield f"{name}.xml", _order(orders, one, f"{orders.head.number}-{number}")


def _order(orders: OrderList, bought: OrderGroup, number: str) -> bytes:
    root, head = document("Order", number), orders.head
    priced = orders.with_cost and not bought.unknown
    value(root, "IssueDate", head.date.isoformat())
    value(root, "DocumentCurrencyCode", orders.currency)
    value(root, "LineCountNumeric", len(bought.rows))
    value(group(root, "QuotationDocumentReference"), "ID", head.number)
    seller(group(root, "BuyerCustomerParty"), head.shop, "")
    named(group(root, "SellerSupplierParty"), bought.supplier)
    if priced and bought.cost is not None:
        total = group(root, "AnticipatedMonetaryTotal")
        amount(total, "LineExtensionAmount", bought.cost)
        amount(total, "TaxExclusiveAmount", bought.cost)
        amount(total, "PayableAmount", bought.cost)
    for line, row in enumerate(bought.rows, 1):
        _line(root, line, row, row.cost if priced else None)
    return written(root)


def _line(root: ET.Element, number: int, row: OrderRow, cost: Money | None) -> None:
    line = group(group(root, "OrderLine"), "LineItem")
    value(line, "ID", number)
    for size, unit in row.measures:
        value(line, "Note", in_unit(size, unit))
    quantity(line, "Quantity", row.quantity, row.unit)
    if cost is not None:
        amount(line, "LineExtensionAmount", cost)
        price = group(line, "Price")
        amount(price, "PriceAmount", cost)
        quantity(price, "BaseQuantity", row.quantity, row.unit)
    item = group(line, "Item")
    value(item, "Name", listed(row.titles))
    if row.code:
        value(group(item, "SellersItemIdentification"), "ID", row.code)
