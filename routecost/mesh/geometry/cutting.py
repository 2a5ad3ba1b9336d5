"""Plane cuts through bodies: slabs, joints, and heights with small sections."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routecost.core.arrays import Floats
from routecost.mesh.geometry.hull import ring_area, ring_length
from routecost.mesh.geometry.vectors import rotation_to_z

if TYPE_CHECKING:
    from manifold3d import Manifold

_ASIDE = (0.12, 0.3)
"""Shares of a slab by which a cut may move to a smaller section: first a little, then more."""
_WORTH_MOVING = 0.98
"""A cut is moved only if the section falls below this share: equal pieces are easier to handle."""
_STATIONS = 96
"""Sections sampled along an axis: 4 mm apart on a 400 mm part."""
_CRUMB_MM3 = 1e-3
"""Smaller bodies are rounding errors: a cube with sides of 0.1 mm."""
_SLIVER_MM2 = 1e-2
"""Smaller sections are rounding errors: the face of such a cube."""


@dataclass(frozen=True)
class Bonds:
    """Joints between pieces: number, area, and length of their outer outlines."""

    joints: int = 0
    area_mm2: float = 0.0
    seam_mm: float = 0.0

    def __add__(self, other: Bonds) -> Bonds:
        return Bonds(self.joints + other.joints, self.area_mm2 + other.area_mm2, self.seam_mm + other.seam_mm)


class Stations:
    """Sections of a body square to an axis, by height along it."""

    def __init__(self, body: Manifold, axis: Floats) -> None:
        self.solid = body.transform(np.hstack([rotation_to_z(axis), np.zeros((3, 1))]))
        _, _, self.low, _, _, self.high = self.solid.bounding_box()
        self._profile: tuple[Floats, Floats] | None = None

    def placements(self, count: int) -> Iterator[list[float]]:
        """Heights at which to cut into `count` slabs: equal ones, then cuts moved to smaller sections."""
        step = (self.high - self.low) / count
        equal = [self.low + step * k for k in range(1, count)]
        yield equal
        seen = [equal]
        heights, areas = self.profile
        for share in _ASIDE:
            moved = []
            for height in equal:
                near = np.flatnonzero(np.abs(heights - height) <= share * step)
                here = self.solid.slice(height).area()
                small = areas[near].min(initial=here)
                if small >= _WORTH_MOVING * here:
                    moved.append(height)
                    continue
                smallest = near[areas[near] <= small * 1.01]
                moved.append(float(heights[smallest[np.abs(heights[smallest] - height).argmin()]]))
            if moved not in seen:
                seen.append(moved)
                yield moved

    @property
    def profile(self) -> tuple[Floats, Floats]:
        if self._profile is None:
            share = (np.arange(_STATIONS) + 0.5) / _STATIONS
            heights = self.low + share * (self.high - self.low)
            self._profile = heights, np.array([self.solid.slice(height).area() for height in heights])
        return self._profile

    def bonds(self, heights: Sequence[float]) -> Bonds:
        """Joints at these heights; each separate region of a section is a joint."""
        bonds = Bonds()
        # where the cut meets a step of the part, only the area on both sides of it is bonded
        apart = 1e-5 * (self.high - self.low)
        for height in heights:
            joint = self.solid.slice(height - apart) ^ self.solid.slice(height + apart)
            # the outline of a hole has a negative area, and is not finished from outside
            outer = [ring for ring in joint.to_polygons() if ring_area(ring) > _SLIVER_MM2]
            bonds += Bonds(len(outer), joint.area(), sum(ring_length(ring) for ring in outer))
        return bonds


def cut(body: Manifold, axis: Floats, heights: Sequence[float]) -> list[Manifold]:
    """Slabs from the lowest to the highest, empty ones omitted."""
    slabs = []
    for height in heights:
        body, below = body.split_by_plane(tuple(axis), height)
        slabs.append(below)
    return [slab for slab in (*slabs, body) if not slab.is_empty()]


def bodies(solid: Manifold) -> list[Manifold]:
    """Connected bodies, each with the closed voids inside it."""
    import manifold3d

    shells = solid.decompose()
    bodies = [shell for shell in shells if shell.volume() > _CRUMB_MM3]
    for shell in shells:
        if shell.volume() < -_CRUMB_MM3:
            raw = shell.to_mesh64()
            faces = np.ascontiguousarray(np.asarray(raw.tri_verts)[:, ::-1])
            room = manifold3d.Manifold(manifold3d.Mesh64(np.array(raw.vert_properties), faces))
            # the void shares its surface with the body: the rounding error grows with the void
            crumb = max(_CRUMB_MM3, 1e-3 * room.volume())
            around = [k for k, body in enumerate(bodies) if (room - body).volume() < crumb]
            if around:
                holder = min(around, key=lambda k: bodies[k].volume())
                bodies[holder] = bodies[holder] - room
    return bodies


def hull_points(solid: Manifold) -> Floats:
    return np.asarray(solid.hull().to_mesh64().vert_properties)[:, :3]
