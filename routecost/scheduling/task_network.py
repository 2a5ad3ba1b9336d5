"""The tasks that process plans consist of: sittings, runs of a machine, waiting."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from routecost.routes.process.operation import Operation, ProcessPlan
from routecost.scheduling.tasks import Task, TaskNetwork
from routecost.scheduling.workdays import HORIZON_DAYS, TooLong, Workdays

OWN_TO_EACH_PART = frozenset({"mold", "mold box"})
"""A mold is for one part; it ties that part's operations up, which follow each other anyway."""

SITTING_MIN = 30
"""Hands-on work that takes longer may be laid down and taken up again after sittings of about equal length,
none longer than this. It does not hang on the hours a day, so that more hours never take a timetable away.
What says `unbroken` is one sitting instead wherever a day's window holds it, so there more hours can: what took
the rest of one evening and some of the next may now wait for an evening of its own."""


@dataclass(frozen=True)
class _Run:
    """One run of an operation, in steps."""

    operation: int
    run: int
    runs: int
    hands: int
    running: int
    waiting: int


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
) -> tuple[TaskNetwork, tuple[Label, ...]]:
    """All operations as tasks: those of a plan one after the other, cycles run by run; times rounded up to whole
    steps.

    `capacity` is how many there are of a machine, 1 if it says nothing. `supply_days` says of resources that
    must be bought when they are delivered, counted from when hands first can order them; the first operation
    that draws one waits for it. Raises TooLong for more than the windows can hold.
    """
    _refuse_endless(plans, workdays, step_min)
    tasks: list[Task] = []
    labels: list[Label] = []
    for p, plan in enumerate(plans):
        after: tuple[int, ...] = ()
        not_before = 0
        for run in _in_turn(plan.operations, step_min):
            op = plan.operations[run.operation]
            days = max(supply_days.get(name, 0.0) for name in (op.machine, *(u.resource for u in op.usages)))
            if days > 0.0:
                not_before = max(not_before, workdays.openings[0] + math.ceil(days * workdays.day_steps))
            is_own = not op.machine or (op.machine in OWN_TO_EACH_PART and op.machine not in capacity)
            sittings = _sittings(run.hands, op, workdays, step_min)
            for piece, length in enumerate(sittings):
                is_last = piece == len(sittings) - 1
                held = length + run.running if is_last and run.running else 0
                span = max(length, held) + (run.waiting if is_last else 0)
                if not span:
                    continue
                machine = op.machine if held and not is_own else ""
                tasks.append(Task(span, length, machine, held, after, not_before, resumes=piece > 0))
                labels.append(Label(p, run.operation, run.run, run.runs))
                after = (len(tasks) - 1,)
    how_many = {task.machine: capacity.get(task.machine, 1) for task in tasks if task.machine}
    return TaskNetwork(tuple(tasks), workdays, how_many), tuple(labels)


def _steps(minutes: float, step_min: int) -> int:
    """Rounded up, but for what is a hair above a whole number because it came out of a product."""
    return math.ceil(minutes / step_min - 1e-9)


def _in_turn(operations: Sequence[Operation], step_min: int) -> Iterator[_Run]:
    """All runs in the order in which they are done."""
    for cycle, group in groupby(enumerate(operations), key=lambda numbered: numbered[1].cycle):
        steps = [(op, _runs(o, op, step_min)) for o, op in group]
        if not cycle:
            for _, runs in steps:
                yield from runs
            continue
        set_aside: list[_Run] = []
        for again in range(max(math.ceil(len(runs) / op.runs_in_cycle) for op, runs in steps)):
            for op, runs in steps:
                first = again * op.runs_in_cycle
                for run in runs[first : first + op.runs_in_cycle]:
                    if run.running and run.waiting:
                        # what came out of a machine waits beside the rest of the cycle: it is demolded first
                        set_aside.append(replace(run, hands=0, running=0))
                        run = replace(run, waiting=0)
                    yield run
        yield from set_aside


def _runs(o: int, op: Operation, step_min: int) -> list[_Run]:
    """Each run of the operation at place `o`. Every run of work by hand takes a step of it."""
    n = op.runs if op.cycle or op.machine_min > 0.0 or op.waiting_min > 0.0 else 1
    hands = max(_steps(op.hands_on_min, step_min), n) if op.hands_on_min > 0.0 else 0
    waiting = _steps(op.waiting_min, step_min)
    # what comes out of a machine waits beside the next run
    waits = [0] * (n - 1) + [waiting] if op.machine_min > 0.0 else _shared(waiting, n)
    times = zip(_shared(hands, n), _shared(_steps(op.machine_min, step_min), n), waits, strict=True)
    return [_Run(o, run, n, *steps) for run, steps in enumerate(times, start=1)]


def _sittings(hands: int, op: Operation, workdays: Workdays, step_min: int) -> list[int]:
    """How long the sittings of a run are. What is too much for a day and must not be broken off is done in as few
    batches as days allow."""
    longest = workdays.window if op.unbroken else min(max(1, SITTING_MIN // step_min), workdays.window)
    return _shared(hands, max(1, math.ceil(hands / longest)))


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
