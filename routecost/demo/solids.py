"""A few ways of making a solid: rounded blocks, turned profiles, pockets, holes. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from routecost.core.arrays import Floats

if TYPE_CHECKING:
    from manifold3d import CrossSection, Manifold

ARC = 6
"""Straight pieces a quarter round of an edge: 0.04 mm off a 5 mm round, not to be seen on a part."""

TURN = 96
"""Sides of a turned part: 0.03 mm off a 120 mm circle, below what a printer resolves."""


def quarter_round(radius: float) -> Floats:
    """(ARC + 1, 2): inset and height along a quarter round that starts upright and ends flat."""
    turn = np.linspace(0.0, np.pi / 2, ARC + 1)
    return np.asarray(radius * np.stack([1.0 - np.cos(turn), np.sin(turn)], axis=1))


def rounded_outline(width: float, depth: float, corner: float) -> CrossSection:
    """A rectangle around the origin with round corners."""
    from manifold3d import CrossSection, JoinType

    core = CrossSection.square((width - 2 * corner, depth - 2 * corner), True)
    return core.offset(corner, JoinType.Round, 2.0, 8 * ARC)


def rounded_block(
    width: float, depth: float, height: float, corner: float, top: float = 0.0, bottom: float = 0.0
) -> Manifold:
    """A block on z = 0 around the z axis: its edges rounded: upright by `corner`, then `top` and `bottom`."""
    from manifold3d import Manifold

    levels = [(inset, bottom - rise) for inset, rise in quarter_round(bottom)] if bottom else [(0.0, 0.0)]
    levels += [(inset, height - top + rise) for inset, rise in quarter_round(top)] if top else [(0.0, height)]
    points: list[tuple[float, float, float]] = []
    for inset, z in levels:
        outline = rounded_outline(width - 2 * inset, depth - 2 * inset, max(corner - inset, 0.01))
        points += [(float(x), float(y), z) for ring in outline.to_polygons() for x, y in ring]
    return Manifold.hull_points(points)


def turned(profile: Sequence[tuple[float, float]], round_edges: float = 0.0, sides: int = TURN) -> Manifold:
    """The (radius, height) profile turned about z, its corners inside and out rounded."""
    from manifold3d import CrossSection, FillRule, JoinType

    section = CrossSection([profile], FillRule.NonZero)
    if round_edges:
        # the mirror image keeps the corners on the axis from being rounded; turning takes one half of it
        section = section + section.mirror((1.0, 0.0))
        for step in (-round_edges, 2 * round_edges, -round_edges):
            section = section.offset(step, JoinType.Round, 2.0, 4 * ARC)
        section = section.simplify(0.002)
    return section.revolve(sides)


def cup(x: float, y: float, z: float, radius: float, height: float, floor_round: float) -> Manifold:
    """A cutter for a pocket: a cylinder on (x, y, z) with a rounded floor."""
    from manifold3d import Manifold

    around = np.linspace(0.0, 2 * np.pi, 8 * ARC, endpoint=False)
    levels = [(radius - inset, floor_round - rise) for inset, rise in quarter_round(floor_round)]
    points = [
        (float(x + r * np.cos(t)), float(y + r * np.sin(t)), z + level)
        for r, level in [*levels, (radius, height)]
        for t in around
    ]
    return Manifold.hull_points(points)


def bore(x: float, y: float, z: float, diameter: float, depth: float) -> Manifold:
    """A cutter for an upright hole from z upward."""
    from manifold3d import Manifold

    return Manifold.cylinder(depth, diameter / 2, circular_segments=8 * ARC).translate((x, y, z))


def countersink(x: float, y: float, top_z: float, diameter: float, head: float) -> Manifold:
    """A cutter for a 90° screw head flush with top_z."""
    from manifold3d import Manifold

    deep = (head - diameter) / 2
    cone = Manifold.cylinder(deep + 0.5, diameter / 2, head / 2 + 0.5, circular_segments=8 * ARC)
    return cone.translate((x, y, top_z - deep))


def together(solids: Iterable[Manifold]) -> Manifold:
    """All in one."""
    from manifold3d import Manifold, OpType

    return Manifold.batch_boolean(list(solids), OpType.Add)


def corners(width: float, depth: float) -> list[tuple[float, float]]:
    """The four corners of a rectangle around the origin."""
    return [(sx * width / 2, sy * depth / 2) for sx in (-1, 1) for sy in (-1, 1)]
