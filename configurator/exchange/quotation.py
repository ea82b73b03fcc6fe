"""A quote as a Quotation of UBL 2.1, with the sums of EN 16931.

It says what the paper says of price, validity and terms, and nothing of what the shop pays or to
whom: it is made from the quote alone.
"""

from __future__ import annotations

from collections.abc import Callable
from xml.etree import ElementTree as ET

from configurator.errors import ConfiguratorError
from configurator.exchange.nets import NetChange, NetLine, NetPrice, net_price
from configurator.exchange.ubl import (
    amount,
    buyer,
    document,
    group,
    quantity,
    seller,
    tax_category,
    value,
    written,
)
from configurator.report.quote import Quote
from configurator.words import text


def quotation_xml(quote: Quote, say: Callable[[str], str] = str) -> bytes:
    """The quote as an XML file, valid against OASIS's schema of a Quotation.

    Args:
        quote: what is quoted.
        say: says a text of ours, or of the catalogue, in the language of the paper.

    Raises:
        ConfiguratorError: it has no line, and a Quotation needs one.
    """
    if not quote.price.lines:
        raise ConfiguratorError(
            f"quote {quote.number} has no line; an open-standard quotation needs one at least"
        )
    return written(_Quotation(quote, say).root)


class _Quotation:
    """Writes one."""

    def __init__(self, quote: Quote, say: Callable[[str], str]) -> None:
        self.quote, self.say, self.price = quote, say, quote.price
        self.net, self.tax = net_price(quote.price), say(quote.price.tax_name)
        self.root = root = document("Quotation", quote.number)
        value(root, "IssueDate", quote.date.isoformat())
        for note in self._notes():
            value(root, "Note", say(note))
        value(root, "PricingCurrencyCode", quote.price.currency)
        value(root, "LineCountNumeric", len(self.net.lines))
        valid = group(root, "ValidityPeriod")
        value(valid, "StartDate", quote.date.isoformat())
        value(valid, "EndDate", quote.valid_until.isoformat())
        seller(group(root, "SellerSupplierParty"), quote.shop, self.tax)
        if quote.customer is not None:
            buyer(group(root, "BuyerCustomerParty"), quote.customer)
        self._conditions()
        for change in self.net.changes:
            self._change(change)
        self._taxes(self.net)
        self._total(self.net)
        for number, line in enumerate(self.net.lines, 1):
            self._line(number, line)

    def _notes(self) -> tuple[str, ...]:
        quote = self.quote
        revision = text("Revision {revision}", revision=quote.revision) if quote.revision else ""
        open_lines = (text("Price still open: {why}", why=title) for title in self.price.open)
        return (quote.title, quote.vehicle, revision, *quote.notes, *open_lines)

    def _conditions(self) -> None:
        """Terms, what is not included, and the stages of payment."""
        terms = group(self.root, "TransactionConditions")
        for stage in self.price.payments:
            known = {"title": stage.title, "share": stage.percent, "amount": stage.amount}
            said = text("{title}: {share} %, {amount}", **known)
            value(terms, "Description", self.say(said))
        for left_out in self.quote.not_included:
            said = text("Not included: {what}", what=left_out)
            value(terms, "Description", self.say(said))
        for term in self.quote.terms:
            value(terms, "Description", self.say(term))

    def _change(self, change: NetChange) -> None:
        is_charge, net = change.net.amount > 0, change.net
        entry = group(self.root, "AllowanceCharge")
        value(entry, "ChargeIndicator", "true" if is_charge else "false")
        value(entry, "AllowanceChargeReason", self.say(change.title))
        amount(entry, "Amount", net if is_charge else -net)
        tax_category(entry, "TaxCategory", change.percent, self.tax)

    def _taxes(self, net: NetPrice) -> None:
        total = group(self.root, "TaxTotal")
        amount(total, "TaxAmount", net.tax)
        for rate in net.rates:
            subtotal = group(total, "TaxSubtotal")
            amount(subtotal, "TaxableAmount", rate.taxable)
            amount(subtotal, "TaxAmount", rate.tax)
            tax_category(subtotal, "TaxCategory", rate.percent, self.tax)

    def _total(self, net: NetPrice) -> None:
        total = group(self.root, "QuotedMonetaryTotal")
        amount(total, "LineExtensionAmount", net.on_lines)
        amount(total, "TaxExclusiveAmount", net.before_tax)
        amount(total, "TaxInclusiveAmount", net.before_tax + net.tax)
        amount(total, "AllowanceTotalAmount", net.allowances)
        amount(total, "ChargeTotalAmount", net.charges)
        amount(total, "PrepaidAmount", net.prepaid)
        amount(total, "PayableRoundingAmount", net.rounding)
        amount(total, "PayableAmount", net.payable)

    def _line(self, number: int, net: NetLine) -> None:
        line = net.line
        item_line = group(group(self.root, "QuotationLine"), "LineItem")
        value(item_line, "ID", number)
        for note in (line.why_open, *(() if self.price.tax_included else line.notes)):
            value(item_line, "Note", self.say(note))  # amounts in notes are as the prices are
        quantity(item_line, "Quantity", line.quantity, line.unit)
        if net.net is not None and line.each is not None:
            amount(item_line, "LineExtensionAmount", net.net)
            _price(item_line, net, self.price.tax_included)
        item = group(item_line, "Item")
        value(item, "Description", self.say(line.text))
        value(item, "Name", self.say(line.title))
        identity = group(item, "SellersItemIdentification")
        value(identity, "ID", f"{line.choice}={line.option}")
        tax_category(item, "ClassifiedTaxCategory", net.percent, self.tax)


def _price(item_line: ET.Element, net: NetLine, tax_included: bool) -> None:
    """The price without tax, and what it is for: rounded once, it gives the line's amount.

    A price that holds its tax has no finite price of one without; it is then that of all of them.
    """
    line = net.line
    assert net.net is not None
    assert line.each is not None
    price = group(item_line, "Price")
    if tax_included or line.each.amount < 0:
        amount(price, "PriceAmount", net.net)
        quantity(price, "BaseQuantity", line.quantity, line.unit)
    else:
        amount(price, "PriceAmount", line.each, line.each.decimals)
        quantity(price, "BaseQuantity", line.per, line.unit)
