"""What hours and days are worth in money, against the best of every plan within each limit."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from routecost.buying.totals import Totals
from routecost.planning.choosing.choice import bill_problem, choose
from routecost.planning.choosing.limits import Limits, Objective
from routecost.planning.comparing.frontier import Axis, Point, frontier, trades
from tests.planning.small_bills import Candidates, best_by_trial, by_hand, combinations, random_bill

CENT = 0.01
GAP = 0.05
seeds = st.integers(0, 10**6)
few = settings(max_examples=50, suppress_health_check=[HealthCheck.too_slow])
AGAINST: tuple[Axis, ...] = ("own-hours", "days")
against = st.sampled_from(AGAINST)


def of(found: Totals, what: Axis) -> float:
    return found.own_hours if what == "own-hours" else found.lead_days


def within(limit: float, what: Axis) -> Limits:
    return Limits(own_hours=limit) if what == "own-hours" else Limits(days=limit)


def points_of(bill: Candidates, what: Axis, gap: float = GAP) -> tuple[Point, ...]:
    problem = bill_problem(bill.parts, bill.options, bill.shop)
    return frontier(problem, Limits(), what, points=5, gap=gap)


@given(seeds, against)
@few
def test_every_point_is_the_least_outlay_within_its_limit(seed: int, what: Axis) -> None:
    """Exhaustive enumeration; every point says how far it may be from it."""
    bill = random_bill(seed)
    for point in points_of(bill, what):
        assert of(point.totals, what) <= point.limit * (1.0 + 1e-6) + 1e-6
        best = best_by_trial(bill, Objective(), within(point.limit * (1.0 + 1e-8) + 1e-8, what))
        assert point.totals.outlay >= best - CENT
        assert point.bound <= best + CENT
        assert point.gap <= GAP
        mine = by_hand(bill, [option.plan for option in point.totals.options])
        assert mine.outlay == pytest.approx(point.totals.outlay, abs=CENT)


@given(seeds, against)
@few
def test_no_point_undercuts_another_and_more_never_costs_more(seed: int, what: Axis) -> None:
    for before, point in pairwise(points_of(random_bill(seed, parts=5), what)):
        assert of(before.totals, what) < of(point.totals, what)
        assert before.totals.outlay > point.totals.outlay


@given(seeds, against)
@few
def test_it_reaches_from_the_fewest_to_the_least_outlay(seed: int, what: Axis) -> None:
    bill = random_bill(seed)
    points = points_of(bill, what, gap=0.0)
    every = [by_hand(bill, chosen) for chosen in combinations(bill)]
    fewest = min(e.own_hours if what == "own-hours" else e.lead_days for e in every)
    assert of(points[0].totals, what) == pytest.approx(fewest, abs=0.01)
    assert points[-1].totals.outlay == pytest.approx(min(e.outlay for e in every), abs=CENT)


@given(seeds, against)
@few
def test_the_plan_at_hand_takes_part_and_its_neighbours_are_trades(seed: int, what: Axis) -> None:
    bill = random_bill(seed)
    problem = bill_problem(bill.parts, bill.options, bill.shop)
    known = choose(problem, Objective("full"), Limits())
    assert known.totals is not None
    points = frontier(problem, Limits(), what, known, points=4, gap=GAP)
    # it is on the frontier, or something on it is no worse in both
    assert any(
        of(p.totals, what) <= of(known.totals, what) + 1e-6 and p.totals.outlay <= known.totals.outlay
        for p in points
    )
    offered = {(of(p.totals, what), p.totals.outlay) for p in points}
    for trade in trades(points, known.totals):
        assert math.copysign(1.0, trade.more) == math.copysign(1.0, trade.saves)
        taken = (of(known.totals, what) + trade.more, known.totals.outlay - trade.saves)
        assert any(taken == pytest.approx(other) for other in offered)


def test_nothing_possible_has_no_frontier() -> None:
    bill = random_bill(3)
    problem = bill_problem((*bill.parts, "impossible"), bill.options, bill.shop)
    for what in AGAINST:
        assert frontier(problem, Limits(), what) == ()
