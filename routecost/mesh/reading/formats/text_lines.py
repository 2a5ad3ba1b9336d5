"""Lines and numbers of text formats, with line numbers for error messages."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from routecost.core.arrays import Floats, Ints
from routecost.core.errors import InputError
from routecost.mesh.reading.formats.raw_mesh import EXPORT_AGAIN


@dataclass(frozen=True)
class Line:
    number: int
    words: list[bytes]


def lines_of(data: bytes, comment: bytes = b"#") -> list[Line]:
    """Lines that are not empty, without comments.

    >>> lines_of(b"v 1 2 # corner\\n\\n# note\\nf 1")
    [Line(number=1, words=[b'v', b'1', b'2']), Line(number=4, words=[b'f', b'1'])]
    """
    split = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n").split(b"\n")
    if comment in data:
        split = [line.partition(comment)[0] for line in split]
    return [Line(k, words) for k, line in enumerate(split, start=1) if (words := line.split())]


def floats(file: str, rows: Sequence[Line], first: int, count: int) -> Floats:
    """`count` numbers of each row from word `first`, (n, count)."""
    try:
        table = [row.words[first : first + count] for row in rows]
        return np.array(table, dtype="S").astype(np.float64).reshape(-1, count)
    except ValueError:
        raise _bad_number(file, rows, first, count, float) from None


def ints(file: str, words: Sequence[bytes], rows: Sequence[Line], first: int) -> Ints:
    """Whole numbers from a flat list of words; `rows` are the lines they came from, to name the bad one."""
    try:
        return np.array(words, dtype="S").astype(np.int64)
    except (ValueError, OverflowError):
        raise _bad_number(file, rows, first, None, int) from None


def _bad_number(
    file: str, rows: Sequence[Line], first: int, count: int | None, number: type[float] | type[int]
) -> InputError:
    kind = "a number" if number is float else "a whole number"
    for row in rows:
        words = row.words[first : first + count if count else None]
        if count and len(words) != count:
            what = f"{count} numbers belong here, the line has {len(words)}"
            return InputError.of(file, f"line {row.number}", what, EXPORT_AGAIN)
        for word in words:
            try:
                value = number(word.split(b"/")[0] if number is int else word)
                if number is int and abs(value) >= 1 << 63:
                    raise ValueError
            except ValueError:
                text = word[:30].decode("utf-8", "replace")
                return InputError.of(file, f"line {row.number}", f"{text!r} is not {kind}", EXPORT_AGAIN)
    return InputError.of(file, "", f"a line holds what is not {kind}", EXPORT_AGAIN)
