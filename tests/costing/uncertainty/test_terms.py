"""What is uncertain moves quantities as it is declared to: every draw is a product in the facts that it names."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from routecost.bill.rank_bill import rank
from routecost.builds.build import load_build
from routecost.costing.estimate import price_plans
from routecost.costing.ranking import plans_of
from routecost.costing.uncertainty.risk import assess
from routecost.costing.uncertainty.terms import Terms
from routecost.routes.registry import own_routes
from routecost.shop.facts import Fact

STEP = 1.001


def is_checked(fact: Fact) -> bool:
    return isinstance(fact.value, float) and fact.power != 0 and ".yield_" not in fact.ref


def apart(together: set[frozenset[str]]) -> list[set[str]]:
    """All facts in groups, none of which holds two that stand together."""
    groups: list[set[str]] = []
    for ref in sorted(set().union(*together)):
        neighbours = set().union(*(facts for facts in together if ref in facts)) - {ref}
        free = next((group for group in groups if not group & neighbours), None)
        if free is None:
            groups.append({ref})
        else:
            free.add(ref)
    return groups


@pytest.mark.parametrize("part_id", ["knob", "feeder-dish"])
def test_every_draw_is_a_product_in_the_facts_that_it_names(part_id: str, demo_folder: Path) -> None:
    """Facts are raised by a thousandth and the part planned anew: each draw that names one moves by the power that
    its column declares. Facts that no operation names together are raised at once: inside an operation a draw may
    also move with facts that it does not name, such as blades with the minutes they cut. Densities share a draw
    with purge and losses, yields with whole batches."""
    build = load_build(demo_folder)
    shop = build.shop()
    part = next(p for p in build.parts() if p.id == part_id)
    plans = {p.alternative: p for p in plans_of(part, shop, own_routes())}
    looked_at = list(plans)[:: max(1, len(plans) // 15)]
    operations = [op for name in looked_at for op in plans[name].operations]
    named_in = {
        frozenset(f for d in op.usages for f in d.facts if is_checked(shop.facts[f])) for op in operations
    }
    checked = 0
    for refs in apart(named_in):
        raised = shop.with_values({ref: shop.facts[ref].value * STEP for ref in refs})
        again = {p.alternative: p for p in plans_of(part, raised, own_routes())}
        for name in again.keys() & set(looked_at):
            for old, new in zip(plans[name].operations, again[name].operations, strict=True):
                for before, after in zip(old.usages, new.usages, strict=False):
                    named = refs & set(before.facts)
                    if named and before.quantity > 0 and before.resource == after.resource:
                        (ref,) = named
                        power = np.log(after.quantity / before.quantity) / np.log(STEP)
                        slack = 0.3 if "density" in ref or "failure" in ref else 0.02
                        assert power == pytest.approx(shop.facts[ref].power, abs=slack), (
                            ref,
                            old.name,
                            before.why,
                        )
                        checked += 1
    assert checked > 200


def test_the_likely_world_costs_what_the_ranking_says(demo_folder: Path) -> None:
    build = load_build(demo_folder)
    ranking = rank(build)
    tariff, shop = build.tariff(ranking.as_of), build.shop(ranking.as_of)
    plans = [e.plan for e in ranking.chosen]
    terms = Terms.of(plans, tariff, shop)
    for view in ("full", "spend"):
        cost = terms.quantities.cost(terms.prices(terms.likely[:, None], tariff, view))[:, 0]
        amounts = price_plans(plans, tariff, 2.0)
        np.testing.assert_allclose(cost, amounts.full if view == "full" else amounts.spend, rtol=1e-9)


def test_risk_of_the_demo_holds_together(demo_folder: Path) -> None:
    build = load_build(demo_folder)
    ranking = rank(build)
    tariff, shop = build.tariff(ranking.as_of), build.shop(ranking.as_of)
    one, same = (assess(ranking, tariff, shop, budget=900.0, draws=2_000, seed=4) for _ in range(2))
    np.testing.assert_array_equal(one.full, same.full)
    for part in one.parts:
        assert sum(part.by_route.values()) == pytest.approx(1.0)
    p = one.percentiles(one.spend)
    assert p[10] <= p[50] <= p[80] <= p[90]
    assert (one.spend <= one.full + 1e-9).all()
    assert one.chance_in_budget == pytest.approx(float(np.mean(one.spend <= 900.0)))
    # what each input does alone adds up to most of the spread, and never to much more than all of it
    assert 0.7 < sum(d.share for d in one.drivers) < 1.1


def test_one_silicone_price_moves_all_parts_together(demo_folder: Path) -> None:
    """Correlated where one row feeds many parts: the spread of the sum is wider than independent parts would give."""
    build = load_build(demo_folder)
    ranking = rank(build)
    tariff, shop = build.tariff(ranking.as_of), build.shop(ranking.as_of)
    plans = [e.plan for e in ranking.chosen]
    terms = Terms.of(plans, tariff, shop)
    from routecost.costing.uncertainty.spread import sample

    values = sample(list(terms.spreads), 3_000, seed=2)
    cost = terms.quantities.cost(terms.prices(values, tariff))
    together, apart = cost.sum(axis=0).std(), np.sqrt((cost.std(axis=1) ** 2).sum())
    assert together > 1.2 * apart
