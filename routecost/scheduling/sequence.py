"""The schedule with the least makespan: a constraint program (CP-SAT) with a proven bound, started from serial
schedule generation with local search, which is all for large jobs."""

from __future__ import annotations

from collections.abc import Sequence as Many
from dataclasses import dataclass
from typing import TYPE_CHECKING

from routecost.scheduling.local_search import local_search
from routecost.scheduling.makespan_bound import makespan_bound
from routecost.scheduling.serial_generation import (
    latest_start_priorities,
    left_shift,
    merge_sittings,
    serial_schedule,
)
from routecost.scheduling.tasks import TaskNetwork, earliest_starts, latest_starts

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

LARGEST_JOB = 400
"""Tasks up to which the constraint program is worth its time: it does not improve larger schedules."""
PLACED_A_SECOND = 150_000
"""Tasks scheduled in a second of one core during the local search."""
MOST_TRIES = 2000
"""Iterations of the local search at most: few improvements come later."""
TRIALS_SHARE = 0.2
"""Share of the effort for the local search that gives the constraint program its hint."""
SECONDS_A_UNIT = 4.0
"""One unit of the solver's own count of work takes 3 to 4 s on one core."""


@dataclass(frozen=True)
class Sequence:
    """Starts in steps, and how good they are."""

    starts: tuple[int, ...]
    finish: int
    bound: int
    """Lower bound of the makespan on this grid; where nothing is late, of schedules without lateness."""
    late: int
    """Total tardiness in steps."""
    searched: bool
    """Whether the constraint program ran; else serial schedule generation and local search are all."""

    @property
    def is_optimal(self) -> bool:
        return self.finish == self.bound and not self.late


def sequence(network: TaskNetwork, effort_s: float, largest: int = LARGEST_JOB) -> Sequence:
    """A left-shifted schedule of least total tardiness, then least makespan, as far as found.

    `effort_s` limits the search, in about seconds of one core; it is counted in work and not in time, so that the
    same job gives the same schedule on any machine. With 0 the priority rule decides alone. Raises
    workdays.TooLong.
    """
    if not network.tasks:
        return Sequence((), 0, 0, 0, searched=False)
    rough = max(s + task.span for s, task in zip(earliest_starts(network), network.tasks, strict=True))
    bound = makespan_bound(
        network, network.finish(serial_schedule(network, latest_start_priorities(network, rough)))
    )
    is_large = len(network.tasks) > largest
    placed = effort_s * PLACED_A_SECOND * (1.0 if is_large else TRIALS_SHARE)
    tries = min(MOST_TRIES, round(placed / len(network.tasks)))
    starts = local_search(network, latest_start_priorities(network, bound), bound, tries)
    finish, late = network.finish(starts), network.lateness(starts)
    if (finish == bound and not late) or effort_s <= 0.0 or is_large:
        return Sequence(tuple(starts), finish, bound, late, searched=False)
    found, proven = _search(network, starts, bound, effort_s * (1.0 - TRIALS_SHARE))
    found = merge_sittings(network, left_shift(network, found))
    finish, late = network.finish(found), network.lateness(found)
    # what was proven counts lateness too: without any it is of the finish
    bound = bound if late else max(bound, min(proven, finish))
    return Sequence(tuple(found), finish, bound, late, searched=True)


def _search(network: TaskNetwork, known: Many[int], bound: int, effort_s: float) -> tuple[list[int], int]:
    """Starts no worse than the hint `known`, and the solver's lower bound of makespan plus weighted tardiness."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    known_finish = network.finish(known)
    first, last = earliest_starts(network), latest_starts(network, known_finish)
    end = model.new_int_var(bound, known_finish, "finish")
    starts: list[cp_model.IntVar] = []
    hands: list[cp_model.IntervalVar] = []
    machines: dict[str, list[cp_model.IntervalVar]] = {name: [] for name in network.capacity}
    for i, task in enumerate(network.tasks):
        start = model.new_int_var(first[i], last[i], f"start {i}")
        starts.append(start)
        model.add_hint(start, known[i])
        for before in task.after:
            model.add(start >= starts[before] + network.tasks[before].span)
        model.add(end >= start + task.span)
        if task.hands:
            hands.append(_sitting(model, network, start, (first[i], last[i], known[i]), task.hands))
        if task.machine and task.held:
            machines[task.machine].append(model.new_fixed_size_interval_var(start, task.held, f"held {i}"))
    model.add_no_overlap(hands)
    for name, held in machines.items():
        if network.capacity[name] == 1:
            model.add_no_overlap(held)
        else:
            model.add_cumulative(held, [1] * len(held), network.capacity[name])
    model.add_hint(end, known_finish)
    late = []
    for i, due in network.due.items():
        most = max(0, last[i] + network.tasks[i].span - due)
        late.append(model.new_int_var(0, most, f"late {i}"))
        model.add(late[-1] >= starts[i] + network.tasks[i].span - due)
        model.add_hint(late[-1], max(0, known[i] + network.tasks[i].span - due))
    # a step late outweighs any sooner finish
    model.minimize(end + (known_finish - bound + 1) * sum(late))

    solver = cp_model.CpSolver()
    p = solver.parameters
    p.random_seed = 1
    p.num_workers = 1
    p.linearization_level = 0  # the linear relaxation of disjunctions is weak
    p.max_deterministic_time = effort_s / SECONDS_A_UNIT
    status = solver.solve(model)
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return [solver.value(start) for start in starts], round(solver.best_objective_bound)
    return list(known), bound


def _sitting(
    model: cp_model.CpModel,
    network: TaskNetwork,
    start: cp_model.IntVar,
    moments: tuple[int, int, int],
    hands: int,
) -> cp_model.IntervalVar:
    """The interval of hands inside one working window, on a time axis of working time only, so that propagation of
    no-overlap sees how few hours there are. `moments` are the earliest, latest and known start.
    """
    days, room = network.workdays, network.workdays.window
    low, high, at = (days.index(moment) for moment in moments)
    window = model.new_int_var(low, high, "")
    model.add_hint(window, at)
    worked = model.new_int_var(room * low, room * high + room - hands, "")
    model.add_hint(worked, room * at + moments[2] - days.openings[at])
    model.add_linear_constraint(worked - room * window, 0, room - hands)
    # what the clock is ahead of the hours worked, by window
    ahead = [days.openings[k] - room * k for k in range(low, high + 1)]
    stride = ahead[1] - ahead[0] if len(ahead) > 1 else 0
    if ahead == [ahead[0] + stride * k for k in range(len(ahead))]:
        model.add(start == worked + stride * (window - low) + ahead[0])
    else:
        idle = model.new_int_var(ahead[0], ahead[-1], "")
        model.add_element(window - low, ahead, idle)
        model.add(start == worked + idle)
    return model.new_fixed_size_interval_var(worked, hands, "")
