"""The demo's parts are what they claim to be. Volumes by hand from closed forms of solid geometry."""

from __future__ import annotations

import os
import subprocess
import sys
from itertools import pairwise

import numpy as np
import pytest

from routecost.demo import demo_meshes as meshes
from routecost.demo.demo_meshes import demo_meshes
from routecost.mesh.geometry.mesh import Mesh

PI = np.pi


@pytest.fixture(scope="module")
def parts() -> dict[str, Mesh]:
    return demo_meshes()


SIZES = {
    "nest_chamber": meshes.CHAMBER,
    "chamber_lid": (168.6, 118.6, 10.0),  # chamber + 2 × (gap + wall); plate + rim
    "tunnel_elbow": (65.0, 65.0, 17.0),  # straight + bend radius + half a flange
    "tunnel_tee": (80.0, 59.0, 17.0),  # run; branch + half a flange
    "viewing_dome": (140.0, 140.0, 60.0),
    "magnifier_blank": (40.0, 40.0, 7.174),  # edge + sagitta 50 − √(50² − 20²)
    "base_frame": meshes.FRAME,
    "foot": (60.0, 60.0, 45.0),
    "feeder_dish": (80.0, 80.0, 18.0),
    "water_tower": (70.0, 70.0, 136.0),
    "hinge_leaf": (60.0, 33.0, 10.0),
    "front_bezel": meshes.BEZEL,
    "knob": (36.0, 36.0, 22.0),
    "glow_block": meshes.GLOW_BLOCK,
    "vent_grille": meshes.GRILLE,
}
THROUGH_HOLES = {
    "nest_chamber": 4,
    "chamber_lid": 2 + 24,
    "tunnel_elbow": 0,
    "tunnel_tee": 0,
    "viewing_dome": 6,
    "magnifier_blank": 0,
    "base_frame": 1,
    "foot": 0,
    "feeder_dish": 0,
    "water_tower": 0,
    "hinge_leaf": 3 + 3,
    "front_bezel": 1 + 4,
    "knob": 0,
    "glow_block": 0,
}


def test_every_part_is_stated(parts: dict[str, Mesh]) -> None:
    assert set(parts) == set(SIZES)


@pytest.mark.parametrize("name", SIZES)
def test_sound(parts: dict[str, Mesh], name: str) -> None:
    mesh = parts[name]
    edges = np.concatenate([mesh.faces[:, [0, 1]], mesh.faces[:, [1, 2]], mesh.faces[:, [2, 0]]])
    there = {tuple(edge) for edge in edges.tolist()}
    assert len(there) == len(edges)  # no edge is used twice in one direction
    assert all((b, a) in there for a, b in there)  # and each once in the other: closed and oriented
    assert np.isfinite(mesh.vertices).all()
    assert mesh.volume_mm3 > 0
    assert mesh.face_areas_mm2.min() > 0
    assert 500 < len(mesh.faces) < 20_000
    # corners still differ after being stored in single precision, as mesh files do
    assert len(np.unique(mesh.vertices.astype(np.float32), axis=0)) == len(mesh.vertices)


@pytest.mark.parametrize("name", SIZES)
def test_one_body(parts: dict[str, Mesh], name: str) -> None:
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    faces = parts[name].faces
    n = len(parts[name].vertices)
    links = coo_matrix(
        (np.ones(2 * len(faces)), (np.repeat(faces[:, 0], 2), faces[:, 1:].ravel())), shape=(n, n)
    )
    assert connected_components(links)[0] == 1


@pytest.mark.parametrize("name", SIZES)
def test_sizes(parts: dict[str, Mesh], name: str) -> None:
    # a turned part's facets may leave its diameter short by 0.05 %
    assert parts[name].extents_mm == pytest.approx(SIZES[name], rel=5e-4, abs=1e-3)
    assert parts[name].bounds_mm[0, 2] == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("name", THROUGH_HOLES)
def test_through_holes(parts: dict[str, Mesh], name: str) -> None:
    """Euler's polyhedron formula: V − E + F = 2 − 2 × holes."""
    mesh = parts[name]
    euler = len(mesh.vertices) - len(mesh.faces) * 3 // 2 + len(mesh.faces)
    assert (2 - euler) // 2 == THROUGH_HOLES[name]


def test_volume_of_the_lens(parts: dict[str, Mesh]) -> None:
    cap = 50 - np.sqrt(50**2 - 20**2)
    by_hand = PI * 20**2 * 3 + PI * cap**2 * (3 * 50 - cap) / 3
    assert parts["magnifier_blank"].volume_mm3 == pytest.approx(by_hand, rel=2e-3)


def test_volume_of_the_dome(parts: dict[str, Mesh]) -> None:
    shell = 2 / 3 * PI * (60**3 - 57**3)
    flange = PI * 70**2 * 4 - PI * (60**2 * 4 - 4**3 / 3) - 6 * PI * 1.7**2 * 4
    assert parts["viewing_dome"].volume_mm3 == pytest.approx(shell + flange, rel=3e-3)


def test_volume_of_the_glow_block(parts: dict[str, Mesh]) -> None:
    """A box with all edges rounded by r is the inner box grown by a ball (Steiner's formula)."""
    a, b, c, r = 48, 48, 38, 6
    by_hand = a * b * c + 2 * r * (a * b + b * c + c * a) + PI * r**2 * (a + b + c) + 4 / 3 * PI * r**3
    assert parts["glow_block"].volume_mm3 == pytest.approx(by_hand, rel=2e-3)


def test_volume_of_the_frame(parts: dict[str, Mesh]) -> None:
    # corners lose (4 − π) r²; the eased edges lose (1 − π/4) 2² × the run of an edge, twice
    ring = (420 * 300 - (4 - PI) * 14**2 - 372 * 252 + (4 - PI) * 6**2) * 40
    step = (388 * 268 - (4 - PI) * 10**2 - 372 * 252 + (4 - PI) * 6**2) * 6
    eased = 2 * (1 - PI / 4) * 2**2 * (2 * (420 + 300) - 8 * 14 + 2 * PI * 14)
    feet = 4 * PI * 4.2**2 * 20
    assert parts["base_frame"].volume_mm3 == pytest.approx(ring - step - eased - feet, rel=1e-3)


def test_the_feeder_dish_holds_water_and_the_bottle_more(parts: dict[str, Mesh]) -> None:
    """Water poured in up to the rim: the hull of a turned bowl less the bowl itself bounds it from above."""
    for name, least_ml, most_ml in (("feeder_dish", 20, 60), ("water_tower", 250, 400)):
        solid = getattr(meshes, name)()
        room_ml = (solid.hull().volume() - solid.volume()) / 1000
        assert least_ml < room_ml < most_ml


def test_elbow_and_tee_can_be_lifted_out_of_an_open_mold(parts: dict[str, Mesh]) -> None:
    """No point of a section is overhung by the sections above it: seen from above, sections shrink upward."""
    for name in ("tunnel_elbow", "tunnel_tee", "nest_chamber"):
        solid = getattr(meshes, name)()
        height = parts[name].extents_mm[2]
        # the tray's rounded lower edges overhang by themselves, so it is looked at above them
        levels = np.linspace(1.6 if name == "nest_chamber" else 0.1, height - 0.1, 12)
        sections = [solid.slice(level) for level in levels]
        for below, above in pairwise(sections):
            # a square millimetre of slack for the facets of round walls
            assert (above - below).area() < 1.0


def test_the_same_bytes_every_time(parts: dict[str, Mesh]) -> None:
    script = (
        "from routecost.demo.demo_meshes import demo_meshes\n"
        "print(' '.join(mesh.content_hash for mesh in demo_meshes().values()))"
    )
    environment = {**os.environ, "PYTHONHASHSEED": "7"}
    printed = subprocess.run([sys.executable, "-c", script], env=environment, capture_output=True, text=True)
    assert printed.stdout.split() == [mesh.content_hash for mesh in parts.values()]
