"""What reading a mesh file gave is kept by the file's bytes; the mesh itself is read again when it is looked at."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property, partial
from pathlib import Path

from routecost.core.arrays import Floats, Ints
from routecost.core.cache.store import AnswerCache
from routecost.core.errors import InputError
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.reading.mesh_reader import Reading, bytes_of, reading_of


def cached_reading(
    path: str | Path, kept: AnswerCache, unit: str | None = None, default_unit: str = "mm"
) -> Reading:
    """The same as `read_mesh`; a file whose bytes were read before is not checked and mended again.

    Only what could be read is kept: what is wrong with a file is found and told every time.
    """
    file, path = str(path), Path(path)
    data = bytes_of(path, file)
    fresh: list[Reading] = []

    def read() -> _Known:
        fresh.append(reading_of(data, path.suffix, file, unit, default_unit))
        return _Known.of(fresh[0])

    params = {"suffix": path.suffix.lower(), "unit": unit, "default_unit": default_unit}
    known = kept.get(_Known, hashlib.sha256(data).hexdigest()[:32], "reading", params, read)
    if fresh:
        return fresh[0]
    again = partial(_read_again, path, unit, default_unit, known.content_hash)
    mesh = MeshOnFile(again, known.content_hash)
    return Reading(file, mesh, known.unit, known.unit_source, known.faults, known.repairs, known.warnings)


@dataclass(frozen=True)
class _Known:
    """A reading without its mesh."""

    content_hash: str
    unit: str
    unit_source: str
    faults: tuple[str, ...]
    repairs: tuple[str, ...]
    warnings: tuple[str, ...]

    @classmethod
    def of(cls, r: Reading) -> _Known:
        return cls(r.mesh.content_hash, r.unit, r.unit_source, r.faults, r.repairs, r.warnings)


class MeshOnFile(Mesh):
    """A mesh whose content hash is known, and whose arrays are read when they are first asked for."""

    def __init__(self, read: Callable[[], Mesh], content_hash: str) -> None:
        # past the frozen class, as its cached properties do
        self.__dict__.update(_read=read, content_hash=content_hash)

    @cached_property
    def _mesh(self) -> Mesh:
        read: Callable[[], Mesh] = self.__dict__["_read"]
        return read()

    @property
    def vertices(self) -> Floats:
        return self._mesh.vertices

    @property
    def faces(self) -> Ints:
        return self._mesh.faces


def _read_again(path: Path, unit: str | None, default_unit: str, content_hash: str) -> Mesh:
    """InputError where the file holds another mesh by now: its answers would be kept under the wrong name."""
    mesh = reading_of(bytes_of(path, str(path)), path.suffix, str(path), unit, default_unit).mesh
    if mesh.content_hash != content_hash:
        raise InputError.of(str(path), "", "the file was changed while it was in use", "run again")
    return mesh
