"""Making block molds: box, clay bed, release, silicone part by part, and a mold that opens.

There is one master, so molds are made one after the other, and so are the parts of each.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from math import pi

from routecost.routes.casting.brushed_skin import skin_operations
from routecost.routes.casting.mold_steps import open_operation, openings_work, parting_work, release_operation
from routecost.routes.casting.molds import CUT, SKIN, Mold
from routecost.routes.physics.pours import largest_mix_g, mix_batches
from routecost.routes.process.operation import Operation, timed, used
from routecost.routes.steps.running import batch_usages, cycle_usages, protection
from routecost.shop.facts import Factor
from routecost.shop.machines import Vessel
from routecost.shop.materials import Silicone
from routecost.shop.shop import Shop
from routecost.shop.standards import CastingStandards, MoldingStandards


def mold_operations(
    mold: Mold, silicone: Silicone, molds: int, shop: Shop, pot: Vessel | None = None, rest_h: float = 0.0
) -> tuple[Operation, ...]:
    """Making `molds` equal molds from one master.

    pot: where castings will cure under pressure. Bubbles in the silicone would give way there and show as
    warts, so a shop without vacuum cures the silicone under the same pressure.
    rest_h: until a new mold may take the resin; the last one waits, the others have waited by then.
    """
    s = shop.the(MoldingStandards)
    if mold.kind == SKIN:
        return (*_each(skin_operations(mold, silicone, molds, shop), molds), *_rest(rest_h))
    found = [_box(mold, molds, s)]
    if mold.kind == CUT:
        found.append(_hang(mold, molds, s))
    if mold.parts > 1:
        found.append(_bed(mold, molds, shop, s))
    for part in range(1, mold.parts + 1):
        name = "the mold" if mold.parts == 1 else f"mold part {part} of {mold.parts}"
        if part > 1:
            found.append(_turn(molds, shop, s))
        # a later part meets the one before as well as the master
        faces_cm2 = mold.part_mm2 / 100.0 / mold.parts + (mold.parting_face_cm2 if part > 1 else 0.0)
        found.append(release_operation(faces_cm2, molds, shop, s, name))
        found.append(_pour(mold, silicone, molds, shop, s, name, pot))
    if mold.kind == CUT:
        found.append(_cut(mold, molds, shop, s))
    return (*_each((*found, open_operation(molds, shop, s)), molds), *_rest(rest_h))


def _each(steps: Iterable[Operation], molds: int) -> tuple[Operation, ...]:
    """The master has to come out of one mold before it goes into the next."""
    return tuple(replace(step, runs=molds, cycle="mold", once=True) for step in steps)


@dataclass(frozen=True)
class Mixing:
    """How silicone is mixed in this shop: what one batch may weigh, and in what it is degassed."""

    largest_g: float
    chamber: Vessel | None

    @classmethod
    def of(cls, silicone: Silicone, shop: Shop) -> Mixing:
        """Limited by the pot life and, where the shop has a vacuum chamber, by a cup that may rise in it."""
        s = shop.the(MoldingStandards)
        chamber, usable_share = vacuum_chamber(shop), shop.the(CastingStandards).usable_share
        gone_min = s.mix_min + (s.degas_min + chamber.cycle_min if chamber else 0.0)
        # one too quick for all that is mixed in cups that are poured in half a minute
        gone_min = min(gone_min, usable_share * silicone.pot_life_min - 0.5)
        largest = largest_mix_g(silicone.pot_life_min, gone_min, s.pour_g_per_min, usable_share)
        if chamber:
            largest = min(largest, cup_g(chamber, silicone.density_g_cm3, s))
        return cls(largest, chamber)


def vacuum_chamber(shop: Shop) -> Vessel | None:
    """The one that the shop owns."""
    return next((v for v in shop.all(Vessel) if v.purpose == "vacuum" and v.id in shop.owned), None)


def cup_g(chamber: Vessel, density_g_cm3: float, s: MoldingStandards) -> float:
    """What may be degassed at once, rising as it does."""
    room_cm3 = pi / 4.0 * chamber.inner_diameter_mm**2 * chamber.inner_height_mm / 1000.0
    return room_cm3 * s.chamber_fill_share * density_g_cm3


def _box(mold: Mold, molds: int, s: MoldingStandards) -> Operation:
    box = mold.box
    walls_cm2 = box.wall_area_mm2 / 100.0
    seams_cm = (2.0 * (box.width_mm + box.depth_mm) + 4.0 * box.height_mm) / 10.0
    usages = [
        timed(s.rate("build_box_min", "to build it")),
        used("mold-board", (walls_cm2, "cm² inside"), s.rate("box_board_cm2_per_cm2", "of board")),
        used("hot-glue", (molds, "molds"), (seams_cm, "cm of seams"), s.rate("glue_g_per_cm")),
    ]
    if molds > 1:
        more = (molds - 1, "more to set up again")
        usages.append(timed(more, s.rate("later_box_share", "of"), s.rate("build_box_min")))
    return Operation(
        "build the mold box" + ("" if mold.kind == CUT else " and fix the master in it"),
        tuple(usages),
        cautions=("blade",),
        note=f"inside {mold.size}; measure the master first, a mold repeats its errors",
    )


def _hang(mold: Mold, molds: int, s: MoldingStandards) -> Operation:
    """The master floats in the box on rods that leave sprue and vents."""
    each = (molds, "molds")
    return Operation(
        "hang the taped master in the box on sprue and vents",
        (
            timed(each, s.rate("hang_min")),
            openings_work(mold, molds, s),
            used("tape", each, (mold.parting_cm, "cm of parting edge")),
        ),
        note="the edge of the tape shows the blade its way",
    )


def _cut(mold: Mold, molds: int, shop: Shop, s: MoldingStandards) -> Operation:
    each = (molds, "molds")
    work = timed(each, (mold.parting_cm, "cm"), s.rate("cut_min_per_cm", "to tape and cut"))
    return Operation(
        "cut the block open along the tape",
        (work, used("blade", each), *protection(shop, work)),
        cautions=("blade",),
        note="a wavy cut with a fresh blade, so that the halves find each other again",
    )


def _bed(mold: Mold, molds: int, shop: Shop, s: MoldingStandards) -> Operation:
    """Clay to the parting line, keys, sprue and vents; clay fills the place of the parts still to come."""
    # first all parts but one are clay, then all but two
    bed, each = ((mold.parts - 1) / 2.0 * mold.silicone_mm3 / 1000.0, "cm³ of bed"), (molds, "molds")
    usages = [
        timed(each, s.rate("lay_up_parting_min", "for bed and keys")),
        parting_work(mold, molds, s, "parting line"),
        openings_work(mold, molds, s),
        used("modeling-clay", each, bed, s.rate("clay_g_cm3"), s.rate("clay_reuse_share", "lost")),
    ]
    if mold.parts > 2:
        usages.append(timed(each, s.rate("multi_part_extra_min", "for the third part")))
    return Operation(
        "bed the master in clay, set keys, sprue and vents",
        (*usages, *protection(shop, *usages)),
        note=f"sulfur-free clay up to the parting line, {mold.seen.outline_mm / 10:.0f} cm around the part",
    )


def _turn(molds: int, shop: Shop, s: MoldingStandards) -> Operation:
    each = (molds, "molds")
    work = timed(each, s.rate("turn_min"))
    return Operation(
        "turn the block, peel off the clay, clean the parting face",
        (work, used("wipe", (2, "wipes"), each), *protection(shop, work)),
    )


def _pour(
    mold: Mold, silicone: Silicone, molds: int, shop: Shop, s: MoldingStandards, name: str, pot: Vessel | None
) -> Operation:
    mixing, each, density = Mixing.of(silicone, shop), (molds, "molds"), silicone.ref("density_g_cm3")
    chamber = mixing.chamber
    in_pot = pot if chamber is None else None
    body_g, keys_g = (
        mm3 / mold.parts / 1000.0 * silicone.density_g_cm3 for mm3 in (mold.body_mm3, mold.keys_mm3)
    )
    poured_g = body_g + keys_g
    batches = molds * mix_batches(poured_g + poured_g * s.mix_loss_share, mixing.largest_g)
    b, of_part = (batches, f"batches of at most {mixing.largest_g:.0f} g"), f"1/{mold.parts} of "
    around = f"{body_g:.0f} g: {of_part if mold.parts > 1 else ''}{mold.size} less the part"
    keys = Factor(keys_g, f"{keys_g:.0f} g of keys and funnel", (*density, *s.ref("keys_share")))
    poured = Factor(poured_g, f"{poured_g:.0f} g", density)
    usages = [
        used(silicone.id, each, Factor(body_g, around, density)),
        *((used(silicone.id, each, keys),) if keys_g > 0.0 else ()),
        used(silicone.id, poured, s.rate("mix_loss_share", "stays behind"), each),
        used(silicone.id, b, s.rate("cup_loss_g", "in the cup")),
        timed(b, s.rate("mix_min", "to weigh and mix")),
        timed(b, s.rate("pour_min", "for film and bubbles")),
        timed(each, poured, s.rate("pour_g_per_min", "in a thin stream")),
        *batch_usages(shop, batches),
    ]
    if chamber:
        usages += [timed(b, s.rate("degas_min", "under vacuum")), *cycle_usages(chamber, batches, "batches")]
    if in_pot:
        usages += cycle_usages(in_pot, molds, "molds")
    verbs = "mix, degas and pour" if chamber else "mix and pour"
    again = f", {molds} times over: there is one master" if molds > 1 else ""
    return Operation(
        f"{verbs} silicone: {name}" + (", cure under pressure" if in_pot else ""),
        (*usages, *protection(shop, *usages)),
        machine=in_pot.id if in_pot else "mold box",
        machine_min=molds * silicone.demold_h * 60.0,
        cautions=("silicone", *(("pressure",) if chamber or in_pot else ())),
        note=f"into the lowest corner; cures {silicone.demold_h:g} h{again}",
        unbroken=True,
    )


def _rest(rest_h: float) -> tuple[Operation, ...]:
    if rest_h <= 0.0:
        return ()
    text = "in air or a warm oven; polyurethane foams and stays tacky on what the silicone still gives off"
    return (Operation("rest the new molds", waiting_min=rest_h * 60.0, note=text, once=True),)
