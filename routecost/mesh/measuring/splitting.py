"""A part that is too large for a build volume, cut by planes into the fewest pieces that fit.

The cuts are square to the axes of the part: those of its smallest box or those of its largest planes. A
piece that does not fit is cut across one axis into equal slabs, and a slab that does not fit across another
one. Cuts are also tried at nearby heights with smaller sections. The split with the fewest pieces is chosen,
the one with the least area to bond among equals.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, prod
from typing import TYPE_CHECKING

import numpy as np

from routecost.core.arrays import Floats, Vector
from routecost.mesh.geometry.cutting import Bonds, Stations, bodies, cut, hull_points
from routecost.mesh.geometry.directions import candidate_ups
from routecost.mesh.geometry.fitting import SLACK_MM, fitting_lines, smallest_box_frame
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.geometry.vectors import as_vector
from routecost.mesh.measuring.measures import Fit

if TYPE_CHECKING:
    from manifold3d import Manifold

MOST_PIECES = 60
"""Beyond this nobody bonds a part from prints: pieces and seams are then estimated, not cut."""

_FACE_CUTS = 2_000_000
"""Faces × cuts that the search may take: some seconds. Parts of a few thousand faces are searched through."""
_LEAST_CUTS = 24
"""Cuts tried however many faces there are."""
_SQUARE = 0.02
"""Cosine up to which two directions count as square to each other: about 1°."""
_SAME = 0.01
"""Angle in rad up to which two directions count as one: about half a degree."""


def measure_fit(mesh: Mesh, volume_mm: Vector) -> Fit:
    """How the part goes into a build volume of x, y and height in mm: whole or in pieces.

    `bond_area_mm2` is the area of the true sections, counted once a joint; `seam_mm` their outer outlines, of
    which each surrounds one of the `joints`.
    Beyond `MOST_PIECES` pieces the numbers are means over all sections along an axis and no piece is named.

    >>> from routecost.mesh.geometry.mesh import Mesh
    >>> x, y, z = 500.0, 20.0, 20.0
    >>> corners = [[a, b, c] for a in (0, x) for b in (0, y) for c in (0, z)]
    >>> bar = Mesh.of(corners, [[0, 1, 3], [0, 3, 2], [4, 6, 7], [4, 7, 5], [0, 4, 5], [0, 5, 1],
    ...                         [2, 3, 7], [2, 7, 6], [0, 2, 6], [0, 6, 4], [1, 5, 7], [1, 7, 3]])
    >>> fit = measure_fit(bar, (200.0, 200.0, 200.0))  # 250 mm lie across the bed: (250 + 20)/√2 = 191
    >>> fit.pieces, round(fit.bond_area_mm2, 6), round(fit.seam_mm, 6)
    (2, 400.0, 80.0)
    """
    plan = _plan(mesh, volume_mm)
    if isinstance(plan, Fit):
        return plan
    ups = tuple(_bed_side(Mesh.from_manifold(piece.solid), piece.lines) for piece in plan.pieces)
    return Fit(
        volume_mm=volume_mm,
        fits=plan.whole,
        up=ups[0],
        pieces=len(plan.pieces),
        bond_area_mm2=plan.bonds.area_mm2,
        seam_mm=plan.bonds.seam_mm,
        piece_ups=ups,
        piece_volumes_mm3=(mesh.volume_mm3,) if plan.whole else tuple(p.solid.volume() for p in plan.pieces),
        joints=plan.bonds.joints,
    )


def split_mesh(mesh: Mesh, volume_mm: Vector) -> list[Mesh]:
    """The pieces that `measure_fit` counts, each where it was in the part; the part itself if it fits.

    Empty where more than `MOST_PIECES` would be needed.
    """
    plan = _plan(mesh, volume_mm)
    if isinstance(plan, Fit):
        return []
    return [mesh] if plan.whole else [Mesh.from_manifold(piece.solid) for piece in plan.pieces]


@dataclass(frozen=True)
class _Piece:
    solid: Manifold
    lines: Floats
    """(n, 3): directions along which it fits into the volume."""


@dataclass(frozen=True)
class _Split:
    pieces: tuple[_Piece, ...] = ()
    bonds: Bonds = Bonds()
    whole: bool = False

    def __add__(self, other: _Split) -> _Split:
        return _Split(self.pieces + other.pieces, self.bonds + other.bonds)

    def better_than(self, other: _Split | None) -> bool:
        if other is None or len(self.pieces) != len(other.pieces):
            return other is None or len(self.pieces) < len(other.pieces)
        return self.bonds.area_mm2 < other.bonds.area_mm2 * (1 - 1e-6)


def _plan(mesh: Mesh, volume_mm: Vector) -> _Split | Fit:
    solid = mesh.manifold()
    points = hull_points(solid)
    lines = np.array(candidate_ups(mesh)[::2])
    box = smallest_box_frame(points, lines)
    fitting = fitting_lines(points, np.vstack([lines, box]), volume_mm)
    if len(fitting):
        return _Split((_Piece(solid, fitting),), whole=True)

    counts = _grid(points, box, volume_mm)
    if mesh.volume_mm3 > MOST_PIECES * prod(volume_mm) or prod(counts) > 10 * MOST_PIECES:
        return _estimate(mesh, volume_mm, box, counts)
    cuts = max(_LEAST_CUTS, _FACE_CUTS // len(mesh.faces))
    best: _Split | None = None
    for frame in _frames(mesh, lines, box):
        search = _Search(np.vstack([lines, frame]), volume_mm, cuts)
        found = search.split(solid, frame, len(best.pieces) if best else MOST_PIECES)
        if found is not None and found.better_than(best):
            best = found
    if best is None:
        best = _Search(np.vstack([lines, box]), volume_mm, cuts).split_on_grid(solid, box, counts)
    return best if len(best.pieces) <= MOST_PIECES else _estimate(mesh, volume_mm, box, counts)


@dataclass
class _Search:
    """A search for the fewest pieces, which ends with the best so far when its cuts are used up."""

    lines: Floats
    volume_mm: Vector
    cuts_left: int

    def split(self, solid: Manifold, axes: Floats, limit: int) -> _Split | None:
        """The best way with no more than `limit` pieces, each axis cut at most once in a piece; or None."""
        separate = bodies(solid)
        split = _Split()
        for done, body in enumerate(separate, start=1):
            room = limit - len(split.pieces) - (len(separate) - done)
            best = self._split_body(body, axes, room)
            if best is None:
                return None
            split += best
        return split

    def _split_body(self, body: Manifold, axes: Floats, limit: int) -> _Split | None:
        points = hull_points(body)
        fitting = fitting_lines(points, self.lines, self.volume_mm)
        if len(fitting) and limit >= 1:
            return _Split((_Piece(body, fitting),))
        if limit < max(2, self._least(body)):
            return None
        best: _Split | None = None
        extents = np.ptp(points @ axes.T, axis=0)
        for k in np.argsort(-extents.round(6), kind="stable"):
            # a slab thinner than the volume's smallest side gains nothing by being cut again this way
            most = ceil((extents[k] - SLACK_MM) / min(self.volume_mm))
            stations = Stations(body, axes[k])
            for count in range(2, most + 1):
                for heights in stations.placements(count):
                    if count > limit or self.cuts_left <= 0:
                        break
                    self.cuts_left -= count - 1
                    found = self._split_slabs(body, axes[k], heights, np.delete(axes, k, axis=0), limit)
                    if found is None:
                        continue
                    found += _Split((), stations.bonds(heights))
                    if found.better_than(best):
                        best, limit = found, len(found.pieces)
        return best

    def _split_slabs(
        self, body: Manifold, axis: Floats, heights: Sequence[float], axes: Floats, limit: int
    ) -> _Split | None:
        slabs = cut(body, axis, heights)
        least = [self._least(slab) for slab in slabs]
        split = _Split()
        for k, slab in enumerate(slabs):
            found = self.split(slab, axes, limit - len(split.pieces) - sum(least[k + 1 :]))
            if found is None:
                return None
            split += found
        return split

    def _least(self, body: Manifold) -> int:
        """Fewer pieces than this cannot hold it."""
        return max(1, ceil(float(body.volume()) / prod(self.volume_mm) - 1e-9))

    def split_on_grid(self, solid: Manifold, axes: Floats, counts: Sequence[int]) -> _Split:
        """Cut on a grid of boxes that certainly fit."""
        split, slabs = _Split(), [solid]
        low = (hull_points(solid) @ axes.T).min(axis=0)
        size = np.ptp(hull_points(solid) @ axes.T, axis=0)
        for axis, start, length, count in zip(axes, low, size, counts, strict=True):
            heights = [start + length * k / count for k in range(1, count)]
            for slab in slabs:
                split += _Split((), Stations(slab, axis).bonds(heights))
            slabs = [piece for slab in slabs for piece in cut(slab, axis, heights)]
        lines = np.vstack([axes, self.lines])
        for body in (body for slab in slabs for body in bodies(slab)):
            fitting = fitting_lines(hull_points(body), lines, self.volume_mm)
            split += _Split((_Piece(body, fitting),))
        return split


def _frames(mesh: Mesh, lines: Floats, box: Floats) -> list[Floats]:
    """Sets of three axes to cut across: the smallest box, and the largest planes where they lie otherwise."""
    facing = np.abs(mesh.normals @ lines.T) > 1 - _SAME**2 / 2
    area = (mesh.face_areas_mm2 @ facing).round(6)
    first = lines[area.argmax()]
    square = np.abs(lines @ first) < _SQUARE
    if not square.any():
        return [box]
    second = lines[np.where(square, area, -1.0).argmax()]
    second = second - (second @ first) * first
    second /= np.linalg.norm(second)
    planes = np.array([first, second, np.cross(first, second)])
    same = np.abs(box @ planes.T).max(axis=1) > 1 - _SAME**2 / 2
    return [box] if same.all() else [box, planes]


def _grid(points: Floats, axes: Floats, volume_mm: Vector) -> tuple[int, int, int]:
    """Numbers of equal slabs along each axis, the fewest boxes that certainly fit."""
    a, b, c = volume_mm
    extents = np.ptp(points @ axes.T, axis=0) - SLACK_MM
    turns = [(a, b, c), (a, c, b), (b, a, c), (b, c, a), (c, a, b), (c, b, a)]
    counts = [tuple(max(1, ceil(e / v)) for e, v in zip(extents, turn, strict=True)) for turn in turns]
    x, y, z = min(counts, key=prod)
    return x, y, z


def _estimate(mesh: Mesh, volume_mm: Vector, axes: Floats, counts: Sequence[int]) -> Fit:
    """Means over all sections along L: area V/L, outline ∫ sin(normal, axis) dA / L (co-area formula)."""
    lengths = np.ptp(mesh.vertices @ axes.T, axis=0)
    sines = np.sqrt(np.clip(1.0 - (mesh.normals @ axes.T) ** 2, 0.0, 1.0))
    cuts = np.array(counts) - 1
    return Fit(
        volume_mm=volume_mm,
        fits=False,
        up=as_vector(axes[2]),
        pieces=prod(counts),
        bond_area_mm2=float(cuts @ (mesh.volume_mm3 / lengths)),
        seam_mm=float(cuts @ (mesh.face_areas_mm2 @ sines / lengths)),
        piece_ups=(),
        piece_volumes_mm3=(),
    )


def _bed_side(mesh: Mesh, lines: Floats) -> Vector:
    """Of the directions along which a body fits, up or down, the one with the most surface flat on the bed.

    Among equals the lowest.
    """
    level = 1e-4 * float(np.linalg.norm(mesh.extents_mm))

    def worth(up: Floats) -> tuple[float, float]:
        heights = mesh.vertices @ up
        down = (mesh.normals @ up < -0.9999) & (heights[mesh.faces].max(axis=1) < heights.min() + level)
        area = float(mesh.face_areas_mm2[down].sum()) / mesh.area_mm2
        return -round(area, 4), round(float(np.ptp(heights)), 3)

    return as_vector(min((sense * line for line in lines for sense in (1.0, -1.0)), key=worth))
