"""Copies and rates: the part is planned anew, and not more often than it takes."""

from __future__ import annotations

from functools import cache
from itertools import pairwise
from math import ceil, exp

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from routecost.core.errors import Fault
from routecost.costing.sensitivity.replanning import (
    WITHIN,
    BestByRoute,
    best_by_route,
    copies_steps,
    copies_thresholds,
    range_of,
    rate_thresholds,
    rates_of,
)
from routecost.routes.process.operation import ProcessPlan, Usage
from routecost.shop.machines import Printer
from routecost.shop.shop import Shop, read_tables
from routecost.shop.standards import CastingStandards
from tests.costing.plans import DAY, tariff
from tests.costing.sensitivity.test_changes import plan

MONEY = tariff({"minimum": 1.0}, 0.0)


def stands(costs: dict[str, float], levels: dict[str, str] | None = None) -> BestByRoute:
    """Routes of given costs, as the ranking puts them."""
    made = [plan(route, Usage("minimum", cost, "")) for route, cost in costs.items()]
    found = best_by_route(made, MONEY, 2.0, "full")
    return BestByRoute(found.figures, found.levels | (levels or {}))


@st.composite
def stepped(draw: st.DrawFn) -> dict[str, tuple[float, float, int, float]]:
    """Routes that cost: to begin with, for each batch, copies in a batch, for each copy."""
    one = st.tuples(st.integers(0, 400), st.integers(0, 60), st.integers(1, 30), st.integers(0, 20))
    return {route: draw(one) for route in ("cast", "order", "print")[: draw(st.integers(1, 3))]}


def cost_of(route: tuple[float, float, int, float], n: int) -> float:
    first, batch, size, each = route
    return first + batch * ceil(n / size) + each * n


@given(stepped())
def test_steps_agree_with_planning_every_number(routes) -> None:
    def at(n: int) -> BestByRoute:
        return stands({name: cost_of(route, n) for name, route in routes.items()})

    steps = copies_steps("lid", at, 1, 200)
    assert [s.from_copies for s in steps[1:]] == [s.to_copies + 1 for s in steps[:-1]]
    assert (steps[0].from_copies, steps[-1].to_copies) == (1, 200)
    assert all(a.route != b.route for a, b in pairwise(steps))
    for s in steps:
        for n in range(s.from_copies, s.to_copies + 1):
            assert at(n).best == s.route
        assert (s.figure_from, s.figure_to) == (at(s.from_copies).figure, at(s.to_copies).figure)


def test_three_routes_by_quantity_without_looking_at_every_number() -> None:
    """400 000 + 35 n, 200 000 + 50 n, 110 n (derived): crossings at 3 333.33 and 13 333.33, never at 5 333.33."""
    looked: list[int] = []

    def at(n: int) -> BestByRoute:
        looked.append(n)
        return stands({"tooled": 400_000 + 35 * n, "half": 200_000 + 50 * n, "loose": 110 * n})

    steps = copies_steps("lid", at, 1, 20_000)
    assert [(s.from_copies, s.route) for s in steps] == [(1, "loose"), (3334, "half"), (13334, "tooled")]
    assert len(looked) == len(set(looked)) < 200
    found = copies_thresholds(steps, 5333)
    assert [(x.at, x.other, x.figure) for x in found] == [
        (3333, "loose", 110 * 3333),
        (13334, "tooled", 400_000 + 35 * 13334),
    ]
    assert copies_thresholds(steps, 20_000)[0].at == 13333
    assert [x.at for x in copies_thresholds(steps, 1)] == [3334]


def test_a_cost_that_falls_at_a_known_number_is_found() -> None:
    """A quote for 60 makes ordering cheaper than casting from 60 on, and not for long."""

    def at(n: int) -> BestByRoute:
        return stands({"cast": 100 + 5 * n, "order": 10 * n if n < 60 else 6.5 * n})

    steps = copies_steps("lid", at, 1, 200, breaks=(60, 900))
    assert [(s.from_copies, s.route) for s in steps] == [
        (1, "order"),
        (20, "cast"),
        (60, "order"),
        (67, "cast"),
    ]
    assert at(20).figures["cast"] == at(20).figures["order"]  # equal: what the ranking puts first


def test_a_verdict_that_turns_with_copies_is_found() -> None:
    def at(n: int) -> BestByRoute:
        too_many = n > 37
        return stands(
            {"cast": 5.0 * n} if too_many else {"cast": 5.0 * n, "print": 1.0 * n},
            {"print": "ruled out" if too_many else "suits"},
        )

    steps = copies_steps("lid", at, 1, 200)
    assert [(s.from_copies, s.to_copies, s.route) for s in steps] == [(1, 37, "print"), (38, 200, "cast")]


@cache
def shop() -> Shop:
    faults: list[Fault] = []
    made = read_tables(None, faults).shop(DAY, faults)
    assert not faults
    return made


@given(st.floats(1, 100), st.floats(1, 1000))
def test_a_yield_where_pulls_cost_as_much_as_ordering(pull: float, ordered: float) -> None:
    """Pulls cost a / y, ordering b: the same at y = a / b, in closed form."""
    fact = shop().facts["casting.yield_clear"]
    found = rate_thresholds("lid", fact, (0.05, 1.0), lambda y: stands({"cast": pull / y, "order": ordered}))
    same = pull / ordered
    if 0.051 < same < 0.999 and abs(same - fact.value) > WITHIN * fact.value:
        (x,) = found
        assert abs(x.at - same) <= x.within + 1e-12
        assert x.within <= WITHIN * fact.value / 2 * (1 + 1e-9)
        assert {x.route, x.other} == {"cast", "order"}
        assert (x.route == "cast") == (same < fact.value) == (not x.up)
    elif not 0.05 <= same <= 1.0:
        assert found == ()


@pytest.mark.parametrize("ordered", [20.0, 60.0, 500.0])
def test_a_failure_rate_where_restarts_cost_as_much_as_ordering(ordered: float) -> None:
    """Expected hours of a job of T hours that restarts when it fails: (exp(rate T) - 1) / rate (renewal
    result, e.g. Ross, Introduction to Probability Models); the root by a reference library."""
    fact = shop().facts["printer-220.failure_per_h"]

    def hours(rate: float) -> float:
        return (exp(15 * rate) - 1) / rate if rate else 15.0

    found = rate_thresholds(
        "lid",
        fact,
        (0.0, 0.5),
        lambda rate: stands({"print": hours(rate), "order": ordered}),
    )
    (x,) = found
    expected = brentq(lambda rate: hours(rate) - ordered, 1e-6, 0.5)
    assert abs(x.at - expected) <= x.within
    assert (x.name, x.unit, x.up) == ("printer-220.failure_per_h", "1/hour", True)


def test_one_fact_changes_and_nothing_else() -> None:
    changed = shop().with_values({"printer-220.failure_per_h": 0.2})
    before, after = (
        {(type(t), t.id): t for things in s.things.values() for t in things} for s in (shop(), changed)
    )
    assert {key for key in before if before[key] != after[key]} == {(Printer, "printer-220")}
    assert changed.one(Printer, "printer-220").failure_per_h == 0.2
    assert changed.facts["printer-220.failure_per_h"].value == 0.2
    assert shop().one(Printer, "printer-220").failure_per_h != 0.2
    assert shop().with_values({"casting.yield_clear": 0.5}).the(CastingStandards).yield_clear == 0.5


def test_rates_are_looked_at_within_four_times_and_what_their_columns_allow() -> None:
    for ref, value, expected in (
        ("printer-220.failure_per_h", 0.01, (0.0025, 0.04)),
        ("printer-220.failure_per_h", 0.2, (0.05, 0.5)),
        ("printer-220.failure_per_h", 0.0, (0.0, 0.5)),
        ("casting.yield_clear", 0.8, (0.2, 1.0)),
        ("casting.yield_clear", 0.1, (0.05, 0.4)),
    ):
        assert range_of(shop().with_values({ref: value}), ref) == pytest.approx(expected)


def test_rates_are_those_that_draws_name() -> None:
    facts = ("casting.yield_clear", "casting.mix_min", "printer-220.failure_per_h")
    made: list[ProcessPlan] = [
        plan("cast", Usage("minimum", 1, "", facts[:2])),
        plan("print", Usage("minimum", 1, "")),
    ]
    assert rates_of(made) == ("casting.yield_clear",)
    assert rates_of([plan("cast", Usage("minimum", 1, "", facts))]) == (facts[0], facts[2])
