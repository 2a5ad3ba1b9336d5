"""OBJ: its vertices and polygons. It carries no unit; materials, normals and groups do not matter."""

from __future__ import annotations

from collections import Counter

import numpy as np

from routecost.core.arrays import Ints
from routecost.core.errors import InputError
from routecost.mesh.reading.formats.polygons import triangulated
from routecost.mesh.reading.formats.raw_mesh import Raw, check_finite
from routecost.mesh.reading.formats.text_lines import Line, floats, ints, lines_of

_CURVED = {b"curv", b"curv2", b"surf", b"bzp", b"bsp"}


def read_obj(data: bytes, file: str) -> Raw:
    """All polygons of an OBJ, split into triangles. Negative vertex numbers count back from the face."""
    lines = lines_of(data.replace(b"\\\r\n", b" ").replace(b"\\\n", b" "))
    vertex_lines = [line for line in lines if line.words[0] == b"v"]
    face_lines = [line for line in lines if line.words[0] in (b"f", b"fo")]
    _check_kinds(file, lines, face_lines)
    vertices = floats(file, vertex_lines, 1, 3)
    check_finite(file, vertices, lambda k: f"line {vertex_lines[k].number}")

    counts = np.array([len(line.words) - 1 for line in face_lines], dtype=np.int64)
    words = [word for line in face_lines for word in line.words[1:]]
    if b"/" in data:
        words = [word.partition(b"/")[0] for word in words]
    corners = _from_zero(ints(file, words, face_lines, 1), counts, vertex_lines, face_lines)
    return triangulated(
        file, vertices, counts, corners, lambda k: f"line {face_lines[k].number}, face {k + 1}", base=1
    )


def _check_kinds(file: str, lines: list[Line], face_lines: list[Line]) -> None:
    kinds = Counter(line.words[0] for line in lines)
    curved = sorted(_CURVED & set(kinds))
    if curved:
        line = next(line for line in lines if line.words[0] in _CURVED)
        what = f"the file holds curved surfaces ({curved[0].decode()})"
        raise InputError.of(file, f"line {line.number}", what, "export the part as triangles")
    if not face_lines:
        held = ", ".join(f"{n} {kind[:12].decode('utf-8', 'replace')}" for kind, n in kinds.most_common(4))
        what = f"the file has no faces (lines: {held})" if held else "the file has no faces"
        raise InputError.of(file, "", what, "export the surface of the part, as triangles")


def _from_zero(numbers: Ints, counts: Ints, vertex_lines: list[Line], face_lines: list[Line]) -> Ints:
    """Vertex indices from 0; what the format counts from 1, or back from the vertices above the face.

    0, which is no vertex, becomes −1.
    """
    if (numbers > 0).all():
        return numbers - 1
    v_at = np.array([line.number for line in vertex_lines])
    f_at = np.array([line.number for line in face_lines])
    above = np.repeat(np.searchsorted(v_at, f_at), counts)
    return np.where(numbers < 0, np.where(above + numbers < 0, -2, above + numbers), numbers - 1)
