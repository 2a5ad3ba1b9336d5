"""PLY, ASCII and binary: its vertices and polygons; other elements are skipped. It carries no unit."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from routecost.core.arrays import Floats, Ints
from routecost.core.errors import InputError
from routecost.mesh.reading.formats.polygons import triangulated
from routecost.mesh.reading.formats.raw_mesh import EXPORT_AGAIN, Raw, check_finite, count_of
from routecost.mesh.reading.formats.text_lines import Line, floats, ints

_TYPES = {
    **{"char": "i1", "int8": "i1", "uchar": "u1", "uint8": "u1"},
    **{"short": "i2", "int16": "i2", "ushort": "u2", "uint16": "u2"},
    **{"int": "i4", "int32": "i4", "uint": "u4", "uint32": "u4"},
    **{"float": "f4", "float32": "f4", "double": "f8", "float64": "f8"},
}
_ORDER = {"binary_little_endian": "<", "binary_big_endian": ">"}
_CORNER_LISTS = ("vertex_indices", "vertex_index")


@dataclass
class Property:
    name: str
    type: str
    count_type: str = ""
    """Set for a list."""


@dataclass
class Element:
    name: str
    count: int
    properties: list[Property] = field(default_factory=list)

    def position(self, name: str) -> int:
        return [p.name for p in self.properties].index(name)


def read_ply(data: bytes, file: str) -> Raw:
    """All polygons of a PLY, split into triangles."""
    encoding, elements, start, lines = _header(data, file)
    vertex, face = _needed(elements, file)
    if encoding == "ascii":
        vertices, counts, corners = _ascii(data[start:], lines + 1, elements, vertex, face, file)
    else:
        vertices, counts, corners = _binary(
            _Body(data, start, _ORDER[encoding], file), elements, vertex, face
        )
    check_finite(file, vertices, lambda k: f"vertex {k}")
    return triangulated(file, vertices, counts, corners, lambda k: f"face {k + 1}")


def _header(data: bytes, file: str) -> tuple[str, list[Element], int, int]:
    """Encoding, elements, the byte where the body starts, and how many lines the header has."""
    mark = data.find(b"end_header")
    end = data.find(b"\n", mark) + 1
    if mark < 0 or end == 0:
        raise InputError.of(
            file, "line 1", "the header of the PLY has no end_header: it was cut off", EXPORT_AGAIN
        )
    lines = data[:end].decode("latin-1").splitlines()
    encoding, elements = "", list[Element]()
    for number, text in enumerate(lines, start=1):
        words = text.split()
        try:
            match words:
                case ["format", kind, _]:
                    encoding = kind
                case ["element", name, count]:
                    elements.append(Element(name, int(count)))
                case ["property", "list", count_type, kind, name]:
                    elements[-1].properties.append(Property(name, _TYPES[kind], _TYPES[count_type]))
                case ["property", kind, name]:
                    elements[-1].properties.append(Property(name, _TYPES[kind]))
                case [] | ["comment" | "obj_info" | "end_header", *_]:
                    pass
                case ["ply"] if number == 1:
                    pass
                case _:
                    raise ValueError
        except (ValueError, KeyError, IndexError):
            what = f"{text.strip()[:40]!r} is no line of a PLY header"
            raise InputError.of(file, f"line {number}", what, EXPORT_AGAIN) from None
    if lines[0].split() != ["ply"]:
        raise InputError.of(file, "line 1", f"a PLY begins with ply, not {lines[0][:20]!r}", EXPORT_AGAIN)
    if encoding != "ascii" and encoding not in _ORDER:
        raise InputError.of(file, "line 2", f"the format {encoding!r} is not known", EXPORT_AGAIN)
    return encoding, elements, end, len(lines)


def _needed(elements: list[Element], file: str) -> tuple[Element, Element]:
    """The elements that hold vertices and faces."""
    named = {element.name: element for element in elements}
    vertex, face = named.get("vertex"), named.get("face")
    if vertex is None or not {"x", "y", "z"} <= {p.name for p in vertex.properties}:
        raise InputError.of(file, "header", "no element vertex with x, y and z", EXPORT_AGAIN)
    if face is None or not face.count:
        held = ", ".join(count_of(e.count, e.name, e.name) for e in elements)
        mend = "export the surface, not its points alone"
        raise InputError.of(file, "header", f"the file has no faces (it holds {held})", mend)
    if not any(p.name in _CORNER_LISTS and p.count_type for p in face.properties):
        raise InputError.of(file, "header", "the faces have no list vertex_indices", EXPORT_AGAIN)
    return vertex, face


def _corner_list(face: Element) -> int:
    return next(k for k, p in enumerate(face.properties) if p.name in _CORNER_LISTS and p.count_type)


def _ascii(
    body: bytes, first_line: int, elements: list[Element], vertex: Element, face: Element, file: str
) -> tuple[Floats, Ints, Ints]:
    split = body.replace(b"\r\n", b"\n").replace(b"\r", b"\n").split(b"\n")
    lines = [Line(k, words) for k, text in enumerate(split, start=first_line) if (words := text.split())]
    wanted = sum(element.count for element in elements)
    if len(lines) != wanted:
        last = lines[min(len(lines), wanted + 1) - 1].number if lines else first_line
        what = f"the header counts {wanted} lines of data, the file has {len(lines)}"
        raise InputError.of(file, f"line {last}", what, EXPORT_AGAIN)
    at, rows = 0, dict[str, list[Line]]()
    for element in elements:
        rows[element.name] = lines[at : at + element.count]
        at += element.count
    if any(p.count_type for p in vertex.properties):
        raise InputError.of(file, "header", "the vertices hold lists", "export plain vertices")
    vertices = np.concatenate(
        [floats(file, rows["vertex"], vertex.position(axis), 1) for axis in "xyz"], axis=1
    )

    counts: list[int] = []
    corners: list[bytes] = []
    which = _corner_list(face)
    for line in rows["face"]:
        at = 0
        try:
            for p in face.properties[:which]:
                at += 1 + (int(line.words[at]) if p.count_type else 0)
            n = int(line.words[at])
        except (ValueError, IndexError):
            what = "the line does not hold what the header says of a face"
            raise InputError.of(file, f"line {line.number}", what, EXPORT_AGAIN) from None
        found = line.words[at + 1 : at + 1 + n]
        if len(found) != n:
            what = f"the face says it has {count_of(n, 'corner')} and lists {len(found)}"
            raise InputError.of(file, f"line {line.number}", what, EXPORT_AGAIN)
        counts.append(n)
        corners += found
    return vertices, np.array(counts, dtype=np.int64), ints(file, corners, rows["face"], 0)


@dataclass
class _Body:
    """A binary body, and how far it has been read."""

    data: bytes
    at: int
    order: str
    file: str

    def take(self, layout: np.dtype[Any], count: int, element: Element, row: int) -> NDArray[Any]:
        """The next `count` values; `row` of `element` is where they belong, should the file end there."""
        if count < 0 or self.at + layout.itemsize * count > len(self.data):
            row += (len(self.data) - self.at) // layout.itemsize if row == 0 else 0
            what = f"the file ends in {element.name} {row + 1} of the {element.count} that the header counts"
            raise InputError.of(self.file, f"byte {len(self.data)}", what, EXPORT_AGAIN)
        values = np.frombuffer(self.data, layout, count, self.at)
        self.at += layout.itemsize * count
        return values


def _binary(
    body: _Body, elements: list[Element], vertex: Element, face: Element
) -> tuple[Floats, Ints, Ints]:
    vertices = np.zeros((0, 3))
    counts, corners = np.zeros(0, np.int64), np.zeros(0, np.int64)
    for element in elements:
        if element is face:
            counts, corners = _rows(body, element, _corner_list(element))
        elif any(p.count_type for p in element.properties):
            if element is vertex:
                raise InputError.of(body.file, "header", "the vertices hold lists", "export plain vertices")
            _rows(body, element, None)
        elif element.count and element.properties:
            table = body.take(
                _layout(body.order, element, [1] * len(element.properties)), element.count, element, 0
            )
            if element is vertex:
                vertices = np.stack([table[f"{element.position(axis)}"] for axis in "xyz"], axis=1).astype(
                    np.float64
                )
    if body.data[body.at :].strip():
        what = f"{count_of(len(body.data) - body.at, 'byte')} follow the last element that the header counts"
        raise InputError.of(body.file, f"byte {body.at}", what, EXPORT_AGAIN)
    return vertices, counts, corners


def _layout(order: str, element: Element, lengths: list[int]) -> np.dtype[Any]:
    """One row: property k is field `k`; the length before a list is field `k#`."""
    fields: list[tuple[str, str] | tuple[str, str, tuple[int]]] = []
    for k, (p, length) in enumerate(zip(element.properties, lengths, strict=True)):
        if p.count_type:
            fields += [(f"{k}#", order + p.count_type), (f"{k}", order + p.type, (length,))]
        else:
            fields.append((f"{k}", order + p.type))
    return np.dtype(fields)


def _rows(body: _Body, element: Element, wanted: int | None) -> tuple[Ints, Ints]:
    """Counts and members of one list property. Rows of equal layout are read at once."""
    start = body.at
    lengths = [len(list_) for list_ in _row(body, element, 0)] if element.count else []
    body.at = start
    layout = _layout(body.order, element, lengths) if lengths else np.dtype("u1")
    if start + layout.itemsize * element.count <= len(body.data):
        table = body.take(layout, element.count, element, 0)
        listed = [k for k, p in enumerate(element.properties) if p.count_type]
        if all((table[f"{k}#"] == lengths[k]).all() for k in listed if lengths):
            if wanted is None or not lengths:
                return np.zeros(0, np.int64), np.zeros(0, np.int64)
            counts = np.full(element.count, lengths[wanted], np.int64)
            return counts, table[f"{wanted}"].astype(np.int64).reshape(-1)
        body.at = start
    rows = [_row(body, element, row) for row in range(element.count)]
    if wanted is None:
        return np.zeros(0, np.int64), np.zeros(0, np.int64)
    lists = [row[wanted] for row in rows]
    return np.array([len(one) for one in lists], dtype=np.int64), np.concatenate(lists).astype(np.int64)


def _row(body: _Body, element: Element, row: int) -> list[NDArray[Any]]:
    """The values of each property in the row at hand."""
    values = []
    for p in element.properties:
        count = int(body.take(np.dtype(body.order + p.count_type), 1, element, row)[0]) if p.count_type else 1
        values.append(body.take(np.dtype(body.order + p.type), count, element, row))
    return values
