"""Plans as a matrix of quantities. Cost = quantities x prices, plus what explicit floors add; nothing else.

Repricing is one product; a sampled price matrix gives all samples at once; a view (spend, own time, full
cost) is the same product with the prices that the view leaves out set to zero.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from routecost.core.arrays import Floats
from routecost.routes.process.operation import Operation, ProcessPlan, Usage


@dataclass(frozen=True, eq=False)
class Quantities:
    """Process plans as rows over resources as columns; each charge group as a row of its own."""

    resources: tuple[str, ...]
    matrix: Floats
    """(plans, resources): all draws, in each resource's own unit."""
    groups: Floats
    """(groups, resources): the draws of one charge group."""
    floors: Floats
    """(groups, resources): what the group costs at the least, as an amount of a resource."""
    group_plan: NDArray[np.int64]
    """(groups,): the plan that each group belongs to."""

    @classmethod
    def of(cls, plans: Sequence[ProcessPlan]) -> Quantities:
        """The matrix of some plans.

        >>> from routecost.routes.process.operation import Operation, Verdict
        >>> part_fee = Operation("order", (Usage("volume", 4, "4 cm³"),), floor=Usage("minimum", 1, "one part"))
        >>> q = Quantities.of([ProcessPlan("sla", "lid", 1, "", (part_fee,), Verdict(), 5.0)])
        >>> [float(q.cost(np.array([p, 20.0]))[0]) for p in (2.0, 7.0)]
        [20.0, 28.0]
        """
        index: dict[str, int] = {}
        drawn: dict[int, _UsageRow] = {}  # by identity: alternatives share steps
        of_plan = [[_drawn(op, drawn, index) for op in plan.operations] for plan in plans]
        floored = [(i, op) for i, plan in enumerate(plans) for op in plan.operations if op.floor]
        floors = [[((index[op.floor.resource],), (op.floor.quantity,))] for _i, op in floored if op.floor]
        return cls(
            resources=tuple(index),
            matrix=_summed(of_plan, len(index)),
            groups=_summed([[drawn[id(op)]] for _i, op in floored], len(index)),
            floors=_summed(floors, len(index)),
            group_plan=np.array([i for i, _op in floored], dtype=np.int64),
        )

    def cost(self, prices: Floats) -> Floats:
        """Amounts of all plans: (plans,) for prices (resources,), (plans, n) for prices (resources, n)."""
        amounts: Floats = self.matrix @ prices
        if len(self.group_plan):
            top_ups = np.maximum(0.0, self.floors @ prices - self.groups @ prices)
            order = np.argsort(self.group_plan, kind="stable")
            plans, first = np.unique(self.group_plan[order], return_index=True)
            amounts[plans] += np.add.reduceat(top_ups[order], first, axis=0)
        return amounts


_UsageRow = tuple[Sequence[int], Sequence[float]]
"""What a step draws: columns, and how much of each."""


def _drawn(op: Operation, known: dict[int, _UsageRow], index: dict[str, int]) -> _UsageRow:
    """The draws of a step; resources that it is the first to name are numbered."""
    if id(op) not in known:
        columns = [index.setdefault(usage.resource, len(index)) for usage in op.usages]
        if op.floor:
            index.setdefault(op.floor.resource, len(index))
        known[id(op)] = columns, [usage.quantity for usage in op.usages]
    return known[id(op)]


def _summed(rows: Sequence[Sequence[_UsageRow]], width: int) -> Floats:
    """(rows, width): what each row draws of each column, added up in order."""
    columns = np.array([c for row in rows for columns, _ in row for c in columns], dtype=np.int64)
    amounts = np.array([a for row in rows for _, amounts in row for a in amounts], dtype=np.float64)
    counts = [sum(len(columns) for columns, _ in row) for row in rows]
    cells = np.repeat(np.arange(len(rows)) * width, counts) + columns
    sums = np.zeros(len(rows) * width)
    np.add.at(sums, cells, amounts)
    return sums.reshape(len(rows), width)


def top_up(usages: Sequence[Usage], floor: Usage, price_of: dict[str, float]) -> Usage | None:
    """What a charge group draws beyond its draws to reach its floor, as an amount of the floor's resource."""
    price = price_of[floor.resource]
    missing = floor.quantity * price - sum(d.quantity * price_of[d.resource] for d in usages)
    if missing <= 0.0:
        return None
    return Usage(floor.resource, missing / price, f"up to the minimum: {floor.why}", floor.facts)
