"""Writes the demo: an invented exhibit whose tables ship with the program and whose meshes are generated."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from routecost.builds.build import Build, load_build
from routecost.core.errors import InputError
from routecost.core.files import write_for_user
from routecost.demo.demo_meshes import demo_meshes
from routecost.mesh.reading.mesh_writer import write_mesh

TABLES = Path(__file__).parent / "ant_habitat"


def write_demo(folder: Path, on_read: Callable[[str], None] | None = None) -> Build:
    """The demo build in `folder`, which is made if it is not there; an existing demo is left unchanged.

    Raises InputError where the folder holds anything else.
    """
    if folder.exists() and not folder.is_dir():
        raise InputError.of(
            str(folder), "", "is a file, not a folder", "name a folder that does not exist yet"
        )
    if not (folder / "build.toml").exists():
        if folder.exists() and any(folder.iterdir()):
            what = "is not empty and holds no build"
            raise InputError.of(str(folder), "", what, "name an empty or new folder")
        _write(folder)
    return load_build(folder, on_read)


def _write(folder: Path) -> None:
    (folder / "meshes").mkdir(parents=True, exist_ok=True)
    for name, mesh in demo_meshes().items():
        write_mesh(mesh, folder / "meshes" / f"{name}.stl")
    # build.toml last, so that a folder with one is complete
    for table in sorted(TABLES.iterdir(), key=lambda path: path.name == "build.toml"):
        if table.suffix in (".csv", ".toml"):
            write_for_user(folder / table.name, table.read_bytes())
