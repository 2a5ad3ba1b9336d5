"""Silicone molds: which kinds a shape allows, and what making one takes.

open block      the part hangs with its flat face level with the opening; one pour, no parting
two-part block  clay up to the parting line, silicone over the first half, turn, silicone over the second
multi-part      the same with a third part, for shapes that two do not release
brushed skin    a thin skin in coats, cut open, in a rigid jacket: where a block would take far more
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import pi

from routecost.parts.measures import Pose
from routecost.parts.shape import Shape
from routecost.routes.operation import Draw, Operation, Reason, own_time
from routecost.routes.physics.boxes import Block, block, brushed_skin_mm3
from routecost.routes.physics.pours import largest_mix_g, mix_batches
from routecost.routes.running import batch_draws, protection, vessel_draws
from routecost.shop.machines import Vessel
from routecost.shop.materials import Silicone
from routecost.shop.shop import Shop
from routecost.shop.standards import MoldingStandards

POSES_A_KIND = 2
"""Poses kept for each kind: the ones that trap least and take least silicone; more only cost time."""


@dataclass(frozen=True)
class Mold:
    """One kind of mold for one pose of one part."""

    kind: str
    pose: Pose
    box: Block
    """Inside of the box, or of the jacket."""
    silicone_mm3: float
    """In one finished mold, keys included, mixing loss not."""
    surface_mm2: float
    """Of the part: what gets release agent."""
    reasons: tuple[Reason, ...]

    @property
    def parts(self) -> int:
        """Pieces that are poured and cured one after the other."""
        return {"open block": 1, "two-part block": 2, "multi-part block": 3, "brushed skin": 1}[self.kind]

    @property
    def parting_cm(self) -> float:
        """Length of the parting line: the outline of the footprint, once for each parting."""
        if self.kind == "open block":
            return 0.0
        a, b = self.pose.footprint_mm
        return 2.0 * (a + b) / 10.0 * max(1, self.parts - 1)

    @property
    def openings(self) -> int:
        """Sprue and vents to be placed, and dressed on every copy."""
        return 0 if self.kind == "open block" else 1 + self.pose.peaks

    def silicone_g(self, silicone: Silicone) -> float:
        return self.silicone_mm3 / 1000.0 * silicone.density_g_cm3

    def filled_g(self, silicone: Silicone, resin_g: float) -> float:
        """What hands have to lift and turn."""
        return self.silicone_g(silicone) + resin_g


def molds_for(shape: Shape, silicone: Silicone, shop: Shop) -> Iterator[Mold]:
    """Every kind of mold in its best poses. A kind that cannot release the part is ruled out by its reason."""
    s = shop.the(MoldingStandards)
    stretch = silicone.stretch_share
    kinds = (
        ("open block", stretch),
        ("two-part block", max(stretch, s.two_part_trapped_share)),
        ("multi-part block", s.multi_part_trapped_share),
        ("brushed skin", s.multi_part_trapped_share),
    )
    for kind, limit in kinds:
        made = [_mold(kind, pose, shape, limit, s) for pose in shape.poses]
        if kind == "open block":
            made = [mold for mold in made if mold.pose.flat_opening]
        made.sort(
            key=lambda m: (any(r.level == "ruled out" for r in m.reasons), m.silicone_mm3, m.parting_cm)
        )
        yield from made[:POSES_A_KIND]


def _mold(kind: str, pose: Pose, shape: Shape, limit: float, s: MoldingStandards) -> Mold:
    solid = shape.solid
    width, depth = pose.footprint_mm
    # a box's measured sides can fall below the volume by rounding in a part that is a box itself
    inside = max(width * depth * pose.height_mm, solid.volume_mm3)
    box = block(
        min(solid.volume_mm3, inside),
        width,
        depth,
        inside / (width * depth),
        side_margin_mm=s.side_margin_mm,
        below_mm=s.end_margin_mm,
        above_mm=0.0 if kind == "open block" else s.end_margin_mm,
    )
    silicone_mm3 = box.silicone_mm3
    if kind == "brushed skin":
        silicone_mm3 = brushed_skin_mm3(solid.area_mm2, s.skin_mm)
    # keys stand on every parting face; an open block has none
    silicone_mm3 *= 1.0 + s.keys_share * {"open block": 0, "multi-part block": 2}.get(kind, 1)
    return Mold(kind, pose, box, silicone_mm3, solid.area_mm2, (_release_reason(kind, pose, shape, limit),))


def _release_reason(kind: str, pose: Pose, shape: Shape, limit: float) -> Reason:
    """Trapped space against what this kind of mold stretches or parts over, by the part's volume."""
    volume = shape.solid.volume_mm3
    trapped = pose.trapped_open_mm3 if kind == "open block" else pose.trapped_two_part_mm3
    share = trapped / volume
    numbers = f"{kind}: {trapped / 1000:.2f} cm³ of trapped space, {share:.0%} of the part"
    if share > limit:
        mend = "; inner passages need cores" if kind != "open block" else ""
        return Reason("ruled out", f"{numbers}; it releases up to {limit:.0%}{mend}")
    return Reason("suits", f"{numbers}, within {limit:.0%}")


@dataclass(frozen=True)
class Mixing:
    """How silicone is mixed in this shop: what one batch may weigh, and in what it is degassed."""

    largest_g: float
    chamber: Vessel | None

    @classmethod
    def of(cls, silicone: Silicone, shop: Shop) -> Mixing:
        """Limited by the pot life and, where the shop has a vacuum chamber, by a cup that may rise in it."""
        s = shop.the(MoldingStandards)
        by_pot_life = largest_mix_g(silicone.pot_life_min, s.mix_min, s.pour_g_per_min)
        chamber = next((v for v in shop.all(Vessel) if v.purpose == "vacuum" and v.id in shop.owned), None)
        if chamber is None:
            return cls(by_pot_life, None)
        room_mm3 = pi / 4.0 * chamber.inner_diameter_mm**2 * chamber.inner_height_mm
        by_cup = room_mm3 / 1000.0 * s.chamber_fill_share * silicone.density_g_cm3
        return cls(min(by_pot_life, by_cup), chamber)


def mold_operations(mold: Mold, silicone: Silicone, molds: int, shop: Shop) -> tuple[Operation, ...]:
    """Making `molds` equal molds from one master, one after the other."""
    s = shop.the(MoldingStandards)
    if mold.kind == "brushed skin":
        return _brushed(mold, silicone, molds, shop, s)
    found = [_box(mold, molds, shop, s)]
    if mold.parts > 1:
        found.append(_lay_up(mold, molds, shop, s))
    piece_g = mold.silicone_g(silicone) / mold.parts
    for piece in range(1, mold.parts + 1):
        name = "the mold" if mold.parts == 1 else f"mold part {piece} of {mold.parts}"
        found.append(_release(mold, molds, shop, s, name))
        found.append(_pour(piece_g, silicone, molds, shop, s, name))
    found.append(_open(mold, molds, shop, s))
    return tuple(found)


def _times(molds: int) -> str:
    return f" x {molds} molds" if molds > 1 else ""


def _box(mold: Mold, molds: int, shop: Shop, s: MoldingStandards) -> Operation:
    # the box is built once and set up again for each later mold
    rounds = 1.0 + (molds - 1) * s.later_box_share
    board = mold.box.wall_area_mm2 / 100.0 * s.box_board_cm2_per_cm2
    size = f"{mold.box.width_mm:.0f} x {mold.box.depth_mm:.0f} x {mold.box.height_mm:.0f} mm"
    seams_cm = (2 * (mold.box.width_mm + mold.box.depth_mm) + 4 * mold.box.height_mm) / 10.0
    again = f", set up again at {s.later_box_share:.0%} for each later mold" if molds > 1 else ""
    return Operation(
        "build the mold box and fix the master in it",
        (
            own_time(
                rounds * s.build_box_min,
                f"{s.build_box_min:g} min{again}",
                s.ref("build_box_min", "later_box_share"),
            ),
            Draw(
                "mold-board",
                board,
                f"inside of {size}, {mold.box.wall_area_mm2 / 100:.0f} cm² x {s.box_board_cm2_per_cm2:g}",
                s.ref("box_board_cm2_per_cm2"),
            ),
            Draw(
                "hot-glue",
                rounds * seams_cm * s.glue_g_per_cm,
                f"{seams_cm:.0f} cm of seams x {s.glue_g_per_cm:g} g/cm",
                s.ref("glue_g_per_cm"),
            ),
        ),
        cautions=("blade",),
        note=f"box inside {size}",
    )


def _lay_up(mold: Mold, molds: int, shop: Shop, s: MoldingStandards) -> Operation:
    """Clay to the parting line, keys, sprue and vents; the clay stands in for the first half."""
    minutes = s.lay_up_parting_min + mold.parting_cm * s.parting_min_per_cm + mold.openings * s.vent_min
    extra = (mold.parts - 2) * s.multi_part_extra_min
    clay_g = mold.silicone_mm3 / 2.0 / 1000.0 * s.clay_g_cm3 * s.clay_reuse_share
    why = (
        f"({s.lay_up_parting_min:g} min + {mold.parting_cm:.0f} cm of parting line x {s.parting_min_per_cm:g} "
        f"min/cm + {mold.openings} sprue and vents x {s.vent_min:g} min"
        + (f" + {extra:g} min for the third part" if extra else "")
        + f"){_times(molds)}"
    )
    return Operation(
        "bed the master in clay, set keys, sprue and vents",
        (
            own_time(
                molds * (minutes + extra), why, s.ref("lay_up_parting_min", "parting_min_per_cm", "vent_min")
            ),
            Draw(
                "modeling-clay",
                molds * clay_g,
                f"half the block in clay, {s.clay_reuse_share:.0%} of it lost{_times(molds)}",
                s.ref("clay_reuse_share", "clay_g_cm3"),
            ),
        ),
        note=f"parting line about the outline of the footprint, {mold.parting_cm:.0f} cm",
    )


def _release(mold: Mold, molds: int, shop: Shop, s: MoldingStandards, name: str) -> Operation:
    grams = mold.surface_mm2 / 100.0 * s.release_g_per_cm2
    minutes = molds * s.release_min
    return Operation(
        f"release agent before {name}",
        (
            own_time(minutes, f"{s.release_min:g} min{_times(molds)}", s.ref("release_min")),
            Draw(
                "release-agent",
                molds * grams,
                f"{mold.surface_mm2 / 100:.0f} cm² x {s.release_g_per_cm2:g} g/cm²{_times(molds)}",
                s.ref("release_g_per_cm2"),
            ),
            *protection(shop, minutes, vapour=True),
        ),
        cautions=("solvent",),
    )


def _pour(
    grams: float, silicone: Silicone, molds: int, shop: Shop, s: MoldingStandards, name: str
) -> Operation:
    mixing = Mixing.of(silicone, shop)
    batches = mix_batches(grams, mixing.largest_g) * molds
    loss = 1.0 + s.mix_loss_share
    degas_min = s.degas_min + (mixing.chamber.cycle_min if mixing.chamber else 0.0)
    each = s.mix_min + (degas_min if mixing.chamber else 0.0) + s.pour_min
    draws = [
        own_time(
            batches * each,
            f"{batches} batches of at most {mixing.largest_g:.0f} g x ({s.mix_min:g} mix"
            + (f" + {degas_min:g} degas" if mixing.chamber else "")
            + f" + {s.pour_min:g} pour) min",
            s.ref("mix_min", "degas_min", "pour_min"),
        ),
        Draw(
            silicone.id,
            molds * grams * loss,
            f"{grams:.0f} g x {loss:g} with what stays in the cup{_times(molds)}",
            s.ref("mix_loss_share") + silicone.ref("density_g_cm3"),
        ),
        *batch_draws(shop, batches),
        *protection(shop, batches * each, vapour=True),
    ]
    if mixing.chamber:
        draws += vessel_draws(mixing.chamber, batches, "one for each batch")
    return Operation(
        f"mix, degas and pour silicone: {name}" if mixing.chamber else f"mix and pour silicone: {name}",
        tuple(draws),
        machine="mold box",
        waiting_min=molds * silicone.demold_h * 60.0,
        cautions=("sensitiser", *(("pressure",) if mixing.chamber else ())),
        note=f"a thin stream into the lowest corner; cures {silicone.demold_h:g} h",
    )


def _open(mold: Mold, molds: int, shop: Shop, s: MoldingStandards) -> Operation:
    minutes = molds * s.demold_master_min
    return Operation(
        "open the mold, free the master, trim",
        (
            own_time(minutes, f"{s.demold_master_min:g} min{_times(molds)}", s.ref("demold_master_min")),
            Draw("blade", molds * 1.0, f"one{_times(molds)}"),
            Draw(
                "tape",
                molds * 2.0 * (mold.box.width_mm + mold.box.depth_mm) / 10.0,
                "twice round to close it",
            ),
        ),
        cautions=("blade",),
    )


def _brushed(
    mold: Mold, silicone: Silicone, molds: int, shop: Shop, s: MoldingStandards
) -> tuple[Operation, ...]:
    cm2 = mold.surface_mm2 / 100.0
    grams = mold.silicone_g(silicone) * (1.0 + s.mix_loss_share)
    coats = s.skin_coats
    brush_min = molds * (coats * (cm2 * s.brush_min_per_cm2 + s.mix_min))
    # a coat takes the next when it no longer flows: twice its pot life, common practice without a source
    between_h = 2.0 * silicone.pot_life_min / 60.0
    jacket_min = molds * (cm2 * s.jacket_min_per_cm2 + mold.parting_cm * s.parting_min_per_cm)
    return (
        _release(mold, molds, shop, s, "the skin"),
        Operation(
            "brush the silicone skin coat by coat",
            (
                own_time(
                    brush_min,
                    f"{coats} coats x ({cm2:.0f} cm² x {s.brush_min_per_cm2:g} min/cm² + {s.mix_min:g} min mixing)"
                    f"{_times(molds)}",
                    s.ref("skin_coats", "brush_min_per_cm2", "mix_min"),
                ),
                Draw(
                    silicone.id,
                    molds * grams,
                    f"{cm2:.0f} cm² x {s.skin_mm:g} mm, with keys and mixing loss{_times(molds)}",
                    s.ref("skin_mm", "keys_share", "mix_loss_share"),
                ),
                Draw("brush", float(molds * coats), f"one a coat{_times(molds)}"),
                *batch_draws(shop, molds * coats),
                *protection(shop, brush_min, vapour=True),
            ),
            waiting_min=molds * ((coats - 1) * between_h + silicone.demold_h) * 60.0,
            cautions=("sensitiser",),
            note=f"{s.skin_mm:g} mm in {coats} coats, each after {between_h:.1f} h; undercuts filled first",
        ),
        Operation(
            "lay up the rigid jacket in two halves",
            (
                own_time(
                    jacket_min,
                    f"({cm2:.0f} cm² x {s.jacket_min_per_cm2:g} min/cm² + {mold.parting_cm:.0f} cm of flange x "
                    f"{s.parting_min_per_cm:g} min/cm){_times(molds)}",
                    s.ref("jacket_min_per_cm2", "parting_min_per_cm"),
                ),
                Draw(
                    "plaster-bandage",
                    molds * cm2 * s.jacket_g_per_cm2,
                    f"{cm2:.0f} cm² x {s.jacket_g_per_cm2:g} g/cm²{_times(molds)}",
                    s.ref("jacket_g_per_cm2"),
                ),
                *protection(shop, jacket_min),
            ),
            waiting_min=molds * s.jacket_set_h * 60.0,
        ),
        _open(mold, molds, shop, s),
    )
