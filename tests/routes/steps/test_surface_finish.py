"""Finishing: the roughness that is asked for, and the work, paper and coats that get there."""

from __future__ import annotations

from dataclasses import replace
from math import exp, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecost.mesh.measuring.measures import Reach
from routecost.routes.process.operation import OWN_HOUR
from routecost.routes.process.part import Demands
from routecost.routes.steps.surface_finish import FinishPlan, finish_options, target_rq_um
from routecost.shop.materials import Abrasive, Coating
from routecost.shop.shop import Shop
from routecost.shop.standards import FinishingStandards
from tests.routes.stated import finishing_shop, shipped_shop, shop_with

SHOP = shipped_shop()
SHOP_ABRASIVES = {abrasive.id for abrasive in SHOP.all(Abrasive)}

OPEN = Reach(1.0, 0.0, 0.0)


def options(shop: Shop, start: float, target: float | None, **more: object) -> dict[str, FinishPlan]:
    given_: dict[str, object] = {
        "area_mm2": 10_000.0,
        "reach": OPEN,
        "copies": 1,
        "opaque": False,
        "clear": False,
    } | more
    found = finish_options(shop, start_rq_um=start, target_rq_um=target, **given_)  # type: ignore[arg-type]
    return {plan.name: plan for plan in found}


def drawn(plan: FinishPlan) -> dict[str, float]:
    found: dict[str, float] = {}
    for operation in plan.operations:
        for draw in operation.usages:
            found[draw.resource] = found.get(draw.resource, 0.0) + draw.quantity
    return found


def quickest_min(found: dict[str, FinishPlan]) -> float:
    return min(plan.hands_on_min for plan in found.values())


# ---- what is asked for


def test_nothing_is_asked_of_a_part_as_made() -> None:
    assert target_rq_um(Demands(), SHOP) is None
    assert target_rq_um(Demands(clarity="translucent"), SHOP) is None
    assert options(SHOP, 20.0, None)["no finishing"].operations == ()


@pytest.mark.parametrize(("clarity", "limit"), [("clear", 10.0), ("optical", 3.0)])
@given(base=st.floats(0.0, 2.9))
def test_the_target_for_clarity_uses_up_the_haze_limit(clarity: str, limit: float, base: float) -> None:
    # Davies/Bennett form for two faces at 550 nm, n = 1.5, written out anew (from memory)
    rq = target_rq_um(Demands(clarity=clarity), SHOP, base)  # type: ignore[arg-type]
    assert rq is not None
    through = (1 - base / 100) * exp(-2 * (2 * pi * rq * 0.5 / 0.550) ** 2)
    assert 100 * (1 - through) == pytest.approx(limit)


def test_the_finer_of_clarity_and_finish_counts() -> None:
    shop = finishing_shop()
    assert target_rq_um(Demands(finish="smooth"), shop) == 1.5
    assert target_rq_um(Demands(finish="polished"), shop) == 0.05
    both = target_rq_um(Demands(finish="polished", clarity="clear"), shop)
    # σ for 10 % by the form above: near 0.04 µm, finer than polished
    assert both == pytest.approx(0.0402, abs=1e-4)
    rough_is_enough = replace(shop.the(FinishingStandards), polished_rq_um=0.01)
    assert target_rq_um(Demands(finish="polished", clarity="clear"), shop_with(shop, rough_is_enough)) == 0.01


def test_a_hopeless_material_still_shows_what_polishing_would_take() -> None:
    assert target_rq_um(Demands(clarity="clear"), SHOP, 60.0) == target_rq_um(Demands(clarity="clear"), SHOP)


# ---- plans by hand


def test_polishing_a_resin_print_by_hand() -> None:
    """100 cm², 70 % open and 30 % by finger, Rq 5 to 0.05 µm: P400, P1000, P2000, cutting, fine."""
    found = options(finishing_shop(), 5.0, 0.05, reach=Reach(0.7, 0.3, 0.0))
    plan = found["paper-p400 to compound-fine"]
    # 10 units of 10 cm², of which 7 count once and 3 count 2.5 times: 14.5 units
    p400 = 14.5 * 1.5 * 2.0  # first stage: levels ridges
    p1000, p2000 = 14.5 * 1.2, 14.5 * 1.2
    cutting, fine = 14.5 * 1.5, 14.5 * 1.2
    sanding, polishing = p400 + p1000 + p2000 + 3 * 4.0, cutting + fine + 2 * 4.0
    assert sanding == pytest.approx(90.3)
    assert polishing == pytest.approx(47.15)
    got = drawn(plan)
    assert got[OWN_HOUR] * 60 == pytest.approx(sanding + polishing)
    assert [op.hands_on_min for op in plan.operations] == pytest.approx([sanding, polishing])
    assert got["paper-p400"] == got["paper-p1000"] == got["paper-p2000"] == pytest.approx(100 / 300)
    assert got["compound-cutting"] == pytest.approx(100 / 60)  # grams
    assert got["compound-fine"] == pytest.approx(100 / 80)
    assert got["wipe"] == pytest.approx(5 * 0.5)
    assert got["gloves"] == pytest.approx((sanding + polishing) / 60 * 2)
    assert got["mask-cartridges"] == pytest.approx(sanding / 60 / 30)  # dust; polishing makes none
    assert plan.rq_um == 0.018
    assert plan.waiting_min == 0.0
    assert set(got) == {
        OWN_HOUR,
        "paper-p400",
        "paper-p1000",
        "paper-p2000",
        "compound-cutting",
        "compound-fine",
        "wipe",
        "gloves",
        "mask-cartridges",
    }


def test_priming_and_coating_four_printed_masters_by_hand() -> None:
    """4 x 150 cm², all open, Rq 18 µm: two coats of primer, P320 and P600, two clear coats."""
    found = options(finishing_shop(), 18.0, 0.03, area_mm2=15_000.0, copies=4, opaque=True, what="master")
    plan = found["filler-primer, paper-p320 to paper-p600, clear-coat"]
    prime, sand, coat = plan.operations
    # 600 cm² x 2 coats x 0.06 min + 2 x 10 min
    assert prime.hands_on_min == coat.hands_on_min == pytest.approx(92.0)
    # 60 units: P320 levels the primer's 6 µm (below 0.15 x 46.2), P600 follows (0.924 < 2 x 0.516)
    assert sand.hands_on_min == pytest.approx(60 * 1.5 * 2 + 60 * 1.2 + 2 * 4)
    got = drawn(plan)
    assert got["filler-primer"] == pytest.approx(600 * 2 * 0.02)
    assert got["clear-coat"] == pytest.approx(600 * 2 * 0.012)
    assert got["isopropanol"] == pytest.approx(2 * 600 * 0.03)
    assert got["paper-p320"] == got["paper-p600"] == pytest.approx(2.0)
    assert got["wipe"] == pytest.approx(6 * 0.5 * (1 + 2 + 1))
    assert got["gloves"] == pytest.approx((92 + 260 + 92) / 60 * 2)
    assert got["mask-cartridges"] == pytest.approx((92 + 260 + 92) / 60 / 30)
    assert plan.waiting_min == pytest.approx(60 * (2 * 1.5 + 2 * 4.0))
    assert [op.runs for op in plan.operations if op.waiting_min] == [2, 2]  # each coat is laid on by hand
    assert plan.rq_um == 0.025
    assert {"solvent", "compressed-air", "isocyanate"} <= set(coat.cautions)
    assert sand.cautions == ("dust",)


def test_sanded_already_means_no_ridges_to_level() -> None:
    """From P320 scratches (0.9 µm) a paper may only be twice as fine: P600, then on."""
    plan = options(finishing_shop(), 0.9, 0.05, ridged=False)["paper-p600 to compound-fine"]
    sand, polish = plan.operations
    assert sand.note.startswith("paper-p600 → paper-p1000 → paper-p2000")
    assert sand.hands_on_min == pytest.approx(10 * (1.2 + 1.2 + 1.2) + 3 * 4)
    assert polish.hands_on_min == pytest.approx(10 * (1.5 + 1.2) + 2 * 4)


# ---- what must hold whatever the numbers

roughness = st.floats(0.01, 30.0)
reaches = st.tuples(st.floats(0.01, 1), st.floats(0, 1), st.floats(0, 1)).map(
    lambda t: Reach(*(x / sum(t) for x in t))
)


@given(start=roughness, a=roughness, b=roughness, reach=reaches, opaque=st.booleans(), ridged=st.booleans())
def test_a_finer_surface_never_takes_less_time(
    start: float, a: float, b: float, reach: Reach, opaque: bool, ridged: bool
) -> None:
    finer, coarser = sorted((a, b))
    times = [
        quickest_min(options(SHOP, start, target, reach=reach, opaque=opaque, ridged=ridged))
        for target in (finer, coarser)
    ]
    if finer >= 0.018:  # finer than the finest compound nothing goes: it stops short
        assert times[0] >= times[1] - 1e-9


@given(start=st.floats(0.05, 30.0), target=roughness, opaque=st.booleans(), reach=reaches)
def test_what_is_said_to_be_reached_is_reached(
    start: float, target: float, opaque: bool, reach: Reach
) -> None:
    for plan in options(SHOP, start, target, opaque=opaque, reach=reach).values():
        short = any("needs Rq" in reason.text for reason in plan.reasons)
        assert (plan.rq_um <= target) != short
        assert plan.rq_um <= start


@given(
    start=st.floats(1.0, 30.0),
    copies=st.integers(1, 40),
    reach=reaches,
    share=st.floats(0.05, 1.0),
    opaque=st.booleans(),
)
def test_a_copy_more_adds_its_own_work_and_no_set_up(
    start: float, copies: int, reach: Reach, share: float, opaque: bool
) -> None:
    def at(n: int) -> dict[str, FinishPlan]:
        return options(SHOP, start, 0.03, copies=n, reach=reach, share=share, opaque=opaque)

    first, second, third = at(copies), at(copies + 1), at(copies + 2)
    for name in set(first) & set(second) & set(third):
        t = [plans[name].hands_on_min for plans in (first, second, third)]
        assert t[2] - t[1] == pytest.approx(t[1] - t[0])
        set_up_min = t[0] - copies * (t[1] - t[0])
        assert set_up_min > 0.0
        assert [drawn(plans[name]).keys() for plans in (first, second)] == [drawn(first[name]).keys()] * 2


@given(start=st.floats(0.2, 30.0), reach=reaches, share=st.floats(0.05, 1.0), copies=st.integers(1, 9))
def test_paper_times_life_is_the_surface(start: float, reach: Reach, share: float, copies: int) -> None:
    """Every paper that is finer than the first passes once over all that is reached, and over nothing else."""
    shop = finishing_shop()
    plan = options(shop, start, 0.03, reach=reach, share=share, copies=copies, area_mm2=5_000.0)
    done_cm2 = copies * 50.0 * min(share, reach.block + reach.finger)
    for found in plan.values():
        for operation in found.operations:
            used = [d for d in operation.usages if d.resource.startswith(("paper", "compound"))]
            for draw in used[1:]:
                life = shop.one(Abrasive, draw.resource).life_cm2
                assert draw.quantity * life == pytest.approx(done_cm2)
            grains = [shop.one(Abrasive, d.resource).grain_um for d in used]
            assert grains == sorted(grains, reverse=True)


@given(block=st.floats(0.0, 1.0))
def test_a_fingertip_takes_longer_than_a_block(block: float) -> None:
    open_ = quickest_min(options(SHOP, 20.0, 1.0))
    mixed = quickest_min(options(SHOP, 20.0, 1.0, reach=Reach(block, 1.0 - block, 0.0)))
    assert mixed >= open_ - 1e-9


# ---- limits


def test_surface_out_of_reach() -> None:
    shop, bottle = finishing_shop(), Reach(0.4, 0.1, 0.5)
    clear = options(shop, 5.0, 0.04, reach=bottle, clear=True)
    assert {r.level for plan in clear.values() for r in plan.reasons} == {"ruled out"}
    # half of 100 cm²
    assert "50%" in next(iter(clear.values())).reasons[0].text
    assert "50.0 cm²" in next(iter(clear.values())).reasons[0].text
    smooth = options(shop, 5.0, 1.5, reach=bottle)
    assert {r.level for plan in smooth.values() for r in plan.reasons} == {"changes"}
    # only the outside is asked for: nobody sees what nothing reaches
    outside = options(shop, 5.0, 0.04, reach=bottle, clear=True, share=0.5)
    assert all(plan.reasons == () for plan in outside.values())
    nearly = options(shop, 5.0, 0.04, reach=Reach(0.9, 0.085, 0.015), clear=True)
    assert all(plan.reasons == () for plan in nearly.values())
    sealed = options(shop, 5.0, 0.04, reach=Reach(0.0, 0.0, 1.0), clear=True)
    assert [(plan.operations, plan.rq_um) for plan in sealed.values()] == [((), 5.0)]


def test_paper_alone_makes_no_clear_part() -> None:
    shop = finishing_shop()
    papers = shop_with(shop, *(a for a in shop.all(Abrasive) if a.kind == "paper"))
    without_coat = shop_with(papers, *(c for c in shop.all(Coating) if c.purpose == "primer"))
    (plan,) = options(without_coat, 5.0, 0.04).values()
    assert plan.reasons[0].level == "ruled out"
    assert "0.21" in plan.reasons[0].text  # P2000: 0.02 x 10.3 µm


def test_primer_and_compound_stay_apart_and_primer_hides_no_clear_part() -> None:
    shop = finishing_shop()
    for plan in options(shop, 20.0, 0.05, opaque=True).values():
        resources = drawn(plan)
        assert not ("filler-primer" in resources and "compound-fine" in resources)
    assert any("filler-primer" in name for name in options(shop, 20.0, 0.05, opaque=True))
    assert not any("filler-primer" in name for name in options(shop, 20.0, 0.05, opaque=False))
    assert not any("filler-primer" in n for n in options(shop, 20.0, 0.05, opaque=True, primer_ok=False))
    assert not any("filler-primer" in name for name in options(shop, 9.0, 0.05, opaque=True))


def test_the_coat_against_yellowing_is_offered_where_it_is_asked_for() -> None:
    assert not any("uv-coat" in name for name in options(SHOP, 5.0, 0.04))
    offered = options(SHOP, 5.0, 0.04, uv_ok=True)
    assert any("uv-coat" in name for name in offered)
    assert any("clear-coat" in name for name in offered)


@pytest.mark.parametrize("start", [20.0, 5.0])
def test_the_shipped_ladder_has_no_gaps(start: float) -> None:
    """Each grit takes out the scratches of the one before in one pass, down to an optical finish."""
    target = target_rq_um(Demands(clarity="optical"), SHOP, 1.5)
    ladder = next(
        plan for name, plan in options(SHOP, start, target).items() if name.endswith("compound-fine")
    )
    later = [d for op in ladder.operations for d in op.usages if d.resource in SHOP_ABRASIVES][1:]
    assert len(later) >= 3
    assert not any("passes" in draw.why for draw in later)


def test_a_palm_size_piece_takes_hours() -> None:
    """180 cm² with a rim that only a finger reaches. Common practice, no source: from a filament print a long
    working day at most, from resin two to five hours, and a coat about halves it."""
    palm = {"area_mm2": 18_000.0, "reach": Reach(0.8, 0.2, 0.0)}
    printed = options(SHOP, 20.0, 0.03, **palm)["paper-p120 to compound-fine"]
    resin = options(SHOP, 5.0, 0.03, **palm)
    polished = next(plan for name, plan in resin.items() if name.endswith("compound-fine"))
    coated = next(plan for name, plan in resin.items() if name.endswith("clear-coat"))
    assert 3.0 < printed.hands_on_min / 60 < 8.0
    assert 2.0 < polished.hands_on_min / 60 < 5.0
    assert 0.3 < coated.hands_on_min / polished.hands_on_min < 0.7
