"""Building UBL 2.1 documents (OASIS Universal Business Language) with ElementTree.

What several of them are made of: a document, parties, quantities, amounts, categories of tax. The
schema fixes the order of everything, so each function writes its parts in that order.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from decimal import Decimal
from xml.etree import ElementTree as ET

from configurator.catalogue.shop import ShopDetails
from configurator.money import Money, exponent, round_to
from configurator.selection.picks import Customer

_SCHEMA = "urn:oasis:names:specification:ubl:schema:xsd:"
_BASIC, _GROUP = f"{_SCHEMA}CommonBasicComponents-2", f"{_SCHEMA}CommonAggregateComponents-2"
_PREFIXES = {
    "cbc": _BASIC,
    "cac": _GROUP,
    "quotation": f"{_SCHEMA}Quotation-2",
    "order": f"{_SCHEMA}Order-2",
}
for _prefix, _uri in _PREFIXES.items():
    ET.register_namespace(_prefix, _uri)

_UNITS = {"m": "MTR", "m2": "MTK", "m3": "MTQ", "L": "LTR", "kg": "KGM", "h": "HUR"}
"""Codes of UN/ECE Recommendation 20, from memory; what is counted is in pieces, C62."""

_NO_XML = re.compile("[^\\t\\n\\r\\x20-\\ud7ff\\ue000-\\ufffd\\U00010000-\\U0010ffff]")
"""Characters that an XML 1.0 document cannot have."""


def document(kind: str, number: str) -> ET.Element:
    """The root of a document with its version and number.

    Args:
        kind: ``Quotation`` or ``Order``.
        number: what it is called.
    """
    root = ET.Element(f"{{{_SCHEMA}{kind}-2}}{kind}")
    value(root, "UBLVersionID", "2.1")
    value(root, "ID", number)
    return root


def written(root: ET.Element) -> bytes:
    """The document as a file, the same for the same document."""
    ET.indent(root)
    text: bytes = ET.tostring(root, "utf-8", xml_declaration=True)
    return text + b"\n"


def group(parent: ET.Element, name: str) -> ET.Element:
    """A part that holds others."""
    return ET.SubElement(parent, f"{{{_GROUP}}}{name}")


def value(parent: ET.Element, name: str, text: object, **attributes: str) -> None:
    """A part that holds a text, which is left out where there is none."""
    said = _NO_XML.sub("\N{REPLACEMENT CHARACTER}", str(text)).strip()
    if said:
        ET.SubElement(parent, f"{{{_BASIC}}}{name}", attributes).text = said


def amount(parent: ET.Element, name: str, money: Money, digits: int | None = None) -> None:
    """An amount with the decimals of its currency, or with more."""
    places = exponent(money.currency) if digits is None else digits
    value(parent, name, f"{round_to(money.amount, places):f}", currencyID=money.currency)


def quantity(parent: ET.Element, name: str, many: int | Decimal, unit: str) -> None:
    """How many, or how much in a unit."""
    value(parent, name, f"{Decimal(many):f}", unitCode=_UNITS.get(unit, "C62"))


def seller(parent: ET.Element, shop: ShopDetails, scheme: str) -> None:
    """The shop as a party, with its registration for a scheme of tax where one is named."""
    party = named(parent, shop.name)
    _address(party, shop.address)
    if shop.registration and scheme:
        registered = group(party, "PartyTaxScheme")
        value(registered, "CompanyID", shop.registration)
        value(group(registered, "TaxScheme"), "ID", scheme)
    _contact(party, shop.phone, shop.email)


def buyer(parent: ET.Element, customer: Customer) -> None:
    """The customer as a party."""
    party = named(parent, customer.name)
    _address(party, customer.address)
    _contact(party, customer.phone, customer.email)


def named(parent: ET.Element, name: str) -> ET.Element:
    """A party of that name."""
    party = group(parent, "Party")
    value(group(party, "PartyName"), "Name", name)
    return party


def _address(party: ET.Element, lines: Iterable[str]) -> None:
    lines = [line for line in lines if line.strip()]
    if lines:
        address = group(party, "PostalAddress")
        for line in lines:
            value(group(address, "AddressLine"), "Line", line)


def _contact(party: ET.Element, phone: str, email: str) -> None:
    if phone or email:
        contact = group(party, "Contact")
        value(contact, "Telephone", phone)
        value(contact, "ElectronicMail", email)


def tax_category(parent: ET.Element, name: str, percent: Decimal, scheme: str) -> None:
    """A category of tax: S, standard, or Z, zero, of UN/EDIFACT code list 5305, from memory."""
    category = group(parent, name)
    value(category, "ID", "S" if percent else "Z")
    value(category, "Percent", f"{percent.normalize():f}")
    value(group(category, "TaxScheme"), "ID", scheme)
