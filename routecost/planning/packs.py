"""Whole packs: the cheapest way to have at least so much."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from routecost.shop.prices import Offer


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


def cheapest_packs(need: float, offers: Sequence[Offer]) -> tuple[Bought, ...]:
    """The packs of least total price that hold at least `need`, exactly: a covering knapsack by depth-first
    search over counts, largest pack first, cut off where the cheapest unit price cannot win any more.

    `need` and packs are in the resource's unit; among equal prices fewer, larger packs win.
    """
    if need <= 0.0 or not offers:
        return ()
    by_size = sorted(offers, key=lambda o: (-o.pack_quantity, o.pack_price))
    # the least unit price from here on: no completion can cost less than what is missing at that price
    least = [min(o.unit_price for o in by_size[i:]) for i in range(len(by_size))]
    best_amount, best_counts = math.inf, (0,) * len(by_size)
    slack = 1e-9 * need

    def search(i: int, missing: float, amount: float, counts: tuple[int, ...]) -> None:
        nonlocal best_amount, best_counts
        if missing <= slack:
            if amount < best_amount - 1e-9:
                best_amount, best_counts = amount, counts + (0,) * (len(by_size) - len(counts))
            return
        if i == len(by_size) or amount + missing * least[i] >= best_amount - 1e-9:
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
