"""A brushed silicone skin in a rigid jacket: coat by coat over the master, plaster in two halves, then cut."""

from __future__ import annotations

from routecost.routes.casting.mold_steps import for_molds, hands_on_min, open_operation, release_operation
from routecost.routes.casting.molds import Mold
from routecost.routes.process.operation import Operation, Usage, own_time
from routecost.routes.steps.running import batch_usages, protection
from routecost.shop.materials import Silicone
from routecost.shop.shop import Shop
from routecost.shop.standards import MoldingStandards

_TACK_POT_LIVES = 2.0
"""A coat takes the next once it no longer runs but still sticks: common practice, no source."""
_FLANGE_CLAY_MM = 10.0
"""Thickness of the clay wall against which the first half of a jacket is laid."""


def skin_operations(mold: Mold, silicone: Silicone, molds: int, shop: Shop) -> tuple[Operation, ...]:
    """Making `molds` equal skins with their jackets from one master, one after the other."""
    s = shop.the(MoldingStandards)
    return (
        _mount(mold, molds, s),
        release_operation(mold.part_mm2 / 100.0, molds, shop, s, "the skin"),
        _coats(mold, silicone, molds, shop, s),
        _jacket(mold, molds, shop, s),
        open_operation(molds, shop, s),
    )


def _mount(mold: Mold, molds: int, s: MoldingStandards) -> Operation:
    each, board_cm2 = for_molds(molds), mold.box.width_mm * mold.box.depth_mm / 100.0
    return Operation(
        "mount the master on a board, set flange, keys, sprue and vents",
        (
            own_time(molds * s.skin_set_up_min, f"{s.skin_set_up_min:g} min{each}", s.ref("skin_set_up_min")),
            own_time(
                molds * mold.openings * s.vent_min,
                f"{mold.openings} sprue and vents x {s.vent_min:g} min{each}",
                s.ref("vent_min"),
            ),
            Usage("mold-board", board_cm2, f"{mold.box.width_mm:.0f} x {mold.box.depth_mm:.0f} mm"),
        ),
        note="measure the master first, a mold repeats its errors",
    )


def _coats(mold: Mold, silicone: Silicone, molds: int, shop: Shop, s: MoldingStandards) -> Operation:
    cm2, coats, each = mold.part_mm2 / 100.0, s.skin_coats, for_molds(molds)
    density = silicone.ref("density_g_cm3")
    skin_g = mold.body_mm3 / 1000.0 * silicone.density_g_cm3
    keys_g = mold.keys_mm3 / 1000.0 * silicone.density_g_cm3
    loss_g = (skin_g + keys_g) * s.mix_loss_share
    usages = [
        Usage(silicone.id, molds * skin_g, f"{cm2:.0f} cm² x {s.skin_mm:g} mm and its edges{each}", density),
        Usage(
            silicone.id,
            molds * keys_g,
            f"keys and flange, {s.keys_share:.0%} of it{each}",
            (*density, *s.ref("keys_share")),
        ),
        Usage(
            silicone.id,
            molds * loss_g,
            f"{s.mix_loss_share:.0%} of {skin_g + keys_g:.0f} g stays behind{each}",
            (*density, *s.ref("mix_loss_share")),
        ),
        Usage(
            silicone.id,
            molds * coats * s.cup_loss_g,
            f"{coats} cups x {s.cup_loss_g:g} g{each}",
            s.ref("skin_coats", "cup_loss_g"),
        ),
        Usage(
            "silicone-thickener",
            molds * (skin_g + keys_g) * s.thickener_share,
            f"{s.thickener_share:.0%} of {skin_g + keys_g:.0f} g{each}",
            (*density, *s.ref("thickener_share")),
        ),
        own_time(
            molds * coats * cm2 * s.brush_min_per_cm2,
            f"{coats} coats x {cm2:.0f} cm² x {s.brush_min_per_cm2:g} min/cm²{each}",
            s.ref("skin_coats", "brush_min_per_cm2"),
        ),
        own_time(
            molds * coats * s.mix_min,
            f"{coats} batches x {s.mix_min:g} min to weigh and mix{each}",
            s.ref("skin_coats", "mix_min"),
        ),
        Usage("brush", float(molds * coats), f"one for each of {coats} coats{each}", s.ref("skin_coats")),
        *batch_usages(shop, molds * coats),
    ]
    between_h = _TACK_POT_LIVES * silicone.pot_life_min / 60.0
    return Operation(
        "brush the silicone skin coat by coat",
        (*usages, *protection(shop, hands_on_min(usages))),
        machine="mold box",
        machine_min=molds * ((coats - 1) * between_h + silicone.demold_h) * 60.0,
        cautions=("silicone",),
        note=f"{s.skin_mm:g} mm in {coats} coats, each {between_h:.1f} h after the last; undercuts filled first; "
        f"cures {silicone.demold_h:g} h",
        unbroken=True,  # coats follow while the last is tacky
    )


def _jacket(mold: Mold, molds: int, shop: Shop, s: MoldingStandards) -> Operation:
    cm2, flange_cm2 = mold.part_mm2 / 100.0, mold.parting_cm * s.flange_mm / 10.0
    each = for_molds(molds)
    flange = f"{mold.parting_cm:.0f} cm of flange"
    clay_cm3 = flange_cm2 * _FLANGE_CLAY_MM / 10.0
    usages = (
        own_time(
            molds * s.jacket_set_up_min, f"{s.jacket_set_up_min:g} min{each}", s.ref("jacket_set_up_min")
        ),
        own_time(
            molds * cm2 * s.jacket_min_per_cm2,
            f"{cm2:.0f} cm² x {s.jacket_min_per_cm2:g} min/cm²{each}",
            s.ref("jacket_min_per_cm2"),
        ),
        own_time(
            molds * mold.parting_cm * s.parting_min_per_cm,
            f"{flange} x {s.parting_min_per_cm:g} min/cm for the clay wall{each}",
            s.ref("parting_min_per_cm"),
        ),
        Usage(
            "plaster-bandage",
            molds * cm2 * s.jacket_g_per_cm2,
            f"{cm2:.0f} cm² x {s.jacket_g_per_cm2:g} g/cm²{each}",
            s.ref("jacket_g_per_cm2"),
        ),
        Usage(
            "plaster-bandage",
            molds * 2.0 * flange_cm2 * s.jacket_g_per_cm2,
            f"both sides of {flange}, {s.flange_mm:g} mm wide{each}",
            s.ref("jacket_g_per_cm2", "flange_mm"),
        ),
        Usage(
            "modeling-clay",
            molds * clay_cm3 * s.clay_g_cm3 * s.clay_reuse_share,
            f"a wall of {clay_cm3:.0f} cm³ x {s.clay_g_cm3:g} g/cm³, {s.clay_reuse_share:.0%} lost{each}",
            s.ref("flange_mm", "clay_g_cm3", "clay_reuse_share"),
        ),
        Usage(
            "release-agent",
            molds * flange_cm2 * s.release_g_per_cm2,
            f"{flange_cm2:.0f} cm² of flange x {s.release_g_per_cm2:g} g/cm²{each}",
            s.ref("flange_mm", "release_g_per_cm2"),
        ),
    )
    return Operation(
        "lay up the rigid jacket in two halves",
        (*usages, *protection(shop, hands_on_min(usages))),
        machine="mold box",
        machine_min=molds * s.jacket_set_h * 60.0,
        cautions=("solvent",),
        note=f"the first half against a clay wall; sets {s.jacket_set_h:g} h",
        unbroken=True,
    )
