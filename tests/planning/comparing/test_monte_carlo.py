"""How sure a plan's outlay is: closed forms where prices are certain or simply spread, and what always holds."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from routecost.buying.totals import Totals, totals
from routecost.planning.choosing.choice import value_of
from routecost.planning.choosing.limits import Objective
from routecost.planning.comparing.monte_carlo import sample_outlay
from routecost.routes.process.operation import Operation, Usage
from tests.planning.small_bills import Candidates, plan, random_bill, sample_of

CENT = 0.01
seeds = st.integers(0, 10**6)
objectives = st.sampled_from(
    [Objective(), Objective("full"), Objective("own-time"), Objective("hour-worth", 5.0)]
)
some = settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow])


def some_plans(bill: Candidates, seed: int) -> list[Totals]:
    by_plan = {id(o.plan): o for o in bill.options}
    return [totals([by_plan[id(w)] for w in way], bill.shop) for way in sample_of(bill, Random(seed))]


@given(seeds, objectives)
@some
def test_certain_prices_give_the_plan_s_outlay_and_the_best_always_wins(
    seed: int, objective: Objective
) -> None:
    bill = random_bill(seed)
    plans = some_plans(bill, seed)
    found = sample_outlay(plans, objective, bill.shop, draws=7)
    assert found.outlay == pytest.approx(np.full(7, plans[0].outlay), abs=2 * CENT)
    values = [value_of(p, objective) for p in plans]
    winner = found.wins.index(1.0)
    assert values[winner] == pytest.approx(min(values), abs=2 * CENT)


@given(seeds, objectives, st.floats(0.3, 1.0), st.floats(1.0, 3.0))
@some
def test_shares_add_up_and_percentiles_are_in_order(
    seed: int, objective: Objective, low: float, high: float
) -> None:
    bill = replace(random_bill(seed), spread=(low, high))
    plans = some_plans(bill, seed)
    found = sample_outlay(plans, objective, bill.shop, draws=200, seed=3)
    assert sum(found.wins) == pytest.approx(1.0)
    assert len(found.wins) == len(plans)
    assert found.p50 <= found.p80
    assert found.another_wins == pytest.approx(sum(found.wins[1:]))
    # no list costs less than at all lows together, or more than at all highs
    assert found.outlay.min() >= low * plans[0].outlay - 2 * CENT
    assert found.outlay.max() <= high * plans[0].outlay + 2 * CENT


@given(seeds)
@some
def test_the_same_seed_gives_the_same_draws_and_another_others(seed: int) -> None:
    bill = replace(random_bill(seed), spread=(0.5, 2.0))
    plans = some_plans(bill, seed)
    one, two, three = (sample_outlay(plans, Objective(), bill.shop, draws=50, seed=s) for s in (4, 4, 5))
    assert one.outlay.tobytes() == two.outlay.tobytes()
    assert one.wins == two.wins
    if plans[0].outlay > 0.0:
        assert one.outlay.tobytes() != three.outlay.tobytes()


@given(seeds)
@some
def test_the_mean_is_that_of_the_triangular_law(seed: int) -> None:
    """(a + m + b) / 3 of each price (NIST/SEMATECH handbook 1.3.6), so 1.2 of the whole without top-ups."""
    bill = replace(random_bill(seed), spread=(0.6, 2.0))
    plan = next((p for p in some_plans(bill, seed) if not p.orders), None)
    if plan is None or plan.outlay == 0.0:
        return
    found = sample_outlay([plan], Objective(), bill.shop, draws=4000)
    # the law's own spread is 0.29 of the price: five standard errors of a single price
    assert float(found.outlay.mean()) == pytest.approx(1.2 * plan.outlay, rel=5 * 0.29 / 1.2 / 4000**0.5)
    assert found.wins == (1.0,)


def test_p50_and_p80_are_those_of_a_single_triangular_price() -> None:
    """One pack of 30 with a low of 15 and a high of 60: the p-quantile of the triangular law above its mode is
    b - sqrt((1 - p) (b - a) (b - m)) (NIST/SEMATECH handbook 1.3.6, inverted)."""
    pour = plan("lid", "cast", [Operation("pour", (Usage("resin", 100.0, "one pack"),))])
    bill = Candidates(("lid",), (pour,), {"resin": [(100, 30.0)]}, {}, spread=(0.5, 2.0))
    found = sample_outlay([totals(bill.options, bill.shop)], Objective(), bill.shop)
    assert found.p50 == pytest.approx(60.0 - (0.5 * 45.0 * 30.0) ** 0.5, abs=0.5)
    assert found.p80 == pytest.approx(60.0 - (0.2 * 45.0 * 30.0) ** 0.5, abs=0.5)
