"""A mesh file read, brought to millimetres and made sound; or one clear error that says what is wrong where."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from routecost.core.errors import InputError
from routecost.core.units import UnitError, convert
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.reading.formats import SUFFIXES, reader_for
from routecost.mesh.reading.formats.raw_mesh import Raw
from routecost.mesh.reading.soundness import make_sound

_FOREIGN = {
    b"PK\x03\x04": "a ZIP archive",
    b"%PDF": "a PDF",
    b"\x1f\x8b": "a gzip archive",
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a picture",
    b"glTF": "a GLB",
    b"ISO-10303-21": "a STEP file",
}


@dataclass(frozen=True, eq=False)
class Reading:
    """A part as read from its file."""

    file: str
    mesh: Mesh
    """Sound and in mm; voids have their normals into the void, out of the material."""
    unit: str
    """The unit the file's numbers are in."""
    unit_source: str
    """`file` if the file states it, `format` if only the standard of its format does, `given` by the caller, or
    `assumed`."""
    faults: tuple[str, ...]
    """What was wrong and could be repaired."""
    repairs: tuple[str, ...]
    """The same defects, with what was done about each."""
    warnings: tuple[str, ...]


def read_mesh(path: str | Path, unit: str | None = None, default_unit: str = "mm") -> Reading:
    """The part in a file, sound and in mm. InputError with the place and the remedy if it cannot be read.

    The unit is the one the file states (3MF, STEP, DAE), even against a `unit` given, with a warning: whoever
    wrote the file knew. In metres by their standards are glTF, and DAE that states none: there a `unit` given wins,
    with a warning too. STL, OBJ, PLY and OFF carry no unit: it is the one given, or `default_unit`.
    """
    file = str(path)
    return reading_of(bytes_of(Path(path), file), Path(path).suffix, file, unit, default_unit)


def reading_of(data: bytes, suffix: str, file: str, unit: str | None, default_unit: str) -> Reading:
    """The same from a file's bytes and the ending of its name; `file` is what messages call it."""
    suffix = suffix.lower()
    _check_kind(file, suffix, data)
    raw = reader_for(suffix)(data, file)
    used, source, warnings = _unit(file, raw, unit, default_unit)
    sound = make_sound(file, raw, _mm(file, used))
    warnings += [*raw.warnings, *sound.warnings]
    return Reading(
        file, sound.mesh, used, source, sound.faults, (*raw.repairs, *sound.repairs), tuple(warnings)
    )


def bytes_of(path: Path, file: str) -> bytes:
    """The bytes of a mesh file; InputError if it is none or cannot be read."""
    if path.is_dir():
        raise InputError.of(file, "", "this is a folder", "name the mesh file in it")
    suffix = path.suffix.lower()
    if suffix not in SUFFIXES:
        kind = f"files of type {suffix!r} are not read" if suffix else "the file's name has no ending"
        raise InputError.of(file, "", kind, f"export the part as one of {', '.join(s[1:] for s in SUFFIXES)}")
    try:
        if not path.exists():
            raise InputError.of(file, "", "there is no such file", "check its name and folder")
        if not path.is_file():
            raise InputError.of(file, "", "this is no file that can be read", "name a mesh file")
        return path.read_bytes()
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        what = f"the file cannot be read ({reason})"
        raise InputError.of(file, "", what, "check its permissions") from None


def _check_kind(file: str, suffix: str, data: bytes) -> None:
    """Refuses files that are clearly something else, and says what they are."""
    if not data.strip(b"\0 \t\r\n"):
        what = "the file is empty" if not data else f"the file holds nothing but {len(data)} blank bytes"
        raise InputError.of(file, "", what, "export or download it again")
    start = data[:500].lstrip().lower()
    if start.startswith((b"<!doctype html", b"<html")) or (start.startswith(b"<") and b"<html" in start):
        raise InputError.of(file, "line 1", "this is a web page (HTML), no mesh", "download the file itself")
    for magic, name in _FOREIGN.items():
        if data.startswith(magic) and name not in _own_names(suffix):
            raise InputError.of(file, "byte 0", f"this is {name}, not what it is named", "rename it")


def _own_names(suffix: str) -> tuple[str, ...]:
    names = {".3mf": "a ZIP archive", ".glb": "a GLB", ".step": "a STEP file", ".stp": "a STEP file"}
    return (names.get(suffix, ""),)


def _unit(file: str, raw: Raw, given: str | None, default: str) -> tuple[str, str, list[str]]:
    """The unit to be used, where it comes from, and a warning if two contradict."""
    if raw.unit is None:
        return (given, "given", []) if given else (default, "assumed", [])
    if not given or _mm(file, given) == _mm(file, raw.unit):
        return raw.unit, "format" if raw.unit_is_fixed and not given else "file", []
    if raw.unit_is_fixed:
        what = f"read in {given} as given, though the file's format is in {raw.unit}"
        return given, "given", [what]
    what = f"read in {raw.unit} as the file states; the unit given, {given}, was not used"
    return raw.unit, "file", [what]


def _mm(file: str, unit: str) -> float:
    """mm to one unit."""
    try:
        return convert(1.0, unit, "mm")
    except UnitError as error:
        raise InputError.of(file, "unit", error.what, "write mm, cm, m, in or ft") from None
