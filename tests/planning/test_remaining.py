"""What is left of a plan that is begun, from rows written by hand."""

from __future__ import annotations

import datetime as dt

import pytest

from routecost.builds.rows import LogRow
from routecost.planning.remaining import rest_of
from routecost.routes.operation import ProcessPlan, Verdict
from tests.planning.made_plans import step

STEPS = ("prepare the print of the master", "print the master", "build the mold", "pour resin", "trim")
PLAN = ProcessPlan(
    "cast", "lid", 4, "", tuple(step(name, 40.0, waiting_min=60.0) for name in STEPS), Verdict(), 0.0
)


def row(operation: str, copies: int | None = None, outcome: str = "") -> LogRow:
    return LogRow(date=dt.date(2026, 3, 2), part="lid", route="cast", operation=operation, copies=copies,
                  outcome=outcome)  # fmt: skip


def test_nothing_logged_leaves_the_plan_itself() -> None:
    assert rest_of(PLAN, []).rest is PLAN
    assert rest_of(PLAN, [row("paint")]).rest is PLAN


def test_steps_before_the_last_that_is_done_are_done_too() -> None:
    found = rest_of(PLAN, [row("build the mold")])
    assert [op.name for op in found.rest.operations] == ["pour resin", "trim"]
    assert (found.steps_done, found.last_done) == (3, "build the mold")


def test_of_a_step_done_for_some_copies_their_share_is_left_out() -> None:
    found = rest_of(PLAN, [row("build the mold"), row("pour resin", 1), row("Pour  Resin", 2)])
    pour, trim = found.rest.operations
    assert pour.hands_on_min == pytest.approx(10.0)
    assert pour.waiting_min == pytest.approx(15.0)
    assert trim.hands_on_min == pytest.approx(40.0)


def test_failures_and_copies_counted_as_done_are_no_progress() -> None:
    rows = [row("pour resin", 2), row("pour resin", 3, "failed")]
    assert rest_of(PLAN, rows, done=2).rest is PLAN
    found = rest_of(PLAN, rows, done=1)
    assert found.rest.operations[3].hands_on_min == pytest.approx(30.0)


def test_a_beginning_that_two_steps_share_tells_nothing() -> None:
    assert rest_of(PLAN, [row("pr")]).rest is PLAN
    assert rest_of(PLAN, [row("print")]).steps_done == 2


def test_the_last_step_done_leaves_nothing() -> None:
    assert rest_of(PLAN, [row("trim", 4)]).rest.operations == ()
