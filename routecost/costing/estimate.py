"""A plan with prices: lines that add up, and the three views of the same product."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from routecost.core.wording import short_repr
from routecost.costing.quantities import Quantities, top_up
from routecost.costing.tariff import Tariff
from routecost.routes.process.operation import OWN_HOUR, Operation, ProcessPlan, Usage


@dataclass(frozen=True)
class Line:
    """One draw priced. amount = quantity x unit_price."""

    operation: str
    resource: str
    quantity: float
    unit: str
    unit_price: float
    amount: float
    kind: str
    why: str
    facts: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Estimate:
    """One alternative of a route, priced: `full` is the sum of its lines' amounts."""

    plan: ProcessPlan
    lines: tuple[Line, ...]
    full: float
    spend: float
    own_hours: float
    machine_hours: float
    lead_days: float

    def __repr__(self) -> str:
        facts = f"{self.full:.2f} full cost", f"{self.own_hours:.1f} own hours", f"{self.lead_days:.1f} days"
        return short_repr(self, f"{self.plan.part} by {self.route}", *facts)

    @property
    def route(self) -> str:
        return self.plan.route

    @property
    def mass_g(self) -> float:
        return self.plan.mass_g


@dataclass(frozen=True, eq=False)
class Amounts:
    """Every plan of a list in all views, by matrix products; lines are made for those that are asked for."""

    plans: tuple[ProcessPlan, ...]
    quantities: Quantities
    tariff: Tariff
    full: np.ndarray
    spend: np.ndarray
    own_hours: np.ndarray
    lead_days: np.ndarray

    def estimate(self, i: int) -> Estimate:
        """The i-th plan with its lines."""
        plan = self.plans[i]
        lines = lines_of(plan, self.tariff)
        return Estimate(
            plan=plan,
            lines=lines,
            full=float(self.full[i]),
            spend=float(self.spend[i]),
            own_hours=float(self.own_hours[i]),
            machine_hours=sum(op.machine_min for op in plan.operations) / 60.0,
            lead_days=float(self.lead_days[i]),
        )


def price_plans(plans: Sequence[ProcessPlan], tariff: Tariff, hours_a_day: float) -> Amounts:
    """All plans at once: quantities x prices for each view. Raises InputError for missing prices."""
    q = Quantities.of(plans)
    own = np.array([1.0 if r == OWN_HOUR else 0.0 for r in q.resources])
    return Amounts(
        plans=tuple(plans),
        quantities=q,
        tariff=tariff,
        full=q.cost(tariff.vector(q.resources, "full")),
        spend=q.cost(tariff.vector(q.resources, "spend")),
        own_hours=q.matrix @ own,
        lead_days=np.array([plan.lead_days(hours_a_day) for plan in plans]),
    )


def lines_of(plan: ProcessPlan, tariff: Tariff) -> tuple[Line, ...]:
    """The priced draws of a plan, in the order of its operations."""
    return tuple(line for op in plan.operations for line in lines_of_operation(op, tariff))


def lines_of_operation(op: Operation, tariff: Tariff) -> tuple[Line, ...]:
    """The priced draws of an operation; a floor that binds adds its own line at the end."""
    lines = [_line(op, usage, tariff) for usage in op.usages]
    if op.floor is not None:
        price_of = {d.resource: tariff.unit_price(d.resource) for d in (*op.usages, op.floor)}
        extra = top_up(op.usages, op.floor, price_of)
        if extra is not None:
            lines.append(_line(op, extra, tariff))
    return tuple(lines)


def _line(op: Operation, usage: Usage, tariff: Tariff) -> Line:
    price = tariff.unit_price(usage.resource)
    return Line(
        operation=op.name,
        resource=usage.resource,
        quantity=usage.quantity,
        unit=tariff.unit(usage.resource),
        unit_price=price,
        amount=usage.quantity * price,
        kind=tariff.kind(usage.resource),
        why=usage.why,
        facts=usage.facts,
    )
