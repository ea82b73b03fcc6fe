"""A budget as people write it: with or without the currency, thousands parted in any usual way."""

from __future__ import annotations

import re
from decimal import Decimal

from configurator.catalogue.fields import MOST_MONEY
from configurator.errors import ConfiguratorError
from configurator.money import exponent
from configurator.words import text

_CURRENCY = r"(?:[A-Z]{0,3}[$€£¥]|[A-Z]{3})?"
_WHOLE = r"([0-9]{1,3}([,. '])[0-9]{3}(?:\2[0-9]{3})*|[0-9]{1,11})"
_WRITTEN = re.compile(rf"{_CURRENCY} ?{_WHOLE}(?:([.,])([0-9]+))? ?{_CURRENCY}", re.IGNORECASE)
_NOT_ABOVE_ZERO = re.compile(
    rf"{_CURRENCY} ?(?:[-\u2212] ?{_CURRENCY} ?[0-9][0-9,. ']*|0+(?:[.,]0+)?) ?{_CURRENCY}",
    re.IGNORECASE,
)


def budget_from(typed: str, currency: str) -> Decimal:
    """The amount that is written, above 0: ``20 000``, ``20,000.00``, ``$20.000,00``, ``20000``.

    Three digits after a single sign are thousands, as no budget has a tenth of a cent.

    Args:
        typed: what somebody wrote.
        currency: that prices are in; it says how many decimals an amount may have.

    Raises:
        ConfiguratorError: it is no such amount, is in another currency, or is too large.

    Example:
        >>> budget_from("$20,000", "AUD") == budget_from("20 000", "AUD") == 20_000
        True
    """
    found = _WRITTEN.fullmatch(" ".join(typed.split()))
    if found is not None:
        whole, parted_by, point, decimals = found.groups()
        named = {code.upper() for code in re.findall(r"[A-Za-z]{3}", typed)}
        digits = re.sub("[^0-9]", "", whole)
        amount = Decimal(f"{digits}.{decimals or 0}")
        right = named <= {currency} and len(decimals or "") <= exponent(currency)
        if right and (not point or point != parted_by) and 0 < amount <= MOST_MONEY:
            return amount
    if _NOT_ABOVE_ZERO.fullmatch(" ".join(typed.split())):
        raise ConfiguratorError(
            text(
                'a budget has to be above zero, and "{typed}" is not; write an amount such as '
                "45000 or 45,000",
                typed=_short(typed),
            )
        )
    raise ConfiguratorError(
        text(
            '"{typed}" is no budget in {currency}; write an amount such as 45000 or 45,000',
            typed=_short(typed), currency=currency,
        )
    )  # fmt: skip


def _short(typed: str) -> str:
    return typed if len(typed) <= 40 else f"{typed[:37]}..."
