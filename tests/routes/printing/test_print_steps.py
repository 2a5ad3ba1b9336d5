"""What a print takes: plans by hand, failing plates by trial, and which ways are worth a price."""

from __future__ import annotations

from dataclasses import replace
from math import exp, log, pi, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.measuring.measures import Deposit, Fit, Pose
from routecost.mesh.measuring.shape import Shape
from routecost.routes.printing.print_poses import MOST_POSES, poses_to_try, unbeaten
from routecost.routes.printing.print_runs import Body, PrintRun, copies_on_plate, strength_share_at
from routecost.routes.printing.print_steps import print_operations
from routecost.routes.printing.print_ways import solid, ways_to_print
from routecost.routes.process.operation import OWN_HOUR, Operation
from routecost.shop.standards import PrintingStandards
from tests.mesh.shapes import box, cylinder, ell, rotation
from tests.routes.printing.printed_shape import (
    FILAMENT,
    PRINTER,
    PrintedShape,
    StatedAnswers,
    print_shop,
    stated_deposit,
)
from tests.routes.stated import stated_pose

STANDARDS = print_shop().the(PrintingStandards)


def run(
    bodies: int = 3,
    per_plate: int = 3,
    failure_per_h: float = 0.01,
    pose: Pose | None = None,
    deposit: Deposit | None = None,
    **body: float,
) -> PrintRun:
    stands = pose or stated_pose(20.0, (60.0, 80.0))
    printed = Body(stands, deposit or stated_deposit(), infill_share=0.2, **body)  # type: ignore[arg-type]
    printer = replace(PRINTER, failure_per_h=failure_per_h)
    return PrintRun(printed, printer, FILAMENT, STANDARDS, bodies, per_plate)


def drawn(operations: tuple[Operation, ...]) -> dict[str, float]:
    found: dict[str, float] = {}
    for operation in operations:
        for draw in operation.usages:
            found[draw.resource] = found.get(draw.resource, 0.0) + draw.quantity
    return found


# ---- by hand


def hours_by_hand(copies: int, infill: float = 0.2) -> float:
    """Rest-to-rest moves of the stated deposit, d/v + v/a or 2 sqrt(d/a), in seconds."""
    walls = 1000 * (50 / 50 + 50 / 1000)
    skins = 100 * (40 / 40 + 40 / 1000)
    core = infill * 500 * (30 / 100 + 100 / 1000)
    travels = 200 * 2 * sqrt(20 / 1000)
    # into each of 100 pieces of skin (20 mm² each) and of core (75 mm²): half a side
    into = 100 * 2 * sqrt(0.5 * sqrt(20) / 1000) + 100 * 2 * sqrt(0.5 * sqrt(75) / 1000)
    # the other core lines: π/2 times their distance from end to end
    between = (infill * 500 - 100) * 2 * sqrt(pi / 2 * 0.5 / infill / 1000)
    round_trip = copies * (60 / 200 + 200 / 1000) if copies > 1 else 0
    layers = 100 * (1 + round_trip)
    return (copies * (walls + skins + core + travels + into + between) + layers + 600) / 3600


def test_three_copies_on_one_plate_by_hand() -> None:
    """No supports. Failures: (e^(λT) − 1)/λ hours and e^(λT) starts (renewal, e.g. Ross)."""
    t = hours_by_hand(3)
    assert t == pytest.approx(1.2971, abs=1e-4)
    machine, starts = (exp(0.01 * t) - 1) / 0.01, exp(0.01 * t)
    laid = 3 * (5.0 + 0.4) * 1.25 + 3 * 1.5 * 0.2 * 1.25 + 2
    steps = print_operations(run())
    assert drawn(steps) == pytest.approx(
        {
            "pla-natural": laid * machine / t,
            "printer-220": machine / 5000 * 0.8,
            "printer-220 upkeep": machine,
            "electricity": machine * 0.1,
            OWN_HOUR: (12 + 6 * starts + 3 * (2 + 3)) / 60,
            "isopropanol": 3 * starts,
            "wipe": starts,
            "blade": 15 / 60,
        },
        rel=1e-6,
    )
    assert [op.name for op in steps] == [
        "prepare the print",
        "print the part",
        "take the part off, clean up",
    ]
    assert steps[1].machine_min == pytest.approx(60 * machine)
    assert sum(op.hands_on_min for op in steps) == pytest.approx(12 + 6 * starts + 15)


def test_supports_by_hand() -> None:
    """20 cm³ of columns over 12 cm² of contact, a quarter of it out of a finger's reach; one copy."""
    pose = replace(stated_pose(20.0, (60.0, 80.0), 1200.0), support_volume_mm3=20_000.0)
    r = run(1, 1, 0.0, pose, unreached_share=0.25)
    # columns as one tower 20 mm high: 1000 mm², mean chord πA/P, lines 0.1 mm² thick
    chord = pi * 1000 / (4 * sqrt(1000))
    lines = 20_000 * 0.15 / 0.1 / chord
    laying = lines * (2 * sqrt(chord / 1000) if chord < 10 else chord / 100 + 0.1)
    # into the tower in each of 100 layers, else from line to line, 0.5/0.15 apart
    travel = 100 * 2 * sqrt(0.5 * sqrt(1000) / 1000) + (lines - 100) * 2 * sqrt(pi / 2 * 0.5 / 0.15 / 1000)
    assert r.machine_h == pytest.approx(hours_by_hand(1) + (laying + travel) / 3600, rel=1e-6)
    assert r.filament_g == pytest.approx((5.4 + 0.3 + 20 * 0.15) * 1.25 + 2)
    assert r.support_removal_min == pytest.approx(12 * 0.6 * (0.75 + 0.25 * 3))
    assert r.one_g == pytest.approx(5.7 * 1.25)
    names = [op.name for op in print_operations(r)]
    assert names[-1] == "take the part off, remove supports, clean up"


def test_supports_that_stay_are_in_the_mass_and_not_in_the_work() -> None:
    plain, lost = run(), run(inner_support_mm3=10_000.0)
    assert lost.one_g - plain.one_g == pytest.approx(10 * 0.15 * 1.25)
    assert lost.clean_up_min == plain.clean_up_min
    assert lost.machine_h > plain.machine_h


def test_seven_on_plates_of_three() -> None:
    """Two full plates and one with what remains; each starts anew by itself."""
    r = run(7, 3)
    full, rest = hours_by_hand(3), hours_by_hand(1)
    assert [(job.plates, job.bodies) for job in r.jobs] == [(2, 3), (1, 1)]
    assert r.machine_h == pytest.approx((2 * (exp(0.01 * full) - 1) + exp(0.01 * rest) - 1) / 0.01)
    assert r.starts == pytest.approx(2 * exp(0.01 * full) + exp(0.01 * rest))
    _prepare, prints, _off = print_operations(r)
    assert prints.runs == 3


def test_lost_prints_are_started_again_by_hand() -> None:
    """At e^(λT) starts a plate, 2.5 of two are five runs."""
    r = run(6, 3, failure_per_h=log(2.5) / hours_by_hand(3))
    assert print_operations(r)[1].runs == 5


def test_a_failed_plate_loses_all_on_it_by_trial() -> None:
    """The renewal formulas against 40 000 plates that fail at random: hours, starts, filament within 2 %."""
    r = run(3, 3, failure_per_h=0.5)
    t = hours_by_hand(3)
    rng = np.random.default_rng(7)
    hours = starts = 0.0
    for _ in range(40_000):
        while True:
            starts += 1
            fails_at = rng.exponential(1 / 0.5)
            hours += min(fails_at, t)
            if fails_at >= t:
                break
    assert r.machine_h == pytest.approx(hours / 40_000, rel=0.02)
    assert r.starts == pytest.approx(starts / 40_000, rel=0.02)
    grams_an_hour = (3 * (5.4 + 0.3) * 1.25 + 2) / t
    assert r.filament_g == pytest.approx(hours / 40_000 * grams_an_hour, rel=0.02)


def test_tries_repeat_all_but_the_preparing() -> None:
    once, more = (
        print_operations(run()),
        print_operations(run(), 1.25, "one in five leaks", ("casting.yield_shell",)),
    )
    assert more[0] == once[0]
    for a, b in zip(once[1:], more[1:], strict=True):
        assert b.machine_min == pytest.approx(1.25 * a.machine_min)
        assert (a.runs, b.runs) == (1, 1)
        assert drawn((b,)) == pytest.approx({k: 1.25 * v for k, v in drawn((a,)).items()})
        assert all("leaks" in draw.why and "casting.yield_shell" in draw.facts for draw in b.usages)


def test_enlarging_takes_volumes_and_paths_by_the_cube() -> None:
    """A master of 1.02 times the size: filament less purge goes by 1.0612."""
    plain, large = run(1, 1, 0.0), run(1, 1, 0.0, amount=1.02**3, lengths=1.02)
    assert large.filament_g - 2 == pytest.approx(1.02**3 * (plain.filament_g - 2))
    assert large.machine_h > plain.machine_h
    assert large.body.height_mm == pytest.approx(20.4)


# ---- properties of a run


@given(
    bodies=st.integers(1, 40),
    per_plate=st.integers(1, 12),
    rate=st.floats(0.0, 0.1),
    more=st.floats(0.0, 0.1),
)
def test_more_copies_and_more_failures_never_take_less(
    bodies: int, per_plate: int, rate: float, more: float
) -> None:
    r = run(bodies, per_plate, rate)
    for worse in (run(bodies + 1, per_plate, rate), run(bodies, per_plate, rate + more)):
        assert all(a <= b * (1 + 1e-12) for a, b in zip(r.amounts, worse.amounts, strict=True))


@given(bodies=st.integers(1, 40), per_plate=st.integers(1, 12), rate=st.floats(0.0, 0.1))
def test_amounts_are_what_the_draws_say(bodies: int, per_plate: int, rate: float) -> None:
    r = run(bodies, per_plate, rate)
    total = drawn(print_operations(r))
    assert total["pla-natural"] == pytest.approx(r.filament_g)
    assert total["printer-220 upkeep"] == pytest.approx(r.machine_h)
    assert total["wipe"] == pytest.approx(r.starts)
    assert total[OWN_HOUR] * 60 == pytest.approx(12 + 6 * r.starts + r.clean_up_min)
    assert sum(job.plates * job.bodies for job in r.jobs) == bodies


@pytest.mark.parametrize("infill", [0.0, 0.3, 1.0])
def test_a_solid_print_weighs_what_the_part_does(infill: float) -> None:
    """Conservation on a real mesh: walls + skins + core is the part's volume, and 1 fills it solid."""
    mesh = ell(40.0, 8.0, 20.0)
    shape = Shape(mesh)
    shop = print_shop(printing_infill_share=infill)
    (way, *_) = ways_to_print(solid(shape, shop), shop, 1)
    full_g = mesh.volume_mm3 / 1000 * FILAMENT.density_g_cm3
    if infill == 1.0:
        assert way.copy_g == pytest.approx(full_g, rel=1e-3)
    else:
        d = way.runs[0].body.deposit
        missing = d.core_volume_mm3 * (1 - infill) / 1000 * FILAMENT.density_g_cm3
        assert way.copy_g == pytest.approx(full_g - missing, rel=1e-3)


# ---- strength across layers


def test_strength_at_an_angle() -> None:
    """Hankinson (1921): 50 and 25 MPa at 45° give 2·50·25/75 = 33.3; exact along and across."""
    assert strength_share_at(0.5, 1.0) == 0.5
    assert strength_share_at(0.5, 0.0) == 1.0
    assert 50 * strength_share_at(0.5, sqrt(0.5)) == pytest.approx(2 * 50 * 25 / 75)
    assert strength_share_at(0.0, 1.0) == 0.0
    assert strength_share_at(0.0, 0.0) == 1.0


@given(share=st.floats(0.05, 1.0), c=st.floats(0.0, 1.0), d=st.floats(0.0, 1.0))
def test_strength_falls_as_the_load_turns_across_layers(share: float, c: float, d: float) -> None:
    low, high = sorted((c, d))
    assert (
        share - 1e-12 <= strength_share_at(share, high) <= strength_share_at(share, low) + 1e-12 <= 1 + 2e-12
    )


# ---- plates


def test_copies_on_a_plate() -> None:
    """Bed 220 x 220, height 250, gap 8: 204 mm are left, 100 + 8 by 60 + 8 pack as on a plate of 212."""
    printer = replace(PRINTER, width_mm=220, depth_mm=220, height_mm=250)
    assert copies_on_plate(20.0, (60.0, 100.0), printer, 8.0, 100) == 4
    assert copies_on_plate(20.0, (60.0, 100.0), printer, 8.0, 3) == 3
    assert copies_on_plate(251.0, (60.0, 100.0), printer, 8.0, 100) == 0
    # one alone may use the bed to its edge, or lie across: (300 + 10)/√2 = 219.2
    assert copies_on_plate(20.0, (219.0, 219.0), printer, 8.0, 100) == 1
    assert copies_on_plate(20.0, (10.0, 300.0), printer, 8.0, 100) == 1
    assert copies_on_plate(20.0, (12.0, 300.0), printer, 8.0, 100) == 0


@settings(max_examples=30)
@given(a=st.floats(5, 250), b=st.floats(5, 250), gap=st.floats(0, 15))
def test_plates_hold_no_more_than_their_area(a: float, b: float, gap: float) -> None:
    short, long = sorted((a, b))
    n = copies_on_plate(10.0, (short, long), PRINTER, gap, 10_000)
    assert n * short * long <= 300 * 300 * (1 + 1e-9)
    if gap >= 1:
        assert n <= copies_on_plate(10.0, (short, long), PRINTER, gap - 1, 10_000)


# ---- poses and ways


def poses(*rows: tuple[float, float, float, float]) -> list[Pose]:
    return [
        replace(
            stated_pose(height, (20.0, 30.0), contact),
            support_volume_mm3=support,
            bed_area_mm2=bed,
            up=(0.0, sqrt(1 - (i / 40) ** 2), i / 40),
        )
        for i, (support, contact, height, bed) in enumerate(rows)
    ]


def test_a_pose_that_is_worse_in_everything_is_not_laid_down() -> None:
    a, b, c = poses((100, 10, 20, 600), (200, 20, 30, 500), (0, 0, 90, 400))
    assert set(poses_to_try([a, b, c])) == {a, c}
    assert set(poses_to_try([c, b, a])) == {a, c}


def test_a_load_keeps_the_pose_with_layers_along_it() -> None:
    """The worse pose in all else stays if it alone has layers along the load."""
    lying, standing = poses((0, 0, 20, 600), (500, 50, 80, 100))
    a, b = replace(lying, up=(0.0, 0.0, 1.0)), replace(standing, up=(1.0, 0.0, 0.0))
    assert poses_to_try([a, b]) == [a]
    assert set(poses_to_try([a, b], load_direction=(0.0, 0.0, -3.0))) == {a, b}


@given(st.lists(st.tuples(*(st.floats(1, 1000) for _ in range(4))), min_size=1, max_size=30))
def test_every_pose_left_out_has_a_better_one_or_there_were_too_many(rows: list[tuple[float, ...]]) -> None:
    every = poses(*rows)  # type: ignore[arg-type]
    kept = poses_to_try(every)
    assert 1 <= len(kept) <= MOST_POSES
    if len(kept) < MOST_POSES:
        most = [max(column) for column in zip(*rows, strict=True)]
        for pose, row in zip(every, rows, strict=True):
            assert any(
                k.support_volume_mm3 <= row[0] + 0.02 * most[0]
                and k.contact_area_mm2 <= row[1] + 0.02 * most[1]
                and k.height_mm <= row[2] + 0.02 * most[2]
                and k.bed_area_mm2 >= row[3] - 0.02 * most[3]
                for k in kept
            ), pose


@given(
    st.lists(st.tuples(*(st.integers(0, 9) for _ in range(3))), min_size=1, max_size=30),
    st.tuples(*(st.floats(0.01, 100) for _ in range(3))),
)
def test_the_cheapest_is_among_the_unbeaten_at_any_prices(
    rows: list[tuple[int, ...]], prices: tuple[float, ...]
) -> None:
    def cost(row: tuple[int, ...]) -> float:
        return sum(a * p for a, p in zip(row, prices, strict=True))

    assert min(map(cost, unbeaten(rows, lambda row: row))) == min(map(cost, rows))


def plate_sizes(copies: int, failure_per_h: float) -> set[int]:
    """Of a part that prints some 3.7 h."""
    shop = print_shop(printer_failure_per_h=failure_per_h)
    shape = PrintedShape(laid=stated_deposit(10.0))
    return {way.runs[0].per_plate for way in ways_to_print(solid(shape, shop), shop, copies)}


def test_plates_are_tried_full_and_sparser() -> None:
    """Where prints fail often, sparser plates lose less and need more starts: neither beats the other."""
    assert plate_sizes(9, failure_per_h=0.02) == {9, 4, 1}
    assert plate_sizes(9, failure_per_h=0.0) == {9}


def test_a_slender_print_wants_a_brace() -> None:
    shop = print_shop()
    tall = PrintedShape(stands=(stated_pose(200.0, (20.0, 30.0)),), kept=StatedAnswers({}), split=NO_SPLIT)
    for way in ways_to_print(solid(tall, shop), shop, 1):
        (reason,) = way.reasons
        assert reason.level == "changes"
        assert "200 mm high on 20.0 mm, 10 to 1: add a brace" in reason.text


NO_SPLIT = Fit((300.0, 300.0, 300.0), True, (0.0, 0.0, 1.0), 1, 0.0, 0.0, ((0.0, 0.0, 1.0),), (6900.0,))


def test_a_print_that_is_mostly_lost_is_better_split() -> None:
    """170 times the moves take 60.3 h; at 0.01 an hour 1 − e^(−0.603) = 45 % are lost."""
    shop = print_shop()
    long = PrintedShape(laid=stated_deposit(170.0), split=NO_SPLIT)
    found = ways_to_print(solid(long, shop), shop, 1)
    texts = [reason.text for way in found for reason in way.reasons]
    assert any(
        "60 h at 0.01 failures an hour is lost with 45%" in text and "better split it" in text
        for text in texts
    )


def test_a_master_is_enlarged_where_it_must_fit() -> None:
    """299 mm fit a bed of 300, 1 % more do not."""
    shape = PrintedShape(stands=(stated_pose(20.0, (60.0, 299.0)),), split=NO_SPLIT)
    shop = print_shop()
    assert [way.joint.pieces for way in ways_to_print(solid(shape, shop), shop, 1)] == [1]
    # the diagonal still takes it; a square of that size is out
    square = PrintedShape(stands=(stated_pose(20.0, (299.0, 299.0)),), split=NO_SPLIT)
    (way,) = ways_to_print(solid(square, shop), shop, 1)
    assert not any("turned" in reason.text for reason in way.reasons)
    (way,) = ways_to_print(solid(square, shop, "master", 1.01), shop, 1)
    assert any("turned on the bed" in reason.text for reason in way.reasons)


# ---- on measured meshes


def amounts_of(mesh: Mesh) -> np.ndarray:
    shop = print_shop()
    shape = Shape(mesh)
    found = ways_to_print(solid(shape, shop), shop, 2)
    return np.min([way.amounts for way in found], axis=0)


@settings(max_examples=4)
@given(st.integers(0, 10_000))
def test_how_the_part_lies_in_its_file_does_not_matter(seed: int) -> None:
    mesh = ell(40.0, 8.0, 20.0)
    turned = mesh.turned(rotation(seed))
    assert amounts_of(turned) == pytest.approx(amounts_of(mesh), rel=0.03)


def test_a_larger_part_takes_more() -> None:
    small, large = (amounts_of(cylinder(r, 2 * r, 64)) for r in (10.0, 13.0))
    assert (large >= small - 1e-9).all()
    assert (large[:2] > 1.3 * small[:2] - 4).all()


def test_a_bar_of_twice_the_bed_is_printed_in_two_pieces() -> None:
    """500 x 20 x 20 mm on a bed of 300: two prints; together they hold the whole bar and a cut's new walls."""
    bar = box(500.0, 20.0, 20.0)
    shop = print_shop(printer_failure_per_h=0.0)
    (way,) = {w.joint.pieces: w for w in ways_to_print(solid(Shape(bar), shop), shop, 1)}.values()
    assert way.joint.pieces == 2
    assert way.joint.area_mm2 == pytest.approx(400.0)
    assert sum(r.body.deposit.volume_mm3 for r in way.runs) == pytest.approx(200_000.0, rel=1e-3)
    assert [r.body.what for r in way.runs] == ["piece 1 of 2", "piece 2 of 2"]
