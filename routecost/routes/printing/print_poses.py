"""Which poses are worth measuring layer by layer, judged by what is cheap to measure."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

from routecost.core.arrays import Vector
from routecost.mesh.measuring.measures import Pose

T = TypeVar("T")

MOST_POSES = 6
"""Poses that are measured layer by layer: each takes up to half a second."""
_SAME_WITHIN = 0.02
"""Poses that agree within this share in everything cheap are one: four times the error of their measures."""


def poses_to_try(
    poses: Sequence[Pose],
    load_direction: Vector | None = None,
    shuns: Callable[[Pose], float] = lambda pose: 0.0,
    most: int = MOST_POSES,
) -> list[Pose]:
    """Poses that no other beats in support volume, contact, height and bed area, the most promising first.

    With a load, also in how square the layers lie to it. Beyond `most` those with the best ranks stay.
    """

    def marks(pose: Pose) -> tuple[float, ...]:
        cheap = (pose.support_volume_mm3, pose.contact_area_mm2, pose.height_mm, -pose.bed_area_mm2)
        found = [*cheap, shuns(pose)]
        if load_direction is not None:
            found.append(abs(cosine(pose.up, load_direction)))
        return tuple(found)

    table = [marks(pose) for pose in poses]
    if not table:
        return []
    columns = list(zip(*table, strict=True))
    slack = [_SAME_WITHIN * max(abs(value) for value in column) for column in columns]
    rank_sum = [
        sum(sum(other < value for other in column) for value, column in zip(row, columns, strict=True))
        for row in table
    ]
    kept: list[int] = []
    for i in sorted(range(len(poses)), key=lambda i: (rank_sum[i], i)):
        beaten = any(
            all(theirs <= ours + room for theirs, ours, room in zip(table[k], table[i], slack, strict=True))
            for k in kept
        )
        if not beaten:
            kept.append(i)
    return [poses[i] for i in kept[:most]]


def cosine(a: Vector, b: Vector) -> float:
    """Of the angle between two directions of any length."""
    dot = sum(x * y for x, y in zip(a, b, strict=True))
    return float(dot / (sum(x * x for x in a) * sum(y * y for y in b)) ** 0.5)


def unbeaten(items: Sequence[T], amounts: Callable[[T], tuple[float, ...]]) -> list[T]:
    """Items that no other undercuts or equals in every amount: the cheapest is among them at any prices.

    >>> unbeaten([(1, 5), (2, 2), (3, 3), (2, 2)], lambda pair: pair)
    [(1, 5), (2, 2)]
    """
    kept: list[tuple[tuple[float, ...], T]] = []
    for item in sorted(items, key=amounts):
        mine = amounts(item)
        if not any(all(a <= b for a, b in zip(other, mine, strict=True)) for other, _ in kept):
            kept.append((mine, item))
    return [item for _, item in kept]
