"""What own hours are worth in money, against the best of every plan within each limit."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from routecost.planning.choosing.choice import bill_problem, choose
from routecost.planning.choosing.limits import Limits, Objective
from routecost.planning.comparing.frontier import Point, frontier, trades
from tests.planning.small_bills import Candidates, best_by_trial, by_hand, combinations, random_bill

CENT = 0.01
GAP = 0.05
seeds = st.integers(0, 10**6)
few = settings(max_examples=50, suppress_health_check=[HealthCheck.too_slow])


def points_of(bill: Candidates, gap: float = GAP) -> tuple[Point, ...]:
    problem = bill_problem(bill.parts, bill.options, bill.shop)
    return frontier(problem, Limits(), points=5, gap=gap)


@given(seeds)
@example(0)
@few
def test_every_point_is_the_least_outlay_within_its_limit(seed: int) -> None:
    """Exhaustive enumeration; every point says how far it may be from it."""
    bill = random_bill(seed)
    for point in points_of(bill):
        assert point.totals.own_hours <= point.limit * (1.0 + 1e-6) + 1e-6
        best = best_by_trial(bill, Objective(), Limits(own_hours=point.limit * (1.0 + 1e-8) + 1e-8))
        assert point.totals.outlay >= best - CENT
        assert point.bound <= best * (1.0 + 1e-6) + 1e-6
        assert point.gap <= GAP
        mine = by_hand(bill, [option.plan for option in point.totals.options])
        assert mine.outlay == pytest.approx(point.totals.outlay, abs=CENT)


@given(seeds)
@few
def test_no_point_undercuts_another_and_more_never_costs_more(seed: int) -> None:
    for before, point in pairwise(points_of(random_bill(seed, parts=5))):
        assert before.totals.own_hours < point.totals.own_hours
        assert before.totals.outlay > point.totals.outlay


@given(seeds)
@few
def test_it_reaches_from_the_fewest_to_the_least_outlay(seed: int) -> None:
    bill = random_bill(seed)
    points = points_of(bill, gap=0.0)
    every = [by_hand(bill, chosen) for chosen in combinations(bill)]
    assert points[0].totals.own_hours == pytest.approx(min(e.own_hours for e in every), abs=0.01)
    assert points[-1].totals.outlay == pytest.approx(min(e.outlay for e in every), abs=CENT)


@given(seeds)
@few
def test_the_known_plan_is_a_point_and_its_neighbours_are_trades(seed: int) -> None:
    bill = random_bill(seed)
    problem = bill_problem(bill.parts, bill.options, bill.shop)
    known = choose(problem, Objective("full"), Limits())
    assert known.totals is not None
    points = frontier(problem, Limits(), known, points=4, gap=GAP)
    # it is on the frontier, or something on it is no worse in both
    assert any(
        p.totals.own_hours <= known.totals.own_hours + 1e-6 and p.totals.outlay <= known.totals.outlay
        for p in points
    )
    offered = {(p.totals.own_hours, p.totals.outlay) for p in points}
    for trade in trades(points, known.totals):
        assert math.copysign(1.0, trade.more_hours) == math.copysign(1.0, trade.saves)
        taken = (known.totals.own_hours + trade.more_hours, known.totals.outlay - trade.saves)
        assert any(taken == pytest.approx(other) for other in offered)


def test_an_infeasible_problem_has_no_frontier() -> None:
    bill = random_bill(3)
    problem = bill_problem((*bill.parts, "impossible"), bill.options, bill.shop)
    assert frontier(problem, Limits()) == ()
