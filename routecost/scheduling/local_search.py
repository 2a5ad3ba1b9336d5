"""A timetable bettered by trying other orders: a hill climb over priorities, the same every time."""

from __future__ import annotations

import heapq
import random
from collections.abc import Sequence

from routecost.scheduling.serial_generation import kept_together, serial_schedule
from routecost.scheduling.tasks import TaskNetwork

LATEST = 10
"""So many latest ends are compared: most orders have the same finish, and this tells which is nearer to a
better one."""
SHIFTS = (0.01, 0.03, 0.1)
"""How far a task is moved in the order, as shares of the finish: fine, middling, coarse."""


def local_search(network: TaskNetwork, priorities: Sequence[float], bound: int, tries: int) -> list[int]:
    """Starts of the best order found from `priorities` on: the least lateness first, then the soonest finish. With
    nothing late and the finish at `bound` nothing better exists, and it stops."""

    def rated(order: Sequence[float]) -> tuple[tuple[int, int, int], list[int]]:
        starts = serial_schedule(network, kept_together(network, order))
        ends = heapq.nlargest(LATEST, (s + task.span for s, task in zip(starts, network.tasks, strict=True)))
        return (network.lateness(starts), ends[0], sum(ends)), starts

    first = [i for i, task in enumerate(network.tasks) if not task.resumes]
    dice = random.Random(1)
    best, (figure, starts) = list(priorities), rated(priorities)
    for _ in range(tries):
        if figure[0] == 0 and figure[1] <= bound:
            break
        order = list(best)
        for _ in range(dice.choice((1, 1, 2, 5))):  # mostly small steps, now and then out of a dead end
            order[dice.choice(first)] += dice.gauss(0.0, figure[1] * dice.choice(SHIFTS))
        tried, placed = rated(order)
        if tried <= figure:  # an equal one is a way to others
            best, figure, starts = order, tried, placed
    return starts
