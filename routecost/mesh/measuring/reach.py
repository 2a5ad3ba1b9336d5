"""Which surface can be sanded: with a block, with a fingertip or rod, or not at all.

Along a direction the part is a height map, the topmost surface over a lattice, and a tool that approaches along it
stops where it first touches the map. Both tools are morphological operations on the map:

- *Block*: a flat disc. Its lowest position is the maximum of the map over the disc, and the surface it touches
  from all positions is the closing of the map by the disc (Serra, *Image Analysis and Mathematical Morphology*, 1982):
  a point is reached where the closing is no higher than the point plus the compliance of a padded block.
- *Fingertip or rod*: a cylinder with a round end. The end touches a point when its centre is a radius off along
  the normal; it can be there if no part of the map penetrates the tool.

A point counts for the best tool that reaches it from any of the sampled directions.
"""

from __future__ import annotations

import numpy as np

from routecost.core.arrays import Bools, Floats
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.geometry.rays.height_map import NOTHING, HeightMap
from routecost.mesh.geometry.rays.ray_columns import HITS, Columns
from routecost.mesh.geometry.sampling import sample_surface
from routecost.mesh.measuring.measures import Reach
from routecost.mesh.measuring.poses import poses_by_line

POINTS = 6_000  # evenly spread: shares come out to about half a per cent
ALL_ROUND = 10
"""Lines besides the part's own, each in both senses: with the axes, less than one normal in a thousand is farther from
all of them than a block tilts."""
BLOCK_TILT = 0.85  # a block approaches within 32 degrees of the normal of what it sands
COMPLIANCE_MM = 1.0
"""Compliance of a padded block of any width, so that it sands concave curves too; common practice, no
source."""
ROD_CELLS = 6.0  # of the lattice in the rod's radius
BLOCK_CELLS = 9  # of the coarser lattice in the block's radius: its rim is even to a tenth
LEAST_HITS, MOST_HITS = 2_000, 40_000


def measure_reach(mesh: Mesh, block_mm: float, finger_mm: float) -> Reach:
    """Shares of the surface by the best tool that reaches it, from a disc `block_mm` wide and a round-ended rod
    `finger_mm` thick; both as long as the part is deep. They add up to 1.

    >>> from routecost.mesh.geometry.mesh import Mesh
    >>> tetrahedron = Mesh.of([[0, 0, 0], [60, 0, 0], [0, 60, 0], [0, 0, 60]],
    ...                       [[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]])
    >>> measure_reach(tetrahedron, 20, 8)
    Reach(block=1.0, finger=0.0, none=0.0)
    """
    points, faces = sample_surface(mesh, POINTS)
    by_block, by_finger = _by_tool(mesh, points, mesh.normals[faces], block_mm, finger_mm)
    block, finger = int(by_block.sum()), int((by_finger & ~by_block).sum())
    return Reach(block / POINTS, finger / POINTS, (POINTS - block - finger) / POINTS)


def reached(
    mesh: Mesh, points: Floats, normals: Floats, block_mm: float = 20.0, finger_mm: float = 8.0
) -> Bools:
    """Whether block, fingertip or rod reaches each of these surface points, (n,)."""
    by_block, by_finger = _by_tool(mesh, points, normals, block_mm, finger_mm)
    return by_block | by_finger


def _by_tool(
    mesh: Mesh, points: Floats, normals: Floats, block_mm: float, finger_mm: float
) -> tuple[Bools, Bools]:
    by_block, by_finger = (np.zeros(len(points), dtype=np.bool_) for _ in range(2))
    wanted = mesh.area_mm2 / (finger_mm / 2.0 / ROD_CELLS) ** 2
    hits = int(np.clip(wanted, LEAST_HITS, MOST_HITS))
    step = int(np.sqrt(HITS / hits))  # no coarser than columns of their own would be
    own = (line.height_maps for line in poses_by_line(mesh))
    lines: list[tuple[Floats, tuple[HeightMap, HeightMap] | None]] = [
        *((up.up, (up.thinned(step), down.thinned(step))) for up, down in own),
        *((line, None) for line in _all_round()),
    ]
    for line, seen in lines:
        for k, sense in enumerate((1.0, -1.0)):
            steep = sense * (normals @ line)
            flat = np.flatnonzero(~by_block & (steep > BLOCK_TILT))
            # a rod comes along a wall too: rounding must not shut it out there
            beside = np.flatnonzero(~by_block & ~by_finger & (steep > -1e-6))
            if not len(flat) and not len(beside):
                continue
            seen = seen or HeightMap.both(Columns.of(mesh, line, hits))
            by_block[flat] = _block_reaches(seen[k], points[flat], steep[flat], block_mm)
            beside = beside[~by_block[beside]]
            by_finger[beside] = _rod_reaches(seen[k], points[beside], normals[beside], finger_mm / 2.0)
    return by_block, by_finger


def _all_round() -> Floats:
    """Lines spread evenly over the half sphere by the golden angle, (n, 3)."""
    k = np.arange(ALL_ROUND) + 0.5
    z, turn = 1.0 - k / ALL_ROUND, np.pi * (1.0 + np.sqrt(5.0)) * k
    return np.column_stack([np.cos(turn) * np.sqrt(1 - z * z), np.sin(turn) * np.sqrt(1 - z * z), z])


def _block_reaches(seen: HeightMap, points: Floats, steep: Floats, block_mm: float) -> Bools:
    """Whether a flat disc that comes down along the direction touches each point within its compliance.

    `steep` is the cosine between each normal and the direction.
    """
    # a disc as wide as the part acts as an infinite one
    widest = min(block_mm, float(np.hypot(*seen.footprint_mm)))
    step = max(1, round(widest / 2.0 / BLOCK_CELLS / seen.pitch_mm))
    coarse = seen.heights[::step, ::step]
    cells = max(1, round(widest / 2.0 / (step * seen.pitch_mm)))
    lowest = _highest_around(np.pad(coarse, 2 * cells, constant_values=NOTHING), cells)
    closed = -_highest_around(-lowest, cells)
    at = seen.nodes(points)
    at = np.clip(at, 0, np.array(seen.heights.shape) - 1)
    # the topmost surface at the point is the point's own, not something above it
    slope = np.sqrt(np.maximum(1.0 - steep**2, 0.0)) / steep
    own = seen.heights[at[:, 0], at[:, 1]] <= points @ seen.up + seen.pitch_mm * (0.5 + slope)
    gap = np.where(coarse > NOTHING, closed - coarse, 0.0)
    # the widest gap at the nodes around: the strip beside a rim must not pass for the rim
    low = at // step
    high = np.minimum(low + 1, np.array(gap.shape) - 1)
    widest_gap = np.maximum.reduce(
        [gap[i, j] for i in (low[:, 0], high[:, 0]) for j in (low[:, 1], high[:, 1])]
    )
    return np.asarray(own & (widest_gap <= COMPLIANCE_MM))


def _rod_reaches(seen: HeightMap, points: Floats, normals: Floats, radius_mm: float) -> Bools:
    """Whether a round-ended rod that lies along the direction touches each point with its end."""
    pitch = seen.pitch_mm
    # a rod much thicker than the part is deep sees a flat part
    radius_mm = min(radius_mm, float(np.hypot(*seen.footprint_mm)))
    # thinner by what the nearest lattice node may lie off: a rod that just fits is not shut out
    thinner = max(radius_mm - 0.75 * pitch, 0.0)
    cells = int(thinner / pitch)
    margin = cells + int(radius_mm / pitch) + 2
    room = np.pad(seen.heights, margin, constant_values=NOTHING)
    centres = points + radius_mm * normals
    node = seen.nodes(centres) @ (room.shape[1], 1) + margin * (room.shape[1] + 1)
    free = centres @ seen.up + 0.25 * pitch  # rounding on flat faces
    off = np.arange(-cells, cells + 1)
    square = (off[:, None] ** 2 + off**2) * pitch**2
    reaches = np.arange(len(points))
    for i, j in np.argwhere(square <= thinner**2).tolist():
        end = float(np.sqrt(thinner**2 - square[i, j]))
        there = room.ravel().take(node[reaches] + (off[i] * room.shape[1] + off[j]))
        reaches = reaches[there + end <= free[reaches]]
    found = np.zeros(len(points), bool)
    found[reaches] = True
    return found


def _highest_around(heights: Floats, cells: int) -> Floats:
    """The highest in the disc around each node that has room for it: the result is 2 `cells` narrower each way.

    Discs are made of strips, widened by a cell a side at a time.
    """
    rows, columns = heights.shape[0] - 2 * cells, heights.shape[1] - 2 * cells
    along = np.arange(-cells, cells + 1)
    half_widths = np.sqrt((cells + 0.25) ** 2 - along**2).astype(np.int64)
    strip = heights[:, cells : cells + columns].copy()
    highest = np.full((rows, columns), -np.inf)
    for wide in range(cells + 1):
        if wide:
            for k in (cells - wide, cells + wide):
                np.maximum(strip, heights[:, k : k + columns], out=strip)
        for k in np.flatnonzero(half_widths == wide).tolist():
            np.maximum(highest, strip[k : k + rows], out=highest)
    return highest
