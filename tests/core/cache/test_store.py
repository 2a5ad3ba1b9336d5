"""What is kept comes back exactly, survives damage and other writers, and is never of another version."""

from __future__ import annotations

import multiprocessing
import os
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecost.core.cache import store as kept_module
from routecost.core.cache.codec import plain_of, value_of
from routecost.core.cache.store import AnswerCache, user_folder
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.measuring.measures import Cavity, Deposit, Fit, Layers, Pose, Reach, Solid, Walls
from routecost.mesh.measuring.shape import Shape

HASH = "0123456789abcdef" * 2
KINDS = (Solid, Walls, Reach, Pose, Layers, Deposit, Cavity, Fit, tuple[Pose, ...])
floats = st.floats(allow_nan=False)


def fail() -> float:
    raise AssertionError("measured again")


def count_files(folder: Path) -> int:
    return sum(path.is_file() for path in folder.rglob("*"))


@given(st.one_of([st.from_type(kind).map(lambda value, kind=kind: (kind, value)) for kind in KINDS]))
def test_every_measure_makes_the_round_trip_through_json_unchanged(case: tuple[type, object]) -> None:
    import json

    kind, value = case
    again = value_of(kind, json.loads(json.dumps(plain_of(value))))
    assert repr(again) == repr(value)  # repr: NaN is not equal to itself, and -0.0 is to 0.0


@given(floats)
def test_floats_come_back_bit_for_bit_from_disk(number: float) -> None:
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        first = AnswerCache.in_folder(folder).get(float, HASH, "n", {}, lambda: number)
        second = AnswerCache.in_folder(folder).get(float, HASH, "n", {}, fail)
        assert first.hex() == second.hex() == number.hex()


def test_numpy_scalars_become_plain_numbers_already_in_the_first_answer() -> None:
    walls = Walls(np.float64(1.5), (np.float64(0), np.float64(1), np.float64(2)), np.float32(2), 3)  # type: ignore[arg-type]
    answer = AnswerCache.in_memory().get(Walls, HASH, "walls", {}, lambda: walls)
    assert (
        repr(answer)
        == "Walls(thinnest_mm=1.5, thinnest_at_mm=(0.0, 1.0, 2.0), typical_mm=2.0, thickest_mm=3.0)"
    )


def test_questions_are_told_apart_by_mesh_name_and_params(tmp_path: Path) -> None:
    asked = [
        (HASH, "a", {}),
        (HASH[::-1], "a", {}),
        (HASH, "b", {}),
        (HASH, "a", {"x": 1}),
        (HASH, "a", {"x": 2}),
        (HASH, "a", {"y": 1}),
        (HASH, "a", {"x": (1, 0, 0)}),
        (HASH, "a", {"x": True}),
    ]
    for _ in range(2):
        kept = AnswerCache.in_folder(tmp_path)
        answers = [kept.get(float, h, n, p, lambda i=i: float(i)) for i, (h, n, p) in enumerate(asked)]
        assert answers == [float(i) for i in range(len(asked))]


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ({"x": 1, "y": 2}, {"y": 2, "x": 1}),
        ({"x": 20}, {"x": 20.0}),
        ({"up": (0.0, -0.0, 1.0)}, {"up": (0, 0, 1)}),
        ({"up": np.array([0.0, 0, 1])}, {"up": (0, 0, 1)}),
        ({"n": np.int64(3)}, {"n": 3}),
    ],
)
def test_equal_params_are_the_same_question(first: dict[str, object], second: dict[str, object]) -> None:
    kept = AnswerCache.in_memory()
    kept.get(float, HASH, "a", first, lambda: 1.0)
    assert kept.get(float, HASH, "a", second, fail) == 1.0


def test_a_damaged_file_is_measured_anew_wherever_the_damage_is(tmp_path: Path) -> None:
    AnswerCache.in_folder(tmp_path).get(float, HASH, "a", {}, lambda: 123.456)
    (file,) = (path for path in tmp_path.rglob("*.json"))
    sound = file.read_bytes()
    damaged = [sound[:cut] for cut in range(len(sound))]
    damaged += [sound[:i] + bytes([sound[i] ^ 1]) + sound[i + 1 :] for i in range(len(sound))]
    damaged += [b"\xff" * 20, sound + b"0"]
    for bytes_ in damaged:
        file.write_bytes(bytes_)
        assert AnswerCache.in_folder(tmp_path).get(float, HASH, "a", {}, lambda: -1.0) == -1.0
        # and what was measured anew is kept again
        assert AnswerCache.in_folder(tmp_path).get(float, HASH, "a", {}, fail) == -1.0


def test_an_answer_of_another_kind_is_measured_anew(tmp_path: Path) -> None:
    @dataclass(frozen=True)
    class Older:
        block: float
        finger: float

    AnswerCache.in_folder(tmp_path).get(Older, HASH, "reach", {}, lambda: Older(0.5, 0.5))
    reach = Reach(0.2, 0.3, 0.5)
    assert AnswerCache.in_folder(tmp_path).get(Reach, HASH, "reach", {}, lambda: reach) == reach


def test_versions_do_not_mix(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    AnswerCache.in_folder(tmp_path).get(float, HASH, "a", {}, lambda: 1.0)
    monkeypatch.setattr(kept_module, "measures_key", lambda: "another")
    assert AnswerCache.in_folder(tmp_path).get(float, HASH, "a", {}, lambda: 2.0) == 2.0
    monkeypatch.undo()
    assert AnswerCache.in_folder(tmp_path).get(float, HASH, "a", {}, fail) == 1.0


def test_a_folder_that_cannot_be_made_leaves_memory(tmp_path: Path) -> None:
    in_the_way = tmp_path / "file"
    in_the_way.write_text("not a folder")
    kept = AnswerCache.in_folder(in_the_way / "cache")
    assert kept.get(float, HASH, "a", {}, lambda: 1.0) == 1.0
    assert kept.get(float, HASH, "a", {}, fail) == 1.0


def test_a_full_disk_leaves_memory_and_no_scraps(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(handle: int) -> None:
        raise OSError(28, "no space left on device")

    monkeypatch.setattr(os, "fsync", full)
    kept = AnswerCache.in_folder(tmp_path)
    assert kept.get(float, HASH, "a", {}, lambda: 1.0) == 1.0
    assert count_files(tmp_path) == 0


def test_what_fails_is_not_kept(tmp_path: Path) -> None:
    kept = AnswerCache.in_folder(tmp_path)
    with pytest.raises(AssertionError):
        kept.get(float, HASH, "a", {}, fail)
    assert kept.get(float, HASH, "a", {}, lambda: 1.0) == 1.0


def write_many(folder: str, start: int) -> None:
    kept = AnswerCache.in_folder(folder)
    for i in range(60):
        kept.get(float, HASH, "n", {"i": (start + i) % 90}, lambda i=i: float((start + i) % 90))


def test_writers_at_once_lose_nothing(tmp_path: Path) -> None:
    context = multiprocessing.get_context("spawn")
    writers = [context.Process(target=write_many, args=(str(tmp_path), start)) for start in (0, 30)]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
        assert writer.exitcode == 0
    kept = AnswerCache.in_folder(tmp_path)
    assert [kept.get(float, HASH, "n", {"i": i}, fail) for i in range(90)] == [float(i) for i in range(90)]
    assert count_files(tmp_path) == 90  # no scraps beside


def test_the_user_folder_follows_the_environment(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("ROUTECOST_CACHE", str(tmp_path))
    assert user_folder() == tmp_path
    monkeypatch.setenv("ROUTECOST_CACHE", "")
    assert user_folder().name == "routecost"


def test_a_shape_asks_each_question_once_even_over_runs(tmp_path: Path) -> None:
    corners = [[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)]
    cube = Mesh.of(
        corners,
        [
            [0, 1, 3],
            [0, 3, 2],
            [4, 6, 7],
            [4, 7, 5],
            [0, 4, 5],
            [0, 5, 1],
            [2, 3, 7],
            [2, 7, 6],
            [0, 2, 6],
            [0, 6, 4],
            [1, 5, 7],
            [1, 7, 3],
        ],
    )
    fit = Shape(cube, AnswerCache.in_folder(tmp_path)).fit((200, 200, 200))
    files = count_files(tmp_path)
    assert files == 1
    assert Shape(cube, AnswerCache.in_folder(tmp_path)).fit((200.0, 200.0, 200.0)) == fit
    assert count_files(tmp_path) == files


def test_answers_found_elsewhere_are_added_and_given_out_whole(tmp_path: Path) -> None:
    elsewhere = AnswerCache.in_memory()
    reach = elsewhere.get(Reach, HASH, "reach", {"block_mm": 20}, lambda: Reach(0.2, 0.3, 0.5))
    elsewhere.get(float, HASH[::-1], "n", {}, lambda: 2.0)
    here = AnswerCache.in_folder(tmp_path)
    here.get(float, HASH, "n", {}, lambda: 1.0)
    here.add(elsewhere.answers(HASH))
    for cache in (here, AnswerCache.in_folder(tmp_path)):
        assert cache.get(Reach, HASH, "reach", {"block_mm": 20.0}, fail) == reach  # type: ignore[arg-type]
        assert sorted(key.split("/")[1].split("-")[0] for key in cache.answers(HASH)) == ["n", "reach"]
        assert cache.answers(HASH[::-1]) == {}
