"""Vectors on plain arrays: normals, areas and volumes of faces, and the rotation of a direction to +z."""

from __future__ import annotations

from typing import Any

import numpy as np

from routecost.core.arrays import Floats, Ints, Vector


def face_crosses(vertices: Floats, faces: Ints) -> Floats:
    """Cross products of two edges of each face: normals of twice its area, one coordinate after the other, (3, m)."""
    # numpy takes several times as long over rows of three
    (ax, bx, cx), (ay, by, cy), (az, bz, cz) = np.ascontiguousarray(vertices.T).take(faces.T, axis=1)
    ux, uy, uz, vx, vy, vz = bx - ax, by - ay, bz - az, cx - ax, cy - ay, cz - az
    return np.stack([uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx])


def signed_volumes(vertices: Floats, faces: Ints) -> Floats:
    """(m,) volume between each face and the mean of all vertices; over a closed surface they add up to its volume."""
    start = np.ascontiguousarray((vertices - vertices.mean(axis=0)).T).take(faces[:, 0], axis=1)
    return np.asarray((start * face_crosses(vertices, faces)).sum(axis=0) / 6.0)


def areas(vertices: Floats, faces: Ints) -> Floats:
    """(m,) area of each face."""
    return np.asarray(0.5 * np.sqrt((face_crosses(vertices, faces) ** 2).sum(axis=0)))


def dots(a: Floats, b: Floats) -> Floats:
    """(n,) scalar products of the rows of two (n, 3) arrays."""
    return np.asarray(np.einsum("ij,ij->i", a, b))


def as_vector(direction: Floats) -> Vector:
    """Three plain numbers; −0 becomes 0."""
    x, y, z = (float(c) + 0.0 for c in direction)
    return x, y, z


def rotation_to_z(up: Any) -> Floats:
    """The shortest rotation (3, 3) that brings `up` to +z.

    >>> (rotation_to_z((0, 0, 1)) == np.eye(3)).all()
    np.True_
    >>> np.round(rotation_to_z((1, 0, 0)) @ [1, 0, 0], 12)
    array([0., 0., 1.])
    """
    u = np.asarray(up, dtype=np.float64)
    u = u / np.linalg.norm(u)
    if u[2] < -1 + 1e-12:
        return np.diag([1.0, -1.0, -1.0])
    v = np.array([u[1], -u[0], 0.0])
    skew = np.array([[0.0, 0.0, v[1]], [0.0, 0.0, -v[0]], [-v[1], v[0], 0.0]])
    return np.asarray(np.eye(3) + skew + skew @ skew / (1.0 + u[2]))
