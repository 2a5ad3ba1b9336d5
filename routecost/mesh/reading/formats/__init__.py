"""Mesh files, one module a format. Each reads all of a file or says what is wrong where; none drops a face.

`reader_for` finds the reader of a suffix, `(data, file) -> Raw`.
"""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module

from routecost.mesh.reading.formats.raw_mesh import Raw

Reader = Callable[[bytes, str], Raw]

_MODULES = {
    ".stl": ("stl", "read_stl"),
    ".obj": ("obj", "read_obj"),
    ".ply": ("ply", "read_ply"),
    ".off": ("off", "read_off"),
    ".3mf": ("threemf", "read_3mf"),
    ".glb": ("glb", "read_glb"),
    ".step": ("step", "read_step"),
    ".stp": ("step", "read_step"),
}
SUFFIXES = tuple(_MODULES)


def reader_for(suffix: str) -> Reader:
    """The reader of a suffix such as `.stl`; imported when asked for: one format loads no other."""
    module, name = _MODULES[suffix]
    read: Reader = getattr(import_module(f"{__name__}.{module}"), name)
    return read
