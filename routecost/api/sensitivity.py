"""How firm a ranking is: what changed between two days, how far prices and rates may move before a decision
changes, and how sampled prices and rates spread the cost."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from routecost.bill.rank_bill import Progress, as_build, rank
from routecost.builds.build import Build
from routecost.builds.stale_prices import StaleOffer, stale_offers
from routecost.core.errors import InputError
from routecost.core.wording import counted, short_repr
from routecost.costing.ranking import RankedPart, Ranking, plans_of
from routecost.costing.sensitivity.changes import Changes, MoneyView, part_change
from routecost.costing.sensitivity.replanning import (
    BestByRoute,
    CopiesStep,
    best_by_route,
    copies_steps,
    copies_thresholds,
    range_of,
    rate_thresholds,
    rates_of,
)
from routecost.costing.sensitivity.thresholds import Threshold, nearest_first, price_thresholds
from routecost.costing.tariff import Tariff
from routecost.costing.uncertainty.risk import DRAWS, Risk, assess
from routecost.costing.uncertainty.spread import Law
from routecost.costing.views import By
from routecost.routes.process.operation import ProcessPlan
from routecost.shop.shop import Shop

if TYPE_CHECKING:
    import pandas as pd

MOST_COPIES = 200
"""Copies are looked at up to this, or to four times what is wanted: a one-off build needs no more."""


def changes(
    build: Build | str | Path,
    first: dt.date,
    last: dt.date | None = None,
    *,
    by: MoneyView = "full",
    progress: Progress | None = None,
) -> Changes:
    """The whole bill on two days, each part by the route that was best then, and the difference split among
    what moved. `last` is the build's own day if left out. Raises InputError."""
    build = as_build(build)
    end = last or build.day
    if first >= end:
        mend = "write an earlier day to compare with"
        raise InputError.of("command line", "--from", f"{first} is not before {end}", mend)
    _known_on(build, first)
    before = rank(build, by=by, as_of=first, progress=progress)
    after = rank(build, by=by, as_of=end)
    old, new = build.tariff(first), build.tariff(end)
    parts = tuple(
        part_change(was, now, old, new, by) for was, now in zip(before.parts, after.parts, strict=True)
    )
    return Changes(parts, first, end, after.currency, by)


def _known_on(build: Build, day: dt.date) -> None:
    """One error instead of one for each resource where the price log begins later than the day."""
    start = min((placed.row.as_of for placed in build.tables.prices), default=day)
    if day < start:
        what = f"the price log does not reach back to {day}"
        raise InputError.of("command line", "--from", what, f"write {start} or later")


@dataclass(frozen=True, eq=False)
class PartThresholds:
    """What would change the best route of one part."""

    ranked: RankedPart
    thresholds: tuple[Threshold, ...]
    """The nearest first."""
    steps: tuple[CopiesStep, ...]
    """The best route by number of copies; empty where it was not asked for."""

    def __repr__(self) -> str:
        return short_repr(self, self.ranked.part.id, counted(len(self.thresholds), "threshold"))


@dataclass(frozen=True, eq=False)
class Thresholds:
    """What would change the best routes of a build."""

    parts: tuple[PartThresholds, ...]
    currency: str
    as_of: dt.date
    by: By

    def __repr__(self) -> str:
        found = counted(sum(len(p.thresholds) for p in self.parts), "threshold")
        return short_repr(self, counted(len(self.parts), "part"), str(self.as_of), found, f"by {self.by}")

    def frame(self) -> pd.DataFrame:
        """One row for each threshold; `today`, `at` and `within` are in `unit`, and `at` is exact where `within`
        is 0. What the part costs there is in a column such as `figure_eur`, by what was ranked by."""
        import pandas as pd

        columns = [
            "part",
            "what",
            "name",
            "unit",
            "today",
            "at",
            "within",
            "percent",
            "route",
            "other",
            "figure",
        ]
        rows = [[getattr(t, name) for name in columns] for p in self.parts for t in p.thresholds]
        unit = {"own-time": "hours", "lead-time": "days"}.get(self.by, self.currency.lower())
        return pd.DataFrame(rows, columns=[*columns[:-1], f"figure_{unit}"])


def thresholds(
    build: Build | str | Path,
    part: str | None = None,
    *,
    by: By = "full",
    as_of: dt.date | None = None,
    most_copies: int | None = None,
    replan: bool = True,
    progress: Progress | None = None,
) -> Thresholds:
    """For every part, or one: the prices, the own hourly rate, the copies, the failure rates and the yields at
    which another route becomes best, the nearest first.

    Prices and the own rate are solved exactly from the plans there are. Copies and rates need the part planned
    anew many times; `replan=False` leaves them out. Raises InputError.
    """
    build = as_build(build)
    ranking = rank(build, part=part, by=by, as_of=as_of)
    tariff, shop = build.tariff(ranking.as_of), build.shop(ranking.as_of)
    found = []
    for ranked in ranking.parts:
        thresholds_ = list(price_thresholds(ranked, tariff, by))
        steps: tuple[CopiesStep, ...] = ()
        routes = {plan.route for plan in ranked.amounts.plans}
        if replan and len(routes) > 1:
            planner = _Planner(build, ranked, shop, tariff, by)
            steps = planner.copies(most_copies)
            thresholds_ += copies_thresholds(steps, ranked.part.copies)
            thresholds_ += planner.rates()
        found.append(PartThresholds(ranked, nearest_first(thresholds_), steps))
        if progress:
            progress(ranked.part.id)
    return Thresholds(tuple(found), ranking.currency, ranking.as_of, by)


@dataclass(frozen=True, eq=False)
class _Planner:
    """Plans one part anew, for other copies or another shop."""

    build: Build
    ranked: RankedPart
    shop: Shop
    tariff: Tariff
    by: By

    def best(self, plans: Sequence[ProcessPlan]) -> BestByRoute:
        return best_by_route(plans, self.tariff, self.build.settings.hours_a_day, self.by)

    def copies(self, most: int | None) -> tuple[CopiesStep, ...]:
        part = self.ranked.part

        def at(n: int) -> BestByRoute:
            anew = next(p for p in self.build.parts(self.shop.day, {part.id: n}) if p.id == part.id)
            return self.best(plans_of(anew, self.shop, self.build.routes))

        quoted = {q.copies for q, _first, _last in self.build.quotes.by_part.get(part.id, ())}
        last = max(part.copies, most or max(MOST_COPIES, 4 * part.copies))
        return copies_steps(part.id, at, 1, last, quoted)

    def rates(self) -> list[Threshold]:
        plans = self.ranked.amounts.plans
        return [t for ref in rates_of(plans) for t in self._rate(ref, plans)]

    def _rate(self, ref: str, plans: Sequence[ProcessPlan]) -> Sequence[Threshold]:
        # only routes that rest on the rate are planned anew
        moving = {plan.route for plan in plans if ref in rates_of([plan])}
        still = [plan for plan in plans if plan.route not in moving]
        routes = [route for route in self.build.routes if route.id in moving]

        def at(value: float) -> BestByRoute:
            anew = plans_of(self.ranked.part, self.shop.with_values({ref: value}), routes)
            return self.best([*anew, *still])

        return rate_thresholds(self.ranked.part.id, self.shop.facts[ref], range_of(self.shop, ref), at)


def risk(
    build: Build | str | Path,
    *,
    copies: int | Mapping[str, int] | None = None,
    by: By = "full",
    as_of: dt.date | None = None,
    draws: int = DRAWS,
    seed: int = 1,
    law: Law = "triangular",
    progress: Progress | None = None,
) -> Risk:
    """Rank a build, then price each part's best route with prices and rates sampled between the low and the high
    of their table rows. The same `seed` gives the same numbers. Raises InputError."""
    build = as_build(build)
    ranking = rank(build, copies=copies, by=by, as_of=as_of, progress=progress)
    tariff, shop = build.tariff(ranking.as_of), build.shop(ranking.as_of)
    return assess(ranking, tariff, shop, budget=build.settings.budget, draws=draws, seed=seed, law=law)


def stale(build: Build, ranking: Ranking) -> tuple[StaleOffer, ...]:
    """Old prices among those that the ranking's best alternatives rest on."""
    drawn = [line.resource for ranked in ranking.parts for e in ranked.estimates for line in e.lines]
    return stale_offers(build, ranking.as_of, drawn)
