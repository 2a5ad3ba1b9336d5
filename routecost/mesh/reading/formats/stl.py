"""STL, binary and ASCII. It carries no unit. Its normals follow from the corners and are not read."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

import numpy as np

from routecost.core.arrays import Floats
from routecost.core.errors import InputError
from routecost.mesh.reading.formats.raw_mesh import EXPORT_AGAIN, Raw, check_finite, count_of

_HEADER, _RECORD = 84, 50
FACET = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
"""One facet of a binary file."""
_SOLID_LINE = re.compile(rb"^[^\S\n]*(?:end)?solid(?:[^\S\n][^\n]*)?$", re.MULTILINE)
# the 21 words of a facet; None is a number
_WORDS: tuple[bytes | None, ...] = (
    *(b"facet", b"normal", None, None, None, b"outer", b"loop"),
    *(b"vertex", None, None, None) * 3,
    *(b"endloop", b"endfacet"),
)
_CORNER_WORDS = [8, 9, 10, 12, 13, 14, 16, 17, 18]


def read_stl(data: bytes, file: str) -> Raw:
    """All facets of a binary or ASCII STL.

    The length decides which it is: exactly 84 + 50 · count bytes is binary, whatever the header says.
    """
    if len(data) >= _HEADER and len(data) == _HEADER + _RECORD * _count(data):
        return _binary(data, file)
    if _looks_like_text(data):
        return _ascii(data, file)
    raise _miscount(data, file)


def _count(data: bytes) -> int:
    return int.from_bytes(data[80:84], "little")


def _looks_like_text(data: bytes) -> bool:
    start = data[:1000].lstrip().lower()
    return start.startswith(b"solid") and (b"facet" in start or b"endsolid" in start or b"\0" not in start)


def _miscount(data: bytes, file: str) -> InputError:
    if len(data) < _HEADER:
        what = f"{count_of(len(data), 'byte')} are too few for a binary STL, which has a header of {_HEADER}"
        return InputError.of(file, "byte 0", what, EXPORT_AGAIN)
    count, whole = _count(data), (len(data) - _HEADER) / _RECORD
    if data.count(b"\xef\xbf\xbd") > 3:  # U+FFFD, which text tools write for bytes they cannot read
        what, mend = (
            "a program that treats files as text has replaced bytes in it",
            "copy it again as a binary file",
        )
        return InputError.of(file, f"byte {data.index(bytes([0xEF, 0xBF, 0xBD]))}", what, mend)
    promised = _HEADER + _RECORD * count
    what = f"the header counts {count_of(count, 'triangle')} ({promised} bytes), "
    what += f"but the file has {len(data)} bytes, room for {whole:.10g}"
    where = f"bytes 80–83 (the count) and byte {min(len(data), promised)}"
    return InputError.of(file, where, what, EXPORT_AGAIN)


def _binary(data: bytes, file: str) -> Raw:
    facets = np.frombuffer(data, FACET, offset=_HEADER)
    if not len(facets):
        raise InputError.of(file, "bytes 80–83", "the file counts 0 triangles", "export the part again")
    vertices = facets["corners"].reshape(-1, 3).astype(np.float64)

    def place(row: int) -> str:
        facet, corner = divmod(row, 3)
        byte = _HEADER + _RECORD * facet + 12 + 12 * corner
        return f"facet {facet + 1} (byte {byte}), corner {corner + 1}"

    check_finite(file, vertices, place)
    return _soup(vertices)


def _soup(vertices: Floats, repairs: tuple[str, ...] = ()) -> Raw:
    faces = np.arange(len(vertices), dtype=np.int64).reshape(-1, 3)
    return Raw(vertices, faces, np.arange(1, len(faces) + 1), face_word="facet", repairs=repairs)


def _ascii(data: bytes, file: str) -> Raw:
    lowered = data.lower().replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    vertices = _regular(lowered)
    if vertices is None or not np.isfinite(vertices).all():
        vertices = _word_by_word(lowered, file)
    if not len(vertices):
        raise InputError.of(file, "line 1", "the file has no facets", "export the part again")
    return _soup(vertices)


def _regular(text: bytes) -> Floats | None:
    """Corners of a file whose every facet has its 21 words, or None: fast, but cannot say what is wrong."""
    solids = [line.split()[0] for line in _SOLID_LINE.findall(text)]
    if not solids or solids != [b"solid", b"endsolid"] * (len(solids) // 2):
        return None
    words = _SOLID_LINE.sub(b"", text).split()
    if len(words) % len(_WORDS):
        return None
    for k, word in enumerate(_WORDS):
        if word is not None and words[k :: len(_WORDS)].count(word) != len(words) // len(_WORDS):
            return None
    try:
        columns = [np.array(words[k :: len(_WORDS)], dtype="S").astype(np.float64) for k in _CORNER_WORDS]
    except ValueError:
        return None
    return np.stack(columns, axis=1).reshape(-1, 3)


def _word_by_word(text: bytes, file: str) -> Floats:
    """The same line by line: accepts any layout and any normal, and names the line of an error."""
    points: list[list[float]] = []
    state, corners, facet, line = "outside", 0, 0, 1

    def wrong(what: str, mend: str = EXPORT_AGAIN) -> InputError:
        return InputError.of(file, f"line {line}, facet {facet}" if facet else f"line {line}", what, mend)

    for number, words in _statements(text):
        line = number
        here = (state, words[0])
        if here == ("outside", b"solid"):
            state = "solid"
        elif here == ("solid", b"endsolid"):
            state = "outside"
        elif here == ("solid", b"facet"):
            state, corners, facet = "facet", 0, facet + 1
        elif here == ("facet", b"outer"):
            state = "loop"
        elif here == ("loop", b"vertex"):
            corners += 1
            if corners > 3:
                raise wrong("the facet has more than three corners", "export the mesh as triangles")
            points.append(_point(words[1:], wrong))
        elif here == ("loop", b"endloop"):
            if corners != 3:
                raise wrong(f"the facet has {count_of(corners, 'corner')}, not three")
            state = "end"
        elif here == ("end", b"endfacet"):
            state = "solid"
        else:
            found = b" ".join(words)[:30].decode("utf-8", "replace")
            raise wrong(f"found {found!r} where {_EXPECTED[state]} belongs")
    if state != "outside":
        raise wrong(f"the file ends where {_EXPECTED[state]} belongs: it was cut off")
    return np.array(points, dtype=np.float64).reshape(-1, 3)


_EXPECTED = {
    "outside": "'solid'",
    "solid": "'facet' or 'endsolid'",
    "facet": "'outer loop'",
    "loop": "'vertex' or 'endloop'",
    "end": "'endfacet'",
}
_STARTS = {b"facet", b"outer", b"vertex", b"endloop", b"endfacet", b"endsolid"}


def _statements(text: bytes) -> Iterator[tuple[int, list[bytes]]]:
    """Each statement with the number of its line, whether or not it has a line of its own."""
    for number, raw in enumerate(text.split(b"\n"), start=1):
        words = raw.split()
        begin = 0
        if words and words[0] not in (b"solid", b"endsolid"):
            for k in range(1, len(words)):
                if words[k] in _STARTS:
                    yield number, words[begin:k]
                    begin = k
        if words:
            yield number, words[begin:]


def _point(words: list[bytes], wrong: Callable[[str], InputError]) -> list[float]:
    if len(words) != 3:
        raise wrong(f"a vertex has three numbers, this one has {len(words)}")
    point = []
    for word in words:
        try:
            point.append(float(word))
        except ValueError:
            raise wrong(f"{word.decode('utf-8', 'replace')!r} is not a number") from None
        if not np.isfinite(point[-1]):
            raise wrong(f"a coordinate is {word.decode()}")
    return point
