"""Which faces meet at which edges: what closedness, winding and bodies are decided from.

Half-edge 3·f + k runs from corner k of face f to its next corner.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from routecost.core.arrays import Bools, Ints
from routecost.mesh.geometry.connected import linked
from routecost.mesh.geometry.stable_order import stable_order


@dataclass(frozen=True, eq=False)
class Edges:
    """The half-edges of a mesh grouped by the two vertices they join."""

    faces: Ints
    order: Ints
    """(3m,) half-edges, those of one edge side by side."""
    start: Ints
    """(e,) where each edge begins in `order`."""
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
        """Vertices that half-edges run from and to."""
        face, corner = np.divmod(half_edges, 3)
        return self.faces[face, corner], self.faces[face, (corner + 1) % 3]

    @property
    def closed(self) -> bool:
        """Every edge has its two faces."""
        return bool((self.count == 2).all())

    @cached_property
    def open(self) -> Ints:
        """Half-edges that no other face meets."""
        return np.asarray(self.order[self.start[self.count == 1]])

    @cached_property
    def crowded(self) -> Ints:
        """Half-edges of edges with three faces or more."""
        return np.asarray(self.order[np.repeat(self.count > 2, self.count)])

    @cached_property
    def mates(self) -> tuple[Ints, Ints]:
        """The two half-edges of each edge that has just two."""
        first = self.start[self.count == 2]
        return self.order[first], self.order[first + 1]

    @cached_property
    def opposed(self) -> Bools:
        """For `mates`: the faces run along the edge in opposite directions, as on a surface wound one way."""
        a, b = self.mates
        return np.asarray(self.ends(a)[0] == self.ends(b)[1])

    @cached_property
    def patches(self) -> tuple[int, Ints]:
        """How many pieces of surface hang together across edges of two faces, and the piece of each face."""
        a, b = self.mates
        return linked(len(self.faces), a // 3, b // 3)


def wound_alike(edges: Edges) -> tuple[Bools, Bools]:
    """Which faces to turn around so that each patch is wound one way, and which patches have no two sides.

    A face can stay as it is or be turned; faces that meet wrongly must differ. So the pieces of the graph over
    (face, as it is) and (face, turned) are the two windings of each patch; where the two are one, the surface
    is one-sided, like a Moebius strip. Face numbers alone decide which of the two windings is taken.
    """
    m = len(edges.faces)
    number, patch = edges.patches
    turned, one_sided = np.zeros(m, bool), np.zeros(number, bool)
    a, b = (half // 3 for half in edges.mates)
    suspect = np.zeros(number, bool)
    suspect[patch[a[~edges.opposed]]] = True
    among = suspect[patch[a]]
    if not among.any():
        return turned, one_sided
    a, b, alike = a[among], b[among], edges.opposed[among]
    from_, to = (
        np.concatenate([a, a + m]),
        np.concatenate([np.where(alike, b, b + m), np.where(alike, b + m, b)]),
    )
    _, piece = linked(2 * m, from_, to)
    inside = suspect[patch]
    one_sided[patch[inside & (piece[:m] == piece[m:])]] = True
    turned[inside] = (piece[:m] > piece[m:])[inside]
    return turned, one_sided


def turn(faces: Ints, which: Bools) -> Ints:
    """The faces with those of `which` wound the other way round."""
    return np.where(which[:, None], faces[:, ::-1], faces)
