"""A sound triangle mesh in millimetres: closed, normals outward, finite. `reading` makes it from a file."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from routecost.core.arrays import Floats, Ints
from routecost.mesh.geometry.edges import Edges
from routecost.mesh.geometry.vectors import face_crosses, rotation_to_z

if TYPE_CHECKING:
    import manifold3d
    from scipy.spatial import ConvexHull


@dataclass(frozen=True, eq=False)
class Mesh:
    """Vertices (n, 3) in mm and faces (m, 3), wound so that normals point out of the material."""

    vertices: Floats
    faces: Ints

    @classmethod
    def of(cls, vertices: Any, faces: Any) -> Mesh:
        """A mesh from anything array-like.

        >>> Mesh.of([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]],
        ...         [[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]]).volume_mm3
        0.1666...
        """
        v = np.ascontiguousarray(vertices, dtype=np.float64)
        f = np.ascontiguousarray(faces, dtype=np.int64)
        v.setflags(write=False)
        f.setflags(write=False)
        return cls(v, f)

    @cached_property
    def triangles(self) -> Floats:
        """Corner points, (m, 3, 3)."""
        return self.vertices[self.faces]

    @cached_property
    def crosses(self) -> Floats:
        """Outward normals whose length is twice the area of the face, (m, 3)."""
        return np.ascontiguousarray(face_crosses(self.vertices, self.faces).T)

    @cached_property
    def face_areas_mm2(self) -> Floats:
        return np.asarray(0.5 * np.sqrt(np.einsum("ij,ij->i", self.crosses, self.crosses)))

    @cached_property
    def normals(self) -> Floats:
        """Outward unit normals, (m, 3); zero for a face without area."""
        length = 2.0 * self.face_areas_mm2
        return self.crosses * np.divide(1.0, length, out=np.zeros_like(length), where=length > 0)[:, None]

    @cached_property
    def centroids(self) -> Floats:
        """Centroid of each face, (m, 3)."""
        a, b, c = (self.vertices.take(corner, axis=0) for corner in self.faces.T)
        return np.asarray((a + b + c) / 3.0)

    @cached_property
    def edges_mm(self) -> Floats:
        """Vector along each edge of a closed mesh, once, (1.5 m, 3)."""
        tail, head = self.faces.reshape(-1), np.roll(self.faces, -1, axis=1).reshape(-1)
        once = np.flatnonzero(tail < head)
        return self.vertices.take(head[once], axis=0) - self.vertices.take(tail[once], axis=0)

    @cached_property
    def edges(self) -> Edges:
        """Which faces meet at which edges."""
        return Edges.of(self.faces)

    @cached_property
    def hull(self) -> ConvexHull:
        """The convex hull; scipy's QhullError where the vertices span no volume."""
        from scipy.spatial import ConvexHull

        return ConvexHull(self.vertices)

    @cached_property
    def hull_corners(self) -> Floats:
        """Corners of the convex hull, (k, 3); all vertices of a mesh that is flat to rounding."""
        from scipy.spatial import QhullError

        try:
            return np.asarray(self.vertices[self.hull.vertices])
        except QhullError:
            return self.vertices

    @property
    def area_mm2(self) -> float:
        return float(self.face_areas_mm2.sum())

    @property
    def volume_mm3(self) -> float:
        """Signed volume by the divergence theorem, about the centre so that distant parts lose no digits."""
        start = (self.vertices - self.vertices.mean(axis=0)).take(self.faces[:, 0], axis=0)
        return float(np.einsum("ij,ij->i", start, self.crosses).sum() / 6.0)

    @property
    def bounds_mm(self) -> Floats:
        """(2, 3): lowest and highest corner."""
        return np.stack([self.vertices.min(axis=0), self.vertices.max(axis=0)])

    @property
    def extents_mm(self) -> Floats:
        low, high = self.bounds_mm
        return np.asarray(high - low)

    def turned(self, rotation: Floats) -> Mesh:
        """The mesh after a (3, 3) rotation."""
        return Mesh.of(self.vertices @ rotation.T, self.faces)

    def oriented(self, up: Any) -> Mesh:
        """The mesh rotated so that `up` points along +z."""
        return self.turned(rotation_to_z(up))

    @cached_property
    def content_hash(self) -> str:
        """Hash of the geometry: the same arrays give the same 32 hex digits."""
        digest = hashlib.sha256(self.vertices.tobytes())
        digest.update(self.faces.tobytes())
        return digest.hexdigest()[:32]

    def manifold(self) -> manifold3d.Manifold:
        """The same body for booleans, slices and offsets."""
        import manifold3d

        # double precision: single precision loses thin walls of parts far from the origin;
        # copies, because the kernel accepts no read-only arrays
        solid = manifold3d.Mesh64(np.array(self.vertices), self.faces.astype(np.uint64))
        return manifold3d.Manifold(solid)

    @classmethod
    def from_manifold(cls, solid: manifold3d.Manifold) -> Mesh:
        raw = solid.to_mesh64()
        # copies: a view would keep the kernel's memory alive
        return cls.of(np.array(raw.vert_properties)[:, :3], np.array(raw.tri_verts))
