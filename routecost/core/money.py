"""Money at the edge: minor units (ISO 4217), and rounded lines that still add up."""

from __future__ import annotations

import math
from collections.abc import Sequence

# ISO 4217 minor units that are not 2
_MINOR_DIGITS = dict.fromkeys(("JPY", "KRW", "CLP", "ISK", "VND"), 0) | dict.fromkeys(
    ("KWD", "BHD", "TND", "OMR", "JOD"), 3
)


def minor_digits(currency: str) -> int:
    """Decimal places of a currency.

    >>> minor_digits("EUR"), minor_digits("JPY"), minor_digits("KWD")
    (2, 0, 3)
    """
    return _MINOR_DIGITS.get(currency, 2)


def rounded(amount: float, currency: str) -> float:
    return round(amount, minor_digits(currency))


def apportioned(amounts: Sequence[float], currency: str) -> list[float]:
    """Amounts rounded to the minor unit so that they add up to the rounded total (largest remainders).

    >>> apportioned([0.333, 0.333, 0.334], "EUR"), sum(apportioned([1/3] * 3, "EUR"))
    ([0.33, 0.33, 0.34], 1.0)
    """
    scale = 10 ** minor_digits(currency)
    exact = [amount * scale for amount in amounts]
    whole = [math.floor(value) for value in exact]
    missing = round(sum(exact)) - sum(whole)
    by_remainder = sorted(range(len(exact)), key=lambda i: (whole[i] - exact[i], i))
    for i in by_remainder[:missing]:
        whole[i] += 1
    return [value / scale for value in whole]


def with_currency(amount: float, currency: str) -> str:
    """
    >>> with_currency(1597.125, "KWD"), with_currency(1234.5, "JPY")
    ('KWD 1597.125', 'JPY 1234')
    """
    return f"{currency} {amount:.{minor_digits(currency)}f}"


def shown(amount: float, currency: str) -> str:
    """An amount as text, in the currency's minor unit.

    >>> shown(1234.5, "EUR"), shown(1234.5, "JPY")
    ('1,234.50', '1,234')
    """
    return f"{amount:,.{minor_digits(currency)}f}"
