"""Time standards and shop practice: minutes per unit of work, shares, margins. One class a trade.

All numbers are in standards.csv with low, high and source."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from routecost.shop.facts import Thing
from routecost.shop.schema import column

MIN: dict[str, Any] = {"unit": "minute", "low": 0, "high": 2000}
HOUR: dict[str, Any] = {"unit": "hour", "low": 0, "high": 500}
MIN_CM2: dict[str, Any] = {"unit": "minute/cm**2", "low": 0, "high": 10}
MIN_CM: dict[str, Any] = {"unit": "minute/cm", "low": 0, "high": 60}
GRAM: dict[str, Any] = {"unit": "g", "low": 0, "high": 5000}
MM: dict[str, Any] = {"unit": "mm", "low": 0, "high": 500}
SHARE: dict[str, Any] = {"low": 0, "high": 1}


@dataclass(frozen=True, kw_only=True)
class PrintingStandards(Thing):
    """In-house printing."""

    prepare_part_min: float = column("prepare the print of one part: orient, set, check the layers", **MIN)
    start_plate_min: float = column("clean the bed, load, start, watch the first layer", **MIN)
    remove_copy_min: float = column("take one copy off the bed and look it over", **MIN)
    clean_up_copy_min: float = column("strings, brim and burrs of one copy", **MIN)
    support_min_per_cm2: float = column(
        "break supports off, by contact area, where a finger reaches", **MIN_CM2
    )
    support_unreached_factor: float = column("times that, where only a tool reaches", low=1, high=20)
    walls: int = column("wall loops", low=1, high=20)
    skins: int = column("solid layers at the top and the bottom", low=0, high=50)
    infill_share: float = column("share of the core that is filled", **SHARE)
    support_share: float = column("density of a support column", **SHARE)
    purge_g: float = column("purge line and skirt of one plate", **GRAM)
    plate_gap_mm: float = column("gap between copies and to the plate's edge", **MM)
    bed_alcohol_g: float = column("alcohol to clean the bed before one start", **GRAM)
    blade_life_min: float = column("trimming that one blade lasts", power=-1, **MIN)
    risky_print_share: float = column("chance to lose a print beyond which it is better split", **SHARE)
    slender_limit: float = column("height over footprint beyond which a print wobbles", low=1, high=50)
    layer_strength_share: float = column("strength across layers, as a share of strength along them", **SHARE)
    light_share: float = column(
        "share of light that a translucent part passes through its thickest section", **SHARE
    )
    safety_factor: float = column("strength over allowable stress in the load screen", low=1, high=20)
    most_failures: float = column(
        "expected failures of one plate beyond which it is not worth starting: e to that power is the number of starts",
        power=0,
        low=0.5,
        high=20,
    )
    piece_height_share: float = column(
        "height of the pieces that an unstable part is split into, over the whole part's",
        power=0,
        low=0.1,
        high=0.9,
    )


@dataclass(frozen=True, kw_only=True)
class JoiningStandards(Thing):
    """Bonding pieces, sealing for liquids, testing."""

    fit_bond_min: float = column("pins, dry fit and degreasing of one bond", **MIN)
    bond_min_per_cm2: float = column("spread the adhesive", **MIN_CM2)
    adhesive_g_per_cm2: float = column("adhesive by bond area", unit="g/cm**2", low=0, high=2)
    degrease_g_per_cm2: float = column(
        "alcohol to degrease both faces, by bond area", unit="g/cm**2", low=0, high=2
    )
    pins_per_bond: float = column("dowel pins that align one bond", low=0, high=20)
    tape_per_seam: float = column("tape that holds a joint while it sets, by seam length", low=0, high=20)
    clamp_h: float = column("clamped until it can be handled", **HOUR)
    seam_min_per_cm: float = column("fill and sand a seam, by its length", **MIN_CM)
    filler_g_per_cm: float = column("filler by seam length", unit="g/cm", low=0, high=5)
    filler_set_h: float = column("filler sets until it can be sanded", **HOUR)
    seam_strip_mm: float = column("width that is sanded, or sealed from inside, along a seam", **MM)
    seam_grain_um: float = column(
        "grain that seams are dressed with: finer clogs with filler, coarser scratches the part",
        power=0,
        unit="micrometer",
        low=5,
        high=500,
    )
    bond_strength_share: float = column("strength of a bond, as a share of the material's", **SHARE)
    coat_min_per_cm2: float = column("brush or pour one sealing coat", **MIN_CM2)
    mix_coat_min: float = column("weigh and mix one batch of sealing coat", **MIN)
    wetted_share: float = column("share of a vessel's surface that is sealed: its inside", **SHARE)
    fill_test_min: float = column("fill, mark, come back, empty and dry one copy", **MIN)
    fill_test_h: float = column("a fill test lasts", **HOUR)
    proof_load_min: float = column("set up and read the proof load of one copy", **MIN)
    proof_load_h: float = column("a proof load is held", **HOUR)


@dataclass(frozen=True, kw_only=True)
class FinishingStandards(Thing):
    """Sanding and polishing by hand. Minutes by stage are given with each abrasive."""

    set_up_stage_min: float = column("change grit, rinse the part, look for scratches left", **MIN)
    finger_factor: float = column(
        "time where only a fingertip or rod reaches, over open surface", low=1, high=20
    )
    grain_factor: float = column("coarsest step from one grain size to the next", low=1.2, high=5)
    ridge_share: float = column(
        "roughness (Rq) of printed or cast ridges over the grain that starts on them",
        power=0,
        low=0.01,
        high=1,
    )
    compound_span: float = column(
        "roughness (Rq) a compound starts on, over what it leaves", power=0, low=1, high=20
    )
    first_stage_factor: float = column(
        "time of the first stage, which levels ridges, over one that takes out scratches", low=1, high=10
    )
    unreached_share: float = column("share of a clear surface that may stay out of reach", **SHARE)
    wipes_per_100cm2: float = column("wipes a stage", low=0, high=20)
    degrease_g_per_cm2: float = column("alcohol to degrease before a coat", unit="g/cm**2", low=0, high=2)
    smooth_rq_um: float = column(
        "roughness that counts as smooth to the hand", unit="micrometer", low=0.05, high=20
    )
    polished_rq_um: float = column("roughness that counts as polished", unit="micrometer", low=0.005, high=1)
    primer_above_rq_um: float = column(
        "rougher opaque surfaces get filler primer before sanding", unit="micrometer", low=0.5, high=100
    )
    support_mark_min_per_cm2: float = column(
        "file off what supports of vat photopolymerization leave, by contact area", **MIN_CM2
    )
    clear_coat_min_per_cm2: float = column("mask and spray or dip one coat", **MIN_CM2)
    set_up_coat_min: float = column("set up, clean the gun or brush", **MIN)


@dataclass(frozen=True, kw_only=True)
class MoldingStandards(Thing):
    """Making silicone molds."""

    side_margin_mm: float = column("silicone beside the part", power=0, **MM)
    end_margin_mm: float = column("silicone above and below the part", power=0, **MM)
    keys_share: float = column("silicone in keys and pour funnel, as a share of the block", **SHARE)
    mix_loss_share: float = column("what stays in cup and on tools, by what is mixed", **SHARE)
    cup_loss_g: float = column("what stays in one cup, however little was in it", **GRAM)
    build_box_min: float = column("build and seal one mold box", **MIN)
    box_board_cm2_per_cm2: float = column("board by inner wall area of the box", low=0.5, high=5)
    lay_up_parting_min: float = column("clay up to the parting line, keys, sprue and vents: fixed", **MIN)
    parting_min_per_cm: float = column("clay up to the parting line, by its length", **MIN_CM)
    clay_reuse_share: float = column("share of the clay lost at each use", **SHARE)
    vent_min: float = column("place one vent", **MIN)
    hang_min: float = column("hang the master on its sprue in the box, for a block that is cut open", **MIN)
    cut_min_per_cm: float = column(
        "tape the parting edge of the master, and cut the cured block open along it", **MIN_CM
    )
    cut_side_mm: float = column("longest side of a block that is cut open by hand", power=0, **MM)
    turn_min: float = column("turn the block, peel the clay off, clean the parting face, set the box", **MIN)
    release_min: float = column("spray release or barrier and let it flash", **MIN)
    release_g_per_cm2: float = column("release agent by surface", unit="g/cm**2", low=0, high=0.1)
    mix_min: float = column("weigh, mix and scrape one batch of silicone", **MIN)
    degas_min: float = column("degas one batch under vacuum", **MIN)
    pour_min: float = column("brush a first film over the master and chase bubbles, for one batch", **MIN)
    demold_master_min: float = column("open the box, free and clean the master, trim", **MIN)
    skin_mm: float = column("thickness of a brushed skin", power=0, **MM)
    skin_spares_cm3: float = column(
        "silicone that a brushed skin must save over a block to be worth its work",
        power=0,
        unit="cm**3",
        low=0,
        high=20000,
    )
    skin_set_up_min: float = column("mount the master on a board, shim and key the flange of a skin", **MIN)
    skin_coats: int = column("coats of a brushed skin", low=1, high=10)
    tack_pot_lives: float = column(
        "pot lives until a coat no longer runs but still sticks and takes the next", power=0, low=0.5, high=10
    )
    brush_min_per_cm2: float = column("brush one coat", **MIN_CM2)
    thickener_share: float = column(
        "additive that keeps brushed silicone from running, as a share of it", **SHARE
    )
    jacket_mm: float = column("thickness of the rigid jacket", power=0, **MM)
    flange_mm: float = column("width of the flange on which the halves of a jacket meet", **MM)
    flange_clay_mm: float = column("clay wall against which the first half of a jacket is laid", **MM)
    jacket_set_up_min: float = column("grease, trim and bolt the halves of one jacket", **MIN)
    jacket_min_per_cm2: float = column("lay up the rigid jacket", **MIN_CM2)
    jacket_set_h: float = column("until the jacket may be moved", **HOUR)
    jacket_g_per_cm2: float = column("plaster bandage by area", unit="g/cm**2", low=0, high=5)
    two_part_trapped_share: float = column(
        "trapped space a two-part block stretches over, by part volume", power=0, **SHARE
    )
    multi_part_trapped_share: float = column(
        "the same for a block in three parts or a cut skin", power=0, **SHARE
    )
    multi_part_extra_min: float = column("one more parting in a mold of three or more parts", **MIN)
    later_box_share: float = column("setting the box up again for a later mold, over building it", **SHARE)
    glue_g_per_cm: float = column("hot glue along the seams of a box", unit="g/cm", low=0, high=5)
    clay_g_cm3: float = column("density of modelling clay", unit="g/cm**3", low=1, high=3)
    pour_g_per_min: float = column(
        "silicone poured in a thin stream", power=-1, unit="g/minute", low=10, high=5000
    )
    chamber_fill_share: float = column(
        "share of a vacuum chamber that a cup of silicone may fill, as it rises fourfold", power=0, **SHARE
    )
    liftable_kg: float = column(
        "heaviest filled mold that one person turns", power=0, unit="kg", low=2, high=60
    )


@dataclass(frozen=True, kw_only=True)
class CastingStandards(Thing):
    """Pouring resin, into molds and into shells."""

    prepare_pull_min: float = column("clean, release and close one mold", **MIN)
    release_g_per_cm2: float = column(
        "mist of release agent before a pull, by surface", unit="g/cm**2", low=0, high=0.1
    )
    mix_min: float = column("weigh, mix and scrape one batch of resin", **MIN)
    stir_min: float = column(
        "of that, from where both sides have met: it is lost of the pot life", power=0, **MIN
    )
    degas_min: float = column("degas one batch under vacuum, where its pot life allows", **MIN)
    cup_loss_g: float = column("what stays in one cup, however little was in it", **GRAM)
    mix_loss_share: float = column("what stays in cup and on tools", **SHARE)
    pour_min: float = column("pour one batch, chase bubbles", **MIN)
    next_mold_min: float = column("go on to one more mold with the same batch", **MIN)
    clean_up_min: float = column("clean tools and bench after a session", **MIN)
    session_h: float = column(
        "time in the shop without a break: quick resins see several rounds in it", power=0, **HOUR
    )
    demold_min: float = column("open the mold and free one copy", **MIN)
    sprue_share: float = column("resin in vents and flash, as a share of the part", **SHARE)
    sprue_cm3: float = column("resin in one sprue with its funnel", unit="cm**3", low=0, high=200)
    overfill_share: float = column("resin pressed out of an open mold under film and plate", **SHARE)
    pigment_share: float = column("pigment paste that covers, as a share of the resin", **SHARE)
    trim_min_per_cm: float = column("trim and dress flash, by parting-line length", **MIN_CM)
    flash_grain_um: float = column(
        "grain that flash of a casting is dressed with: finer takes long, coarser shows",
        power=0,
        unit="micrometer",
        low=5,
        high=500,
    )
    trim_strip_mm: float = column("width that is dressed along flash", **MM)
    sprue_min: float = column("cut and dress one sprue or vent", **MIN)
    yield_clear: float = column("good copies per pull where clarity counts", power=-1, low=0.05, high=1)
    yield_opaque: float = column("good copies per pull where it does not", power=-1, low=0.05, high=1)
    usable_share: float = column(
        "share of a pot life in which resin or silicone still pours well", power=0, **SHARE
    )
    pour_g_per_min: float = column("resin poured without drawing air", unit="g/minute", low=10, high=5000)
    flow_wall_mm: float = column("thinnest wall that resin fills in a mold", **MM)
    tolerance_mm: float = column(
        "tolerance of a casting on 100 mm, from a mold of stable silicone", unit="mm", low=0.05, high=3
    )
    film_min: float = column("lay film and plate on the free face of an open mold, bubble-free", **MIN)
    film_margin_mm: float = column("film wider than the face, all round", power=0, **MM)
    level_min: float = column("scrape the free face of an open mold level, where it need not shine", **MIN)
    mold_gap_mm: float = column("board or gap between molds in a pot", power=0, **MM)
    most_pours: int = column(
        "pours of one pull beyond which filling a mold takes weeks", power=0, low=1, high=1000
    )
    air_film_w_m2k: float = column(
        "heat transfer from a warm wall to still air", power=0, unit="W/(m**2*delta_degC)", low=1, high=100
    )
    peak_degc: float = column(
        "temperature in a casting beyond which it yellows and cracks", unit="degC", low=50, high=200
    )
    post_polish_share: float = column("share of a clear casting's surface that needs a last polish", **SHARE)
    shell_wall_mm: float = column("wall of a printed shell to be filled", **MM)
    bulge_limit_mm: float = column("bulge of a shell that may be seen", **MM)
    most_shell_pours: int = column(
        "pours beyond which filling a shell takes weeks", power=0, low=1, high=5000
    )
    most_entries: int = column(
        "ports and vents of one shell beyond which it is better redesigned", power=0, low=1, high=100
    )
    rims_per_blade: float = column("rims of open shells that one blade cuts", power=-1, low=1, high=1000)
    port_min: float = column("cut and later close one port or vent", **MIN)
    back_panel_min: float = column("tape boards behind the flat panels of one shell", **MIN)
    shallowest_pour_mm: float = column("a pour shallower than this is not worth its mixing", **MM)
    smallest_fill_cm3: float = column(
        "a cavity smaller than this is not worth filling", unit="cm**3", low=0, high=100
    )
    shell_lip_mm: float = column(
        "overhang round the open top of a shell that may sag unsupported, as resin hides it", power=0, **MM
    )
    shell_seal_g: float = column("sealing coat on seams and pin holes of one shell", **GRAM)
    yield_shell: float = column("good copies per shell that is filled", power=-1, low=0.05, high=1)
    shell_check_min: float = column("seal seams and pin holes, and test a shell for leaks", **MIN)
    shell_warm_margin_k: float = column(
        "how far below its softening a shell must stay", unit="delta_degC", low=0, high=100
    )
    room_degc: float = column("room and resin temperature at pouring", unit="degC", low=5, high=40)


@dataclass(frozen=True, kw_only=True)
class OrderingStandards(Thing):
    """Ordering parts and goods from outside."""

    prepare_order_min: float = column("upload, specify, check and pay one order", **MIN)
    prepare_part_min: float = column("specify one part in an order", **MIN)
    inspect_copy_min: float = column("unpack, wash and inspect one copy", **MIN)
    wash_g_per_cm2: float = column("alcohol to wash a part, by surface", unit="g/cm**2", low=0, high=2)
    packing_share: float = column("mass of packing, as a share of the parts'", low=0, high=10)
    buy_line_min: float = column("find, order and put away one bought line", **MIN)
    bought_lead_days: float = column("delivery of bought goods", unit="day", low=0, high=120)


@dataclass(frozen=True, kw_only=True)
class SafetyStandards(Thing):
    """Protective consumables."""

    gloves_pairs_per_h: float = column("pairs of gloves an hour of resin or silicone work", low=0, high=20)
    cartridge_h: float = column("a pair of mask cartridges lasts", power=-1, unit="hour", low=1, high=500)
    solvent_g_per_batch: float = column("cleaning alcohol a batch", **GRAM)
    waste_g_per_batch: float = column("uncured waste a batch, paid for at the depot", **GRAM)


@dataclass(frozen=True, kw_only=True)
class JudgingStandards(Thing):
    """Where a demand counts as met, and how far off a change still mends it."""

    clear_haze_percent: float = column(
        "largest haze of a clear part", power=0, unit="percent", low=0, high=99
    )
    optical_haze_percent: float = column(
        "largest haze of an optical part", power=0, unit="percent", low=0, high=99
    )
    diffusing_haze_percent: float = column(
        "haze beyond which a material hides what is behind it", power=0, unit="percent", low=0, high=100
    )
    heat_margin_k: float = column(
        "how far below its softening a material serves", power=0, unit="delta_degC", low=0, high=100
    )
    most_mended: float = column(
        "how many times over a tolerance or an allowable stress may be missed and still be mended by a change",
        power=0,
        low=1,
        high=10,
    )
    sure_share: float = column(
        "probability with which stock for so many attempts is enough", power=0, low=0.5, high=0.999
    )


STANDARD_CLASSES: dict[str, type[Thing]] = {
    "printing": PrintingStandards,
    "joining": JoiningStandards,
    "finishing": FinishingStandards,
    "molding": MoldingStandards,
    "casting": CastingStandards,
    "ordering": OrderingStandards,
    "safety": SafetyStandards,
    "judging": JudgingStandards,
}
