"""What a printer deposits for a hollow shell: loops and skins as thick as its wall, no core."""

from __future__ import annotations

from dataclasses import replace

from routecost.core.arrays import Vector
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.measuring.deposit import measure_deposit
from routecost.mesh.measuring.measures import Deposit, Moves


def measure_shell_deposit(
    mesh: Mesh, up: Vector, layer_mm: float, line_mm: float, wall_mm: float, cavity_mm3: float
) -> Deposit:
    """The deposit of the shell that leaves a cavity of this volume, from the sections of the full part.

    Loops and skins are whole numbers of lines and layers, so on slopes they come out up to some 7 % thicker or
    thinner than a true offset; lengths and volumes are scaled to it, so that shell and cavity add up to the part.
    Cutting the offset surface itself gives the same within a few per cent and takes a hundred times as long.
    """
    loops, layers = max(1, round(wall_mm / line_mm)), max(1, round(wall_mm / layer_mm))
    full = measure_deposit(mesh, up, layer_mm, line_mm, loops, layers)
    laid = full.wall_volume_mm3 + full.skin_volume_mm3
    share = max(mesh.volume_mm3 - cavity_mm3, 0.0) / laid if laid > 0.0 else 0.0
    return replace(
        full,
        wall_volume_mm3=full.wall_volume_mm3 * share,
        skin_volume_mm3=full.skin_volume_mm3 * share,
        core_volume_mm3=0.0,
        walls=_scaled(full.walls, share),
        skins=_scaled(full.skins, share),
        core=Moves((), ()),
        core_pieces=0.0,
        runs=tuple(replace(run, core_mm=0.0) for run in full.runs),
    )


def _scaled(moves: Moves, share: float) -> Moves:
    return Moves(moves.length_mm, tuple(count * share for count in moves.count))
