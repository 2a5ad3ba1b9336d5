"""A part's mesh and everything that can be asked of it; each answer is computed once and cached."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Generic, Protocol, TypeVar

from routecost.core.arrays import Vector
from routecost.core.cache.store import AnswerCache
from routecost.core.wording import short_repr
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.measuring.cavity import measure_cavity
from routecost.mesh.measuring.deposit import measure_deposit
from routecost.mesh.measuring.layers import measure_layers
from routecost.mesh.measuring.measures import Cavity, Deposit, Fit, Layers, Pose, Reach, Solid, Walls
from routecost.mesh.measuring.poses import measure_pose, measure_poses
from routecost.mesh.measuring.reach import measure_reach
from routecost.mesh.measuring.shell import measure_shell_deposit
from routecost.mesh.measuring.silhouette import Silhouette, measure_silhouette
from routecost.mesh.measuring.solid import measure_solid
from routecost.mesh.measuring.splitting import measure_fit
from routecost.mesh.measuring.walls import measure_walls

T = TypeVar("T")


@dataclass(frozen=True)
class Measure(Generic[T]):
    """Something that can be asked of a mesh. Answers are cached under its name and parameters."""

    name: str
    answer: type[T]
    """The type of an answer, as `AnswerCache.get` takes it."""
    function: Callable[..., T]
    """A pure function of a module: the mesh first, then the parameters by name."""


SOLID = Measure("solid", Solid, measure_solid)
WALLS = Measure("walls", Walls, measure_walls)
REACH = Measure("reach", Reach, measure_reach)
POSES = Measure("poses", tuple[Pose, ...], measure_poses)
POSE = Measure("pose", Pose, measure_pose)
LAYERS = Measure("layers", Layers, measure_layers)
DEPOSIT = Measure("deposit", Deposit, measure_deposit)
SHELL_DEPOSIT = Measure("shell_deposit", Deposit, measure_shell_deposit)
CAVITY = Measure("cavity", Cavity, measure_cavity)
FIT = Measure("fit", Fit, measure_fit)
SILHOUETTE = Measure("silhouette", Silhouette, measure_silhouette)


@dataclass(frozen=True)
class Question:
    """A measure with its parameters; it can be sent to another process."""

    measure: Measure[Any]
    params: Mapping[str, object] = field(default_factory=dict)

    def answered(self, mesh: Mesh) -> Any:
        return self.measure.function(mesh, **self.params)


def measure(mesh: Mesh, questions: Iterable[Question]) -> list[Any]:
    """The answers to questions about a sound mesh, in their order.

    >>> tetrahedron = Mesh.of([[0, 0, 0], [3, 0, 0], [0, 3, 0], [0, 0, 3]],
    ...                       [[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]])
    >>> solid, pose = measure(tetrahedron, [Question(SOLID), Question(POSE, {"up": (0.0, 0.0, 1.0)})])
    >>> round(solid.volume_mm3, 9), pose.height_mm
    (4.5, 3.0)
    """
    return [question.answered(mesh) for question in questions]


class MeshSource(Protocol):
    """A mesh that is read from its file when it is first looked at."""

    @property
    def content_hash(self) -> str: ...

    @property
    def mesh(self) -> Mesh: ...


@dataclass(frozen=True, eq=False)
class Shape:
    """What the routes see of a part: questions with numbers for answers."""

    source: Mesh | MeshSource
    kept: AnswerCache = field(default_factory=AnswerCache.in_memory)

    @property
    def mesh(self) -> Mesh:
        return self.source if isinstance(self.source, Mesh) else self.source.mesh

    @property
    def content_hash(self) -> str:
        return self.source.content_hash

    def ask(self, what: Measure[T], **params: object) -> T:
        """The cached answer, or the one computed now from the mesh."""

        def compute() -> T:
            (answer,) = measure(self.mesh, [Question(what, params)])
            found: T = answer
            return found

        return self.kept.get(what.answer, self.content_hash, what.name, params, compute)

    def __repr__(self) -> str:
        x, y, z = (f"{side:.4g}" for side in self.solid.extents_mm)
        facts = f"{x} x {y} x {z} mm", f"{self.solid.volume_mm3 / 1000.0:.4g} cm³"
        return short_repr(self, *facts, f"{self.solid.faces} faces")

    @property
    def solid(self) -> Solid:
        return self.ask(SOLID)

    @property
    def walls(self) -> Walls:
        return self.ask(WALLS)

    def reach(self, block_mm: float = 20.0, finger_mm: float = 8.0) -> Reach:
        return self.ask(REACH, block_mm=block_mm, finger_mm=finger_mm)

    @property
    def poses(self) -> tuple[Pose, ...]:
        """Candidate poses, mirror and rotation twins left out."""
        return self.ask(POSES)

    def pose(self, up: Vector) -> Pose:
        """One pose that the user fixed."""
        return self.ask(POSE, up=up)

    def layers(self, up: Vector, count: int = 200) -> Layers:
        return self.ask(LAYERS, up=up, count=count)

    def deposit(self, up: Vector, layer_mm: float, line_mm: float, walls: int, skins: int) -> Deposit:
        return self.ask(DEPOSIT, up=up, layer_mm=layer_mm, line_mm=line_mm, walls=walls, skins=skins)

    def shell_deposit(self, up: Vector, layer_mm: float, line_mm: float, wall_mm: float) -> Deposit:
        """The deposit of the hollow shell itself: every wall of it is solid."""
        cavity_mm3 = self.cavity(wall_mm, up).volume_mm3
        return self.ask(
            SHELL_DEPOSIT, up=up, layer_mm=layer_mm, line_mm=line_mm, wall_mm=wall_mm, cavity_mm3=cavity_mm3
        )

    def cavity(self, wall_mm: float, up: Vector) -> Cavity:
        return self.ask(CAVITY, wall_mm=wall_mm, up=up)

    def fit(self, volume_mm: Vector) -> Fit:
        return self.ask(FIT, volume_mm=volume_mm)

    def silhouette(self, up: Vector) -> Silhouette:
        """Outlines seen along a direction."""
        return self.ask(SILHOUETTE, up=up)
