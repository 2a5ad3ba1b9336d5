"""When everything is made: process plans on a calendar of own hours, printers, pots, curing and deliveries."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Literal

from routecost.builds.working_time import WorkingTime
from routecost.buying.purchases import BuyLine
from routecost.core.errors import InputError
from routecost.routes.process.operation import ProcessPlan
from routecost.scheduling.critical_path import Cause, critical_path
from routecost.scheduling.day_loads import DayLoad, loads_of
from routecost.scheduling.sequence import sequence
from routecost.scheduling.task_network import Label, work_of
from routecost.scheduling.timetable_entries import Entry, entries_of
from routecost.scheduling.workdays import HORIZON_DAYS, TooLong, Workdays

STEP_MIN = 5
"""As fine as a person reads a clock. Times are rounded up to it, which adds 2 to 3 min to each operation: about
what it takes to lay one thing down and find the next."""


@dataclass(frozen=True)
class CriticalStep:
    """An operation on the chain that decides the finish, and what it waited for."""

    part: str
    operation: str
    start: dt.datetime
    until: dt.datetime
    """When it let the next one go."""
    cause: Cause


@dataclass(frozen=True)
class Timetable:
    """Every entry with its times, and what no order of the same work could undercut."""

    start: dt.date
    working: WorkingTime
    step_min: int
    entries: tuple[Entry, ...]
    """By start."""
    finish: dt.datetime
    bound: dt.datetime
    """Nothing can finish before it, on a grid of `step_min`."""
    status: Literal["optimal", "feasible"]
    method: Literal["constraint program", "priority rule"]
    """What found it. The priority rule is `latest start first`, with trials of other orders."""
    chain: tuple[CriticalStep, ...]
    days: tuple[DayLoad, ...]

    @property
    def ends(self) -> dict[str, dt.datetime]:
        """When the last operation of each part is over, cured and delivered; by part id."""
        found: dict[str, dt.datetime] = {}
        for entry in self.entries:
            found[entry.part] = max(entry.end, found.get(entry.part, entry.end))
        return found

    @property
    def gap_days(self) -> float:
        """What a better order could save at most."""
        return (self.finish - self.bound).total_seconds() / 86400.0


def schedule(
    plans: Sequence[ProcessPlan],
    *,
    start: dt.date,
    working: WorkingTime,
    capacity: Mapping[str, int] | None = None,
    supply_days: Mapping[str, float] | None = None,
    due: Mapping[str, dt.date] | None = None,
    effort_s: float = 10.0,
    step_min: int = STEP_MIN,
) -> Timetable:
    """Put plans on a timetable that ends as soon as can be found. The same input gives the same timetable.

    Hands are one person, who works in the windows of `working`. The machine of an operation starts when its
    hands are done, and runs through the night; its waiting follows, and needs nobody. There is one of each
    machine, or as many as `capacity` says; molds belong to their part. `supply_days` says, by resource, when
    what must be bought arrives, counted from the first window. `due` says by part id on which day it is needed:
    being late with as little as possible goes before ending soon. `effort_s` limits the search for a better
    order, in about seconds. Raises InputError.
    """
    for name, count in (capacity or {}).items():
        if count < 1:
            raise InputError.of("timetable", f"machine {name}", f"there are {count}", "write 1 or more")
    try:
        workdays = Workdays.of(working, start, step_min)
        network, labels = work_of(
            plans,
            workdays,
            step_min,
            capacity=capacity or {},
            supply_days=supply_days or {},
        )
        network = replace(network, due=_due_steps(plans, labels, due or {}, start, workdays))
        found = sequence(network, effort_s)
        if found.finish > HORIZON_DAYS * workdays.day_steps:
            raise TooLong
    except TooLong:
        what = f"the work does not end within ten years of {start}"
        mend = "allow more hours_a_day or fewer days_off, or make fewer copies"
        raise InputError.of("timetable", "", what, mend) from None

    midnight = dt.datetime.combine(start, dt.time())

    def moment(step: int) -> dt.datetime:
        return midnight + dt.timedelta(minutes=step * step_min)

    links = critical_path(network, found.starts)
    chain = []
    for label, same in groupby(links, key=lambda link: labels[link.task]):
        first, *others = same
        plan, task = plans[label.plan], network.tasks[first.task]
        op = plan.operations[label.operation]
        # of a cycle what is left of the waiting comes after other steps: it would read as if begun again
        is_left = bool(op.cycle) and not task.hands and not task.held
        chain.append(
            CriticalStep(
                part=plan.part,
                operation=op.name + (": wait" if is_left else ""),
                start=moment(found.starts[first.task]),
                until=moment((others or [first])[-1].until),
                cause=first.cause,
            )
        )
    critical = {link.task: link.until for link in links}
    entries = entries_of(plans, network, labels, found.starts, critical, moment)
    return Timetable(
        start=start,
        working=working,
        step_min=step_min,
        entries=entries,
        finish=moment(found.finish),
        bound=moment(found.bound),
        status="optimal" if found.is_optimal else "feasible",
        method="constraint program" if found.searched else "priority rule",
        chain=tuple(chain),
        days=loads_of(entries, working, start, moment(found.finish)),
    )


def _due_steps(
    plans: Sequence[ProcessPlan],
    labels: Sequence[Label],
    due: Mapping[str, dt.date],
    start: dt.date,
    workdays: Workdays,
) -> dict[int, int]:
    """Of each part's last task, the step at which the day ends on which the part is needed."""
    last = {label.plan: i for i, label in enumerate(labels)}
    return {
        i: ((due[plans[p].part] - start).days + 1) * workdays.day_steps
        for p, i in last.items()
        if plans[p].part in due
    }


DELIVERED = ("material", "consumable", "tool")
"""Kinds that must be there before work with them begins. What is bought as a part waits in its own operation,
and a service waits in its own, too."""


def deliveries(lines: Sequence[BuyLine], lead_days: float) -> dict[str, float]:
    """`supply_days` for what a buy list buys: `lead_days` each, nothing for what is in stock."""
    return {line.resource: lead_days for line in lines if line.kind in DELIVERED and line.packs}
