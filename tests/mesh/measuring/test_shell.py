"""The deposit of a shell: what it weighs with its cavity, and against the offset surface cut layer by layer."""

from __future__ import annotations

import pytest

from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.measuring.cavity import measure_cavity, shell_mesh
from routecost.mesh.measuring.deposit import measure_deposit
from routecost.mesh.measuring.shell import measure_shell_deposit
from tests.mesh import shapes

UP = (0.0, 0.0, 1.0)
SHAPES = {
    "box": shapes.box(60, 40, 30),
    "cylinder": shapes.cylinder(15, 40),
    "sphere": shapes.sphere(20),
    "bracket": shapes.ell(50, 12, 30),
}


@pytest.mark.parametrize("name", SHAPES)
def test_shell_and_cavity_add_up_to_the_part(name: str) -> None:
    mesh = SHAPES[name]
    room = measure_cavity(mesh, 1.2, UP).volume_mm3
    laid = measure_shell_deposit(mesh, UP, 0.2, 0.4, 1.2, room)
    assert laid.volume_mm3 + room == pytest.approx(mesh.volume_mm3, rel=1e-9)
    assert laid.core_length_at_full_mm == 0.0


@pytest.mark.parametrize("name", SHAPES)
def test_path_is_that_of_the_offset_surface_cut_layer_by_layer(name: str) -> None:
    mesh = SHAPES[name]
    room = measure_cavity(mesh, 1.2, UP).volume_mm3
    laid = measure_shell_deposit(mesh, UP, 0.2, 0.4, 1.2, room)
    cut = measure_deposit(shell_mesh(mesh, 1.2), UP, 0.2, 0.4, walls=99, skins=0)
    path = laid.wall_length_mm + laid.skin_length_mm
    assert path == pytest.approx(
        cut.wall_length_mm + cut.skin_length_mm + cut.core_length_at_full_mm, rel=0.08
    )
    assert laid.volume_mm3 == pytest.approx(cut.volume_mm3, rel=0.02)


def test_a_part_without_room_is_printed_whole() -> None:
    thin: Mesh = shapes.plate(60, 2)
    laid = measure_shell_deposit(thin, UP, 0.2, 0.4, 1.2, 0.0)
    assert laid.volume_mm3 == pytest.approx(thin.volume_mm3, rel=1e-6)
