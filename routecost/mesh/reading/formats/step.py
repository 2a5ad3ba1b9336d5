"""STEP (ISO 10303-21), turned into triangles by cascadio, an optional extra of 100 MB."""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
from dataclasses import replace
from importlib.util import find_spec
from pathlib import Path

from routecost.core.errors import InputError
from routecost.core.units import factor
from routecost.mesh.reading.formats.gltf import read_glb
from routecost.mesh.reading.formats.raw_mesh import EXPORT_AGAIN, Raw

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
    if find_spec("cascadio") is None:
        what, mend = (
            "reading STEP needs the extra named step",
            "run: pip install 'routecost[step]', or export as STL",
        )
        raise InputError.of(file, "", what, mend)
    triangles, said = _converted(data)
    try:
        raw = read_glb(triangles, file)
    except InputError:
        what = "no solid can be made of the STEP data"
        raise InputError.of(file, "", what, "export the part again as one solid, or as STL") from None
    unit = stated_unit(data)
    warnings = (
        ("something in the STEP file has no surface and was left out",) if "skipped node" in said else ()
    )
    vertices = raw.vertices * factor("m", unit)  # as converted, always metres
    return replace(raw, vertices=vertices, unit=unit, unit_is_fixed=False, warnings=warnings)


def _converted(data: bytes) -> tuple[bytes, str]:
    """The GLB that cascadio makes, empty if it cannot, and what it printed.

    In a process of its own: the kernel under it prints past Python, and a damaged file can bring it down.
    """
    with tempfile.TemporaryDirectory() as folder:
        source, made = Path(folder, "part.step"), Path(folder, "part.glb")
        source.write_bytes(data)
        work = f"import cascadio, sys; cascadio.step_to_glb(sys.argv[1], sys.argv[2], {CHORD_MM}, {CHORD_ANGLE_RAD})"
        command = [sys.executable, "-P", "-c", work, str(source), str(made)]
        done = subprocess.run(command, capture_output=True, check=False)
        said = (done.stdout + done.stderr).decode("utf-8", "replace")
        return (made.read_bytes() if done.returncode == 0 and made.exists() else b""), said


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
