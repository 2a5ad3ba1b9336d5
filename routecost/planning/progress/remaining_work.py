"""The remaining work of a part in progress: steps, and shares of steps, that the log does not record as done."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace

from routecost.builds.build_tables import LogRow
from routecost.routes.process.operation import Operation, ProcessPlan

_DAY_MIN = 24 * 60.0


@dataclass(frozen=True)
class RemainingWork:
    """What is left of a plan, and how much is done."""

    rest: ProcessPlan
    """The remaining steps; the plan itself where nothing is done."""
    steps_done: int
    last_done: str
    """Name of the last completed step; empty where none is."""


def remaining_work(plan: ProcessPlan, rows: Sequence[LogRow], start: dt.date, done: int = 0) -> RemainingWork:
    """A plan for the copies that are left, without the work recorded by rows of its part and route.

    A row without copies covers all of them; failed copies, and those already counted as `done`, are no progress.
    Copies that passed a later step passed the earlier ones too; a step that is done once is then complete. Of a cure or
    a delivery in progress the time before `start` is subtracted, and what has been ordered is paid.
    """
    own = [_share_done(i, plan, rows, done) for i in range(len(plan.operations))]
    if not any(own) and not done:
        return RemainingWork(plan, 0, "")
    shares: list[float] = []
    later = 0.0
    for op, share in zip(reversed(plan.operations), reversed(own), strict=True):
        # copies that are done leave the master and the mold
        stays = op.once and (later > 0.0 or done > 0)
        shares.insert(0, 1.0 if stays else max(share, later))
        later = max(later, share)
    whole = [i for i, share in enumerate(shares) if share >= 1.0]
    last = max((i for i in whole if own[i] >= 1.0), default=-1)
    left: list[Operation] = []
    for i, (op, share) in enumerate(zip(plan.operations, shares, strict=True)):
        elapsed_days = _days_since(last, plan, rows, start)
        if (i == last and op.waiting_min > elapsed_days * _DAY_MIN) or (
            share < 1.0 and i == last + 1 and last >= 0 and op.waiting_facts and not op.hands_on_min
        ):
            left.append(_remaining_wait(op, elapsed_days))
        elif share < 1.0:
            left.append(op.times(1.0 - share) if share else op)
    rest = replace(plan, operations=tuple(left)) if any(shares) else plan
    return RemainingWork(rest, len(whole), plan.operations[last].name if last >= 0 else "")


def _remaining_wait(op: Operation, days: float) -> Operation:
    """The rest of a wait that started `days` ago."""
    waiting = max(0.0, op.waiting_min - days * _DAY_MIN)
    return replace(
        op, usages=(), machine="", machine_min=0.0, runs=1, floor=None, shared_floor=None, waiting_min=waiting
    )


def _days_since(place: int, plan: ProcessPlan, rows: Sequence[LogRow], start: dt.date) -> float:
    """Whole days between the last record of a step and the start."""
    if place < 0:
        return 0.0
    dates = [row.date for row in rows if place in _places(plan.operations, row)]
    return float(max(0, (start - max(dates, default=start)).days))


def _share_done(place: int, plan: ProcessPlan, rows: Sequence[LogRow], done: int) -> float:
    named = [row for row in rows if row.outcome != "failed" and place in _places(plan.operations, row)]
    if any(row.copies is None for row in named):
        return 1.0
    copies = sum(row.copies or 0 for row in named) - (done if named else 0)
    return min(1.0, max(0.0, copies / plan.copies))


def _places(operations: Sequence[Operation], row: LogRow) -> tuple[int, ...]:
    """Steps with this name, or with the only name of which it is a prefix."""
    wanted = " ".join(row.operation.lower().split())
    names = [op.name.lower() for op in operations]
    if wanted in names:
        return tuple(i for i, name in enumerate(names) if name == wanted)
    matches = {name for name in names if name.startswith(wanted)}
    return tuple(i for i, name in enumerate(names) if name in matches) if len(matches) == 1 else ()
