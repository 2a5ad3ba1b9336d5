"""Measures of each pose of a part: supports, trapped space in a mold, openings and vents at the top.

Areas, heights and prisms down to the bed are exact sums over the faces. Only what depends on
parts of the surface above others is sampled, by ray columns, as a *share* of an exact sum (a ratio estimate:
Cochran, Sampling Techniques, 3rd ed. 1977, ch. 6). Support is exact where nothing is beneath an overhang.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from routecost.core.arrays import Bools, Floats, Vector
from routecost.mesh.geometry.directions import candidate_ups, canonical
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.geometry.rays.height_map import HeightMap
from routecost.mesh.geometry.rays.ray_columns import Columns
from routecost.mesh.measuring.measures import Pose
from routecost.mesh.measuring.peaks import Neighbours, count_peaks

__all__ = ["candidate_ups", "measure_pose", "measure_poses"]

OVERHANG_DEG = 45.0
"""Below this angle a layer overhangs by more than its thickness: common practice, no source."""
_ROUNDING_DEG = 0.01
"""Chamfers of exactly 45° are common and need no support; their facets are rounded in the file."""
_OPENING_SHARE = 0.005
"""Share of the shadow that makes a top face an opening: a smaller one is the last facet of a dome."""
_TWIN = 0.005
"""Poses whose every measure agrees within this share are one: five times the sampling error."""


def measure_pose(mesh: Mesh, up: Vector) -> Pose:
    """Measures of `mesh` with `up` (any length) pointing upward. Lengths mm, areas mm², volumes mm³."""
    return _measure(mesh, _columns_along(mesh, up), [up], Neighbours.of(mesh))[0]


def measure_poses(mesh: Mesh) -> tuple[Pose, ...]:
    """Measures in all candidate poses; of poses that agree in every measure only the first."""
    distinct: list[Pose] = []
    for line in poses_by_line(mesh):
        for pose in line.poses:
            if not any(are_twins(pose, other) for other in distinct):
                distinct.append(pose)
    return tuple(distinct)


@dataclass(frozen=True, eq=False)
class Line:
    """Poses and height maps from one set of columns, along a line and against it."""

    poses: tuple[Pose, Pose]
    height_maps: tuple[HeightMap, HeightMap]
    """Along the columns and against them."""


@lru_cache(maxsize=1)  # used by poses and by reach
def poses_by_line(mesh: Mesh) -> tuple[Line, ...]:
    """Poses along each candidate line, first up, then down."""
    ups = candidate_ups(mesh)
    neighbours = Neighbours.of(mesh)

    def look(line: tuple[Vector, Vector]) -> Line:
        columns = _columns_along(mesh, line[0])
        first, second = _measure(mesh, columns, line, neighbours)
        return Line((first, second), HeightMap.both(columns))

    return tuple(look(line) for line in zip(ups[::2], ups[1::2], strict=True))


def are_twins(one: Pose, other: Pose) -> bool:
    """Whether two poses of one part agree in every measure, as mirrored and turned ones do."""
    length = max(one.height_mm, other.height_mm, *one.footprint_mm, *other.footprint_mm)
    area = one.footprint_mm[0] * one.footprint_mm[1]
    scales = (
        (length, (one.height_mm, *one.footprint_mm), (other.height_mm, *other.footprint_mm)),
        (area, _areas(one), _areas(other)),
        (area * one.height_mm, _volumes(one), _volumes(other)),
    )
    same = (one.peaks, one.flat_opening) == (other.peaks, other.flat_opening)
    return same and all(
        abs(a - b) <= _TWIN * max(abs(a), abs(b)) + _TWIN / 50 * scale
        for scale, ours, theirs in scales
        for a, b in zip(ours, theirs, strict=True)
    )


def _areas(pose: Pose) -> tuple[float, ...]:
    return pose.overhang_area_mm2, pose.contact_area_mm2, pose.bed_area_mm2, pose.flat_opening_area_mm2


def _volumes(pose: Pose) -> tuple[float, ...]:
    return (
        pose.support_volume_mm3,
        pose.support_volume_to_bed_mm3,
        pose.trapped_two_part_mm3,
        pose.trapped_open_mm3,
    )


def _columns_along(mesh: Mesh, up: Vector) -> Columns:
    """Columns along the line of `up`, the same for both senses."""
    return Columns.of(mesh, canonical(up)[0])


def _measure(mesh: Mesh, columns: Columns, ups: Sequence[Vector], neighbours: Neighbours) -> list[Pose]:
    """Poses along the line of the columns, in one sense or both."""
    seen = _FaceView.along(mesh, columns)
    poses = []
    for up in ups:
        oriented = (columns.flipped(), seen.flipped()) if canonical(up)[1] else (columns, seen)
        pose = _pose(mesh, *oriented, count_peaks(mesh, oriented[0], neighbours))
        x, y, z = (float(c) for c in np.asarray(up) / np.linalg.norm(up))
        poses.append(replace(pose, up=(x, y, z)))
    return poses


@dataclass(frozen=True, eq=False)
class _FaceView:
    """The faces of a part seen along its `up`."""

    bed: float
    ceiling: float
    centre: Floats
    """(m,) height of the centroid."""
    facing: Floats
    """(m,) cosine between normal and `up`."""
    projected: Floats
    """(m,) area seen from above; negative where the face looks down."""
    lowest: Bools
    """(m,): all of the face lies on the lowest level."""
    highest: Bools

    @classmethod
    def along(cls, mesh: Mesh, columns: Columns) -> _FaceView:
        z = mesh.vertices @ columns.up
        bed, ceiling = float(z.min()), float(z.max())
        levels = z <= bed + columns.level_mm, z >= ceiling - columns.level_mm
        lowest, highest = (_all_on(mesh, there) for there in levels)
        facing, projected = mesh.normals @ columns.up, 0.5 * (mesh.crosses @ columns.up)
        return cls(bed, ceiling, mesh.centroids @ columns.up, facing, projected, lowest, highest)

    def flipped(self) -> _FaceView:
        """The same seen along −up."""
        return _FaceView(
            -self.ceiling, -self.bed, -self.centre, -self.facing, -self.projected, self.highest, self.lowest
        )


def _all_on(mesh: Mesh, there: Bools) -> Bools:
    """Faces (m,) with all corners among those vertices (n,), which are few as a rule."""
    whole = there.take(mesh.faces[:, 0])
    some = np.flatnonzero(whole)
    whole[some] = there.take(mesh.faces[some, 1]) & there.take(mesh.faces[some, 2])
    return whole


def _pose(mesh: Mesh, columns: Columns, seen: _FaceView, peaks: int) -> Pose:
    on_bed, on_top = seen.lowest & (seen.facing < 0), seen.highest & (seen.facing > 0)
    overhanging = (seen.facing < -np.cos(np.deg2rad(OVERHANG_DEG - _ROUNDING_DEG))) & ~on_bed
    overhang, contact, support, to_bed = _supports(columns, seen, overhanging, mesh.face_areas_mm2)
    two_part, open_mold = _trapped(columns, seen)
    opening = float(mesh.face_areas_mm2[on_top].sum())
    flat = opening >= _OPENING_SHARE * columns.shadow_mm2
    x, y, up = (float(c) for c in columns.up)
    return Pose(
        up=(x, y, up),
        height_mm=seen.ceiling - seen.bed,
        footprint_mm=columns.footprint_mm,
        overhang_area_mm2=overhang,
        contact_area_mm2=contact,
        support_volume_mm3=support,
        support_volume_to_bed_mm3=to_bed,
        bed_area_mm2=float(mesh.face_areas_mm2[on_bed].sum()),
        trapped_two_part_mm3=two_part,
        trapped_open_mm3=open_mold,
        flat_opening=flat,
        flat_opening_area_mm2=opening if flat else 0.0,
        peaks=peaks,
    )


def _supports(
    columns: Columns, seen: _FaceView, overhanging: Bools, area: Floats
) -> tuple[float, float, float, float]:
    """Overhang area, contact area, support volume and its share down to the bed.

    `area` and what is `overhanging` are by face.
    """
    faces = np.flatnonzero(overhanging)
    projected = -seen.projected[faces]
    overhang, shadow = float(area[faces].sum()), float(projected.sum())
    prism = float((projected * (seen.centre[faces] - seen.bed)).sum())
    met = overhanging.take(columns.face) & ~columns.rising
    hits = np.count_nonzero(met)
    met_prism = float(columns.height_mm[met].sum()) - seen.bed * hits
    if met_prism <= 0:  # smaller than the lattice: assumed to have nothing beneath
        return overhang, overhang, prism, prism
    under = met.take(columns.bottom)
    air = columns.air_below_mm(seen.bed)[under]
    on_part = columns.above_part[under]
    # hits covered by another body bound no material
    overhang *= len(air) / hits
    base = shadow * np.count_nonzero(on_part) / hits
    volume = prism * float(air.sum()) / met_prism
    return overhang, overhang + base, volume, prism * float(air[~on_part].sum()) / met_prism


def _trapped(columns: Columns, seen: _FaceView) -> tuple[float, float]:
    """Air above the part: with more of the part above it, and all of it up to the topmost level."""
    prism = float((np.maximum(seen.projected, 0.0) * (seen.ceiling - seen.centre)).sum())
    met_prism = float((seen.ceiling - columns.height_mm[columns.rising]).sum())
    if met_prism <= 0:
        return 0.0, prism
    air = columns.air_above_mm(seen.ceiling)
    between, everywhere = float(air[columns.below_part].sum()), float(air.sum())
    return prism * between / met_prism, prism * everywhere / met_prism
