"""Whether a body fits into a build volume: oriented along one of its own directions, rotated about the vertical."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from routecost.core.arrays import Floats
from routecost.mesh.geometry.hull import convex_ring, smallest_rectangle
from routecost.mesh.geometry.vectors import rotation_to_z

SLACK_MM = 1e-6
"""Tolerance for a body exactly as large as the volume."""


def fitting_lines(points: Floats, lines: Floats, volume_mm: Sequence[float]) -> Floats:
    """The (n, 3) `lines` along which the (k, 3) points fit into the volume (x, y, height in mm).

    >>> bar = np.array([[x, y, z] for x in (0.0, 280.0) for y in (0.0, 10.0) for z in (0.0, 10.0)])
    >>> fitting_lines(bar, np.eye(3), (220, 220, 250))  # fits lying across the bed, not upright
    array([[0., 1., 0.],
           [0., 0., 1.]])
    """
    width, depth, height = volume_mm
    heights = np.ptp(points @ lines.T, axis=0)
    fits = [
        tall <= height + SLACK_MM and can_turn_into(convex_ring(_seen_along(points, line)), width, depth)
        for line, tall in zip(lines, heights, strict=True)
    ]
    return np.asarray(lines[np.array(fits, bool)])


def can_turn_into(ring: Floats, width: float, depth: float) -> bool:
    """Whether the convex (n, 2) ring fits into the rectangle width × depth at some angle.

    Exact: between two angles at which an edge of the ring lies along a side of the rectangle, the same
    corners touch the sides and both extents are cosines, so the first and last angles that fit have closed forms.

    >>> bar = np.array([[0.0, 0.0], [300.0, 0.0], [300.0, 10.0], [0.0, 10.0]])
    >>> can_turn_into(bar, 220, 220), can_turn_into(bar, 219, 219)  # 310/√2 = 219.2
    (True, False)
    """
    edges = np.roll(ring, -1, axis=0) - ring
    quarter = np.mod(np.arctan2(edges[:, 1], edges[:, 0]), np.pi / 2)
    touching = np.unique(np.concatenate([[0.0], quarter]))
    first = np.concatenate([touching, touching + np.pi / 2])
    last = np.append(first[1:], np.pi)
    # vectors across the ring between the touching corners, found at the middle of each range of angles
    across = _touching_span(ring, (first + last) / 2)
    upward = _touching_span(ring, (first + last) / 2 + np.pi / 2)
    tries = [first, last, *_reaching(across, width, 0.0), *_reaching(upward, depth, -np.pi / 2)]
    turns = np.clip(np.stack(tries), first, last)
    over = np.maximum(_extent(across, turns) - width, _extent(upward, turns + np.pi / 2) - depth)
    return bool(over.min() <= SLACK_MM)


def smallest_box_frame(points: Floats, lines: Floats) -> Floats:
    """Axes (rows, right-handed) of the smallest box around the points with an axis along one of the lines."""
    best, frame = np.inf, np.eye(3)
    for line in lines:
        sides, angle = smallest_rectangle(_seen_along(points, line))
        volume = sides[0] * sides[1] * float(np.ptp(points @ line))
        # the first among equals, so that rounding does not decide
        if volume < best * (1 - 1e-9):
            best, frame = volume, upright_frame(line, angle)
    return frame


def upright_frame(line: Floats, angle: float) -> Floats:
    """Axes (rows): one at `angle` to the view along `line`, one square to it, and the line."""
    x, y, z = rotation_to_z(line)
    c, s = np.cos(angle), np.sin(angle)
    return np.array([c * x + s * y, c * y - s * x, z])


def _seen_along(points: Floats, line: Floats) -> Floats:
    return np.asarray(points @ rotation_to_z(line)[:2].T)


def _touching_span(ring: Floats, angles: Floats) -> Floats:
    """(m, 2): from the last corner to the first one, in each of m directions."""
    along = ring @ np.stack([np.cos(angles), np.sin(angles)])
    return np.asarray(ring[along.argmax(axis=0)] - ring[along.argmin(axis=0)])


def _extent(span: Floats, angles: Floats) -> Floats:
    return np.asarray(span[:, 0] * np.cos(angles) + span[:, 1] * np.sin(angles))


def _reaching(span: Floats, side: float, offset: float) -> tuple[Floats, Floats]:
    """The two angles at which each span is as long as the side, or longest where it is always shorter."""
    length = np.hypot(span[:, 0], span[:, 1])
    toward = np.arctan2(span[:, 1], span[:, 0]) + offset
    ratio = np.divide(side, length, out=np.ones_like(length), where=length > 0)
    swing = np.arccos(np.clip(ratio, -1.0, 1.0))
    # extents repeat every half turn
    return np.mod(toward - swing, np.pi), np.mod(toward + swing, np.pi)
