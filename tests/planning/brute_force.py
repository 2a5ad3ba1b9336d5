"""The earliest finish of a small job by trying every order, with nothing but sets of steps."""

from __future__ import annotations

from itertools import permutations

from routecost.scheduling.tasks import TaskNetwork


def least_makespan(network: TaskNetwork) -> int:
    """Every task as early as it fits, in every order that keeps forerunners first: one of these is best,
    because tasks that are put down in the order of their starts in a best timetable begin no later than there.
    """
    orders = permutations(range(len(network.tasks)))
    return min(
        _finish(network, order)
        for order in orders
        if all(order.index(before) < order.index(i) for i in order for before in network.tasks[i].after)
    )


def _finish(network: TaskNetwork, order: tuple[int, ...]) -> int:
    days = network.workdays
    open_steps = {day * days.day_steps + s for day in days.days for s in range(days.opens, days.closes)}
    by_hand: set[int] = set()
    running: dict[tuple[str, int], int] = {}
    ends: dict[int, int] = {}
    for i in order:
        task = network.tasks[i]
        at = max([task.not_before, *(ends[before] for before in task.after)])
        while True:
            sitting = set(range(at, at + task.hands))
            in_one_window = sitting <= open_steps - by_hand
            held = [(task.machine, s) for s in range(at, at + task.held)]
            if in_one_window and all(running.get(use, 0) < network.capacity[task.machine] for use in held):
                break
            at += 1
        by_hand |= sitting
        for use in held:
            running[use] = running.get(use, 0) + 1
        ends[i] = at + task.span
    return max(ends.values(), default=0)
