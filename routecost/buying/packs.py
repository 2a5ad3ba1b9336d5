"""Whole packs: the cheapest way to have at least so much."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from routecost.core.money import rounded
from routecost.shop.price_log import Offer

SHORT = 1e-6
"""Packs may be short by this share of what is needed: no scale shows a millionth, and sums of a few dozen
draws are right to far less."""


@dataclass(frozen=True)
class Bought:
    """So many packs of one offer."""

    offer: Offer
    packs: int

    @property
    def quantity(self) -> float:
        return self.packs * self.offer.pack_quantity

    @property
    def amount(self) -> float:
        return self.packs * self.offer.pack_price


def payable(offers: Sequence[Offer], currency: str) -> tuple[Offer, ...]:
    """The offers at what is really paid for a pack: whole minor units of the currency. Prices that come out
    of an exchange rate are not whole by themselves."""
    return tuple(replace(o, pack_price=rounded(o.pack_price, currency)) for o in offers)


def cheapest_packs(need: float, offers: Sequence[Offer]) -> tuple[Bought, ...]:
    """The packs of least total price that hold at least `need`, exactly: a covering knapsack by depth-first
    search over counts, largest pack first, cut off where the cheapest unit price cannot win any more.

    `need` and packs are in the resource's unit; among equal prices fewer, larger packs win.
    """
    if need <= 0.0 or not offers:
        return ()
    by_size = worth_buying(offers)
    # the least unit price from here on: no completion can cost less than what is missing at that price
    least = [min(o.unit_price for o in by_size[i:]) for i in range(len(by_size))]
    best_amount, best_counts = math.inf, (0,) * len(by_size)
    slack = SHORT * need

    def search(i: int, missing: float, amount: float, counts: tuple[int, ...]) -> None:
        nonlocal best_amount, best_counts
        if missing <= slack:
            if amount < best_amount - 1e-9:
                best_amount, best_counts = amount, counts + (0,) * (len(by_size) - len(counts))
            return
        if i == len(by_size) or amount + (missing - slack) * least[i] >= best_amount - 1e-9:
            return
        offer = by_size[i]
        enough = math.ceil((missing - slack) / offer.pack_quantity)
        for packs in range(enough, -1, -1):
            search(
                i + 1,
                missing - packs * offer.pack_quantity,
                amount + packs * offer.pack_price,
                (*counts, packs),
            )

    search(0, need, 0.0, ())
    return tuple(Bought(o, n) for o, n in zip(by_size, best_counts, strict=True) if n)


def worth_buying(offers: Sequence[Offer]) -> list[Offer]:
    """Largest pack first, without those that hold no more than a cheaper or equal one."""
    found: list[Offer] = []
    for offer in sorted(offers, key=lambda o: (-o.pack_quantity, o.pack_price)):
        if not found or offer.pack_price < found[-1].pack_price:
            found.append(offer)
    return found
