"""STEP (ISO 10303-21), turned into triangles by cascadio, an optional extra of 100 MB."""

from __future__ import annotations

import re
import tempfile
from dataclasses import replace
from pathlib import Path

from routecost.errors import InputError
from routecost.parts.formats.glb import read_glb
from routecost.parts.formats.raw import EXPORT_AGAIN, Raw
from routecost.units import factor

CHORD_MM = 0.01
"""Triangles may leave the true surface by this much: below what any of the processes can make."""

CHORD_ANGLE_RAD = 0.25
"""And turn by 14° at most from one to the next, so that small fillets keep their volume."""

_UNIT = re.compile(
    rb"CONVERSION_BASED_UNIT\s*\(\s*'(INCH|FOOT)'|SI_UNIT\s*\(\s*(\.[A-Z]+\.|\$)\s*,\s*\.METRE\.\s*\)"
)
_SI = {b".MILLI.": "mm", b".CENTI.": "cm", b".MICRO.": "µm", b"$": "m"}


def read_step(data: bytes, file: str) -> Raw:
    """All solids of a STEP file as triangles; the file's own unit is honoured."""
    if not data.lstrip().startswith(b"ISO-10303-21"):
        found = data[:20].decode("latin-1")
        raise InputError.of(
            file, "byte 0", f"a STEP file begins with ISO-10303-21, not {found!r}", EXPORT_AGAIN
        )
    if b"END-ISO-10303-21" not in data[-1000:]:
        what = "the file has no END-ISO-10303-21: it was cut off"
        raise InputError.of(file, f"byte {len(data)}", what, EXPORT_AGAIN)
    try:
        import cascadio
    except ImportError:
        what, mend = (
            "reading STEP needs the extra named step",
            "run: pip install 'routecost[step]', or export as STL",
        )
        raise InputError.of(file, "", what, mend) from None

    with tempfile.TemporaryDirectory() as folder:
        source, made = Path(folder, "part.step"), Path(folder, "part.glb")
        source.write_bytes(data)
        try:
            cascadio.step_to_glb(str(source), str(made), CHORD_MM, CHORD_ANGLE_RAD)
            triangles = made.read_bytes()
        except Exception as error:  # the kernel's own errors have no common type
            what = f"the STEP data cannot be read ({type(error).__name__})"
            raise InputError.of(file, "", what, "export the part again, as one solid") from None
    raw = read_glb(triangles, file)
    unit = stated_unit(data)
    return replace(raw, vertices=raw.vertices * factor("m", unit), unit=unit, unit_is_fixed=False)


def stated_unit(data: bytes) -> str:
    """The unit that a STEP file says its lengths are in, for the record: mm unless it says otherwise.

    >>> stated_unit(b"#5=(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.));")
    'mm'
    >>> stated_unit(b"#7=(CONVERSION_BASED_UNIT('INCH',#8)LENGTH_UNIT()NAMED_UNIT(#9));")
    'in'
    """
    found = _UNIT.findall(data)
    named = [name for name, _ in found if name]
    if named:
        return "in" if named[0] == b"INCH" else "ft"
    return _SI.get(found[0][1], "m") if found else "mm"
