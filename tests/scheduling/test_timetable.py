"""Timetables of process plans: nothing overbooked, nothing at night, closed forms, invariances."""

from __future__ import annotations

import datetime as dt
import json
import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routecost.builds.working_time import WorkingTime, read_working_time
from routecost.buying.packs import Bought
from routecost.buying.purchases import BuyLine
from routecost.core.errors import InputError
from routecost.reports.json.timetable_json import timetable_json
from routecost.routes.process.operation import Operation, ProcessPlan
from routecost.scheduling.task_network import OWN_TO_EACH_PART
from routecost.scheduling.timetable import STEP_MIN, Timetable, deliveries, schedule
from routecost.scheduling.timetable_entries import Entry
from routecost.shop.price_log import Offer
from tests.planning.made_plans import made_plans, plan, step
from tests.scheduling.test_sequence import ft06_rows

MONDAY = dt.date(2026, 3, 2)
EVENINGS = WorkingTime(2.0)
"""18:00 to 20:00, every day."""


def at(day: int, clock: str) -> dt.datetime:
    """A time so many days after the first day."""
    return dt.datetime.combine(MONDAY + dt.timedelta(days=day), dt.time.fromisoformat(clock))


def check(
    found: Timetable,
    plans: Sequence[ProcessPlan],
    capacity: Mapping[str, int],
    supply_days: Mapping[str, float],
) -> None:
    """Everything that must hold, asked of the entries and their dates only."""
    hands = sorted((e.start, e.end) for e in found.entries if e.phase == "hands")
    assert all(end <= start for (_, end), (start, _) in pairwise(hands))
    opens, closes = found.working.window_min
    of_day: dict[dt.date, float] = defaultdict(float)
    for start, end in hands:
        assert not found.working.is_off(start.date())
        midnight = dt.datetime.combine(start.date(), dt.time())
        assert opens <= (start - midnight).total_seconds() / 60.0
        assert (end - midnight).total_seconds() / 60.0 <= closes
        of_day[start.date()] += (end - start).total_seconds() / 60.0
    assert max(of_day.values(), default=0.0) <= found.working.hours_a_day * 60.0 + 1e-6

    by_machine: dict[str, list[Entry]] = defaultdict(list)
    for e in found.entries:
        if e.phase == "machine" and e.resource not in OWN_TO_EACH_PART:
            by_machine[e.resource].append(e)
    for name, runs in by_machine.items():
        for e in runs:
            beside = [o for o in runs if o.start <= e.start < o.end]
            assert len(beside) <= capacity.get(name, 1)
            assert len({o.unit for o in beside}) == len(beside)
            assert 1 <= e.unit <= capacity.get(name, 1)

    assert found.bound <= found.finish
    assert (found.status == "optimal") == (found.bound == found.finish)
    assert found.finish == max(e.end for e in found.entries)
    for number, p in enumerate(plans):
        _check_plan(found, p, [e for e in found.entries if e.plan == number], supply_days)
    _check_days(found, of_day)
    _check_chain(found)


def _check_plan(
    found: Timetable, p: ProcessPlan, entries: list[Entry], supply_days: Mapping[str, float]
) -> None:
    opens = dt.timedelta(minutes=found.working.window_min[0])
    ready = dt.datetime.combine(found.start, dt.time())
    in_order = sorted(entries, key=lambda e: e.start)
    assert all(a.end <= b.start for a, b in pairwise(in_order))
    _check_cycles(p, in_order)
    for place, op in enumerate(p.operations, start=1):
        own = sorted((e for e in entries if e.place == place), key=lambda e: e.start)
        if not own:
            assert op.hands_on_min == op.machine_min == op.waiting_min == 0.0
            continue
        if not op.cycle:
            assert own[0].start >= ready
            ready = own[-1].end
        if op.unbroken:
            _check_unbroken(found, own)
        for draw in op.usages:
            if draw.resource in supply_days:
                first = dt.datetime.combine(found.start, dt.time()) + opens
                assert own[0].start >= first + dt.timedelta(days=supply_days[draw.resource])
        # nothing is lost, and rounding adds less than a step to each of the three times; but where hands are
        # needed at all, each run takes a step of them
        is_run_by_run = bool(op.cycle or op.machine_min or op.waiting_min)
        each_run = op.runs * STEP_MIN if op.hands_on_min and is_run_by_run else 0.0
        for phase, minutes in (
            ("hands", max(op.hands_on_min, each_run)),
            ("machine", op.machine_min),
            ("waiting", op.waiting_min),
        ):
            told = sum(e.minutes for e in own if e.phase == phase)
            assert minutes - 1e-6 <= told < minutes + STEP_MIN
        for e in own:
            if e.phase == "machine" and op.hands_on_min > 0.0:
                assert any(h.phase == "hands" and h.end == e.start for h in own)


def _check_cycles(p: ProcessPlan, in_order: Sequence[Entry]) -> None:
    """Consecutive steps of one cycle come round together: nothing of the next round before this one is over, and
    within a round they keep their order. What waits after a machine is left out: it waits beside the rest."""
    block, ahead = [0], 0
    for before, op in pairwise(p.operations):
        ahead += not op.cycle or op.cycle != before.cycle
        block.append(ahead)
    places = []
    for e in in_order:
        op = p.operations[e.place - 1]
        if e.phase == "waiting" and op.machine_min:
            continue
        turn = (e.run - 1) // op.runs_in_cycle if op.cycle else 0
        places.append((block[e.place - 1], turn, e.place, e.run))
    assert places == sorted(places)


def _check_unbroken(found: Timetable, own: Sequence[Entry]) -> None:
    """A run that a day holds is one sitting; a longer one takes no more sittings than it must."""
    opens, closes = found.working.window_min
    # the window lies on the grid as far as whole steps go
    window = math.floor(closes / STEP_MIN + 1e-9) - math.ceil(opens / STEP_MIN - 1e-9)
    window = min(window, 24 * 60 // STEP_MIN - 1 - math.ceil(opens / STEP_MIN - 1e-9))
    for run in {e.run for e in own if e.phase == "hands"}:
        sittings = [e.minutes for e in own if e.phase == "hands" and e.run == run]
        assert len(sittings) <= math.ceil(sum(sittings) / STEP_MIN / window)


def _check_days(found: Timetable, hands: Mapping[dt.date, float]) -> None:
    assert [load.day for load in found.days] == [
        found.start + dt.timedelta(days=n) for n in range(len(found.days))
    ]
    assert found.days[-1].day == found.finish.date()
    for load in found.days:
        assert load.hands_min == hands.get(load.day, 0.0) <= load.window_min + 1e-6
    for name in {e.resource for e in found.entries if e.phase == "machine"}:
        run = sum(e.minutes for e in found.entries if e.phase == "machine" and e.resource == name)
        assert sum(load.machine_min.get(name, 0.0) for load in found.days) == pytest.approx(run)


def _check_chain(found: Timetable) -> None:
    assert found.chain[-1].until == found.finish
    assert found.chain[0].cause in ("start", "delivery")
    assert all(link.cause not in ("start", "delivery") for link in found.chain[1:])
    for before, link in pairwise(found.chain):
        assert before.start < before.until <= link.start


@st.composite
def operations(draw: st.DrawFn, *, unbroken: bool = True) -> Operation:
    machine = draw(st.sampled_from(("", "printer", "pot", "mold")))
    return step(
        draw(st.sampled_from(("prepare", "print", "sand", "pour"))),
        hands_min=draw(st.sampled_from((0.0, 4.0, 12.0, 30.0, 61.0, 250.0))),
        machine=machine,
        machine_min=draw(st.sampled_from((0.0, 45.5, 600.0, 3000.0))) if machine else 0.0,
        waiting_min=draw(st.sampled_from((0.0, 0.0, 180.0, 4000.0))),
        runs=draw(st.sampled_from((1, 1, 1, 2, 5))),
        uses=draw(st.sampled_from(("", "filament", "resin"))),
        cycle=draw(st.sampled_from(("", "", "pull"))),
        runs_in_cycle=draw(st.sampled_from((1, 1, 2))),
        unbroken=unbroken and draw(st.booleans()),
    )


some_plans = st.lists(st.lists(operations(), min_size=1, max_size=5), min_size=1, max_size=4).map(
    lambda found: [plan(f"part-{i}", *ops) for i, ops in enumerate(found)]
)
some_working = st.builds(
    read_working_time,
    st.sampled_from((0.6, 1.0, 2.0, 3.7, 8.0, 24.0)),
    st.just(""),
    st.sampled_from(("", "sunday", "monday tuesday 2026-03-05/2026-03-09")),
)


@settings(max_examples=60)
@given(
    some_plans,
    some_working,
    st.fixed_dictionaries({}, optional={"printer": st.integers(1, 3), "pot": st.just(2)}),
    st.fixed_dictionaries({}, optional={"filament": st.just(3.0), "resin": st.just(1.5)}),
)
def test_no_plan_is_ever_overbooked(
    plans: list[ProcessPlan], working: WorkingTime, capacity: dict[str, int], supply: dict[str, float]
) -> None:
    if not any(op.hands_on_min + op.machine_min + op.waiting_min for p in plans for op in p.operations):
        return
    found = schedule(
        plans, start=MONDAY, working=working, capacity=capacity, supply_days=supply, effort_s=0.2
    )
    check(found, plans, capacity, supply)


@pytest.mark.parametrize(("count", "effort_s"), [(4, 1.0), (12, 0.0), (60, 0.0)])
def test_whole_builds_are_sound(count: int, effort_s: float) -> None:
    plans = made_plans(count, seed=count)
    capacity, supply = {"printer-220": 2}, {"filament": 2.0, "silicone": 4.0, "paper": 1.0}
    working = read_working_time(2.5, "17:15", "sunday 2026-03-20/2026-03-22")
    found = schedule(
        plans, start=MONDAY, working=working, capacity=capacity, supply_days=supply, effort_s=effort_s
    )
    check(found, plans, capacity, supply)
    # the bound leaves little to be won; a looser one would prove little
    assert found.gap_days <= 0.05 * (found.finish - at(0, "00:00")).days + 1.0


def test_the_instance_of_fisher_and_thompson_goes_the_same_way() -> None:
    # one plan a job, one operation a step, a unit of time one step of the grid; see test_sequence
    plans = [
        plan(f"job {i}", *(step("run", machine=m, machine_min=t * STEP_MIN) for m, t in row))
        for i, row in enumerate(ft06_rows())
    ]
    found = schedule(plans, start=MONDAY, working=EVENINGS)
    check(found, plans, {}, {})
    assert found.status == "optimal"
    assert found.finish == at(0, "00:00") + dt.timedelta(minutes=55 * STEP_MIN)


def test_a_print_started_at_night_runs_through_and_the_next_needs_hands() -> None:
    # by hand: 10 min from 18:00, then 7 h to 01:10; the printer is free then, hands are at 18:00 again
    plans = [plan(f"part-{i}", step("print", 10, "printer", 7 * 60)) for i in range(3)]
    found = schedule(plans, start=MONDAY, working=EVENINGS)
    check(found, plans, {}, {})
    assert (found.finish, found.status) == (at(3, "01:10"), "optimal")
    assert [load.machine_min.get("printer", 0.0) for load in found.days] == [350.0, 420.0, 420.0, 70.0]
    assert [(link.start, link.until, link.cause) for link in found.chain] == [
        (at(0, "18:00"), at(1, "01:10"), "start"),
        (at(1, "18:00"), at(2, "01:10"), "machine"),
        (at(2, "18:00"), at(3, "01:10"), "machine"),
    ]
    two = schedule(plans, start=MONDAY, working=EVENINGS, capacity={"printer": 2})
    check(two, plans, {"printer": 2}, {})
    assert two.finish == at(2, "01:10")


def test_runs_of_one_operation_are_started_one_by_one() -> None:
    at_once = [plan("part", step("print", 30, "printer", 21 * 60, waiting_min=60))]
    assert schedule(at_once, start=MONDAY, working=EVENINGS).finish == at(1, "16:30")
    plans = [plan("part", step("print", 30, "printer", 21 * 60, waiting_min=60, runs=3))]
    found = schedule(plans, start=MONDAY, working=EVENINGS)
    check(found, plans, {}, {})
    # by hand: three evenings with 10 min and 7 h each, then the wait
    assert [e.start for e in found.entries if e.phase == "hands"] == [at(d, "18:00") for d in range(3)]
    assert found.finish == at(3, "02:10")


def test_one_mold_gives_one_casting_a_night_and_only_the_last_is_waited_for() -> None:
    # by hand: three evenings with 20 min and 16 h to demold each; the last cures two more days by itself
    plans = [plan("part", step("pour", 60, "mold", 48 * 60, waiting_min=48 * 60, runs=3))]
    found = schedule(plans, start=MONDAY, working=EVENINGS)
    check(found, plans, {}, {})
    cures = [(e.start, e.end) for e in found.entries if e.phase == "machine"]
    assert cures == [(at(d, "18:20"), at(d + 1, "10:20")) for d in range(3)]
    assert found.finish == at(5, "10:20")


def pulls(rounds: int, machine: str = "mold", layers: int = 1) -> list[Operation]:
    """10 min to release, 10 min to pour each layer, 16 h of cure a layer, 5 min to demold, two days to harden."""
    return [
        step("release", 10 * rounds, runs=rounds, cycle="pull"),
        step(
            "pour",
            10 * layers * rounds,
            machine,
            16 * 60 * layers * rounds,
            48 * 60,
            runs=layers * rounds,
            cycle="pull",
            runs_in_cycle=layers,
            unbroken=True,
        ),
        step("demold", 5 * rounds, runs=rounds, cycle="pull"),
        step("trim", 15),
    ]


def test_a_mold_is_emptied_before_it_is_filled_again() -> None:
    # by hand: every evening what cured over night is demolded, and the mold is released and filled again; the
    # last casting is demolded, too, before it hardens for two days, and then all are trimmed
    plans = [plan("part", *pulls(3))]
    found = schedule(plans, start=MONDAY, working=EVENINGS)
    check(found, plans, {}, {})
    assert [(e.operation, e.run, e.start) for e in found.entries if e.phase == "hands"] == [
        ("release", 1, at(0, "18:00")),
        ("pour", 1, at(0, "18:10")),
        ("demold", 1, at(1, "18:00")),
        ("release", 2, at(1, "18:05")),
        ("pour", 2, at(1, "18:15")),
        ("demold", 2, at(2, "18:00")),
        ("release", 3, at(2, "18:05")),
        ("pour", 3, at(2, "18:15")),
        ("demold", 3, at(3, "18:00")),
        ("trim", 1, at(5, "18:05")),
    ]
    assert [(e.start, e.end) for e in found.entries if e.phase == "waiting"] == [
        (at(3, "18:05"), at(5, "18:05"))
    ]
    assert [link.operation for link in found.chain][-3:] == ["demold", "pour: wait", "trim"]


def test_pours_on_top_of_one_another_stay_in_the_mold_together() -> None:
    plans = [plan("part", *pulls(2, layers=2))]
    found = schedule(plans, start=MONDAY, working=EVENINGS)
    check(found, plans, {}, {})
    begun = [(e.operation, e.run) for e in found.entries if e.phase == "hands"]
    assert begun == [
        ("release", 1),
        ("pour", 1),
        ("pour", 2),
        ("demold", 1),
        ("release", 2),
        ("pour", 3),
        ("pour", 4),
        ("demold", 2),
        ("trim", 1),
    ]


def test_a_step_with_fewer_runs_takes_part_in_the_first_rounds() -> None:
    plans = [
        plan(
            "part",
            step("print", 30, "printer", 60, runs=3, cycle="plate"),
            step("take off", 20, runs=2, cycle="plate"),
            step("sand", 10),
        )
    ]
    found = schedule(plans, start=MONDAY, working=WorkingTime(8.0))
    check(found, plans, {}, {})
    begun = [(e.operation, e.run) for e in found.entries if e.phase == "hands"]
    assert begun == [("print", 1), ("take off", 1), ("print", 2), ("take off", 2), ("print", 3), ("sand", 1)]


def test_two_parts_take_turns_at_a_pot() -> None:
    # by hand: six loads of 16 h, and hands in the evening only: one load a night
    plans = [plan(part, *pulls(3, "pot")) for part in "ab"]
    found = schedule(plans, start=MONDAY, working=EVENINGS)
    check(found, plans, {}, {})
    loads = sorted((e.start, e.part) for e in found.entries if e.phase == "machine")
    assert [start.date() for start, _ in loads] == [MONDAY + dt.timedelta(days=d) for d in range(6)]
    assert sorted(part for _, part in loads) == list("aaabbb")


@settings(max_examples=40)
@given(
    st.integers(1, 5), st.integers(1, 3), st.sampled_from(("mold", "pot")), st.sampled_from((0.6, 2.0, 8.0))
)
def test_a_cycle_takes_as_much_of_everything_as_its_steps_alone(
    rounds: int, layers: int, machine: str, hours: float
) -> None:
    """On whole steps nothing is rounded: hands, machine and waiting are what the operations say."""
    plans = [plan("part", *pulls(rounds, machine, layers))]
    found = schedule(plans, start=MONDAY, working=WorkingTime(hours), effort_s=0.0)
    check(found, plans, {}, {})
    told: dict[str, float] = defaultdict(float)
    for e in found.entries:
        told[e.phase] += e.minutes
    assert told == {
        "hands": (15 + 10 * layers) * rounds + 15,
        "machine": 16 * 60 * layers * rounds,
        "waiting": 48 * 60,
    }


def test_what_must_not_be_broken_off_waits_for_an_evening_that_holds_it() -> None:
    # by hand: 30 min are gone of the first evening, so 100 min do not fit in what is left; sanding would be begun
    for unbroken, begun in ((True, [at(1, "18:00")]), (False, [at(0, "18:30"), at(1, "18:00")])):
        plans = [plan("part", step("prepare", 30), step("pour", 100, unbroken=unbroken))]
        found = schedule(plans, start=MONDAY, working=EVENINGS)
        check(found, plans, {}, {})
        assert [e.start for e in found.entries if e.operation == "pour"] == begun


def test_more_than_a_day_of_what_must_not_be_broken_off_is_as_few_batches_as_can_be() -> None:
    # by hand: 5 h in evenings of 2 h are three batches of 100 min
    plans = [plan("part", step("pour", 300, waiting_min=60, unbroken=True))]
    found = schedule(plans, start=MONDAY, working=EVENINGS)
    check(found, plans, {}, {})
    poured = [(e.start, e.end) for e in found.entries if e.phase == "hands"]
    assert poured == [(at(d, "18:00"), at(d, "19:40")) for d in range(3)]


def test_each_coat_dries_before_the_next() -> None:
    # by hand: three coats of 10 min that dry 8 h each; the first two evenings end in a night, the third in all
    plans = [plan("part", step("coat", 30, waiting_min=24 * 60, runs=3))]
    found = schedule(plans, start=MONDAY, working=EVENINGS)
    check(found, plans, {}, {})
    assert [e.start for e in found.entries if e.phase == "hands"] == [at(d, "18:00") for d in range(3)]
    assert found.finish == at(3, "02:10")


@settings(max_examples=40)
@given(
    st.integers(1, 8),
    st.integers(1, 24).map(lambda n: n * STEP_MIN),
    st.sampled_from((0.0, 45.5, 600.0, 3000.0)),
    st.sampled_from((0.0, 180.0, 4000.0)),
    st.sampled_from(("", "printer", "mold")),
)
def test_runs_begun_one_by_one_never_end_earlier_than_all_at_once(
    runs: int, hands_min: int, minutes: float, waiting_min: float, machine: str
) -> None:
    """Where all hands fit in one evening. Where they do not, runs can gain: the first is off in the first."""
    machine_min = minutes if machine else 0.0
    several = step("print", max(hands_min, runs * STEP_MIN), machine, machine_min, waiting_min, runs=runs)
    one = replace(several, runs=1)
    together, begun = (
        schedule([plan("part", s)], start=MONDAY, working=EVENINGS, effort_s=0.2) for s in (one, several)
    )
    check(begun, [plan("part", several)], {}, {})
    assert begun.finish >= together.finish
    for phase in ("hands", "machine", "waiting"):
        told = [sum(e.minutes for e in t.entries if e.phase == phase) for t in (together, begun)]
        assert told[0] == told[1]
    if machine_min or waiting_min:
        assert {e.run for e in begun.entries if e.phase == "hands"} == set(range(1, runs + 1))


def test_curing_needs_nobody_and_days_off_are_off() -> None:
    # by hand: 3 h of sanding are Monday and half of Wednesday; the coat cures into Thursday without hands
    plans = [plan("part", step("sand", 180), step("coat", 30, waiting_min=24 * 60), step("look", 5))]
    found = schedule(plans, start=MONDAY, working=read_working_time(2.0, "", "tuesday"))
    check(found, plans, {}, {})
    assert [(e.start, e.end) for e in found.entries] == [
        (at(0, "18:00"), at(0, "20:00")),
        (at(2, "18:00"), at(2, "19:00")),
        (at(2, "19:00"), at(2, "19:30")),
        (at(2, "19:30"), at(3, "19:30")),
        (at(3, "19:30"), at(3, "19:35")),
    ]
    assert {link.cause for link in found.chain} == {"start", "order"}
    assert all(e.is_critical for e in found.entries)


def test_molds_are_each_part_s_own_and_a_pot_is_for_all() -> None:
    for machine, nights in (("mold", 1), ("mold box", 1), ("pressure-pot-10l", 3)):
        plans = [plan(f"part-{i}", step("pour", 20, machine, 12 * 60)) for i in range(3)]
        found = schedule(plans, start=MONDAY, working=EVENINGS)
        check(found, plans, {}, {})
        assert found.finish.date() == MONDAY + dt.timedelta(days=nights)


def test_work_waits_for_what_is_delivered_and_other_work_does_not() -> None:
    plans = [
        plan("a", step("prepare", 15), step("print", 10, "printer", 60, uses="filament")),
        plan("b", step("sand", 30, uses="paper")),
    ]
    found = schedule(plans, start=MONDAY, working=EVENINGS, supply_days={"filament": 4})
    check(found, plans, {}, {"filament": 4})
    by_name = {e.operation: e.start for e in found.entries if e.phase == "hands"}
    assert by_name["print"] == at(4, "18:00")
    assert {by_name["prepare"].date(), by_name["sand"].date()} == {MONDAY}
    assert found.chain[0].cause == "delivery"


def test_only_what_is_bought_and_must_be_there_is_waited_for() -> None:
    packs = (Bought(Offer("any", "", "1", 1.0, 5.0, 5.0, 5.0, MONDAY, "", ""), 1),)

    def line(resource: str, kind: str, packs: tuple[Bought, ...]) -> BuyLine:
        return BuyLine(resource, "g", kind, 1.0, 0.0, packs, 5.0, 0.0, ("a",))

    lines = [
        line("filament", "material", packs),
        line("paper", "consumable", ()),
        line("printer-220", "tool", packs),
        line("screw", "bought", packs),
        line("sla-service", "service", ()),
    ]
    assert deliveries(lines, 4.0) == {"filament": 4.0, "printer-220": 4.0}


@settings(max_examples=25)
@given(
    # without work that must not be broken off: an evening that holds all of it may come later
    st.lists(st.lists(operations(unbroken=False), min_size=1, max_size=4), min_size=1, max_size=2).map(
        lambda found: [plan(f"part-{i}", *ops) for i, ops in enumerate(found)]
    ),
    st.lists(
        st.sampled_from((0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 4.1, 6.0, 24.0)), min_size=2, max_size=2, unique=True
    ),
)
def test_more_hours_a_day_never_end_later(plans: list[ProcessPlan], hours: list[float]) -> None:
    few, many = (schedule(plans, start=MONDAY, working=WorkingTime(h), effort_s=0.5) for h in sorted(hours))
    assert many.bound <= few.finish
    if many.status == "optimal":
        assert many.finish <= few.finish


@settings(max_examples=8)
@given(some_plans, st.sampled_from((1.0, 2.0)))
def test_the_order_of_the_plans_and_more_of_everything_never_hurt(
    plans: list[ProcessPlan], hours: float
) -> None:
    working = WorkingTime(hours)
    found = schedule(plans, start=MONDAY, working=working, effort_s=0.5)
    other = schedule(plans[::-1], start=MONDAY, working=working, effort_s=0.5)
    more = schedule(plans, start=MONDAY, working=working, capacity={"printer": 2, "pot": 2}, effort_s=0.5)
    fewer = schedule(plans[:-1], start=MONDAY, working=working, effort_s=0.5)
    if found.status == other.status == "optimal":
        assert found.finish == other.finish
    assert other.bound <= found.finish
    assert found.bound <= other.finish
    assert more.bound <= found.finish
    assert fewer.bound <= found.finish


def test_the_same_plans_give_the_same_timetable() -> None:
    plans = made_plans(5, seed=3)
    one, two = (schedule(plans, start=MONDAY, working=EVENINGS, effort_s=1.0) for _ in range(2))
    assert json.dumps(timetable_json(one)) == json.dumps(timetable_json(two))


def test_a_later_start_moves_everything_along() -> None:
    plans = made_plans(4, seed=9)
    one = schedule(plans, start=MONDAY, working=EVENINGS, effort_s=0.0)
    two = schedule(plans, start=MONDAY + dt.timedelta(days=11), working=EVENINGS, effort_s=0.0)
    assert [e.start + dt.timedelta(days=11) for e in one.entries] == [e.start for e in two.entries]


def test_hours_bound_the_days() -> None:
    # closed form: sittings of 30 min fill an evening of 2 h without a gap
    plans = [plan(f"part-{i}", step("sand", 30 * (i + 1))) for i in range(6)]
    found = schedule(plans, start=MONDAY, working=EVENINGS)
    minutes = sum(30 * (i + 1) for i in range(6))
    full, rest = divmod(minutes, 120)
    assert found.finish == at(full, "18:00") + dt.timedelta(minutes=rest)
    assert math.isclose(sum(load.hands_min for load in found.days), minutes)
    # hands are never idle, so all of it is one chain
    assert all(e.is_critical for e in found.entries)
    assert [link.cause for link in found.chain[1:]] == ["hands"] * (len(found.chain) - 1)
    for before, link in pairwise(found.chain):
        night = dt.timedelta(hours=22) if before.until.hour == 20 else dt.timedelta()
        assert link.start == before.until + night


def test_work_is_not_laid_down_for_other_work_of_the_same_kind() -> None:
    # by hand: 3 h and 3 h in evenings of 2 h are one and a half evenings each
    found = schedule([plan(i, step("sand", 180)) for i in "ab"], start=MONDAY, working=EVENINGS)
    hands = [(e.part, e.start, e.end) for e in found.entries]
    first, second = hands[0][0], hands[-1][0]
    assert {first, second} == {"a", "b"}
    assert hands == [
        (first, at(0, "18:00"), at(0, "20:00")),
        (first, at(1, "18:00"), at(1, "19:00")),
        (second, at(1, "19:00"), at(1, "20:00")),
        (second, at(2, "18:00"), at(2, "20:00")),
    ]


@pytest.mark.parametrize(
    ("plans", "more"),
    [
        ([plan("a", step("sand", 60.0 * 10_000))], {}),
        ([plan("a", step("cure", 10, waiting_min=11 * 366 * 24 * 60.0))], {}),
        ([plan("a", step("print", 10, "printer", 60 * 24 * 366 * 3)) for _ in range(4)], {}),
        ([plan("a", step("sand", 10))], {"working": read_working_time(2.0, "", "2026-01-01/2199-12-31")}),
        ([plan("a", step("sand", 10))], {"capacity": {"printer": 0}}),
    ],
)
def test_what_cannot_be_planned_is_told(plans: list[ProcessPlan], more: dict[str, object]) -> None:
    with pytest.raises(InputError) as caught:
        schedule(plans, **{"start": MONDAY, "working": EVENINGS, **more})  # type: ignore[arg-type]
    (fault,) = caught.value.faults
    assert fault.what
    assert fault.mend


def test_nothing_to_make_is_an_empty_timetable() -> None:
    found = schedule([], start=MONDAY, working=EVENINGS)
    assert (found.entries, found.chain, found.status) == ((), (), "optimal")


def lateness(found: Timetable, due: Mapping[str, dt.date]) -> dict[str, float]:
    """Days that parts end after their day."""
    ends = {part: dt.datetime.combine(day, dt.time()) + dt.timedelta(days=1) for part, day in due.items()}
    return {part: max(0.0, (found.ends[part] - end).total_seconds() / 86400.0) for part, end in ends.items()}


def test_what_is_needed_first_is_made_first() -> None:
    """Six equal parts of one evening each, every one due on the next day, in an order that is not theirs: by the
    earliest-due-date rule (Jackson 1955) nothing is late, in their own order four are."""
    plans = [plan(f"part-{i}", step("make", 120.0)) for i in range(6)]
    order = (3, 5, 0, 1, 4, 2)
    due = {f"part-{part}": MONDAY + dt.timedelta(days=day) for day, part in enumerate(order)}
    found = schedule(plans, start=MONDAY, working=EVENINGS, due=due, effort_s=2.0)
    assert [e.part for e in found.entries] == [f"part-{i}" for i in order]
    assert max(lateness(found, due).values()) == 0.0
    assert found.status == "optimal"


@given(st.integers(0, 10**6))
@settings(max_examples=12)
def test_days_on_which_parts_are_needed_are_heeded_before_the_finish(seed: int) -> None:
    """No more is late than without dates, and everything else holds as ever."""
    import random

    dice = random.Random(seed)
    plans = made_plans(6, seed)
    free = schedule(plans, start=MONDAY, working=EVENINGS, effort_s=0.2)
    last = (free.finish.date() - MONDAY).days
    due = {p.part: MONDAY + dt.timedelta(days=dice.randint(2, last)) for p in plans if dice.random() < 0.7}
    found = schedule(plans, start=MONDAY, working=EVENINGS, due=due, effort_s=0.2)
    check(found, plans, {}, {})
    assert sum(lateness(found, due).values()) <= sum(lateness(free, due).values()) + 1e-9
