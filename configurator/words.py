"""Numbers as people read them: the same in a terminal, on a page, in a sentence and in an answer.

A figure is rounded by what it is, wherever it is shown: what is used, loads or is too much goes up,
what is available or left goes down, so that the two add up and neither comforts falsely; what is
neither goes to the nearest. Kilograms are shown to a tenth, other units of limits to a hundredth.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from configurator.money import Money, exponent, round_to

__all__ = [
    "amount",
    "amount_with_currency",
    "digits_of",
    "left",
    "letter",
    "nearest",
    "plain",
    "signed_amount",
    "signed_plain",
    "used",
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


def digits_of(unit: str) -> int:
    """How many decimals a figure in that unit is shown to at most."""
    return 1 if unit == "kg" else 2


def used(number: Fraction | Decimal | int, digits: int = 1) -> Decimal:
    """What is used, loads or is too much, to so many decimals: rounded up."""
    return -left(-Fraction(number), digits)


def left(number: Fraction | Decimal | int, digits: int = 1) -> Decimal:
    """What is available or left, to so many decimals: rounded down."""
    return Decimal(Fraction(number) * 10**digits // 1).scaleb(-digits)


def nearest(number: Fraction | Decimal | int, digits: int = 1) -> Decimal:
    """A figure of which neither more nor less is safer, to so many decimals: half up."""
    size = Decimal((abs(Fraction(number)) * 10**digits + Fraction(1, 2)) // 1).scaleb(-digits)
    return -size if number < 0 else size
