"""Whatever is wrong with a build's folder gives one clear message each, all at once, and exit code 2."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from routecost.builds.build import CACHE_FOLDER, inspect_build
from routecost.cli import main
from routecost.demo.solids import rounded_block
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.reading.mesh_writer import write_mesh
from tests.shop.bad_tables import CASES, PARTS, TOML


def sound_build(folder: Path) -> Path:
    (folder / "meshes").mkdir(parents=True)
    write_mesh(Mesh.from_manifold(rounded_block(20, 20, 20, 2)), folder / "meshes" / "cube.stl")
    (folder / "build.toml").write_text(TOML)
    (folder / "parts.csv").write_text(PARTS)
    return folder


def spoil(folder: Path, changes: dict[str, str | bytes | None]) -> None:
    for name, text in changes.items():
        if text is None:
            (folder / name).unlink()
        elif isinstance(text, bytes):
            (folder / name).write_bytes(text)
        else:
            (folder / name).write_text(text)


def own_files(folder: Path) -> dict[Path, bytes]:
    """What the user put into the folder: what was read of a sound mesh may be kept beside it."""
    files = (p for p in folder.rglob("*") if p.is_file() and CACHE_FOLDER not in p.parts)
    return {p: p.read_bytes() for p in files}


def test_the_sound_build_is_sound(tmp_path: Path) -> None:
    build, faults = inspect_build(sound_build(tmp_path / "b"))
    assert build is not None
    assert not faults


@pytest.mark.parametrize(("name", "changes", "words"), CASES, ids=[case[0] for case in CASES])
def test_one_thing_wrong_gives_its_one_message(name, changes, words, tmp_path, capsys) -> None:
    folder = sound_build(tmp_path / "b")
    spoil(folder, changes)
    before = own_files(folder)
    assert main(["check", str(folder)]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert len(told.err.splitlines()) == 1, told.err
    for word in words:
        assert word in told.err
    assert "Traceback" not in told.err
    assert own_files(folder) == before


def test_everything_wrong_is_told_at_once(tmp_path, capsys) -> None:
    folder = sound_build(tmp_path / "b")
    (folder / "build.toml").write_text('name = "x"\nown_rate = -1\n')
    (folder / "parts.csv").write_text(
        "part,mesh,copies,clarity\ncube,nowhere.stl,0,glassy\ncube,cube.stl,1,any\n"
    )
    (folder / "stock.csv").write_text("resource,amount\ngold,1 g\n")
    assert main(["check", str(folder), "--json"]) == 2
    told = json.loads(capsys.readouterr().out)
    places = {(e["file"], e["where"]) for e in told["errors"]}
    assert {
        ("build.toml", "key own_rate"),
        ("parts.csv", "row 2, column copies"),
        ("parts.csv", "row 2, column clarity"),
        ("stock.csv", "row 2, column resource"),
    } <= places
    assert told["error"] == told["errors"][0]
