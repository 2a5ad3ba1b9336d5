"""The serial schedule generation scheme (Kelley 1963): tasks in an order of priority, each at its earliest feasible
start; its priority rule, and the left shift."""

from __future__ import annotations

import heapq
from bisect import bisect_left, bisect_right
from collections.abc import Sequence

from routecost.scheduling.tasks import TaskNetwork, latest_starts
from routecost.scheduling.workdays import TooLong, Workdays


class Profile:
    """Units of a renewable resource in use, over time."""

    def __init__(self, capacity: int, times: Sequence[int] = (0,), taken: Sequence[int] = (0,)) -> None:
        self.capacity = capacity
        self.times = list(times)
        self.taken = list(taken)
        """`taken[i]` from `times[i]` until `times[i + 1]`, the last for ever."""

    @staticmethod
    def of_hands(workdays: Workdays) -> Profile:
        """One person, unavailable outside the working windows."""
        return Profile(1, *workdays.closed)

    def earliest(self, at: int, length: int) -> int:
        """The earliest start not before `at` from which one unit is free for `length`. Raises TooLong."""
        i = bisect_right(self.times, at) - 1
        while i < len(self.times) and self.times[i] < at + length:
            if self.taken[i] >= self.capacity:
                if i + 1 == len(self.times):
                    raise TooLong
                at = self.times[i + 1]
            i += 1
        return at

    def take(self, start: int, length: int) -> None:
        first, last = self._cut(start), self._cut(start + length)
        for i in range(first, last):
            self.taken[i] += 1
        for i in (last, first):
            if i > 0 and self.taken[i] == self.taken[i - 1]:
                del self.times[i], self.taken[i]

    def _cut(self, at: int) -> int:
        """The index of `at` among the times, inserted if missing. Indices of earlier times do not change."""
        i = bisect_left(self.times, at)
        if i == len(self.times) or self.times[i] != at:
            self.times.insert(i, at)
            self.taken.insert(i, self.taken[i - 1])
        return i


def serial_schedule(network: TaskNetwork, priorities: Sequence[float]) -> list[int]:
    """Start of each task: among those whose predecessors are scheduled, the lowest priority value is next, at the
    earliest start that precedence, hands and machine allow. Raises TooLong."""
    tasks = network.tasks
    followers: list[list[int]] = [[] for _ in tasks]
    open_before = [len(task.after) for task in tasks]
    for i, task in enumerate(tasks):
        for before in task.after:
            followers[before].append(i)
    hands = Profile.of_hands(network.workdays)
    machines = {name: Profile(capacity) for name, capacity in network.capacity.items()}
    ready = [task.not_before for task in tasks]
    starts = [0] * len(tasks)
    heap = [(priorities[i], i) for i, n in enumerate(open_before) if n == 0]
    heapq.heapify(heap)
    while heap:
        _, i = heapq.heappop(heap)
        task, at = tasks[i], ready[i]
        machine = machines[task.machine] if task.machine else None
        while True:
            asked = at
            if task.hands:
                at = hands.earliest(at, task.hands)
            if machine is not None:
                at = machine.earliest(at, task.held)
            if at == asked:
                break
        if task.hands:
            hands.take(at, task.hands)
        if machine is not None and task.held:
            machine.take(at, task.held)
        starts[i] = at
        for j in followers[i]:
            ready[j] = max(ready[j], at + task.span)
            open_before[j] -= 1
            if open_before[j] == 0:
                heapq.heappush(heap, (priorities[j], j))
    return starts


def latest_start_priorities(network: TaskNetwork, finish: int) -> list[int]:
    """Priority values of the minimum latest start time rule (LST), for a given `finish` and due dates.

    Among simple rules it is one of the best for the makespan (Kolisch 1996).
    """
    return latest_starts(network, finish, network.due)


def group_sittings(network: TaskNetwork, priorities: Sequence[float]) -> list[float]:
    """Every sitting gets the priority of the first of its operation, so that work is interrupted only where it must
    be."""
    grouped = list(priorities)
    for i, task in enumerate(network.tasks):
        if task.resumes:
            grouped[i] = grouped[i - 1]
    return grouped


def left_shift(network: TaskNetwork, starts: Sequence[int]) -> list[int]:
    """The left-shifted schedule: the same order, each task at its earliest feasible start, none later than before."""
    return serial_schedule(network, starts)


def merge_sittings(network: TaskNetwork, starts: Sequence[int]) -> list[int]:
    """A schedule with fewer interrupted operations and no larger makespan or lateness: sittings follow the first of
    their operation at once where that makes nothing later."""
    best, finish, late = list(starts), network.finish(starts), network.lateness(starts)
    firsts = [
        i
        for i in range(1, len(network.tasks))
        if network.tasks[i].resumes and not network.tasks[i - 1].resumes
    ]
    for i in firsts:
        order: list[float] = list(best)
        while i < len(order) and network.tasks[i].resumes:
            order[i] = order[i - 1]
            i += 1
        shifted = serial_schedule(network, order)
        is_no_worse = network.finish(shifted) <= finish and network.lateness(shifted) <= late
        if is_no_worse and interruptions(network, shifted) < interruptions(network, best):
            best, finish, late = shifted, network.finish(shifted), network.lateness(shifted)
    return best


def interruptions(network: TaskNetwork, starts: Sequence[int]) -> int:
    """How many times work on an operation is interrupted, nights included."""
    return sum(
        task.resumes and starts[i] > starts[i - 1] + network.tasks[i - 1].hands
        for i, task in enumerate(network.tasks)
    )
