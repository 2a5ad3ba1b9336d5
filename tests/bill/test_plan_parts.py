"""Workers compute and this process stores: what they return is all there is to know, wherever they run."""

from __future__ import annotations

import pickle
from collections.abc import Iterator
from concurrent.futures import Executor, ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

import pytest

from routecost.bill import plan_parts as module
from routecost.bill.plan_parts import Planned, Task, plan_mesh, plan_parts
from routecost.core.cache.store import AnswerCache
from routecost.costing.plan_codec import plans_of_text
from routecost.costing.ranking import plans_of
from routecost.mesh.measuring.shape import Shape
from routecost.routes.process.part import Part
from routecost.routes.registry import own_routes
from tests.mesh.shapes import box
from tests.routes.stated import shipped_shop

BLOCK = box(30.0, 20.0, 10.0)
ROUTES = ("fdm", "mold-casting")


def part(id: str, cache: AnswerCache, *, height_mm: float = 10.0) -> Part:
    return Part(id, id, 2, shape=Shape(box(30.0, 20.0, height_mm), cache), routes=ROUTES)


def files(folder: Path) -> int:
    return sum(path.is_file() for path in folder.rglob("*"))


def test_a_worker_returns_answers_and_plans_and_changes_nothing(tmp_path: Path) -> None:
    cache, shop = AnswerCache.in_folder(tmp_path), shipped_shop()
    task = Task((part("a", cache), part("b", cache)), shop, {})
    found = plan_mesh(pickle.loads(pickle.dumps(task)))
    assert found == plan_mesh(task)
    assert files(tmp_path) == 0
    assert cache.answers(BLOCK.content_hash) == {}
    for one, text in zip(task.parts, found.plans, strict=True):
        assert plans_of_text(text) == plans_of(one, shop, own_routes())
    # all that planning asks is among the answers, so that nothing is measured again
    assert plan_mesh(replace(task, known=found.answers)) == Planned({}, found.plans)
    some = dict(list(found.answers.items())[::2])
    rest = plan_mesh(replace(task, known=some))
    assert {**some, **rest.answers} == found.answers
    assert not some.keys() & rest.answers.keys()


def test_a_known_answer_of_another_form_is_measured_and_returned() -> None:
    task = Task((part("a", AnswerCache.in_memory()),), shipped_shop(), {})
    found = plan_mesh(task)
    damaged = {key: [None] if "/solid" in key else plain for key, plain in found.answers.items()}
    again = plan_mesh(replace(task, known=damaged))
    assert {**damaged, **again.answers} == found.answers
    assert len(again.answers) == 1


@pytest.fixture
def threads() -> Iterator[Executor]:
    with ThreadPoolExecutor(2) as executor:
        yield executor


def test_what_workers_find_is_stored_here(
    tmp_path: Path, threads: Executor, monkeypatch: pytest.MonkeyPatch
) -> None:
    cache, shop, seen = AnswerCache.in_folder(tmp_path), shipped_shop(), list[str]()
    parts = [part("a", cache), part("b", cache, height_mm=12.0), part("c", cache)]
    found = plan_parts(parts, shop, own_routes(), progress=seen.append, executor=threads)
    assert found == [plans_of(one, shop, own_routes()) for one in parts]
    assert sorted(seen) == ["a", "b", "c"]

    def refuse(*_: object) -> None:
        raise AssertionError("measured or planned again")

    monkeypatch.setattr(module, "in_parallel", lambda work, tasks, **_: [refuse() for _ in tasks])
    later = AnswerCache.in_folder(tmp_path)
    again = [replace(one, shape=Shape(one.shape.source, later)) for one in parts if one.shape is not None]
    assert plan_parts(again, shop, own_routes()) == found


def test_parts_of_one_mesh_are_one_task(monkeypatch: pytest.MonkeyPatch) -> None:
    cache, tasks = AnswerCache.in_memory(), list[Task]()

    def look(work: object, found: list[Task], **_: object) -> None:
        tasks.extend(found)

    monkeypatch.setattr(module, "in_parallel", look)
    with pytest.raises(KeyError):  # nothing came back
        plan_parts(
            [part("a", cache), part("b", cache, height_mm=9.0), part("c", cache)],
            shipped_shop(),
            own_routes(),
        )
    assert [[one.id for one in task.parts] for task in tasks] == [["a", "c"], ["b"]]
