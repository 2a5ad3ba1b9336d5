"""Where one route overtakes another by quantity, and the step at the mold's life, on a measured clear part."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest

from routecost.builds.build import load_build
from routecost.costing.ranking import plans_of, rank_part
from routecost.routes.registry import own_routes

UP_TO = 60


@pytest.fixture(scope="module")
def curves(demo_folder: Path) -> dict[int, dict[str, float]]:
    """Full cost of the best way of each route for the small lens, by copies."""
    build = load_build(demo_folder)
    shop, tariff = build.shop(), build.tariff()
    found = {}
    for n in range(1, UP_TO + 1):
        part = next(p for p in build.parts(copies=n) if p.id == "magnifier")
        ranked = rank_part(part, plans_of(part, shop, own_routes()), tariff, 2.5, "full")
        found[n] = {e.route: e.full for e in ranked.estimates if e.plan.verdict.level != "ruled out"}
        assert ranked.best is not None
        found[n]["best is " + ranked.best.route] = ranked.best.full
    return found


def test_a_small_clear_part_goes_from_ordered_to_cast_where_the_curves_cross(curves) -> None:
    crossing = next(n for n in curves if curves[n]["mold-casting"] < curves[n]["outsourced-sla"])
    assert crossing > 1, "one is ordered"
    for n, costs in curves.items():
        best = "mold-casting" if n >= crossing else "outsourced-sla"
        assert f"best is {best}" in costs, n
    # the master and the mold are shared by all copies: from then on casting only gains
    ahead = [curves[n]["outsourced-sla"] - curves[n]["mold-casting"] for n in range(crossing, UP_TO + 1)]
    assert min(ahead) >= 0.0
    assert ahead[-1] > 10 * ahead[0]


def test_more_copies_never_cost_less_and_a_worn_mold_is_a_step(curves) -> None:
    casting = [curves[n]["mold-casting"] for n in sorted(curves)]
    steps = [b - a for a, b in itertools.pairwise(casting)]
    assert min(steps) >= -1e-9
    usual = sorted(steps)[len(steps) // 2]
    # a mold gives some 15 to 25 pulls and four in five are good: among 60 copies it wears out at least once,
    # which costs more than a copy does
    assert sum(step > 1.8 * usual for step in steps) >= 1
