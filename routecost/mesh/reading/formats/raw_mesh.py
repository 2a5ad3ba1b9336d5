"""The content of a mesh file before any check or repair of its geometry, and the checks shared by all formats."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np

from routecost.core.arrays import Floats, Ints
from routecost.core.errors import InputError

EXPORT_AGAIN = "export or copy the file again"

BEYOND_ANY_PART = 1e12
"""Limit in any unit: products of larger coordinates would overflow; they come from damaged files."""


@dataclass(frozen=True, eq=False)
class Raw:
    """Triangles as the file lists them, in the file's own unit."""

    vertices: Floats
    """(n, 3), finite."""
    faces: Ints
    """(m, 3), every index in range, m > 0."""
    numbers: Ints
    """(m,) each face's number in the file, from 1: the triangles of one polygon share a number."""
    face_word: str = "face"
    unit: str | None = None
    """The unit that the file states, or that its format fixes."""
    unit_is_fixed: bool = False
    """The format fixes the unit, the file does not state it: exporters often ignore the standard."""
    repairs: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()


def check_finite(file: str, vertices: Floats, place: Callable[[int], str]) -> None:
    """Refuses NaN, infinity and absurdly large coordinates; `place` names a vertex by its row.

    >>> check_finite("a.obj", np.array([[0.0, 0, np.nan]]), lambda k: f"line {k + 1}")
    Traceback (most recent call last):
    routecost.core.errors.InputError: a.obj, line 1: the z coordinate is nan; export or copy the file again
    """
    fine = np.abs(vertices) < BEYOND_ANY_PART  # false for NaN
    if not fine.all():
        row, axis = np.argwhere(~fine)[0]
        what = f"the {'xyz'[axis]} coordinate is {vertices[row, axis]}"
        others = int((~fine.all(axis=1)).sum()) - 1
        what += f", as are coordinates of {others} more points" if others else ""
        raise InputError.of(file, place(int(row)), what, EXPORT_AGAIN)


def check_range(
    file: str, corners: Ints, vertex_count: int, place: Callable[[int], str], base: int = 0
) -> None:
    """Refuses vertex numbers that the file does not have; `place` names a corner by its place in `corners`.

    `base` is the number that the format gives its first vertex.
    """
    bad = np.flatnonzero((corners < 0) | (corners >= vertex_count))
    if len(bad):
        number = int(corners[bad[0]]) + base
        what = f"uses vertex {number}, but the file's vertices run from {base} to {vertex_count - 1 + base}"
        raise InputError.of(file, place(int(bad[0])), what, EXPORT_AGAIN)


def joined(pieces: Iterable[tuple[Floats, Ints, Floats]]) -> tuple[Floats, Ints]:
    """Vertices and faces of pieces (vertices, faces, transform (4, 4)), each moved to its place.

    A mirroring transform reverses the winding, so the faces are turned back.
    """
    vertices, faces, at = [], [], 0
    for points, corners, matrix in pieces:
        vertices.append(points @ matrix[:3, :3].T + matrix[:3, 3])
        faces.append((corners if np.linalg.det(matrix[:3, :3]) > 0 else corners[:, ::-1]) + at)
        at += len(points)
    return np.concatenate(vertices), np.concatenate(faces)


def count_of(number: int, one: str, many: str | None = None) -> str:
    """
    >>> count_of(1, "face"), count_of(2, "face"), count_of(0, "body", "bodies")
    ('1 face', '2 faces', '0 bodies')
    """
    return f"{number} {one if number == 1 else many or one + 's'}"
