"""What is left to do of a part that is begun: the steps that the log has not seen done."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from routecost.builds.rows import LogRow
from routecost.routes.operation import Operation, ProcessPlan


@dataclass(frozen=True)
class Progress:
    """How far a plan has come."""

    rest: ProcessPlan
    """What is left; the plan itself where nothing is done."""
    steps_done: int
    last_done: str
    """Name of the last step that is done; empty where none is."""


def rest_of(plan: ProcessPlan, rows: Sequence[LogRow], done: int = 0) -> Progress:
    """A plan for the copies that are left, without the steps that rows of its part and route tell of.

    Steps follow each other, so those before the last one that is done are done too. A row that says no copies
    is about all of them; copies that failed, and those counted as `done` already, are no progress. Of a step
    that is done for some copies their share is left out.
    """
    shares = [_share_done(i, plan, rows, done) for i in range(len(plan.operations))]
    whole = [i for i, share in enumerate(shares) if share >= 1.0]
    first = whole[-1] + 1 if whole else 0
    left = [
        op.times(1.0 - share) if share else op
        for op, share in zip(plan.operations[first:], shares[first:], strict=True)
    ]
    last = plan.operations[first - 1].name if first else ""
    rest = replace(plan, operations=tuple(left)) if first or any(shares) else plan
    return Progress(rest, first, last)


def _share_done(place: int, plan: ProcessPlan, rows: Sequence[LogRow], done: int) -> float:
    named = [row for row in rows if row.outcome != "failed" and place in _places(plan.operations, row)]
    if any(row.copies is None for row in named):
        return 1.0
    copies = sum(row.copies or 0 for row in named) - (done if named else 0)
    return min(1.0, max(0.0, copies / plan.copies))


def _places(operations: Sequence[Operation], row: LogRow) -> tuple[int, ...]:
    """Steps of the whole name, or of the only name that begins so."""
    wanted = " ".join(row.operation.lower().split())
    names = [op.name.lower() for op in operations]
    if wanted in names:
        return tuple(i for i, name in enumerate(names) if name == wanted)
    begun = {name for name in names if name.startswith(wanted)}
    return tuple(i for i, name in enumerate(names) if name in begun) if len(begun) == 1 else ()
