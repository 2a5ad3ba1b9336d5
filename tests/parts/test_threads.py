"""Threads change no answer, and workers start none."""

from __future__ import annotations

import pytest

from routecost.parts import distance
from routecost.parts.parallel import in_parallel
from routecost.parts.threads import MOST_THREADS, usable_threads
from routecost.parts.walls import measure_walls
from tests.parts import shapes


def threads_here(_: int) -> int:
    return usable_threads()


@pytest.mark.parametrize("name", ["sponge", "drilled", "knot"])
def test_the_same_answers_whatever_the_number_of_threads(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    mesh = getattr(shapes, name)()
    found = set()
    for count in (1, 2, 5):
        monkeypatch.setattr(distance, "usable_threads", lambda count=count: count)
        found.add(repr(measure_walls(mesh)))
    assert len(found) == 1


def test_processes_that_fill_the_cores_start_no_threads() -> None:
    assert in_parallel(threads_here, [1, 2], workers=2, expected_s=lambda task: 60.0) == [1, 1]
    assert 1 <= usable_threads() <= MOST_THREADS
