"""Closed surfaces of one mesh: which bound material, which bound a void in it, and which overlap.

A point belongs to the material where the surfaces around it, counted +1 when wound as the outermost one and
−1 when wound against it, have a positive sum (winding number). So a surface wound against the one around it bounds a
void; one wound the same way is inside material already and bounds nothing.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from routecost.core.arrays import Bools, Floats, Ints
from routecost.mesh.geometry.connected import connected_groups
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.geometry.vectors import signed_volumes
from routecost.mesh.reading.welding import compact

if TYPE_CHECKING:
    import manifold3d

NEAR = 1e-6
"""Surfaces this share of the part's diagonal apart count as touching: 0.1 µm on 100 mm, the resolution of single
precision, in which most mesh files are written."""


@dataclass(frozen=True, eq=False)
class Surfaces:
    """Closed surfaces, each wound one way: surface k is the faces `order[start[k] : start[k + 1]]`."""

    vertices: Floats
    faces: Ints
    order: Ints
    start: Ints
    volume: Floats
    """(n,) signed: negative where the normals point inward."""
    low: Floats
    high: Floats
    """(n, 3) corners of the box around each."""

    @classmethod
    def of(cls, vertices: Floats, faces: Ints, surface: Ints, number: int) -> Surfaces:
        """`surface` (m,) says which of `number` surfaces each face belongs to."""
        order = np.argsort(surface, kind="stable")
        start = np.searchsorted(surface[order], np.arange(number + 1))
        volume = np.add.reduceat(signed_volumes(vertices, faces)[order], start[:-1])
        # coordinate by coordinate: numpy takes several times as long over rows of three
        corners = np.ascontiguousarray(vertices.T).take(faces[order].ravel(), axis=1)
        low, high = (each.reduceat(corners, 3 * start[:-1], axis=1).T for each in (np.minimum, np.maximum))
        return cls(vertices, faces, order, start, volume, low, high)

    def __len__(self) -> int:
        return len(self.volume)

    def outward(self, k: int) -> Ints:
        """The faces of surface k with outward normals."""
        faces = self.faces[self.order[self.start[k] : self.start[k + 1]]]
        return faces if self.volume[k] > 0 else faces[:, ::-1]

    def solid(self, k: int) -> manifold3d.Manifold:
        return Mesh(*compact(self.vertices, self.outward(k))).manifold()

    def near_pairs(self, distance: float) -> list[tuple[int, int]]:
        """Pairs whose boxes come within `distance`, the one of more volume first."""
        by_size = np.argsort(-np.abs(self.volume), kind="stable")
        low, high = self.low[by_size], self.high[by_size]
        pairs = []
        for k in range(len(by_size) - 1):
            near = ((low[k + 1 :] <= high[k] + distance) & (high[k + 1 :] >= low[k] - distance)).all(axis=1)
            pairs += [(int(by_size[k]), int(by_size[k + 1 + j])) for j in np.flatnonzero(near)]
        return pairs


@dataclass(frozen=True, eq=False)
class Relations:
    inside: list[list[int]]
    """For each surface those that enclose it."""
    crossing: list[tuple[int, int]]
    """Pairs that pass through each other."""
    touching: list[tuple[int, int]]
    """Pairs that meet without sharing any volume."""


def relations(surfaces: Surfaces) -> Relations:
    """Which surfaces enclose, cross or touch each other."""
    distance = NEAR * float(np.linalg.norm(surfaces.high.max(axis=0) - surfaces.low.min(axis=0)))
    found = Relations([[] for _ in range(len(surfaces))], [], [])
    solids: dict[int, manifold3d.Manifold] = {}

    def solid(k: int) -> manifold3d.Manifold:
        if k not in solids:
            solids[k] = surfaces.solid(k)
        return solids[k]

    for a, b in surfaces.near_pairs(distance):
        corners = surfaces.vertices[surfaces.outward(a)]
        low, high = _boxes(corners)
        close = (low <= surfaces.high[b] + distance) & (high >= surfaces.low[b] - distance)
        if not close.all(axis=1).any():  # no face of a comes near b: b is wholly inside or outside it
            if abs(winding(corners, surfaces.vertices[surfaces.outward(b)[0, 0]])) > 0.5:
                found.inside[b].append(a)
            continue
        shared = (solid(a) ^ solid(b)).volume() / abs(float(surfaces.volume[b]))
        if shared > 1 - 1e-6:
            found.inside[b].append(a)
        elif shared > 1e-6:
            found.crossing.append((a, b))
        elif solid(a).min_gap(solid(b), 2 * distance) <= distance:
            found.touching.append((a, b))
    return found


def _boxes(triangles: Floats) -> tuple[Floats, Floats]:
    """Lowest and highest corners (m, 3) of (m, 3, 3) triangles; numpy is slow to reduce an axis of three."""
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
    return np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)


def winding(triangles: Floats, point: Floats) -> float:
    """Winding number of closed (m, 3, 3) triangles around a point: their solid angle over 4π.

    Van Oosterom & Strackee, IEEE Transactions on Biomedical Engineering 30 (1983).

    >>> corners = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]])
    >>> tetrahedron = corners[[[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]]]
    >>> round(winding(tetrahedron, np.full(3, 0.1)), 9), round(winding(tetrahedron, np.full(3, 0.9)), 9)
    (1.0, 0.0)
    """
    a, b, c = (triangles[:, k] - point for k in range(3))
    la, lb, lc = (np.linalg.norm(v, axis=1) for v in (a, b, c))
    over = np.einsum("ij,ij->i", a, np.cross(b, c))
    under = la * lb * lc
    for u, v, w in ((a, b, lc), (b, c, la), (c, a, lb)):
        under += np.einsum("ij,ij->i", u, v) * w
    return float(np.arctan2(over, under).sum() / (2 * np.pi)) + 0.0


@dataclass(frozen=True, eq=False)
class Arrangement:
    """The surfaces of a sound mesh, and what was changed."""

    vertices: Floats
    faces: Ints
    outermost: int
    """Surfaces with none around them."""
    turned: int
    """Those of them that were wound inside out."""
    enclosed: int
    """Surfaces dropped because they are inside material already."""
    enclosed_mm3: float
    united: int
    """Surfaces that overlapped or touched, and those inside them."""
    united_mm3: float
    """Error of the sum of their volumes."""


class Ambiguous(Exception):
    """A surface with two possible meanings."""

    def __init__(self, surface: int, what: str, mend: str) -> None:
        super().__init__(what)
        self.surface, self.what, self.mend = surface, what, mend


def arrange(surfaces: Surfaces, clear: Bools) -> Arrangement:
    """Bodies wound outward, voids inward, all volume counted once.

    `clear` (n,) marks surfaces with a reliable winding; raises Ambiguous where it is needed and is not reliable.
    """
    found = relations(surfaces)
    for a, b in found.crossing:
        # a body may cross the void of another one, but here both lie in the same surroundings
        against = (surfaces.volume[a] > 0) != (surfaces.volume[b] > 0) and clear[[a, b]].all()
        if against and set(found.inside[a]) == set(found.inside[b]):
            what = "two closed surfaces cross, one wound inward and one outward: cut from each other, or one body?"
            raise Ambiguous(b, what, "cut or unite them where the part was modelled")
    for k, above in enumerate(found.inside):
        if above and not clear[[k, *above]].all():
            what = "a closed surface lies inside another, and its faces disagree on whether it is a void"
            raise Ambiguous(k, what, "make the normals of the part consistent and export it again")
    sign = np.sign(surfaces.volume).astype(np.int64)
    roots = [next((a for a in found.inside[k] if not found.inside[a]), k) for k in range(len(surfaces))]
    relative = sign * sign[roots]  # +1: wound as the outermost surface around it
    around = np.array([int(relative[above].sum()) for above in found.inside])
    bounds = (around > 0) != (around + relative > 0)
    keep = np.flatnonzero(bounds)

    outermost = np.array([not above for above in found.inside])
    turned = int((sign[outermost] < 0).sum())
    groups = _groups(found, keep, relative)
    grouped = {k for group in groups for k in group}

    def as_they_are(some: Iterable[int]) -> list[tuple[Floats, Ints]]:
        outward = ((surfaces.outward(k), relative[k]) for k in some)
        return [(surfaces.vertices, faces if sense > 0 else faces[:, ::-1]) for faces, sense in outward]

    pieces = as_they_are(k for k in keep.tolist() if k not in grouped)
    united, wrong = 0, 0.0
    for group in groups:
        made, off = _united(surfaces, group, relative, found)
        if made is None:
            pieces += as_they_are(group)
        else:
            pieces.append((made.vertices, made.faces))
            united, wrong = united + len(group), wrong + off
    left_out = np.flatnonzero(~bounds)
    vertices, faces = _joined(pieces)
    enclosed_mm3 = float(np.abs(surfaces.volume[left_out]).sum())
    return Arrangement(
        vertices, faces, int(outermost.sum()), turned, len(left_out), enclosed_mm3, united, wrong
    )


def _joined(pieces: list[tuple[Floats, Ints]]) -> tuple[Floats, Ints]:
    vertices, faces, at = [], [], 0
    shared: dict[int, int] = {}
    for v, f in pieces:
        if id(v) not in shared:
            shared[id(v)] = at
            vertices.append(v)
            at += len(v)
        faces.append(f + shared[id(v)])
    return compact(np.concatenate(vertices), np.concatenate(faces))


def _groups(found: Relations, keep: Ints, relative: Ints) -> list[list[int]]:
    """Sets of surfaces to unite: bodies that meet, and the surfaces inside them."""
    used = set(keep.tolist())
    pairs = found.crossing + found.touching
    meeting = [(a, b) for a, b in pairs if {a, b} <= used and relative[a] == relative[b]]
    if not meeting:
        return []
    links = meeting + [(k, a) for k in used for a in found.inside[k] if a in used]
    a, b = np.array(links).T
    _, label = connected_groups(len(found.inside), a, b)
    wanted = {int(label[p[0]]) for p in meeting}
    return [[k for k in sorted(used) if label[k] == group] for group in sorted(wanted)]


def _united(
    surfaces: Surfaces, group: list[int], relative: Ints, found: Relations
) -> tuple[Mesh | None, float]:
    """The union of a group's bodies, each less its voids, and the error of the sum of their volumes.

    No mesh if the union changes nothing.
    """
    import manifold3d

    add = manifold3d.OpType.Add
    solids = []
    for k in (k for k in group if relative[k] > 0):
        voids = [surfaces.solid(v) for v in group if relative[v] < 0 and k in found.inside[v]]
        solid = surfaces.solid(k)
        solids.append(solid - manifold3d.Manifold.batch_boolean(voids, add) if voids else solid)
    union = manifold3d.Manifold.batch_boolean(solids, add)
    volume = np.abs(surfaces.volume[group])
    off = abs(float(volume @ relative[group]) - union.volume())
    off = off if off > 1e-9 * float(volume.sum()) else 0.0
    if not off and len(union.decompose()) == len(group):
        return None, 0.0
    return Mesh.from_manifold(union), off
