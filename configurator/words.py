"""Numbers as people read them: the same in a terminal, on a page and in a sentence."""

from __future__ import annotations

from decimal import Decimal

from configurator.money import Money, exponent, round_to

__all__ = [
    "amount",
    "amount_with_currency",
    "letter",
    "plain",
    "signed_amount",
    "signed_plain",
]


def amount(money: Money | None) -> str:
    """An amount without its currency, such as ``12,345.67``; ``open`` when there is none yet."""
    if money is None:
        return "open"
    digits = exponent(money.currency)
    shown = round_to(money.amount, digits)
    return f"{shown + 0:,.{digits}f}"


def signed_amount(money: Money) -> str:
    """An amount with its sign, such as ``+1,200.00``."""
    return f"+{amount(money)}" if money.amount > 0 else amount(money)


def amount_with_currency(money: Money) -> str:
    """An amount with its currency, such as ``AUD 12,345.67``."""
    return f"{money.currency} {amount(money)}"


def plain(number: Decimal | int) -> str:
    """A number without needless zeros, to two decimals at most."""
    rounded = round_to(Decimal(number), 2)
    return f"{rounded.normalize() + 0:f}"


def signed_plain(number: Decimal | int) -> str:
    """A number with its sign, such as ``+12.5``."""
    return f"+{plain(number)}" if number > 0 else plain(number)


def letter(index: int) -> str:
    """The letter of a column: A for the first, then B; AA after Z."""
    name = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        name = chr(ord("A") + rest) + name
    return name
