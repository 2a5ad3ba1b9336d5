"""Monte Carlo simulation of a plan's outlay at sampled prices, and how often another plan is better."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from routecost.buying.options import Workshop
from routecost.buying.service_orders import counts_to_least, least_order, service_of
from routecost.buying.totals import Totals
from routecost.core.arrays import Floats
from routecost.costing.tariff import Tariff
from routecost.costing.uncertainty.spread import Law, Spread, sample
from routecost.planning.choosing.choice import value_of
from routecost.planning.choosing.limits import Objective

DRAWS = 10_000
"""The standard error of a share of wins is then half a per cent."""


@dataclass(frozen=True, eq=False)
class OutlaySample:
    """The first plan at sampled prices, beside others."""

    draws: int
    seed: int
    outlay: Floats
    """(draws,): of the first plan."""
    wins: tuple[float, ...]
    """Of each plan: the share of the draws in which it is the best by the objective."""

    @property
    def p50(self) -> float:
        return float(np.percentile(self.outlay, 50))

    @property
    def p80(self) -> float:
        return float(np.percentile(self.outlay, 80))

    @property
    def another_wins(self) -> float:
        """How often a plan other than the first is the best."""
        return 1.0 - self.wins[0]


def sample_outlay(
    plans: Sequence[Totals],
    objective: Objective,
    shop: Workshop,
    *,
    draws: int = DRAWS,
    seed: int = 1,
    law: Law = "triangular",
) -> OutlaySample:
    """Sample every price between its low and its high, common to all plans; all packs of a resource move together.

    The buy list stays as planned. Of equally good plans the first wins.
    """
    tariff = shop.tariff
    factors = _factors(plans, tariff, draws, seed, law)
    outlays = np.array([_outlay(p, shop, factors, draws) for p in plans])
    values = outlays.copy()
    if objective.name == "own-time":
        values = np.repeat(np.array([p.own_hours for p in plans])[:, None], draws, axis=1)
    else:
        # hours and wear are not bought: what they add to the outlay does not move
        values += np.array([value_of(p, objective) - p.outlay for p in plans])[:, None]
    wins = np.bincount(values.argmin(axis=0), minlength=len(plans)) / draws
    return OutlaySample(draws, seed, outlays[0], tuple(wins.tolist()))


def _factors(plans: Sequence[Totals], tariff: Tariff, draws: int, seed: int, law: Law) -> dict[str, Floats]:
    """By resource, sampled price over today's."""
    spreads: dict[str, Spread] = {}
    for resource in sorted({line.resource for p in plans for line in p.buy}):
        offer = tariff.prices.offer(resource)
        if 0.0 < offer.low < offer.high:
            spreads[resource] = Spread(offer.low, offer.unit_price, offer.high)
    values = sample(list(spreads.values()), draws, seed, law)
    return {r: row / s.likely for (r, s), row in zip(spreads.items(), values, strict=True)}


def _outlay(plan: Totals, shop: Workshop, factors: dict[str, Floats], draws: int) -> Floats:
    """(draws,): what the buy list costs; orders are topped up to their least price as they come out."""
    one = np.ones(draws)
    tops = {least_order(service): service for service in plan.orders}
    charged = {service: np.zeros(draws) for service in plan.orders}
    paid = np.zeros(draws)
    for line in plan.buy:
        if line.resource in tops:
            continue
        amount = line.amount * factors.get(line.resource, one)
        paid += amount
        service = service_of(line.resource, shop.parts_per_order)
        if service in charged and counts_to_least(line.resource):
            charged[service] += amount
    for least, service in tops.items():
        if shop.tariff.prices.offers.get(least):
            top = shop.tariff.unit_price(least) * factors.get(least, one)
            paid += np.maximum(0.0, top - charged[service])
    return paid
