"""A mesh that was read before is the same without being read, and read again where anything is different."""

from __future__ import annotations

import pickle
from pathlib import Path

import numpy as np
import pytest

from routecost.core.cache.store import AnswerCache
from routecost.core.errors import InputError
from routecost.mesh.reading import reading_cache as module
from routecost.mesh.reading.mesh_reader import read_mesh
from routecost.mesh.reading.reading_cache import CachedReading, ReadingNotes, cached_reading
from tests.mesh.reading.bad_meshes import BAD_MESHES, BadMesh
from tests.mesh.reading.mesh_files import CUBE, FACES, QUADS, binary_stl, cube_3mf, obj

SOUND = {
    "cube.stl": binary_stl(CUBE[FACES]),
    "tiny.stl": binary_stl(CUBE[FACES] / 25.4),
    "inside_out.stl": binary_stl(CUBE[FACES][:, ::-1]),  # with a repair
    "cube.obj": obj(CUBE, QUADS).encode(),
    "cube.3mf": cube_3mf(),
}


def told(r: CachedReading) -> tuple[object, ...]:
    assert r.source.content_hash == r.notes.content_hash
    return (r.file, r.notes)


@pytest.mark.parametrize("name", SOUND)
@pytest.mark.parametrize("unit", [None, "in"])
def test_the_second_reading_tells_the_same_without_reading(
    name: str, unit: str | None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / name).write_bytes(SOUND[name])
    plain = read_mesh(tmp_path / name, unit, "cm")
    first = cached_reading(tmp_path / name, AnswerCache.in_folder(tmp_path / "kept"), unit, "cm")
    with monkeypatch.context() as patch:
        patch.setattr(module, "reading_of", None)  # nothing is read from here on
        second = cached_reading(tmp_path / name, AnswerCache.in_folder(tmp_path / "kept"), unit, "cm")
        assert (plain.file, ReadingNotes.of(plain)) == told(first) == told(second)
        sent = pickle.loads(pickle.dumps(second.source))  # as to a worker
        assert sent.content_hash == plain.mesh.content_hash
    assert first.source.mesh is first.source.mesh  # read once
    for mesh in (first.source.mesh, second.source.mesh, sent.mesh):
        assert np.array_equal(mesh.vertices, plain.mesh.vertices)
        assert np.array_equal(mesh.faces, plain.mesh.faces)
        assert mesh.volume_mm3 == plain.mesh.volume_mm3


def test_the_samples_warn_and_are_mended(tmp_path: Path) -> None:
    for name in SOUND:
        (tmp_path / name).write_bytes(SOUND[name])
    assert read_mesh(tmp_path / "cube.3mf", "in").warnings  # it states mm
    assert read_mesh(tmp_path / "inside_out.stl").repairs


def test_the_same_bytes_under_another_name_are_told_under_that_name(tmp_path: Path) -> None:
    kept = AnswerCache.in_folder(tmp_path / "kept")
    for name in ("a.stl", "b.stl"):
        (tmp_path / name).write_bytes(SOUND["tiny.stl"])
    first, again = (cached_reading(tmp_path / name, kept) for name in ("a.stl", "b.stl"))
    assert again.file.endswith("b.stl")
    assert told(again)[1:] == told(first)[1:]


def test_other_bytes_another_unit_or_another_format_are_another_reading(tmp_path: Path) -> None:
    kept, file = AnswerCache.in_folder(tmp_path / "kept"), tmp_path / "a.stl"
    file.write_bytes(SOUND["cube.stl"])
    assert cached_reading(file, kept).source.mesh.volume_mm3 == pytest.approx(1e3)
    assert cached_reading(file, kept, default_unit="cm").source.mesh.volume_mm3 == pytest.approx(1e6)
    assert cached_reading(file, kept, unit="cm").notes.unit_source == "given"
    assert cached_reading(file, kept).notes.unit_source == "assumed"
    file.write_bytes(binary_stl(CUBE[FACES] * 2))
    assert cached_reading(file, kept).source.mesh.volume_mm3 == pytest.approx(8e3)
    # the reader of another format must refuse the bytes as if nothing were kept
    file.rename(tmp_path / "a.off")
    with pytest.raises(InputError):
        cached_reading(tmp_path / "a.off", kept)


def test_a_file_changed_between_reading_and_looking_is_an_error(tmp_path: Path) -> None:
    file = tmp_path / "a.stl"
    file.write_bytes(SOUND["cube.stl"])
    cached_reading(file, AnswerCache.in_folder(tmp_path / "kept"))
    known = cached_reading(file, AnswerCache.in_folder(tmp_path / "kept"))
    file.write_bytes(SOUND["tiny.stl"])
    with pytest.raises(InputError, match="changed while it was in use"):
        known.source.mesh.vertices  # noqa: B018
    file.unlink()
    with pytest.raises(InputError, match="no such file"):
        known.source.mesh.faces  # noqa: B018


@pytest.mark.parametrize("case", BAD_MESHES[::6], ids=lambda case: case.name)
def test_what_is_wrong_is_told_every_time(case: BadMesh, tmp_path: Path) -> None:
    file = case.put(tmp_path)
    messages = []
    for _ in range(2):
        with pytest.raises(InputError) as caught:
            cached_reading(file, AnswerCache.in_folder(tmp_path / "kept"))
        messages.append(str(caught.value))
    with pytest.raises(InputError) as plain:
        read_mesh(file)
    assert messages == [str(plain.value)] * 2


def test_a_kept_reading_that_is_damaged_is_read_anew(tmp_path: Path) -> None:
    file = tmp_path / "a.stl"
    file.write_bytes(SOUND["tiny.stl"])
    first = told(cached_reading(file, AnswerCache.in_folder(tmp_path / "kept")))
    (kept,) = (tmp_path / "kept").rglob("reading-*.json")
    kept.write_bytes(kept.read_bytes().replace(b"mm", b"cm"))
    assert told(cached_reading(file, AnswerCache.in_folder(tmp_path / "kept"))) == first
