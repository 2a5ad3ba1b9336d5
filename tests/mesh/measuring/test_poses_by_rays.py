"""Supports and trapped space of irregular and real bodies against trimesh's ray caster, summed one ray at a time."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest
import trimesh
from scipy.stats import qmc

from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.measuring.poses import measure_pose
from tests.mesh import shapes

REAL = ("anchor", "joint", "part", "pipe", "spool", "u")  # sound ones; their licence lies beside them
RAYS = 2**14


class Sums(NamedTuple):
    support: float
    to_bed: float
    two_part: float
    open_mold: float


def body(name: str) -> Mesh:
    made = {"sponge": shapes.sponge, "knot": shapes.knot, "drilled": shapes.drilled}
    if name in made:
        return made[name]()
    raw = trimesh.load(Path(__file__).parents[1] / "real_meshes" / f"{name}.off")
    return Mesh.of(raw.vertices * 100, raw.faces)  # drawn into a box of 1 a side


def by_single_rays(mesh: Mesh) -> Sums:
    """The definitions read literally, for a body that stands as it lies."""
    body = trimesh.Trimesh(mesh.vertices, mesh.faces, process=False)
    steepness = np.rad2deg(np.arccos(np.clip(-body.face_normals[:, 2], -1, 1)))
    (x0, y0, bed), (x1, y1, top) = body.bounds
    at = qmc.scale(qmc.Sobol(2, seed=0).random(RAYS), [x0, y0], [x1, y1])
    starts = np.column_stack([at, np.full(RAYS, bed - 1)])
    points, ray, face = body.ray.intersects_location(starts, np.tile([0.0, 0.0, 1.0], (RAYS, 1)))
    columns: list[list[tuple[float, int]]] = [[] for _ in range(RAYS)]
    for k, z, f in zip(ray, points[:, 2], face, strict=True):
        columns[k].append((float(z), int(f)))
    support = to_bed = two_part = open_mold = 0.0
    for hits in columns:
        hits.sort()
        if len(hits) % 2:
            continue  # the caster met an edge twice
        beneath = None
        for (low, under), (high, _) in zip(hits[::2], hits[1::2], strict=True):
            air = low - (bed if beneath is None else beneath)
            if steepness[under] < 44.99:  # the real ones have chamfers of 44.998°, meant as 45°
                support += air
                to_bed += air if beneath is None else 0.0
            if beneath is not None:
                two_part += air
                open_mold += air
            beneath = high
        if beneath is not None:
            open_mold += top - beneath
    cell = (x1 - x0) * (y1 - y0) / RAYS
    return Sums(support * cell, to_bed * cell, two_part * cell, open_mold * cell)


@pytest.mark.parametrize("up", [(0.0, 0.0, 1.0), (1.0, 0.0, 0.0), (1.0, -2.0, 3.0)])
@pytest.mark.parametrize("name", ["sponge", "knot", "drilled", *REAL])
def test_agrees_with_single_rays(name: str, up: tuple[float, float, float]) -> None:
    mesh = body(name)
    exact = by_single_rays(mesh.oriented(up))
    got = measure_pose(mesh, up)
    # the few rays of the reference are themselves good to about half a per cent, and 0.07 % of the box
    room = 7e-4 * got.height_mm * got.footprint_mm[0] * got.footprint_mm[1]
    assert got.support_volume_mm3 == pytest.approx(exact.support, rel=1e-2, abs=room)
    assert got.support_volume_to_bed_mm3 == pytest.approx(exact.to_bed, rel=1e-2, abs=room)
    assert got.trapped_two_part_mm3 == pytest.approx(exact.two_part, rel=1e-2, abs=room)
    assert got.trapped_open_mm3 == pytest.approx(exact.open_mold, rel=1e-2, abs=room)
