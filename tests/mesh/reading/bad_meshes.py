"""Files that must not pass for a part, each with what its one error must say.

Each case puts its file into a folder and names it; `words` must all stand in the error, so that a person finds
the file, the place in it, and what is wrong there.
"""

from __future__ import annotations

import struct
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from routecost.core.arrays import Floats, Ints
from tests.mesh.reading.mesh_files import (
    CUBE,
    FACES,
    QUADS,
    ascii_ply,
    ascii_stl,
    binary_ply,
    binary_stl,
    cube_3mf,
    cube_glb,
    dae,
    glb,
    gltf,
    mesh_xml,
    obj,
    off,
    threemf,
)


@dataclass(frozen=True)
class BadMesh:
    name: str
    make: bytes | Callable[[Path], object]
    """The file's content, or what puts something at the path."""
    words: tuple[str, ...]

    def put(self, folder: Path) -> Path:
        path = folder / self.name.partition(" ")[0]
        if isinstance(self.make, bytes):
            path.write_bytes(self.make)
        else:
            self.make(path)
        return path


def _edited(data: bytes, old: bytes, new: bytes) -> bytes:
    assert data.count(old) >= 1
    return data.replace(old, new, 1)


def _with(values: Floats | Ints, at: tuple[int, ...], value: float) -> Floats:
    changed = values.copy()
    changed[at] = value
    return changed


_TRIANGLES = CUBE[FACES]
_STL = binary_stl(_TRIANGLES)
_SEVENTHS = binary_stl(_TRIANGLES / 7 + 0.1)
_ASCII = ascii_stl(_TRIANGLES).encode()
_OFF, _OBJ, _PLY = off(CUBE, QUADS).encode(), obj(CUBE, QUADS).encode(), ascii_ply(CUBE, QUADS).encode()
_PLY_B = binary_ply(CUBE, FACES)
_3MF, _GLB, _GLTF, _DAE = cube_3mf(), cube_glb(), gltf(), dae().encode()
_STRIP = np.array(
    [[0, 1, 2], [1, 3, 2], [2, 3, 4], [3, 5, 4], [4, 5, 1], [5, 0, 1]]
)  # half a turn before it joins
_STRIP_POINTS = np.array(
    [[9, 0, -1], [9, 0, 1], [-4, 8, -1], [-5, 7, 1], [-4, -8, 1], [-5, -7, -1]], dtype=np.float64
)
_BENT = np.array([[0, 0, 0], [10, 0, 0], [14, 8, 3], [5, 14, 0], [-4, 8, 0], [5, 5, -9]], dtype=np.float64)


def _pyramid(base: list[int], tip: int) -> list[list[int]]:
    return [base, *([b, a, tip] for a, b in zip(base, [*base[1:], base[0]], strict=True))]


BAD_MESHES = [
    # not a mesh file at all
    BadMesh("missing.stl", lambda path: None, ("no such file",)),
    BadMesh("folder.stl", lambda path: path.mkdir(), ("is a folder",)),
    BadMesh("empty.stl", b"", ("the file is empty",)),
    BadMesh("zeros.stl", bytes(300), ("300 blank bytes",)),
    BadMesh("part.igs", b"IGES", ("'.igs'", "stl")),
    BadMesh("part", b"solid", ("no ending",)),
    BadMesh("page.stl", b"<!DOCTYPE html><html><body>Not found</body></html>", ("web page", "line 1")),
    BadMesh("really_zip.stl", _3MF, ("a ZIP archive",)),
    BadMesh("picture.obj", b"\x89PNG\r\n\x1a\n" + bytes(200), ("a picture",)),
    # binary STL
    BadMesh("short.stl", b"binary part"[:11], ("11 bytes", "84")),
    BadMesh("truncated.stl", _STL[:-70], ("12 triangles", "684 bytes", "614 bytes", "byte 614")),
    BadMesh("padded.stl", _STL + bytes(16), ("12 triangles", "700 bytes", "byte 684")),
    BadMesh("counts_too_many.stl", binary_stl(_TRIANGLES, count=66), ("66 triangles", "bytes 80–83")),
    BadMesh("counts_none.stl", binary_stl(_TRIANGLES, count=0), ("0 triangles", "room for 12")),
    BadMesh("no_triangles.stl", binary_stl(_TRIANGLES[:0], b"made by hand"), ("0 triangles",)),
    BadMesh(
        "solid_header_cut.stl", binary_stl(_TRIANGLES, b"solid part")[:-1], ("12 triangles", "683 bytes")
    ),
    BadMesh("copied_as_text.stl", _SEVENTHS.decode("ascii", "replace").encode(), ("text", "byte")),
    BadMesh("nan.stl", binary_stl(_with(_TRIANGLES, (4, 1, 2), np.nan)), ("facet 5", "byte 308", "z", "nan")),
    BadMesh(
        "infinite.stl", binary_stl(_with(_TRIANGLES, (0, 0, 0), np.inf)), ("facet 1", "byte 96", "x", "inf")
    ),
    BadMesh("points.stl", binary_stl(np.repeat(CUBE[:4, None], 3, axis=1)), ("4 facets", "any area")),
    BadMesh("needles.stl", binary_stl(CUBE[np.array([[0, 1, 0], [2, 3, 3]])]), ("2 facets", "any area")),
    # ASCII STL
    BadMesh("cut_off.stl", _ASCII[: _ASCII.rindex(b"vertex")], ("line 82", "facet 12", "vertex", "cut off")),
    BadMesh("no_endsolid.stl", _edited(_ASCII, b"endsolid part", b""), ("facet 12", "endsolid", "cut off")),
    BadMesh(
        "bad_number.stl", _edited(_ASCII, b"0.0 0.0 10.0", b"0.0 O.0 10.0"), ("line 5", "facet 1", "'o.0'")
    ),
    BadMesh("comma.stl", _edited(_ASCII, b"0.0 0.0 10.0", b"0,0 0,0 10,0"), ("line 5", "facet 1", "'0,0'")),
    BadMesh("nan_text.stl", _edited(_ASCII, b"0.0 0.0 10.0", b"0.0 nan 10.0"), ("line 5", "facet 1", "nan")),
    BadMesh(
        "two_corners.stl",
        _edited(_ASCII, b"vertex 0.0 0.0 10.0\n", b""),
        ("line 6", "facet 1", "2 corners"),
    ),
    BadMesh(
        "four_corners.stl",
        _edited(_ASCII, b"endloop", b"vertex 1 2 3\nendloop"),
        ("line 7", "facet 1", "more than three"),
    ),
    BadMesh("two_numbers.stl", _edited(_ASCII, b"0.0 0.0 10.0", b"0.0 10.0"), ("line 5", "three numbers")),
    BadMesh("strange_word.stl", _edited(_ASCII, b"endloop", b"endlop"), ("line 7", "facet 1")),
    BadMesh("no_facets.stl", b"solid nothing\nendsolid nothing\n", ("no facets",)),
    # OFF
    BadMesh("wrong_start.off", _edited(_OFF, b"OFF", b"MESH"), ("line 1", "'MESH'")),
    BadMesh("no_counts.off", _edited(_OFF, b"8 6 0", b"eight"), ("line 2", "'eight'")),
    BadMesh("cut.off", _OFF[: _OFF.rindex(b"4 1 5")], ("line 15", "8 vertices and 6 faces", "13 lines")),
    BadMesh("too_long.off", _OFF + b"3 0 1 2\n", ("line 17", "15 lines")),
    BadMesh(
        "range.off", _edited(_OFF, b"4 1 5 7 3", b"4 1 5 8 3"), ("line 16", "face 6", "vertex 8", "0 to 7")
    ),
    BadMesh("negative.off", _edited(_OFF, b"4 1 5 7 3", b"4 1 5 -7 3"), ("line 16", "vertex -7")),
    BadMesh("short_face.off", _edited(_OFF, b"4 1 5 7 3", b"4 1 5 7"), ("line 16", "4 corners", "lists 3")),
    BadMesh("letters.off", _edited(_OFF, b"10.0 10.0 10.0", b"10.0 ten 10.0"), ("line 10", "'ten'")),
    BadMesh("half_index.off", _edited(_OFF, b"4 1 5 7 3", b"4 1 5 7.5 3"), ("line 16", "'7.5'")),
    BadMesh("nan.off", _edited(_OFF, b"10.0 10.0 10.0", b"10.0 nan 10.0"), ("line 10", "y", "nan")),
    BadMesh("cloud.off", off(CUBE, []).encode(), ("line 2", "8 vertices", "no face")),
    BadMesh(
        "bent.off",
        off(_BENT, _pyramid([0, 1, 2, 3, 4], 5)).encode(),
        ("line 9", "face 1", "5 corners", "plane"),
    ),
    # OBJ
    BadMesh("lines.obj", b"v 0 0 0\nv 1 0 0\nl 1 2\n", ("no faces", "2 v", "1 l")),
    BadMesh("curved.obj", b"v 0 0 0\ncurv 0 1 1 2\nf 1 1 1\n", ("line 2", "curv")),
    BadMesh(
        "range.obj", _edited(_OBJ, b"f 2 6 8 4", b"f 2 6 9 4"), ("line 14", "face 6", "vertex 9", "1 to 8")
    ),
    BadMesh("zero.obj", _edited(_OBJ, b"f 2 6 8 4", b"f 2 6 0 4"), ("line 14", "vertex 0", "1 to 8")),
    BadMesh("two.obj", _edited(_OBJ, b"f 2 6 8 4", b"f 2 6"), ("line 14", "three corners", "has 2")),
    BadMesh("letters.obj", _edited(_OBJ, b"v 10.0 10.0 10.0", b"v 10.0 ten 10.0"), ("line 8", "'ten'")),
    BadMesh("flat.obj", _edited(_OBJ, b"v 10.0 10.0 10.0", b"v 10.0 10.0"), ("line 8", "3 numbers", "has 2")),
    BadMesh(
        "huge_index.obj", _edited(_OBJ, b"f 2 6 8 4", b"f 2 6 99999999999999999999 4"), ("line 14", "99999")
    ),
    BadMesh("infinite.obj", _edited(_OBJ, b"v 10.0 10.0 10.0", b"v 10.0 10.0 inf"), ("line 8", "z", "inf")),
    # PLY
    BadMesh("cloud.ply", ascii_ply(CUBE, []).encode(), ("no faces", "8 vertex")),
    BadMesh("not.ply", b"plx" + _PLY[3:], ("line 1", "'plx'")),
    BadMesh("headless.ply", _PLY[: _PLY.index(b"end_header")], ("end_header", "cut off")),
    BadMesh(
        "unknown_type.ply",
        _edited(_PLY, b"property double x", b"property long x"),
        ("line 4", "property long x"),
    ),
    BadMesh("cut_text.ply", _PLY[: _PLY.rindex(b"4 1 5")], ("14 lines", "has 13")),
    BadMesh("cut_binary.ply", _PLY_B[:-20], ("face 11", "12", "byte")),
    BadMesh("cut_vertices.ply", _PLY_B[: _PLY_B.index(b"end_header") + 11 + 100], ("vertex 5", "8")),
    BadMesh("longer.ply", _PLY_B + b"more", ("4 bytes", "byte")),
    BadMesh("range.ply", binary_ply(CUBE, _with(FACES, (3, 1), 8)), ("face 4", "vertex 8", "0 to 7")),
    BadMesh("nan.ply", binary_ply(_with(CUBE, (5, 0), np.nan), FACES), ("vertex 5", "x", "nan")),
    BadMesh("no_z.ply", _edited(_PLY, b"property double z", b"property double w"), ("x, y and z",)),
    # 3MF
    BadMesh("not_zip.3mf", b"this is no archive", ("ZIP",)),
    BadMesh("cut.3mf", _3MF[:-40], ("ZIP",)),
    BadMesh("no_model.3mf", threemf(None, {"readme.txt": "hello"}), ("no model",)),
    BadMesh("bad_xml.3mf", threemf("<model><resources>"), ("3dmodel.model", "line 1", "XML")),
    BadMesh("bad_unit.3mf", cube_3mf(unit=' unit="furlong"'), ("'furlong'", "millimeter")),
    BadMesh("nothing_built.3mf", cube_3mf(items=""), ("no item to build",)),
    BadMesh("missing_object.3mf", cube_3mf(items='<item objectid="7"/>'), ("'7'", "no such object")),
    BadMesh(
        "only_support.3mf",
        cube_3mf(objects=f'<object id="1" type="support">{mesh_xml(CUBE, FACES)}</object>'),
        ("type model", "support"),
    ),
    BadMesh(
        "range.3mf",
        cube_3mf(objects=f'<object id="1">{mesh_xml(CUBE[:7], FACES)}</object>'),
        ("object 1", "triangle 3", "vertex 7", "0 to 6"),
    ),
    BadMesh(
        "letters.3mf",
        cube_3mf(
            objects=f'<object id="1">{mesh_xml(CUBE, FACES)}</object>'.replace('y="10.0"', 'y="ten"', 1)
        ),
        ("object 1", "line 4", "'ten'"),
    ),
    BadMesh(
        "lacking.3mf",
        cube_3mf(objects=f'<object id="1">{mesh_xml(CUBE, FACES)}</object>'.replace('v3="', 'p1="', 1)),
        ("object 1", "lacks v3"),
    ),
    BadMesh(
        "circle.3mf",
        cube_3mf(objects='<object id="1"><components><component objectid="1"/></components></object>'),
        ("object 1", "contains itself"),
    ),
    BadMesh(
        "bad_transform.3mf",
        cube_3mf(items='<item objectid="1" transform="1 0 0 0 1 0 0 0 1 5 5"/>'),
        ("twelve numbers", "line"),
    ),
    # GLB
    BadMesh("not.glb", b"gltf" + _GLB[4:], ("byte 0", "'gltf'")),
    BadMesh("old.glb", _GLB[:4] + struct.pack("<I", 1) + _GLB[8:], ("version 1",)),
    BadMesh("cut.glb", _GLB[:-8], ("byte 8", f"{len(_GLB)} bytes", f"has {len(_GLB) - 8}")),
    BadMesh(
        "range.glb", cube_glb(faces=_with(FACES, (2, 0), 8).astype(int)), ("triangle 3", "vertex 8", "0 to 7")
    ),
    BadMesh("nan.glb", cube_glb(_with(CUBE, (3, 1), np.nan)), ("y", "nan")),
    BadMesh("lines.glb", cube_glb(mode=1), ("no triangles",)),
    BadMesh("circle.glb", cube_glb(nodes=[{"mesh": 0, "children": [0]}]), ("JSON", "scene")),
    BadMesh("no_tree.glb", glb({"asset": {}, "meshes": 5}, b""), ("JSON", "scene")),
    BadMesh("list.glb", glb([1, 2], b""), ("byte 20", "no glTF")),
    BadMesh("empty_scene.glb", cube_glb(nodes=[{"name": "nothing"}]), ("no triangles", "1 mesh")),
    BadMesh(
        "compressed.glb",
        glb({"asset": {"version": "2.0"}, "extensionsRequired": ["KHR_draco_mesh_compression"]}, b""),
        ("KHR_draco_mesh_compression", "without compression"),
    ),
    BadMesh(
        "elsewhere.glb",
        glb({"asset": {"version": "2.0"}, "buffers": [{"uri": "part.bin", "byteLength": 9}]}, b""),
        ("part.bin", "another file"),
    ),
    BadMesh("beyond.glb", _edited(_GLB, b'"count": 36', b'"count": 99'), ("accessor 1", "beyond")),
    # glTF as text
    BadMesh("words.gltf", b"mesh goes here", ("not JSON",)),
    BadMesh("list.gltf", b"[1, 2]", ("no glTF", "asset")),
    BadMesh("old.gltf", _edited(_GLTF, b'"2.0"', b'"1.0"'), ("version 1.0",)),
    BadMesh("cut.gltf", _GLTF[:-30], ("not JSON",)),
    BadMesh("short.gltf", _edited(_GLTF, b"base64,AAAAAAAA", b"base64,"), ("beyond the end",)),
    BadMesh("elsewhere.gltf", _edited(_GLTF, b"data:application", b"part.bin?"), ("another file",)),
    BadMesh("nan.gltf", gltf(_with(CUBE, (3, 1), np.nan)), ("y", "nan")),
    # DAE
    BadMesh("words.dae", b"mesh goes here", ("line 1", "XML is damaged")),
    BadMesh("other.dae", b"<model/>", ("line 1", "<model>", "<COLLADA>")),
    BadMesh("cut.dae", _DAE[:-30], ("XML is damaged",)),
    BadMesh("nothing.dae", dae(nodes="<node/>").encode(), ("no triangles",)),
    BadMesh(
        "no_scene.dae", _edited(_DAE, b'<instance_visual_scene url="#scene"/>', b""), ("not fit together",)
    ),
    BadMesh("lost.dae", _edited(_DAE, b'url="#part"', b'url="#lost"'), ("lost",)),
    BadMesh("range.dae", dae(polygons=_with(FACES, (2, 0), 8).astype(int)).encode(), ("not fit together",)),
    BadMesh("nan.dae", dae(_with(CUBE, (3, 1), np.nan)).encode(), ("line 5", "nan")),
    BadMesh("text.dae", _edited(_DAE, b"10.0 ", b"ten "), ("line 5", "ten")),
    BadMesh("short.dae", _edited(_DAE, b"10.0 ", b""), ("says it has 24", "has 23")),
    BadMesh("odd_unit.dae", dae(unit='<unit meter="mm"/>').encode(), ("unit", "'mm'", "0.001")),
    BadMesh("open.dae", dae(polygons=QUADS[1:]).encode(), ("4 open edges",)),
    BadMesh(
        "bent.dae",
        dae(nodes='<node><instance_controller url="#skin"/></node>').encode(),
        ("controller", "without animation"),
    ),
    # STEP
    BadMesh("not.step", b"HELLO;\n", ("ISO-10303-21", "byte 0")),
    BadMesh(
        "cut.step", b"ISO-10303-21;\nHEADER;\nENDSEC;\nDATA;\n#1=CARTESIAN_POINT('',(0.,0.,0.", ("cut off",)
    ),
    # whole files that are no solid
    BadMesh(
        "open.stl",
        binary_stl(_TRIANGLES[:-2]),
        ("not closed", "4 open edges", "1 hole", "40 mm", "(5, 5, 10) mm"),
    ),
    BadMesh("open.off", off(CUBE, QUADS[1:]).encode(), ("4 open edges", "(0, 5, 5) mm", "face")),
    BadMesh("two_holes.obj", obj(CUBE, QUADS[2:]).encode(), ("8 open edges", "2 holes")),
    BadMesh("sheet.stl", binary_stl(_TRIANGLES[:2]), ("4 open edges",)),
    BadMesh(
        "fin.off",
        off(np.vstack([CUBE, [[20, 0, 5]]]), [*QUADS, [4, 5, 8]]).encode(),
        ("1 edge where more than two faces meet", "2 open edges", "face 7"),
    ),
    BadMesh("moebius.off", off(_STRIP_POINTS, _STRIP).encode(), ("only one side",)),
    BadMesh(
        "foil.off",
        off(CUBE[:4], [[0, 1, 3], [0, 3, 2], [1, 0, 2], [1, 2, 3]]).encode(),
        ("encloses no volume", "200 mm²"),
    ),
    BadMesh(
        "cut_or_unite.off",
        off(
            np.vstack([CUBE, CUBE / 2 + [7, 2, 2]]),
            [*QUADS, *([q[k] + 8 for k in (3, 2, 1, 0)] for q in QUADS)],
        ).encode(),
        ("cross", "near"),
    ),
]
