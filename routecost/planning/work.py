"""The tasks that process plans consist of: sittings, runs of a machine, waiting."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from routecost.planning.tasks import Job, Task
from routecost.planning.workdays import Workdays
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


def one_run(_: Operation) -> int:
    """Every operation's machine is started once."""
    return 1


def work_of(
    plans: Sequence[ProcessPlan],
    workdays: Workdays,
    step_min: int,
    *,
    capacity: Mapping[str, int],
    supply_days: Mapping[str, float],
    runs_of: Callable[[Operation], int] = one_run,
) -> tuple[Job, tuple[Label, ...]]:
    """All operations as tasks: those of a plan one after the other, times rounded up to whole steps.

    `capacity` is how many there are of a machine, 1 if it says nothing. `supply_days` says of resources that
    must be bought when they are delivered, counted from when hands first can order them; the first operation
    that draws one waits for it. `runs_of` says how many times an operation starts its machine by hand.
    """
    sitting = min(max(1, SITTING_MIN // step_min), workdays.window)
    tasks: list[Task] = []
    labels: list[Label] = []

    def steps(minutes: float) -> int:
        # a product of shares may be a hair above what it means
        return math.ceil(minutes / step_min - 1e-9)

    for p, plan in enumerate(plans):
        after: tuple[int, ...] = ()
        not_before = 0
        for o, op in enumerate(plan.operations):
            wait = max((supply_days.get(draw.resource, 0.0) for draw in op.draws), default=0.0)
            if wait > 0.0:
                not_before = max(not_before, workdays.openings[0] + math.ceil(wait * workdays.day_steps))
            runs = max(1, runs_of(op))
            hands, machine = steps(op.hands_on_min / runs), steps(op.machine_min / runs)
            waiting = steps(op.waiting_min)
            if not hands and not machine and not waiting:
                continue
            for run in range(1, runs + 1):
                sittings = max(1, math.ceil(hands / sitting))
                for piece in range(sittings):
                    length = hands * (piece + 1) // sittings - hands * piece // sittings
                    is_last = piece == sittings - 1
                    held = length + machine if is_last and machine and op.machine else 0
                    span = length + (machine if is_last else 0)
                    span += waiting if is_last and run == runs else 0
                    name = op.machine if held else ""
                    tasks.append(Task(span, length, name, held, after, not_before, resumes=piece > 0))
                    labels.append(Label(p, o, run, runs))
                    after = (len(tasks) - 1,)
    names = dict.fromkeys(task.machine for task in tasks if task.machine)
    own = {name: len(plans) for name in names if name in OWN_TO_EACH_PART}
    how_many = {name: capacity.get(name, own.get(name, 1)) for name in names}
    return Job(tuple(tasks), workdays, how_many), tuple(labels)
