"""What is left of a plan that is begun, from rows written by hand."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest

from routecost.builds.build_tables import LogRow
from routecost.planning.progress.remaining_work import remaining_work
from routecost.routes.process.operation import ProcessPlan, Verdict
from tests.planning.made_plans import step

STEPS = ("prepare the print of the master", "print the master", "build the mold", "pour resin", "trim")
START = dt.date(2026, 3, 2)
LATER = dt.date(2026, 3, 9)
"""When every wait that was begun is over."""
PLAN = ProcessPlan(
    "cast", "lid", 4, "", tuple(step(name, 40.0, waiting_min=60.0) for name in STEPS), Verdict(), 0.0
)


def row(operation: str, copies: int | None = None, outcome: str = "") -> LogRow:
    return LogRow(
        date=dt.date(2026, 3, 2),
        part="lid",
        route="cast",
        operation=operation,
        copies=copies,
        outcome=outcome,
    )


def test_nothing_logged_leaves_the_plan_itself() -> None:
    assert remaining_work(PLAN, [], START).rest is PLAN
    assert remaining_work(PLAN, [row("paint")], START).rest is PLAN


def test_steps_before_the_last_that_is_done_are_done_too() -> None:
    found = remaining_work(PLAN, [row("build the mold")], LATER)
    assert [op.name for op in found.rest.operations] == ["pour resin", "trim"]
    assert (found.steps_done, found.last_done) == (3, "build the mold")


def test_of_a_step_done_for_some_copies_their_share_is_left_out() -> None:
    found = remaining_work(PLAN, [row("build the mold"), row("pour resin", 1), row("Pour  Resin", 2)], LATER)
    pour, trim = found.rest.operations
    assert pour.hands_on_min == pytest.approx(10.0)
    assert pour.waiting_min == pytest.approx(15.0)
    assert trim.hands_on_min == pytest.approx(40.0)


def test_what_a_later_step_was_done_for_the_earlier_ones_were_too() -> None:
    """Two of four copies poured: the master and the mold are there, whoever forgot to write them down."""
    steps = [replace(op, once=i < 3) for i, op in enumerate(PLAN.operations)]
    cast = replace(PLAN, operations=tuple(steps))
    found = remaining_work(cast, [row("trim", 1), row("pour resin", 2)], START)
    pour, trim = found.rest.operations
    assert (pour.name, pour.hands_on_min) == ("pour resin", pytest.approx(20.0))
    assert (trim.name, trim.hands_on_min) == ("trim", pytest.approx(30.0))
    # copies that are done leave the mold behind even where nothing is logged
    assert [op.name for op in remaining_work(cast, [], START, done=1).rest.operations] == [
        "pour resin",
        "trim",
    ]


def test_a_cure_that_is_under_way_is_waited_for_and_not_begun_again() -> None:
    cured = replace(PLAN, operations=(step("pour", 30.0, waiting_min=3 * 1440.0), step("trim", 10.0)))
    wait, trim = remaining_work(cured, [row("pour")], START + dt.timedelta(days=2)).rest.operations
    assert (wait.hands_on_min, wait.usages, wait.waiting_min) == (0.0, (), pytest.approx(1440.0))
    assert trim.name == "trim"
    assert len(remaining_work(cured, [row("pour")], START + dt.timedelta(days=3)).rest.operations) == 1


def test_what_has_been_ordered_is_paid_and_on_its_way() -> None:
    made = replace(
        step("printed by a service", waiting_min=9 * 1440.0, uses="volume"),
        waiting_facts=("service.lead_days",),
    )
    ordered = replace(PLAN, operations=(step("order", 15.0), made, step("trim", 10.0)))
    coming, _trim = remaining_work(ordered, [row("order")], START + dt.timedelta(days=4)).rest.operations
    assert (coming.usages, coming.waiting_min) == ((), pytest.approx(5 * 1440.0))


def test_failures_and_copies_counted_as_done_are_no_progress() -> None:
    rows = [row("pour resin", 2), row("pour resin", 3, "failed")]
    assert remaining_work(PLAN, rows, START, done=2).rest == PLAN
    found = remaining_work(PLAN, rows, START, done=1)
    assert found.rest.operations[3].hands_on_min == pytest.approx(30.0)


def test_a_beginning_that_two_steps_share_tells_nothing() -> None:
    assert remaining_work(PLAN, [row("pr")], START).rest is PLAN
    assert remaining_work(PLAN, [row("print")], LATER).steps_done == 2


def test_the_last_step_done_leaves_nothing() -> None:
    assert remaining_work(PLAN, [row("trim", 4)], LATER).rest.operations == ()
