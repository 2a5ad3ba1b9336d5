"""Why a timetable ends when it does: from the last task back to the first, what each waited for."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from routecost.scheduling.tasks import TaskNetwork

Cause = Literal["start", "delivery", "order", "machine", "hands"]
"""Nothing; goods that had to come; the task before it in its plan; the machine or hands, busy elsewhere."""
_FIRST: tuple[Cause, ...] = ("order", "delivery", "machine", "hands")
"""Of causes that end at the same moment, the one that is told: what the plan itself asks for goes first."""


@dataclass(frozen=True)
class Link:
    """A task, and what held it up to the last. Between the two may lie a night or days off."""

    task: int
    cause: Cause
    until: int
    """When it let the next one go: hands done, machine free, or all of it over."""


def critical_path(network: TaskNetwork, starts: Sequence[int]) -> tuple[Link, ...]:
    """The chain that ends last, first task first, where every task begins as early as its order allows."""
    tasks = network.tasks
    if not tasks:
        return ()
    ends: dict[str, list[tuple[int, int]]] = {}
    for i, (start, task) in enumerate(zip(starts, tasks, strict=True)):
        if task.hands:
            ends.setdefault("", []).append((start + task.hands, i))
        if task.machine:
            ends.setdefault(task.machine, []).append((start + task.held, i))
    for of_resource in ends.values():
        of_resource.sort()

    def last_user(resource: str, start: int) -> list[tuple[int, int]]:
        """Who left the resource last before `start`, and when."""
        k = bisect_right(ends[resource], (start, len(tasks)))
        return ends[resource][k - 1 : k]

    found: list[Link] = []
    at: int | None = max(range(len(tasks)), key=lambda i: (starts[i] + tasks[i].span, -i))
    until = network.finish(starts)
    while at is not None:
        task, start = tasks[at], starts[at]
        causes: list[tuple[int, Cause, int | None]] = []
        causes += ((starts[i] + tasks[i].span, "order", i) for i in task.after)
        if task.not_before:
            causes.append((task.not_before, "delivery", None))
        if task.machine:
            causes += ((end, "machine", i) for end, i in last_user(task.machine, start))
        if task.hands:
            causes += ((end, "hands", i) for end, i in last_user("", start))
        freed, cause, before = max(
            causes, key=lambda c: (c[0], -_FIRST.index(c[1])), default=(0, "start", None)
        )
        found.append(Link(at, cause, until))
        at, until = before, freed
    return tuple(reversed(found))
