"""The one door for money: text to Decimal, currencies, and the only rounding function.

Floats never become money. Amounts know their currency, and a sum of two currencies is an
error. Nothing rounds on its own: :func:`round_to` is called at named points (a line, the tax,
a payment), each of which says so.
"""

from __future__ import annotations

import decimal
from collections.abc import Callable, Iterable
from decimal import Decimal
from fractions import Fraction

from attrs import frozen

from configurator.errors import MoneyError, whole
from configurator.shapes.forms import brief

_EXPONENTS = {
    0: "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF",
    2: (
        "AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BMD BND BOB BOV BRL BSD BTN BWP BYN"
        " BZD CAD CDF CHE CHF CHW CNY COP COU CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD"
        " FKP GBP GEL GHS GIP GMD GTQ GYD HKD HNL HTG HUF IDR ILS INR IRR JMD KES KGS KHR KPW"
        " KYD KZT LAK LBP LKR LRD LSL MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MXV MYR"
        " MZN NAD NGN NIO NOK NPR NZD PAB PEN PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR SDG"
        " SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD"
        " USN UYU UZS VED VES WST XAD XCD XCG YER ZAR ZMW ZWG"
    ),
    3: "BHD IQD JOD KWD LYD OMR TND",
    4: "CLF UYW",
}
_EXPONENT = {code: digits for digits, codes in _EXPONENTS.items() for code in codes.split()}

_ROUNDING = {
    "half-up": decimal.ROUND_HALF_UP,
    "half-down": decimal.ROUND_HALF_DOWN,
    "half-even": decimal.ROUND_HALF_EVEN,
    "down": decimal.ROUND_DOWN,
    "up": decimal.ROUND_UP,
    "floor": decimal.ROUND_FLOOR,
    "ceiling": decimal.ROUND_CEILING,
}
"""Rounding modes by name; a catalogue uses the first five. Halves of negative amounts mirror those
of positive ones: under ``half-up`` -0.125 becomes -0.13, so a credit undoes its charge exactly."""

_EXACT = decimal.Context(
    prec=60, rounding=decimal.ROUND_HALF_EVEN, traps=[decimal.InvalidOperation, decimal.Overflow]
)

_MOST_DIGITS = 50
"""Digits before the point that an amount may have: what is rounded has all its decimals too."""


def currencies() -> frozenset[str]:
    """The ISO 4217 codes of currencies in use that money can be quoted in."""
    return frozenset(_EXPONENT)


def _shown(value: object, how: Callable[[object], str] = repr) -> str:
    return whole(value) if isinstance(value, int) else how(value)


def exponent(currency: str) -> int:
    """How many decimals the currency has, after ISO 4217.

    Raises:
        MoneyError: the code is not a currency in use.
    """
    try:
        return _EXPONENT[currency]
    except (KeyError, TypeError):
        raise MoneyError(f'"{_shown(currency, str)}" is no ISO 4217 currency code in use') from None


def round_to(number: Decimal | Fraction | int, digits: int, mode: str = "half-up") -> Decimal:
    """The number to a number of decimals: the only place in the package where one is rounded."""
    amount = number if isinstance(number, Decimal) else _decimal(Fraction(number), digits)
    if not amount.is_finite() or (amount.adjusted() > _MOST_DIGITS and amount):
        raise MoneyError(f"{amount:.3e} is more than a figure can be")
    return amount.quantize(Decimal(1).scaleb(-digits), rounding=_ROUNDING[mode], context=_EXACT)


def _decimal(value: Fraction, digits: int) -> Decimal:
    """A decimal that rounds to a number of decimals as the fraction does.

    One digit past the last is kept, and a remainder below it nudges the value off an exact half,
    so that a long fraction is never taken for one.
    """
    whole, rest = divmod(abs(value.numerator) * 10 ** (digits + 1), value.denominator)
    number = Decimal(whole * 10 + bool(rest)).scaleb(-(digits + 2), _EXACT)
    return -number if value < 0 else number


def round_to_steps(amount: Decimal, step: Decimal, mode: str = "half-up") -> Decimal:
    """The amount to a whole number of steps, such as five cents or ten dollars."""
    return _EXACT.multiply(round_to(_EXACT.divide(amount, step), 0, mode), step)


@frozen(order=False, repr=False)
class Money:
    """An exact amount of one currency.

    Attributes:
        amount: exact; may carry more decimals than the currency until a named point rounds it.
        currency: ISO 4217 code.

    Raises:
        MoneyError: the amount is not a finite Decimal or too large, or two currencies meet.
    """

    amount: Decimal
    currency: str

    def __attrs_post_init__(self) -> None:
        if not isinstance(self.amount, Decimal) or not self.amount.is_finite():
            shown = _shown(self.amount)
            raise MoneyError(f"{shown} is not an exact amount: give a Decimal")
        exponent(self.currency)
        if self.amount.adjusted() > _MOST_DIGITS and self.amount:
            raise MoneyError(f"{self.amount:.3e} is more than an amount of money can be")

    __repr__ = brief

    @classmethod
    def zero(cls, currency: str) -> Money:
        """Nothing, in that currency."""
        return cls(Decimal(0), currency)

    @classmethod
    def total(cls, amounts: Iterable[Money], currency: str) -> Money:
        """The exact sum; nothing at all sums to zero of ``currency``."""
        whole = Decimal(0)
        for amount in amounts:
            whole = _EXACT.add(whole, _amount(amount, currency))
        return cls(whole, currency)

    def __add__(self, other: Money) -> Money:
        return Money(_EXACT.add(self.amount, self._same(other)), self.currency)

    def __sub__(self, other: Money) -> Money:
        return Money(_EXACT.subtract(self.amount, self._same(other)), self.currency)

    def __mul__(self, factor: Decimal | int) -> Money:
        if not isinstance(factor, Decimal | int):
            raise MoneyError(f"{factor!r} is not an exact factor: give a Decimal or a whole number")
        return Money(_EXACT.multiply(self.amount, Decimal(factor)), self.currency)

    def __neg__(self) -> Money:
        return Money(_EXACT.minus(self.amount), self.currency)

    def __lt__(self, other: Money) -> bool:
        return self.amount < self._same(other)

    def __le__(self, other: Money) -> bool:
        return self.amount <= self._same(other)

    def __gt__(self, other: Money) -> bool:
        return self.amount > self._same(other)

    def __ge__(self, other: Money) -> bool:
        return self.amount >= self._same(other)

    def __str__(self) -> str:
        """The amount as people read it, such as ``AUD 31,920.00``."""
        digits = exponent(self.currency)
        return f"{self.currency} {round_to(self.amount, digits):z,.{digits}f}"

    def __bool__(self) -> bool:
        return bool(self.amount)

    @property
    def decimals(self) -> int:
        """How many decimals it takes, at least those of its currency."""
        places = self.amount.normalize().as_tuple().exponent
        return max(exponent(self.currency), -places if isinstance(places, int) else 0)

    def rounded(self, mode: str = "half-up") -> Money:
        """To the currency's smallest unit."""
        return Money(round_to(self.amount, exponent(self.currency), mode), self.currency)

    def _same(self, other: Money) -> Decimal:
        return _amount(other, self.currency)


def _amount(money: Money, currency: str) -> Decimal:
    """The amount, if it is of that currency."""
    if not isinstance(money, Money):
        raise MoneyError(f"{money!r} is not money")
    if money.currency != currency:
        raise MoneyError(f"{currency} and {money.currency} do not add up")
    return money.amount
