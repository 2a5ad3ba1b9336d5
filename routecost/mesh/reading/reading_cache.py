"""What reading a mesh file found, cached by the file's bytes; the mesh is read again when it is looked at."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

from routecost.core.cache.store import AnswerCache
from routecost.core.errors import InputError
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.reading.mesh_reader import Reading, bytes_of, reading_of


class MeshFile:
    """A mesh in a file: its content hash is known, its arrays are read when they are first asked for."""

    def __init__(
        self, path: Path, unit: str | None, default_unit: str, content_hash: str, mesh: Mesh | None = None
    ) -> None:
        self.content_hash = content_hash
        self._how = (path, unit, default_unit)
        self._mesh = mesh

    @property
    def mesh(self) -> Mesh:
        """InputError where the file is gone, or holds another mesh by now: answers would be stored under the
        wrong content hash."""
        if self._mesh is None:
            path, unit, default_unit = self._how
            mesh = reading_of(bytes_of(path, str(path)), path.suffix, str(path), unit, default_unit).mesh
            if mesh.content_hash != self.content_hash:
                what = "the file was changed while it was in use"
                raise InputError.of(str(path), "", what, "run again")
            self._mesh = mesh
        return self._mesh


@dataclass(frozen=True)
class ReadingNotes:
    """What a reading found beside the mesh itself; the fields are those of `Reading`."""

    content_hash: str
    unit: str
    unit_source: str
    faults: tuple[str, ...]
    repairs: tuple[str, ...]
    warnings: tuple[str, ...]

    @classmethod
    def of(cls, r: Reading) -> ReadingNotes:
        return cls(r.mesh.content_hash, r.unit, r.unit_source, r.faults, r.repairs, r.warnings)


@dataclass(frozen=True, eq=False)
class CachedReading:
    """A part in a file that has been read, now or earlier."""

    file: str
    source: MeshFile
    notes: ReadingNotes


def cached_reading(
    path: str | Path, kept: AnswerCache, unit: str | None = None, default_unit: str = "mm"
) -> CachedReading:
    """As `read_mesh`, but a file whose bytes were read before is not checked and mended again.

    Only successful readings are cached: errors are found and reported every time. Raises InputError.
    """
    file, path = str(path), Path(path)
    data = bytes_of(path, file)
    meshes: list[Mesh] = []

    def read() -> ReadingNotes:
        reading = reading_of(data, path.suffix, file, unit, default_unit)
        meshes.append(reading.mesh)
        return ReadingNotes.of(reading)

    params = {"suffix": path.suffix.lower(), "unit": unit, "default_unit": default_unit}
    notes = kept.get(ReadingNotes, hashlib.sha256(data).hexdigest()[:32], "reading-notes", params, read)
    mesh = meshes[0] if meshes else None
    return CachedReading(file, MeshFile(path, unit, default_unit, notes.content_hash, mesh), notes)
