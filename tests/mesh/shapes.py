"""Bodies whose measures can be worked out by hand, and what can be done to a mesh without changing its shape.

Lengths in mm; z is up, and every body stands on z = 0 about the z axis unless it says otherwise.
Round bodies are inscribed: with `n` corners to the circle an area of the section is short by (2π/n)²/6.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, sin

import manifold3d
import numpy as np
from manifold3d import CrossSection, Manifold, OpType

from routecost.core.arrays import Floats
from routecost.mesh.geometry.mesh import Mesh

ROUND = 192


def box(x: float, y: float, z: float) -> Mesh:
    """Corner at the origin."""
    return Mesh.from_manifold(Manifold.cube((x, y, z)))


def plate(side: float = 200.0, thickness: float = 1.0) -> Mesh:
    return box(side, side, thickness)


def sphere(r: float, n: int = ROUND) -> Mesh:
    """Volume 4/3 π r³, area 4 π r². About n² faces."""
    return Mesh.from_manifold(_ball(r, n).translate((0, 0, r)))


def hollow_sphere(outer: float, inner: float, n: int = ROUND) -> Mesh:
    """Concentric closed void. Volume 4/3 π (R³ − r³), area 4 π (R² + r²)."""
    return Mesh.from_manifold((_ball(outer, n) - _ball(inner, n)).translate((0, 0, outer)))


def torus(ring: float, pipe: float, n: int = ROUND) -> Mesh:
    """Lying: axis along z. Volume 2 π² R r², area 4 π² R r."""
    t = np.arange(n) * 2 * np.pi / n
    return revolved([(ring + pipe * np.cos(a), pipe + pipe * np.sin(a)) for a in t], n)


def cylinder(r: float, h: float, n: int = ROUND) -> Mesh:
    """Volume π r² h, area 2 π r (r + h)."""
    return cone(r, r, h, n)


def cone(bottom: float, top: float, h: float, n: int = ROUND) -> Mesh:
    """Frustum; a pointed cone with one radius zero. Volume π h (R² + R r + r²)/3."""
    return revolved([(0, 0), (bottom, 0), (top, h), (0, h)], n)


def tube(outer: float, inner: float, h: float, n: int = ROUND) -> Mesh:
    """Open at both ends. Volume π (R² − r²) h."""
    return revolved([(inner, 0), (outer, 0), (outer, h), (inner, h)], n)


def cup(outer: float, inner: float, h: float, floor: float, n: int = ROUND) -> Mesh:
    """Open at the top. Volume π R² h − π r² (h − floor)."""
    return revolved([(0, 0), (outer, 0), (outer, h), (inner, h), (inner, floor), (0, floor)], n)


def hourglass(end: float, waist: float, h: float, n: int = ROUND) -> Mesh:
    """Two frustums. Volume π h (R² + R r + r²)/3."""
    return revolved([(0, 0), (end, 0), (waist, h / 2), (end, h), (0, h)], n)


def mushroom(stem: float, cap: float, stem_h: float, cap_h: float, n: int = ROUND) -> Mesh:
    """A disc on a stem. Volume π (a² h + b² k)."""
    top = stem_h + cap_h
    return revolved([(0, 0), (stem, 0), (stem, stem_h), (cap, stem_h), (cap, top), (0, top)], n)


def dumbbell(ball: float, apart: float, rod: float, n: int = ROUND) -> Mesh:
    """Two balls `apart` between centres, one above the other, on a rod."""
    low = _ball(ball, n).translate((0, 0, ball))
    bar = Manifold.cylinder(apart, rod, rod, n).translate((0, 0, ball))
    return Mesh.from_manifold(low + low.translate((0, 0, apart)) + bar)


def tee(stem: float, stem_h: float, bar: float, bar_h: float, depth: float) -> Mesh:
    """A bar of width `bar` centred on a stem, `depth` thick: an upright T."""
    s, b, top = stem / 2, bar / 2, stem_h + bar_h
    return prism(
        [(-s, 0), (s, 0), (s, stem_h), (b, stem_h), (b, top), (-b, top), (-b, stem_h), (-s, stem_h)], depth
    )


def ell(leg: float, thick: float, depth: float) -> Mesh:
    """Two equal legs, one standing and one lying."""
    return prism([(0, 0), (leg, 0), (leg, thick), (thick, thick), (thick, leg), (0, leg)], depth)


def wedge(angle_deg: float, base: float, h: float, depth: float) -> Mesh:
    """Upright on a flat base, with one underside that leans out at `angle_deg` to the horizontal."""
    out = h / np.tan(np.deg2rad(angle_deg))
    return prism([(0, 0), (base, 0), (base + out, h), (0, h)], depth)


def arch(span: float, leg: float, h: float, roof: float, depth: float) -> Mesh:
    """A gate of two legs with a flat roof; clear opening `span` × (h − roof)."""
    w = span + 2 * leg
    ring = [
        (0, 0),
        (leg, 0),
        (leg, h - roof),
        (leg + span, h - roof),
        (leg + span, 0),
        (w, 0),
        (w, h),
        (0, h),
    ]
    return prism(ring, depth)


def posts(heights: Sequence[float], base: float = 2.0, pointed: bool = False) -> Mesh:
    """Posts 4 thick and 10 apart in a row on one base plate; their heights are above the plate."""
    body = Manifold.cube((10.0 * len(heights), 10, base))
    for k, h in enumerate(heights):
        post = Manifold.cylinder(h + base / 2, 2.0, 0.0 if pointed else 2.0, 48)
        body += post.translate((10.0 * k + 5, 5, base / 2))
    return Mesh.from_manifold(body)


def sponge() -> Mesh:
    """A block of crossing channels."""

    def inside(x: float, y: float, z: float) -> float:
        a, b, c = x / 4, y / 4, z / 4
        return 0.6 - abs(sin(a) * cos(b) + sin(b) * cos(c) + sin(c) * cos(a))

    raw = Manifold.level_set(inside, [-12, -10, -8, 12, 10, 8], 1.2)
    return Mesh.from_manifold(raw)


def knot() -> Mesh:
    """A trefoil rope of 3 mm."""
    t = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    path = (
        np.stack([np.sin(t) + 2 * np.sin(2 * t), np.cos(t) - 2 * np.cos(2 * t), -1.5 * np.sin(3 * t)], axis=1)
        * 6
    )
    balls = [Manifold.sphere(3, 24).translate(p) for p in path]
    ropes = [Manifold.batch_hull([a, b]) for a, b in zip(balls, balls[1:] + balls[:1], strict=True)]
    return Mesh.from_manifold(Manifold.batch_boolean(ropes, OpType.Add))


def drilled() -> Mesh:
    """A bracket with cross holes, a pocket and a pin."""
    body = ell(60, 12, 30)
    for at in (22, 38, 52):
        hole = moved(cylinder(3, 60, 48).oriented((0, 1, 0)), (at, 40, 6))
        body = cut(body, hole)
    return cut(body, moved(box(6, 20, 25), (3, 5, 30)))


def prism(outline: Sequence[tuple[float, float]], depth: float) -> Mesh:
    """An outline (x, z), counterclockwise, drawn out along y."""
    solid = CrossSection([outline]).extrude(depth).rotate((90, 0, 0)).translate((0, depth, 0))
    return Mesh.from_manifold(solid)


def revolved(profile: Sequence[tuple[float, float]], n: int = ROUND) -> Mesh:
    """A profile (radius, z), counterclockwise, turned about z."""
    return Mesh.from_manifold(CrossSection([profile]).revolve(n))


def beside(*meshes: Mesh) -> Mesh:
    """Several bodies in one mesh, as they lie."""
    offsets = np.cumsum([0, *(len(m.vertices) for m in meshes[:-1])])
    faces = [m.faces + k for m, k in zip(meshes, offsets, strict=True)]
    return Mesh.of(np.vstack([m.vertices for m in meshes]), np.vstack(faces))


def moved(mesh: Mesh, by: Sequence[float]) -> Mesh:
    return Mesh.of(mesh.vertices + np.asarray(by), mesh.faces)


def scaled(mesh: Mesh, factor: float) -> Mesh:
    return Mesh.of(mesh.vertices * factor, mesh.faces)


def mirrored(mesh: Mesh) -> Mesh:
    """Seen in a mirror square to x."""
    return Mesh.of(mesh.vertices * [-1.0, 1.0, 1.0], mesh.faces[:, ::-1])


def shuffled(mesh: Mesh, seed: int) -> Mesh:
    """The same surface with vertices, faces and the first corner of each face in another order."""
    rng = np.random.default_rng(seed)
    order = rng.permutation(len(mesh.vertices))
    place = np.empty_like(order)
    place[order] = np.arange(len(order))
    faces = place[mesh.faces][rng.permutation(len(mesh.faces))]
    start = rng.integers(0, 3, len(faces))[:, None]
    return Mesh.of(mesh.vertices[order], np.take_along_axis(faces, (np.arange(3) + start) % 3, axis=1))


def solid(mesh: Mesh) -> manifold3d.Manifold:
    """For booleans and slices by the reference kernel, which takes writable arrays only."""
    return Manifold(manifold3d.Mesh64(np.array(mesh.vertices), mesh.faces.astype(np.uint64)))


def cut(mesh: Mesh, tool: Mesh) -> Mesh:
    """What is left of the first when the second is taken out of it."""
    return Mesh.from_manifold(solid(mesh) - solid(tool))


def subdivided(mesh: Mesh, pieces: int = 2) -> Mesh:
    """The same surface with every edge cut into `pieces`."""
    return Mesh.from_manifold(solid(mesh).refine(pieces))


def rotation(seed: int) -> Floats:
    """A rotation matrix, evenly spread over all of them (Shoemake, 1992, through a random quaternion)."""
    w, x, y, z = _unit(np.random.default_rng(seed).normal(size=4))
    return np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
            [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
            [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
        ]
    )


def _unit(v: Floats) -> Floats:
    return np.asarray(v / np.linalg.norm(v))


def _ball(r: float, n: int) -> manifold3d.Manifold:
    # turned, so that for n a multiple of 8 a ring of edges lies at exactly 45°
    half = np.arange(n // 2 + 1) * 2 * np.pi / n
    profile = [(0.0, -r), *((r * np.sin(t), -r * np.cos(t)) for t in half[1:-1]), (0.0, r)]
    return CrossSection([profile]).revolve(n)
