"""Orders of tasks against a published optimum, exhaustive search and closed forms."""

from __future__ import annotations

import math
import random
from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routecost.scheduling.local_search import local_search
from routecost.scheduling.makespan_bound import makespan_bound, meets_deadlines
from routecost.scheduling.sequence import sequence
from routecost.scheduling.serial_generation import (
    group_sittings,
    interruptions,
    latest_start_priorities,
    left_shift,
    merge_sittings,
    serial_schedule,
)
from routecost.scheduling.tasks import Task, TaskNetwork, earliest_starts, latest_starts
from routecost.scheduling.workdays import Workdays
from tests.planning.brute_force import least_makespan

NO_HANDS = Workdays((0,), day_steps=24, opens=18, closes=20)

# H. Fisher and G. L. Thompson, "Probabilistic learning combinations of local job-shop scheduling rules", 1963,
# the instance of six jobs on six machines, as the OR-Library has it in `jobshop1`: machine and time by turns.
# Its optimum is 55.
FT06 = """\
2 1 0 3 1 6 3 7 5 3 4 6
1 8 2 5 4 10 5 10 0 10 3 4
2 5 3 4 5 8 0 9 1 1 4 7
1 5 0 5 2 5 3 3 4 8 5 9
2 9 1 3 4 5 5 4 0 3 3 1
1 3 3 3 5 9 0 10 4 4 2 1
"""


def ft06_rows() -> list[list[tuple[str, int]]]:
    numbers = [[int(n) for n in row.split()] for row in FT06.splitlines()]
    return [[(f"machine {m}", t) for m, t in zip(row[::2], row[1::2], strict=True)] for row in numbers]


def job_shop(rows: list[list[tuple[str, int]]]) -> TaskNetwork:
    tasks: list[Task] = []
    for row in rows:
        after: tuple[int, ...] = ()
        for machine, time in row:
            tasks.append(Task(time, machine=machine, held=time, after=after))
            after = (len(tasks) - 1,)
    return TaskNetwork(tuple(tasks), NO_HANDS, {task.machine: 1 for task in tasks})


def check(network: TaskNetwork, starts: list[int] | tuple[int, ...]) -> None:
    """Nothing twice at once, nothing before its time, hands in their windows only."""
    by_hand: Counter[int] = Counter()
    machines: dict[str, Counter[int]] = {name: Counter() for name in network.capacity}
    for task, at in zip(network.tasks, starts, strict=True):
        assert at >= task.not_before
        assert all(at >= starts[before] + network.tasks[before].span for before in task.after)
        if task.hands:
            day, first = divmod(at, network.workdays.day_steps)
            assert day in network.workdays.days
            assert network.workdays.opens <= first
            assert first + task.hands <= network.workdays.closes
        by_hand.update(range(at, at + task.hands))
        if task.machine:
            machines[task.machine].update(range(at, at + task.held))
    assert max(by_hand.values(), default=0) <= 1
    for name, taken in machines.items():
        assert max(taken.values(), default=0) <= network.capacity[name]


def test_the_instance_of_fisher_and_thompson_ends_at_its_optimum() -> None:
    network = job_shop(ft06_rows())
    found = sequence(network, effort_s=10.0)
    check(network, found.starts)
    assert (found.finish, found.bound, found.is_optimal) == (55, 55, True)


def test_without_search_its_bound_is_below_and_its_finish_above_the_optimum() -> None:
    network = job_shop(ft06_rows())
    found = sequence(network, effort_s=0.0)
    check(network, found.starts)
    assert not found.searched
    # the busiest job takes 47 by itself, so a bound below that would be none
    assert 47 <= found.bound <= 55 <= found.finish


@st.composite
def small_jobs(draw: st.DrawFn) -> TaskNetwork:
    """Up to six tasks with hands and two machines, in short days of which some are off."""
    opens = draw(st.integers(0, 4))
    window = draw(st.integers(1, 3))
    off = draw(st.sets(st.integers(0, 5), max_size=3))
    workdays = Workdays(
        tuple(d for d in range(60) if d not in off), day_steps=7, opens=opens, closes=opens + window
    )
    tasks: list[Task] = []
    for i in range(draw(st.integers(1, 6))):
        hands = draw(st.integers(0, window))
        machine = draw(st.sampled_from(("", "a", "b")))
        held = hands + draw(st.integers(1, 6)) if machine else 0
        resumes = bool(i) and not tasks[-1].machine and draw(st.booleans())
        after = draw(st.sets(st.integers(0, i - 1), max_size=2)) if i else set()
        after |= {i - 1} if resumes else set()
        span = max(hands, held) + draw(st.integers(0, 5))
        not_before = draw(st.sampled_from((0, 0, 3, 10)))
        tasks.append(Task(span, hands, machine, held, tuple(sorted(after)), not_before, resumes))
    return TaskNetwork(tuple(tasks), workdays, {"a": 1, "b": draw(st.integers(1, 2))})


@settings(max_examples=60)
@given(small_jobs())
def test_small_jobs_end_as_soon_as_trying_every_order_says(network: TaskNetwork) -> None:
    found = sequence(network, effort_s=20.0)
    check(network, found.starts)
    assert found.finish == network.finish(found.starts) == least_makespan(network) == found.bound


@settings(max_examples=150)
@given(small_jobs())
def test_the_bound_is_below_every_finish(network: TaskNetwork) -> None:
    starts = serial_schedule(network, latest_start_priorities(network, 0))
    check(network, starts)
    assert (
        makespan_bound(network, network.finish(starts)) <= least_makespan(network) <= network.finish(starts)
    )


@given(small_jobs(), st.randoms(use_true_random=False))
def test_any_order_gives_a_sound_timetable_and_putting_it_in_order_of_start_worsens_nothing(
    network: TaskNetwork, dice: random.Random
) -> None:
    priorities = [dice.random() for _ in network.tasks]
    starts = serial_schedule(network, group_sittings(network, priorities))
    check(network, starts)
    again = left_shift(network, starts)
    check(network, again)
    assert all(new <= old for new, old in zip(again, starts, strict=True))


@given(small_jobs())
def test_trying_orders_and_tidying_never_lose(network: TaskNetwork) -> None:
    order = latest_start_priorities(network, 0)
    starts = serial_schedule(network, group_sittings(network, order))
    better = local_search(network, order, 0, tries=20)
    check(network, better)
    assert network.finish(better) <= network.finish(starts)
    tidy = merge_sittings(network, better)
    check(network, tidy)
    assert network.finish(tidy) <= network.finish(better)
    assert interruptions(network, tidy) <= interruptions(network, better)


@given(small_jobs())
def test_nothing_begins_before_its_earliest_or_after_its_latest_start(network: TaskNetwork) -> None:
    starts = serial_schedule(network, latest_start_priorities(network, 0))
    late = latest_starts(network, network.finish(starts))
    for first, at, last in zip(earliest_starts(network), starts, late, strict=True):
        assert first <= at <= last


@pytest.mark.parametrize(("runs", "machines"), [(7, 1), (7, 2), (9, 3), (2, 5)])
def test_equal_runs_share_equal_machines(runs: int, machines: int) -> None:
    # closed form: every machine takes its share, rounded up to whole runs
    network = TaskNetwork(tuple(Task(4, machine="m", held=4) for _ in range(runs)), NO_HANDS, {"m": machines})
    found = sequence(network, effort_s=5.0)
    check(network, found.starts)
    assert found.finish == 4 * math.ceil(runs / machines)


@pytest.mark.parametrize("sittings", [1, 2, 3, 8, 9])
def test_sittings_fill_windows_one_after_the_other(sittings: int) -> None:
    # closed form: two sittings of 3 steps fit a window of 7 steps; every third day is off
    days = Workdays(tuple(d for d in range(99) if d % 3 != 2), day_steps=24, opens=10, closes=17)
    network = TaskNetwork(tuple(Task(3, hands=3) for _ in range(sittings)), days, {})
    found = sequence(network, effort_s=5.0)
    check(network, found.starts)
    window, second = divmod(sittings - 1, 2)
    day = 3 * (window // 2) + window % 2
    assert found.finish == 24 * day + 10 + 3 * (second + 1)


FAR = 10_000
"""A finish that any of these jobs can meet, so that the bound has nothing to lean on."""


@pytest.mark.parametrize(("runs", "machines"), [(7, 1), (7, 2), (9, 3), (2, 5)])
def test_the_bound_of_equal_runs_is_their_work_shared_out(runs: int, machines: int) -> None:
    # closed form: machines that may hand over at any time share the work evenly, but none does two at once
    network = TaskNetwork(tuple(Task(4, machine="m", held=4) for _ in range(runs)), NO_HANDS, {"m": machines})
    assert makespan_bound(network, FAR) == max(4, math.ceil(4 * runs / machines))


@pytest.mark.parametrize("sittings", [1, 4, 7, 10])
def test_the_bound_of_hands_counts_working_hours_only(sittings: int) -> None:
    # closed form: sittings of 3 steps that might be interrupted fill windows of 6; one step of drying follows
    days = Workdays(tuple(range(99)), day_steps=24, opens=10, closes=16)
    network = TaskNetwork(tuple(Task(4, hands=3) for _ in range(sittings)), days, {})
    windows, steps = divmod(3 * sittings - 1, 6)
    assert makespan_bound(network, FAR) == 24 * windows + 10 + steps + 1 + 1


def test_the_bound_of_a_chain_is_its_length_with_its_nights() -> None:
    # by hand: 2 of hands from 10 and a run of 30 end at 42; hands open at 58 next; 3 of them and 5 of drying
    days = Workdays(tuple(range(99)), day_steps=24, opens=10, closes=16)
    tasks = (Task(32, 2, "m", 32), Task(8, 3, after=(0,)))
    assert makespan_bound(TaskNetwork(tasks, days, {"m": 1}), FAR) == 66


def test_an_hour_short_of_the_deadline_is_noticed() -> None:
    # work of 2 and 3 that must be done between 0 and 5 just fits; with less room it does not
    assert meets_deadlines([(0, 5, 2), (0, 5, 3)])
    assert not meets_deadlines([(0, 4, 2), (0, 4, 3)])
    assert not meets_deadlines([(1, 5, 2), (1, 5, 3)])
    # what is urgent interrupts what is not
    assert meets_deadlines([(0, 10, 8), (3, 5, 2)])


def test_nothing_to_do_ends_at_once() -> None:
    assert sequence(TaskNetwork((), NO_HANDS, {}), 1.0).finish == 0
