"""The numbers a part is judged by. Plain data: no mesh, no price, no route.

Lengths mm, areas mm², volumes mm³, in the part's own frame. Directions are unit vectors.
"""

from __future__ import annotations

from dataclasses import dataclass

from routecost.core.arrays import Vector


@dataclass(frozen=True)
class Solid:
    """Basic measures of a sound mesh."""

    faces: int
    bodies: int
    volume_mm3: float
    """Volume of the material: closed voids are subtracted."""
    area_mm2: float
    """Whole surface, the walls of closed voids included."""
    extents_mm: Vector
    smallest_box_mm: Vector
    """Sides of the smallest enclosing box in any orientation, ascending."""
    closed_voids: int
    closed_void_volume_mm3: float


@dataclass(frozen=True)
class Walls:
    """Wall thickness along inward normals, weighted by area."""

    thinnest_mm: float
    """1st percentile over the surface."""
    thinnest_at_mm: Vector
    """A surface point where the wall is about that thin."""
    typical_mm: float
    """Median over the surface."""
    thickest_mm: float
    """Diameter of the largest ball found inside the material: the section that cools last."""


@dataclass(frozen=True)
class Reach:
    """Shares of the surface by the tool that reaches it from outside; they add up to 1."""

    block: float
    """A flat sanding block."""
    finger: float
    """A fingertip or a rod, but no block."""
    none: float


@dataclass(frozen=True)
class Pose:
    """One orientation of the part while it is printed, filled or cast."""

    up: Vector
    height_mm: float
    footprint_mm: tuple[float, float]
    """Sides of the smallest rectangle around the part seen from above, ascending."""
    overhang_area_mm2: float
    """Surface facing down and flatter than 45°, what rests on the bed not counted."""
    contact_area_mm2: float
    """Where supports end on the part: overhang from below, plus their bases on the part."""
    support_volume_mm3: float
    """Column volume under the overhang, down to the bed or the part beneath."""
    support_volume_to_bed_mm3: float
    """The part of it that reaches down to the bed."""
    bed_area_mm2: float
    """Surface lying flat on the bed."""
    trapped_two_part_mm3: float
    """Outside the part, above some of it and below some of it, along the axis."""
    trapped_open_mm3: float
    """Outside the part, above some of it and below its topmost level."""
    flat_opening: bool
    """The topmost level is a plane face: it can be the free surface of an open pour."""
    flat_opening_area_mm2: float
    peaks: int
    """Local tops met while filling upward, those on the topmost level not counted: each needs a vent."""


@dataclass(frozen=True)
class Layers:
    """Cross-sections square to `up`, at the mid-heights of equal layers."""

    up: Vector
    layer_mm: float
    """Thickness of each layer."""
    height_mm: tuple[float, ...]
    area_mm2: tuple[float, ...]
    perimeter_mm: tuple[float, ...]
    islands: tuple[int, ...]

    @property
    def smallest_section_mm2(self) -> float:
        """Smallest section away from the outermost tenth at each end, where rounded parts taper off."""
        n = len(self.area_mm2)
        inner = self.area_mm2[n // 10 : n - n // 10] or self.area_mm2
        return min(inner)


@dataclass(frozen=True)
class Moves:
    """Straight moves from standstill to standstill, in classes of length."""

    length_mm: tuple[float, ...]
    """Mean length in each class, ascending."""
    count: tuple[float, ...]
    """How many in each class."""

    @property
    def number(self) -> float:
        return sum(self.count)

    @property
    def total_mm(self) -> float:
        return sum(length * count for length, count in zip(self.length_mm, self.count, strict=True))


@dataclass(frozen=True)
class LayerRun:
    """Consecutive similar layers, and the path of one of them; all but `layers` are per layer."""

    layers: int
    wall_mm: float
    skin_mm: float
    core_mm: float
    """If it were filled solid."""
    travels: float
    """Moves from loop to loop and from outline to outline."""


@dataclass(frozen=True)
class Deposit:
    """What a printer lays down for the part itself in one pose, supports not counted.

    Volumes come from true inward offsets of the sections, so that a wall thinner than its nominal loops is
    not counted twice; they add up to the part's volume. Skins and core are laid `line_mm` wide; walls are
    where the section is no multiple of it as much wider or narrower as fills it.
    """

    up: Vector
    layer_mm: float
    """The height in `layers` equal layers: close to the nominal, so that no height is lost."""
    line_mm: float
    layers: int
    wall_volume_mm3: float
    skin_volume_mm3: float
    core_volume_mm3: float
    """What is neither wall nor skin: to be filled at the infill share."""
    walls: Moves
    """Straight stretches of the loops."""
    skins: Moves
    """Lines across the skins."""
    core: Moves
    """Lines across the core if it were filled solid; a share of it has that share of each class."""
    travels: Moves
    """Without extruding, from loop to loop and from outline to outline."""
    islands: float
    skin_pieces: float
    core_pieces: float
    """Separate pieces of section, of skin and of core, summed over layers: each needs a travel move."""
    across_mm: float
    """Root of the area of the convex outline seen from above: the distance to the next copy."""
    runs: tuple[LayerRun, ...]
    """All layers from the bottom up, for the shortest layer time."""

    @property
    def volume_mm3(self) -> float:
        return self.wall_volume_mm3 + self.skin_volume_mm3 + self.core_volume_mm3

    @property
    def wall_length_mm(self) -> float:
        return self.walls.total_mm

    @property
    def skin_length_mm(self) -> float:
        return self.skins.total_mm

    @property
    def core_length_at_full_mm(self) -> float:
        return self.core.total_mm


@dataclass(frozen=True)
class Cavity:
    """The space inside a shell of one wall thickness."""

    wall_mm: float
    volume_mm3: float
    spaces: int
    """Separate spaces; each needs its own port."""
    height_mm: float
    """Height along `up`."""
    up: Vector
    slice_mm: float
    area_by_height_mm2: tuple[float, ...]
    peaks: int
    """Local tops of the cavity: each needs a port or vent."""
    largest_panel_mm: tuple[float, float]
    """Short and long side of the largest flat wall panel that holds resin back."""
    thickest_mm: float
    """Diameter of the largest ball inside the cavity."""


@dataclass(frozen=True)
class Fit:
    """How a part goes into a build volume: whole, or in the fewest pieces plane cuts give."""

    volume_mm: Vector
    fits: bool
    """Whole, in some pose (rotation about the vertical included)."""
    up: Vector
    pieces: int
    bond_area_mm2: float
    seam_mm: float
    """Length of the seams to be filled and dressed on the outside."""
    piece_ups: tuple[Vector, ...]
    piece_volumes_mm3: tuple[float, ...]
    joints: int = -1
    """Places where pieces are bonded: a ring cut in half has two, separate bodies none. Default: pieces − 1."""

    def __post_init__(self) -> None:
        if self.joints < 0:
            object.__setattr__(self, "joints", self.pieces - 1)
