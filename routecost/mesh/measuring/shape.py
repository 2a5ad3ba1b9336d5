"""A part's mesh and everything that can be asked of it; each answer is measured once and kept."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TypeVar

from routecost.core.arrays import Vector
from routecost.core.cache.store import AnswerCache
from routecost.core.wording import short_repr
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.measuring.measures import Cavity, Deposit, Fit, Layers, Pose, Reach, Solid, Walls

T = TypeVar("T")


@dataclass(frozen=True, eq=False)
class Shape:
    """What the routes see of a part: questions with numbers for answers.

    The measuring functions are imported when a question is first asked, so that a run whose answers are
    all kept loads none of them.
    """

    mesh: Mesh
    kept: AnswerCache = field(default_factory=AnswerCache.in_memory)

    def __repr__(self) -> str:
        x, y, z = (f"{side:.4g}" for side in self.solid.extents_mm)
        facts = f"{x} x {y} x {z} mm", f"{self.solid.volume_mm3 / 1000.0:.4g} cm³"
        return short_repr(self, *facts, f"{self.solid.faces} faces")

    def _ask(self, kind: type[T], name: str, params: dict[str, object], measure: Callable[[], T]) -> T:
        return self.kept.get(kind, self.mesh.content_hash, name, params, measure)

    @property
    def solid(self) -> Solid:
        def measure() -> Solid:
            from routecost.mesh.measuring.solid import measure_solid

            return measure_solid(self.mesh)

        return self._ask(Solid, "solid", {}, measure)

    @property
    def walls(self) -> Walls:
        def measure() -> Walls:
            from routecost.mesh.measuring.walls import measure_walls

            return measure_walls(self.mesh)

        return self._ask(Walls, "walls", {}, measure)

    def reach(self, block_mm: float = 20.0, finger_mm: float = 8.0) -> Reach:
        def measure() -> Reach:
            from routecost.mesh.measuring.reach import measure_reach

            return measure_reach(self.mesh, block_mm=block_mm, finger_mm=finger_mm)

        return self._ask(Reach, "reach", {"block_mm": block_mm, "finger_mm": finger_mm}, measure)

    @property
    def poses(self) -> tuple[Pose, ...]:
        """Candidate poses, mirror and rotation twins left out."""

        def measure() -> tuple[Pose, ...]:
            from routecost.mesh.measuring.poses import measure_poses

            return measure_poses(self.mesh)

        return self._ask(tuple[Pose, ...], "poses", {}, measure)

    def pose(self, up: Vector) -> Pose:
        """One pose that the user fixed."""

        def measure() -> Pose:
            from routecost.mesh.measuring.poses import measure_pose

            return measure_pose(self.mesh, up)

        return self._ask(Pose, "pose", {"up": up}, measure)

    def layers(self, up: Vector, count: int = 200) -> Layers:
        def measure() -> Layers:
            from routecost.mesh.measuring.layers import measure_layers

            return measure_layers(self.mesh, up, count)

        return self._ask(Layers, "layers", {"up": up, "count": count}, measure)

    def deposit(self, up: Vector, layer_mm: float, line_mm: float, walls: int, skins: int) -> Deposit:
        def measure() -> Deposit:
            from routecost.mesh.measuring.deposit import measure_deposit

            return measure_deposit(self.mesh, up, layer_mm, line_mm, walls, skins)

        params: dict[str, object] = {
            "up": up, "layer_mm": layer_mm, "line_mm": line_mm, "walls": walls, "skins": skins,
        }  # fmt: skip
        return self._ask(Deposit, "deposit", params, measure)

    def shell_deposit(self, up: Vector, layer_mm: float, line_mm: float, wall_mm: float) -> Deposit:
        """The deposit of the hollow shell itself: every wall of it is solid."""

        def measure() -> Deposit:
            from routecost.mesh.measuring.shell import measure_shell_deposit

            room = self.cavity(wall_mm, up).volume_mm3
            return measure_shell_deposit(self.mesh, up, layer_mm, line_mm, wall_mm, room)

        params: dict[str, object] = {
            "up": up, "layer_mm": layer_mm, "line_mm": line_mm, "wall_mm": wall_mm,
        }  # fmt: skip
        return self._ask(Deposit, "shell_deposit", params, measure)

    def cavity(self, wall_mm: float, up: Vector) -> Cavity:
        def measure() -> Cavity:
            from routecost.mesh.measuring.cavity import measure_cavity

            return measure_cavity(self.mesh, wall_mm, up)

        return self._ask(Cavity, "cavity", {"wall_mm": wall_mm, "up": up}, measure)

    def fit(self, volume_mm: Vector) -> Fit:
        def measure() -> Fit:
            from routecost.mesh.measuring.splitting import measure_fit

            return measure_fit(self.mesh, volume_mm)

        return self._ask(Fit, "fit", {"volume_mm": volume_mm}, measure)
