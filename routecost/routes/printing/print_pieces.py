"""The pieces of a part that is too large to print whole, as bodies to print."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.measuring.measures import Deposit, Fit, Pose
from routecost.mesh.measuring.shape import Shape
from routecost.routes.printing.print_runs import Body


@dataclass(frozen=True)
class Piece:
    """What is measured of one piece of a split part."""

    pose: Pose
    deposit: Deposit


def measured_pieces(
    shape: Shape, fit: Fit, layer_mm: float, line_mm: float, walls: int, skins: int
) -> tuple[Piece, ...]:
    """The pieces of a fit, each in its own pose; measured once and kept."""

    def measure() -> tuple[Piece, ...]:
        from routecost.mesh.measuring.splitting import split_mesh

        return pieces_of(split_mesh(shape.mesh, fit.volume_mm), fit, layer_mm, line_mm, walls, skins)

    params: dict[str, object] = {
        "volume_mm": fit.volume_mm, "layer_mm": layer_mm, "line_mm": line_mm, "walls": walls, "skins": skins,
    }  # fmt: skip
    kind: type[tuple[Piece, ...]] = tuple[Piece, ...]
    return shape.kept.get(kind, shape.mesh.content_hash, "pieces", params, measure)


def pieces_of(
    meshes: Sequence[Mesh], fit: Fit, layer_mm: float, line_mm: float, walls: int, skins: int
) -> tuple[Piece, ...]:
    """Pose and deposit of each of the meshes that a fit counts."""
    shapes = [Shape(mesh) for mesh in meshes]
    return tuple(
        Piece(one.pose(up), one.deposit(up, layer_mm, line_mm, walls, skins))
        for one, up in zip(shapes, fit.piece_ups, strict=True)
    )


def equal_share(whole: Body, pieces: int) -> Body:
    """A piece that nobody has cut: its share of the whole's amounts, as long as a cube of that share."""
    return replace(
        whole,
        what="pieces",
        number=pieces,
        amount=whole.amount / pieces,
        supports=whole.supports / pieces,
        lengths=whole.lengths / pieces ** (1.0 / 3.0),
        inner_support_mm3=whole.inner_support_mm3 / pieces,
    )
