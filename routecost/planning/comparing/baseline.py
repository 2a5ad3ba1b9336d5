"""The baseline, each part's own best option, beside the plan: what joint optimization saves, by resource."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from routecost.buying.options import Option, Workshop
from routecost.buying.purchases import BuyLine
from routecost.buying.service_orders import least_order
from routecost.buying.totals import Totals, totals
from routecost.core.arrays import Floats
from routecost.costing.estimate import price_plans
from routecost.costing.ranking import in_order
from routecost.planning.choosing.limits import LimitName, Limits, Objective
from routecost.planning.choosing.problem import Problem


@dataclass(frozen=True, eq=False)
class Difference:
    """A resource whose purchase differs between plan and baseline."""

    resource: str
    plan: BuyLine | None
    each: BuyLine | None

    @property
    def saves(self) -> float:
        return (self.each.amount if self.each else 0.0) - (self.plan.amount if self.plan else 0.0)

    @property
    def text(self) -> str:
        """The difference in words."""
        if self.plan is None or self.plan.amount == 0.0:
            assert self.each is not None
            return f"no {self.resource}, which {_for(self.each)} would need"
        if self.each is None or self.each.amount == 0.0:
            return f"{bought(self.plan)} {_serves(self.plan)}"
        instead = f"instead of {bought(self.each, short=True)} for {_for(self.each)}"
        return f"{bought(self.plan)} {_serves(self.plan)}, {instead}"


@dataclass(frozen=True, eq=False)
class Baseline:
    """Each part by its own best option, bought together, beside the plan."""

    totals: Totals
    outlay: float
    """What the plan saves; negative: costs more."""
    full: float
    own_hours: float
    differences: tuple[Difference, ...]
    """The largest first; their savings add up to that of the outlay."""
    breaks: tuple[LimitName, ...]
    """Limits that the baseline exceeds."""
    switched: tuple[tuple[Option, Option], ...]
    """Parts with another option: in the baseline, and in the plan."""


def baseline_of(everything: Problem, plan: Totals, objective: Objective, limits: Limits) -> Baseline:
    """The plan beside what `rank_part` chooses for each part at pro-rata prices, bought together.

    `everything` holds all options that are allowed.
    """
    in_time = limits.in_time(everything)
    each = totals(each_best(in_time, objective), everything.shop)
    by_plan = {line.resource: line for line in plan.buy}
    by_each = {line.resource: line for line in each.buy}
    differences = [Difference(r, by_plan.get(r), by_each.get(r)) for r in dict.fromkeys((*by_plan, *by_each))]
    different = [d for d in differences if abs(d.saves) > 1e-9]
    return Baseline(
        totals=each,
        outlay=each.outlay - plan.outlay,
        full=each.full - plan.full,
        own_hours=each.own_hours - plan.own_hours,
        differences=tuple(sorted(different, key=lambda d: (-abs(d.saves), d.resource))),
        breaks=exceeded_limits(each, limits),
        switched=tuple(
            (a, b) for a, b in zip(each.options, plan.options, strict=True) if a.plan is not b.plan
        ),
    )


def each_best(problem: Problem, objective: Objective) -> tuple[Option, ...]:
    """Each part's own best option, in the order of `rank_part`."""
    return tuple(next(iter(best_of_routes(problem, part, objective).values())) for part in problem.parts)


def best_of_routes(problem: Problem, part: str, objective: Objective) -> dict[str, Option]:
    """The best option of each route of a part at pro-rata prices, the best route first."""
    shop = problem.shop
    options = [o for o in problem.options if o.part == part]
    plans = [o.plan for o in options]
    amounts = price_plans(plans, shop.tariff, shop.hours_a_day)
    figure: Floats = {
        "outlay": amounts.spend,
        "full": amounts.full,
        "own-time": amounts.own_hours,
        "hour-worth": amounts.spend + objective.hour_worth * amounts.own_hours,
    }[objective.name]
    return {route: options[ids[0]] for route, ids in in_order(plans, figure, amounts.full).items()}


def exceeded_limits(found: Totals, limits: Limits) -> tuple[LimitName, ...]:
    """The limits that a plan exceeds."""
    late = any(o.lead_days > limits.needed_by.get(o.part, o.lead_days) * (1.0 + 1e-9) for o in found.options)
    over: dict[LimitName, bool] = {
        "budget": limits.budget is not None and found.outlay > limits.budget + 1e-9,
        "own-hours": _over(found.own_hours, limits.own_hours),
        "printer-hours": _over(found.printer_hours, limits.printer_hours),
        "days": _over(found.lead_days, limits.days),
        "needed-by": late,
    }
    return tuple(name for name, is_over in over.items() if is_over)


def _over(value: float, most: float | None) -> bool:
    # the solver keeps a limit to about a millionth
    return most is not None and value > most * (1.0 + 1e-6) + 1e-6


def shared_purchases(plan: Totals, shop: Workshop) -> tuple[BuyLine, ...]:
    """Packs, tools and orders that several parts share, those that serve most parts first."""
    services = {least_order(s) for s in plan.orders} | {
        r for o in plan.options for takes in o.orders.values() for r in takes
    }
    shared = [line for line in plan.buy if len(line.parts) > 1 and (line.packs or line.resource in services)]
    return tuple(sorted(shared, key=lambda line: (-len(line.parts), -line.amount, line.resource)))


def bought(line: BuyLine, *, short: bool = False) -> str:
    """A purchase in words."""
    if not line.packs:
        return f"{line.need - line.from_stock:.3g} {line.unit}" + ("" if short else f" of {line.resource}")
    packs = " and ".join(f"{b.packs} x {b.offer.pack}" for b in line.packs)
    return packs if short else f"{packs} of {line.resource}"


def _serves(line: BuyLine) -> str:
    n = len(line.parts)
    what = line.parts[0] if n == 1 else f"{n} parts ({_named(line.parts)})"
    return f"{'serves' if sum(b.packs for b in line.packs) <= 1 else 'serve'} {what}"


def _for(line: BuyLine) -> str:
    return line.parts[0] if len(line.parts) == 1 else f"{len(line.parts)} parts"


_NAMED = 6


def _named(parts: Sequence[str]) -> str:
    more = f" and {len(parts) - _NAMED} more" if len(parts) > _NAMED else ""
    return ", ".join(parts[:_NAMED]) + more
