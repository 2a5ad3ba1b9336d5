"""The plans of every part: from the cache, else measured and planned, over several processes where that is faster.

Workers only compute: they get what is known and return what is new; this process stores it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from typing import Any

from routecost.bill.plan_cache import read_plans, write_plans
from routecost.core.cache.store import AnswerCache
from routecost.core.pool import in_parallel
from routecost.costing.plan_codec import plans_of_text, text_of
from routecost.costing.ranking import plans_of
from routecost.mesh.measuring.shape import Shape
from routecost.routes.process.operation import ProcessPlan, Route
from routecost.routes.process.part import Part
from routecost.routes.registry import own_routes
from routecost.shop.shop import Shop

Progress = Callable[[str], None]


def plan_parts(
    parts: Sequence[Part],
    shop: Shop,
    routes: Sequence[Route],
    *,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> list[list[ProcessPlan]]:
    """The same as `plans_of` for each part, with the plans of the program's own routes cached.

    Routes of the user's own may rest on anything and may not be importable: they are asked here, every time.
    `progress` is called with a part's id when it has been measured. Raises InputError.
    """
    ours = own_routes()
    if tuple(routes[: len(ours)]) != ours:
        return [plans_of(part, shop, routes) for part in parts]
    cached = {part.id: _from_cache(part, shop) for part in parts}
    planned = {id: plans for id, plans in cached.items() if plans is not None}

    def store(task: Task, found: Planned) -> None:
        # the parts of a build share one cache
        shapes[task.parts[0].id].kept.add(found.answers)
        for part, text in zip(task.parts, found.plans, strict=True):
            shape = shapes[part.id]
            write_plans(part, shape, shop, text)
            # through the text even when just planned: both runs then see the very same plans
            planned[part.id] = plans_of_text(text)
            if progress is not None:
                progress(part.id)

    todo = [part for part in parts if part.id not in planned]
    shapes = {part.id: part.shape for part in todo if part.shape is not None}
    in_parallel(plan_mesh, _tasks(todo, shop), expected_s=_expected_s, on_done=store, executor=executor)
    others = routes[len(ours) :]
    return [[*planned[part.id], *plans_of(part, shop, others)] for part in parts]


@dataclass(frozen=True)
class Task:
    """Parts that have one mesh, to be planned in a shop."""

    parts: tuple[Part, ...]
    shop: Shop
    known: Mapping[str, Any]
    """Answers about the mesh, as `AnswerCache.answers` gives them."""


@dataclass(frozen=True)
class Planned:
    """What a task found."""

    answers: dict[str, Any]
    """Those that were not known, or that were known in another form."""
    plans: tuple[str, ...]
    """Of each part, as `plan_codec` writes them."""


def plan_mesh(task: Task) -> Planned:
    """Plan the parts by the program's own routes, and measure what they ask."""
    cache, texts, hashes = AnswerCache.in_memory(task.known), [], set()
    for part in task.parts:
        assert part.shape is not None
        hashes.add(part.shape.content_hash)
        own = replace(part, shape=replace(part.shape, kept=cache))
        texts.append(text_of(plans_of(own, task.shop, own_routes())))
    (content_hash,) = hashes
    new = {key: x for key, x in cache.answers(content_hash).items() if x is not task.known.get(key)}
    return Planned(new, tuple(texts))


def _from_cache(part: Part, shop: Shop) -> list[ProcessPlan] | None:
    """None for a part that has to be planned from its mesh."""
    # a shape of another class may answer from something else than its mesh
    if part.shape is None or type(part.shape) is not Shape:
        return plans_of(part, shop, own_routes())
    return read_plans(part, part.shape, shop)


def _tasks(parts: Sequence[Part], shop: Shop) -> list[Task]:
    groups: dict[str, list[Part]] = {}
    for part in parts:
        assert part.shape is not None
        groups.setdefault(part.shape.content_hash, []).append(part)
    tasks = []
    for content_hash, alike in groups.items():
        assert alike[0].shape is not None
        known = alike[0].shape.kept.answers(content_hash)
        bare = (replace(p, shape=Shape(p.shape.source)) for p in alike if p.shape is not None)
        tasks.append(Task(tuple(bare), shop, known))
    return tasks


def _expected_s(task: Task) -> float:
    shape = task.parts[0].shape
    assert shape is not None
    if task.known:  # what little is still missing
        return 0.1 * len(task.parts)
    # about what the whole measure takes on one core
    return 1.5 + 4e-5 * len(shape.mesh.faces)
