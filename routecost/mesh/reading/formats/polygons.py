"""Faces with more than three corners, turned into triangles."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from routecost.core.arrays import Floats, Ints
from routecost.core.errors import InputError
from routecost.mesh.geometry.vectors import rotation_to_z
from routecost.mesh.reading.formats.raw_mesh import EXPORT_AGAIN, Raw, check_range, count_of

FLAT = 1e-3
"""Corners of one polygon may leave its mean plane by this share of its size: 0.1 mm on 100 mm. Beyond it the
file does not say which surface is meant."""

SPLIT_MATTERS = 1e-3
"""Warn if the choice of diagonal in non-planar quads changes the volume by more than this share."""


def triangulated(
    file: str, vertices: Floats, counts: Ints, corners: Ints, place: Callable[[int], str], base: int = 0
) -> Raw:
    """Triangles of k polygons, in their order, numbered by polygon from 1.

    `counts` (k,) are corners a polygon; `corners` their vertex indices one after another. `place` names a polygon
    by its index, `base` is the number that the format gives its first vertex. InputError for fewer than three
    corners, for vertices that are not there, and for a bent polygon of five or more corners. A bent quadrilateral
    is split all the same, because either split is closed, with a warning where that moves the volume.
    """
    few = np.flatnonzero(counts < 3)
    if len(few):
        what = f"a face has three corners or more, this one has {counts[few[0]]}"
        raise InputError.of(file, place(int(few[0])), what, EXPORT_AGAIN)
    ends = np.cumsum(counts)
    check_range(
        file, corners, len(vertices), lambda k: place(int(np.searchsorted(ends, k, side="right"))), base
    )
    start = ends - counts
    faces: list[Ints] = []
    owner: list[Ints] = []
    spread = 0.0
    for n in np.unique(counts).tolist():
        of_n = np.flatnonzero(counts == n)
        polygons = corners[start[of_n, None] + np.arange(n)]
        if n == 3:
            made, split = polygons, of_n
        elif n == 4:
            made, split = _quads(vertices, polygons), np.repeat(of_n, 2)
            spread = _split_spread(vertices[polygons])
        else:
            made, split = _many_sided(file, vertices, polygons, of_n, place)
        faces.append(made)
        owner.append(split)
    polygon = np.concatenate(owner)
    order = np.argsort(polygon, kind="stable")
    triangles = np.concatenate(faces)[order]
    cut = int((counts > 3).sum())
    repairs = (f"{count_of(cut, 'face')} of four or more corners: split into triangles",) if cut else ()
    warnings = _split_warning(vertices, triangles, spread)
    return Raw(vertices, triangles, polygon[order] + 1, repairs=repairs, warnings=warnings)


def _quads(vertices: Floats, quads: Ints) -> Ints:
    """Two triangles a quad, split across 0–2, or across 1–3 where the quad is dented at 1 or 3."""
    p = vertices[quads]
    first = np.cross(p[:, 1] - p[:, 0], p[:, 2] - p[:, 0])
    second = np.cross(p[:, 2] - p[:, 0], p[:, 3] - p[:, 0])
    dented = np.einsum("ij,ij->i", first, second) < 0
    turned = np.where(dented[:, None], np.roll(quads, -1, axis=1), quads)
    return np.asarray(turned[:, [0, 1, 2, 0, 2, 3]].reshape(-1, 3))


def _split_spread(p: Floats) -> float:
    """Change of volume with the diagonal along which (k, 4, 3) quads are split: the sum of their tetrahedra."""
    a, b, c = p[:, 1] - p[:, 0], p[:, 2] - p[:, 0], p[:, 3] - p[:, 0]
    return float(np.abs(np.einsum("ij,ij->i", a, np.cross(b, c))).sum() / 6.0)


def _split_warning(vertices: Floats, triangles: Ints, spread: float) -> tuple[str, ...]:
    t = vertices[triangles] - vertices.mean(axis=0)
    volume = abs(float(np.einsum("ij,ij->i", t[:, 0], np.cross(t[:, 1], t[:, 2])).sum() / 6.0))
    if spread <= SPLIT_MATTERS * volume:
        return ()
    share = f"by up to {spread / volume:.1%}" if volume else "by an unknown share"
    return (f"four-sided faces are not flat; how they are split moves the volume {share}",)


def _many_sided(
    file: str, vertices: Floats, polygons: Ints, which: Ints, place: Callable[[int], str]
) -> tuple[Ints, Ints]:
    n = polygons.shape[1]
    p = vertices[polygons]
    middle = p.mean(axis=1, keepdims=True)
    nxt = np.roll(p, -1, axis=1)
    normal = np.cross(p - middle, nxt - middle).sum(axis=1)  # Newell: twice the area vector
    length = np.linalg.norm(normal, axis=1)
    unit = normal / np.maximum(length, 1e-300)[:, None]
    off = np.abs(np.einsum("kij,kj->ki", p - middle, unit)).max(axis=1)
    size = np.linalg.norm(np.ptp(p, axis=1), axis=1)
    bent = np.flatnonzero(off > FLAT * size)
    if len(bent):
        k = int(bent[0])
        what = f"its {n} corners lie up to {off[k] / size[k]:.1%} of its size off one plane"
        others = f" (and {count_of(len(bent) - 1, 'more face')})" if len(bent) > 1 else ""
        raise InputError.of(file, place(int(which[k])), what + others, "export the mesh as triangles")

    turn = np.cross(nxt - p, np.roll(p, -2, axis=1) - nxt)
    convex = (np.einsum("kij,kj->ki", turn, unit) > 0).all(axis=1)
    fan = np.stack([np.zeros(n - 2, np.int64), np.arange(1, n - 1), np.arange(2, n)], axis=1)
    faces = [polygons[convex][:, fan].reshape(-1, 3)]
    owner = [np.repeat(which[convex], n - 2)]
    for k in np.flatnonzero(~convex).tolist():
        cut = _dented(p[k] - middle[k], unit[k])
        faces.append(polygons[k][cut])
        owner.append(np.full(len(cut), which[k]))
    return np.concatenate(faces), np.concatenate(owner)


def _dented(p: Floats, normal: Floats) -> Ints:
    """Triangles of one polygon that is not convex, as indices of its own corners."""
    import manifold3d

    if not normal.any():  # no area: any triangles that share its edges will do
        n = len(p)
        return np.stack([np.zeros(n - 2, np.int64), np.arange(1, n - 1), np.arange(2, n)], axis=1)
    flat = np.ascontiguousarray((p @ rotation_to_z(normal).T)[:, :2])
    return np.asarray(manifold3d.triangulate([flat]), dtype=np.int64)
