"""In-house FDM: whole plans by hand, verdicts with their numbers, and what must hold at any prices."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from math import exp

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routecost.mesh.measuring.measures import Fit
from routecost.mesh.measuring.shape import Shape
from routecost.routes.fdm import FDM
from routecost.routes.printing.print_pieces import Piece
from routecost.routes.process.operation import OWN_HOUR, ProcessPlan
from routecost.routes.process.part import Demands, Part
from routecost.shop.shop import Shop
from tests.mesh.shapes import box, hollow_sphere
from tests.routes.printing.printed_shape import (
    FILAMENT,
    GREY,
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

LONG = {
    "stands": (stated_pose(20.0, (60.0, 400.0)),),
    "split": Fit((300.0, 300.0, 300.0), False, UP, 2, 500.0, 160.0, (UP, UP), (3450.0, 3450.0)),
    "kept": StatedAnswers({"pieces": (Piece(stated_pose(20.0, (60.0, 200.0)), stated_deposit(1.0)),) * 2}),
}


def part(demands: Demands = Demands(), copies: int = 1, **shape: object) -> Part:  # noqa: B008  frozen
    return Part("dish", "a dish", copies, demands, PrintedShape(**shape))  # type: ignore[arg-type]


def plans(wanted: Part, shop: Shop | None = None) -> list[ProcessPlan]:
    return list(FDM.plans(wanted, shop or print_shop()))


def only(found: Iterable[ProcessPlan], *words: str) -> ProcessPlan:
    (plan,) = [plan for plan in found if all(word in plan.alternative for word in words)]
    return plan


def levels(found: Iterable[ProcessPlan]) -> set[str]:
    return {plan.verdict.level for plan in found}


def reason(plan: ProcessPlan, words: str) -> str:
    (level,) = [r.level for r in plan.verdict.reasons if words in r.text]
    return level


# ---- by hand


def test_three_dishes_that_hold_water_and_a_load_by_hand() -> None:
    """One plate of three; sealed inside, filled for a day, loaded for a day."""
    plan = only(plans(part(Demands(holds_liquid=True, load_n=100.0), 3)), "3 on a plate")
    t = hours_by_hand(3)
    machine, starts = (exp(0.01 * t) - 1) / 0.01, exp(0.01 * t)
    seal_min = 270 * 2 * 0.08 + 2 * 5
    assert drawn(plan) == pytest.approx(
        {
            "pla-natural": (3 * (5.4 + 0.3) * 1.25 + 2) * machine / t,
            "printer-220": machine / 5000 * 0.8,
            "printer-220 upkeep": machine,
            "electricity": machine * 0.1,
            OWN_HOUR: (12 + 6 * starts + 3 * 5 + seal_min + 3 * 15 + 3 * 20) / 60,
            "isopropanol": 3 * starts + 2 * 15,
            "wipe": starts + 2 * 2 + 3 * 2,
            "blade": 15 / 60,
            "sealing-epoxy": 270 * 2 * 0.02,
            "brush": 2,
            "mix-cup": 2,
            "resin-waste": 40,
            "gloves": seal_min / 60 * 2,
            "mask-cartridges": seal_min / 60 / 30,
        },
        rel=1e-6,
    )
    assert sum(op.waiting_min for op in plan.operations) == (2 * 8 + 24 + 24) * 60
    assert sum(op.machine_min for op in plan.operations) == pytest.approx(machine * 60)
    assert plan.mass_g == pytest.approx(3 * 5.7 * 1.25)
    # 100 N on 500 mm² is 0.2 MPa; 50 MPa x 0.5 across layers x what is full of 6.9 cm³ / 4
    assert "0.2 MPa; printed pla-natural, 83% full, at 50% of its strength, may bear 5.2 MPa" in " ".join(
        plan.verdict.texts
    )


def test_two_copies_in_two_pieces_by_hand() -> None:
    """Each piece takes as long as the stated part: two plates of two, bonded and dressed, no liquid."""
    plan = only(plans(part(copies=2, **LONG)), "in 2 pieces")
    sizes = {
        tuple(int(w) for w in op.note.split() if w.isdigit())[:2] for op in plan.operations if op.machine
    }
    assert len(sizes) == 1
    t = hours_by_hand(2)
    machine, starts = 2 * (exp(0.01 * t) - 1) / 0.01, 2 * exp(0.01 * t)
    glue, dress = 2 * 12 + 10 * 0.3, 32 * 0.8
    assert drawn(plan) == pytest.approx(
        {
            "pla-natural": 2 * (2 * 5.7 * 1.25 + 2) * machine / 2 / t,
            "printer-220": machine / 5000 * 0.8,
            "printer-220 upkeep": machine,
            "electricity": machine * 0.1,
            OWN_HOUR: (2 * 12 + 6 * starts + 4 * 5 + glue + dress) / 60,
            "isopropanol": 3 * starts + 10 * 0.1,
            "wipe": starts + 2,
            "blade": 20 / 60,
            "pins": 4,
            "adhesive": 10 * 0.05,
            "tape": 32 * 1.5,
            "seam-filler": 32 * 0.15,
            "paper-p220": 64 / 300,
            "gloves": (glue + dress) / 60 * 2,
            "mask-cartridges": dress / 60 / 30,
        },
        rel=1e-6,
    )
    assert plan.verdict.level == "changes"
    assert reason(plan, "split in 2: 160 mm of seam, 5.0 cm² of bonds") == "changes"
    assert plan.mass_g == pytest.approx(4 * 5.7 * 1.25)


# ---- verdicts


@pytest.mark.parametrize("clarity", ["clear", "optical"])
def test_a_print_is_never_clear(clarity: str) -> None:
    found = plans(part(Demands(clarity=clarity)))  # type: ignore[arg-type]
    assert levels(found) == {"ruled out"}
    assert all(reason(plan, "printed walls scatter about 60 %") == "ruled out" for plan in found)
    assert min(costs(found, shipped_tariff())) > 0  # it still shows what it would cost


def two_filaments() -> Shop:
    return shop_with(print_shop(), FILAMENT, GREY)


def test_translucent_takes_the_filament_that_lets_light_through() -> None:
    found = plans(part(Demands(clarity="translucent")), two_filaments())
    assert {plan.chosen["filament"]: plan.verdict.level for plan in found} == {
        "pla-natural": "suits",
        "pla-grey": "ruled out",
    }


def test_light_crosses_both_walls_and_the_infill_between() -> None:
    """20 mm thick: two walls of three lines of 0.5 mm are 3 mm solid, a fifth of the other 17 mm is 3.4 mm.
    Beer-Lambert: e^(-6.4/2.5) is 7.7 %; through one wall only it would be e^(-5.2/2.5) = 12.5 %."""
    dim = shop_with(print_shop(), replace(FILAMENT, light_path_mm=2.5))
    (plan,) = plans(part(Demands(clarity="translucent"), typical_mm=20.0), dim)
    assert reason(plan, "passes 8 % of light through 6 mm of pla-natural in 20 mm of part") == "ruled out"


def test_opaque_takes_grey_or_primer() -> None:
    bare = plans(part(Demands(opaque=True)), two_filaments())
    assert {plan.chosen["filament"]: plan.verdict.level for plan in bare} == {
        "pla-natural": "changes",
        "pla-grey": "suits",
    }
    smooth = plans(part(Demands(opaque=True, finish="smooth")), two_filaments())
    primed = {plan.verdict.level for plan in smooth if "filler-primer" in plan.chosen["finish"]}
    assert primed == {"suits"}


def test_heat() -> None:
    """Softens at 55 °C, less 10 K."""
    assert levels(plans(part(Demands(service_degc=45.0)))) == {"suits"}
    assert levels(plans(part(Demands(service_degc=45.1)))) == {"ruled out"}


def test_thin_walls() -> None:
    """A line is 0.5 mm wide."""
    (plan,) = plans(part(thinnest_mm=0.4))
    assert reason(plan, "thicken to 0.5 mm") == "changes"
    (plan,) = plans(part(thinnest_mm=0.9))
    assert reason(plan, "room for one line") == "suits"
    (plan,) = plans(part(Demands(holds_liquid=True), thinnest_mm=0.9))
    assert reason(plan, "weep: thicken to 1 mm") == "changes"
    assert levels(plans(part(thinnest_mm=1.0))) == {"suits"}


def test_a_part_that_may_not_be_split_is_ruled_out() -> None:
    assert levels(plans(part(Demands(largest_seam_mm=0.0), **LONG))) == {"ruled out"}
    assert levels(plans(part(Demands(largest_seam_mm=200.0), **LONG))) == {"changes"}


def test_more_pieces_than_anybody_bonds() -> None:
    many = replace(LONG["split"], pieces=90, piece_ups=(), piece_volumes_mm3=())  # type: ignore[type-var]
    found = plans(part(stands=LONG["stands"], split=many))
    assert levels(found) == {"ruled out"}
    assert all(reason(plan, "it would take 90 pieces") == "ruled out" for plan in found)
    # the pieces together are the part: nothing is lost by not cutting it
    assert all(plan.mass_g == pytest.approx(5.7 * 1.25) for plan in found)


def test_load_beyond_the_section() -> None:
    """500 mm² x 50 MPa x 0.5 x 83 % / 4 = 2582 N."""
    assert levels(plans(part(Demands(load_n=2500.0)))) == {"suits"}
    assert levels(plans(part(Demands(load_n=2700.0)))) == {"changes"}
    assert levels(plans(part(Demands(load_n=6000.0)))) == {"ruled out"}
    # along the layers it bears twice that
    assert levels(plans(part(Demands(load_n=5000.0, load_direction=(2.0, 0.0, 0.0))))) == {"suits"}


def test_no_coat_no_water() -> None:
    shop = print_shop()
    dry = replace(shop, things={k: v for k, v in shop.things.items() if k.__name__ != "Coating"})
    found = plans(part(Demands(holds_liquid=True)), dry)
    assert levels(found) == {"ruled out"}
    assert all(reason(plan, "no sealing coat") == "ruled out" for plan in found)


def test_a_printer_that_is_not_in_the_shop() -> None:
    shop = print_shop().with_owned(frozenset({"pressure-pot-10l"}))
    found = plans(part(), shop)
    assert {reason(plan, "printer-220, which is not in the shop") for plan in found} == {"changes"}


def test_lines_that_are_bought_have_no_plan() -> None:
    assert list(FDM.plans(Part("screw", "a screw", 4, buy="pins"), print_shop())) == []


def test_closed_voids_print_and_are_named() -> None:
    sphere = Part("float", "a float", 1, Demands(), Shape(hollow_sphere(20.0, 12.0, 48)))
    found = plans(sphere)
    assert levels(found) <= {"suits", "changes"}
    assert all(reason(plan, "1 closed void") == "suits" for plan in found)


def test_a_fixed_pose_is_kept() -> None:
    slab = Shape(box(60.0, 40.0, 20.0))
    found = plans(Part("slab", "a slab", 1, Demands(), slab, up=(1.0, 0.0, 0.0)))
    assert {plan.chosen["placement"].split(",")[0] for plan in found} == {"+x up"}


# ---- properties

PRICES = st.integers(0, 10_000)


def cheapest(found: Iterable[ProcessPlan], seed: int) -> float:
    """At positive prices drawn from a seed, the same for the same resource."""
    rng = np.random.default_rng(seed)
    price = {name: float(rng.uniform(0.01, 10)) for name in sorted((*shipped_shop().resources, OWN_HOUR))}
    return min(sum(q * price[r] for r, q in drawn(plan).items()) for plan in found)


@settings(max_examples=40)
@given(copies=st.integers(1, 30), seed=PRICES, rate=st.sampled_from([0.0, 0.01, 0.05]))
def test_one_more_copy_never_costs_less(copies: int, seed: int, rate: float) -> None:
    shop = print_shop(printer_failure_per_h=rate)
    wanted = Demands(holds_liquid=True, finish="smooth")
    fewer, more = (plans(part(wanted, n, laid=stated_deposit(5.0)), shop) for n in (copies, copies + 1))
    assert cheapest(fewer, seed) <= cheapest(more, seed) * (1 + 1e-9)


@settings(max_examples=30)
@given(copies=st.integers(1, 30), seed=PRICES, rate=st.floats(0.0, 0.05), worse=st.floats(0.0, 0.05))
def test_more_failures_never_cost_less(copies: int, seed: int, rate: float, worse: float) -> None:
    now, then = (
        plans(part(copies=copies, laid=stated_deposit(5.0)), print_shop(printer_failure_per_h=r))
        for r in (rate, rate + worse)
    )
    assert cheapest(now, seed) <= cheapest(then, seed) * (1 + 1e-9)


@settings(max_examples=20)
@given(more=st.floats(1.0, 3.0), seed=PRICES)
def test_more_to_lay_never_costs_less(more: float, seed: int) -> None:
    small, large = (plans(part(copies=3, laid=stated_deposit(n))) for n in (1.0, more))
    assert cheapest(small, seed) <= cheapest(large, seed) * (1 + 1e-9)


def test_a_finer_finish_never_takes_less_work() -> None:
    least = [
        min(drawn(plan)[OWN_HOUR] for plan in plans(part(Demands(finish=grade))))  # type: ignore[arg-type]
        for grade in ("as-made", "smooth", "polished")
    ]
    assert least == sorted(least)
    assert least[0] < least[1] < least[2]


@pytest.mark.parametrize(
    "demands",
    [
        Demands(),
        Demands(holds_liquid=True, load_n=200.0, finish="polished", opaque=True),
        Demands(clarity="optical", tolerance_mm=0.05, service_degc=90.0),
    ],
)
def test_all_alternatives_of_the_shipped_shop(demands: Demands) -> None:
    """Declared, priced, and no more of them than a page can hold."""
    shop = shipped_shop()
    shape = Shape(box(90.0, 60.0, 25.0))
    found = plans(Part("block", "a block", 6, demands, shape), shop)
    assert 8 <= len(found) <= 150
    assert_declared(found, shop)
    assert all(cost > 0 for cost in costs(found, shipped_tariff()))
    assert len({plan.alternative for plan in found}) == len(found)
    assert {plan.chosen["filament"] for plan in found} == {
        "pla-natural",
        "pla-grey",
        "petg-natural",
        "abs-black",
    }
