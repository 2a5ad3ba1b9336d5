"""A part whose deposit, cavity and pieces are stated in round numbers, and a shop with one printer to match."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Any

from routecost.core.arrays import Vector
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.measuring.measures import Cavity, Deposit, LayerRun, Moves, Pose, Walls
from routecost.shop.machines import Printer
from routecost.shop.materials import CastingResin, Coating, Filament
from routecost.shop.shop import Shop
from routecost.shop.standards import (
    CastingStandards,
    JoiningStandards,
    PrintingStandards,
    SafetyStandards,
)
from tests.routes.stated import UP, StatedShape, finishing_shop, shipped_shop, shop_with, stated_pose

PRINTER = Printer(
    id="printer-220",
    width_mm=300,
    depth_mm=300,
    height_mm=300,
    line_mm=0.5,
    layer_mm=0.2,
    wall_speed_mm_s=50,
    skin_speed_mm_s=40,
    infill_speed_mm_s=100,
    travel_speed_mm_s=200,
    accel_mm_s2=1000,
    flow_mm3_s=20,
    shortest_layer_s=0,
    layer_change_s=1,
    warm_up_min=10,
    power_w=100,
    life_h=5000,
    resale_share=0.2,
    failure_per_h=0.01,
    finest_tolerance_mm=0.3,
    surface_rq_um=20,
)
FILAMENT = Filament(
    id="pla-natural",
    density_g_cm3=1.25,
    strength_mpa=50,
    modulus_gpa=3.0,
    softens_degc=55,
    transmits="translucent",
    wall_haze_percent=60,
    light_path_mm=4,
    max_flow_mm3_s=15,
)
GREY = replace(FILAMENT, id="pla-grey", transmits="opaque", wall_haze_percent=100, light_path_mm=0.4)
RESIN = CastingResin(
    id="epoxy-clear",
    chemistry="epoxy",
    density_g_cm3=1.1,
    haze_percent=5,
    strength_mpa=60,
    softens_degc=50,
    pot_life_min=40,
    gel_h=5,
    demold_h=24,
    cure_h=72,
    max_pour_depth_mm=20,
    max_pour_mass_g=800,
    linear_shrink_percent=0.3,
    cures_from_mm=3,
    reaction_heat_j_g=450,
    heat_capacity_j_gk=1.9,
    conductivity_w_mk=0.2,
)
SEAL = Coating(id="sealing-epoxy", purpose="seal", spread_g_cm2=0.02, coats=2, dry_h=8, rq_um=1.0)


@cache
def print_shop(**changes: float) -> Shop:
    """One printer, one filament, one resin, one sealing coat; ids that the shipped tables know."""
    printing = {f.removeprefix("printing_"): v for f, v in changes.items() if f.startswith("printing_")}
    printer = {f.removeprefix("printer_"): v for f, v in changes.items() if f.startswith("printer_")}
    shipped = shipped_shop()
    return shop_with(
        replace(finishing_shop(), resources=shipped.resources, facts=shipped.facts),
        replace(PRINTER, **printer),  # type: ignore[arg-type]
        FILAMENT,
        RESIN,
        *(c for c in finishing_shop().all(Coating) if c.purpose != "seal"),
        SEAL,
        replace(
            shipped.the(PrintingStandards),
            **{
                "prepare_part_min": 12,
                "start_plate_min": 6,
                "remove_copy_min": 2,
                "clean_up_copy_min": 3,
                "support_min_per_cm2": 0.6,
                "support_unreached_factor": 3,
                "walls": 3,
                "skins": 4,
                "infill_share": 0.2,
                "support_share": 0.15,
                "purge_g": 2,
                "plate_gap_mm": 8,
                "bed_alcohol_g": 3,
                "blade_life_min": 60,
                "risky_print_share": 0.3,
                "slender_limit": 8,
                "layer_strength_share": 0.5,
                "safety_factor": 4,
            }
            | printing,
        ),
        replace(
            shipped.the(JoiningStandards),
            fit_bond_min=12,
            bond_min_per_cm2=0.3,
            adhesive_g_per_cm2=0.05,
            degrease_g_per_cm2=0.1,
            pins_per_bond=2,
            tape_per_seam=1.5,
            clamp_h=6,
            seam_min_per_cm=0.8,
            filler_g_per_cm=0.15,
            filler_set_h=0.5,
            seam_strip_mm=20,
            bond_strength_share=0.4,
            coat_min_per_cm2=0.08,
            mix_coat_min=5,
            wetted_share=0.5,
            fill_test_min=15,
            fill_test_h=24,
            proof_load_min=20,
            proof_load_h=24,
        ),
        replace(
            shipped.the(CastingStandards),
            mix_min=5,
            stir_min=2,
            cup_loss_g=3,
            mix_loss_share=0.05,
            pour_min=4,
            pour_g_per_min=200,
            next_mold_min=1,
            clean_up_min=8,
            session_h=2.5,
            sprue_min=4,
            shell_wall_mm=1.0,
            bulge_limit_mm=0.3,
            port_min=3,
            back_panel_min=6,
            shallowest_pour_mm=5,
            flow_wall_mm=1.2,
            smallest_fill_cm3=1,
            shell_seal_g=2,
            shell_lip_mm=5,
            yield_shell=0.8,
            shell_check_min=15,
            shell_warm_margin_k=5,
            room_degc=20,
            peak_degc=100,
        ),
        SafetyStandards(
            id="safety", gloves_pairs_per_h=2, cartridge_h=30, solvent_g_per_batch=15, waste_g_per_batch=20
        ),
    )


def stated_deposit(scale: float = 1.0) -> Deposit:
    """100 layers of 0.2 mm. Walls 5 cm³ in 1000 moves of 50 mm, skins 0.4 cm³ in 100 of 40 mm, core 1.5 cm³
    that would take 500 of 30 mm; 200 travels of 20 mm. `scale` multiplies the counts."""
    n = scale
    return Deposit(
        up=UP,
        layer_mm=0.2,
        line_mm=0.5,
        layers=100,
        wall_volume_mm3=5000.0 * n,
        skin_volume_mm3=400.0 * n,
        core_volume_mm3=1500.0 * n,
        walls=Moves((50.0,), (1000.0 * n,)),
        skins=Moves((40.0,), (100.0 * n,)),
        core=Moves((30.0,), (500.0 * n,)),
        travels=Moves((20.0,), (200.0 * n,)),
        islands=100.0,
        skin_pieces=100.0 * n,
        core_pieces=100.0 * n,
        across_mm=60.0,
        runs=(LayerRun(100, 500.0 * n, 40.0 * n, 150.0 * n, 2.0 * n),),
    )


@dataclass(frozen=True, eq=False)
class StatedAnswers:
    """Stands for the kept answers: gives what is stated by name, and measures nothing."""

    answers: Mapping[str, Any]

    def get(
        self,
        kind: type,
        content_hash: str,
        name: str,
        params: Mapping[str, object],
        compute: Callable[[], Any],
    ) -> Any:
        return self.answers[name]


@dataclass(frozen=True, eq=False)
class PrintedShape(StatedShape):
    """80 x 60 x 20 mm, 30 cm² of contact; one pose unless more are stated."""

    extents_mm: Vector = (80.0, 60.0, 20.0)
    volume_mm3: float = 6_900.0
    typical_mm: float = 3.0
    stands: tuple[Pose, ...] = field(default_factory=lambda: (stated_pose(20.0, (60.0, 80.0)),))
    laid: Deposit = field(default_factory=stated_deposit)
    shell_laid: Deposit | None = None
    room: Cavity | None = None
    kept: Any = StatedAnswers({})
    source: Mesh = Mesh.of(
        [[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]], [[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]]
    )

    @property
    def walls(self) -> Walls:
        return Walls(self.thinnest_mm, (0.0, 0.0, 0.0), self.typical_mm, self.typical_mm)

    @property
    def poses(self) -> tuple[Pose, ...]:
        return self.stands

    def pose(self, up: Vector) -> Pose:
        return next((pose for pose in self.stands if pose.up == up), self.stands[0])

    def deposit(self, up: Vector, layer_mm: float, line_mm: float, walls: int, skins: int) -> Deposit:
        return self.laid

    def shell_deposit(self, up: Vector, layer_mm: float, line_mm: float, wall_mm: float) -> Deposit:
        assert self.shell_laid is not None
        return self.shell_laid

    def cavity(self, wall_mm: float, up: Vector) -> Cavity:
        assert self.room is not None
        return self.room
