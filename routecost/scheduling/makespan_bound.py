"""A finish that no timetable can undercut: critical paths, and how much must pass through each bottleneck."""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Sequence

from routecost.scheduling.tasks import TaskNetwork, earliest_starts, latest_starts

Work = tuple[int, int, int]
"""Release, deadline and length of what a resource must do."""


def makespan_bound(network: TaskNetwork, known: int) -> int:
    """The least finish that the relaxed problem allows; `known` is the finish of any timetable.

    A finish is refuted when even then some task would begin too late on its critical path, or when hands or
    a machine could not do all their work between its earliest beginnings and its latest ends even if it
    might be interrupted at any time (Jackson's preemptive schedule, as bounds for job shops use it). Hands
    count working hours only, so evenings and days off are in the bound.
    """
    earliest = earliest_starts(network)
    low = max((s + task.span for s, task in zip(earliest, network.tasks, strict=True)), default=0)
    high = known
    while low < high:
        middle = (low + high) // 2
        if _may_finish(network, earliest, middle):
            high = middle
        else:
            low = middle + 1
    return high


def _may_finish(network: TaskNetwork, earliest: Sequence[int], finish: int) -> bool:
    latest = latest_starts(network, finish)
    if any(last < first for first, last in zip(earliest, latest, strict=True)):
        return False
    worked = network.workdays.worked
    hands: list[Work] = []
    machines: dict[str, list[Work]] = {name: [] for name in network.capacity}
    for task, first, last in zip(network.tasks, earliest, latest, strict=True):
        if task.hands:
            hands.append((worked(first), worked(last + task.hands), task.hands))
        if task.machine:
            # of c machines one of c times the speed can do whatever they can
            c = network.capacity[task.machine]
            machines[task.machine].append((c * first, c * (last + task.held), task.held))
    return all(meets_deadlines(work) for work in (hands, *machines.values()))


def meets_deadlines(work: Iterable[Work]) -> bool:
    """Whether one resource can do everything in time if it may interrupt: the earliest deadline goes first.

    >>> meets_deadlines([(0, 5, 3), (1, 3, 2)]), meets_deadlines([(0, 4, 3), (1, 3, 2)])
    (True, False)
    """
    coming = sorted(work)
    waiting: list[tuple[int, int]] = []
    now = i = 0
    while i < len(coming) or waiting:
        if not waiting:
            now = max(now, coming[i][0])
        while i < len(coming) and coming[i][0] <= now:
            heapq.heappush(waiting, (coming[i][1], coming[i][2]))
            i += 1
        deadline, left = heapq.heappop(waiting)
        until = coming[i][0] if i < len(coming) else now + left
        done = min(left, until - now)
        now += done
        if done < left:
            heapq.heappush(waiting, (deadline, left - done))
        elif now > deadline:
            return False
    return True
