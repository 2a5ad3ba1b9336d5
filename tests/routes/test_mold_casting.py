"""The route as a whole: what is combined, judged and warned of, and what must hold at any prices."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routecost.costing.quantities import Quantities
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.measuring.shape import Shape
from routecost.routes.process.operation import OWN_HOUR, ProcessPlan, Usage
from routecost.routes.process.part import Demands, Part
from routecost.shop.materials import CastingResin, Silicone
from routecost.shop.services import SlaService
from routecost.shop.shop import Shop
from tests.mesh import shapes
from tests.routes.casting.cast_shape import (
    ADDITION,
    CHAMBER,
    CLEAR,
    CLEAR_PU,
    CONDENSATION,
    EPOXY,
    POT,
    TAN,
    CastShape,
    ball,
    cast_shop,
    part,
    plans,
    trapping,
)
from tests.routes.stated import assert_declared, costs, shipped_shop, shipped_tariff, shop_with

OWNED = cast_shop().with_owned(frozenset({"printer-220", POT.id, CHAMBER.id}))
TARIFF = shipped_tariff()


def narrow(*things: Silicone | CastingResin, shop: Shop = OWNED) -> Shop:
    """The shop with only these silicones and resins, and no service."""
    return replace(shop_with(shop, *things), things={**shop_with(shop, *things).things, SlaService: ()})


def texts(plan: ProcessPlan) -> str:
    return " | ".join(plan.verdict.texts)


def names(plan: ProcessPlan) -> list[str]:
    return [operation.name for operation in plan.operations]


# ---- what is combined


def test_the_master_is_enlarged_by_both_shrinkages() -> None:
    """0.1 % of the silicone and 0.4 % of the resin, chained: 1 / (0.999 x 0.996) = 1.0050211 (derived)."""
    (plan,) = plans(part(), narrow(ADDITION, TAN))
    assert plan.chosen["master enlarged"] == "0.50 %"
    (more,) = plans(part(), narrow(CONDENSATION, TAN))
    assert more.chosen["master enlarged"] == f"{100 * (1 / (0.995 * 0.996) - 1):.2f} %"


def test_all_that_the_maker_does_stands_in_its_order() -> None:
    plan = plans(part(copies=4, demands=CLEAR), narrow(ADDITION, CLEAR_PU))[0]
    assert names(plan)[:3] == [
        "prepare the print of the master",
        "print the master",
        "take the master off, clean up",
    ]
    assert names(plan)[-8:] == [
        "build the mold box and fix the master in it",
        "release agent before the mold",
        "mix, degas and pour silicone: the mold",
        "open the mold, free and clean the master, trim the mold",
        "clean and release the mold",
        "mix and pour resin, cure under pressure",
        "demold",
        "trim and dress the rim",
    ]


def test_resins_that_fail_the_part_are_left_out_while_others_do() -> None:
    of_any = {plan.chosen["resin"] for plan in plans(part(), OWNED)}
    of_clear = {plan.chosen["resin"] for plan in plans(part(demands=CLEAR), OWNED)}
    assert of_any == {"pu-tan", "pu-clear", "epoxy-clear"}
    assert of_clear == {"pu-clear", "epoxy-clear"}
    # in an oven none does: all are shown, with their reason and a cost
    hot = plans(part(demands=Demands(service_degc=150)), OWNED)
    assert {plan.chosen["resin"] for plan in hot} == of_any
    assert {plan.verdict.level for plan in hot} == {"ruled out"}
    assert all("serves at 150 °C" in texts(plan) for plan in hot)


def test_molds_side_by_side_up_to_the_copies() -> None:
    def side_by_side(copies: int) -> set[str]:
        return {plan.chosen["side by side"] for plan in plans(part(copies=copies), OWNED)}

    assert side_by_side(1) == {"1"}
    assert side_by_side(3) == {"1", "2", "3"}
    assert side_by_side(24) == {"1", "2", "4"}


def test_a_pose_that_the_user_fixed_is_the_molds() -> None:
    fixed = replace(part(ball()), up=(0.0, 0.0, 1.0))
    assert {plan.chosen["up"] for plan in plans(fixed, OWNED)} == {"+z"}


# ---- what does not go together


def test_addition_silicone_meets_a_resin_master_only_through_a_barrier() -> None:
    found = plans(part(copies=4), OWNED)
    for plan in found:
        resin_master = plan.chosen["master"].startswith("SLA")
        barred = any("barrier-coat" in name for name in names(plan))
        assert barred == (resin_master and plan.chosen["silicone"] == "silicone-addition")
    assert any(plan.chosen["master"].startswith("SLA") for plan in found)


def test_a_barrier_clouds_clear_castings_until_each_is_finished() -> None:
    found = plans(part(copies=4, demands=CLEAR), OWNED)
    barred = [plan for plan in found if "barrier-coat" in plan.chosen["master"]]
    assert barred
    for plan in barred:
        assert any("the copy" in name for name in names(plan))
    # a master under clear coat needs none, and its copies no finish
    sealed = [plan for plan in found if plan.chosen["master"].endswith("clear-coat")]
    assert any(plan.chosen["master"].startswith("SLA") for plan in sealed)
    for plan in sealed:
        assert not any("barrier" in name or "the copy" in name for name in names(plan))


def test_condensation_silicone_rests_before_polyurethane_and_not_before_epoxy() -> None:
    for silicone in (ADDITION, CONDENSATION):
        for resin in (TAN, EPOXY):
            (plan,) = plans(part(), narrow(silicone, resin))
            rests = "rest the new molds" in names(plan)
            assert rests == (silicone == CONDENSATION and resin == TAN)


def test_silicone_that_shrinks_by_nobody_knows_how_much_holds_less() -> None:
    """0.3 mm on 100 mm for any casting. Addition cure 0.02 to 0.1 %: √(0.3² + 0.04²) = 0.303 mm; condensation
    cure 0.2 to 1.2 %: √(0.3² + 0.5²) = 0.583 mm (spreads of the shipped tables)."""
    wanted = part(demands=Demands(tolerance_mm=0.31))
    (exact,), (shrunk,) = plans(wanted, narrow(ADDITION, TAN)), plans(wanted, narrow(CONDENSATION, TAN))
    assert exact.verdict.level == "suits"
    assert shrunk.verdict.level == "changes"
    assert "±0.58 mm" in texts(shrunk)


def test_closed_voids_cannot_be_cast() -> None:
    hollow = replace(CastShape(), closed_voids=2, closed_void_volume_mm3=1500.0)
    found = plans(part(hollow), OWNED)
    assert {plan.verdict.level for plan in found} == {"ruled out"}
    assert all("2 closed voids (1.50 cm³) cannot be cast" in texts(plan) for plan in found)
    assert min(costs(found, TARIFF)) > 0


def test_an_inner_passage_is_ruled_out_with_its_number_and_still_costs_something() -> None:
    found = plans(part(trapping(ball(), two_part=1.6)), OWNED)
    assert {plan.verdict.level for plan in found} == {"ruled out"}
    assert all("53.62 cm³ of trapped space, 160.0% of the part" in texts(plan) for plan in found)
    assert min(costs(found, TARIFF)) > 0


def test_a_clear_part_too_large_for_the_pot_is_ruled_out_in_pressure_resin_only() -> None:
    pose = replace(CastShape().stands[0], footprint_mm=(180.0, 200.0))
    large = part(
        replace(CastShape(), extents_mm=(200.0, 180.0, 15.0), volume_mm3=540_000.0, stands=(pose,)),
        demands=CLEAR,
    )
    for plan in plans(large, narrow(ADDITION, CLEAR_PU)):
        assert plan.verdict.level == "ruled out"
        assert "a mold of 204 x 224 x 25 mm does not go into pressure-pot-10l" in texts(plan)
    assert all("go into" not in texts(plan) for plan in plans(large, narrow(ADDITION, EPOXY)))


def test_a_pot_that_is_not_in_the_shop_is_a_change() -> None:
    elsewhere = OWNED.with_owned(frozenset({"printer-220"}))
    found = plans(part(demands=CLEAR), narrow(ADDITION, CLEAR_PU, shop=elsewhere))
    assert {plan.verdict.level for plan in found} == {"changes"}
    assert all(POT.id in plan.tools and CHAMBER.id not in plan.tools for plan in found)
    for plan in plans(part(demands=CLEAR), narrow(ADDITION, CLEAR_PU)):
        assert {POT.id, CHAMBER.id, "printer-220"} == plan.tools


# ---- what demands add


def test_an_opaque_part_is_pigmented_only_where_light_would_pass() -> None:
    def pigmented(resin: CastingResin) -> bool:
        (plan,) = plans(part(demands=Demands(opaque=True)), narrow(ADDITION, resin))
        return any(draw.resource == "pigment" for op in plan.operations for draw in op.usages)

    assert pigmented(EPOXY)
    assert not pigmented(TAN)


def test_a_clear_resin_from_a_rough_master_lets_light_pass_and_is_not_clear() -> None:
    (plan,) = plans(part(demands=Demands(clarity="translucent")), narrow(ADDITION, EPOXY))
    assert plan.verdict.level == "suits"
    (plan,) = plans(part(demands=Demands(clarity="translucent")), narrow(ADDITION, TAN))
    assert plan.verdict.level == "ruled out"


def test_closed_molds_leave_marks_on_clear_castings_open_ones_do_not() -> None:
    for shape, marked in ((CastShape(), False), (ball(), True)):
        for plan in plans(part(shape, 3, CLEAR), narrow(ADDITION, EPOXY)):
            assert any("the copy" in name for name in names(plan)) == marked


def test_liquid_and_load_are_tried_out_and_warned_of() -> None:
    demands = Demands(holds_liquid=True, load_n=50.0, clarity="translucent")
    (plan,) = plans(part(demands=demands), narrow(ADDITION, CLEAR_PU))
    assert names(plan)[-2:] == ["fill test", "proof load"]
    cautions = {caution for op in plan.operations for caution in op.cautions}
    assert {"isocyanate", "exotherm", "yellowing", "blade", "dust", "silicone", "liquid", "food"} <= cautions
    assert "proof-load" in cautions


def test_machines_are_named_alike() -> None:
    found = {
        op.machine
        for wanted in (part(copies=3), part(ball(), 3, CLEAR), part(ball().scaled(4.0)))
        for plan in plans(wanted, OWNED)
        for op in plan.operations
        if op.machine or op.machine_min
    }
    assert found == {"printer-220", "mold box", "mold", POT.id}


def test_every_plan_names_what_the_tables_know() -> None:
    shapes_and_demands = [
        (CastShape(), Demands()),
        (CastShape(), CLEAR),
        (ball(), Demands(finish="smooth", opaque=True)),
        (ball().scaled(4.0), Demands(clarity="optical", holds_liquid=True)),
        (trapping(ball(), two_part=0.2), Demands(load_n=20.0)),
    ]
    shipped = shipped_shop()
    for shop in (OWNED, shipped, shipped.with_owned(frozenset({POT.id}))):
        for shape, demands in shapes_and_demands:
            assert_declared(plans(part(shape, 5, demands), shop), shop)


def test_the_number_of_plans_stays_sensible() -> None:
    owned = shipped_shop().with_owned(frozenset({"printer-220", POT.id, CHAMBER.id}))
    for shape in (CastShape(), ball(), ball().scaled(4.0)):
        for demands in (Demands(), Demands(finish="smooth"), CLEAR):
            assert 0 < len(plans(part(shape, 24, demands), owned)) <= 300


# ---- what must hold at any prices


def at_prices(found: Sequence[ProcessPlan], others: Sequence[ProcessPlan], seed: int) -> tuple[float, float]:
    """The cheapest of each list at random prices, alike for both."""
    q = Quantities.of([*found, *others])
    prices = np.exp(np.random.default_rng(seed).normal(0.0, 1.5, len(q.resources)))
    amounts = q.cost(prices)
    return float(amounts[: len(found)].min()), float(amounts[len(found) :].min())


SHAPES = [CastShape(), ball(), trapping(ball(), two_part=0.2), ball().scaled(4.0)]
ALL_DEMANDS = [Demands(), Demands(finish="smooth"), CLEAR]


@settings(max_examples=25, deadline=None)
@given(st.sampled_from(SHAPES), st.sampled_from(ALL_DEMANDS), st.integers(1, 60), st.integers(0, 2**32 - 1))
def test_one_copy_more_never_costs_less(shape: CastShape, demands: Demands, copies: int, seed: int) -> None:
    fewer, more = (plans(part(shape, n, demands), OWNED) for n in (copies, copies + 1))
    cheapest, dearer = at_prices(fewer, more, seed)
    assert dearer >= cheapest * (1.0 - 1e-9)


@settings(max_examples=25, deadline=None)
@given(
    st.sampled_from(SHAPES[:3]),
    st.sampled_from(ALL_DEMANDS),
    st.floats(1.0, 2.0),
    st.integers(1, 30),
    st.integers(0, 2**32 - 1),
)
def test_a_larger_part_never_costs_less(
    shape: CastShape, demands: Demands, k: float, copies: int, seed: int
) -> None:
    shop = narrow(ADDITION, TAN, EPOXY)
    small, large = (plans(part(s, copies, demands), shop) for s in (shape, shape.scaled(k)))
    cheapest, dearer = at_prices(small, large, seed)
    assert dearer >= cheapest * (1.0 - 1e-9)


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("copies", [1, 6])
def test_a_higher_clarity_never_takes_less_work(shape: CastShape, copies: int) -> None:
    def least_h(clarity: str) -> float:
        found = plans(part(shape, copies, Demands(clarity=clarity)), OWNED)  # type: ignore[arg-type]
        possible = [p for p in found if p.verdict.level != "ruled out"] or found
        return min(sum(op.hands_on_min for op in p.operations) for p in possible)

    hours = [least_h(clarity) for clarity in ("any", "translucent", "clear", "optical")]
    assert hours == sorted(hours)


def test_a_copy_grows_cheaper_except_where_the_next_mold_is_made() -> None:
    """One mold at a time, a life of 20 pulls at a yield of 0.8: mold 2 comes with copy 17, 3 with copy 33."""
    shop = narrow(ADDITION, EPOXY)
    totals = []
    for n in range(1, 41):
        (plan,) = [p for p in plans(part(copies=n), shop) if p.chosen["side by side"] == "1"]
        totals.append(costs([plan], TARIFF)[0])
    each = np.array(totals) / np.arange(1, 41)
    rises = [n for n in range(2, 41) if each[n - 1] > each[n - 2]]
    assert rises == [17, 33]
    steps = np.diff(totals)
    ordinary = steps[0]
    # between the steps every copy adds the same
    assert np.delete(steps, [15, 31]) == pytest.approx(ordinary)
    assert steps[15] == pytest.approx(steps[31])
    assert steps[15] > ordinary


def test_the_master_and_the_mold_are_shared_by_all_copies() -> None:
    """What a hundred copies cost each tends to what one more pull costs, far below the first."""
    shop = narrow(ADDITION, TAN)
    first = min(costs(plans(part(copies=1), shop), TARIFF))
    hundred = min(costs(plans(part(copies=100), shop), TARIFF)) / 100
    assert hundred < 0.35 * first


# ---- quantities are products in the facts they name


def keyed(found: Sequence[ProcessPlan]) -> dict[tuple[str, str, int], list[Usage]]:
    usages: dict[tuple[str, str, int], list[Usage]] = {}
    for plan in found:
        for op in plan.operations:
            for i, draw in enumerate(op.usages):
                usages.setdefault((op.name, draw.resource, i), []).append(draw)
    return usages


@pytest.mark.parametrize(
    ("shape", "demands", "silicone", "resin"),
    [
        (CastShape(), CLEAR, "silicone-addition", "pu-clear"),
        (ball(), Demands(opaque=True), "silicone-addition", "epoxy-clear"),
        (trapping(ball(), two_part=0.2), Demands(), "silicone-condensation", "pu-tan"),
        (ball().scaled(4.0), CLEAR, "silicone-addition", "epoxy-clear"),
    ],
)
def test_a_draw_moves_with_the_facts_it_names(
    shape: CastShape, demands: Demands, silicone: str, resin: str
) -> None:
    """Sampling the tables' spreads multiplies a draw by (f / f0)^power for every fact it names; so it must be
    such a product. Checked by planning anew with each fact 0.1 % larger: too little to change a batch. One
    mold at a time, so that rounds are pulls and scale with the yield."""
    shipped = shipped_shop().with_owned(frozenset({"printer-220", POT.id, CHAMBER.id}))
    shop = narrow(shipped.one(Silicone, silicone), shipped.one(CastingResin, resin), shop=shipped)

    def usages(of: Shop) -> list[Usage]:
        one_by_one = [p for p in plans(part(shape, 3, demands), of) if p.chosen["side by side"] == "1"]
        return [draw for plan in one_by_one for op in plan.operations for draw in op.usages]

    before = usages(shop)
    named = {fact for draw in before for fact in draw.facts}
    mine = {fact for fact in named if fact.startswith(("molding.", "casting.", silicone, resin))}
    assert len(mine) > 20
    for fact in sorted(mine):
        known = shop.facts[fact]
        after = usages(shop.with_values({fact: known.value * 1.001}))
        for old, new in zip(before, after, strict=True):
            if fact in old.facts and old.quantity > 0.0:
                assert new.quantity / old.quantity == pytest.approx(1.001**known.power, abs=2e-4), (fact, old)


# ---- real meshes


def test_real_meshes_are_planned_alike_however_they_stand() -> None:
    """The measured block costs the same turned, within what sampling its columns leaves open."""
    a, b = 0.7, 0.3
    about_x = np.array([[1, 0, 0], [0, np.cos(a), -np.sin(a)], [0, np.sin(a), np.cos(a)]])
    about_z = np.array([[np.cos(b), -np.sin(b), 0], [np.sin(b), np.cos(b), 0], [0, 0, 1]])
    block = shapes.box(80.0, 40.0, 15.0)
    turned = Mesh.of(block.vertices @ (about_z @ about_x).T, block.faces)
    one, other = (
        min(costs(plans(Part("p", "", 6, CLEAR, Shape(mesh)), OWNED), TARIFF)) for mesh in (block, turned)
    )
    assert other == pytest.approx(one, rel=0.02)


def test_own_hours_are_the_only_work_by_hand() -> None:
    """No step is free of hours except waiting: resting and curing."""
    for plan in plans(part(ball(), 3, CLEAR), OWNED):
        for op in plan.operations:
            if not any(d.resource == OWN_HOUR for d in op.usages):
                assert op.waiting_min > 0.0
