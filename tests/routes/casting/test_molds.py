"""Which molds let go of a part, how much silicone they hold, and what making them takes: plans by hand."""

from __future__ import annotations

from dataclasses import replace
from math import pi
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.measuring.shape import Shape
from routecost.mesh.measuring.silhouette import Silhouette
from routecost.routes.casting.mold_making import Mixing, mold_operations
from routecost.routes.casting.molds import CUT, MULTI_PART, OPEN, SKIN, TWO_PART, Mold, molds_for, skin_mm3
from routecost.routes.physics.boxes import Block
from routecost.routes.process.operation import OWN_HOUR, Operation, Reason
from routecost.shop.materials import Silicone
from tests.mesh import shapes
from tests.routes.casting.cast_shape import (
    ADDITION,
    CHAMBER,
    CONDENSATION,
    POT,
    CastShape,
    ball,
    cast_shop,
    trapping,
)
from tests.routes.printing.printed_shape import StatedAnswers
from tests.routes.stated import UP, stated_pose

SHOP = cast_shop()
SEEN_THROUGH = replace(ADDITION, see_through=True)


def drawn(operations: tuple[Operation, ...]) -> dict[str, float]:
    found: dict[str, float] = {}
    for draw in (draw for operation in operations for draw in operation.usages):
        found[draw.resource] = found.get(draw.resource, 0.0) + draw.quantity
    return found


def minutes(operations: tuple[Operation, ...]) -> float:
    return sum(operation.hands_on_min for operation in operations)


def the_mold(shape: Any, kind: str, **ask: Any) -> Mold:
    (found,) = [mold for mold in molds_for(shape, ADDITION, SHOP, **ask) if mold.kind == kind]
    return found


def kinds(shape: Any, **ask: Any) -> list[str]:
    return [mold.kind for mold in molds_for(shape, ADDITION, SHOP, **ask)]


# ---- two plans by hand, line by line


def test_two_open_blocks_for_a_flat_backed_block_by_hand() -> None:
    """80 x 40 x 15 mm, 48 cm³, 100 cm². Inside 104 x 64 x 25 mm: 12 mm beside, 10 mm below, none above."""
    mold = the_mold(CastShape(), OPEN)
    assert (mold.box.width_mm, mold.box.depth_mm, mold.box.height_mm) == pytest.approx((64, 104, 25))
    one_g = (104 * 64 * 25 - 48_000) / 1000 * 1.1  # 130.24 g
    operations = mold_operations(mold, ADDITION, 2, SHOP)
    walls_cm2 = (2 * (104 + 64) * 25 + 104 * 64) / 100
    seams_cm = (2 * (104 + 64) + 4 * 25) / 10
    pour_min = 2 * (8 + 6 + one_g / 250)  # mix, film and bubbles, a thin stream
    assert drawn(operations) == pytest.approx(
        {
            # build once and set up again, release, pour, open: for two molds
            OWN_HOUR: (35 + 0.3 * 35 + 2 * 5 + pour_min + 2 * 15) / 60,
            "mold-board": walls_cm2 * 1.3,
            "hot-glue": 2 * seams_cm * 0.15,
            "release-agent": 2 * 100 * 0.003,
            # block, 4 % loss, 8 g in each of two cups
            "silicone-addition": 2 * one_g * 1.04 + 2 * 8,
            "mix-cup": 2,
            "wipe": 2 * 2 + 2 * 1,
            "isopropanol": 2 * 15,
            "resin-waste": 2 * 20,
            "blade": 2,
            "gloves": (2 * 5 + pour_min + 2 * 15) / 60 * 2,
            "mask-cartridges": 2 * 5 / 60 / 30,
        }
    )
    # one master: the second mold cures after the first
    assert sum(op.machine_min for op in operations) == 2 * 5 * 60
    assert [op.runs for op in operations if op.machine] == [2]
    assert {op.machine for op in operations} == {"", "mold box"}


def test_a_two_part_block_for_a_ball_by_hand() -> None:
    """A ball of 40 mm: inside 64 x 64 x 60 mm, less 33.51 cm³; parted along 12.57 cm."""
    mold = the_mold(ball(), TWO_PART)
    assert (mold.box.width_mm, mold.box.depth_mm, mold.box.height_mm) == pytest.approx((64, 64, 60))
    silicone_cm3 = (64 * 64 * 60 - 33_510.3) / 1000 * 1.03  # with keys: 218.6 cm³
    half_g = silicone_cm3 / 2 * 1.1
    operations = mold_operations(mold, ADDITION, 1, SHOP)
    # a sprue and a vent; no further top
    bed_min = 40 + 12.566 * 0.5 + 2 * 3
    pour_min = 2 * (8 + 6 + half_g / 250)
    parting_face_cm2 = (64 * 64 - 1256.6) / 100
    assert drawn(operations) == pytest.approx(
        {
            OWN_HOUR: (35 + bed_min + 2 * 5 + pour_min + 15 + 15) / 60,
            "mold-board": (4 * 64 * 60 + 64 * 64) / 100 * 1.3,
            "hot-glue": (4 * 64 + 4 * 60) / 10 * 0.15,
            "modeling-clay": silicone_cm3 / 2 * 1.7 * 0.1,
            # the ball once, and the first half where it meets the second
            "release-agent": (50.265 + parting_face_cm2) * 0.003,
            "silicone-addition": 2 * half_g * 1.04 + 2 * 8,
            "mix-cup": 2,
            "wipe": 2 * 2 + 2 + 1,
            "isopropanol": 2 * 15,
            "resin-waste": 2 * 20,
            "blade": 1,
            "gloves": (bed_min + 2 * 5 + pour_min + 15 + 15) / 60 * 2,
            "mask-cartridges": 2 * 5 / 60 / 30,
        },
        rel=1e-4,
    )
    assert [op.name for op in operations] == [
        "build the mold box and fix the master in it",
        "bed the master in clay, set keys, sprue and vents",
        "release agent before mold part 1 of 2",
        "mix and pour silicone: mold part 1 of 2",
        "turn the block, peel off the clay, clean the parting face",
        "release agent before mold part 2 of 2",
        "mix and pour silicone: mold part 2 of 2",
        "open the mold, free and clean the master, trim the mold",
    ]
    # the second half cures after the first
    assert sum(op.machine_min for op in operations) == 2 * 5 * 60
    assert [op.runs for op in operations if op.machine] == [1, 1]


def test_a_cut_block_for_a_ball_by_hand() -> None:
    """One pour around the hanging ball, 212.2 cm³ without keys, cut open along 12.57 cm."""
    (mold,) = molds_for(ball(), SEEN_THROUGH, SHOP)
    assert mold.kind == CUT
    grams = (64 * 64 * 60 - 33_510.3) / 1000 * 1.1
    operations = mold_operations(mold, SEEN_THROUGH, 1, SHOP)
    cut_min, pour_min = 12.566 * 0.8, 8 + 6 + grams / 250
    assert drawn(operations) == pytest.approx(
        {
            OWN_HOUR: (35 + 10 + 2 * 3 + 5 + pour_min + cut_min + 15) / 60,
            "mold-board": (4 * 64 * 60 + 64 * 64) / 100 * 1.3,
            "hot-glue": (4 * 64 + 4 * 60) / 10 * 0.15,
            "tape": 12.566,
            "release-agent": 50.265 * 0.003,
            "silicone-addition": grams * 1.04 + 8,
            "mix-cup": 1,
            "wipe": 2 + 1,
            "isopropanol": 15,
            "resin-waste": 20,
            "blade": 2,
            "gloves": (5 + pour_min + cut_min + 15) / 60 * 2,
            "mask-cartridges": 5 / 60 / 30,
        },
        rel=1e-4,
    )
    assert sum(op.machine_min for op in operations) == 5 * 60


def test_a_brushed_skin_by_hand() -> None:
    """A bowl of 200 x 200 x 100 mm with walls of 600 cm²: 9 mm of skin takes 621 cm³, a block 5.6 L."""
    bowl = ball(
        extents_mm=(200.0, 200.0, 100.0),
        volume_mm3=120_000.0,
        area_mm2=60_000.0,
        stands=(stated_pose(100.0, (200.0, 200.0)),),
        kept=StatedAnswers({"silhouette": Silhouette(UP, 31_416.0, 628.3, 0.0, 0.0)}),
    )
    mold = the_mold(bowl, SKIN)
    skin_cm3 = (60_000 * 9 + pi * 500 * 81 + 4 / 3 * pi * 729) / 1000
    grams = skin_cm3 * 1.03 * 1.1
    operations = mold_operations(mold, ADDITION, 1, SHOP)
    # jacket of 8 mm over the skin of 9 mm
    assert (mold.box.width_mm, mold.box.height_mm) == pytest.approx((234, 134))
    flange_cm2 = 62.83 * 3
    brush_min, jacket_min = 4 * (600 * 0.03 + 8), 30 + 600 * 0.12 + 62.83 * 0.5
    assert drawn(operations) == pytest.approx(
        {
            OWN_HOUR: (25 + 2 * 3 + 5 + brush_min + jacket_min + 15) / 60,
            "mold-board": 23.4 * 23.4,
            "release-agent": (600 + flange_cm2) * 0.003,
            "silicone-addition": grams * 1.04 + 4 * 8,
            "silicone-thickener": 0.02 * grams,
            "brush": 4,
            "plaster-bandage": (600 + 2 * flange_cm2) * 0.6,
            "modeling-clay": flange_cm2 * 1.0 * 1.7 * 0.1,
            "mix-cup": 4,
            "wipe": 4 * 2 + 1,
            "isopropanol": 4 * 15,
            "resin-waste": 4 * 20,
            "blade": 1,
            "gloves": (5 + brush_min + jacket_min + 15) / 60 * 2,
            "mask-cartridges": 5 / 60 / 30,
        },
        rel=1e-4,
    )
    # three waits of twice the pot life, the cure, and the jacket
    assert sum(op.machine_min for op in operations) == pytest.approx(3 * 80 + 5 * 60 + 4 * 60)


# ---- which kind


def test_the_simplest_block_that_lets_go_is_taken() -> None:
    assert kinds(CastShape()) == [OPEN]
    assert kinds(ball()) == [TWO_PART]
    # the silicone stretches over 5 % of the part's volume, a mold in two parts over no more
    assert kinds(trapping(CastShape(), opened=0.049)) == [OPEN]
    assert kinds(trapping(CastShape(), opened=0.051)) == [TWO_PART]
    assert kinds(trapping(ball(), two_part=0.049)) == [TWO_PART]
    assert kinds(trapping(ball(), two_part=0.051)) == [MULTI_PART]


def test_a_block_is_cut_open_where_the_master_is_seen_in_it_and_a_blade_reaches() -> None:
    assert [m.kind for m in molds_for(ball(), SEEN_THROUGH, SHOP)] == [CUT]
    assert kinds(ball()) == [TWO_PART]
    # 3.2 times as large, the block is 152 mm wide
    large = [m.kind for m in molds_for(ball().scaled(3.2), SEEN_THROUGH, SHOP)]
    assert CUT not in large
    assert TWO_PART in large


def test_an_inner_passage_rules_the_part_out_with_its_number() -> None:
    (mold,) = molds_for(trapping(ball(), two_part=0.41), ADDITION, SHOP)
    (reason,) = mold.reasons
    assert reason.level == "ruled out"
    assert reason.text == (
        "multi-part block: 13.74 cm³ of trapped space, 41.0% of the part; it releases up to 40%; "
        "inner passages need cores"
    )


def test_pockets_in_the_free_face_ask_for_pins_and_a_two_part_mold_is_priced_too() -> None:
    """No silicone rises into a blind hole that is glued face down on the board."""
    pocketed = replace(
        CastShape(), kept=StatedAnswers({"silhouette": Silhouette(UP, 3200.0, 240.0, 260.0, 30.0)})
    )
    opened, two_part = molds_for(pocketed, ADDITION, SHOP)
    assert (opened.kind, two_part.kind) == (OPEN, TWO_PART)
    assert [r.level for r in opened.reasons] == ["suits", "changes"]
    assert "pockets of 0.30 cm²" in opened.reasons[1].text
    assert [r.level for r in two_part.reasons] == ["suits"]


def test_a_skin_is_worth_its_work_only_where_it_spares_half_a_litre_of_silicone() -> None:
    wide = ball(
        extents_mm=(200.0, 200.0, 100.0),
        volume_mm3=120_000.0,
        area_mm2=60_000.0,
        stands=(stated_pose(100.0, (200.0, 200.0)),),
    )
    block, skin = molds_for(wide, ADDITION, SHOP)
    assert (block.kind, skin.kind) == (TWO_PART, SKIN)
    assert skin.silicone_mm3 < block.silicone_mm3 - 500_000
    # the ball: 79 cm³ of skin against 219 cm³; too little to brush four coats and lay up a jacket for
    assert kinds(ball()) == [TWO_PART]


def test_a_mold_that_must_go_into_a_pot_is_made_in_a_pose_that_does() -> None:
    """Lying, the mold is 124 mm wide and takes less silicone; only standing it goes through 100 mm."""
    rod = ball(
        extents_mm=(100.0, 30.0, 30.0),
        volume_mm3=70_000.0,
        stands=(
            replace(stated_pose(30.0, (30.0, 100.0)), up=(1.0, 0.0, 0.0)),
            stated_pose(100.0, (30.0, 30.0)),
        ),
    )

    def judge(box: Block) -> list[Reason]:
        return [] if max(box.width_mm, box.depth_mm) <= 100 else [Reason("ruled out", "too wide")]

    assert the_mold(rod, TWO_PART).pose.height_mm == 30
    assert the_mold(rod, TWO_PART, judge=judge).pose.height_mm == 100


def test_a_fixed_pose_is_kept() -> None:
    rod = ball(
        extents_mm=(100.0, 30.0, 30.0),
        volume_mm3=70_000.0,
        stands=(
            replace(stated_pose(30.0, (30.0, 100.0)), up=(1.0, 0.0, 0.0)),
            stated_pose(100.0, (30.0, 30.0)),
        ),
    )
    assert the_mold(rod, TWO_PART, up=UP).pose.up == UP


def test_sprue_vent_and_every_further_top_get_an_opening() -> None:
    peaked = ball(stands=(replace(stated_pose(40.0, (40.0, 40.0)), peaks=3),))
    assert the_mold(ball(), TWO_PART).openings == 2
    assert the_mold(peaked, TWO_PART).openings == 5
    assert the_mold(CastShape(), OPEN).openings == 0


# ---- amounts


def distance_to_box(points: np.ndarray, half: np.ndarray) -> np.ndarray:
    """Of points outside an axis-aligned box about the origin (closed form)."""
    return np.asarray(np.linalg.norm(np.maximum(np.abs(points) - half, 0.0), axis=-1))


@pytest.mark.parametrize("sides", [(20.0, 20.0, 20.0), (40.0, 25.0, 10.0)])
def test_a_skin_on_a_box_is_what_lies_within_its_thickness(sides: tuple[float, float, float]) -> None:
    """Counted on a lattice of 0.5 mm by distance, which knows nothing of Steiner's formula."""
    half, t, step = np.array(sides) / 2, 9.0, 0.5
    axes = [np.arange(-h - t + step / 2, h + t, step) for h in half]
    points = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1)
    away = distance_to_box(points, half)
    counted = float(((away > 0) & (away <= t)).sum()) * step**3
    a, b, c = sides
    assert skin_mm3(2 * (a * b + b * c + a * c), sides, t) == pytest.approx(counted, rel=0.01)


def test_a_skin_on_a_ball_is_not_underestimated() -> None:
    """Shell of a ball 4/3 π ((r + t)³ - r³); its box makes it at most a fifth larger."""
    exact = 4 / 3 * pi * (29**3 - 20**3)
    assert exact <= skin_mm3(4 * pi * 20**2, (40.0, 40.0, 40.0), 9.0) <= 1.2 * exact


def test_a_real_ball_is_parted_along_its_equator() -> None:
    shape = Shape(shapes.sphere(20.0))
    mold = the_mold(shape, TWO_PART)
    assert mold.parting_cm == pytest.approx(2 * pi * 20 / 10, rel=1e-3)
    assert mold.body_mm3 == pytest.approx(64 * 64 * 60 - 4 / 3 * pi * 20**3, rel=5e-3)


def test_a_real_block_lies_flat_however_it_is_turned() -> None:
    block = shapes.box(80.0, 40.0, 15.0)
    a, b = 0.4, 1.1
    about_x = np.array([[1, 0, 0], [0, np.cos(a), -np.sin(a)], [0, np.sin(a), np.cos(a)]])
    about_z = np.array([[np.cos(b), -np.sin(b), 0], [np.sin(b), np.cos(b), 0], [0, 0, 1]])
    turned = Mesh.of(block.vertices @ (about_z @ about_x).T, block.faces)
    for mesh in (block, turned):
        mold = the_mold(Shape(mesh), OPEN)
        assert mold.body_mm3 == pytest.approx(104 * 64 * 25 - 48_000, rel=1e-3)
        assert mold.flash_cm == pytest.approx(2 * (8 + 4), rel=1e-3)


def test_silicone_is_mixed_in_cups_that_the_chamber_and_the_pot_life_allow() -> None:
    """Pot life 40 min, of which 0.8 pours well; 8 min to mix; 250 g/min. Chamber: 6.28 L, a fifth of it."""
    assert Mixing.of(ADDITION, SHOP).largest_g == pytest.approx((0.8 * 40 - 8) * 250)
    owned = SHOP.with_owned(frozenset({CHAMBER.id}))
    by_cup = pi / 4 * 20**2 * 20 * 0.2 * 1.1
    assert Mixing.of(ADDITION, owned).largest_g == pytest.approx(by_cup)  # 1382 g
    # 6 min of vacuum and 5 at the chamber leave a pot life of 25 min a single minute
    quick = replace(ADDITION, pot_life_min=25.0)
    assert Mixing.of(quick, owned).largest_g == pytest.approx((0.8 * 25 - 19) * 250)
    # one that leaves no time at all is mixed in cups of half a minute
    assert Mixing.of(replace(ADDITION, pot_life_min=8.0), SHOP).largest_g == pytest.approx(0.5 * 250)


def test_degassing_is_drawn_where_there_is_a_chamber() -> None:
    owned = SHOP.with_owned(frozenset({CHAMBER.id}))
    mold = the_mold(ball(), TWO_PART)
    plain, degassed = mold_operations(mold, ADDITION, 1, SHOP), mold_operations(mold, ADDITION, 1, owned)
    # 6 min under vacuum and 5 min at the chamber for each half
    assert minutes(degassed) - minutes(plain) == pytest.approx(2 * (6 + 5))
    assert drawn(degassed)[CHAMBER.id] == pytest.approx(2 / 1500)


def test_silicone_that_castings_press_on_is_cured_without_bubbles() -> None:
    """No vacuum: the mold cures in the pot, a cycle for each half. With vacuum it need not."""
    mold = the_mold(ball(), TWO_PART)
    in_pot = mold_operations(mold, ADDITION, 1, SHOP, POT)
    assert drawn(in_pot)[POT.id] == pytest.approx(2 / 1000)
    assert sum(op.machine_min for op in in_pot if op.machine == POT.id) == 2 * 5 * 60
    owned = SHOP.with_owned(frozenset({CHAMBER.id, POT.id}))
    assert POT.id not in drawn(mold_operations(mold, ADDITION, 1, owned, POT))


def test_a_third_part_is_bedded_poured_and_cured_by_itself() -> None:
    two = mold_operations(the_mold(ball(), TWO_PART), ADDITION, 1, SHOP)
    three = mold_operations(the_mold(trapping(ball(), two_part=0.2), MULTI_PART), ADDITION, 1, SHOP)
    assert sum("pour silicone" in op.name for op in three) == 3
    assert sum(op.machine_min for op in three) == 3 * 5 * 60
    assert drawn(three)["modeling-clay"] > 1.9 * drawn(two)["modeling-clay"]
    assert minutes(three) > minutes(two) + 60


def test_new_molds_rest_once_before_polyurethane_goes_in() -> None:
    mold = the_mold(CastShape(), OPEN)
    for molds in (1, 3):
        rested = mold_operations(mold, CONDENSATION, molds, SHOP, rest_h=24)
        assert sum(op.waiting_min for op in rested) == 24 * 60
    assert not sum(op.waiting_min for op in mold_operations(mold, CONDENSATION, 1, SHOP))


# ---- what must hold for any part


@st.composite
def any_shape(draw: st.DrawFn) -> CastShape:
    """A flat-backed block or a ball-like body of any size that a bench takes, with or without vents."""
    a, b, c = (draw(st.floats(8.0, 200.0)) for _ in range(3))
    filled = draw(st.floats(0.15, 1.0))
    short, long = sorted((a, b))
    pose = replace(
        stated_pose(c, (short, long)),
        flat_opening=draw(st.booleans()),
        flat_opening_area_mm2=0.5 * a * b,
        peaks=draw(st.integers(0, 4)),
    )
    outline = draw(st.floats(1.6, 3.0)) * (a + b)
    return CastShape(
        extents_mm=(a, b, c),
        volume_mm3=filled * a * b * c,
        area_mm2=draw(st.floats(1.0, 3.0)) * 2 * (a * b + b * c + a * c),
        thinnest_mm=2.0,
        typical_mm=min(a, b, c),
        thickest_mm=min(a, b, c),
        stands=(pose,),
        kept=StatedAnswers({"silhouette": Silhouette(UP, 0.8 * a * b, outline, outline, 0.0)}),
    )


@settings(max_examples=60, deadline=None)
@given(any_shape(), st.floats(1.0, 3.0), st.sampled_from([ADDITION, SEEN_THROUGH]))
def test_a_larger_part_never_takes_less_silicone_or_work(
    shape: CastShape, k: float, silicone: Silicone
) -> None:
    small = {m.kind: m for m in molds_for(shape, silicone, SHOP)}
    large = {m.kind: m for m in molds_for(shape.scaled(k), silicone, SHOP)}
    for kind in small.keys() & large.keys():
        less, more = (mold_operations(m[kind], ADDITION, 2, SHOP) for m in (small, large))
        assert minutes(more) >= minutes(less) - 1e-9
        assert set(drawn(more)) == set(drawn(less))
        for resource, amount in drawn(less).items():
            assert drawn(more)[resource] >= amount - 1e-9


@settings(max_examples=60, deadline=None)
@given(any_shape(), st.integers(1, 6))
def test_one_more_mold_takes_more_of_everything(shape: CastShape, molds: int) -> None:
    for mold in molds_for(shape, ADDITION, SHOP):
        fewer = mold_operations(mold, ADDITION, molds, SHOP)
        more = mold_operations(mold, ADDITION, molds + 1, SHOP)
        assert sum(op.machine_min for op in more) > sum(op.machine_min for op in fewer)
        for resource, amount in drawn(fewer).items():
            assert drawn(more)[resource] >= amount
        assert minutes(more) > minutes(fewer)


@settings(max_examples=60, deadline=None)
@given(any_shape())
def test_silicone_fills_the_box_around_the_part_and_no_more(shape: CastShape) -> None:
    for mold in molds_for(shape, ADDITION, SHOP):
        if mold.kind != SKIN:
            box_mm3 = mold.box.width_mm * mold.box.depth_mm * mold.box.height_mm
            assert mold.body_mm3 + shape.volume_mm3 == pytest.approx(box_mm3)
        poured = [op for op in mold_operations(mold, ADDITION, 1, SHOP) if "silicone" in op.name]
        kept_g = sum(
            d.quantity
            for op in poured
            for d in op.usages
            if d.resource == ADDITION.id
            and "stays behind" not in d.why
            and "in the cup" not in d.why
            and "cups" not in d.why
        )
        assert kept_g == pytest.approx(mold.silicone_mm3 / 1000 * 1.1)
