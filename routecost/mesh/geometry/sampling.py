"""Points and tiles spread evenly over a surface, the same ones every time, whatever the tessellation."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from routecost.core.arrays import Floats, Ints
from routecost.mesh.geometry.mesh import Mesh

# Steps of the two-dimensional additive recurrence on the plastic number (real root of x³ = x + 1):
# the golden-ratio sequence carried over to the plane, so any part of it is spread evenly.
PLASTIC = 1.324717957244746
STEP = np.array([1 / PLASTIC, 1 / PLASTIC**2])


def sample_surface(mesh: Mesh, count: int) -> tuple[Floats, Ints]:
    """`count` points over the whole surface, each representing the same area: points (count, 3), faces (count,).

    >>> square = Mesh.of([[0, 0, 0], [4, 0, 0], [4, 1, 0], [0, 1, 0]], [[0, 1, 2], [0, 2, 3]])
    >>> points, faces = sample_surface(square, 1000)
    >>> np.round(points.mean(axis=0), 1)
    array([2. , 0.5, 0. ])
    """
    total = np.cumsum(mesh.face_areas_mm2)
    mark = (np.arange(count) + 0.5) / count * total[-1]
    faces = np.minimum(np.searchsorted(total, mark, side="right"), len(total) - 1).astype(np.int64)
    uv = (0.5 + np.arange(1, count + 1)[:, None] * STEP) % 1.0
    over = uv.sum(axis=1) > 1.0
    uv[over] = 1.0 - uv[over]  # folding the square onto the triangle keeps the density even
    a, b, c = (mesh.vertices[mesh.faces[faces, k]] for k in range(3))
    return a + uv[:, :1] * (b - a) + uv[:, 1:] * (c - a), faces


@dataclass(frozen=True, eq=False)
class Tiles:
    """Boxes that together cover triangles: one for a small triangle, rectangles in the plane of a large one."""

    owner: Ints
    """The triangle each belongs to, (k,)."""
    points: Floats
    """A point of the triangle at or near the middle of the tile, (k, 3)."""
    middle: Floats
    half_span: Floats
    """(k, 3): the tile's bounding box is `middle` ± `half_span`."""

    @classmethod
    def of(cls, triangles: Floats, side_mm: float, most: int) -> Tiles:
        """Tiles with sides up to `side_mm` over (m, 3, 3) triangles, at least one each.

        The sides grow until there are no more than `most` plus one a face.

        >>> tiles = Tiles.of(np.array([[[0.0, 0, 0], [4, 0, 0], [0, 1, 0]]]), 1.0, 100)
        >>> len(tiles.owner)
        5
        """
        a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
        low, high = np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)
        size = high - low
        large = np.einsum("ij,ij->i", size, size) > side_mm**2
        small = np.flatnonzero(~large)
        whole = cls(small, ((a + b + c) / 3)[small], ((low + high) / 2)[small], size[small] / 2)
        if len(small) == len(triangles):
            return whole
        parts = cls._rectangles(np.flatnonzero(large), triangles[large], side_mm, most)
        pairs = ((getattr(whole, f.name), getattr(parts, f.name)) for f in fields(cls))
        return cls(*(np.concatenate(pair) for pair in pairs))

    @classmethod
    def _rectangles(cls, faces: Ints, triangles: Floats, side_mm: float, most: int) -> Tiles:
        """Rectangles in the planes of the triangles; they may extend beyond them."""
        each = np.arange(len(triangles))
        edges = np.roll(triangles, -1, axis=1) - triangles
        lengths = np.linalg.norm(edges, axis=2)
        k = lengths.argmax(axis=1)
        base, long = triangles[each, k], lengths[each, k]
        unit = edges[each, k] / np.maximum(long, 1e-300)[:, None]
        tip = triangles[each, (k + 2) % 3] - base
        foot = np.einsum("ij,ij->i", tip, unit)
        rise = tip - foot[:, None] * unit
        wide = np.linalg.norm(rise, axis=1)

        across = _counts(wide, side_mm)
        while (_counts(long, side_mm) * across).sum() > most + len(triangles):
            side_mm *= 1.25
            across = _counts(wide, side_mm)
        along = _counts(long, side_mm)
        number = along * across
        owner = np.repeat(each, number)
        row, column = np.divmod(np.arange(len(owner)) - (np.cumsum(number) - number)[owner], along[owner])
        step, lift = (long / along)[owner], (1.0 / across)[owner]
        left, peak = column * step, foot[owner]

        def roof(s: Floats) -> Floats:
            """Height of the triangle over its longest edge, as a share of its highest."""
            rising = s / np.maximum(peak, 1e-300)
            falling = (long[owner] - s) / np.maximum(long[owner] - peak, 1e-300)
            return np.asarray(np.clip(np.minimum(rising, falling), 0.0, 1.0))

        met = row * lift <= roof(np.clip(peak, left, left + step))
        at, height = left + step / 2, (row + 0.5) * lift
        origin, u, v = base[owner], unit[owner], rise[owner]
        points = origin + at[:, None] * u + np.minimum(height, roof(at))[:, None] * v
        middle = origin + at[:, None] * u + height[:, None] * v
        half = np.abs(u) * (step / 2)[:, None] + np.abs(v) * (lift / 2)[:, None]
        return cls(faces[owner[met]], points[met], middle[met], half[met])


def _counts(length: Floats, side: float) -> Ints:
    return np.maximum(1, np.ceil(length / side - 1e-9)).astype(np.int64)
