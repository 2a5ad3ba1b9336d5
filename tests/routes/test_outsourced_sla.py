"""Parts ordered from a service: its price law, its finishes or work at home, quotes, and what it cannot make."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routecost.core.errors import InputError
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.measuring.measures import Fit, Reach
from routecost.mesh.measuring.shape import Shape
from routecost.routes.outsourced_sla import OUTSOURCED_SLA
from routecost.routes.process.operation import OWN_HOUR, Operation, ProcessPlan
from routecost.routes.process.part import Demands, Part, Quote
from routecost.shop.services import QuantityBreak, SlaFinish, SlaService
from routecost.shop.shop import Shop
from routecost.shop.standards import OrderingStandards
from tests.mesh.shapes import box, ell, hollow_sphere, rotation, sphere
from tests.routes.stated import (
    UP,
    StatedShape,
    assert_declared,
    costs,
    drawn,
    finishing_shop,
    shipped_shop,
    shipped_tariff,
    shop_with,
)

A = "sla-service-a"
SHIPPED = shipped_shop()
TARIFF = shipped_tariff()


def stated_shop(parts_per_order: float = 4.0, **service: float) -> Shop:
    """One service with round numbers, under ids that the shipped tables know."""
    numbers: dict[str, float] = {
        "width_mm": 300,
        "depth_mm": 300,
        "height_mm": 200,
        "thinnest_wall_mm": 0.8,
        "tolerance_mm": 0.2,
        "density_g_cm3": 1.2,
        "strength_mpa": 48,
        "softens_degc": 50,
        "as_printed_rq_um": 5,
        "clear_haze_percent": 4,
        "lead_days": 6,
        "parts_per_order": parts_per_order,
    }

    def finish(grade: str, factor: float, days: float, rq_um: float) -> SlaFinish:
        return SlaFinish(
            id=f"{A}-{grade}", service=A, grade=grade, price_factor=factor, extra_days=days, rq_um=rq_um
        )

    return shop_with(
        finishing_shop(),
        SlaService(id=A, **(numbers | service)),
        finish("as-printed", 1.0, 0, 5.0),
        finish("sanded", 1.25, 1, 0.9),
        finish("clear-coated", 1.7, 3, 0.022),
        finish("polished", 2.4, 5, 0.015),
        QuantityBreak(id=f"{A}-from-5", service=A, from_copies=5, factor=0.9),
        QuantityBreak(id=f"{A}-from-10", service=A, from_copies=10, factor=0.8),
        OrderingStandards(
            id="ordering",
            prepare_order_min=20,
            prepare_part_min=6,
            inspect_copy_min=5,
            wash_g_per_cm2=0.05,
            packing_share=0.5,
            buy_line_min=8,
            bought_lead_days=4,
        ),
    )


CLEAR, SMOOTH = Demands(clarity="clear"), Demands(finish="smooth")


def part(
    demands: Demands = Demands(),  # noqa: B008  frozen
    copies: int = 1,
    quotes: Iterable[Quote] = (),
    **shape: Any,
) -> Part:
    return Part("lid", "a lid", copies, demands, StatedShape(**shape), quotes=tuple(quotes))


def plans(wanted: Part, shop: Shop | None = None) -> dict[str, ProcessPlan]:
    return {plan.alternative: plan for plan in OUTSOURCED_SLA.plans(wanted, shop or stated_shop())}


def levels_and_texts(plan: ProcessPlan) -> dict[str, str]:
    return {reason.text: reason.level for reason in plan.verdict.reasons}


def reason(plan: ProcessPlan, words: str) -> str:
    """The level of the one reason that has these words."""
    (found,) = [level for text, level in levels_and_texts(plan).items() if words in text]
    return found


def printed(plan: ProcessPlan) -> Operation:
    return next(op for op in plan.operations if op.name.startswith("printed by"))


# ---- plans by hand


def test_one_clear_part_polished_by_the_service_by_hand() -> None:
    """80 x 60 x 30 mm, 40 cm³, 180 cm²; polished is 2.4 times the price; four parts share an order."""
    plan = plans(part(CLEAR))[f"{A}, polished"]
    assert drawn(plan) == pytest.approx(
        {
            f"{A} setup": 2.4,
            f"{A} volume": 40 * 2.4,
            f"{A} area": 180 * 2.4,
            f"{A} box": 144 * 2.4,
            f"{A} height": 3 * 2.4,  # lying on its large face
            f"{A} shipping-order": 0.25,
            f"{A} shipping-mass": 40 * 1.2 * 1.5,
            # a quarter of an order's 20 min, 6 min for the part, 5 min to inspect
            OWN_HOUR: (20 / 4 + 6 + 5) / 60,
            "isopropanol": 180 * 0.05,
            "wipe": 1,
            "gloves": 5 / 60 * 2,
        }
    )
    floor = printed(plan).floor
    assert floor is not None
    assert (floor.resource, floor.quantity) == (f"{A} minimum-part", 2.4)
    assert sum(op.waiting_min for op in plan.operations) == (6 + 5) * 24 * 60
    assert plan.mass_g == pytest.approx(48.0)
    assert plan.verdict.level == "suits"
    # resin 4 %, two faces of 0.015 µm: 1 − 0.96 exp(−2 (2π 0.015 0.5/0.55)²) = 5.4 %
    assert reason(plan, "haze of about 5.4 %") == "suits"


def test_six_parts_sanded_at_home_by_hand() -> None:
    """Six copies are a tenth cheaper each; at home the support marks (6 cm² each) and P320 once over all."""
    plan = plans(part(SMOOTH, copies=6))[f"{A}, as-printed, at home: paper-p320"]
    factor = 6 * 0.9
    marks_min = 6 * 6 * 1.0
    # 6 x 180 cm²: 80 % by block, 20 % by finger x 2.5; 1.5 min per 10 cm², doubled for ridges; one grit
    sand_min = 108 * (0.8 + 0.2 * 2.5) * 1.5 * 2 + 4
    assert sand_min == pytest.approx(425.2)
    assert drawn(plan) == pytest.approx(
        {
            f"{A} setup": factor,
            f"{A} volume": 40 * factor,
            f"{A} area": 180 * factor,
            f"{A} box": 144 * factor,
            f"{A} height": 3 * factor,
            f"{A} shipping-order": 0.25,
            f"{A} shipping-mass": 6 * 48 * 1.5,
            OWN_HOUR: (20 / 4 + 6 + 6 * 5 + marks_min + sand_min) / 60,
            "isopropanol": 6 * 180 * 0.05,
            "wipe": 6 + 10.8 * 0.5,
            "gloves": (30 + marks_min + sand_min) / 60 * 2,
            "mask-cartridges": (marks_min + sand_min) / 60 / 30,
            "paper-p320": 1080 / 300,
        }
    )
    assert plan.mass_g == pytest.approx(6 * 48)


def test_the_law_and_its_minimum_in_money() -> None:
    """max(minimum, set-up + a·volume + b·area + c·box + d·height) x copies x finish x quantity break."""
    p = {
        term: TARIFF.unit_price(f"{A} {term}")
        for term in ("setup", "volume", "area", "box", "height", "minimum-part")
    }

    def law(shape: StatedShape, scale: float) -> float:
        a, b, c = shape.solid.smallest_box_mm
        one = (
            p["setup"]
            + p["volume"] * shape.volume_mm3 / 1e3
            + p["area"] * shape.area_mm2 / 1e2
            + p["box"] * a * b * c / 1e3
            + p["height"] * a / 10
        )
        return max(p["minimum-part"], one) * scale

    def paid(wanted: Part, alternative: str) -> float:
        op = printed(plans(wanted)[alternative])
        alone = ProcessPlan("", "", 1, "", (op,), plans(wanted)[alternative].verdict, 0.0)
        return costs([alone], TARIFF)[0]

    large, tiny = StatedShape(), StatedShape(extents_mm=(8, 8, 5), volume_mm3=200, area_mm2=250)
    assert law(tiny, 1) == p["minimum-part"]  # else the test would not meet the minimum
    assert law(large, 1) > p["minimum-part"]
    for shape in (large, tiny):
        three = Part("lid", "", 3, CLEAR, shape)
        assert paid(three, f"{A}, polished") == pytest.approx(law(shape, 3 * 2.4))
        twelve = Part("lid", "", 12, Demands(), shape)
        assert paid(twelve, f"{A}, as-printed") == pytest.approx(law(shape, 12 * 0.8))


def test_a_part_alone_in_its_order_pays_the_minimum_of_an_order() -> None:
    tiny = part(extents_mm=(8, 8, 5), volume_mm3=200, area_mm2=250)
    alone = printed(plans(tiny, stated_shop(parts_per_order=1))[f"{A}, as-printed"])
    assert alone.floor is not None
    assert (alone.floor.resource, alone.floor.quantity) == (f"{A} minimum-order", 1.0)
    # and what it would pay among others
    assert alone.shared_floor == printed(plans(tiny)[f"{A}, as-printed"]).floor


# ---- quantity


def test_ordering_more_where_a_break_makes_it_cheaper() -> None:
    """Nine at 0.9 cost 8.1 parts, ten at 0.8 cost 8: so ten are ordered, and ten are shipped."""
    nine = plans(part(copies=9))[f"{A}, as-printed"]
    assert drawn(nine)[f"{A} setup"] == pytest.approx(8.0)
    assert drawn(nine)[f"{A} shipping-mass"] == pytest.approx(10 * 48 * 1.5)
    assert drawn(nine)["isopropanol"] == pytest.approx(9 * 180 * 0.05)
    eight = plans(part(copies=8))[f"{A}, as-printed"]
    assert drawn(eight)[f"{A} setup"] == pytest.approx(8 * 0.9)


@given(
    copies=st.integers(1, 60),
    steps=st.dictionaries(st.integers(2, 60), st.floats(0.3, 1.0), max_size=4),
    demands=st.sampled_from([Demands(), SMOOTH, CLEAR]),
)
def test_more_copies_never_draw_less(copies: int, steps: dict[int, float], demands: Demands) -> None:
    breaks = [QuantityBreak(id=f"{A}-from-{n}", service=A, from_copies=n, factor=f) for n, f in steps.items()]
    shop = shop_with(stated_shop(), *breaks) if breaks else stated_shop()
    fewer, more = plans(part(demands, copies), shop), plans(part(demands, copies + 1), shop)
    assert fewer.keys() == more.keys()
    for name in fewer:
        less, least = drawn(more[name]), drawn(fewer[name])
        assert all(less[resource] >= least[resource] - 1e-9 for resource in least)


@settings(max_examples=25)
@given(scale=st.floats(1.0, 2.4), demands=st.sampled_from([Demands(), SMOOTH, CLEAR]))
def test_a_larger_part_never_draws_less(scale: float, demands: Demands) -> None:
    small = plans(part(demands))
    large = plans(
        part(
            demands,
            extents_mm=(80 * scale, 60 * scale, 30 * scale),
            volume_mm3=40_000 * scale**3,
            area_mm2=18_000 * scale**2,
            contact_area_mm2=600 * scale**2,
            thinnest_mm=2 * scale,
        )
    )
    assert small.keys() == large.keys()
    for name in small:
        assert all(drawn(large[name])[r] >= q - 1e-9 for r, q in drawn(small[name]).items())


def test_what_is_asked_decides_what_is_offered() -> None:
    assert set(plans(part())) == {f"{A}, as-printed"}
    offered = set(plans(part(CLEAR)))
    assert {f"{A}, clear-coated", f"{A}, polished"} <= offered
    assert f"{A}, as-printed, at home: paper-p400 to compound-fine" in offered
    assert f"{A}, sanded, at home: paper-p600 to compound-fine" in offered
    assert f"{A}, sanded, at home: paper-p600, clear-coat" in offered


def test_support_marks_are_filed_off_where_the_service_has_not_sanded() -> None:
    for name, plan in plans(part(CLEAR)).items():
        filed = any(op.name == "file off the support marks of the copy" for op in plan.operations)
        assert filed == name.startswith(f"{A}, as-printed, at home")


def test_asking_for_more_never_takes_less() -> None:
    """Least work at home and least money, over all that is not ruled out."""

    def least(demands: Demands) -> tuple[float, float]:
        found = [p for p in plans(part(demands)).values() if p.verdict.level != "ruled out"]
        return min(drawn(p)[OWN_HOUR] for p in found), min(costs(found, TARIFF))

    for ladder in (
        [Demands(), Demands(clarity="translucent"), CLEAR],
        [Demands(), SMOOTH, Demands(finish="polished")],
    ):
        steps = [least(demands) for demands in ladder]
        assert steps == sorted(steps)
        assert [money for _work, money in steps] == sorted(money for _work, money in steps)


# ---- quotes


def quote(finish: str = "polished", service: str = A, copies: int = 1, days: float | None = 12) -> Quote:
    return Quote("supplier K", service, finish, copies, "quote supplier K", days)


def test_a_quote_takes_the_place_of_the_law() -> None:
    found = plans(part(CLEAR, quotes=[quote()]))
    assert f"{A}, polished" not in found
    assert f"{A}, clear-coated" in found
    plan = found["quote of supplier K, polished"]
    got = drawn(plan)
    assert got["quote supplier K"] == 1.0
    assert not any(resource.startswith(A) for resource in got)  # no law, no shipping: both are in the price
    assert all(op.floor is None for op in plan.operations)
    assert sum(op.waiting_min for op in plan.operations) == 12 * 24 * 60
    assert any("supplier K" in text for text in plan.verdict.texts)


def test_a_quote_for_fewer_stands_beside_the_law() -> None:
    found = plans(part(CLEAR, copies=7, quotes=[quote(copies=5)]))
    assert f"{A}, polished" in found
    assert drawn(found["quote of supplier K, polished"])["quote supplier K"] == 7.0


def test_a_quote_as_printed_is_finished_at_home() -> None:
    found = plans(part(SMOOTH, quotes=[quote("as-printed")]))
    at_home = found["quote of supplier K, as-printed, at home: paper-p320"]
    by_law = plans(part(SMOOTH))[f"{A}, as-printed, at home: paper-p320"]
    assert drawn(at_home)["paper-p320"] == drawn(by_law)["paper-p320"]


def test_a_quote_from_a_stranger_says_what_is_assumed() -> None:
    plan = plans(part(CLEAR, quotes=[quote(service="")]))["quote of supplier K, polished"]
    assert reason(plan, "taken as those of sla-service-a") == "suits"
    assert sum(op.waiting_min for op in plan.operations) == 12 * 24 * 60


def test_a_quote_without_a_time_takes_the_services() -> None:
    plan = plans(part(CLEAR, quotes=[quote(days=None)]))["quote of supplier K, polished"]
    assert sum(op.waiting_min for op in plan.operations) == (6 + 5) * 24 * 60


# ---- verdicts

LONG = Fit(
    volume_mm=(300.0, 300.0, 200.0),
    fits=False,
    up=UP,
    pieces=2,
    bond_area_mm2=900.0,
    seam_mm=180.0,
    piece_ups=(UP, UP),
    piece_volumes_mm3=(20_000.0, 20_000.0),
)


def test_a_long_part_is_split_where_seams_may_be_seen() -> None:
    plan = plans(part(extents_mm=(400, 60, 30), split=LONG))[f"{A}, as-printed"]
    assert plan.verdict.level == "changes"
    assert reason(plan, "split in 2") == "changes"
    got = drawn(plan)
    # two set-ups, two pieces 3 cm high; cut faces on both sides of 9 cm²
    assert (got[f"{A} setup"], got[f"{A} height"]) == (2.0, 6.0)
    assert got[f"{A} area"] == pytest.approx(180 + 2 * 9)
    assert got["adhesive"] > 0.0
    floor = printed(plan).floor
    assert floor is not None
    assert floor.quantity == 2.0
    for demands in (CLEAR, Demands(largest_seam_mm=0.0), Demands(largest_seam_mm=100.0)):
        refused = plans(part(demands, extents_mm=(400, 60, 30), split=LONG)).values()
        assert {p.verdict.level for p in refused} == {"ruled out"}


def test_a_part_that_stands_only_diagonally_asks_the_measure() -> None:
    diagonal = replace(LONG, fits=True, pieces=1, bond_area_mm2=0.0, seam_mm=0.0)
    plan = plans(part(extents_mm=(400, 20, 20), split=diagonal))[f"{A}, as-printed"]
    assert plan.verdict.level == "suits"


@pytest.mark.parametrize(
    ("shape", "demands", "words", "level"),
    [
        ({"thinnest_mm": 0.5}, Demands(), "thicken to 0.8 mm", "changes"),
        (
            {"closed_voids": 2, "closed_void_volume_mm3": 3_100.0},
            Demands(),
            "2 closed voids of 3.1 cm³",
            "changes",
        ),
        ({}, Demands(tolerance_mm=0.3), "within ±0.3 mm", "suits"),
        ({}, Demands(tolerance_mm=0.15), "leave stock", "changes"),
        ({}, Demands(tolerance_mm=0.05), "holds about ±0.2 mm", "ruled out"),
        ({}, Demands(service_degc=60), "softens at 50 °C", "ruled out"),
        # 48 MPa / 4 on 500 mm² is 6000 N
        ({}, Demands(load_n=5_900), "a screen, not a proof", "suits"),
        ({}, Demands(load_n=13_000), "must grow", "ruled out"),
        ({}, Demands(opaque=True), "pigment or paint", "changes"),
        ({}, Demands(clarity="translucent"), "clarity 'translucent' is met", "suits"),
    ],
)
def test_verdicts_in_numbers(shape: dict[str, Any], demands: Demands, words: str, level: str) -> None:
    for plan in plans(part(demands, **shape)).values():
        assert reason(plan, words) == level


def test_a_resin_too_hazy_for_optics_is_said_so_whatever_the_finish() -> None:
    """4 % of the resin alone is above the limit of 3 %."""
    for plan in plans(part(Demands(clarity="optical"))).values():
        assert reason(plan, "needs haze <= 3 %") == "ruled out"
    clearer = stated_shop(clear_haze_percent=1.5)
    polished = plans(part(Demands(clarity="optical")), clearer)[f"{A}, polished"]
    assert polished.verdict.level == "suits"


def test_nobody_polishes_what_nothing_reaches() -> None:
    bottle = Reach(0.5, 0.1, 0.4)
    assert {p.verdict.level for p in plans(part(CLEAR, reached=bottle)).values()} == {"ruled out"}
    outside = Demands(clarity="clear", finish_share=0.6)
    assert "suits" in {p.verdict.level for p in plans(part(outside, reached=bottle)).values()}


def test_trials_and_cautions() -> None:
    plan = plans(part(Demands(clarity="clear", holds_liquid=True, load_n=100.0)))[f"{A}, polished"]
    names = [op.name for op in plan.operations]
    assert names[-2:] == ["fill test", "proof load"]
    cautions = {caution for op in plan.operations for caution in op.cautions}
    assert {"yellowing", "liquid", "food", "proof-load", "sensitiser"} <= cautions
    plain = plans(part())[f"{A}, as-printed"]
    assert "yellowing" not in {caution for op in plain.operations for caution in op.cautions}


def test_a_service_without_prices_is_one_clear_error() -> None:
    shop = stated_shop()
    nameless = replace(shop.one(SlaService, A), id="sla-service-z")
    finish = replace(shop.all(SlaFinish)[0], service="sla-service-z")
    with pytest.raises(InputError, match="sla-service-z has no price law"):
        plans(part(), shop_with(shop, nameless, finish))


# ---- the shipped tables


@pytest.mark.parametrize("demands", [Demands(), SMOOTH, CLEAR, Demands(holds_liquid=True, load_n=50)])
def test_all_that_is_named_is_declared(demands: Demands) -> None:
    wanted = part(demands, copies=3, extents_mm=(400, 60, 30), split=LONG, quotes=[quote("sanded")])
    found = [p for p in OUTSOURCED_SLA.plans(wanted, SHIPPED) if not p.chosen.get("quote")]
    assert_declared(found, SHIPPED)
    # both services, and every choice once
    assert {p.chosen["service"] for p in found} == {"sla-service-a", "sla-service-b"}
    assert len({p.alternative for p in found}) == len(found) <= 150


def test_a_palm_size_clear_part_costs_hundreds() -> None:
    """Common practice, no source: polished by a service some 150 to 800 EUR; at home it is paid in hours."""
    found = {p.alternative: p for p in OUTSOURCED_SLA.plans(part(CLEAR), SHIPPED)}
    polished = found[f"{A}, polished"]
    assert 150 < costs([polished], TARIFF)[0] < 800
    home = next(p for name, p in found.items() if name.startswith(f"{A}, as-printed") and "compound" in name)
    assert drawn(home)[OWN_HOUR] > 2.0
    assert drawn(polished)[OWN_HOUR] < 0.5


# ---- measured meshes


def test_a_measured_block_by_hand() -> None:
    """40 x 30 x 20 mm: 24 cm³, 52 cm², its box is itself, and it lies 2 cm high."""
    plan = plans(Part("block", "", 1, shape=Shape(box(40, 30, 20))))[f"{A}, as-printed"]
    assert {r: q for r, q in drawn(plan).items() if r.startswith(A)} == pytest.approx(
        {
            f"{A} setup": 1.0,
            f"{A} volume": 24.0,
            f"{A} area": 52.0,
            f"{A} box": 24.0,
            f"{A} height": 2.0,
            f"{A} shipping-order": 0.25,
            f"{A} shipping-mass": 24 * 1.2 * 1.5,
        }
    )
    assert plan.verdict.level == "suits"


@pytest.mark.parametrize("seed", [1, 2])
def test_a_turned_part_costs_the_same(seed: int) -> None:
    bracket = ell(60, 8, 25)
    turned = Mesh.of(bracket.vertices @ rotation(seed).T, bracket.faces)
    straight, other = (plans(Part("bracket", "", 2, shape=Shape(mesh))) for mesh in (bracket, turned))
    assert straight.keys() == other.keys()
    for name in straight:
        assert drawn(straight[name]) == pytest.approx(drawn(other[name]), rel=1e-3)


def test_a_closed_void_holds_no_resin_in_the_part() -> None:
    """Its volume is not paid for, and it has to be drained."""
    full, hollow = (
        plans(Part("ball", "", 1, shape=Shape(mesh)))[f"{A}, as-printed"]
        for mesh in (sphere(15, 48), hollow_sphere(15, 12, 48))
    )
    # 4/3 π (15³ − 12³) over 4/3 π 15³
    share = 1 - (12 / 15) ** 3
    assert drawn(hollow)[f"{A} volume"] / drawn(full)[f"{A} volume"] == pytest.approx(share, rel=1e-3)
    assert reason(hollow, "add drain holes") == "changes"


def test_a_bar_too_long_for_the_chamber_is_split() -> None:
    bar = Part("bar", "", 1, shape=Shape(box(450, 30, 20)))
    plan = plans(bar)[f"{A}, as-printed"]
    assert reason(plan, "split in 2") == "changes"
    # one cut across 30 x 20 mm, two new faces
    assert drawn(plan)[f"{A} area"] == pytest.approx(2 * (45 * 3 + 45 * 2 + 3 * 2) + 2 * 6)
