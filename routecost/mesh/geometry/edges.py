"""Which faces meet at which edges: the basis for checks of closedness, winding and bodies.

Half-edge 3·f + k runs from corner k of face f to its next corner.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from routecost.core.arrays import Bools, Ints
from routecost.mesh.geometry.connected import connected_groups
from routecost.mesh.geometry.stable_order import stable_order


@dataclass(frozen=True, eq=False)
class Edges:
    """The half-edges of a mesh grouped by the two vertices they join."""

    faces: Ints
    order: Ints
    """(3m,) half-edges, those of one edge next to each other."""
    start: Ints
    """(e,) index in `order` of the first half-edge of each edge."""
    count: Ints
    """(e,) faces at each edge: 2 everywhere on a closed surface."""

    @classmethod
    def of(cls, faces: Ints) -> Edges:
        """
        >>> Edges.of(np.array([[0, 1, 2], [0, 2, 3]])).count.tolist()
        [1, 2, 1, 1, 1]
        """
        tail, head = faces.reshape(-1), np.roll(faces, -1, axis=1).reshape(-1)
        vertices = int(faces.max()) + 1 if len(faces) else 1
        key = np.minimum(tail, head) * vertices + np.maximum(tail, head)
        order = stable_order(key)
        key = key[order]
        start = np.flatnonzero(np.concatenate([[True], key[1:] != key[:-1]])) if len(key) else order
        count = np.diff(np.append(start, len(order)))
        return cls(faces, order, start, count)

    def ends(self, half_edges: Ints) -> tuple[Ints, Ints]:
        """Start and end vertices of half-edges."""
        face, corner = np.divmod(half_edges, 3)
        return self.faces[face, corner], self.faces[face, (corner + 1) % 3]

    @property
    def closed(self) -> bool:
        """Every edge has its two faces."""
        return bool((self.count == 2).all())

    @cached_property
    def boundary(self) -> Ints:
        """Half-edges of edges with one face."""
        return np.asarray(self.order[self.start[self.count == 1]])

    @cached_property
    def non_manifold(self) -> Ints:
        """Half-edges of edges with three faces or more."""
        return np.asarray(self.order[np.repeat(self.count > 2, self.count)])

    @cached_property
    def twins(self) -> tuple[Ints, Ints]:
        """The two half-edges of each edge that has just two."""
        first = self.start[self.count == 2]
        return self.order[first], self.order[first + 1]

    @cached_property
    def consistent(self) -> Bools:
        """For `twins`: the faces run along the edge in opposite directions, as on a consistently wound surface."""
        a, b = self.twins
        return np.asarray(self.ends(a)[0] == self.ends(b)[1])

    @cached_property
    def patches(self) -> tuple[int, Ints]:
        """Number of patches connected across edges of two faces, and the patch of each face."""
        a, b = self.twins
        return connected_groups(len(self.faces), a // 3, b // 3)


def consistent_winding(edges: Edges) -> tuple[Bools, Bools]:
    """Faces to flip so that each patch is wound consistently, and patches that are one-sided.

    Each face is a node twice, unflipped and flipped; faces that meet wrongly must differ. The connected components
    of this graph are the two windings of each patch; where they are one component, the surface is one-sided, like
    a Moebius strip. Which of the two windings is chosen depends on face numbers alone.
    """
    m = len(edges.faces)
    number, patch = edges.patches
    flipped, one_sided = np.zeros(m, bool), np.zeros(number, bool)
    a, b = (half // 3 for half in edges.twins)
    suspect = np.zeros(number, bool)
    suspect[patch[a[~edges.consistent]]] = True
    among = suspect[patch[a]]
    if not among.any():
        return flipped, one_sided
    a, b, alike = a[among], b[among], edges.consistent[among]
    from_, to = (
        np.concatenate([a, a + m]),
        np.concatenate([np.where(alike, b, b + m), np.where(alike, b + m, b)]),
    )
    _, piece = connected_groups(2 * m, from_, to)
    inside = suspect[patch]
    one_sided[patch[inside & (piece[:m] == piece[m:])]] = True
    flipped[inside] = (piece[:m] > piece[m:])[inside]
    return flipped, one_sided


def flip(faces: Ints, which: Bools) -> Ints:
    """The faces, with the winding of those in `which` reversed."""
    return np.where(which[:, None], faces[:, ::-1], faces)
