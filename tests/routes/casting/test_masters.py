"""Masters: printed or bought, enlarged, finished once, and kept from inhibiting the silicone."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import pytest

from routecost.mesh.measuring.measures import Reach
from routecost.routes.casting.masters import Master, finished, raw_masters, with_barrier
from routecost.routes.process.operation import OWN_HOUR, Operation, Verdict
from routecost.routes.process.part import Demands
from routecost.shop.materials import Coating
from routecost.shop.services import SlaFinish, SlaService
from routecost.shop.shop import Shop
from routecost.shop.standards import OrderingStandards
from tests.routes.casting.cast_shape import CastShape, ball, cast_shop
from tests.routes.printing.printed_shape import FILAMENT, GREY
from tests.routes.stated import shop_with

A = "sla-service-a"
SMOOTH_UM, CLEAR_UM = 1.5, 0.036
CLEAR = Demands(clarity="clear")


def master_shop() -> Shop:
    """One service with round numbers beside the shop's own printer."""

    def finish(grade: str, factor: float, days: float, rq_um: float) -> SlaFinish:
        return SlaFinish(
            id=f"{A}-{grade}", service=A, grade=grade, price_factor=factor, extra_days=days, rq_um=rq_um
        )

    return shop_with(
        cast_shop(),
        SlaService(
            id=A,
            width_mm=300,
            depth_mm=300,
            height_mm=200,
            thinnest_wall_mm=0.8,
            tolerance_mm=0.2,
            density_g_cm3=1.2,
            strength_mpa=48,
            softens_degc=50,
            as_printed_rq_um=5,
            clear_haze_percent=4,
            lead_days=6,
            parts_per_order=4,
        ),
        finish("as-printed", 1.0, 0, 5.0),
        finish("sanded", 1.25, 1, 0.9),
        finish("clear-coated", 1.7, 3, 0.022),
        finish("polished", 2.4, 5, 0.015),
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


SHOP = master_shop()


def raw(
    shape: CastShape | None = None, scale: float = 1.0, target: float | None = None, shop: Shop = SHOP
) -> dict[str, Master]:
    return {m.label: m for m in raw_masters(shape or CastShape(), scale, target, shop)}


def ready(master: Master, target: float | None, demands: Demands = CLEAR, shop: Shop = SHOP) -> list[Master]:
    return list(finished(demands, CastShape(), master, target, shop))


def drawn(operations: Iterable[Operation]) -> dict[str, float]:
    found: dict[str, float] = {}
    for draw in (draw for operation in operations for draw in operation.usages):
        found[draw.resource] = found.get(draw.resource, 0.0) + draw.quantity
    return found


# ---- raw masters


def test_a_printed_master_takes_the_cube_of_its_enlargement() -> None:
    """Walls and skins 5.4 cm³, core 1.5 cm³ at a fifth, 1.25 g/cm³; 2 g of purge; nothing lost."""
    sure = cast_shop_without_failures()
    for scale in (1.0, 1.02):
        master = raw(scale=scale, shop=sure)["pla-grey on printer-220"]
        grams = (5.4 + 1.5 * 0.2) * scale**3 * 1.25 + 2
        assert drawn(master.operations)["pla-grey"] == pytest.approx(grams)
        assert master.area_mm2 == pytest.approx(10_000 * scale**2)
        assert (master.rq_um, master.ridged, master.inhibits) == (20, True, False)


def cast_shop_without_failures() -> Shop:
    (printer,) = SHOP.printers()[:1]
    return shop_with(SHOP, replace(printer, failure_per_h=0.0))


def test_masters_are_printed_in_what_sands_well_where_there_is_some() -> None:
    grey = replace(GREY, sands_well=True)
    assert {m for m in raw(shop=shop_with(SHOP, FILAMENT, grey)) if "printer" in m} == {
        "pla-grey on printer-220"
    }
    assert {
        m for m in raw(shop=shop_with(SHOP, FILAMENT, replace(grey, sands_well=False))) if "printer" in m
    } == {
        "pla-natural on printer-220",
        "pla-grey on printer-220",
    }


def test_a_bought_master_by_hand() -> None:
    """80 x 40 x 15 mm with 3 cm² of support marks, 2 % larger: 50.94 cm³, 104.04 cm²; a quarter of an order."""
    k = 1.02
    shape = replace(
        CastShape(), stands=tuple(replace(pose, contact_area_mm2=300.0) for pose in CastShape().stands)
    )
    master = raw(shape, k)[f"SLA as-printed from {A}"]
    marks_min = 3 * 1  # the master's size is no matter to the stubs it stands on
    assert drawn(master.operations) == pytest.approx(
        {
            OWN_HOUR: (20 / 4 + 6 + 5 + marks_min) / 60,
            f"{A} setup": 1,
            f"{A} volume": 48 * k**3,
            f"{A} area": 100 * k**2,
            f"{A} box": 48 * k**3,
            f"{A} height": 1.5 * k,
            f"{A} shipping-order": 0.25,
            f"{A} shipping-mass": 48 * k**3 * 1.2 * 1.5,
            "isopropanol": 100 * k**2 * 0.05,
            "wipe": 1,
            "gloves": (5 + marks_min) / 60 * 2,
            "mask-cartridges": marks_min / 60 / 30,
        }
    )
    assert [op.name for op in master.operations] == [
        f"order from {A}",
        f"printed by {A}, as-printed",
        "unpack, wash and inspect the master",
        "file off the support marks of the master",
    ]


def test_only_grades_that_save_work_are_bought() -> None:
    """As printed where nothing is asked; for a smooth part no coat is paid; for a clear one no polish, as
    the coat is as good, cheaper and sooner."""

    def grades(target: float | None) -> set[str]:
        return {label.split()[1] for label in raw(target=target) if label.startswith("SLA")}

    assert grades(None) == {"as-printed"}
    assert grades(SMOOTH_UM) == {"as-printed", "sanded"}
    assert grades(CLEAR_UM) == {"as-printed", "sanded", "clear-coated"}


def test_a_master_too_large_for_a_service_is_not_bought_there() -> None:
    long = replace(CastShape(), extents_mm=(299.0, 40.0, 15.0))
    assert any(label.startswith("SLA") for label in raw(long, 1.003))
    assert not any(label.startswith("SLA") for label in raw(long, 1.004))


# ---- finishing


def test_every_finished_master_gives_the_copies_what_they_need() -> None:
    for target in (SMOOTH_UM, CLEAR_UM):
        for master in raw(target=target).values():
            done = ready(master, target)
            assert done
            assert all(m.rq_um <= target for m in done)


def test_no_finish_is_kept_that_another_beats_in_hours_and_in_waiting() -> None:
    for master in raw(target=CLEAR_UM).values():
        for one in ready(master, CLEAR_UM):
            for other in ready(master, CLEAR_UM):
                by_hand = sum(op.hands_on_min for op in other.operations) - sum(
                    op.hands_on_min for op in one.operations
                )
                waits = sum(op.waiting_min for op in other.operations) - sum(
                    op.waiting_min for op in one.operations
                )
                assert one.label == other.label or by_hand * waits < 0


def test_a_master_of_which_nothing_is_asked_is_molded_as_it_is() -> None:
    for master in raw().values():
        (same,) = ready(master, None, Demands())
        assert same.operations == master.operations
        assert same.rq_um == master.rq_um


def test_what_nothing_reaches_keeps_a_bought_coat_from_counting_as_clear() -> None:
    hollow = replace(CastShape(), reached=Reach(0.5, 0.3, 0.2))
    master = raw(hollow, target=CLEAR_UM)[f"SLA clear-coated from {A}"]
    (coated,) = finished(CLEAR, hollow, master, CLEAR_UM, SHOP)
    assert Verdict(coated.reasons).level == "ruled out"
    assert "nothing reaches 20%" in coated.reasons[0].text


# ---- inhibition


def test_resin_masters_inhibit_until_a_closed_coat_covers_them() -> None:
    masters = raw(target=CLEAR_UM)
    assert masters[f"SLA as-printed from {A}"].inhibits
    assert masters[f"SLA sanded from {A}"].inhibits
    assert not masters[f"SLA clear-coated from {A}"].inhibits
    by_finish = {m.label: m.inhibits for m in ready(masters[f"SLA sanded from {A}"], CLEAR_UM)}
    assert by_finish
    for label, inhibits in by_finish.items():
        assert inhibits == (not label.endswith("clear-coat"))


def test_a_barrier_coat_by_hand() -> None:
    """100 cm², two coats of 0.005 g/cm², 10 min to set up and 0.06 min/cm² each; it leaves Rq 0.5 µm."""
    master = raw(target=CLEAR_UM)[f"SLA as-printed from {A}"]
    polished = replace(master, operations=(), rq_um=0.02)
    barred = with_barrier(polished, SHOP)
    (step,) = barred.operations
    assert step.hands_on_min == pytest.approx(2 * 10 + 100 * 2 * 0.06)
    assert drawn([step])["barrier-coat"] == pytest.approx(100 * 2 * 0.005)
    assert step.waiting_min == 2 * 0.5 * 60
    assert "addition-cure" in step.note
    # its own texture is what castings get, unless the master is rougher
    assert barred.rq_um == 0.5
    assert with_barrier(replace(polished, rq_um=5.0), SHOP).rq_um == 5.0
    assert not barred.inhibits


def test_without_a_barrier_coat_an_inhibiting_master_is_ruled_out() -> None:
    shop = shop_with(SHOP, *(c for c in SHOP.all(Coating) if c.purpose != "barrier"))
    barred = with_barrier(raw()[f"SLA as-printed from {A}"], shop)
    assert Verdict(barred.reasons).level == "ruled out"


def test_the_least_work_by_hand_decides_how_a_master_is_printed() -> None:
    """Two poses: one quicker for the printer with much to break off, one that needs no support."""
    quick, clean = ball().stands[0], replace(ball().stands[0], up=(0.0, 1.0, 0.0), height_mm=60.0)
    shape = ball(stands=(replace(quick, contact_area_mm2=2000.0, support_volume_mm3=500.0), clean))
    (master,) = [m for label, m in raw(shape).items() if "printer" in label]
    assert "remove supports" not in " ".join(op.name for op in master.operations)
