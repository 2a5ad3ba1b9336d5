"""Which way to make each part: the best alternative of every route, and the routes in order."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from routecost.core.arrays import Floats
from routecost.core.money import with_currency
from routecost.core.wording import counted, short_repr
from routecost.costing.estimate import Amounts, Estimate, price_plans
from routecost.costing.tariff import Tariff
from routecost.costing.views import By
from routecost.routes.process.operation import ProcessPlan, Route
from routecost.routes.process.part import Part
from routecost.shop.shop import Shop

if TYPE_CHECKING:
    import pandas as pd

_RULED_OUT = 1000
"""More than any plan has changes."""


@dataclass(frozen=True, eq=False)
class RankedPart:
    """One part: the best alternative of every route, best route first, ruled-out routes last."""

    part: Part
    estimates: tuple[Estimate, ...]
    amounts: Amounts
    order: dict[str, tuple[int, ...]]
    """Row numbers in `amounts` by route, the best alternative first."""

    def __repr__(self) -> str:
        best = f"best by {self.best.route}" if self.best else "every route ruled out"
        return short_repr(self, self.part.id, counted(len(self.estimates), "route"), best)

    @property
    def best(self) -> Estimate | None:
        """The first route that is not ruled out."""
        first = self.estimates[0] if self.estimates else None
        return first if first is not None and first.plan.verdict.level != "ruled out" else None

    def of_route(self, route: str) -> Estimate | None:
        return next((e for e in self.estimates if e.route == route), None)

    def alternatives(self, route: str) -> tuple[Estimate, ...]:
        """Every alternative of a route, the best first."""
        return tuple(self.amounts.estimate(i) for i in self.order.get(route, ()))


@dataclass(frozen=True, eq=False)
class Ranking:
    """The whole bill, each part by itself."""

    parts: tuple[RankedPart, ...]
    currency: str
    as_of: dt.date
    by: By
    copies: int | None = None
    """Copies of every part where the user asked for a number, else None."""

    def __repr__(self) -> str:
        full = f"{with_currency(self.full, self.currency)} full cost"
        return short_repr(self, counted(len(self.parts), "part"), str(self.as_of), full)

    @property
    def chosen(self) -> tuple[Estimate, ...]:
        return tuple(ranked.best for ranked in self.parts if ranked.best is not None)

    @property
    def full(self) -> float:
        return sum(e.full for e in self.chosen)

    @property
    def spend(self) -> float:
        return sum(e.spend for e in self.chosen)

    @property
    def own_hours(self) -> float:
        return sum(e.own_hours for e in self.chosen)

    def frame(self) -> pd.DataFrame:
        """One row for each part and route, in order; full cost and spend in columns such as `full_eur`."""
        import pandas as pd

        money = self.currency.lower()
        rows = [
            {
                "part": ranked.part.id,
                "description": ranked.part.description,
                "copies": ranked.part.copies,
                "place": place,
                "route": e.route,
                "alternative": e.plan.alternative,
                "verdict": e.plan.verdict.level,
                "reasons": "; ".join(e.plan.verdict.texts),
                f"full_{money}": e.full,
                f"spend_{money}": e.spend,
                "own_hours": e.own_hours,
                "machine_hours": e.machine_hours,
                "lead_days": e.lead_days,
                "mass_g": e.mass_g,
            }
            for ranked in self.parts
            for place, e in enumerate(ranked.estimates, start=1)
        ]
        return pd.DataFrame(rows)


def plans_of(part: Part, shop: Shop, routes: Iterable[Route]) -> list[ProcessPlan]:
    """Every alternative of every route that the part allows."""
    return [
        plan
        for route in routes
        if not part.routes or route.id in part.routes
        for plan in route.plans(part, shop)
    ]


def rank_part(
    part: Part, plans: Sequence[ProcessPlan], tariff: Tariff, hours_a_day: float, by: By
) -> RankedPart:
    """Order the routes of one part.

    Inside a route an alternative that suits as designed goes before one that needs changes, and one that
    needs fewer before one that needs more; then the lower figure wins. Between routes the lower figure wins,
    whether or not it needs its stated changes; ruled-out routes come last.
    """
    amounts = price_plans(plans, tariff, hours_a_day)
    order = in_order(plans, figures(amounts, by), amounts.full)
    return RankedPart(
        part=part,
        estimates=tuple(amounts.estimate(ids[0]) for ids in order.values()),
        amounts=amounts,
        order=order,
    )


def in_order(plans: Sequence[ProcessPlan], figure: Floats, full: Floats) -> dict[str, tuple[int, ...]]:
    """Row numbers by route, in the order that `rank_part` states, for any figures of the plans.

    Routes are in order from the best, and so are the alternatives of each; between equals the lower full cost, then
    the plan that came first.
    """
    levels = [_changes_needed(plan) for plan in plans]
    of_route: dict[str, list[int]] = {}
    for i in sorted(range(len(plans)), key=lambda i: (levels[i], figure[i], full[i], i)):
        of_route.setdefault(plans[i].route, []).append(i)
    first = sorted(
        (ids[0] for ids in of_route.values()),
        key=lambda i: (levels[i] == _RULED_OUT, figure[i], levels[i], full[i], i),
    )
    return {plans[i].route: tuple(of_route[plans[i].route]) for i in first}


def contenders(plans: Sequence[ProcessPlan]) -> tuple[int, ...]:
    """Row numbers of the plans that come first at some figures: of every route that is not ruled out, the
    alternatives of its best verdict with the fewest changes. The best plan of a part is the one among them with
    the lowest figure, because verdicts do not move with prices.
    """
    best: dict[str, int] = {}
    levels = [_changes_needed(plan) for plan in plans]
    for plan, level in zip(plans, levels, strict=True):
        best[plan.route] = min(level, best.get(plan.route, level))
    return tuple(i for i, plan in enumerate(plans) if levels[i] == best[plan.route] < _RULED_OUT)


def _changes_needed(plan: ProcessPlan) -> int:
    """0 for one that suits, else how many changes it needs."""
    if plan.verdict.level == "ruled out":
        return _RULED_OUT
    return sum(reason.level == "changes" for reason in plan.verdict.reasons)


def figures(amounts: Amounts, by: By) -> Floats:
    """The figure of every plan that routes are ranked by."""
    return {
        "full": amounts.full,
        "spend": amounts.spend,
        "own-time": amounts.own_hours,
        "lead-time": amounts.lead_days,
    }[by]
