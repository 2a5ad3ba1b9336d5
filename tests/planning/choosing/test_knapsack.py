"""A published knapsack through the same program that chooses for bills."""

from __future__ import annotations

import itertools

import pytest

from routecost.planning.choosing.choice import bill_problem, choose
from routecost.planning.choosing.limits import Limits, Objective
from routecost.routes.process.operation import Operation, Usage, own_time
from tests.planning.small_bills import Candidates, plan

# J. Burkardt's collection of data for the 0/1 knapsack problem, ten items (from memory; its optimum is proven below)
CAPACITY = 165
WEIGHTS = (23, 31, 29, 44, 53, 38, 63, 85, 89, 82)
VALUES = (92, 57, 49, 68, 60, 43, 67, 84, 87, 72)
BEST = 309


def knapsack(paid_in: str) -> Candidates:
    """Each item a part: made by hand it takes its value in hours, bought its weight in money. So a budget is the
    knapsack's capacity, and hours that are saved are the value in it."""
    plans = []
    for i, (weight, value) in enumerate(zip(WEIGHTS, VALUES, strict=True)):
        by_hand = Operation("make", (own_time(60.0 * value, "value"),))
        paid = Operation("pay", (Usage(paid_in, float(weight), "weight"),))
        plans += [plan(f"item-{i}", "hand", [by_hand]), plan(f"item-{i}", "paid", [paid])]
    return Candidates(tuple(f"item-{i}" for i in range(10)), tuple(plans), {paid_in: [(1, 1.0)]}, {})


def test_the_published_optimum_is_that_of_enumeration() -> None:
    taken = itertools.product((0, 1), repeat=10)
    fits = [t for t in taken if sum(w for w, x in zip(WEIGHTS, t, strict=True) if x) <= CAPACITY]
    assert max(sum(v for v, x in zip(VALUES, t, strict=True) if x) for t in fits) == BEST


@pytest.mark.parametrize("paid_in", ["electricity", "resin"])
def test_a_budget_saves_as_many_hours_as_the_published_knapsack_holds(paid_in: str) -> None:
    """Paid as used, and in whole packs of one unit."""
    bill = knapsack(paid_in)
    problem = bill_problem(bill.parts, bill.options, bill.shop)
    found = choose(problem, Objective("own-time"), Limits(budget=float(CAPACITY)))
    assert found.status == "optimal"
    assert found.totals is not None
    assert found.value == pytest.approx(sum(VALUES) - BEST)
    assert found.totals.outlay <= CAPACITY
    # and the other way round: so few hours cost no less than what is in the knapsack
    back = choose(problem, Objective(), Limits(own_hours=found.value))
    assert back.status == "optimal"
    assert back.value == pytest.approx(CAPACITY)
