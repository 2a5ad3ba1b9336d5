"""The pieces of a part that is too large to print whole, as bodies to print."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from routecost.core.arrays import Vector
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.measuring.deposit import measure_deposit
from routecost.mesh.measuring.measures import Deposit, Fit, Pose
from routecost.mesh.measuring.poses import measure_pose
from routecost.mesh.measuring.shape import Measure, Shape
from routecost.mesh.measuring.splitting import split_mesh
from routecost.routes.printing.print_runs import Body


@dataclass(frozen=True)
class Piece:
    """What is measured of one piece of a split part."""

    pose: Pose
    deposit: Deposit


def measured_pieces(
    shape: Shape, fit: Fit, layer_mm: float, line_mm: float, walls: int, skins: int
) -> tuple[Piece, ...]:
    """The pieces of a fit, each in its own pose."""
    return shape.ask(
        PIECES,
        volume_mm=fit.volume_mm,
        ups=fit.piece_ups,
        layer_mm=layer_mm,
        line_mm=line_mm,
        walls=walls,
        skins=skins,
    )


def measure_pieces(
    mesh: Mesh,
    volume_mm: Vector,
    ups: Sequence[Vector],
    layer_mm: float,
    line_mm: float,
    walls: int,
    skins: int,
) -> tuple[Piece, ...]:
    """Pose and deposit of each piece of a mesh that is split for a build volume; `ups` are `Fit.piece_ups`."""
    return tuple(
        Piece(measure_pose(piece, up), measure_deposit(piece, up, layer_mm, line_mm, walls, skins))
        for piece, up in zip(split_mesh(mesh, volume_mm), ups, strict=True)
    )


PIECES = Measure("pieces", tuple[Piece, ...], measure_pieces)


def equal_share(whole: Body, pieces: int) -> Body:
    """A piece that has not been measured: its share of the whole's amounts, as long as a cube of that share."""
    return replace(
        whole,
        what="pieces",
        number=pieces,
        amount=whole.amount / pieces,
        supports=whole.supports / pieces,
        lengths=whole.lengths / pieces ** (1.0 / 3.0),
        inner_support_mm3=whole.inner_support_mm3 / pieces,
    )
