"""The tasks that process plans consist of: sittings, runs of a machine, waiting."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from routecost.planning.tasks import Job, Task
from routecost.planning.workdays import HORIZON_DAYS, TooLong, Workdays
from routecost.routes.operation import Operation, ProcessPlan

OWN_TO_EACH_PART = frozenset({"mold", "mold box"})
"""A mold is for one part; it ties that part's operations up, which follow each other anyway."""

SITTING_MIN = 30
"""Hands-on work that takes longer may be laid down and taken up again after sittings of about equal length,
none longer than this. What may not be left half done is shorter: a batch must be poured within its pot life.
It does not hang on the hours a day, so that more hours never take a timetable away."""


@dataclass(frozen=True)
class Label:
    """What a task is."""

    plan: int
    """Place of its plan among the plans."""
    operation: int
    """Place of its operation in the plan."""
    run: int
    """From 1."""
    runs: int


def work_of(
    plans: Sequence[ProcessPlan],
    workdays: Workdays,
    step_min: int,
    *,
    capacity: Mapping[str, int],
    supply_days: Mapping[str, float],
) -> tuple[Job, tuple[Label, ...]]:
    """All operations as tasks: those of a plan one after the other, times rounded up to whole steps.

    `capacity` is how many there are of a machine, 1 if it says nothing. `supply_days` says of resources that
    must be bought when they are delivered, counted from when hands first can order them; the first operation
    that draws one waits for it. Raises TooLong for more than the windows can hold.
    """
    _refuse_endless(plans, workdays, step_min)
    sitting = min(max(1, SITTING_MIN // step_min), workdays.window)
    tasks: list[Task] = []
    labels: list[Label] = []
    for p, plan in enumerate(plans):
        after: tuple[int, ...] = ()
        not_before = 0
        for o, op in enumerate(plan.operations):
            days = max((supply_days.get(draw.resource, 0.0) for draw in op.draws), default=0.0)
            if days > 0.0:
                not_before = max(not_before, workdays.openings[0] + math.ceil(days * workdays.day_steps))
            is_own = not op.machine or (op.machine in OWN_TO_EACH_PART and op.machine not in capacity)
            runs = _runs(op, step_min)
            for run, (hands, running, waiting) in enumerate(runs, start=1):
                if not hands and not running and not waiting:
                    continue
                sittings = _shared(hands, max(1, math.ceil(hands / sitting)))
                for piece, length in enumerate(sittings):
                    is_last = piece == len(sittings) - 1
                    held = length + running if is_last and running else 0
                    span = max(length, held) + (waiting if is_last else 0)
                    machine = op.machine if held and not is_own else ""
                    tasks.append(Task(span, length, machine, held, after, not_before, resumes=piece > 0))
                    labels.append(Label(p, o, run, len(runs)))
                    after = (len(tasks) - 1,)
    how_many = {task.machine: capacity.get(task.machine, 1) for task in tasks if task.machine}
    return Job(tuple(tasks), workdays, how_many), tuple(labels)


def _steps(minutes: float, step_min: int) -> int:
    """Rounded up, but for what is a hair above a whole number because it came out of a product."""
    return math.ceil(minutes / step_min - 1e-9)


def _runs(op: Operation, step_min: int) -> list[tuple[int, int, int]]:
    """Steps of hands, machine and waiting of each run. Every run of work by hand takes a step of it."""
    n = op.runs if op.machine_min > 0.0 or op.waiting_min > 0.0 else 1
    hands = max(_steps(op.hands_on_min, step_min), n) if op.hands_on_min > 0.0 else 0
    waiting = _steps(op.waiting_min, step_min)
    # what comes out of a machine waits beside the next run
    waits = [0] * (n - 1) + [waiting] if op.machine_min > 0.0 else _shared(waiting, n)
    return list(zip(_shared(hands, n), _shared(_steps(op.machine_min, step_min), n), waits, strict=True))


def _shared(steps: int, n: int) -> list[int]:
    """In `n` about equal parts that add up.

    >>> _shared(13, 3), _shared(2, 3)
    ([4, 4, 5], [0, 1, 1])
    """
    return [steps * (i + 1) // n - steps * i // n for i in range(n)]


def _refuse_endless(plans: Sequence[ProcessPlan], workdays: Workdays, step_min: int) -> None:
    """Before anything is laid out in sittings: copies by the thousand would take hours to do so."""
    hands_min = sum(op.hands_on_min for plan in plans for op in plan.operations)
    longest_min = max((op.machine_min + op.waiting_min for p in plans for op in p.operations), default=0.0)
    if hands_min > len(workdays.days) * workdays.window * step_min:
        raise TooLong
    if longest_min > HORIZON_DAYS * workdays.day_steps * step_min:
        raise TooLong
