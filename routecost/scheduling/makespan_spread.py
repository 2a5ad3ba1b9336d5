"""How sure the finish is: the timetable's order of work, with hands-on times and deliveries as they may turn out."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from routecost.core.arrays import Floats
from routecost.costing.tariff import Tariff
from routecost.costing.uncertainty.spread import Law, sample
from routecost.costing.uncertainty.terms import Terms
from routecost.routes.process.operation import OWN_HOUR, Operation, ProcessPlan, Usage
from routecost.scheduling.serial_generation import serial_schedule
from routecost.scheduling.task_network import work_of
from routecost.scheduling.timetable import Timetable
from routecost.scheduling.workdays import TooLong, Workdays
from routecost.shop.shop import Shop

WORLDS = 200
"""The 80th percentile is then known to about three hundredths of the rank; each takes some 10 ms."""


@dataclass(frozen=True, eq=False)
class MakespanSpread:
    """When all is done in sampled worlds."""

    worlds: int
    seed: int
    days: Floats
    """(worlds,): from the midnight before the start; infinite where the work does not end in ten years."""
    start: dt.date

    def at(self, percent: float) -> dt.datetime | None:
        """The moment by which all is done in so many of a hundred worlds."""
        days = float(np.quantile(self.days, percent / 100.0, method="higher"))
        midnight = dt.datetime.combine(self.start, dt.time())
        return midnight + dt.timedelta(days=days) if np.isfinite(days) else None


def makespan_spread(
    plans: Sequence[ProcessPlan],
    planned: Timetable,
    tariff: Tariff,
    shop: Shop,
    *,
    capacity: Mapping[str, int],
    supply_days: Mapping[str, float],
    worlds: int = WORLDS,
    seed: int = 1,
    law: Law = "triangular",
) -> MakespanSpread:
    """The plans done in the order of the timetable, in worlds whose time standards and lead times lie between
    their lows and highs. Machine hours and cures are as planned; deliveries of material too."""
    steps = [(p, o, op) for p, plan in enumerate(plans) for o, op in enumerate(plan.operations)]
    if not steps:
        return MakespanSpread(worlds, seed, np.zeros(worlds), planned.start)
    hands, waits = _sampled_minutes([plans[p] for p, _o, _op in steps], [op for *_, op in steps], tariff, shop,
                                    worlds, seed, law)  # fmt: skip
    workdays = Workdays.of(planned.working, planned.start, planned.step_min)
    order: dict[tuple[int, int, int], dt.datetime] = {}
    for entry in planned.entries:
        key = (entry.plan, entry.place - 1, entry.run)
        order[key] = min(entry.start, order.get(key, entry.start))
    rank = {key: float(i) for i, key in enumerate(sorted(order, key=lambda k: (order[k], k)))}
    days = np.empty(worlds)
    for world in range(worlds):
        anew: list[list[Operation]] = [[] for _ in plans]
        for row, (p, _o, op) in enumerate(steps):
            anew[p].append(_lasting(op, float(hands[row, world]), float(waits[row, world])))
        remade = [replace(plan, operations=tuple(ops)) for plan, ops in zip(plans, anew, strict=True)]
        try:
            network, labels = work_of(
                remade, workdays, planned.step_min, capacity=capacity, supply_days=supply_days
            )
            priorities = [rank.get((label.plan, label.operation, label.run), 0.0) for label in labels]
            days[world] = network.finish(serial_schedule(network, priorities)) / workdays.day_steps
        except TooLong:
            days[world] = np.inf
    return MakespanSpread(worlds, seed, days, planned.start)


def _sampled_minutes(
    plans: Sequence[ProcessPlan],
    operations: Sequence[Operation],
    tariff: Tariff,
    shop: Shop,
    worlds: int,
    seed: int,
    law: Law,
) -> tuple[Floats, Floats]:
    """Hands-on and waiting minutes of each operation, (operations, worlds); every table row is the same
    wherever it counts."""
    # nothing but times: a draw of hours by hand, and one that stands for the wait
    timed = [
        replace(plan, operations=(replace(op, usages=(*_hands(op), *_wait(op)), floor=None),))
        for plan, op in zip(plans, operations, strict=True)
    ]
    terms = Terms.of(timed, tariff, shop)
    values = sample(list(terms.spreads), worlds, seed, law)
    logs = terms.powers @ np.log(values / terms.likely[:, None])
    factors = np.exp(logs)
    is_wait = np.array([_WAITS in facts for _resource, facts in terms.keys], dtype=bool)
    hours = terms.quantities.matrix
    return (
        60.0 * hours @ np.where(is_wait[:, None], 0.0, factors),
        60.0 * hours @ np.where(is_wait[:, None], factors, 0.0),
    )


_WAITS = "waiting"
"""A mark among the facts of a draw that stands for waiting; no table row has such a name."""


def _hands(op: Operation) -> tuple[Usage, ...]:
    return tuple(d for d in op.usages if d.resource == OWN_HOUR)


def _wait(op: Operation) -> tuple[Usage, ...]:
    hours = op.waiting_min / 60.0
    return (Usage(OWN_HOUR, hours, "", (_WAITS, *op.waiting_facts)),) if hours else ()


def _lasting(op: Operation, hands_min: float, waiting_min: float) -> Operation:
    """The same step with other times."""
    planned = op.hands_on_min
    if planned > 0.0:
        share = hands_min / planned
        draws = tuple(d.times(share) if d.resource == OWN_HOUR else d for d in op.usages)
    else:
        draws = op.usages
    return replace(op, usages=draws, waiting_min=waiting_min)
