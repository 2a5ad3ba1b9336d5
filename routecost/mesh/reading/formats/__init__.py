"""Mesh files, one module per format. Each reads a file completely or says what is wrong where; none drops a face.

`reader_for` finds the reader of a suffix, `(data, file) -> Raw`.
"""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from routecost.mesh.reading.formats.raw_mesh import Raw

_MODULES = {
    ".stl": ("stl", "read_stl"),
    ".obj": ("obj", "read_obj"),
    ".ply": ("ply", "read_ply"),
    ".off": ("off", "read_off"),
    ".3mf": ("threemf", "read_3mf"),
    ".glb": ("gltf", "read_glb"),
    ".gltf": ("gltf", "read_gltf"),
    ".dae": ("dae", "read_dae"),
    ".step": ("step", "read_step"),
    ".stp": ("step", "read_step"),
}
SUFFIXES = tuple(_MODULES)
"""Endings of all files that can be read."""


def reader_for(suffix: str) -> Callable[[bytes, str], Raw]:
    """The reader of a suffix such as `.stl`; imported when asked for: one format loads no other."""
    module, name = _MODULES[suffix]
    read: Callable[[bytes, str], Raw] = getattr(import_module(f"{__name__}.{module}"), name)
    return read
