"""Quotes that contradict all others of their service, and what may have gone wrong with each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import log

import numpy as np

from routecost.core.errors import Fault
from routecost.learning.quoted_lines import QuotedLine, amounts_of, drivers_of, paid_for
from routecost.learning.suspect_prices import suspect_prices
from routecost.shop.price_log import PriceList

CLOSE = 0.15
"""Largest log of a factor over that of a usual slip, for the slip to be the likely one."""


@dataclass(frozen=True)
class SuspectQuote:
    """A quote that is left out of the fit. Amounts in the build's currency, of all its copies, with shipping."""

    quote: str
    row: int
    """Of quotes.csv."""
    copies: int
    price: float
    expected: float
    """By the law of the other quotes."""
    factor: float
    """How many times too high, without shipping; below 1 too low."""
    currency: str

    @property
    def what(self) -> str:
        size = f"{self.factor:.2g} times too high"
        if self.factor < 1.0:
            size = f"{1.0 / self.factor:.2g} times too low"
        return (
            f"{self.quote} costs {self.price:.2f} {self.currency}, but {self.expected:.2f} by the law of the other "
            f"quotes, so it is about {size}: {slip(self.factor, self.copies)}"
        )

    @property
    def fault(self) -> Fault:
        mend = "correct or delete the row, or write the law of the other quotes with --force"
        return Fault("quotes.csv", f"row {self.row}, column price", self.what, mend)


def suspect_quotes(lines: Sequence[QuotedLine], prices: PriceList) -> tuple[SuspectQuote, ...]:
    """The quotes to leave out of a fit; see `suspect_prices`."""
    drivers, tabled = drivers_of(lines, prices)
    found = []
    for suspect in suspect_prices(amounts_of(lines, drivers), paid_for(lines), np.array(tabled)):
        line = lines[suspect.index]
        expected = suspect.expected + line.shipping
        found.append(
            SuspectQuote(
                line.name, line.row, line.copies, line.price, expected, suspect.factor, prices.currency
            )
        )
    return tuple(found)


def slip(factor: float, copies: int) -> str:
    """The likeliest slip behind a price that is off by a factor, as a question.

    >>> slip(0.26, 4), slip(9.7, 3)
    ('is it the price of one copy?', 'is the decimal point in the wrong place?')
    """

    def close_to(usual: float) -> bool:
        return abs(log(factor / usual)) < CLOSE

    if copies > 1 and close_to(1.0 / copies):
        return "is it the price of one copy?"
    if copies > 1 and close_to(copies):
        return f"is it a total multiplied by {copies} copies once more?"
    if any(close_to(10.0**power) for power in (-3, -2, -1, 1, 2, 3)):
        return "is the decimal point in the wrong place?"
    if factor > 1.0 and close_to(round(factor)):
        return f"is it the price of {round(factor) * copies} copies?"
    return "are price, copies, currency and finish right?"
