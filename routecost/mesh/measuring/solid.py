"""Basic measures of a sound mesh: bodies, voids, volume, area, and bounding boxes."""

from __future__ import annotations

import numpy as np

from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.geometry.smallest_box import smallest_box
from routecost.mesh.measuring.measures import Solid
from routecost.mesh.reading.bodies import Surfaces, winding


def measure_solid(mesh: Mesh) -> Solid:
    """Bodies, closed voids, volume (without voids), area and boxes of a sound mesh.

    >>> tetrahedron = Mesh.of([[0, 0, 0], [3, 0, 0], [0, 3, 0], [0, 0, 3]],
    ...                       [[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]])
    >>> solid = measure_solid(tetrahedron)
    >>> solid.bodies, solid.closed_voids, round(solid.volume_mm3, 9), solid.extents_mm
    (1, 0, 4.5, (3.0, 3.0, 3.0))
    """
    number, patch = mesh.edges.patches
    surfaces = Surfaces.of(mesh.vertices, mesh.faces, patch, number)
    voids = np.flatnonzero(surfaces.volume < 0)
    x, y, z = (float(side) for side in mesh.extents_mm)
    return Solid(
        faces=len(mesh.faces),
        bodies=number - len(voids),
        volume_mm3=mesh.volume_mm3,
        area_mm2=mesh.area_mm2,
        extents_mm=(x, y, z),
        smallest_box_mm=smallest_box(mesh.hull_corners),
        closed_voids=len(voids),
        closed_void_volume_mm3=_empty_volume(surfaces, voids.tolist()),
    )


def _empty_volume(surfaces: Surfaces, voids: list[int]) -> float:
    """Volume of the voids less the loose bodies that lie in them."""
    volume = -float(surfaces.volume[voids].sum())
    if not voids:
        return 0.0
    for body in np.flatnonzero(surfaces.volume > 0).tolist():
        corner = surfaces.vertices[surfaces.outward(body)[0, 0]]
        for void in voids:
            within = (surfaces.low[void] < corner).all() and (corner < surfaces.high[void]).all()
            if within and winding(surfaces.vertices[surfaces.outward(void)], corner) > 0.5:
                volume -= float(surfaces.volume[body])
                break
    return volume
