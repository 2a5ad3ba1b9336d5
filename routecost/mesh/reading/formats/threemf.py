"""3MF: a ZIP of XML models with a unit, objects, components of objects, and the items to be built.

Read after the 3MF Core Specification (chapters 3 and 4) and the `path` of the Production Extension, not
through trimesh: that skips a component whose object is missing, and takes support structures for the part.
"""

from __future__ import annotations

import io
import posixpath
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from routecost.core.arrays import Floats, Ints
from routecost.core.errors import InputError
from routecost.mesh.reading.formats.raw_mesh import (
    EXPORT_AGAIN,
    Raw,
    check_finite,
    check_range,
    count_of,
    joined,
)
from routecost.mesh.reading.formats.xml_tree import local_name, xml_root

_UNITS = {"micron": "µm", "millimeter": "mm", "centimeter": "cm", "inch": "in", "foot": "ft", "meter": "m"}
_SOLID_TYPES = {"model", "solidsupport"}
_MODEL_TYPE = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
_MOST_BYTES = 4 << 30  # a ZIP can say that it holds far more than any machine


@dataclass
class _Object:
    type: str
    vertices: Floats | None = None
    faces: Ints | None = None
    components: list[tuple[str, str, Floats]] = field(default_factory=list)
    """Model path, object id, transform (4, 3)."""


def read_3mf(data: bytes, file: str) -> Raw:
    """All objects of all build items, each in its place."""
    archive = _open(data, file)
    package = _Package(archive, file)
    root = package.root_path()
    items, unit = package.load(root)
    if not items:
        raise InputError.of(file, root, "the model has no item to build", "export the part again")
    pieces: list[tuple[Floats, Ints, Floats]] = []
    skipped: dict[str, int] = {}
    for path, number, transform in items:
        package.collect(path, number, transform, pieces, skipped, ())
    if not pieces:
        what = "none of the items to build holds a mesh"
        what += f" of type model ({', '.join(sorted(skipped))})" if skipped else ""
        raise InputError.of(file, root, what, "export the part as a solid")
    vertices, faces = joined(pieces)
    numbers = np.arange(1, len(faces) + 1)
    warnings = tuple(
        f"{count_of(n, 'object')} of type {kind} left out: no part" for kind, n in sorted(skipped.items())
    )
    return Raw(vertices, faces, numbers, "triangle", unit, warnings=warnings)


def _open(data: bytes, file: str) -> zipfile.ZipFile:
    try:
        archive = zipfile.ZipFile(io.BytesIO(data))
        broken = (
            archive.testzip() if sum(i.file_size for i in archive.infolist()) <= _MOST_BYTES else "too large"
        )
    except (zipfile.BadZipFile, OSError, ValueError, RuntimeError, NotImplementedError, EOFError) as error:
        raise InputError.of(
            file, "", f"a 3MF is a ZIP archive, this is none ({error})", EXPORT_AGAIN
        ) from None
    except Exception as error:  # zlib raises its own
        raise InputError.of(file, "", f"the ZIP archive is damaged ({error})", EXPORT_AGAIN) from None
    if broken == "too large":
        raise InputError.of(file, "", "the archive unpacks to more than 4 GB", "export a coarser mesh")
    if broken:
        raise InputError.of(file, broken, "its checksum is wrong: the archive is damaged", EXPORT_AGAIN)
    return archive


class _Package:
    def __init__(self, archive: zipfile.ZipFile, file: str) -> None:
        self.archive, self.file = archive, file
        self.names = {name.lower().lstrip("/"): name for name in archive.namelist()}
        self.objects: dict[tuple[str, str], _Object] = {}
        self.loaded: set[str] = set()

    def root_path(self) -> str:
        """The model that the package's relations name, or the usual place."""
        relations = self.names.get("_rels/.rels")
        targets = []
        if relations is not None:
            for node in self._parse(relations).iter("{*}Relationship"):
                if node.get("Type") == _MODEL_TYPE:
                    targets.append(node.get("Target", ""))
        for path in [*targets, "3D/3dmodel.model"]:
            if _key(path) in self.names:
                return _key(path)
        named = f"{targets[0]!r}, which the package names," if targets else "3D/3dmodel.model"
        raise InputError.of(self.file, "", f"the archive has no model: {named} is missing", EXPORT_AGAIN)

    def load(self, path: str) -> tuple[list[tuple[str, str, Floats]], str]:
        """Reads one model file into `objects`; its build items and unit."""
        self.loaded.add(path)
        root = self._parse(self.names[path])
        if local_name(root) != "model":
            raise InputError.of(
                self.file, path, f"found <{local_name(root)}> where <model> belongs", EXPORT_AGAIN
            )
        unit = root.get("unit", "millimeter")
        if unit not in _UNITS:
            what, mend = f"the unit {unit!r} is none of 3MF", f"write one of {', '.join(_UNITS)}"
            raise InputError.of(self.file, path, what, mend)
        for node in root.iterfind("{*}resources/{*}object"):
            number = node.get("id", "")
            self.objects[path, number] = self._object(node, path, number)
        items = []
        for node in root.iterfind("{*}build/{*}item"):
            items.append((self._path(node, path), node.get("objectid", ""), self._transform(node, path)))
        return items, _UNITS[unit]

    def _parse(self, name: str) -> Any:
        return xml_root(self.archive.read(name), self.file, name)

    def _object(self, node: Any, path: str, number: str) -> _Object:
        made = _Object(node.get("type", "model"))
        mesh = node.find("{*}mesh")
        where = f"{path}, object {number}"
        if mesh is not None:
            made.vertices = self._numbers(mesh, "vertices", "vertex", "xyz", np.float64, where)
            made.faces = self._numbers(mesh, "triangles", "triangle", ("v1", "v2", "v3"), np.int64, where)
            check_finite(self.file, made.vertices, lambda k: f"{where}, vertex {k}")
            corners = made.faces.reshape(-1)
            check_range(self.file, corners, len(made.vertices), lambda k: f"{where}, triangle {k // 3 + 1}")
            if not len(made.faces) and made.type in _SOLID_TYPES:
                raise InputError.of(self.file, where, "the mesh has no triangles", "export the part again")
        for component in node.iterfind("{*}components/{*}component"):
            where_to = self._path(component, path)
            made.components.append(
                (where_to, component.get("objectid", ""), self._transform(component, path))
            )
        return made

    def _numbers(
        self, mesh: Any, listed: str, element: str, keys: Sequence[str], number: Any, where: str
    ) -> Any:
        """Three attributes of all elements in a list, (n, 3)."""
        # one query a column: a look-up for each attribute takes three times as long
        namespace = mesh.tag.rpartition("}")[0][1:]
        path = f"m:{listed}/m:{element}" if namespace else f"{listed}/{element}"
        names = {"m": namespace} if namespace else None
        columns = [mesh.xpath(f"{path}/@{key}", namespaces=names, smart_strings=False) for key in keys]
        whole = len(columns[0]) == int(mesh.xpath(f"count({path})", namespaces=names))
        if whole and len(columns[0]) == len(columns[1]) == len(columns[2]):
            try:
                return np.stack([np.array(column, dtype="S").astype(number) for column in columns], axis=1)
            except (ValueError, OverflowError):
                pass
        for node in mesh.iterfind(f"{{*}}{listed}/{{*}}{element}"):
            at = f"{where}, line {node.sourceline}"
            for key in keys:
                text = node.get(key)
                if text is None:
                    raise InputError.of(self.file, at, f"<{element}> lacks {key}", EXPORT_AGAIN)
                try:
                    number(text)
                except (ValueError, OverflowError):
                    what = (
                        f"{key}={text[:30]!r} is not a {'number' if number is np.float64 else 'whole number'}"
                    )
                    raise InputError.of(self.file, at, what, EXPORT_AGAIN) from None
        raise InputError.of(self.file, where, f"the {listed} cannot be read", EXPORT_AGAIN)

    def _path(self, node: Any, path: str) -> str:
        """The model file that a reference points into: this one, unless a `path` attribute names another."""
        for key, value in node.attrib.items():
            if key.rpartition("}")[2] == "path":
                return _key(value)
        return path

    def _transform(self, node: Any, path: str) -> Floats:
        text = node.get("transform")
        if text is None:
            return np.vstack([np.eye(3), np.zeros(3)])
        try:
            matrix = np.array(text.split(), dtype=np.float64).reshape(4, 3)
        except ValueError:
            matrix = np.full((4, 3), np.nan)
        if not np.isfinite(matrix).all():
            what = f"the transform {text[:40]!r} is not twelve numbers"
            raise InputError.of(self.file, f"{path}, line {node.sourceline}", what, EXPORT_AGAIN)
        return matrix

    def collect(
        self,
        path: str,
        number: str,
        transform: Floats,
        pieces: list[tuple[Floats, Ints, Floats]],
        skipped: dict[str, int],
        above: tuple[tuple[str, str], ...],
    ) -> None:
        """Adds the meshes of an object and its components, moved to where they belong."""
        here = (path, number)
        if path not in self.loaded:
            if path not in self.names:
                raise InputError.of(
                    self.file, path, "the package refers to this model and lacks it", EXPORT_AGAIN
                )
            self.load(path)
        made = self.objects.get(here)
        if made is None:
            what = f"object {number!r} is to be built, but the model has no such object"
            raise InputError.of(self.file, path, what, EXPORT_AGAIN)
        if here in above:
            raise InputError.of(
                self.file, f"{path}, object {number}", "the object contains itself", EXPORT_AGAIN
            )
        if made.type not in _SOLID_TYPES:
            skipped[made.type] = skipped.get(made.type, 0) + 1
            return
        if made.vertices is not None and made.faces is not None:
            pieces.append((made.vertices, made.faces, transform.T))
        for to, component, inner in made.components:
            placed = np.vstack([inner[:3] @ transform[:3], inner[3] @ transform[:3] + transform[3]])
            self.collect(to, component, placed, pieces, skipped, (*above, here))


def _key(path: str) -> str:
    return posixpath.normpath(path.lower().lstrip("/"))
