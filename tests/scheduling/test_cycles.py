"""Steps that are repeated together, and steps that cannot be laid down half way: worked by hand."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from itertools import pairwise

import pytest

from routecost.builds.working_time import WorkingTime
from routecost.routes.process.operation import ProcessPlan
from routecost.scheduling.timetable import Timetable, schedule
from tests.planning.made_plans import plan, step

MONDAY = dt.date(2026, 3, 2)
EVENINGS = WorkingTime(2.0)


def pulls(part: str, machine: str = "mold", rounds: int = 3) -> ProcessPlan:
    """Release, pour and demold, each round; then trim all."""
    release = replace(step("release", 10.0 * rounds), cycle="pull", runs=rounds)
    pour = replace(
        step("pour", 30.0 * rounds, machine, 600.0 * rounds, waiting_min=1440.0),
        cycle="pull",
        runs=rounds,
        unbroken=True,
    )
    demold = replace(step("demold", 10.0 * rounds), cycle="pull", runs=rounds)
    return plan(part, release, pour, demold, step("trim", 20.0))


def hands(found: Timetable, part: str) -> list[tuple[str, int]]:
    return [(e.operation, e.run) for e in found.entries if e.part == part and e.phase == "hands"]


def test_a_mold_is_emptied_before_it_is_filled_again() -> None:
    found = schedule([pulls("lid")], start=MONDAY, working=EVENINGS)
    rounds = [(name, run) for run in (1, 2, 3) for name in ("release", "pour", "demold")]
    assert hands(found, "lid") == [*rounds, ("trim", 1)]
    # a pull an evening; the last is full strength a day after its demolding began to be possible
    assert found.finish.date() >= MONDAY + dt.timedelta(days=3)


def test_minutes_are_those_of_the_plan_and_the_cure_is_waited_for_once() -> None:
    found = schedule([pulls("lid")], start=MONDAY, working=EVENINGS)
    minutes = {
        phase: sum(e.minutes for e in found.entries if e.phase == phase)
        for phase in ("hands", "machine", "waiting")
    }
    assert minutes == pytest.approx({"hands": 170.0, "machine": 1800.0, "waiting": 1440.0})


def test_two_parts_share_a_pot_load_by_load() -> None:
    found = schedule(
        [pulls("lid", "pot"), pulls("foot", "pot")], start=MONDAY, working=EVENINGS, effort_s=2.0
    )
    loads = sorted((e.start, e.end) for e in found.entries if e.phase == "machine")
    assert len(loads) == 6
    assert all(end <= start for (_, end), (start, _) in pairwise(loads))
    for part in ("lid", "foot"):
        assert [run for name, run in hands(found, part) if name == "pour"] == [1, 2, 3]


def test_what_sets_is_done_in_one_sitting_wherever_an_evening_holds_it() -> None:
    long = replace(step("pour", 100.0), unbroken=True)
    found = schedule([plan("lid", step("sand", 50.0), long)], start=MONDAY, working=EVENINGS)
    poured = [e for e in found.entries if e.operation == "pour"]
    assert [e.minutes for e in poured] == [100.0]
    assert poured[0].start.date() == MONDAY + dt.timedelta(days=1)  # it does not fit beside the sanding


def test_what_no_evening_holds_is_done_in_as_few_batches_as_can_be() -> None:
    long = replace(step("pour", 200.0), unbroken=True)
    found = schedule([plan("lid", long)], start=MONDAY, working=EVENINGS)
    assert [e.minutes for e in found.entries] == [100.0, 100.0]


def test_steps_without_a_cycle_follow_each_other_as_ever() -> None:
    each = [replace(step(name, 20.0, waiting_min=60.0), runs=2) for name in ("coat", "sand")]
    found = schedule([plan("lid", *each)], start=MONDAY, working=EVENINGS)
    assert hands(found, "lid") == [("coat", 1), ("coat", 2), ("sand", 1), ("sand", 2)]
