"""What a bill costs on two days, and why it differs: the difference split exactly among what moved.

First the way that was best before is priced anew, resource by resource; then with the quantities that the
tables of the later day give it; then the step to what is best now. The terms add up to the difference.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from math import isclose
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from routecost.core.arrays import Floats
from routecost.core.errors import InputError
from routecost.core.money import with_currency
from routecost.core.wording import counted, short_repr
from routecost.costing.estimate import Estimate
from routecost.costing.quantities import Quantities
from routecost.costing.ranking import RankedPart
from routecost.costing.tariff import Tariff
from routecost.routes.process.operation import ProcessPlan

if TYPE_CHECKING:
    import pandas as pd

MoneyView = Literal["full", "spend"]
# the same sum by two ways differs by less than this
_ROUNDING = 1e-9


@dataclass(frozen=True)
class PriceShare:
    """What the move of one price did to one part."""

    resource: str
    unit: str
    before: float
    after: float
    """Unit prices on the two days."""
    amount: float


@dataclass(frozen=True, eq=False)
class PartChange:
    """One part on two days: `after - before` = sum of `prices` + `quantities` + `choice`."""

    part: str
    copies: int
    route_before: str
    """Empty where every route was ruled out; the part then counts nothing."""
    way_before: str
    route_after: str
    way_after: str
    before: float
    after: float
    prices: tuple[PriceShare, ...]
    """The largest first."""
    quantities: float
    """What newer rows of the tables did to the quantities of the way that was best before."""
    choice: float
    """What it did that another way is best now."""
    why_choice: str

    @property
    def difference(self) -> float:
        return self.after - self.before

    @property
    def flipped(self) -> bool:
        return self.route_before != self.route_after


@dataclass(frozen=True, eq=False)
class Changes:
    """A build on two days, every part by its best route of the day."""

    parts: tuple[PartChange, ...]
    first: dt.date
    last: dt.date
    currency: str
    by: MoneyView

    def __repr__(self) -> str:
        before, after = (with_currency(x, self.currency) for x in (self.before, self.after))
        parts = counted(len(self.parts), "part")
        return short_repr(self, parts, f"{self.first} to {self.last}", f"{self.by} {before} to {after}")

    @property
    def before(self) -> float:
        return sum(p.before for p in self.parts)

    @property
    def after(self) -> float:
        return sum(p.after for p in self.parts)

    @property
    def flips(self) -> tuple[PartChange, ...]:
        return tuple(p for p in self.parts if p.flipped)

    @property
    def by_resource(self) -> tuple[PriceShare, ...]:
        """What each price did to the whole bill, the largest first."""
        found: dict[str, PriceShare] = {}
        for share in (s for p in self.parts for s in p.prices):
            so_far = found[share.resource].amount if share.resource in found else 0.0
            found[share.resource] = PriceShare(
                share.resource, share.unit, share.before, share.after, so_far + share.amount
            )
        return largest_first(found.values())

    def frame(self) -> pd.DataFrame:
        """One row for each term of each part; amounts add up to after - before.

        Prices are for one `unit` of the resource, in columns such as `price_before_eur`.
        """
        import pandas as pd

        money = self.currency.lower()
        head_columns = ("part", "route_before", "route_after", "term", "resource", "unit")
        columns = [*head_columns, *(f"{x}_{money}" for x in ("price_before", "price_after", "amount"))]
        rows: list[tuple[Any, ...]] = []
        for p in self.parts:
            head = (p.part, p.route_before, p.route_after)
            rows += [(*head, "price", s.resource, s.unit, s.before, s.after, s.amount) for s in p.prices]
            rows.append((*head, "quantities", "", "", None, None, p.quantities))
            rows.append((*head, "choice", "", "", None, None, p.choice))
        return pd.DataFrame(rows, columns=columns)


def largest_first(shares: Iterable[PriceShare]) -> tuple[PriceShare, ...]:
    return tuple(sorted(shares, key=lambda s: (-abs(s.amount), s.resource)))


def price_shares(q: Quantities, before: Floats, after: Floats) -> Floats:
    """The cost difference of each plan between two price vectors, split among the resources: (plans, resources)
    that add up to `q.cost(after) - q.cost(before)` along each row.

    A draw's share is quantity x price difference. What a floor adds is a broken line in the prices; its share
    is its mean slope on the straight way from the old prices to the new, times the price difference (the rule
    of Aumann and Shapley, *Values of Non-Atomic Games*, 1974): for one kink, the part of the way on which the
    floor binds.

    >>> q = Quantities(("volume", "minimum"), np.array([[4.0, 0.0]]), np.array([[4.0, 0.0]]),
    ...                np.array([[0.0, 1.0]]), np.array([0]))
    >>> price_shares(q, np.array([2.0, 20.0]), np.array([7.0, 20.0])).tolist()
    [[8.0, 0.0]]
    """
    moved = after - before
    shares = q.matrix * moved
    if len(q.group_plan):
        above = q.floors - q.groups
        start, end = above @ before, above @ after
        way = end - start
        still = way == 0.0
        gained = np.maximum(end, 0.0) - np.maximum(start, 0.0)
        bound = np.where(still, start > 0.0, gained / np.where(still, 1.0, way))
        np.add.at(shares, q.group_plan, bound[:, None] * above * moved)
    return shares


def part_change(
    before: RankedPart, after: RankedPart, old: Tariff, new: Tariff, by: MoneyView = "full"
) -> PartChange:
    """One part ranked on two days, by full cost or spend."""
    was, now = before.best, after.best
    start, end = _figure(was, by), _figure(now, by)
    prices: tuple[PriceShare, ...] = ()
    quantities, planned = 0.0, start
    if was is None or now is None:
        why = (
            ""
            if was is now
            else "no route could make it before"
            if was is None
            else "every route is ruled out"
        )
    else:
        same_way = _same_way(before, was, after)
        why = _why(was, now, same_way)
        q = Quantities.of([was.plan])
        try:
            new_prices = new.vector(q.resources, by)
        except InputError as error:
            why = "; ".join(fault.what for fault in error.faults)
        else:
            prices = _moved(q, old.vector(q.resources, by), new_prices, new)
            repriced = float(q.cost(new_prices)[0])
            planned = repriced if same_way is None else _figure(same_way, by)
            if not isclose(planned, repriced, rel_tol=_ROUNDING, abs_tol=_ROUNDING):
                quantities = planned - repriced
    return PartChange(
        part=after.part.id,
        copies=after.part.copies,
        route_before=was.route if was else "",
        way_before=was.plan.alternative if was else "",
        route_after=now.route if now else "",
        way_after=now.plan.alternative if now else "",
        before=start,
        after=end,
        prices=prices,
        quantities=quantities,
        choice=end - planned,
        why_choice=why,
    )


def _moved(q: Quantities, before: Floats, after: Floats, tariff: Tariff) -> tuple[PriceShare, ...]:
    """The shares of one plan whose prices have moved."""
    shares = price_shares(q, before, after)[0]
    return largest_first(
        PriceShare(r, tariff.unit(r), float(before[i]), float(after[i]), float(shares[i]))
        for i, r in enumerate(q.resources)
        if before[i] != after[i]
    )


def _figure(e: Estimate | None, by: MoneyView) -> float:
    return 0.0 if e is None else e.full if by == "full" else e.spend


def _same_way(before: RankedPart, was: Estimate, after: RankedPart) -> Estimate | None:
    """The same way on the later day; None where it is not offered any more. Of ways that are called alike,
    such as two poses of one mold, the one that stands at the same place among them."""

    def name(plan: ProcessPlan) -> tuple[object, ...]:
        return (plan.route, plan.alternative, plan.chosen)

    alike = [plan for plan in before.amounts.plans if name(plan) == name(was.plan)]
    place = next(i for i, plan in enumerate(alike) if plan is was.plan)
    rows = [i for i, plan in enumerate(after.amounts.plans) if name(plan) == name(was.plan)]
    return after.amounts.estimate(rows[place]) if place < len(rows) else None


def _why(was: Estimate, now: Estimate, same_way: Estimate | None) -> str:
    if was.route != now.route:
        return "another route is best"
    if same_way is None:
        return "the way chosen before is not offered any more"
    return "" if same_way.plan is now.plan else "another way inside the route is best"
