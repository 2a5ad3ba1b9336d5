"""Making block molds: box, clay bed, release, silicone part by part, and a mold that opens.

There is one master, so molds are made one after the other, and so are the parts of each.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from math import pi

from routecost.routes.casting.brushed_skin import skin_operations
from routecost.routes.casting.mold_steps import for_molds, hands_on_min, open_operation, release_operation
from routecost.routes.casting.molds import CUT, SKIN, Mold
from routecost.routes.physics.pours import largest_mix_g, mix_batches
from routecost.routes.process.operation import Operation, Usage, own_time
from routecost.routes.steps.running import batch_usages, protection, vessel_usages
from routecost.shop.machines import Vessel
from routecost.shop.materials import Silicone
from routecost.shop.shop import Shop
from routecost.shop.standards import MoldingStandards


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
        chamber = vacuum_chamber(shop)
        gone_min = s.mix_min + (s.degas_min + chamber.cycle_min if chamber else 0.0)
        # one too quick for all that is mixed in cups that are poured in half a minute
        gone_min = min(gone_min, 0.8 * silicone.pot_life_min - 0.5)
        largest = largest_mix_g(silicone.pot_life_min, gone_min, s.pour_g_per_min)
        if chamber:
            largest = min(largest, cup_g(chamber, silicone.density_g_cm3, s))
        return cls(largest, chamber)


def vacuum_chamber(shop: Shop) -> Vessel | None:
    """The one that stands in the shop."""
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
        own_time(s.build_box_min, f"{s.build_box_min:g} min to build it", s.ref("build_box_min")),
        Usage(
            "mold-board",
            walls_cm2 * s.box_board_cm2_per_cm2,
            f"inside of {mold.size}, {walls_cm2:.0f} cm² x {s.box_board_cm2_per_cm2:g}",
            s.ref("box_board_cm2_per_cm2"),
        ),
        Usage(
            "hot-glue",
            molds * seams_cm * s.glue_g_per_cm,
            f"{seams_cm:.0f} cm of seams x {s.glue_g_per_cm:g} g/cm{for_molds(molds)}",
            s.ref("glue_g_per_cm"),
        ),
    ]
    if molds > 1:
        usages.append(
            own_time(
                (molds - 1) * s.later_box_share * s.build_box_min,
                f"set up again for {molds - 1} more, {s.later_box_share:.0%} of {s.build_box_min:g} min each",
                s.ref("build_box_min", "later_box_share"),
            )
        )
    return Operation(
        "build the mold box" + ("" if mold.kind == CUT else " and fix the master in it"),
        tuple(usages),
        cautions=("blade",),
        note=f"inside {mold.size}; measure the master first, a mold repeats its errors",
    )


def _hang(mold: Mold, molds: int, s: MoldingStandards) -> Operation:
    """The master floats in the box on rods that leave sprue and vents."""
    each = for_molds(molds)
    return Operation(
        "hang the taped master in the box on sprue and vents",
        (
            own_time(molds * s.hang_min, f"{s.hang_min:g} min{each}", s.ref("hang_min")),
            own_time(
                molds * mold.openings * s.vent_min,
                f"{mold.openings} sprue and vents x {s.vent_min:g} min{each}",
                s.ref("vent_min"),
            ),
            Usage("tape", molds * mold.parting_cm, f"{mold.parting_cm:.0f} cm of parting edge{each}"),
        ),
        note="the edge of the tape shows the blade its way",
    )


def _cut(mold: Mold, molds: int, shop: Shop, s: MoldingStandards) -> Operation:
    minutes, each = molds * mold.parting_cm * s.cut_min_per_cm, for_molds(molds)
    return Operation(
        "cut the block open along the tape",
        (
            own_time(
                minutes,
                f"{mold.parting_cm:.0f} cm x {s.cut_min_per_cm:g} min/cm to tape and cut{each}",
                s.ref("cut_min_per_cm"),
            ),
            Usage("blade", float(molds), f"a fresh one{each}"),
            *protection(shop, minutes),
        ),
        cautions=("blade",),
        note="a wavy cut, so that the halves find each other again",
    )


def _bed(mold: Mold, molds: int, shop: Shop, s: MoldingStandards) -> Operation:
    """Clay to the parting line, keys, sprue and vents; the clay stands in for the parts still to come."""
    # first all parts but one are clay, then all but two
    cm3 = (mold.parts - 1) / 2.0 * mold.silicone_mm3 / 1000.0
    each = for_molds(molds)
    usages = [
        own_time(
            molds * s.lay_up_parting_min,
            f"{s.lay_up_parting_min:g} min for bed and keys{each}",
            s.ref("lay_up_parting_min"),
        ),
        own_time(
            molds * mold.parting_cm * s.parting_min_per_cm,
            f"{mold.parting_cm:.0f} cm of parting line x {s.parting_min_per_cm:g} min/cm{each}",
            s.ref("parting_min_per_cm"),
        ),
        own_time(
            molds * mold.openings * s.vent_min,
            f"{mold.openings} sprue and vents x {s.vent_min:g} min{each}",
            s.ref("vent_min"),
        ),
        Usage(
            "modeling-clay",
            molds * cm3 * s.clay_g_cm3 * s.clay_reuse_share,
            f"{cm3:.0f} cm³ of bed x {s.clay_g_cm3:g} g/cm³, {s.clay_reuse_share:.0%} of it lost{each}",
            s.ref("clay_reuse_share", "clay_g_cm3"),
        ),
    ]
    if mold.parts > 2:
        usages.append(
            own_time(
                molds * s.multi_part_extra_min,
                f"{s.multi_part_extra_min:g} min for the third part{each}",
                s.ref("multi_part_extra_min"),
            )
        )
    return Operation(
        "bed the master in clay, set keys, sprue and vents",
        (*usages, *protection(shop, hands_on_min(usages))),
        note=f"sulfur-free clay up to the parting line, {mold.seen.outline_mm / 10:.0f} cm around the part",
    )


def _turn(molds: int, shop: Shop, s: MoldingStandards) -> Operation:
    minutes, each = molds * s.turn_min, for_molds(molds)
    return Operation(
        "turn the block, peel off the clay, clean the parting face",
        (
            own_time(minutes, f"{s.turn_min:g} min{each}", s.ref("turn_min")),
            Usage("wipe", 2.0 * molds, f"two{each}"),
            *protection(shop, minutes),
        ),
    )


def _pour(
    mold: Mold, silicone: Silicone, molds: int, shop: Shop, s: MoldingStandards, name: str, pot: Vessel | None
) -> Operation:
    mixing, each = Mixing.of(silicone, shop), for_molds(molds)
    chamber = mixing.chamber
    in_pot = pot if chamber is None else None
    body_g = mold.body_mm3 / mold.parts / 1000.0 * silicone.density_g_cm3
    keys_g = mold.keys_mm3 / mold.parts / 1000.0 * silicone.density_g_cm3
    poured_g = body_g + keys_g
    loss_g = poured_g * s.mix_loss_share
    batches = molds * mix_batches(poured_g + loss_g, mixing.largest_g)
    b = f"{batches} batch{'es' if batches > 1 else ''} of at most {mixing.largest_g:.0f} g"
    density = silicone.ref("density_g_cm3")
    usages = [
        Usage(
            silicone.id,
            molds * body_g,
            f"{body_g:.0f} g: {'' if mold.parts == 1 else f'1/{mold.parts} of '}{mold.size} less the part{each}",
            density,
        ),
        Usage(
            silicone.id,
            molds * loss_g,
            f"{s.mix_loss_share:.0%} of {poured_g:.0f} g stays behind{each}",
            (*density, *s.ref("mix_loss_share")),
        ),
        Usage(
            silicone.id, batches * s.cup_loss_g, f"{b} x {s.cup_loss_g:g} g in the cup", s.ref("cup_loss_g")
        ),
        own_time(batches * s.mix_min, f"{b} x {s.mix_min:g} min to weigh and mix", s.ref("mix_min")),
        own_time(batches * s.pour_min, f"{b} x {s.pour_min:g} min for film and bubbles", s.ref("pour_min")),
        own_time(
            molds * poured_g / s.pour_g_per_min,
            f"{poured_g:.0f} g in a thin stream of {s.pour_g_per_min:g} g/min{each}",
            (*density, *s.ref("pour_g_per_min")),
        ),
        *batch_usages(shop, batches),
    ]
    if keys_g > 0.0:
        why = f"keys and funnel, {s.keys_share:.0%} of it{each}"
        usages.insert(1, Usage(silicone.id, molds * keys_g, why, (*density, *s.ref("keys_share"))))
    if chamber:
        usages.append(
            own_time(batches * s.degas_min, f"{b} x {s.degas_min:g} min under vacuum", s.ref("degas_min"))
        )
        usages += _cycles(chamber, batches, "one for each batch")
    if in_pot:
        usages += _cycles(in_pot, molds, "one for each mold")
    verbs = "mix, degas and pour" if chamber else "mix and pour"
    again = f", {molds} times over: there is one master" if molds > 1 else ""
    return Operation(
        f"{verbs} silicone: {name}" + (", cure under pressure" if in_pot else ""),
        (*usages, *protection(shop, hands_on_min(usages))),
        machine=in_pot.id if in_pot else "mold box",
        machine_min=molds * silicone.demold_h * 60.0,
        cautions=("silicone", *(("pressure",) if chamber or in_pot else ())),
        note=f"into the lowest corner; cures {silicone.demold_h:g} h{again}",
        unbroken=True,
    )


def _cycles(vessel: Vessel, cycles: int, why: str) -> tuple[Usage, ...]:
    minutes = own_time(
        cycles * vessel.cycle_min,
        f"{cycles} x {vessel.cycle_min:g} min to load, close and vent {vessel.id}",
        vessel.ref("cycle_min"),
    )
    return (minutes, *vessel_usages(vessel, cycles, why))


def _rest(rest_h: float) -> tuple[Operation, ...]:
    if rest_h <= 0.0:
        return ()
    text = "in air or a warm oven; polyurethane foams and stays tacky on what the silicone still gives off"
    return (Operation("rest the new molds", waiting_min=rest_h * 60.0, note=text, once=True),)
