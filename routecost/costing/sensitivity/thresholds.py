"""How far a price, a rate or a number of copies may move before another route makes the part for less."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import Literal

from routecost.costing.quantities import Quantities
from routecost.costing.ranking import RankedPart, contenders
from routecost.costing.sensitivity.envelope import first_crossing
from routecost.costing.tariff import Tariff
from routecost.costing.views import By
from routecost.routes.process.operation import OWN_HOUR

What = Literal["price", "own rate", "fact", "copies"]


@dataclass(frozen=True)
class Threshold:
    """Beyond `at`, as seen from `today`, another route is best."""

    part: str
    what: What
    name: str
    """A resource, a fact as `thing.property`, or `copies`."""
    unit: str
    today: float
    at: float
    route: str
    """Best today."""
    other: str
    """Best just beyond; empty where no route is left."""
    figure: float
    """What the part costs there, by the figure that ranks."""
    within: float = 0.0
    """`at` is known to so much; 0: exactly."""
    pack: str = ""
    """The pack of the cheapest offer, where the name is a resource that is sold."""
    pack_quantity: float = 1.0

    @property
    def percent(self) -> float | None:
        """How far it is from today's value; None where that is nothing.

        >>> Threshold("lid", "price", "resin", "EUR/g", 0.04, 0.05, "cast", "print", 9.0).percent
        25.0
        """
        return round(100.0 * (self.at / self.today - 1.0), 9) if self.today else None

    @property
    def up(self) -> bool:
        return self.at > self.today


def nearest_first(found: list[Threshold]) -> tuple[Threshold, ...]:
    """By distance in per cent of today's value; what has none comes last."""
    return tuple(sorted(found, key=lambda t: (inf if t.percent is None else abs(t.percent), t.name, t.at)))


def price_thresholds(ranked: RankedPart, tariff: Tariff, by: By = "full") -> tuple[Threshold, ...]:
    """For every resource that the part's routes draw, the prices below and above today's at which another
    route becomes best, the nearest first: exact, with all other prices as they are.

    Every alternative of every route takes part, by the rule of `rank_part`. A price here is what the cheapest
    offer costs a unit. Ranked by hours or lead time prices decide nothing, and there are none.
    """
    best = ranked.best
    if best is None or (by != "full" and by != "spend"):
        return ()
    rows = contenders(ranked.amounts.plans)
    plans = [ranked.amounts.plans[i] for i in rows]
    labels = [plan.route for plan in plans]
    if len(set(labels)) < 2:
        return ()
    q = Quantities.of(plans)
    prices = tariff.vector(q.resources, by)
    lowest = rows.index(ranked.order[best.route][0])
    found = []
    for column, resource in enumerate(q.resources):
        if not tariff.counts(resource, by):
            continue
        for up in (False, True):
            crossing = first_crossing(q, prices, column, labels, lowest, up=up)
            if crossing is None:
                continue
            offer = None if resource == OWN_HOUR else tariff.prices.offer(resource)
            found.append(
                Threshold(
                    part=ranked.part.id,
                    what="own rate" if resource == OWN_HOUR else "price",
                    name=resource,
                    unit=f"{tariff.currency}/{tariff.unit(resource)}",
                    today=float(prices[column]),
                    at=crossing.price,
                    route=best.route,
                    other=labels[crossing.row],
                    figure=crossing.cost,
                    pack=offer.pack if offer else "",
                    pack_quantity=offer.pack_quantity if offer else 1.0,
                )
            )
    return nearest_first(found)
