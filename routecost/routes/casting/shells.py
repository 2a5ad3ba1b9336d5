"""The shell of a part that is filled with resin: what is printed of it, and what room it leaves."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from math import pi, sqrt

from routecost.core.arrays import Vector
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.measuring.cavity import shell_mesh
from routecost.mesh.measuring.measures import Cavity, Fit, Pose
from routecost.mesh.measuring.poses import measure_pose
from routecost.mesh.measuring.shape import Measure
from routecost.mesh.measuring.splitting import measure_fit
from routecost.routes.casting.shell_filling import Filling, plan_filling
from routecost.routes.printing.print_pieces import Piece, equal_share, measure_pieces
from routecost.routes.printing.print_runs import Body
from routecost.routes.printing.print_ways import Split, Subject, Way
from routecost.routes.process.part import Part
from routecost.shop.machines import Printer
from routecost.shop.materials import CastingResin
from routecost.shop.shop import Shop
from routecost.shop.standards import CastingStandards

_MOST_POSES = 3
"""Poses that a shell is measured in: each takes seconds."""
_ALL_WALL = 99
"""Loops enough to make any shell wall solid."""


@dataclass(frozen=True, eq=False)
class Shells:
    """The shell of one part, in any pose: what is printed of it and what room it leaves."""

    part: Part
    shop: Shop
    _fillings: dict[tuple[object, ...], Filling] = field(default_factory=dict)

    @cached_property
    def standards(self) -> CastingStandards:
        return self.shop.the(CastingStandards)

    @property
    def wall_mm(self) -> float:
        return self.standards.shell_wall_mm

    def cavity(self, up: Vector) -> Cavity:
        assert self.part.shape is not None
        return self.part.shape.cavity(self.wall_mm, up)

    def open_mm2(self, pose: Pose) -> float:
        """Area of the top that is left open: a flat top needs no roof, the resin makes the face."""
        sections = self.cavity(pose.up).area_by_height_mm2
        if not pose.flat_opening or not sections:
            return 0.0
        return min(max(sections[-2:]), pose.flat_opening_area_mm2)

    def opening_mm2(self, way: Way) -> float:
        """Pieces have open faces of their own; bonded, they are closed all round."""
        return self.open_mm2(way.pose) if way.joint.bonds == 0 else 0.0

    def resin_mm3(self, way: Way) -> float:
        """What one shell takes: the cavity and the missing roof, less the supports that stay inside."""
        inside = sum(
            run.body.inner_support_mm3 * run.standards.support_share * run.body.number for run in way.runs
        )
        room = self.cavity(way.pose.up).volume_mm3 + self.opening_mm2(way) * self.wall_mm
        return max(0.0, room - inside)

    def filling(self, way: Way, resin: CastingResin) -> Filling:
        up, volume = way.pose.up, self.resin_mm3(way)
        key = (up, volume, way.filament.id, resin.id)
        if key not in self._fillings:  # printers and plates do not matter to it
            found = plan_filling(self.cavity(up), volume, resin, way.filament, self.standards)
            self._fillings[key] = found
        return self._fillings[key]

    def entries(self, way: Way) -> int:
        """Ports and vents of one shell: one for each space and each top, the open top being one of them."""
        cavity = self.cavity(way.pose.up)
        wanted = max(cavity.spaces, cavity.peaks, 1)
        return wanted - 1 if self.opening_mm2(way) > 0.0 else wanted

    @cached_property
    def subject(self) -> Subject:
        shape = self.part.shape
        assert shape is not None
        # a pose with a flat top needs neither roof nor supports under it
        return Subject(
            shape,
            self._whole,
            self._split,
            shuns=lambda pose: 0.0 if pose.flat_opening else 1.0,
            most_poses=_MOST_POSES,
        )

    def _whole(self, pose: Pose, printer: Printer) -> Body:
        shape = self.part.shape
        assert shape is not None
        deposit = shape.shell_deposit(pose.up, printer.layer_mm, printer.line_mm, self.wall_mm)
        opened, cavity = self.open_mm2(pose), self.cavity(pose.up)
        roofless = deposit.volume_mm3 - opened * self.wall_mm
        return Body(
            pose,
            deposit,
            infill_share=1.0,
            what="shell",
            amount=max(0.1, roofless / deposit.volume_mm3) if deposit.volume_mm3 > 0.0 else 1.0,
            inner_support_mm3=self._inside_mm3(self._columns_mm3(pose), opened, cavity.height_mm),
            unreached_share=shape.reach().none if pose.contact_area_mm2 > 0.0 else 0.0,
        )

    def _inside_mm3(self, columns_mm3: float, opened_mm2: float, height_mm: float) -> float:
        """Support columns that are printed inside: those of the closed shell, less what stood under the
        open top, and none at all where only a lip is left around it that may sag.

        The lip is as wide as its area over the outline of the opening, which is no shorter than a circle's.
        """
        if opened_mm2 <= 0.0 or columns_mm3 <= 0.0:
            return columns_mm3
        left = max(0.0, columns_mm3 - opened_mm2 * height_mm)
        lip_mm = left / height_mm / (2.0 * sqrt(pi * opened_mm2))
        return 0.0 if lip_mm <= self.standards.shell_lip_mm else left

    def _columns_mm3(self, pose: Pose) -> float:
        """Support columns inside the closed shell."""
        shape = self.part.shape
        assert shape is not None
        return shape.ask(SHELL_COLUMNS, wall_mm=self.wall_mm, up=pose.up, outside_mm3=pose.support_volume_mm3)

    def _split(self, volume_mm: Vector, printer: Printer) -> Split:
        """The shell itself is cut, so that bonds are as wide as its wall."""
        shape = self.part.shape
        assert shape is not None
        cut = shape.ask(
            SHELL_PIECES,
            volume_mm=volume_mm,
            wall_mm=self.wall_mm,
            layer_mm=printer.layer_mm,
            line_mm=printer.line_mm,
        )
        if cut.fit.fits:
            return Split(cut.fit)
        if not cut.fit.piece_ups:
            whole = self._whole(shape.pose(cut.fit.up), printer)
            return Split(cut.fit, (equal_share(whole, cut.fit.pieces),))
        n = len(cut.pieces)
        bodies = tuple(
            Body(piece.pose, piece.deposit, 1.0, f"shell piece {i} of {n}")
            for i, piece in enumerate(cut.pieces, 1)
        )
        return Split(cut.fit, bodies)


@dataclass(frozen=True)
class ShellPieces:
    fit: Fit
    pieces: tuple[Piece, ...]


def measure_shell_columns(mesh: Mesh, wall_mm: float, up: Vector, outside_mm3: float) -> float:
    """Support columns (mm³) inside a closed shell: those of the shell less `outside_mm3`, those of the part."""
    return max(0.0, measure_pose(shell_mesh(mesh, wall_mm), up).support_volume_mm3 - outside_mm3)


def measure_shell_pieces(
    mesh: Mesh, volume_mm: Vector, wall_mm: float, layer_mm: float, line_mm: float
) -> ShellPieces:
    """How the shell of a mesh goes into a build volume, with its pieces where it has to be split."""
    shell = shell_mesh(mesh, wall_mm)
    fit = measure_fit(shell, volume_mm)
    if fit.fits or not fit.piece_ups:
        return ShellPieces(fit, ())
    return ShellPieces(fit, measure_pieces(shell, volume_mm, fit.piece_ups, layer_mm, line_mm, _ALL_WALL, 0))


SHELL_COLUMNS = Measure("shell-columns", float, measure_shell_columns)
SHELL_PIECES = Measure("shell-pieces", ShellPieces, measure_shell_pieces)
