"""How sure the answer is: the whole build in sampled worlds, by one matrix product."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routecost.core.arrays import Floats
from routecost.core.money import with_currency
from routecost.core.wording import counted, short_repr
from routecost.costing.ranking import Ranking
from routecost.costing.tariff import Tariff
from routecost.costing.uncertainty.spread import Law, sample
from routecost.costing.uncertainty.terms import Terms
from routecost.costing.views import View
from routecost.routes.process.operation import ProcessPlan
from routecost.shop.shop import Shop

if TYPE_CHECKING:
    import pandas as pd

PERCENTILES = (10, 50, 80, 90)
DRAWS = 10_000
ONE_AT_A_TIME = 2_000
"""Samples for one input alone: its variance is then known to about 3 %, enough to say what drives the spread."""

# AACE International 18R-97: outer accuracy limits by class, per cent (read)
CLASSES = ((1, -10.0, 15.0), (2, -15.0, 20.0), (3, -20.0, 30.0), (4, -30.0, 50.0), (5, -50.0, 100.0))


@dataclass(frozen=True)
class Chances:
    """One part: how often each route that is not ruled out costs least."""

    part: str
    by_route: dict[str, float]
    best_as_likely: str


@dataclass(frozen=True)
class Driver:
    """What one input alone does to the build's full cost."""

    input: str
    share: float
    """Of the variance of the total; all shares and what they do together add up to about 1."""
    at_low: float
    at_high: float
    """Full cost with this input at its low and its high, all others likely."""
    low: float
    likely: float
    high: float


@dataclass(frozen=True, eq=False)
class Risk:
    """Sampled worlds of one ranking: the route of each part stays the one that is best as likely."""

    draws: int
    seed: int
    law: Law
    currency: str
    parts: tuple[Chances, ...]
    full: Floats
    """(draws,)."""
    spend: Floats
    own_hours: Floats
    likely_full: float
    likely_spend: float
    likely_own_hours: float
    budget: float | None
    drivers: tuple[Driver, ...]

    def __repr__(self) -> str:
        low, high = (with_currency(float(x), self.currency) for x in np.percentile(self.full, [10, 90]))
        parts, draws = counted(len(self.parts), "part"), f"{self.draws} draws"
        return short_repr(self, parts, draws, f"full cost {low} to {high} (P10 to P90)")

    def percentiles(self, samples: Floats) -> dict[int, float]:
        found = np.percentile(samples, PERCENTILES)
        return {p: float(x) for p, x in zip(PERCENTILES, found, strict=True)}

    @property
    def chance_in_budget(self) -> float | None:
        """Share of worlds whose spend stays within the budget."""
        return None if self.budget is None else float(np.mean(self.spend <= self.budget))

    @property
    def contingency(self) -> float:
        """What to set aside beyond the likely spend to be right four times in five."""
        return float(np.percentile(self.spend, 80)) - self.likely_spend

    @property
    def estimate_class(self) -> int | None:
        """AACE 18R-97 class that holds the 80 % range of the full cost about its median; None: wider than all."""
        low, middle, high = np.percentile(self.full, [10, 50, 90])
        return (
            estimate_class(100.0 * (low / middle - 1.0), 100.0 * (high / middle - 1.0))
            if middle > 0
            else None
        )

    def frame(self) -> pd.DataFrame:
        """Sampled full cost, spend and own hours, one row for each draw; money in columns such as `full_eur`."""
        import pandas as pd

        money = self.currency.lower()
        return pd.DataFrame(
            {f"full_{money}": self.full, f"spend_{money}": self.spend, "own_hours": self.own_hours}
        )


def estimate_class(low_percent: float, high_percent: float) -> int | None:
    """The narrowest AACE 18R-97 class whose outer limits hold the range.

    >>> estimate_class(-8, 12), estimate_class(-8, 18), estimate_class(-60, 10)
    (1, 2, None)
    """
    for number, low, high in CLASSES:
        if low <= low_percent and high_percent <= high:
            return number
    return None


def assess(
    ranking: Ranking,
    tariff: Tariff,
    shop: Shop,
    *,
    budget: float | None = None,
    draws: int = DRAWS,
    seed: int = 1,
    law: Law = "triangular",
) -> Risk:
    """Sample every price and fact that the tables give a spread for, and price the whole build in each world."""
    able = [
        [e.plan for e in ranked.estimates if e.plan.verdict.level != "ruled out"] for ranked in ranking.parts
    ]
    plans = [plan for group in able for plan in group]
    terms = Terms.of(plans, tariff, shop)
    values = sample(list(terms.spreads), draws, seed, law)
    full = terms.quantities.cost(terms.prices(values, tariff))
    first, parts, best = 0, [], []
    for ranked, group in zip(ranking.parts, able, strict=True):
        if not group:
            continue
        rows = full[first : first + len(group)]
        chances = {plan.route: float(w) for plan, w in zip(group, wins(rows), strict=True)}
        parts.append(Chances(ranked.part.id, chances, group[0].route))
        best.append(first)  # the ranking's order: its first is the best as likely
        first += len(group)
    own = terms.own_hours(values)
    spend = terms.quantities.cost(terms.prices(values, tariff, "spend"))
    return Risk(
        draws=draws,
        seed=seed,
        law=law,
        currency=ranking.currency,
        parts=tuple(parts),
        full=full[best].sum(axis=0),
        spend=spend[best].sum(axis=0),
        own_hours=own[best].sum(axis=0),
        likely_full=ranking.full,
        likely_spend=ranking.spend,
        likely_own_hours=ranking.own_hours,
        budget=budget,
        drivers=drivers([plans[i] for i in best], tariff, shop, seed=seed, law=law),
    )


def wins(rows: Floats) -> Floats:
    """How often each row is the least of its column: (rows,) for amounts (rows, worlds); of equals the first.

    >>> wins(np.array([[1.0, 5.0, 2.0], [2.0, 3.0, 2.0]]))
    array([0.66666667, 0.33333333])
    """
    least = rows[0].copy()
    winner = np.zeros(rows.shape[1], dtype=np.int8)
    for i in range(1, len(rows)):
        # row by row: far faster than argmin along the short axis
        better = rows[i] < least
        winner[better] = i
        np.minimum(least, rows[i], out=least)
    return np.asarray(np.bincount(winner, minlength=len(rows)) / rows.shape[1])


def drivers(
    chosen: Sequence[ProcessPlan],
    tariff: Tariff,
    shop: Shop,
    *,
    view: View = "full",
    seed: int = 1,
    law: Law = "triangular",
) -> tuple[Driver, ...]:
    """What each input does to the sum of the chosen plans, the strongest first.

    Its share is the variance when it alone varies over the variance when all do: first-order shares, exact
    up to sampling.
    """
    if not chosen:
        return ()
    terms = Terms.of(chosen, tariff, shop)
    spreads, likely = list(terms.spreads), terms.likely
    together = sample(spreads, ONE_AT_A_TIME, seed, law)
    total = float(_sums(terms, together, tariff, view).var())
    found = []
    for i, (name, s) in enumerate(zip(terms.inputs, spreads, strict=True)):
        alone = np.repeat(likely[:, None], ONE_AT_A_TIME + 2, axis=1)
        alone[i, :ONE_AT_A_TIME] = together[i]
        alone[i, ONE_AT_A_TIME:] = (s.low, s.high)
        sums = _sums(terms, alone, tariff, view)
        share = float(sums[:ONE_AT_A_TIME].var()) / total if total > 0.0 else 0.0
        found.append(Driver(name, share, float(sums[-2]), float(sums[-1]), s.low, s.likely, s.high))
    return tuple(sorted(found, key=lambda d: (-d.share, d.input)))


def _sums(terms: Terms, values: Floats, tariff: Tariff, view: View) -> Floats:
    return np.asarray(terms.quantities.cost(terms.prices(values, tariff, view)).sum(axis=0))
