"""What is stored: answers about a handful of meshes made by code, and the plans of one part with their totals."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from routecost.core.cache import version
from routecost.core.cache.codec import plain_of
from routecost.costing.ranking import plans_of
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.measuring.shape import (
    CAVITY,
    DEPOSIT,
    FIT,
    LAYERS,
    POSE,
    POSES,
    REACH,
    SHELL_DEPOSIT,
    SILHOUETTE,
    SOLID,
    WALLS,
    Question,
    Shape,
    measure,
)
from routecost.routes.casting.shells import SHELL_COLUMNS, SHELL_PIECES
from routecost.routes.printing.print_pieces import PIECES
from routecost.routes.process.operation import ProcessPlan
from routecost.routes.process.part import Demands, Part
from routecost.routes.registry import own_routes
from tests.mesh.shapes import box
from tests.routes.stated import costs, drawn, shipped_shop, shipped_tariff

FILE = Path(__file__).with_name("golden_numbers.json")
UP = (0.0, 0.6, 0.8)
VOLUME = (60.0, 60.0, 50.0)
LONG = 6
"""Longer lists are stored as sums."""

QUESTIONS = [
    Question(SOLID),
    Question(WALLS),
    Question(REACH, {"block_mm": 20.0, "finger_mm": 8.0}),
    Question(POSES),
    Question(POSE, {"up": UP}),
    Question(LAYERS, {"up": UP, "count": 20}),
    Question(DEPOSIT, {"up": UP, "layer_mm": 1.0, "line_mm": 0.5, "walls": 2, "skins": 3}),
    Question(CAVITY, {"wall_mm": 2.0, "up": UP}),
    Question(SHELL_DEPOSIT, {"up": UP, "layer_mm": 1.0, "line_mm": 0.5, "wall_mm": 2.0, "cavity_mm3": 500.0}),
    Question(FIT, {"volume_mm": VOLUME}),
    Question(SILHOUETTE, {"up": UP}),
    Question(SHELL_COLUMNS, {"wall_mm": 2.0, "up": UP, "outside_mm3": 0.0}),
]


def meshes() -> dict[str, Mesh]:
    """Bodies that stay the same whatever is measured: made by the mesh kernel's own solids."""
    from manifold3d import Manifold

    cup = Manifold.cylinder(24.0, 15.0, 15.0, 40) - Manifold.cylinder(24.0, 12.0, 12.0, 40).translate(
        (0, 0, 3)
    )
    hook = Manifold.cube((40.0, 12.0, 8.0)) + Manifold.cube((8.0, 12.0, 30.0)).translate((32.0, 0.0, 0.0))
    return {
        "block": box(30.0, 20.0, 10.0),
        "cup": Mesh.from_manifold(cup),
        "hook": Mesh.from_manifold(hook),
        "ball": Mesh.from_manifold(Manifold.sphere(12.0, 32)),
    }


def measures() -> dict[str, Any]:
    """Answers in plain form by mesh and question."""
    found: dict[str, Any] = {}
    for name, mesh in meshes().items():
        answers = measure(mesh, QUESTIONS)
        found[name] = {q.measure.name: plain_of(a) for q, a in zip(QUESTIONS, answers, strict=True)}
    long = box(90.0, 20.0, 12.0)
    (fit,) = measure(long, [Question(FIT, {"volume_mm": VOLUME})])
    ups = {"volume_mm": VOLUME, "ups": fit.piece_ups}
    sizes = {"layer_mm": 1.0, "line_mm": 0.5}
    split = [
        Question(FIT, {"volume_mm": VOLUME}),
        Question(PIECES, {**ups, **sizes, "walls": 2, "skins": 3}),
        Question(SHELL_PIECES, {"volume_mm": VOLUME, "wall_mm": 2.0, **sizes}),
    ]
    found["long"] = {q.measure.name: plain_of(a) for q, a in zip(split, measure(long, split), strict=True)}
    return found


def plans() -> dict[str, Any]:
    """By route: how many plans there are, what all of them cost and use in all, and a digest of their texts."""
    part = Part("hook", "a hook", 4, Demands(clarity="translucent", finish="smooth"), Shape(meshes()["hook"]))
    made = plans_of(part, shipped_shop(), own_routes())
    found: dict[str, Any] = {}
    for route in own_routes():
        of_route = [plan for plan in made if plan.route == route.id]
        words = re.sub(r"[-+]?[0-9][0-9.,e]*", "#", repr([_words(plan) for plan in of_route]))
        found[route.id] = {
            "plans": len(of_route),
            "costs": costs(of_route, shipped_tariff()) if of_route else [],
            "usage": drawn(of_route),
            "waiting_min": [sum(op.waiting_min for op in plan.operations) for plan in of_route],
            "mass_g": [plan.mass_g for plan in of_route],
            "words": hashlib.sha256(words.encode()).hexdigest()[:16],
        }
    return found


def _words(plan: ProcessPlan) -> list[object]:
    """Texts and order of a plan; numbers in texts are compared elsewhere."""
    steps = [(op.name, [(use.resource, use.why) for use in op.usages]) for op in plan.operations]
    return [plan.alternative, steps, plan.verdict.texts]


KINDS: dict[str, Callable[[], Any]] = {"MEASURES_VERSION": measures, "PLANS_VERSION": plans}


def computed(kind: str) -> dict[str, Any]:
    """As it is stored: the version, and the numbers to 12 digits."""
    return {"version": getattr(version, kind), "numbers": json.loads(json.dumps(_rounded(KINDS[kind]())))}


def _rounded(value: Any) -> Any:
    if isinstance(value, float):
        return float(f"{value:.12g}")
    if isinstance(value, list):
        return _summary(value) if len(value) > LONG else [_rounded(item) for item in value]
    if isinstance(value, dict):
        return {key: _rounded(item) for key, item in value.items()}
    return value


def _summary(values: list[Any]) -> dict[str, float]:
    """A long list in three numbers that change with any of its numbers and with their order."""
    numbers = list(_numbers_in(values))
    order = sum((i + 1) * x for i, x in enumerate(numbers)) / (len(numbers) + 1)
    return {"count": len(numbers), "sum": _rounded(sum(numbers)), "order": _rounded(order)}


def _numbers_in(value: Any) -> Iterator[float]:
    if isinstance(value, float | int):
        yield float(value)
    elif isinstance(value, list | dict):
        for item in value.values() if isinstance(value, dict) else value:
            yield from _numbers_in(item)


def differences(one: Any, other: Any, relative: float, where: str = "") -> list[str]:
    """Where two values differ; numbers by more than a share, or by more than 1e-9 about zero."""
    if isinstance(one, float | int) and isinstance(other, float | int) and not isinstance(one, bool):
        near = abs(one - other) <= max(relative * max(abs(one), abs(other)), 1e-9)
        return [] if near else [f"{where}: {one} is now {other}"]
    if isinstance(one, dict) and isinstance(other, dict) and one.keys() == other.keys():
        pairs = [(f"{where}.{key}", one[key], other[key]) for key in one]
    elif isinstance(one, list) and isinstance(other, list) and len(one) == len(other):
        pairs = [(f"{where}[{i}]", a, b) for i, (a, b) in enumerate(zip(one, other, strict=True))]
    else:
        return [] if one == other else [f"{where}: {str(one)[:60]} is now {str(other)[:60]}"]
    return [found for place, a, b in pairs for found in differences(a, b, relative, place)]
