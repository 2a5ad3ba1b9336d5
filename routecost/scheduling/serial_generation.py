"""Tasks put down one after the other, each as early as it fits: the serial schedule generation scheme
(Kelley 1963), and the priority rules that say which is next."""

from __future__ import annotations

import heapq
from bisect import bisect_left, bisect_right
from collections.abc import Sequence

from routecost.scheduling.tasks import TaskNetwork, latest_starts
from routecost.scheduling.workdays import TooLong, Workdays


class Profile:
    """How many of a resource are taken, over time."""

    def __init__(self, capacity: int, times: Sequence[int] = (0,), taken: Sequence[int] = (0,)) -> None:
        self.capacity = capacity
        self.times = list(times)
        self.taken = list(taken)
        """`taken[i]` from `times[i]` until `times[i + 1]`, the last for ever."""

    @staticmethod
    def of_hands(workdays: Workdays) -> Profile:
        """One person, who is taken outside the windows."""
        return Profile(1, *workdays.closed)

    def earliest(self, at: int, length: int) -> int:
        """The first start not before `at` from which one is free for `length`. Raises TooLong."""
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
        """Where `at` stands among the times, put in if need be. Times before it keep their places."""
        i = bisect_left(self.times, at)
        if i == len(self.times) or self.times[i] != at:
            self.times.insert(i, at)
            self.taken.insert(i, self.taken[i - 1])
        return i


def serial_schedule(network: TaskNetwork, priorities: Sequence[float]) -> list[int]:
    """Start of each task: among those whose forerunners are placed, the lowest priority figure is next, and
    begins as early as hands and machine allow. Raises TooLong."""
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


def by_rule(network: TaskNetwork, finish: int) -> list[int]:
    """Priorities by the rule "latest start first": what must begin soonest for all to end by `finish`, or when it
    is due, is next.

    Among simple rules it is one of the best for the finish of a whole (Kolisch 1996).
    """
    return latest_starts(network, finish, network.due)


def kept_together(network: TaskNetwork, priorities: Sequence[float]) -> list[float]:
    """Every sitting is as urgent as the first of its operation, so that it is laid down only where it must."""
    found = list(priorities)
    for i, task in enumerate(network.tasks):
        if task.resumes:
            found[i] = found[i - 1]
    return found


def moved_left(network: TaskNetwork, starts: Sequence[int]) -> list[int]:
    """The same order, each task as early as it fits: no task begins later than before."""
    return serial_schedule(network, starts)


def tidied(network: TaskNetwork, starts: Sequence[int]) -> list[int]:
    """The same finish or an earlier one and no more lateness, with as many operations as can be done without
    laying them down: their sittings follow the first at once, where that makes the whole no later."""
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
        tried = serial_schedule(network, order)
        is_no_worse = network.finish(tried) <= finish and network.lateness(tried) <= late
        if is_no_worse and breaks(network, tried) < breaks(network, best):
            best, finish, late = tried, network.finish(tried), network.lateness(tried)
    return best


def breaks(network: TaskNetwork, starts: Sequence[int]) -> int:
    """How many times work is laid down and taken up again, nights included."""
    return sum(
        task.resumes and starts[i] > starts[i - 1] + network.tasks[i - 1].hands
        for i, task in enumerate(network.tasks)
    )
