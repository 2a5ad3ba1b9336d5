"""A part to be cast whose pose, outlines and walls are stated, and a shop with round numbers to match."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cache
from typing import Any

from routecost.core.arrays import Vector
from routecost.mesh.measuring.measures import Layers, Pose, Walls
from routecost.mesh.measuring.silhouette import Silhouette
from routecost.routes.mold_casting import MOLD_CASTING
from routecost.routes.process.operation import Operation, ProcessPlan
from routecost.routes.process.part import Demands, Part
from routecost.shop.machines import Vessel
from routecost.shop.materials import CastingResin, Coating, Filament, Silicone
from routecost.shop.shop import Shop
from routecost.shop.standards import CastingStandards, MoldingStandards
from tests.routes.printing.printed_shape import GREY, PrintedShape, StatedAnswers, print_shop, stated_deposit
from tests.routes.stated import UP, finishing_shop, shop_with, stated_pose

ADDITION = Silicone(
    id="silicone-addition",
    cure="addition",
    density_g_cm3=1.1,
    pot_life_min=40,
    demold_h=5,
    linear_shrink_percent=0.1,
    mold_life_pulls=20,
    stretch_share=0.05,
    rest_h=0,
)
CONDENSATION = replace(
    ADDITION,
    id="silicone-condensation",
    cure="condensation",
    density_g_cm3=1.2,
    demold_h=20,
    linear_shrink_percent=0.5,
    mold_life_pulls=15,
    rest_h=24,
)
TAN = CastingResin(
    id="pu-tan",
    chemistry="polyurethane",
    density_g_cm3=1.06,
    haze_percent=100,
    strength_mpa=38,
    softens_degc=65,
    pot_life_min=5,
    gel_h=0.5,
    demold_h=0.75,
    cure_h=24,
    max_pour_depth_mm=60,
    max_pour_mass_g=900,
    linear_shrink_percent=0.4,
    reaction_heat_j_g=100,
    heat_capacity_j_gk=1.9,
    conductivity_w_mk=0.2,
)
CLEAR_PU = replace(
    TAN,
    id="pu-clear",
    density_g_cm3=1.05,
    haze_percent=3,
    pot_life_min=8,
    gel_h=1.5,
    demold_h=4,
    cure_h=48,
    needs_pressure=True,
)
EPOXY = replace(
    CLEAR_PU,
    id="epoxy-clear",
    chemistry="epoxy",
    density_g_cm3=1.1,
    haze_percent=4,
    pot_life_min=40,
    gel_h=5,
    demold_h=24,
    cure_h=72,
    needs_pressure=False,
)
POT = Vessel(
    id="pressure-pot-10l",
    purpose="pressure",
    inner_diameter_mm=240,
    inner_height_mm=220,
    life_cycles=1000,
    cycle_min=6,
    energy_kwh=0.15,
)
CHAMBER = Vessel(
    id="vacuum-chamber-12l",
    purpose="vacuum",
    inner_diameter_mm=200,
    inner_height_mm=200,
    life_cycles=1500,
    cycle_min=5,
    energy_kwh=0.08,
)
CLEAR = Demands(clarity="clear")


@cache
def cast_shop(**changes: float) -> Shop:
    """One printer, one sandable filament, both silicones, three resins, a pot and a chamber that are not owned.

    `molding_...` and `casting_...` change single standards.
    """
    base = print_shop()

    def changed(room: str) -> dict[str, Any]:
        return {k.removeprefix(f"{room}_"): v for k, v in changes.items() if k.startswith(f"{room}_")}

    return shop_with(
        base,
        GREY,
        ADDITION,
        CONDENSATION,
        TAN,
        CLEAR_PU,
        EPOXY,
        *finishing_shop().all(Coating),
        Coating(id="barrier-coat", purpose="barrier", spread_g_cm2=0.005, coats=2, dry_h=0.5, rq_um=0.5),
        POT,
        CHAMBER,
        replace(MOLDING, **changed("molding")),
        replace(_casting(base), **changed("casting")),
    )


MOLDING = MoldingStandards(
    id="molding",
    side_margin_mm=12,
    end_margin_mm=10,
    keys_share=0.03,
    mix_loss_share=0.04,
    cup_loss_g=8,
    build_box_min=35,
    box_board_cm2_per_cm2=1.3,
    lay_up_parting_min=40,
    parting_min_per_cm=0.5,
    clay_reuse_share=0.1,
    vent_min=3,
    hang_min=10,
    cut_min_per_cm=0.8,
    cut_side_mm=150,
    turn_min=15,
    release_min=5,
    release_g_per_cm2=0.003,
    mix_min=8,
    degas_min=6,
    pour_min=6,
    demold_master_min=15,
    skin_mm=9,
    skin_spares_cm3=500,
    skin_set_up_min=25,
    skin_coats=4,
    brush_min_per_cm2=0.03,
    thickener_share=0.02,
    jacket_mm=8,
    flange_mm=30,
    jacket_set_up_min=30,
    jacket_min_per_cm2=0.12,
    jacket_set_h=4,
    jacket_g_per_cm2=0.6,
    two_part_trapped_share=0.05,
    multi_part_trapped_share=0.4,
    multi_part_extra_min=60,
    later_box_share=0.3,
    glue_g_per_cm=0.15,
    clay_g_cm3=1.7,
    pour_g_per_min=250,
    chamber_fill_share=0.2,
    liftable_kg=20,
    tack_pot_lives=2,
    flange_clay_mm=10,
)


def _casting(shop: Shop) -> CastingStandards:
    return replace(
        shop.the(CastingStandards),
        prepare_pull_min=6,
        release_g_per_cm2=0.0015,
        mix_min=5,
        stir_min=2,
        degas_min=5,
        cup_loss_g=3,
        mix_loss_share=0.05,
        pour_min=4,
        next_mold_min=0.5,
        clean_up_min=8,
        session_h=2.5,
        demold_min=5,
        sprue_share=0.06,
        sprue_cm3=3,
        overfill_share=0.03,
        pigment_share=0.01,
        trim_min_per_cm=0.12,
        trim_strip_mm=10,
        sprue_min=4,
        yield_clear=0.8,
        yield_opaque=0.8,
        pour_g_per_min=200,
        flow_wall_mm=1.2,
        tolerance_mm=0.3,
        film_min=2,
        film_margin_mm=15,
        level_min=1,
        mold_gap_mm=10,
        peak_degc=100,
        post_polish_share=0.15,
        room_degc=20,
    )


def only(shop: Shop, *things: Filament | Silicone | CastingResin) -> Shop:
    """The shop with these and no others of their classes."""
    return shop_with(shop, *things)


@dataclass(frozen=True, eq=False)
class CastShape(PrintedShape):
    """A block of 80 x 40 x 15 mm that lies with its flat back up, unless said otherwise."""

    extents_mm: Vector = (80.0, 40.0, 15.0)
    volume_mm3: float = 48_000.0
    area_mm2: float = 10_000.0
    contact_area_mm2: float = 0.0
    thinnest_mm: float = 15.0
    typical_mm: float = 15.0
    thickest_mm: float = 15.0
    stands: tuple[Pose, ...] = field(
        default_factory=lambda: (
            replace(stated_pose(15.0, (40.0, 80.0)), flat_opening=True, flat_opening_area_mm2=3200.0),
        )
    )
    kept: Any = StatedAnswers({"silhouette": Silhouette(UP, 3200.0, 240.0, 240.0, 0.0)})

    @property
    def walls(self) -> Walls:
        return Walls(self.thinnest_mm, (0.0, 0.0, 0.0), self.typical_mm, self.thickest_mm)

    def layers(self, up: Vector, count: int = 200) -> Layers:
        """The same section all the way up."""
        n, height = 20, self.pose(up).height_mm
        area = self.volume_mm3 / height
        heights = tuple(height * (i + 0.5) / n for i in range(n))
        return Layers(up, height / n, heights, (area,) * n, (100.0,) * n, (1,) * n)

    @property
    def seen(self) -> Silhouette:
        found: Silhouette = self.kept.answers["silhouette"]
        return found

    def scaled(self, k: float) -> CastShape:
        """The same shape, all lengths times k."""
        seen, laid = self.seen, stated_deposit(k**3)
        x, y, z = self.extents_mm
        return replace(
            self,
            extents_mm=(k * x, k * y, k * z),
            volume_mm3=k**3 * self.volume_mm3,
            area_mm2=k**2 * self.area_mm2,
            smallest_section_mm2=k**2 * self.smallest_section_mm2,
            thinnest_mm=k * self.thinnest_mm,
            typical_mm=k * self.typical_mm,
            thickest_mm=k * self.thickest_mm,
            stands=tuple(_scaled_pose(pose, k) for pose in self.stands),
            laid=laid,
            kept=StatedAnswers(
                {
                    "silhouette": replace(
                        seen,
                        area_mm2=k**2 * seen.area_mm2,
                        outline_mm=k * seen.outline_mm,
                        face_outline_mm=k * seen.face_outline_mm,
                        pocket_mm2=k**2 * seen.pocket_mm2,
                    )
                }
            ),
        )


def _scaled_pose(pose: Pose, k: float) -> Pose:
    return replace(
        pose,
        height_mm=k * pose.height_mm,
        footprint_mm=(k * pose.footprint_mm[0], k * pose.footprint_mm[1]),
        bed_area_mm2=k**2 * pose.bed_area_mm2,
        flat_opening_area_mm2=k**2 * pose.flat_opening_area_mm2,
        trapped_two_part_mm3=k**3 * pose.trapped_two_part_mm3,
        trapped_open_mm3=k**3 * pose.trapped_open_mm3,
    )


def ball(**changes: Any) -> CastShape:
    """A ball of 40 mm: 33.51 cm³, 50.27 cm², parted along 125.66 mm."""
    shape = CastShape(
        extents_mm=(40.0, 40.0, 40.0),
        volume_mm3=33_510.3,
        area_mm2=5_026.5,
        thinnest_mm=40.0,
        typical_mm=40.0,
        thickest_mm=40.0,
        stands=(stated_pose(40.0, (40.0, 40.0)),),
        kept=StatedAnswers({"silhouette": Silhouette(UP, 1_256.6, 125.66, 25.0, 0.0)}),
    )
    return replace(shape, **changes)


def trapping(shape: CastShape, two_part: float = 0.0, opened: float = 0.0) -> CastShape:
    """The shape with trapped space, as shares of its volume."""
    v = shape.volume_mm3
    return replace(
        shape,
        stands=tuple(
            replace(pose, trapped_two_part_mm3=two_part * v, trapped_open_mm3=opened * v)
            for pose in shape.stands
        ),
    )


def part(
    shape: CastShape | None = None,
    copies: int = 1,
    demands: Demands = Demands(),  # noqa: B008  frozen
) -> Part:
    return Part("lid", "a lid", copies, demands, CastShape() if shape is None else shape)


def plans(wanted: Part, shop: Shop) -> list[ProcessPlan]:
    return list(MOLD_CASTING.plans(wanted, shop))


def steps(operations: tuple[Operation, ...]) -> dict[str, Operation]:
    return {operation.name: operation for operation in operations}
