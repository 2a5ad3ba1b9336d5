"""Height map of a part: its topmost heights along a direction over a lattice."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from routecost.core.arrays import Floats, Ints
from routecost.mesh.geometry.rays.ray_columns import Columns

NOTHING = -1e30
"""Height where there is no part; finite, so that sums stay finite."""


@dataclass(frozen=True, eq=False)
class HeightMap:
    """Topmost heights along `up`, from the part's own origin, at the nodes of a square lattice."""

    up: Floats
    footprint_mm: tuple[float, float]
    pitch_mm: float
    origin_mm: Floats
    axes: Floats
    """(2, 3): unit steps of the lattice."""
    heights: Floats
    """(k, l) in mm, `NOTHING` outside the part."""

    @classmethod
    def of(cls, columns: Columns) -> HeightMap:
        heights = np.full(columns.shape[0] * columns.shape[1], NOTHING)
        last = np.flatnonzero(np.append(np.diff(columns.cell) > 0, True))
        heights[columns.cell[last]] = columns.height_mm[last]
        return cls(
            up=columns.up,
            footprint_mm=columns.footprint_mm,
            pitch_mm=columns.pitch_mm,
            origin_mm=columns.origin_mm,
            axes=columns.axes,
            heights=heights.reshape(columns.shape),
        )

    @classmethod
    def both(cls, columns: Columns) -> tuple[HeightMap, HeightMap]:
        """Maps from above and from below, along `up` of the columns and against it."""
        return cls.of(columns), cls.of(columns.flipped())

    def thinned(self, step: int) -> HeightMap:
        """The map at every `step`-th node of the lattice each way.

        >>> from routecost.mesh.geometry.mesh import Mesh
        >>> tetrahedron = Mesh.of([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]],
        ...                       [[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]])
        >>> seen = HeightMap.of(Columns.of(tetrahedron, (0, 0, 1)))
        >>> bool(seen.thinned(2).heights[3, 5] == seen.heights[6, 10])
        True
        """
        return HeightMap(
            self.up,
            self.footprint_mm,
            step * self.pitch_mm,
            self.origin_mm,
            self.axes,
            self.heights[::step, ::step],
        )

    def nodes(self, points: Floats) -> Ints:
        """The nearest lattice node of each point, (n, 2); it may lie outside the lattice."""
        return np.rint((points - self.origin_mm) @ self.axes.T / self.pitch_mm).astype(np.int64)
