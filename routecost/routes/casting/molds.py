"""Silicone molds: which kinds let go of a shape, in which pose, and how much silicone they hold.

open block      the part's flat face lies in the opening; one pour of silicone, no parting
cut block       the part hangs in the box on its sprue; one pour, cut open along the parting line
two-part block  clay up to the parting line, silicone over the first half, turn, silicone over the second
multi-part      the same with a third part, for shapes that two do not let go of
brushed skin    a thin skin in coats, cut open, in a rigid jacket: where a block would hold far more

A mold opens along the axis on which it is filled: sprue and vents go up through the last half.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from math import pi

from routecost.core.arrays import Vector
from routecost.mesh.measuring.measures import Pose
from routecost.mesh.measuring.shape import Shape
from routecost.mesh.measuring.silhouette import Silhouette
from routecost.routes.physics.boxes import Block, block, brushed_skin_mm3
from routecost.routes.process.operation import Reason, Verdict
from routecost.shop.materials import Silicone
from routecost.shop.shop import Shop
from routecost.shop.standards import MoldingStandards

OPEN, CUT, TWO_PART = "open block", "cut block", "two-part block"
MULTI_PART, SKIN = "multi-part block", "brushed skin"
_PARTS = {TWO_PART: 2, MULTI_PART: 3}
_PARTINGS = {OPEN: 0, MULTI_PART: 2}
_MOST_FREE_FACES = 3
"""Faces that are tried as the opening: the first ones by silicone."""

Judge = Callable[[Block], Iterable[Reason]]
"""Objections to a mold of some size: that it does not fit into the pot."""


@dataclass(frozen=True)
class Mold:
    """One kind of mold for one pose of one part; amounts of one mold."""

    kind: str
    pose: Pose
    seen: Silhouette
    box: Block
    """Inside of the box, or of the jacket."""
    body_mm3: float
    """Silicone without keys."""
    keys_mm3: float
    part_mm3: float
    part_mm2: float
    reasons: tuple[Reason, ...]

    @property
    def parts(self) -> int:
        """Pieces that are poured and cured one after the other."""
        return _PARTS.get(self.kind, 1)

    @property
    def silicone_mm3(self) -> float:
        return self.body_mm3 + self.keys_mm3

    @property
    def piece_mm3(self) -> float:
        """Silicone of one part, the block being halved or cut in thirds."""
        return self.silicone_mm3 / self.parts

    @property
    def parting_cm(self) -> float:
        """Where the mold opens on the casting: once around it, twice for a third part."""
        return _PARTINGS.get(self.kind, 1) * self.seen.outline_mm / 10.0

    @property
    def flash_cm(self) -> float:
        """What is trimmed on every copy: the parting line, or the rim of an open mold."""
        return self.seen.face_outline_mm / 10.0 if self.kind == OPEN else self.parting_cm

    @property
    def openings(self) -> int:
        """A sprue, a vent beside it, and a vent for every further top that traps air."""
        return 0 if self.kind == OPEN else 2 + self.pose.peaks

    @property
    def parting_face_cm2(self) -> float:
        """Where silicone meets cured silicone; it must not bond."""
        return max(0.0, self.box.width_mm * self.box.depth_mm - self.seen.area_mm2) / 100.0

    @property
    def girth_cm(self) -> float:
        """Around the mold, for straps."""
        return 2.0 * (self.box.width_mm + self.box.depth_mm) / 10.0

    @property
    def size(self) -> str:
        return f"{self.box.width_mm:.0f} x {self.box.depth_mm:.0f} x {self.box.height_mm:.0f} mm"


def molds_for(
    shape: Shape,
    silicone: Silicone,
    shop: Shop,
    up: Vector | None = None,
    judge: Judge = lambda box: (),
) -> list[Mold]:
    """The simplest block that releases the part, and a skin where that takes far less silicone.

    Simpler means less silicone, fewer hours and fewer seams at once, so a more divided mold is looked for only
    where the simpler one needs a change or is impossible. If nothing works, one kind with its reason.
    """
    s = shop.the(MoldingStandards)
    poses = (shape.pose(up),) if up is not None else shape.poses
    blocks: list[Mold] = []
    over_halves = max(silicone.stretch_share, s.two_part_trapped_share)
    for kind, limit in (
        (OPEN, silicone.stretch_share),
        (CUT, over_halves),
        (TWO_PART, over_halves),
        (MULTI_PART, s.multi_part_trapped_share),
    ):
        mold = _best(kind, poses, shape, limit, s, judge)
        if mold is None or (kind == CUT and not _can_be_cut(mold, silicone, s)):
            continue
        blocks.append(mold)
        if _level(mold) == "suits" and not _impossible(mold, judge):
            break
    skin = _best(SKIN, poses, shape, s.multi_part_trapped_share, s, judge)
    least = min(block.silicone_mm3 for block in blocks)
    skins = [skin] if skin and skin.silicone_mm3 <= least - 1000.0 * s.skin_spares_cm3 else []
    possible = [mold for mold in (*blocks, *skins) if not _impossible(mold, judge)]
    # where nothing goes into the pot, the simplest that lets go; where nothing lets go, the most able
    return possible or [mold for mold in blocks if _level(mold) != "ruled out"][:1] or blocks[-1:]


def _can_be_cut(mold: Mold, silicone: Silicone, s: MoldingStandards) -> bool:
    """A blade finds the parting line where the master is seen, and reaches it where the block is small."""
    longest = max(mold.box.width_mm, mold.box.depth_mm, mold.box.height_mm)
    return silicone.see_through and longest <= s.cut_side_mm


def _best(
    kind: str, poses: Iterable[Pose], shape: Shape, limit: float, s: MoldingStandards, judge: Judge
) -> Mold | None:
    """The pose that works and takes the least silicone; then fewest vents, and a flat top for the sprue."""
    made = [_mold(kind, pose, shape, limit, s) for pose in poses if kind != OPEN or pose.flat_opening]
    made.sort(
        key=lambda m: (
            _impossible(m, judge),
            float(f"{m.silicone_mm3:.3g}"),  # within a percent they are alike
            m.openings,
            not m.pose.flat_opening,
        )
    )
    if not made:
        return None
    tried = [_looked_at(mold, shape) for mold in made[: _MOST_FREE_FACES if kind == OPEN else 1]]
    return min(tried, key=lambda m: (_impossible(m, judge), _level(m) != "suits"))


def _level(mold: Mold) -> str:
    return Verdict(mold.reasons).level


def _impossible(mold: Mold, judge: Judge) -> bool:
    return Verdict((*mold.reasons, *judge(mold.box))).level == "ruled out"


def _mold(kind: str, pose: Pose, shape: Shape, limit: float, s: MoldingStandards) -> Mold:
    solid = shape.solid
    width, depth = pose.footprint_mm
    # a box's measured sides can fall below the volume by rounding in a part that is a box itself
    inside = max(width * depth * pose.height_mm, solid.volume_mm3)
    jacket = s.skin_mm + s.jacket_mm
    box = block(
        solid.volume_mm3,
        width,
        depth,
        inside / (width * depth),
        side_margin_mm=jacket if kind == SKIN else s.side_margin_mm,
        below_mm=jacket if kind == SKIN else s.end_margin_mm,
        above_mm={OPEN: 0.0, SKIN: jacket}.get(kind, s.end_margin_mm),
    )
    skin = skin_mm3(solid.area_mm2, solid.smallest_box_mm, s.skin_mm)
    body_mm3 = skin if kind == SKIN else box.silicone_mm3
    # keys stand on every parting face; a wavy cut is its own key
    keys_mm3 = body_mm3 * s.keys_share * (0 if kind == CUT else _PARTINGS.get(kind, 1))
    unseen = Silhouette(pose.up, 0.0, 0.0, 0.0, 0.0)
    reasons = (_release_reason(kind, pose, shape, limit),)
    return Mold(kind, pose, unseen, box, body_mm3, keys_mm3, solid.volume_mm3, solid.area_mm2, reasons)


def skin_mm3(area_mm2: float, smallest_box_mm: Vector, thickness_mm: float) -> float:
    """Silicone of a skin around a part, edges and corners included: A t + M t² + 4π/3 t³.

    Steiner's formula for parallel bodies, exact for convex ones; M, 2π times the mean width, is π (a + b + c)
    for a box and taken from the part's box: what a hollow saves, coats that pool in it take.

    >>> round(skin_mm3(6 * 20**2, (20, 20, 20), 9))  # 18.3 cm³ more than area x thickness
    39922
    """
    edges = pi * sum(smallest_box_mm) * thickness_mm**2 + 4.0 / 3.0 * pi * thickness_mm**3
    return brushed_skin_mm3(area_mm2, thickness_mm) + edges


def _release_reason(kind: str, pose: Pose, shape: Shape, limit: float) -> Reason:
    """Trapped space against what this kind of mold stretches or parts over, by the part's volume."""
    volume = shape.solid.volume_mm3
    # sampled, so that none comes out a little above or below zero
    trapped = max(0.0, pose.trapped_open_mm3 if kind == OPEN else pose.trapped_two_part_mm3)
    share = trapped / volume
    numbers = f"{kind}: {trapped / 1000:.2f} cm³ of trapped space, {share:.1%} of the part"
    if share > limit:
        mend = "; inner passages need cores" if kind != OPEN else ""
        return Reason("ruled out", f"{numbers}; it releases up to {limit:.0%}{mend}")
    return Reason("suits", f"{numbers}, within {limit:.0%}")


def _looked_at(mold: Mold, shape: Shape) -> Mold:
    """The mold with its outlines; an open one that pockets in the free face are lost in says so."""
    seen = shape.silhouette(mold.pose.up)
    reasons = mold.reasons
    if mold.kind == OPEN and seen.pocket_mm2 > 0.0:
        text = (
            f"pockets of {seen.pocket_mm2 / 100:.2f} cm² in the free face fill up with resin: "
            "hang pins into them or drill them afterwards"
        )
        reasons = (*reasons, Reason("changes", text))
    return replace(mold, seen=seen, reasons=reasons)
