"""Mesh files written by hand for the tests, after the formats' own descriptions, and by the reference library."""

from __future__ import annotations

import io
import json
import struct
import zipfile
from base64 import b64encode
from collections.abc import Callable
from functools import partial

import numpy as np
import trimesh

from routecost.core.arrays import Floats, Ints
from routecost.mesh.geometry.mesh import Mesh

CUBE = np.array([[x, y, z] for x in (0, 10) for y in (0, 10) for z in (0, 10)], dtype=np.float64)
QUADS = [[0, 1, 3, 2], [4, 6, 7, 5], [0, 4, 5, 1], [2, 3, 7, 6], [0, 2, 6, 4], [1, 5, 7, 3]]
FACES = np.array([[q[a] for a in half] for q in QUADS for half in ((0, 1, 2), (0, 2, 3))])


def binary_stl(triangles: Floats, header: bytes = b"", count: int | None = None) -> bytes:
    facets = np.zeros(
        len(triangles), dtype=[("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")]
    )
    facets["corners"] = triangles
    return (
        header.ljust(80, b"\0")
        + struct.pack("<I", len(facets) if count is None else count)
        + facets.tobytes()
    )


def ascii_stl(triangles: Floats, name: str = "part") -> str:
    text = [f"solid {name}"]
    for triangle in triangles:
        text += ["facet normal 0 0 0", "outer loop"]
        text += ["vertex {!r} {!r} {!r}".format(*(float(c) for c in corner)) for corner in triangle]
        text += ["endloop", "endfacet"]
    return "\n".join([*text, f"endsolid {name}", ""])


def off(vertices: Floats, polygons: list[list[int]] | Ints) -> str:
    lines = ["OFF", f"{len(vertices)} {len(polygons)} 0"]
    lines += [" ".join(repr(float(c)) for c in v) for v in vertices]
    lines += [" ".join(str(int(c)) for c in (len(p), *p)) for p in polygons]
    return "\n".join([*lines, ""])


def obj(vertices: Floats, polygons: list[list[int]] | Ints) -> str:
    lines = ["v " + " ".join(repr(float(c)) for c in v) for v in vertices]
    lines += ["f " + " ".join(str(int(c) + 1) for c in p) for p in polygons]
    return "\n".join([*lines, ""])


def ascii_ply(vertices: Floats, polygons: list[list[int]] | Ints) -> str:
    lines = ["ply", "format ascii 1.0", f"element vertex {len(vertices)}"]
    lines += [f"property double {axis}" for axis in "xyz"]
    lines += [f"element face {len(polygons)}", "property list uchar int vertex_indices", "end_header"]
    lines += [" ".join(repr(float(c)) for c in v) for v in vertices]
    lines += [" ".join(str(int(c)) for c in (len(p), *p)) for p in polygons]
    return "\n".join([*lines, ""])


def binary_ply(vertices: Floats, polygons: list[list[int]] | Ints, order: str = "<") -> bytes:
    name = {"<": "little", ">": "big"}[order]
    head = f"ply\nformat binary_{name}_endian 1.0\nelement vertex {len(vertices)}\n"
    head += "".join(f"property double {axis}\n" for axis in "xyz")
    head += f"element face {len(polygons)}\nproperty list uchar int vertex_indices\nend_header\n"
    body = vertices.astype(order + "f8").tobytes()
    body += b"".join(struct.pack(f"{order}B{len(p)}i", len(p), *(int(c) for c in p)) for p in polygons)
    return head.encode() + body


def mesh_xml(vertices: Floats, faces: Ints) -> str:
    v = "".join('<vertex x="{!r}" y="{!r}" z="{!r}"/>\n'.format(*(float(c) for c in p)) for p in vertices)
    t = "".join('<triangle v1="{}" v2="{}" v3="{}"/>\n'.format(*f) for f in faces)
    return f"<mesh><vertices>\n{v}</vertices><triangles>\n{t}</triangles></mesh>"


def model_xml(objects: str, items: str, unit: str = ' unit="millimeter"') -> str:
    space = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
    return f'<model{unit} xmlns="{space}"><resources>{objects}</resources><build>{items}</build></model>'


def threemf(model: str | None, extra: dict[str, str] | None = None) -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        if model is not None:
            archive.writestr("3D/3dmodel.model", model)
        for name, text in (extra or {}).items():
            archive.writestr(name, text)
    return made.getvalue()


def cube_3mf(**kinds: str) -> bytes:
    """A cube as object 1; keyword arguments replace pieces of the model."""
    objects = kinds.get("objects", f'<object id="1" type="model">{mesh_xml(CUBE, FACES)}</object>')
    return threemf(model_xml(objects, kinds.get("items", '<item objectid="1"/>'), kinds.get("unit", "")))


def glb(tree: object, buffer: bytes) -> bytes:
    text = json.dumps(tree).encode()
    text += b" " * (-len(text) % 4)
    buffer += b"\0" * (-len(buffer) % 4)
    chunks = (
        struct.pack("<II", len(text), 0x4E4F534A)
        + text
        + struct.pack("<II", len(buffer), 0x004E4942)
        + buffer
    )
    return struct.pack("<4sII", b"glTF", 2, 12 + len(chunks)) + chunks


def cube_glb(vertices: Floats = CUBE, faces: Ints = FACES, nodes: object = None, mode: int = 4) -> bytes:
    return glb(*gltf_tree(vertices, faces, nodes, mode))


def gltf(vertices: Floats = CUBE, faces: Ints = FACES) -> bytes:
    """The text form, its data in base64."""
    tree, buffer = gltf_tree(vertices, faces)
    uri = "data:application/octet-stream;base64," + b64encode(buffer).decode()
    return json.dumps(tree | {"buffers": [{"byteLength": len(buffer), "uri": uri}]}).encode()


def gltf_tree(
    vertices: Floats, faces: Ints, nodes: object = None, mode: int = 4
) -> tuple[dict[str, object], bytes]:
    points, corners = vertices.astype("<f4").tobytes(), faces.astype("<u4").tobytes()
    views = [(0, len(points)), (len(points), len(corners))]
    return {
        "asset": {"version": "2.0"},
        "scene": 0,
        "scenes": [{"nodes": [0]}],
        "nodes": nodes or [{"mesh": 0}],
        "meshes": [{"primitives": [{"attributes": {"POSITION": 0}, "indices": 1, "mode": mode}]}],
        "accessors": [
            {"bufferView": 0, "componentType": 5126, "count": len(vertices), "type": "VEC3"},
            {"bufferView": 1, "componentType": 5125, "count": faces.size, "type": "SCALAR"},
        ],
        "bufferViews": [{"buffer": 0, "byteOffset": at, "byteLength": size} for at, size in views],
        "buffers": [{"byteLength": len(points) + len(corners)}],
    }, points + corners


def dae(
    vertices: Floats = CUBE,
    polygons: list[list[int]] | Ints = FACES,
    unit: str = '<unit name="millimeter" meter="0.001"/>',
    nodes: str = '<node><instance_geometry url="#part"/></node>',
) -> str:
    """One geometry after the COLLADA 1.4.1 schema, placed by the nodes of the scene."""
    numbers = " ".join(repr(float(c)) for c in vertices.ravel())
    corners = " ".join(str(int(c)) for p in polygons for c in p)
    sizes = " ".join(str(len(p)) for p in polygons)
    params = "".join(f'<param name="{axis}" type="float"/>' for axis in "XYZ")
    return f"""<?xml version="1.0"?>
<COLLADA xmlns="http://www.collada.org/2005/11/COLLADASchema" version="1.4.1">
<asset><created>2026-01-01T00:00:00</created><modified>2026-01-01T00:00:00</modified>{unit}</asset>
<library_geometries><geometry id="part"><mesh>
<source id="points"><float_array id="numbers" count="{vertices.size}">{numbers}</float_array>
<technique_common><accessor source="#numbers" count="{len(vertices)}" stride="3">{params}</accessor></technique_common>
</source>
<vertices id="corners"><input semantic="POSITION" source="#points"/></vertices>
<polylist count="{len(polygons)}"><input semantic="VERTEX" source="#corners" offset="0"/>
<vcount>{sizes}</vcount><p>{corners}</p></polylist>
</mesh></geometry></library_geometries>
<library_visual_scenes><visual_scene id="scene">{nodes}</visual_scene></library_visual_scenes>
<scene><instance_visual_scene url="#scene"/></scene>
</COLLADA>"""


def _by_trimesh(mesh: Mesh, kind: str) -> bytes:
    """Written by the reference library."""
    made = trimesh.Trimesh(mesh.vertices, mesh.faces, process=False).export(file_type=kind)
    return made.encode() if isinstance(made, str) else bytes(made)


def _ply(mesh: Mesh, order: str) -> bytes:
    return binary_ply(mesh.vertices, mesh.faces, order)


WRITERS: dict[str, tuple[str, Callable[[Mesh], bytes]]] = {
    "stl": (".stl", partial(_by_trimesh, kind="stl")),
    "stl_ascii": (".stl", partial(_by_trimesh, kind="stl_ascii")),
    "obj": (".obj", partial(_by_trimesh, kind="obj")),
    "ply": (".ply", partial(_by_trimesh, kind="ply")),
    "ply_big": (".ply", partial(_ply, order=">")),
    "ply_ascii": (".ply", lambda mesh: ascii_ply(mesh.vertices, mesh.faces).encode()),
    "off": (".off", partial(_by_trimesh, kind="off")),
    "3mf": (".3mf", partial(_by_trimesh, kind="3mf")),
    "glb": (".glb", partial(_by_trimesh, kind="glb")),
    "gltf": (".gltf", lambda mesh: gltf(mesh.vertices, mesh.faces)),
    "dae": (".dae", partial(_by_trimesh, kind="dae")),
    "dae_polygons": (".dae", lambda mesh: dae(mesh.vertices, mesh.faces).encode()),
}
"""Suffix and writer of each kind of file. The numbers are written as they are, in glTF and DAE too."""
