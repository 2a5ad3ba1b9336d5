"""Shells filled with resin: plans by hand, the four limits of a pour, and what must hold for any cavity."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from math import exp, inf

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routecost.mesh.measuring.measures import Cavity, Fit
from routecost.mesh.measuring.shape import Shape
from routecost.routes.casting.shell_filling import (
    bulge_depth_mm,
    filling_operations,
    heat_depth_mm,
    mix_for_shells,
    plan_filling,
)
from routecost.routes.casting.shells import ShellPieces
from routecost.routes.filled_shell import FILLED_SHELL
from routecost.routes.physics.heat import adiabatic_rise_k, exotherm_rise_k, pour_cooling_h
from routecost.routes.physics.plates import head_pressure_pa, plate_deflection_mm
from routecost.routes.printing.print_pieces import Piece
from routecost.routes.process.operation import OWN_HOUR, ProcessPlan
from routecost.routes.process.part import Demands, Part
from routecost.shop.shop import Shop
from routecost.shop.standards import CastingStandards
from tests.mesh.shapes import box
from tests.routes.printing.printed_shape import (
    FILAMENT,
    RESIN,
    PrintedShape,
    StatedAnswers,
    print_shop,
    stated_deposit,
)
from tests.routes.printing.test_print_steps import hours_by_hand
from tests.routes.stated import (
    UP,
    assert_declared,
    costs,
    drawn,
    shipped_shop,
    shipped_tariff,
    shop_with,
    stated_pose,
)

SHOP = print_shop()
STANDARDS = SHOP.the(CastingStandards)


def stated_cavity(**changes: object) -> Cavity:
    """33.1 cm³, 50 mm high; with the 6.9 cm³ of the stated deposit the part has 40 cm³."""
    plain = Cavity(
        wall_mm=1.0,
        volume_mm3=33_100.0,
        spaces=1,
        height_mm=50.0,
        up=UP,
        slice_mm=1.0,
        area_by_height_mm2=(662.0,) * 50,
        peaks=1,
        largest_panel_mm=(30.0, 50.0),
        thickest_mm=14.0,
    )
    return replace(plain, **changes)  # type: ignore[arg-type]


def part(demands: Demands = Demands(), copies: int = 1, **shape: object) -> Part:  # noqa: B008  frozen
    stated = {
        "volume_mm3": 40_000.0,
        "typical_mm": 20.0,
        "thinnest_mm": 10.0,
        "shell_laid": stated_deposit(),
        "room": stated_cavity(),
        "kept": StatedAnswers({"shell-columns": 0.0}),
    }
    return Part("block", "a block", copies, demands, PrintedShape(**(stated | shape)))  # type: ignore[arg-type]


def plans(wanted: Part, shop: Shop = SHOP) -> list[ProcessPlan]:
    return list(FILLED_SHELL.plans(wanted, shop))


def levels(found: Iterable[ProcessPlan]) -> set[str]:
    return {plan.verdict.level for plan in found}


def reason(plan: ProcessPlan, words: str) -> str:
    (level,) = [r.level for r in plan.verdict.reasons if words in r.text]
    return level


# ---- by hand


def test_four_blocks_by_hand() -> None:
    """One in five shells leaks, so all is done 1.25 times: 33.1 cm³ each in three pours of 16.7 mm."""
    (plan,) = [plan for plan in plans(part(copies=4)) if "4 on a plate" in plan.alternative]
    t = hours_by_hand(4, infill=1.0)  # every wall of a shell is solid
    machine, starts = (exp(0.01 * t) - 1) / 0.01, exp(0.01 * t)
    poured = 4 * 33.1 * 1.1
    topped = 4 * 33.1 * (1 / 0.997**3 - 1) * 1.1
    check = 4 * 15 + 4 * 3  # one port each
    # 5 h to gel is beyond one session: three, and one to top up; a cup serves all four shells in each
    fill = 3 * (5 + 4 + 8 + 4 * 1)
    top = 5 + 4 + 8 + 4 * 1
    once = {
        "pla-natural": (4 * 6.9 * 1.25 + 2) * machine / t,
        "printer-220": machine / 5000 * 0.8,
        "printer-220 upkeep": machine,
        "electricity": machine * 0.1,
        OWN_HOUR: (6 * starts + 4 * 5 + check + fill + top) / 60,
        "epoxy-clear": (poured + topped) * 1.05 + 4 * 3,
        "sealing-epoxy": 4 * 2,
        "brush": 1,
        "mix-cup": 3 + 1 + 1,
        "resin-waste": 5 * 20,
        "isopropanol": 3 * starts + 5 * 15,
        "wipe": starts + 2 * 4 + 2 * 5,
        "blade": 20 / 60 + 12 / 60,
        "gloves": 2 * (check + fill + top) / 60,
        "mask-cartridges": (fill + top) / 60 / 30,
    }
    by_hand = {resource: 1.25 * amount for resource, amount in once.items()}
    by_hand[OWN_HOUR] += 12 / 60  # preparing the print is not repeated
    assert drawn(plan) == pytest.approx(by_hand, rel=1e-6)
    assert sum(op.waiting_min for op in plan.operations) == pytest.approx(1.25 * (8 + 3 * 5 + 72) * 60)
    # three pours, 1.25 times over
    assert [op.runs for op in plan.operations if op.name.startswith("mix and pour")] == [4]
    assert plan.mass_g == pytest.approx(4 * (6.9 * 1.25 + 33.1 * 1.1 / 0.997**3))
    assert plan.verdict.level == "suits"
    assert [op.name for op in plan.operations] == [
        "prepare the print of the shell",
        "print the shell",
        "take the shell off, clean up",
        "seal the shells, test for leaks, cut ports and vents",
        "mix and pour: epoxy-clear",
        "top up for shrinkage, close ports: epoxy-clear",
        "let it cure",
    ]


def poured_g(plan: ProcessPlan) -> float:
    """Resin that stays in one shell: without what cups keep, and leaking shells."""
    cups = drawn(plan)["mix-cup"] / 1.25 - 1  # one is for sealing
    return (drawn(plan)["epoxy-clear"] / 1.25 - 3 * cups) / 1.05


def test_an_open_top_by_hand() -> None:
    """A flat top of 600 mm² is left open: 0.6 cm³ less print, as much more resin, no port, the rim dressed."""
    stands = (replace(stated_pose(20.0, (60.0, 80.0)), flat_opening=True, flat_opening_area_mm2=600.0),)
    open_top = part(stands=stands, kept=StatedAnswers({"shell-columns": 30_000.0}))
    (plan,) = plans(open_top)
    assert poured_g(plan) == pytest.approx(33.7 * 1.1 / 0.997**3)
    assert plan.mass_g == pytest.approx(6.3 * 1.25 + 33.7 * 1.1 / 0.997**3)
    assert plan.chosen["top"] == "open"
    # columns of 30 cm³ stood under the roof: 600 x 50 mm of them are gone with it
    assert not any("supports stay" in text for text in plan.verdict.texts)
    names = [op.name for op in plan.operations]
    assert "seal the shells, test for leaks" in names
    assert "top up for shrinkage: epoxy-clear" in names
    assert "cut the rim and dress the open face" in names


def test_a_blade_cuts_ten_rims() -> None:
    """Common practice, no source. Rims are cut on good copies: four of them take four tenths of a blade."""
    stands = (replace(stated_pose(20.0, (60.0, 80.0)), flat_opening=True, flat_opening_area_mm2=600.0),)
    for plan in plans(part(copies=4, stands=stands)):
        (rim,) = [op for op in plan.operations if op.name.startswith("cut the rim")]
        assert [d.quantity for d in rim.usages if d.resource == "blade"] == [pytest.approx(0.4)]


def test_a_lip_round_an_open_top_may_sag() -> None:
    """400 mm² open, a circle of 70.9 mm; 5 mm around it are 354 mm² and 17.7 cm³ of columns 50 mm high."""
    stands = (replace(stated_pose(20.0, (60.0, 80.0)), flat_opening=True, flat_opening_area_mm2=400.0),)
    for columns, stays in ((20_000.0 + 17_700.0, False), (20_000.0 + 17_750.0, True)):
        (plan,) = plans(part(stands=stands, kept=StatedAnswers({"shell-columns": columns})))
        assert any("3.3 g of supports stay" in text for text in plan.verdict.texts) == stays


def test_supports_inside_take_the_place_of_resin() -> None:
    """20 cm³ of columns at 15 % are 3 cm³ of filament; shell, supports and resin fill the part's 40 cm³."""
    (plain,), (lost,) = plans(part()), plans(part(kept=StatedAnswers({"shell-columns": 20_000.0})))
    resin_g = [poured_g(p) * 0.997**3 for p in (plain, lost)]
    assert (resin_g[0] - resin_g[1]) / 1.1 == pytest.approx(3.0)
    printed_cm3 = (lost.mass_g - resin_g[1] / 0.997**3) / 1.25
    assert printed_cm3 + resin_g[1] / 1.1 == pytest.approx(40.0)
    assert reason(lost, "3.8 g of supports stay inside each shell") == "suits"
    (seen,) = plans(part(Demands(clarity="translucent"), kept=StatedAnswers({"shell-columns": 20_000.0})))
    assert reason(seen, "they show against the light") == "changes"


def test_a_shell_in_two_pieces_is_bonded_and_sealed_before_pouring() -> None:
    fit = Fit((300.0, 300.0, 300.0), False, UP, 2, 180.0, 180.0, (UP, UP), (3450.0, 3450.0))
    piece = Piece(stated_pose(20.0, (60.0, 200.0)), stated_deposit(0.5))
    kept = StatedAnswers({"shell-columns": 0.0, "shell-pieces": ShellPieces(fit, (piece, piece))})
    found = plans(part(stands=(stated_pose(20.0, (60.0, 400.0)),), kept=kept, split=fit))
    for plan in found:
        names = [op.name for op in plan.operations]
        sealed = names.index("seal the seams inside with sealing-epoxy")
        assert (
            names.index("pin, glue and clamp the pieces") < sealed < names.index("mix and pour: epoxy-clear")
        )
        assert reason(plan, "split in 2") == "changes"
        # a strip of 2 cm along 18 cm, two coats; and the pin holes
        assert drawn(plan)["sealing-epoxy"] == pytest.approx(1.25 * (36 * 2 * 0.02 + 2))
    assert levels(
        plans(
            part(
                Demands(largest_seam_mm=0.0), stands=(stated_pose(20.0, (60.0, 400.0)),), kept=kept, split=fit
            )
        )
    ) == {"ruled out"}


def test_a_measured_block_is_shell_and_resin_and_nothing_else() -> None:
    """A box of 40 x 30 x 20 mm under a wall of 1 mm: the room is 38 x 28 x 18 mm, and 1 mm higher if open."""
    block = Part("block", "a block", 1, Demands(), Shape(box(40.0, 30.0, 20.0)))
    room_cm3 = {"x": 39 * 28 * 18 / 1000, "y": 38 * 29 * 18 / 1000, "z": 38 * 28 * 19 / 1000}
    for plan in plans(block):
        assert plan.chosen["top"] == "open"
        resin_cm3 = poured_g(plan) * 0.997**3 / 1.1
        shell_cm3 = (plan.mass_g - poured_g(plan)) / 1.25
        assert resin_cm3 == pytest.approx(room_cm3[plan.chosen["placement"][1]], rel=0.005)
        assert resin_cm3 + shell_cm3 == pytest.approx(24.0, rel=0.005)
        assert "supports stay" not in " ".join(plan.verdict.texts)


# ---- limits of a pour


def test_bulge_limits_the_depth() -> None:
    """At the depth found, the clamped plate bulges by exactly the limit (Roark, Table 11.4, case 8a)."""
    wide = stated_cavity(largest_panel_mm=(150.0, 160.0))
    depth = bulge_depth_mm(wide, RESIN, FILAMENT, STANDARDS)
    pressure = head_pressure_pa(depth, 1.1)
    assert plate_deflection_mm(pressure, 150, 160, 1.0, 3.0) == pytest.approx(0.3)
    filling = plan_filling(wide, wide.volume_mm3, RESIN, FILAMENT, STANDARDS)
    assert max(pour.depth_mm for pour in filling.pours) <= depth
    assert len(filling.pours) > 3
    assert any("bulge allows" in r.text for r in filling.reasons)
    assert bulge_depth_mm(stated_cavity(largest_panel_mm=(0.0, 0.0)), RESIN, FILAMENT, STANDARDS) == inf


def test_a_panel_too_large_for_any_pour_is_backed() -> None:
    huge = stated_cavity(largest_panel_mm=(250.0, 250.0))
    filling = plan_filling(huge, huge.volume_mm3, RESIN, FILAMENT, STANDARDS)
    assert filling.boards_cm2 == pytest.approx(2 * 25 * 25)
    assert [r.level for r in filling.reasons if "back it with boards" in r.text] == ["changes"]
    (plan,) = plans(part(room=huge))
    assert drawn(plan)["mold-board"] == pytest.approx(1.25 * 1250)
    assert plan.verdict.level == "changes"


def test_heat_limits_the_depth() -> None:
    """At the depth found the wall is at its limit: 55 − 5 − 20 = 30 K over the room."""
    thick = stated_cavity(thickest_mm=40.0)
    depth = heat_depth_mm(thick, RESIN, FILAMENT, STANDARDS)
    cooling = pour_cooling_h(40.0, depth, 1.1, 1.9, 0.2, 10.0)
    middle = exotherm_rise_k(adiabatic_rise_k(450, 1.9), 5.0, cooling)
    # even heat in a slab of 40 mm: 1/(2·10) of film over that and 0.04/(8·0.2) of slab
    wall = middle * 0.05 / (0.05 + 0.025)
    assert wall == pytest.approx(30.0)
    fast = replace(RESIN, gel_h=0.3)
    filling = plan_filling(thick, thick.volume_mm3, fast, FILAMENT, STANDARDS)
    assert [r.level for r in filling.reasons if "warm a shell" in r.text] == ["ruled out"]
    assert "beyond 50 °C" in " ".join(r.text for r in filling.reasons)


def test_a_shell_that_softens_in_a_warm_room_takes_no_resin() -> None:
    soft = replace(FILAMENT, softens_degc=24.0)
    assert heat_depth_mm(stated_cavity(), RESIN, soft, STANDARDS) == 0.0
    filling = plan_filling(stated_cavity(), 33_100.0, RESIN, soft, STANDARDS)
    assert any(r.level == "ruled out" for r in filling.reasons)
    assert filling.pours  # and still shows what it would take


def test_mass_limits_the_pour() -> None:
    light = replace(RESIN, max_pour_mass_g=5.0)
    filling = plan_filling(stated_cavity(), 33_100.0, light, FILAMENT, STANDARDS)
    assert len(filling.pours) == 8  # 36.4 g
    assert all(pour.mass_g <= 5.0 * (1 + 1e-6) for pour in filling.pours)
    # and the cup: it may not stand in one place either
    assert mix_for_shells(light, SHOP).most_g == 5.0
    assert mix_for_shells(RESIN, SHOP).most_g == 800.0


def test_quick_resins_are_poured_again_before_cleaning_up() -> None:
    """Half an hour to gel, 2.5 h without a break: five pours, the topping up is one of them."""
    quick = replace(RESIN, id="pu-tan", chemistry="polyurethane", gel_h=0.5, reaction_heat_j_g=60)
    for gel_h, cleanings in ((0.5, 1), (5.0, 4)):
        (plan,) = plans(part(), shop_with(SHOP, replace(quick, gel_h=gel_h)))
        cleaned = [d for op in plan.operations for d in op.usages if "to clean up" in d.why]
        assert sum(d.quantity for d in cleaned) * 60 == pytest.approx(1.25 * cleanings * 8)


def test_a_resin_that_thickens_while_it_is_stirred_is_ruled_out() -> None:
    (plan,) = plans(part(), shop_with(SHOP, replace(RESIN, pot_life_min=2.0)))
    assert reason(plan, "mixing for 2 min leaves nothing") == "ruled out"
    assert costs([plan], shipped_tariff())[0] > 0


def test_a_thin_room_stays_soft() -> None:
    (plan,) = plans(part(room=stated_cavity(thickest_mm=2.5)))
    assert reason(plan, "2.5 mm of epoxy-clear stay soft") == "changes"


def test_pours_without_end_are_ruled_out() -> None:
    drops = replace(RESIN, max_pour_mass_g=10.0)
    tall = stated_cavity(area_by_height_mm2=(66_200.0,) * 500, volume_mm3=33_100_000.0, height_mm=500.0)
    filling = plan_filling(tall, tall.volume_mm3, drops, FILAMENT, STANDARDS)
    assert any(r.level == "ruled out" and "pours" in r.text for r in filling.reasons)
    assert len(filling.pours) <= 201


cavities = st.builds(
    lambda areas, slice_mm, thick, a, b: stated_cavity(
        area_by_height_mm2=tuple(areas),
        slice_mm=slice_mm,
        height_mm=slice_mm * len(areas),
        volume_mm3=slice_mm * sum(areas),
        thickest_mm=thick,
        largest_panel_mm=(min(a, b), max(a, b)),
    ),
    st.lists(st.floats(50, 5000), min_size=2, max_size=60),
    st.floats(0.5, 4.0),
    st.floats(2, 60),
    st.floats(5, 150),
    st.floats(5, 150),
)


@settings(max_examples=50)
@given(cavities, st.floats(0.7, 1.0))
def test_pours_fill_the_room_within_every_limit(cavity: Cavity, free: float) -> None:
    volume = free * cavity.volume_mm3
    filling = plan_filling(cavity, volume, RESIN, FILAMENT, STANDARDS)
    if any(r.level == "ruled out" for r in filling.reasons):
        return
    assert sum(p.volume_mm3 for p in filling.pours) == pytest.approx(volume)
    assert filling.resin_g == pytest.approx(volume / 1000 * 1.1 / 0.997**3)
    depth = max(p.depth_mm for p in filling.pours) * (1 - 1e-9)
    assert depth <= RESIN.max_pour_depth_mm
    assert depth <= heat_depth_mm(cavity, RESIN, FILAMENT, STANDARDS)
    if not filling.boards_cm2:
        assert depth <= bulge_depth_mm(cavity, RESIN, FILAMENT, STANDARDS)
    assert all(p.mass_g <= RESIN.max_pour_mass_g * (1 + 1e-6) for p in filling.pours)


@settings(max_examples=50)
@given(cavities, st.integers(1, 20), st.floats(1.0, 2.0))
def test_more_shells_and_a_larger_room_never_take_less(cavity: Cavity, shells: int, grow: float) -> None:
    def total(room: Cavity, n: int) -> dict[str, float]:
        filling = plan_filling(room, room.volume_mm3, RESIN, FILAMENT, STANDARDS)
        found: dict[str, float] = {}
        for op in filling_operations(SHOP, filling, n, 1):
            for draw in op.usages:
                found[draw.resource] = found.get(draw.resource, 0.0) + draw.quantity
            found["waiting"] = found.get("waiting", 0.0) + op.waiting_min
        return found

    base = total(cavity, shells)
    wider = replace(
        cavity,
        area_by_height_mm2=tuple(a * grow for a in cavity.area_by_height_mm2),
        volume_mm3=cavity.volume_mm3 * grow,
    )
    for other in (total(cavity, shells + 1), total(wider, shells)):
        assert all(q <= other[r] * (1 + 1e-9) + 1e-9 for r, q in base.items())


# ---- verdicts


def test_never_clear_and_translucent_at_best() -> None:
    assert levels(plans(part(Demands(clarity="clear")))) == {"ruled out"}
    assert levels(plans(part(Demands(clarity="translucent")))) == {"suits"}
    tan = shop_with(SHOP, replace(RESIN, haze_percent=100.0))
    assert levels(plans(part(Demands(clarity="translucent")), tan)) == {"ruled out"}


def test_closed_voids_rule_it_out() -> None:
    (plan,) = plans(part(closed_voids=2, closed_void_volume_mm3=500.0))
    assert reason(plan, "2 closed voids cannot be filled around") == "ruled out"


def test_walls_that_leave_no_room() -> None:
    """Two shell walls of 1 mm, and resin flows in 1.2 mm."""
    (plan,) = plans(part(typical_mm=1.9, thinnest_mm=1.5))
    assert reason(plan, "walls of 1.9 mm leave no cavity between two shell walls of 1 mm") == "ruled out"
    (plan,) = plans(part(typical_mm=3.0, thinnest_mm=3.0))
    assert reason(plan, "leave 1 mm between two shell walls; resin flows in 1.2 mm") == "ruled out"
    (plan,) = plans(part(typical_mm=5.0, thinnest_mm=2.5))
    assert reason(plan, "walls of 2.5 mm stay hollow or become solid print: thicken to 3.2 mm") == "changes"
    assert levels(plans(part(typical_mm=5.0, thinnest_mm=3.2))) == {"suits"}


def test_a_room_that_falls_to_pieces_is_better_drawn_anew() -> None:
    (plan,) = plans(part(room=stated_cavity(spaces=27, peaks=30)))
    assert reason(plan, "30 ports and vents in each shell") == "changes"
    (plan,) = plans(part(room=stated_cavity(spaces=2, peaks=3)))
    assert plan.verdict.level == "suits"
    (check,) = [op for op in plan.operations if "cut ports" in op.name]
    assert check.hands_on_min == pytest.approx(1.25 * (15 + 3 * 3))


def test_nothing_to_fill_still_has_a_cost() -> None:
    none = stated_cavity(
        volume_mm3=0.0,
        area_by_height_mm2=(),
        height_mm=0.0,
        thickest_mm=0.0,
        spaces=0,
        peaks=0,
        largest_panel_mm=(0.0, 0.0),
    )
    (plan,) = plans(part(room=none))
    assert reason(plan, "nothing to fill") == "ruled out"
    assert costs([plan], shipped_tariff())[0] > 0
    assert "epoxy-clear" not in drawn(plan)


def test_the_softer_of_shell_and_resin_decides() -> None:
    """The resin softens at 50 °C, less 10 K."""
    assert levels(plans(part(Demands(service_degc=40.0)))) == {"suits"}
    assert levels(plans(part(Demands(service_degc=41.0)))) == {"ruled out"}


def test_a_core_carries_more_than_a_print() -> None:
    """500 mm²; 82.8 % of it resin of 60 MPa, the rest print of 25 MPa across layers: 53.9 MPa / 4 -> 6.75 kN."""
    (plan,) = plans(part(Demands(load_n=6700.0)))
    assert plan.verdict.level == "suits"
    assert any(op.name == "proof load" for op in plan.operations)
    (plan,) = plans(part(Demands(load_n=6800.0)))
    assert plan.verdict.level == "changes"


def test_it_holds_water_without_a_coat() -> None:
    (plan,) = plans(part(Demands(holds_liquid=True)))
    names = [op.name for op in plan.operations]
    assert "fill test" in names
    assert not any("seal the inside" in name for name in names)


def test_cautions() -> None:
    (epoxy,) = plans(part())
    poured = next(op for op in epoxy.operations if op.name.startswith("mix and pour"))
    assert {"sensitiser", "exotherm"} <= set(poured.cautions)
    (pu,) = plans(part(), shop_with(SHOP, replace(RESIN, id="pu-tan", chemistry="polyurethane")))
    poured = next(op for op in pu.operations if op.name.startswith("mix and pour"))
    assert {"isocyanate", "exotherm"} <= set(poured.cautions)


# ---- at any prices, and with the shipped tables


def cheapest(found: Iterable[ProcessPlan], seed: int) -> float:
    rng = np.random.default_rng(seed)
    price = {name: float(rng.uniform(0.01, 10)) for name in sorted((*shipped_shop().resources, OWN_HOUR))}
    return min(sum(q * price[r] for r, q in drawn(plan).items()) for plan in found)


@settings(max_examples=30)
@given(copies=st.integers(1, 30), seed=st.integers(0, 10_000))
def test_one_more_copy_never_costs_less(copies: int, seed: int) -> None:
    fewer, more = (plans(part(copies=n, shell_laid=stated_deposit(4.0))) for n in (copies, copies + 1))
    assert cheapest(fewer, seed) <= cheapest(more, seed) * (1 + 1e-9)


@settings(max_examples=20)
@given(sound=st.floats(0.3, 1.0), worse=st.floats(0.3, 1.0), seed=st.integers(0, 10_000))
def test_leakier_shells_never_cost_less(sound: float, worse: float, seed: int) -> None:
    high, low = max(sound, worse), min(sound, worse)
    good, bad = (
        plans(part(copies=5), shop_with(SHOP, replace(STANDARDS, yield_shell=y))) for y in (high, low)
    )
    assert cheapest(good, seed) <= cheapest(bad, seed) * (1 + 1e-9)


def test_all_alternatives_of_the_shipped_shop() -> None:
    shop = shipped_shop()
    found = plans(part(Demands(finish="smooth", load_n=100.0, holds_liquid=True), copies=3), shop)
    assert 16 <= len(found) <= 150
    assert_declared(found, shop)
    assert all(cost > 0 for cost in costs(found, shipped_tariff()))
    assert len({plan.alternative for plan in found}) == len(found)
