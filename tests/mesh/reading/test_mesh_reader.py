"""Files of every format: what is read is what was written, in mm; what is no part is refused with its place."""

from __future__ import annotations

import io
import os
import stat
import struct
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import trimesh
from hypothesis import given
from hypothesis import strategies as st

from routecost.core.errors import InputError
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.reading.formats import SUFFIXES, reader_for
from routecost.mesh.reading.mesh_reader import Reading, read_mesh
from routecost.mesh.reading.mesh_writer import write_mesh
from tests.mesh.reading import mesh_files as files
from tests.mesh.reading.bad_meshes import BAD_MESHES, BadMesh
from tests.mesh.reading.mesh_files import CUBE, FACES, QUADS, WRITERS
from tests.mesh.reading.step_files import step_file
from tests.mesh.shapes import drilled, hollow_sphere, rotation, shuffled, sphere

REAL = Path(__file__).parents[1] / "real_meshes"
INCH_MM = 25.4  # exact, NIST SP 811 appendix B
MM_IN_3MF = {
    "micron": 1e-3,
    "millimeter": 1,
    "centimeter": 10,
    "inch": INCH_MM,
    "foot": 12 * INCH_MM,
    "meter": 1e3,
}
"""3MF Core Specification, section 3.4."""


@pytest.mark.parametrize("bad", BAD_MESHES, ids=lambda bad: bad.name)
def test_a_bad_file_gives_one_error_with_its_place(bad: BadMesh, tmp_path: Path) -> None:
    path = bad.put(tmp_path)
    with pytest.raises(InputError) as caught:
        read_mesh(path)
    text = str(caught.value)
    missing = [word for word in bad.words if word not in text]
    assert not missing, text
    for fault in caught.value.faults:
        assert fault.file == str(path)
        assert fault.mend
        assert "\n" not in str(fault)


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read everything")
def test_a_file_without_permission_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "secret.stl"
    path.write_bytes(files.binary_stl(CUBE[FACES]))
    path.chmod(0)
    with pytest.raises(InputError, match="permission"):
        read_mesh(path)
    path.chmod(stat.S_IRUSR | stat.S_IWUSR)


def test_what_hinders_reading_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "broken_disk.stl"
    path.write_bytes(files.binary_stl(CUBE[FACES]))

    def fail(self: Path) -> bytes:
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(Path, "read_bytes", fail)
    with pytest.raises(InputError, match=r"cannot be read .input/output error"):
        read_mesh(path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="the system has no pipes with names")
def test_a_pipe_is_refused_and_not_waited_for(tmp_path: Path) -> None:
    path = tmp_path / "pipe.stl"
    os.mkfifo(path)
    with pytest.raises(InputError, match="no file that can be read"):
        read_mesh(path)


# -- every format carries the same body --------------------------------------------------------------------


@pytest.mark.parametrize("name", WRITERS)
@pytest.mark.parametrize(
    "body", [drilled(), hollow_sphere(20, 15, 48), sphere(30, 64)], ids=["drilled", "hollow", "ball"]
)
def test_every_format_carries_the_same_body(name: str, body: Mesh, tmp_path: Path) -> None:
    suffix, write = WRITERS[name]
    path = tmp_path / f"body{suffix}"
    path.write_bytes(write(body))
    reading = read_mesh(path, unit="mm")  # glTF and DAE: trimesh writes the numbers as they are
    # single precision, and OBJ's eight decimals, keep seven digits
    assert reading.mesh.volume_mm3 == pytest.approx(body.volume_mm3, rel=2e-6)
    assert reading.mesh.area_mm2 == pytest.approx(body.area_mm2, rel=2e-6)
    assert reading.mesh.bounds_mm == pytest.approx(body.bounds_mm, abs=1e-5)
    assert len(reading.mesh.faces) == len(body.faces)
    assert not reading.repairs


NO_REFERENCE = {"P", "mpi", "double-torus-3-holes"}
"""Faces of many corners in these, which the reference library fails on."""
WITH_REFERENCE = [path for path in sorted(REAL.glob("*.off")) if path.stem not in NO_REFERENCE]


@pytest.mark.parametrize("path", WITH_REFERENCE, ids=lambda path: path.stem)
def test_real_meshes_agree_with_the_reference_library(path: Path) -> None:
    reference = trimesh.load_mesh(path, process=True)
    if not reference.is_watertight:
        with pytest.raises(InputError):
            read_mesh(path)
        return
    if not reference.is_winding_consistent:
        assert any("turned" in repair for repair in read_mesh(path).repairs)
        reference.fix_normals()
    mesh = read_mesh(path).mesh
    assert mesh.volume_mm3 == pytest.approx(abs(reference.volume), rel=1e-9)
    assert mesh.area_mm2 == pytest.approx(reference.area, rel=1e-9)
    assert mesh.extents_mm == pytest.approx(reference.extents, rel=1e-12)


def test_a_header_that_begins_with_solid_does_not_make_a_file_text(tmp_path: Path) -> None:
    path = tmp_path / "cube.stl"
    path.write_bytes(files.binary_stl(CUBE[FACES], b"solid cube, facet by facet"))
    assert read_mesh(path).mesh.volume_mm3 == pytest.approx(1000)


def test_ascii_stl_of_several_solids_in_odd_layout(tmp_path: Path) -> None:
    second = files.ascii_stl((CUBE + np.array([30, 0, 0]))[FACES], "the second one")
    text = files.ascii_stl(CUBE[FACES]) + second.replace("\nvertex", " VERTEX").replace("\n", "\r\n  ")
    path = tmp_path / "two.stl"
    path.write_bytes(text.encode())
    assert read_mesh(path).mesh.volume_mm3 == pytest.approx(2000)


def test_ascii_stl_without_normals_is_read(tmp_path: Path) -> None:
    path = tmp_path / "plain.stl"
    path.write_text(files.ascii_stl(CUBE[FACES]).replace("facet normal 0 0 0", "facet"))
    assert read_mesh(path).mesh.volume_mm3 == pytest.approx(1000)


@pytest.mark.parametrize("write", [files.off, files.obj, files.ascii_ply])
def test_polygons_are_split_and_that_is_told(write: Callable[..., str], tmp_path: Path) -> None:
    path = tmp_path / f"cube.{write.__name__.removeprefix('ascii_')}"
    path.write_text(write(CUBE, QUADS))
    reading = read_mesh(path)
    assert reading.mesh.volume_mm3 == pytest.approx(1000)
    assert len(reading.mesh.faces) == 12
    assert reading.repairs == ("6 faces of four or more corners: split into triangles",)


def test_mixed_polygons_of_a_binary_ply(tmp_path: Path) -> None:
    path = tmp_path / "cube.ply"
    path.write_bytes(files.binary_ply(CUBE, [*QUADS[:-1], *FACES[-2:].tolist()]))
    assert read_mesh(path).mesh.volume_mm3 == pytest.approx(1000)


@pytest.mark.parametrize("alike", [True, False])
@pytest.mark.parametrize("order", ["<", ">"])
def test_ply_with_other_elements_and_properties(alike: bool, order: str, tmp_path: Path) -> None:
    """Elements before and between, lists among them, colours beside the coordinates, all to be stepped over."""
    head = [
        *("ply", f"format binary_{'little' if order == '<' else 'big'}_endian 1.0", "comment a cube"),
        *("element strip 2", "property list uchar short members", "element nothing 3"),
        *(
            "element vertex 8",
            "property uchar red",
            "property float x",
            "property double y",
            "property float z",
        ),
        *("property uchar blue", "element face 12", "property uchar part"),
        *("property list uchar float texcoord", "property list int uint vertex_index"),
        *("element edge 1", "property int vertex1", "end_header", ""),
    ]
    body = b"".join(struct.pack(f"{order}B{n}h", n, *range(n)) for n in (3, 3 if alike else 1))
    body += b"".join(struct.pack(f"{order}BfdfB", 255, *p, 7) for p in CUBE)
    for k, face in enumerate(FACES):
        n = 6 if alike else 2 * (k % 4)
        body += struct.pack(f"{order}BB{n}fi3I", k, n, *([0.5] * n), 3, *(int(c) for c in face))
    path = tmp_path / "cube.ply"
    path.write_bytes("\n".join(head).encode() + body + struct.pack(f"{order}i", 0))
    assert read_mesh(path).mesh.volume_mm3 == pytest.approx(1000)


def test_a_dented_polygon_is_split_inside_its_outline(tmp_path: Path) -> None:
    # a star-shaped prism: the shoelace formula gives its area
    turn = np.arange(10) * np.pi / 5
    ring = np.stack([np.cos(turn), np.sin(turn)], axis=1) * np.where(np.arange(10) % 2, 4, 10)[:, None]
    area = 0.5 * np.sum(ring[:, 0] * np.roll(ring[:, 1], -1) - np.roll(ring[:, 0], -1) * ring[:, 1])
    vertices = np.vstack([np.c_[ring, np.zeros(10)], np.c_[ring, np.full(10, 7.0)]])
    sides = [[k, (k + 1) % 10, 10 + (k + 1) % 10, 10 + k] for k in range(10)]
    polygons = [list(range(9, -1, -1)), list(range(10, 20)), *sides]
    path = tmp_path / "star.off"
    path.write_text(files.off(vertices, polygons))
    assert read_mesh(path).mesh.volume_mm3 == pytest.approx(7 * area, rel=1e-12)


def test_bent_quads_warn_of_what_their_split_moves(tmp_path: Path) -> None:
    bent = CUBE.copy()
    bent[7] += [0, 0, 4]
    path = tmp_path / "bent.off"
    path.write_text(files.off(bent, QUADS))
    reading = read_mesh(path)
    assert any("not flat" in warning for warning in reading.warnings)
    # the top is bent by a corner lifted 4 mm: its two splits differ by a tetrahedron of 10·10·4/6 mm³
    other = bent[[0, 1, 2, 3, 4, 5, 6, 7]]
    path.write_text(files.off(other, [np.roll(q, 1).tolist() for q in QUADS]))
    apart = abs(read_mesh(path).mesh.volume_mm3 - reading.mesh.volume_mm3)
    assert apart == pytest.approx(10 * 10 * 4 / 6, rel=1e-9)


def test_obj_counts_back_from_the_face_and_reads_only_vertex_numbers(tmp_path: Path) -> None:
    lines = [
        "mtllib none.mtl",
        "o cube",
        *("v {} {} {} 0.5 0.5 0.5".format(*p) for p in CUBE),
        "vn 0 0 1",
        "vt 0 0",
    ]
    lines += ["f " + " ".join(f"{c - 8}/1/1" for c in quad) for quad in QUADS[:3]]
    lines += ["v 99 99 99"]  # the rest counts back one further
    lines += [
        "f " + " ".join(f"{c - 9}//1" for c in quad[:2]) + " \\\n" + " ".join(f"{c - 9}" for c in quad[2:])
        for quad in QUADS[3:]
    ]
    path = tmp_path / "cube.obj"
    path.write_text("\n".join(lines))
    reading = read_mesh(path)
    assert reading.mesh.volume_mm3 == pytest.approx(1000)
    assert reading.mesh.extents_mm == pytest.approx([10, 10, 10])  # the unused vertex is no part of it


def test_off_with_comments_colours_and_counts_beside_the_word(tmp_path: Path) -> None:
    lines = ["COFF 8 6 12 # a cube", "", *("{} {} {} 255 0 0 255".format(*p) for p in CUBE), "# faces"]
    lines += [f"4 {' '.join(map(str, quad))} 0 0 1 1" for quad in QUADS]
    path = tmp_path / "cube.off"
    path.write_text("\n".join(lines))
    assert read_mesh(path).mesh.volume_mm3 == pytest.approx(1000)


# -- units -------------------------------------------------------------------------------------------------


def test_an_inch_part_is_short_by_the_cube_of_an_inch_if_read_in_mm(tmp_path: Path) -> None:
    path = tmp_path / "part.stl"
    path.write_bytes(files.binary_stl((drilled().vertices / INCH_MM)[drilled().faces]))
    assumed, given = read_mesh(path), read_mesh(path, unit="in")
    assert (assumed.unit, assumed.unit_source) == ("mm", "assumed")
    assert (given.unit, given.unit_source) == ("in", "given")
    assert given.mesh.volume_mm3 / assumed.mesh.volume_mm3 == pytest.approx(16387.064, rel=1e-12)
    assert given.mesh.area_mm2 / assumed.mesh.area_mm2 == pytest.approx(645.16, rel=1e-12)
    assert given.mesh.volume_mm3 == pytest.approx(drilled().volume_mm3, rel=1e-6)


def test_the_default_unit_of_a_build_is_used_and_called_assumed(tmp_path: Path) -> None:
    path = tmp_path / "part.stl"
    path.write_bytes(files.binary_stl(CUBE[FACES]))
    reading = read_mesh(path, default_unit="cm")
    assert (reading.unit_source, reading.mesh.volume_mm3) == ("assumed", pytest.approx(1e6))


def test_an_stl_header_that_names_a_unit_is_no_standard(tmp_path: Path) -> None:
    path = tmp_path / "part.stl"
    path.write_bytes(files.binary_stl(CUBE[FACES], b"UNITS=in"))
    assert read_mesh(path).mesh.volume_mm3 == pytest.approx(1000)


@pytest.mark.parametrize(("word", "mm"), MM_IN_3MF.items())
def test_3mf_states_its_unit(word: str, mm: float, tmp_path: Path) -> None:
    path = tmp_path / "cube.3mf"
    path.write_bytes(files.cube_3mf(unit=f' unit="{word}"'))
    reading = read_mesh(path)
    assert reading.mesh.extents_mm == pytest.approx([10 * mm] * 3, rel=1e-12)
    assert reading.unit_source == "file"


def test_3mf_without_a_unit_is_in_millimetres(tmp_path: Path) -> None:
    path = tmp_path / "cube.3mf"
    path.write_bytes(files.cube_3mf(unit=""))
    reading = read_mesh(path, default_unit="in")
    assert (reading.mesh.volume_mm3, reading.unit_source) == (pytest.approx(1000), "file")


def test_a_unit_against_the_file_is_told_and_not_used(tmp_path: Path) -> None:
    path = tmp_path / "cube.3mf"
    path.write_bytes(files.cube_3mf(unit=' unit="centimeter"'))
    reading = read_mesh(path, unit="in")
    assert reading.mesh.volume_mm3 == pytest.approx(1e6)
    assert any("in, was not used" in warning for warning in reading.warnings)
    assert not read_mesh(path, unit="cm").warnings


def test_glb_is_in_metres_unless_told_otherwise(tmp_path: Path) -> None:
    path = tmp_path / "cube.glb"
    path.write_bytes(files.cube_glb(CUBE / 1000))
    reading = read_mesh(path)
    assert (reading.unit, reading.unit_source) == ("m", "format")
    assert reading.mesh.volume_mm3 == pytest.approx(1000, rel=1e-6)
    path.write_bytes(files.cube_glb(CUBE))
    told = read_mesh(path, unit="mm")
    assert told.mesh.volume_mm3 == pytest.approx(1000, rel=1e-6)
    assert any("format is in m" in warning for warning in told.warnings)


@pytest.mark.parametrize(
    ("meter", "unit", "mm"),
    [("0.001", "mm", 1.0), ("0.0254", "in", INCH_MM), ("1", "m", 1e3), ("0.333", "m", 333.0)],
)
def test_dae_states_its_unit(meter: str, unit: str, mm: float, tmp_path: Path) -> None:
    path = tmp_path / "cube.dae"
    path.write_text(files.dae(unit=f'<unit name="any" meter="{meter}"/>'))
    reading = read_mesh(path, unit="cm")
    assert (reading.unit, reading.unit_source) == (unit, "file")
    assert reading.mesh.extents_mm == pytest.approx([10 * mm] * 3, rel=1e-12)
    assert any("cm, was not used" in warning for warning in reading.warnings)


def test_dae_without_a_unit_is_in_metres_unless_one_is_given(tmp_path: Path) -> None:
    """COLLADA 1.4.1, chapter 5, `unit`: the default is a metre."""
    path = tmp_path / "cube.dae"
    path.write_text(files.dae(CUBE / 1000, unit=""))
    assert read_mesh(path, default_unit="in").mesh.volume_mm3 == pytest.approx(1000)
    path.write_text(files.dae(unit=""))
    given = read_mesh(path, unit="mm")
    assert (given.unit_source, given.mesh.volume_mm3) == ("given", pytest.approx(1000))
    assert any("format is in m" in warning for warning in given.warnings)


@pytest.mark.parametrize(("unit", "mm"), [("mm", 1.0), ("in", INCH_MM), ("m", 1000.0)])
def test_step_states_its_unit(unit: str, mm: float, tmp_path: Path) -> None:
    pytest.importorskip("cascadio")
    path = tmp_path / "block.step"
    path.write_text(step_file(CUBE * [1, 2, 3], QUADS, unit))
    reading = read_mesh(path)
    assert sorted(reading.mesh.extents_mm) == pytest.approx([10 * mm, 20 * mm, 30 * mm], rel=1e-6)
    assert reading.mesh.volume_mm3 == pytest.approx(6000 * mm**3, rel=1e-6)
    assert (reading.unit, reading.unit_source) == (unit, "file")


def test_a_damaged_step_file_is_refused_and_prints_nothing(tmp_path: Path) -> None:
    pytest.importorskip("cascadio")
    path = tmp_path / "block.step"
    path.write_text(step_file(CUBE, QUADS).replace("EDGE_LOOP", "EDGE_LOP"))
    code = f"""
from routecost.core.errors import InputError
from routecost.mesh.reading.mesh_reader import read_mesh
try:
    read_mesh({str(path)!r})
except InputError as error:
    print(error)
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.count("\n") == 1
    assert "no solid" in done.stdout
    assert not done.stderr


def test_step_without_its_extra_names_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("routecost.mesh.reading.formats.step.find_spec", lambda name: None)
    path = tmp_path / "block.stp"
    path.write_text(step_file(CUBE, QUADS))
    with pytest.raises(InputError, match=r"routecost\[step\]"):
        read_mesh(path)


@pytest.mark.parametrize("unit", ["parsec per hour", "kg", "degC", "", "each"])
def test_a_unit_that_is_no_length_is_refused(unit: str, tmp_path: Path) -> None:
    path = tmp_path / "part.stl"
    path.write_bytes(files.binary_stl(CUBE[FACES]))
    if unit:
        with pytest.raises(InputError, match="unit"):
            read_mesh(path, unit=unit)
    with pytest.raises(InputError, match="unit"):
        read_mesh(path, default_unit=unit)


# -- scenes ------------------------------------------------------------------------------------------------


def test_3mf_objects_components_and_transforms(tmp_path: Path) -> None:
    """Two items: the cube itself moved, and an assembly of one cube turned and one twice as large, mirrored."""
    cube = f'<object id="1" type="model">{files.mesh_xml(CUBE, FACES)}</object>'
    turned = "0 1 0 -1 0 0 0 0 1 100 0 0"
    mirrored = "-2 0 0 0 2 0 0 0 2 0 200 0"
    parts = f'<component objectid="1" transform="{turned}"/><component objectid="1" transform="{mirrored}"/>'
    group = f'<object id="2"><components>{parts}</components></object>'
    helper = f'<object id="3" type="other">{files.mesh_xml(CUBE, FACES)}</object>'
    items = '<item objectid="1" transform="1 0 0 0 1 0 0 0 1 0 0 50"/><item objectid="3"/>'
    items += '<item objectid="2" transform="1 0 0 0 1 0 0 0 1 0 0 -100"/>'
    path = tmp_path / "assembly.3mf"
    path.write_bytes(files.threemf(files.model_xml(cube + group + helper, items)))
    reading = read_mesh(path)
    assert reading.mesh.volume_mm3 == pytest.approx(1000 + 1000 + 8000)
    # x: mirrored −20…0, turned 90…100; y: up to 220; z: −100…−80 and 50…60
    assert reading.mesh.bounds_mm == pytest.approx(np.array([[-20, 0, -100], [100, 220, 60]]))
    assert not reading.repairs  # a mirrored object is turned with its transform, not found inside out
    assert any("type other" in warning for warning in reading.warnings)


def test_3mf_refers_to_objects_in_other_models(tmp_path: Path) -> None:
    space = ' xmlns:p="http://schemas.microsoft.com/3dmanufacturing/production/2015/06"'
    inner = files.model_xml(f'<object id="5">{files.mesh_xml(CUBE, FACES)}</object>', "")
    group = '<object id="1"><components><component objectid="5" p:path="/3D/Parts/Cube.model"/></components></object>'
    outer = files.model_xml(group, '<item objectid="1"/>', space)
    path = tmp_path / "production.3mf"
    path.write_bytes(files.threemf(outer, {"3D/Parts/Cube.model": inner}))
    assert read_mesh(path).mesh.volume_mm3 == pytest.approx(1000)
    path.write_bytes(files.threemf(outer))
    with pytest.raises(InputError, match="refers to this model and lacks it"):
        read_mesh(path)


def test_glb_nodes_place_meshes(tmp_path: Path) -> None:
    """The cube twice: moved by its parent and scaled by itself; and mirrored by a matrix."""
    nodes = [
        {"children": [1, 2], "translation": [100, 0, 0]},
        {"mesh": 0, "scale": [2, 2, 2]},
        {"mesh": 0, "matrix": [-1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 50, 1]},
    ]
    path = tmp_path / "scene.glb"
    path.write_bytes(files.cube_glb(nodes=nodes))
    mesh = read_mesh(path, unit="mm").mesh
    assert mesh.volume_mm3 == pytest.approx(9000, rel=1e-6)
    assert mesh.bounds_mm == pytest.approx(np.array([[90, 0, 0], [120, 20, 60]]), abs=1e-4)


def test_dae_nodes_place_geometries(tmp_path: Path) -> None:
    """The same two cubes as in the glTF scene above, row-major as COLLADA writes matrices."""
    nodes = """<node><translate>100 0 0</translate>
    <node><scale>2 2 2</scale><instance_geometry url="#part"/></node>
    <node><matrix>-1 0 0 0 0 1 0 0 0 0 1 50 0 0 0 1</matrix><instance_geometry url="#part"/></node></node>"""
    path = tmp_path / "scene.dae"
    path.write_text(files.dae(polygons=QUADS, nodes=nodes))
    mesh = read_mesh(path).mesh
    assert mesh.volume_mm3 == pytest.approx(9000, rel=1e-12)
    assert mesh.bounds_mm == pytest.approx(np.array([[90, 0, 0], [120, 20, 60]]), rel=1e-12)


# -- what must not matter ----------------------------------------------------------------------------------


@given(seed=st.integers(0, 2**32 - 1), name=st.sampled_from(["stl", "off", "3mf", "ply_big"]))
def test_order_and_position_of_a_part_do_not_change_its_numbers(seed: int, name: str) -> None:
    suffix, write = WRITERS[name]
    rng = np.random.default_rng(seed)
    body = drilled()
    moved = shuffled(Mesh.of(body.vertices @ rotation(seed).T + rng.uniform(-500, 500, 3), body.faces), seed)
    mesh = _read_bytes(write(moved), suffix).mesh
    # 500 mm off the origin single precision leaves 3e-5 mm on a part of 60 mm
    assert mesh.volume_mm3 == pytest.approx(body.volume_mm3, rel=1e-5)
    assert mesh.area_mm2 == pytest.approx(body.area_mm2, rel=1e-5)


def _read_bytes(data: bytes, suffix: str) -> Reading:
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, f"part{suffix}")
        path.write_bytes(data)
        return read_mesh(path)


SMALL: dict[str, bytes] = {
    "binary.stl": files.binary_stl(CUBE[FACES]),
    "text.stl": files.ascii_stl(CUBE[FACES]).encode(),
    "cube.off": files.off(CUBE, QUADS).encode(),
    "cube.obj": files.obj(CUBE, QUADS).encode(),
    "text.ply": files.ascii_ply(CUBE, QUADS).encode(),
    "binary.ply": files.binary_ply(CUBE, FACES),
    "cube.3mf": files.cube_3mf(),
    "cube.glb": files.cube_glb(CUBE / 1000),
    "cube.gltf": files.gltf(CUBE / 1000),
    "cube.dae": files.dae(CUBE, QUADS).encode(),
}


@pytest.mark.parametrize("name", SMALL)
def test_a_file_cut_anywhere_is_refused_or_whole(name: str) -> None:
    whole = SMALL[name]
    for length in range(0, len(whole), max(1, len(whole) // 150)):
        try:
            mesh = _read_bytes(whole[:length], Path(name).suffix).mesh
        except InputError:
            continue
        assert mesh.volume_mm3 == pytest.approx(1000, rel=1e-6), length


@given(name=st.sampled_from(list(SMALL)), seed=st.integers(0, 2**32 - 1))
def test_damaged_bytes_give_a_sound_mesh_or_one_error(name: str, seed: int) -> None:
    rng = np.random.default_rng(seed)
    data = bytearray(SMALL[name])
    for at in rng.integers(0, len(data), rng.integers(1, 4)):
        data[at] = int(rng.integers(0, 256))
    try:
        mesh = _read_bytes(bytes(data), Path(name).suffix).mesh
    except InputError:
        return
    assert np.isfinite(mesh.vertices).all()
    assert mesh.volume_mm3 > 0
    assert trimesh.Trimesh(mesh.vertices, mesh.faces, process=False).is_watertight


@given(
    suffix=st.sampled_from([s for s in SUFFIXES if s not in (".step", ".stp")]), data=st.binary(max_size=300)
)
def test_any_bytes_give_an_error_and_no_traceback(suffix: str, data: bytes) -> None:
    with pytest.raises(InputError):
        reader_for(suffix)(data, "any")
    with pytest.raises(InputError):
        _read_bytes(data, suffix)


# -- writing -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("suffix", "digits"), [(".stl", 1e-6), (".3mf", 1e-15)])
def test_what_is_written_is_read_again(suffix: str, digits: float, tmp_path: Path) -> None:
    body = hollow_sphere(20, 15, 32)
    path = tmp_path / f"body{suffix}"
    write_mesh(body, path)
    reading = read_mesh(path)
    assert reading.mesh.volume_mm3 == pytest.approx(body.volume_mm3, rel=max(digits, 1e-12))
    assert np.sort(reading.mesh.vertices, axis=0) == pytest.approx(
        np.sort(body.vertices, axis=0), rel=digits, abs=digits
    )
    assert trimesh.load_mesh(path).volume == pytest.approx(body.volume_mm3, rel=1e-5)
    first = path.read_bytes()
    write_mesh(body, path)
    assert path.read_bytes() == first
    assert [p.name for p in tmp_path.iterdir()] == [path.name]


def test_writing_where_nothing_can_be_written_is_told(tmp_path: Path) -> None:
    blocked = tmp_path / "blocked"
    blocked.write_text("a file, no folder")
    with pytest.raises(InputError, match="cannot be written"):
        write_mesh(sphere(5, 8), blocked / "part.stl")
    with pytest.raises(InputError, match=r"\.stl or \.3mf"):
        write_mesh(sphere(5, 8), tmp_path / "part.obj")


def test_a_written_3mf_is_a_package_that_others_open() -> None:
    """Parts that the Open Packaging Conventions (ISO/IEC 29500-2) ask for."""
    import zipfile

    from routecost.mesh.reading.mesh_writer import threemf_bytes

    with zipfile.ZipFile(io.BytesIO(threemf_bytes(sphere(5, 8)))) as archive:
        assert archive.namelist()[0] == "[Content_Types].xml"
        assert {"_rels/.rels", "3D/3dmodel.model"} < set(archive.namelist())
