"""Cost is quantities x prices: linear, additive, and the same however it is asked for."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routecost.core.errors import InputError
from routecost.core.money import apportioned
from routecost.costing.estimate import lines_of, price_plans
from routecost.costing.quantities import Quantities
from routecost.routes.process.operation import OWN_HOUR, Operation, ProcessPlan, Usage, Verdict
from tests.costing.plans import MATERIALS, RESOURCES, plans, tariff, tariffs


@given(st.lists(plans(), min_size=1, max_size=4), tariffs)
def test_lines_add_up_to_full_for_every_plan(made: list[ProcessPlan], t) -> None:
    amounts = price_plans(made, t, hours_a_day=2.0)
    for i in range(len(made)):
        e = amounts.estimate(i)
        assert sum(line.amount for line in e.lines) == pytest.approx(e.full, abs=0.005, rel=1e-9)
        assert sum(line.quantity for line in e.lines if line.resource == OWN_HOUR) == pytest.approx(
            e.own_hours
        )
        spent = sum(line.amount for line in e.lines if t.counts(line.resource, "spend"))
        assert spent == pytest.approx(e.spend, abs=0.005, rel=1e-9)
        assert e.spend <= e.full * (1 + 1e-12)
        shown = apportioned([line.amount for line in e.lines], "EUR")
        assert sum(shown) == pytest.approx(round(sum(line.amount for line in e.lines), 2), abs=1e-6)


@given(plans(), st.fixed_dictionaries({r: st.floats(0.001, 1e3) for r in RESOURCES}), st.floats(0, 100))
def test_doubling_every_price_doubles_spend_and_leaves_own_time(plan, unit_prices, rate) -> None:
    once = price_plans([plan], tariff(unit_prices, rate), 2.0)
    twice = price_plans([plan], tariff({r: 2 * p for r, p in unit_prices.items()}, rate), 2.0)
    assert twice.spend[0] == pytest.approx(2 * once.spend[0], rel=1e-9, abs=1e-9)
    assert twice.own_hours[0] == once.own_hours[0]
    assert twice.full[0] - twice.spend[0] >= once.full[0] - once.spend[0] - 1e-9 * twice.full[0]


@settings(deadline=None)
@given(st.lists(plans(), min_size=1, max_size=4), st.integers(1, 5), st.randoms(use_true_random=False))
def test_a_price_matrix_gives_each_sample_as_if_priced_alone(made, samples, random) -> None:
    q = Quantities.of(made)
    p = np.array([[random.uniform(0, 10) for _ in range(samples)] for _ in q.resources]).reshape(-1, samples)
    together = q.cost(p)
    for s in range(samples):
        np.testing.assert_allclose(together[:, s], q.cost(p[:, s]), rtol=1e-12, atol=1e-9)


@given(st.permutations(range(3)), st.lists(plans(), min_size=3, max_size=3), tariffs)
def test_order_of_plans_and_operations_does_not_matter(order, made, t) -> None:
    full = price_plans(made, t, 2.0).full
    shuffled = price_plans([made[i] for i in order], t, 2.0).full
    np.testing.assert_allclose(shuffled, full[list(order)], rtol=1e-12)
    backwards = [
        ProcessPlan(p.route, p.part, p.copies, p.alternative, p.operations[::-1], p.verdict, p.mass_g)
        for p in made
    ]
    np.testing.assert_allclose(price_plans(backwards, t, 2.0).full, full, rtol=1e-12, atol=1e-9)


def test_a_floor_binds_below_and_never_above() -> None:
    """By hand: 4 units at p against a minimum of 20: max(4 p, 20)."""
    order = Operation("order", (Usage("volume", 4, ""),), floor=Usage("minimum", 1, "one part"))
    plan = ProcessPlan("sla", "lid", 1, "", (order,), Verdict(), 1.0)
    for p, expected, lines in ((2.0, 20.0, 2), (5.0, 20.0, 1), (7.0, 28.0, 1)):
        t = tariff({"volume": p, "minimum": 20.0}, 10.0)
        assert price_plans([plan], t, 2.0).full[0] == pytest.approx(expected)
        assert len(lines_of(plan, t)) == lines


def test_two_charge_groups_do_not_share_a_minimum() -> None:
    """By hand: two orders of 1 unit at 3, each at least 10: 20, not 10."""
    order = Operation("order", (Usage("volume", 1, ""),), floor=Usage("minimum", 1, "one part"))
    plan = ProcessPlan("sla", "lid", 1, "", (order, order), Verdict(), 1.0)
    assert price_plans([plan], tariff({"volume": 3.0, "minimum": 10.0}, 0.0), 2.0).full[0] == pytest.approx(
        20.0
    )


def test_every_missing_price_is_named_at_once() -> None:
    usages = tuple(Usage(r, 1.0, "") for r in MATERIALS)
    plan = ProcessPlan("any", "lid", 1, "", (Operation("step", usages),), Verdict(), 1.0)
    with pytest.raises(InputError) as caught:
        price_plans([plan], tariff({"resin": 1.0}, 0.0), 2.0)
    assert [fault.where for fault in caught.value.faults] == ["resource silicone", "resource paper"]


def test_wear_of_an_owned_tool_is_full_cost_but_no_spending() -> None:
    plan = ProcessPlan(
        "any", "lid", 1, "", (Operation("run", (Usage("machine", 0.01, ""),)),), Verdict(), 1.0
    )
    mine = price_plans([plan], tariff({"machine": 500.0}, 0.0, frozenset({"machine"})), 2.0)
    not_mine = price_plans([plan], tariff({"machine": 500.0}, 0.0), 2.0)
    assert (mine.full[0], mine.spend[0]) == (5.0, 0.0)
    assert (not_mine.full[0], not_mine.spend[0]) == (5.0, 5.0)
