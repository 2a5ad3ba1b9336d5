"""Outlines of a part along a direction, for molds: the parting line, and the rim of an open mold."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routecost.core.arrays import Vector
from routecost.mesh.geometry.hull import ring_area, ring_length
from routecost.mesh.geometry.mesh import Mesh

if TYPE_CHECKING:
    from manifold3d import CrossSection

_BELOW_TOP = 0.01
"""The free face is cut at this share of the height under the top: higher up rounding of the mesh matters."""
_SLIVER = 1e-5
"""Loops below this share of the shadow are rounding between overlapping facets, no holes."""


@dataclass(frozen=True)
class Silhouette:
    """Outlines along one direction; holes right through the part count, as flash forms in them too."""

    up: Vector
    area_mm2: float
    outline_mm: float
    """Around the shadow: where the halves of a two-part mold meet."""
    face_outline_mm: float
    """Around the topmost section: the rim of an open mold."""
    pocket_mm2: float
    """Mouths of pockets in the topmost face that do not go right through: silicone does not fill them from
    below, so an open mold does not reproduce them."""


def measure_silhouette(mesh: Mesh, up: Vector) -> Silhouette:
    """Outlines of a sound mesh seen along `up` (any length); lengths mm, areas mm².

    >>> corners = [[x, y, z] for x in (0, 2) for y in (0, 3) for z in (0, 4)]
    >>> box = Mesh.of(corners, [[0, 1, 3], [0, 3, 2], [4, 6, 7], [4, 7, 5], [0, 4, 5], [0, 5, 1],
    ...                         [2, 3, 7], [2, 7, 6], [0, 2, 6], [0, 6, 4], [1, 5, 7], [1, 7, 3]])
    >>> seen = measure_silhouette(box, (0, 0, 1))
    >>> round(seen.area_mm2, 9), round(seen.outline_mm, 9), round(seen.face_outline_mm, 9), seen.pocket_mm2
    (6.0, 10.0, 10.0, 0.0)
    """
    from manifold3d import CrossSection, FillRule

    solid = mesh.oriented(up).manifold()
    _, _, bottom, _, _, top = solid.bounding_box()
    # overlapping facets are laid over each other first
    shadow = CrossSection(solid.project().to_polygons(), FillRule.Positive)
    face = solid.slice(top - _BELOW_TOP * (top - bottom))
    sliver = _SLIVER * shadow.area()
    outer = CrossSection([loop for loop in face.to_polygons() if ring_area(loop) > 0.0], FillRule.Positive)
    pockets = (outer ^ shadow) - face
    x, y, z = (float(c) for c in np.asarray(up) / np.linalg.norm(up))
    return Silhouette(
        up=(x, y, z),
        area_mm2=shadow.area(),
        outline_mm=_outline(shadow, sliver),
        face_outline_mm=_outline(face, sliver),
        pocket_mm2=sum((area for loop in pockets.decompose() if (area := loop.area()) > sliver), 0.0),
    )


def _outline(section: CrossSection, sliver_mm2: float) -> float:
    return sum(ring_length(loop) for loop in section.to_polygons() if abs(ring_area(loop)) > sliver_mm2)
