"""glTF 2.0, binary (GLB) or as text, through trimesh, after a check that the container is complete.

The standard fixes metres (glTF 2.0, section 3.4 "Coordinate System and Units"). trimesh skips what it
cannot read, so its triangles are counted against those of the file.
"""

from __future__ import annotations

import io
import json
from base64 import b64decode
from functools import partial
from typing import Any

import numpy as np

from routecost.core.errors import InputError
from routecost.mesh.reading.formats.raw_mesh import (
    EXPORT_AGAIN,
    Raw,
    check_finite,
    check_range,
    count_of,
    joined,
)

_JSON, _BIN = 0x4E4F534A, 0x004E4942
_TRIANGLES, _STRIP, _FAN = 4, 5, 6
_COMPONENT_BYTES = {5120: 1, 5121: 1, 5122: 2, 5123: 2, 5125: 4, 5126: 4}
_WIDTH = {"SCALAR": 1, "VEC2": 2, "VEC3": 3, "VEC4": 4}


def read_glb(data: bytes, file: str) -> Raw:
    """All triangles of the scene, each mesh in its place, in metres."""
    tree, chunk = _container(data, file)
    return _read(tree, chunk, data, "glb", file)


def read_gltf(data: bytes, file: str) -> Raw:
    """The same from JSON text that holds its data too, in base64."""
    try:
        tree = json.loads(data)
    except ValueError as error:
        raise InputError.of(file, "", f"the file is not JSON ({error})", EXPORT_AGAIN) from None
    if not isinstance(tree, dict) or not isinstance(tree.get("asset"), dict):
        raise InputError.of(file, "", "the JSON is no glTF: it has no asset", EXPORT_AGAIN)
    if not str(tree["asset"].get("version")).startswith("2."):
        what = f"this is glTF version {tree['asset'].get('version')}, only version 2 is read"
        raise InputError.of(file, "asset", what, EXPORT_AGAIN)
    return _read(tree, b"", data, "gltf", file)


def _read(tree: dict[str, Any], chunk: bytes, data: bytes, kind: str, file: str) -> Raw:
    try:
        _check_extensions(tree, file)
        expected = _check_primitives(tree, _buffers(tree, chunk, file), file)
        placed = _placed_triangles(tree, expected)
    except (AttributeError, IndexError, KeyError, TypeError, ValueError, RecursionError):
        raise InputError.of(file, "JSON", "it does not describe a scene", EXPORT_AGAIN) from None
    if not placed:
        what = f"the file has no triangles ({count_of(len(tree.get('meshes', [])), 'mesh', 'meshes')})"
        raise InputError.of(file, "", what, "export the surface of the part, as triangles")
    return _load(data, kind, file, placed)


def _container(data: bytes, file: str) -> tuple[dict[str, Any], bytes]:
    """The JSON tree and the binary chunk."""

    def refuse(byte: int, what: str) -> InputError:
        return InputError.of(file, f"byte {byte}", what, EXPORT_AGAIN)

    if data[:4] != b"glTF":
        raise refuse(0, f"a GLB begins with glTF, not {data[:4].decode('latin-1')!r}")
    if len(data) < 20:
        raise refuse(len(data), "the file ends within its header")
    version, length = (int.from_bytes(data[k : k + 4], "little") for k in (4, 8))
    if version != 2:
        raise refuse(4, f"this is glTF version {version}, only version 2 is read")
    if length != len(data):
        raise refuse(8, f"the header says the file has {length} bytes, it has {len(data)}")
    at, chunks = 12, dict[int, bytes]()
    while at < len(data):
        size, kind = (int.from_bytes(data[k : k + 4], "little") for k in (at, at + 4))
        if at + 8 + size > len(data):
            raise refuse(at, f"a chunk of {size} bytes reaches beyond the end of the file")
        chunks.setdefault(kind, data[at + 8 : at + 8 + size])
        at += 8 + size
    try:
        tree = json.loads(chunks[_JSON])
    except (KeyError, ValueError):
        raise refuse(12, "the file has no readable JSON chunk") from None
    if not isinstance(tree, dict):
        raise refuse(20, "the JSON chunk is no glTF")
    return tree, chunks.get(_BIN, b"")


def _check_extensions(tree: dict[str, Any], file: str) -> None:
    needed = [name for name in tree.get("extensionsRequired", []) if not name.startswith("KHR_materials")]
    needed = [name for name in needed if name not in ("KHR_texture_transform", "KHR_lights_punctual")]
    if needed:
        what = f"the mesh can only be read with {', '.join(needed)}"
        raise InputError.of(file, "extensionsRequired", what, "export it without compression")


def _buffers(tree: dict[str, Any], chunk: bytes, file: str) -> list[int]:
    """Bytes of each buffer that the file holds: the binary chunk, or base64 text. Other files are refused."""
    sizes = []
    for buffer in tree.get("buffers", []):
        uri = buffer.get("uri")
        if uri is not None and not str(uri).startswith("data:"):
            what = f"its data are in another file ({str(uri)[:40]})"
            raise InputError.of(file, "buffers", what, "export everything into one .glb")
        sizes.append(len(chunk if uri is None else b64decode(str(uri).partition(",")[2], validate=True)))
    return sizes


def _check_primitives(tree: dict[str, Any], buffers: list[int], file: str) -> list[int]:
    """Triangles that each mesh says it has; refuses data that reach beyond the file."""
    triangles = []
    for m, mesh in enumerate(tree.get("meshes", [])):
        total = 0
        for p, primitive in enumerate(mesh.get("primitives", [])):
            where = f"mesh {m}, primitive {p}"
            mode = primitive.get("mode", _TRIANGLES)
            if mode == _FAN:
                raise InputError.of(file, where, "the faces are triangle fans", "export them as triangles")
            if mode not in (_TRIANGLES, _STRIP):
                continue
            try:
                used = _check_accessor(tree, primitive["attributes"]["POSITION"], buffers)
                if "indices" in primitive:
                    used = _check_accessor(tree, primitive["indices"], buffers)
            except (KeyError, IndexError, TypeError):
                what = "its positions or indices are not described"
                raise InputError.of(file, where, what, EXPORT_AGAIN) from None
            except ValueError as error:
                raise InputError.of(file, where, str(error), EXPORT_AGAIN) from None
            if mode == _TRIANGLES and used % 3:
                raise InputError.of(file, where, f"{used} corners do not make triangles", EXPORT_AGAIN)
            total += used // 3 if mode == _TRIANGLES else max(used - 2, 0)
        triangles.append(total)
    return triangles


def _check_accessor(tree: dict[str, Any], number: int, buffers: list[int]) -> int:
    """How many values an accessor has; ValueError if they are not all there."""
    accessor = tree["accessors"][number]
    count = int(accessor["count"])
    if "sparse" in accessor or "bufferView" not in accessor:
        raise ValueError(f"accessor {number} is sparse, which is not read")
    view = tree["bufferViews"][accessor["bufferView"]]
    size = _COMPONENT_BYTES[accessor["componentType"]] * _WIDTH[accessor["type"]]
    stride = view.get("byteStride", size)
    end = accessor.get("byteOffset", 0) + (stride * (count - 1) + size if count else 0)
    if end > view["byteLength"]:
        raise ValueError(f"accessor {number} reaches {end - view['byteLength']} bytes beyond its buffer view")
    if view.get("byteOffset", 0) + view["byteLength"] > buffers[view["buffer"]]:
        raise ValueError(f"accessor {number} reaches beyond the end of the file's data")
    return count


def _load(data: bytes, kind: str, file: str, placed: int) -> Raw:
    import trimesh

    try:
        scene = trimesh.load_scene(io.BytesIO(data), file_type=kind, process=False, skip_materials=True)
        pieces = []
        for node in scene.graph.nodes_geometry:
            matrix, name = scene.graph[node]
            geometry = scene.geometry[name]
            if not isinstance(geometry, trimesh.Trimesh):
                continue
            corners = np.asarray(geometry.faces, dtype=np.int64)
            check_range(file, corners.reshape(-1), len(geometry.vertices), partial(_triangle_of, name))
            pieces.append((np.asarray(geometry.vertices), corners, matrix))
    except InputError:
        raise
    except Exception as error:  # whatever a damaged file makes the library raise
        what = f"the glTF data do not fit together ({type(error).__name__}: {error})"
        raise InputError.of(file, "", what, EXPORT_AGAIN) from None
    found = sum(len(corners) for _, corners, _ in pieces)
    if found != placed:
        what = f"the scene holds {placed} triangles, only {found} can be read"
        raise InputError.of(file, "", what, "export the part as STL or 3MF")
    points, faces = joined(pieces)
    check_finite(file, points, lambda k: f"vertex {k}")
    numbers = np.arange(1, found + 1)
    return Raw(points, faces, numbers, "triangle", unit="m", unit_is_fixed=True)


def _triangle_of(mesh: str, corner: int) -> str:
    return f"mesh {mesh}, triangle {corner // 3 + 1}"


def _placed_triangles(tree: dict[str, Any], expected: list[int]) -> int:
    """Triangles of all meshes as often as the scene places them."""
    scenes = tree.get("scenes")
    nodes = tree.get("nodes", [])
    if scenes is None:
        waiting = list(range(len(nodes)))
        children = {c for node in nodes for c in node.get("children", [])}
        waiting = [k for k in waiting if k not in children]
    else:
        waiting = list(scenes[tree.get("scene", 0)].get("nodes", []))
    total, seen = 0, set[int]()
    while waiting:
        number = waiting.pop()
        if number in seen:
            raise ValueError("nodes form a tree")
        seen.add(number)
        node = nodes[number]
        waiting += node.get("children", [])
        total += expected[node["mesh"]] if "mesh" in node else 0
    return total
