"""The lines of a timetable: sittings, runs of machines and waits, with dates and times."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from routecost.routes.process.operation import ProcessPlan
from routecost.scheduling.task_network import Label
from routecost.scheduling.tasks import TaskNetwork

HANDS = "hands"
Phase = Literal["hands", "machine", "waiting"]


@dataclass(frozen=True)
class Entry:
    """Times are local. Sittings of an operation that follow each other without a break are one entry."""

    plan: int
    """Place of the plan in the list, from 0."""
    part: str
    route: str
    place: int
    """Of the operation in its plan, from 1."""
    operation: str
    run: int
    runs: int
    phase: Phase
    resource: str
    """`hands`, the machine if it has a name, or nothing for a wait."""
    unit: int
    """Which one of several such machines, from 1."""
    start: dt.datetime
    end: dt.datetime
    is_critical: bool
    note: str

    @property
    def minutes(self) -> float:
        return (self.end - self.start).total_seconds() / 60.0


def entries_of(
    plans: Sequence[ProcessPlan],
    network: TaskNetwork,
    labels: Sequence[Label],
    starts: Sequence[int],
    critical: Mapping[int, int],
    moment: Callable[[int], dt.datetime],
) -> tuple[Entry, ...]:
    """By start. `critical` says until when a task is on the critical chain, `moment` what a step is by the clock."""
    units = _units(network, starts)
    found: list[Entry] = []
    open_sitting: dict[Label, int] = {}
    for i, (task, start, label) in enumerate(zip(network.tasks, starts, labels, strict=True)):
        plan = plans[label.plan]
        operation = plan.operations[label.operation]
        free = start + max(task.hands, task.held)
        phases: tuple[tuple[Phase, str, int, int], ...] = (
            ("hands", HANDS, start, start + task.hands),
            ("machine", operation.machine, start + task.hands, start + task.held),
            ("waiting", "", free, start + task.span),
        )
        for phase, resource, begins, ends in phases:
            if begins >= ends:
                continue
            entry = Entry(
                plan=label.plan,
                part=plan.part,
                route=plan.route,
                place=label.operation + 1,
                operation=operation.name,
                run=label.run,
                runs=label.runs,
                phase=phase,
                resource=resource,
                unit=units.get(i, 1) if phase == "machine" else 1,
                start=moment(begins),
                end=moment(ends),
                is_critical=critical.get(i, -1) > begins,
                note=operation.note,
            )
            before = open_sitting.get(label)
            if phase == "hands" and before is not None and found[before].end == entry.start:
                either = found[before].is_critical or entry.is_critical
                found[before] = replace(found[before], end=entry.end, is_critical=either)
                continue
            if phase == "hands":
                open_sitting[label] = len(found)
            found.append(entry)
    return tuple(sorted(found, key=lambda e: (e.start, e.end, e.plan, e.place, e.run)))


def _units(network: TaskNetwork, starts: Sequence[int]) -> dict[int, int]:
    """Which of several machines of a kind each task runs on: the first that is free, in order of start."""
    free: dict[str, list[int]] = {name: [0] * count for name, count in network.capacity.items() if count > 1}
    found: dict[int, int] = {}
    for i in sorted(range(len(network.tasks)), key=lambda i: (starts[i], i)):
        task = network.tasks[i]
        if task.machine in free:
            units = free[task.machine]
            unit = next(u for u, until in enumerate(units) if until <= starts[i])
            units[unit] = starts[i] + task.held
            found[i] = unit + 1
    return found
