"""A threshold is a price at which two routes cost the same, and beyond which the other one is best."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routecost.costing.ranking import contenders, figures, in_order, rank_part
from routecost.costing.sensitivity.thresholds import Threshold, nearest_first, price_thresholds
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
from tests.costing.plans import RESOURCES, tariff, tariffs
from tests.costing.sensitivity.test_changes import PART, plan, ways

whole = st.integers(0, 40).map(float)


def set_price(t: Tariff, resource: str, price: float) -> Tariff:
    """The tariff with one unit price changed."""
    if resource == OWN_HOUR:
        return t.with_rate(price)
    offer = t.prices.offer(resource)
    moved = replace(offer, pack_price=price * offer.pack_quantity)
    return replace(t, prices=replace(t.prices, offers={**t.prices.offers, resource: (moved,)}))


def costs(made: list[ProcessPlan], t: Tariff, by: str = "full") -> dict[str, float]:
    """What each route that is not ruled out costs, by the ranking itself."""
    ranked = rank_part(PART, made, t, 2.0, by)  # type: ignore[arg-type]
    able = [e for e in ranked.estimates if e.plan.verdict.level != "ruled out"]
    return {e.route: e.full if by == "full" else e.spend for e in able}


@st.composite
def plain_ways(draw: st.DrawFn) -> list[ProcessPlan]:
    """Routes with small whole quantities, so that lines cross in plain places; some with an order's minimum."""
    made = []
    for i in range(draw(st.integers(2, 7))):
        steps = [Operation("make", tuple(Usage(r, draw(whole), "") for r in ("resin", "paper", OWN_HOUR)))]
        for _ in range(draw(st.integers(0, 2))):
            floor = Usage("minimum", draw(whole), "")
            steps.append(Operation("order", (Usage("volume", draw(whole), ""),), floor=floor))
        level = draw(st.sampled_from(("suits", "suits", "changes", "ruled out")))
        route = draw(st.sampled_from(("cast", "order", "print")))
        made.append(
            ProcessPlan(route, "lid", 1, f"way {i}", tuple(steps), Verdict((Reason(level, ""),)), 1.0)  # type: ignore[arg-type]
        )
    return made


plain_tariffs = st.builds(
    lambda prices, rate: tariff(prices, rate),
    st.fixed_dictionaries({r: st.integers(1, 60).map(lambda n: n / 4) for r in RESOURCES}),
    st.integers(0, 60).map(lambda n: n / 4),
)


@given(plain_ways(), plain_tariffs, st.sampled_from(["full", "spend"]))
def test_at_a_threshold_two_routes_cost_the_same_and_beyond_it_the_other_is_best(made, t, by) -> None:
    for x in price_thresholds(rank_part(PART, made, t, 2.0, by), t, by):
        there = costs(made, set_price(t, x.name, x.at), by)
        assert there[x.route] == pytest.approx(there[x.other], abs=0.005)
        assert x.figure == pytest.approx(there[x.route], abs=0.005)
        assert min(there.values()) == pytest.approx(x.figure, abs=0.005)
        hair = 1e-7 * max(1.0, x.at) * (1 if x.up else -1)
        if x.at == x.today:
            continue  # two routes cost the same today already, and either side may be meant
        beyond, short = (costs(made, set_price(t, x.name, x.at + h), by) for h in (hair, -hair))
        assert beyond[x.other] < beyond[x.route]
        assert short[x.route] < short[x.other]


@given(plain_ways(), plain_tariffs, st.sampled_from(["full", "spend"]))
@settings(max_examples=60)
def test_no_route_is_better_before_the_threshold_and_none_at_all_where_there_is_none(made, t, by) -> None:
    """Against the ranking itself at many prices."""
    ranked = rank_part(PART, made, t, 2.0, by)
    if ranked.best is None:
        return
    found = price_thresholds(ranked, t, by)
    for resource in ranked.amounts.quantities.resources:
        today = t.unit_price(resource)
        down = max((x.at for x in found if x.name == resource and x.at <= today), default=0.0)
        up = min((x.at for x in found if x.name == resource and x.at > today), default=1e4)
        up = today if any(x.name == resource and x.at == today for x in found) else up
        for price in np.linspace(down, up, 41):
            there = costs(made, set_price(t, resource, float(price)), by)
            assert there[ranked.best.route] <= min(there.values()) + 1e-6


@given(ways(), tariffs)
def test_thresholds_of_any_plans_at_any_scale(made, t) -> None:
    for x in price_thresholds(rank_part(PART, made, t, 2.0, "full"), t):
        there = costs(made, set_price(t, x.name, x.at))
        assert there[x.route] == pytest.approx(there[x.other], abs=0.005, rel=1e-9)
        assert min(there.values()) == pytest.approx(x.figure, abs=0.005, rel=1e-9)


@given(ways(), tariffs, st.sampled_from(["full", "spend", "own-time", "lead-time"]))
def test_the_best_plan_is_the_lowest_of_the_contenders(made, t, by) -> None:
    ranked = rank_part(PART, made, t, 2.0, by)
    rows = contenders(made)
    assert (ranked.best is None) == (not rows)
    if ranked.best is not None:
        figure = figures(ranked.amounts, by)
        assert figure[ranked.order[ranked.best.route][0]] == min(figure[i] for i in rows)
        assert list(in_order(made, figure, ranked.amounts.full)) == [e.route for e in ranked.estimates]


@pytest.mark.parametrize(
    ("today", "route", "expected"),
    [
        (1000.0, "loose", {"half": 3333.33}),
        (5333.33, "half", {"loose": 3333.33, "tooled": 13333.33}),
        (20000.0, "tooled", {"half": 13333.33}),
    ],
)
def test_lower_envelope_of_three_routes(today, route, expected) -> None:
    """400 000 + 35 Q, 200 000 + 50 Q, 110 Q (derived): crossings at 3 333.33 and 13 333.33, and never where
    the first and the last cross, at 5 333.33."""
    made = [
        plan(name, Usage("minimum", fixed, ""), Usage("volume", each, ""))
        for name, fixed, each in (("tooled", 400_000, 35), ("half", 200_000, 50), ("loose", 0, 110))
    ]
    t = tariff({"minimum": 1.0, "volume": today}, 0.0)
    ranked = rank_part(PART, made, t, 2.0, "full")
    assert ranked.best is not None
    assert ranked.best.route == route
    found = [x for x in price_thresholds(ranked, t) if x.name == "volume"]
    assert {x.other: x.at for x in found} == pytest.approx(expected, abs=0.005)


def order(volume: float, minimum: float = 1.0) -> Operation:
    return Operation("order", (Usage("volume", volume, ""),), floor=Usage("minimum", minimum, "one part"))


def test_floors_by_hand() -> None:
    """Ordering costs max(4 p, 20), printing 24: p may rise from 2 to 6, and the minimum from 20 to 24."""
    made = [
        ProcessPlan("order", "lid", 1, "", (order(4),), Verdict(), 1.0),
        plan("print", Usage("paper", 24, "")),
    ]
    t = tariff({"volume": 2.0, "minimum": 20.0, "paper": 1.0}, 0.0)
    found = price_thresholds(rank_part(PART, made, t, 2.0, "full"), t)
    assert {x.name: x.at for x in found} == pytest.approx({"volume": 6.0, "minimum": 24.0, "paper": 20 / 24})
    assert {x.name: x.percent for x in found} == pytest.approx(
        {"volume": 200.0, "minimum": 20.0, "paper": -100 / 6}
    )
    assert [x.name for x in found] == ["paper", "minimum", "volume"]
    # from the other side: printing is best while the minimum is 30, until the volume costs nothing
    dear = tariff({"volume": 2.0, "minimum": 30.0, "paper": 1.0}, 0.0)
    back = price_thresholds(rank_part(PART, made, dear, 2.0, "full"), dear)
    assert {(x.name, x.at) for x in back} == {("minimum", 24.0), ("paper", 30 / 24)}


def test_a_route_may_be_best_only_between_two_kinks() -> None:
    """max(2 p, 30) against max(8 p, 10), by hand: the second is best below 30/8, then the first."""
    made = [
        ProcessPlan(route, "lid", 1, "", (order(volume, minimum),), Verdict(), 1.0)
        for route, volume, minimum in (("cast", 2, 30), ("print", 8, 10))
    ]
    t = tariff({"volume": 1.0, "minimum": 1.0}, 0.0)
    (x,) = (x for x in price_thresholds(rank_part(PART, made, t, 2.0, "full"), t) if x.name == "volume")
    assert (x.at, x.route, x.other, x.figure) == (3.75, "print", "cast", 30.0)


def test_inside_a_route_an_alternative_that_suits_goes_first() -> None:
    """Casting suits at 3 g of resin; its cheaper way needs changes and does not count. Printing costs 6."""
    cheap = replace(plan("cast", Usage("resin", 1, "")), verdict=Verdict((Reason("changes", "split"),)))
    made = [plan("cast", Usage("resin", 3, "")), cheap, plan("print", Usage("paper", 6, ""))]
    t = tariff({"resin": 1.0, "paper": 1.0}, 0.0)
    found = {x.name: x.at for x in price_thresholds(rank_part(PART, made, t, 2.0, "full"), t)}
    assert found == {"resin": 2.0, "paper": 0.5}
    ruled_out = replace(made[2], verdict=Verdict((Reason("ruled out", "not clear"),)))
    ranked = rank_part(PART, [*made[:2], ruled_out], t, 2.0, "full")
    assert price_thresholds(ranked, t) == ()


def test_the_own_rate_decides_full_cost_but_not_spend() -> None:
    """By hand: 2 h and 10 of resin against 30 of paper: 10 an hour."""
    made = [plan("cast", Usage("resin", 10, ""), own_time(120, "")), plan("buy", Usage("paper", 30, ""))]
    t = tariff({"resin": 1.0, "paper": 1.0}, 8.0)
    (rate,) = (x for x in price_thresholds(rank_part(PART, made, t, 2.0, "full"), t) if x.what == "own rate")
    assert (rate.at, rate.unit, rate.percent) == (10.0, "EUR/hour", 25.0)
    spent = price_thresholds(rank_part(PART, made, t, 2.0, "spend"), t, "spend")
    assert {x.name: x.at for x in spent} == {"resin": 3.0, "paper": pytest.approx(1 / 3)}
    assert price_thresholds(rank_part(PART, made, t, 2.0, "lead-time"), t, "lead-time") == ()


def test_wear_of_an_owned_tool_moves_full_cost_only() -> None:
    made = [plan("print", Usage("machine", 0.1, "")), plan("buy", Usage("paper", 30, ""))]
    t = tariff({"machine": 200.0, "paper": 1.0}, 0.0, frozenset({"machine"}))
    full = price_thresholds(rank_part(PART, made, t, 2.0, "full"), t)
    assert {x.name: x.at for x in full} == {"machine": pytest.approx(300.0), "paper": pytest.approx(2 / 3)}
    assert price_thresholds(rank_part(PART, made, t, 2.0, "spend"), t, "spend") == ()


def test_what_both_routes_draw_alike_decides_nothing() -> None:
    both = (Usage("resin", 0.1, ""), Usage("resin", 0.2, ""))
    made = [
        plan("cast", *both, Usage("paper", 1, "")),
        plan("print", Usage("resin", 0.3, ""), Usage("paper", 2, "")),
    ]
    t = tariff({"resin": 1.0, "paper": 1.0}, 0.0)
    assert price_thresholds(rank_part(PART, made, t, 2.0, "full"), t) == ()


def test_nearest_first_and_unknown_distance_last() -> None:
    far, near, none = (
        Threshold("lid", "price", name, "EUR/g", today, at, "a", "b", 1.0)
        for name, today, at in (("far", 1.0, 3.0), ("near", 1.0, 0.5), ("none", 0.0, 2.0))
    )
    assert nearest_first([none, far, near]) == (near, far, none)
    assert none.percent is None


@given(plain_ways(), plain_tariffs, st.floats(0.01, 100))
def test_thresholds_in_per_cent_do_not_depend_on_the_currency(made, t, worth) -> None:
    """Every price and the rate in another currency: the same thresholds in per cent."""
    other = t.with_rate(t.own_rate * worth)
    for r in RESOURCES:
        other = set_price(other, r, t.unit_price(r) * worth)
    once, again = (
        price_thresholds(rank_part(Part("lid", "", 1), made, x, 2.0, "full"), x) for x in (t, other)
    )
    assert sorted((x.name, x.at * worth) for x in once if x.at > 0) == [
        (name, pytest.approx(at, rel=1e-6, abs=1e-9))
        for name, at in sorted((x.name, x.at) for x in again if x.at > 0)
    ]
