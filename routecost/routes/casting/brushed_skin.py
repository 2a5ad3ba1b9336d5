"""A brushed silicone skin in a rigid jacket: coat by coat over the master, plaster in two halves, then cut."""

from __future__ import annotations

from routecost.routes.casting.mold_steps import open_operation, openings_work, parting_work, release_operation
from routecost.routes.casting.molds import Mold
from routecost.routes.process.operation import Operation, timed, used
from routecost.routes.steps.running import batch_usages, protection
from routecost.shop.facts import Factor
from routecost.shop.materials import Silicone
from routecost.shop.shop import Shop
from routecost.shop.standards import MoldingStandards


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
    board_cm2 = mold.box.width_mm * mold.box.depth_mm / 100.0
    return Operation(
        "mount the master on a board, set flange, keys, sprue and vents",
        (
            timed((molds, "molds"), s.rate("skin_set_up_min")),
            openings_work(mold, molds, s),
            used("mold-board", (board_cm2, "cm²")),
        ),
        note="measure the master first, a mold repeats its errors",
    )


def _coats(mold: Mold, silicone: Silicone, molds: int, shop: Shop, s: MoldingStandards) -> Operation:
    cm2, each, coats = (mold.part_mm2 / 100.0, "cm²"), (molds, "molds"), s.rate("skin_coats", "coats")
    skin_g, keys_g = (mm3 / 1000.0 * silicone.density_g_cm3 for mm3 in (mold.body_mm3, mold.keys_mm3))
    density = silicone.ref("density_g_cm3")
    skin = Factor(skin_g, f"{skin_g:.0f} g on {cm2[0]:.0f} cm², {s.skin_mm:g} mm and its edges", density)
    # the share of keys is in their grams
    keys = Factor(keys_g, f"{keys_g:.0f} g of keys and flange", (*density, *s.ref("keys_share")))
    both = Factor(skin_g + keys_g, f"{skin_g + keys_g:.0f} g", density)
    usages = [
        used(silicone.id, each, skin),
        used(silicone.id, each, keys),
        used(silicone.id, both, s.rate("mix_loss_share", "stays behind"), each),
        used(silicone.id, each, coats, s.rate("cup_loss_g", "in the cup")),
        used("silicone-thickener", each, both, s.rate("thickener_share")),
        timed(each, coats, cm2, s.rate("brush_min_per_cm2")),
        timed(each, coats, s.rate("mix_min", "to weigh and mix")),
        used("brush", each, coats),
        *batch_usages(shop, molds * s.skin_coats),
    ]
    between_h = s.tack_pot_lives * silicone.pot_life_min / 60.0
    return Operation(
        "brush the silicone skin coat by coat",
        (*usages, *protection(shop, *usages)),
        machine="mold box",
        machine_min=molds * ((s.skin_coats - 1) * between_h + silicone.demold_h) * 60.0,
        cautions=("silicone",),
        note=f"{s.skin_mm:g} mm in {s.skin_coats} coats, each {between_h:.1f} h after the last; "
        f"undercuts filled first; cures {silicone.demold_h:g} h",
        unbroken=True,  # coats follow while the last is tacky
    )


def _jacket(mold: Mold, molds: int, shop: Shop, s: MoldingStandards) -> Operation:
    each, cm2 = (molds, "molds"), (mold.part_mm2 / 100.0, "cm²")
    # as wide as the table's flange
    flange_cm2, of_flange = mold.parting_cm * s.flange_mm / 10.0, s.ref("flange_mm")
    flange = Factor(flange_cm2, f"{flange_cm2:.0f} cm² of flange", of_flange)
    clay_cm3 = flange_cm2 * s.flange_clay_mm / 10.0
    clay = Factor(clay_cm3, f"{clay_cm3:.0f} cm³ of wall", of_flange)
    usages = (
        timed(each, s.rate("jacket_set_up_min")),
        timed(each, cm2, s.rate("jacket_min_per_cm2")),
        parting_work(mold, molds, s, "flange, for the clay wall"),
        used("plaster-bandage", each, cm2, s.rate("jacket_g_per_cm2")),
        used("plaster-bandage", each, (2, "sides"), flange, s.rate("jacket_g_per_cm2")),
        used("modeling-clay", each, clay, s.rate("clay_g_cm3"), s.rate("clay_reuse_share", "lost")),
        used("release-agent", each, flange, s.rate("release_g_per_cm2")),
    )
    return Operation(
        "lay up the rigid jacket in two halves",
        (*usages, *protection(shop, *usages)),
        machine="mold box",
        machine_min=molds * s.jacket_set_h * 60.0,
        cautions=("solvent",),
        note=f"the first half against a clay wall; sets {s.jacket_set_h:g} h",
        unbroken=True,
    )
