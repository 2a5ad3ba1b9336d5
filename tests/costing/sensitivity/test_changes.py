"""The difference between two days is split exactly among what moved."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecost.costing.quantities import Quantities
from routecost.costing.ranking import rank_part
from routecost.costing.sensitivity.changes import Changes, part_change, price_shares
from routecost.costing.tariff import Tariff
from routecost.routes.process.operation import (
    OWN_HOUR,
    Operation,
    ProcessPlan,
    Reason,
    Usage,
    Verdict,
    own_time,
)
from routecost.routes.process.part import Part
from tests.costing.plans import DAY, RESOURCES, plans, tariff, tariffs

PART = Part("lid", "lid", 1)
ROUTES = ("cast", "order", "print")
LEVELS = ("suits", "changes", "ruled out")


@st.composite
def ways(draw: st.DrawFn) -> list[ProcessPlan]:
    """Alternatives of several routes, each with a verdict and a name of its own."""
    return [
        replace(
            plan,
            route=draw(st.sampled_from(ROUTES)),
            alternative=f"way {i}",
            verdict=Verdict((Reason(draw(st.sampled_from(LEVELS)), "drawn"),)),  # type: ignore[arg-type]
        )
        for i, plan in enumerate(draw(st.lists(plans(), min_size=1, max_size=6)))
    ]


def vectors(q: Quantities, *made: Tariff) -> list[np.ndarray]:
    return [t.vector(q.resources) for t in made]


def cents(*amounts: float) -> float:
    """Half a cent, or what floating point leaves of amounts so large."""
    return max(0.005, 1e-9 * max(abs(a) for a in amounts))


@given(st.lists(plans(), min_size=1, max_size=4), tariffs, tariffs)
def test_shares_add_up_to_the_difference_for_every_plan(made, old, new) -> None:
    q = Quantities.of(made)
    before, after = vectors(q, old, new)
    difference = q.cost(after) - q.cost(before)
    for share, d, c in zip(
        price_shares(q, before, after).sum(axis=1), difference, q.cost(after), strict=True
    ):
        assert share == pytest.approx(d, abs=cents(c, d))


@given(plans(), tariffs, tariffs)
def test_shares_are_the_slopes_summed_along_the_straight_way(plan, old, new) -> None:
    """Against the definition, by many short steps: d cost / d price, midpoint rule."""
    q = Quantities.of([plan])
    before, after = vectors(q, old, new)
    n = 400
    way = before[:, None] + (after - before)[:, None] * ((np.arange(n) + 0.5) / n)
    slopes = np.repeat(q.matrix.T, n, axis=1)
    for g in range(len(q.group_plan)):
        above = q.floors[g] - q.groups[g]
        slopes = slopes + above[:, None] * (above @ way > 0.0)
    expected = slopes.mean(axis=1) * (after - before)
    # each floor's kink may fall anywhere in one of the steps
    slack = np.abs((q.floors - q.groups) * (after - before)).sum(axis=0) / n + cents(*q.cost(after))
    assert (np.abs(price_shares(q, before, after)[0] - expected) <= slack + 1e-9 * np.abs(expected)).all()


@given(plans(), tariffs, tariffs)
def test_there_and_back_is_nothing_and_half_way_twice_is_the_whole(plan, old, new) -> None:
    q = Quantities.of([plan])
    before, after = vectors(q, old, new)
    there = price_shares(q, before, after)
    slack = cents(*q.cost(before), *q.cost(after))
    np.testing.assert_allclose(price_shares(q, after, before), -there, rtol=1e-9, atol=slack)
    middle = (before + after) / 2
    halves = price_shares(q, before, middle) + price_shares(q, middle, after)
    np.testing.assert_allclose(halves, there, rtol=1e-7, atol=slack)
    assert (there[0][before == after] == 0).all()


def test_a_floor_that_ceases_to_bind_by_hand() -> None:
    """4 units at 2, at least 20, becomes 4 at 7, at least 24: 20 to 28. The minimum binds while
    12 - 16 t > 0, three quarters of the way: 0.75 x 4 to the minimum, 0.25 x 4 x 5 to the volume."""
    order = Operation("order", (Usage("volume", 4, ""),), floor=Usage("minimum", 1, "one part"))
    q = Quantities.of([ProcessPlan("order", "lid", 1, "", (order,), Verdict(), 1.0)])
    shares = price_shares(q, np.array([2.0, 20.0]), np.array([7.0, 24.0]))[0]
    assert dict(zip(q.resources, shares, strict=True)) == pytest.approx({"volume": 5.0, "minimum": 3.0})


@given(ways(), tariffs, tariffs, st.sampled_from(["full", "spend"]))
def test_a_parts_terms_add_up_with_floors_and_flips(made, old, new, by) -> None:
    # what is owned does not change between the days
    new = replace(new, owned=old.owned, own_rate=old.own_rate)
    was, now = (rank_part(PART, made, t, 2.0, by) for t in (old, new))
    change = part_change(was, now, old, new, by)
    terms = sum(s.amount for s in change.prices) + change.quantities + change.choice
    slack = cents(change.before, change.after, *(s.amount for s in change.prices))
    assert terms == pytest.approx(change.difference, abs=slack)
    assert change.quantities == 0.0
    # what was best can still be made, so the best now costs no more than that
    assert change.choice <= slack
    assert change.flipped == ((was.best and was.best.route) != (now.best and now.best.route))
    assert OWN_HOUR not in {s.resource for s in change.prices}
    if was.best is not None and now.best is not None and was.best.plan is now.best.plan:
        assert (change.choice, change.why_choice) == (0.0, "")


def plan(route: str, *usages: Usage, way: str = "as usual") -> ProcessPlan:
    return ProcessPlan(route, "lid", 1, way, (Operation("make", usages),), Verdict(), 1.0)


def test_a_flip_by_hand() -> None:
    """Casting takes 100 g of resin, printing 50 g of paper at 1: resin from 0.2 to 0.9 makes 20 into 90, and
    printing for 50 is 40 less."""
    made = [plan("cast", Usage("resin", 100, "")), plan("print", Usage("paper", 50, ""))]
    old, new = (tariff({"resin": resin, "paper": 1.0}, 0.0) for resin in (0.2, 0.9))
    change = part_change(*(rank_part(PART, made, t, 2.0, "full") for t in (old, new)), old, new)
    assert (change.before, change.after) == (20.0, 50.0)
    assert [(s.resource, s.before, s.after) for s in change.prices] == [("resin", 0.2, 0.9)]
    assert change.prices[0].amount == pytest.approx(70.0)
    assert change.choice == pytest.approx(-40.0)
    assert change.flipped
    assert (change.route_before, change.route_after) == ("cast", "print")
    assert change.why_choice == "another route is best"


def test_quantities_that_newer_tables_change_are_a_term_of_their_own() -> None:
    """100 g at 0.2 and 1 h at 10 become 110 g at 0.3 and 1 h: price 100 x 0.1, quantities 10 x 0.3."""
    old, new = (tariff({"resin": resin}, 10.0) for resin in (0.2, 0.3))
    was = rank_part(PART, [plan("cast", Usage("resin", 100, ""), own_time(60, ""))], old, 2.0, "full")
    now = rank_part(PART, [plan("cast", Usage("resin", 110, ""), own_time(60, ""))], new, 2.0, "full")
    change = part_change(was, now, old, new)
    assert [s.amount for s in change.prices] == [pytest.approx(10.0)]
    assert change.quantities == pytest.approx(3.0)
    assert (change.choice, change.why_choice) == (0.0, "")


def test_a_way_that_is_not_offered_any_more() -> None:
    old, new = (tariff({"resin": resin}, 0.0) for resin in (0.2, 0.3))
    was = rank_part(PART, [plan("cast", Usage("resin", 100, ""), way="in one mold")], old, 2.0, "full")
    now = rank_part(PART, [plan("cast", Usage("resin", 150, ""), way="in two molds")], new, 2.0, "full")
    change = part_change(was, now, old, new)
    assert sum(s.amount for s in change.prices) == pytest.approx(10.0)
    assert change.choice == pytest.approx(15.0)
    assert "not offered" in change.why_choice


def test_a_price_that_has_run_out_is_named() -> None:
    old, new = tariff({"volume": 1.0, "paper": 1.0}, 0.0), tariff({"paper": 1.0}, 0.0)
    was = rank_part(PART, [plan("order", Usage("volume", 5, ""))], old, 2.0, "full")
    now = rank_part(PART, [plan("print", Usage("paper", 9, ""))], new, 2.0, "full")
    change = part_change(was, now, old, new)
    assert (change.prices, change.choice) == ((), 4.0)
    assert "'volume' has no price on" in change.why_choice


def test_a_part_that_no_route_can_make_counts_nothing() -> None:
    t = tariff({"resin": 1.0}, 0.0)
    no = replace(plan("cast", Usage("resin", 5, "")), verdict=Verdict((Reason("ruled out", "too hot"),)))
    able = rank_part(PART, [plan("cast", Usage("resin", 5, ""))], t, 2.0, "full")
    unable = rank_part(PART, [no], t, 2.0, "full")
    lost, won = part_change(able, unable, t, t), part_change(unable, able, t, t)
    assert (lost.choice, lost.route_after, lost.why_choice) == (-5.0, "", "every route is ruled out")
    assert (won.choice, won.route_before, won.why_choice) == (5.0, "", "no route could make it before")
    assert part_change(unable, unable, t, t).difference == 0.0


@given(st.lists(ways(), min_size=1, max_size=3), tariffs, tariffs)
def test_the_frame_and_the_resources_add_up_to_the_bill(made, old, new) -> None:
    new = replace(new, owned=old.owned, own_rate=old.own_rate)
    parts = tuple(
        part_change(*(rank_part(PART, m, t, 2.0, "full") for t in (old, new)), old, new) for m in made
    )
    c = Changes(parts, DAY, DAY, "EUR", "full")
    slack = cents(c.before, c.after, *(abs(s.amount) for s in c.by_resource))
    assert c.frame()["amount_eur"].sum() == pytest.approx(c.after - c.before, abs=slack)
    rest = sum(p.quantities + p.choice for p in parts)
    assert sum(s.amount for s in c.by_resource) + rest == pytest.approx(c.after - c.before, abs=slack)
    assert {s.resource for s in c.by_resource} <= set(RESOURCES)
