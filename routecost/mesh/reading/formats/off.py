"""OFF: counts, vertices, polygons. It carries no unit; colours and normals are skipped."""

from __future__ import annotations

import re

from routecost.core.errors import InputError
from routecost.mesh.reading.formats.polygons import triangulated
from routecost.mesh.reading.formats.raw_mesh import EXPORT_AGAIN, Raw, check_finite, count_of
from routecost.mesh.reading.formats.text_lines import Line, floats, ints, lines_of

_KEYWORD = re.compile(rb"(?:ST)?C?N?OFF", re.IGNORECASE)


def read_off(data: bytes, file: str) -> Raw:
    """All polygons of an ASCII OFF, split into triangles."""
    lines = lines_of(data)
    counts_line, rest = _header(lines, file)
    vertex_count, face_count = _counts(counts_line, file)
    if face_count == 0:
        what = f"the header counts {count_of(vertex_count, 'vertex', 'vertices')} and no face"
        raise InputError.of(
            file, f"line {counts_line.number}", what, "export the surface, not its points alone"
        )
    if len(rest) < vertex_count + face_count:
        end = rest[-1].number if rest else counts_line.number
        what = f"{_promise(vertex_count, face_count)}, but only {len(rest)} lines follow it"
        raise InputError.of(file, f"line {end}", what, EXPORT_AGAIN)
    if len(rest) > vertex_count + face_count:
        extra = rest[vertex_count + face_count]
        what = f"{_promise(vertex_count, face_count)}, but {len(rest)} lines follow it"
        raise InputError.of(file, f"line {extra.number}", what, EXPORT_AGAIN)

    vertex_lines, face_lines = rest[:vertex_count], rest[vertex_count:]
    vertices = floats(file, vertex_lines, 0, 3)
    check_finite(file, vertices, lambda k: f"line {vertex_lines[k].number}")
    counts = ints(file, [line.words[0] for line in face_lines], face_lines, 0)
    words: list[bytes] = []
    for line, n in zip(face_lines, counts.tolist(), strict=True):
        if n < 3 or len(line.words) <= n:
            what = f"the face says it has {count_of(n, 'corner')} and lists {len(line.words) - 1}"
            raise InputError.of(
                file, f"line {line.number}", what, "three corners or more make a face; " + EXPORT_AGAIN
            )
        words += line.words[1 : n + 1]
    corners = ints(file, words, face_lines, 0)
    return triangulated(
        file, vertices, counts, corners, lambda k: f"line {face_lines[k].number}, face {k + 1}"
    )


def _header(lines: list[Line], file: str) -> tuple[Line, list[Line]]:
    """The line of counts and the lines after it; the keyword may share the line of counts, or be missing."""
    if not lines:
        raise InputError.of(file, "", "the file holds nothing but comments", EXPORT_AGAIN)
    first = lines[0]
    if _KEYWORD.fullmatch(first.words[0]):
        if b"BINARY" in [word.upper() for word in first.words]:
            raise InputError.of(
                file, f"line {first.number}", "this OFF is binary", "export it as text, or as STL"
            )
        if len(first.words) > 1:
            return Line(first.number, first.words[1:]), lines[1:]
        if len(lines) < 2:
            raise InputError.of(
                file, f"line {first.number}", "the file ends after its first line", EXPORT_AGAIN
            )
        return lines[1], lines[2:]
    if not first.words[0].isdigit():
        found = first.words[0][:20].decode("utf-8", "replace")
        raise InputError.of(
            file, f"line {first.number}", f"an OFF file begins with OFF, not {found!r}", EXPORT_AGAIN
        )
    return first, lines[1:]


def _promise(vertex_count: int, face_count: int) -> str:
    return (
        f"the header counts {count_of(vertex_count, 'vertex', 'vertices')} and {count_of(face_count, 'face')}"
    )


def _counts(line: Line, file: str) -> tuple[int, int]:
    if len(line.words) < 2 or not all(word.isdigit() for word in line.words[:2]):
        found = b" ".join(line.words)[:40].decode("utf-8", "replace")
        what = f"{found!r} stands where the numbers of vertices and faces belong"
        raise InputError.of(file, f"line {line.number}", what, EXPORT_AGAIN)
    return int(line.words[0]), int(line.words[1])
