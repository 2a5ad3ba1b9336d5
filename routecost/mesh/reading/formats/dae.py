"""DAE (COLLADA 1.4 and 1.5): the triangles of the scene, through trimesh and pycollada.

pycollada reads what is no number as 0, and trimesh drops faces with NaN, both silently: so the numbers are checked
first, and the loader's arrays are taken before trimesh makes meshes of them. Polygons come split into fans; the
soundness checks find what that makes of a dented one.
"""

from __future__ import annotations

import io
import math
from typing import Any

import numpy as np

from routecost.core.arrays import Floats, Ints
from routecost.core.errors import InputError
from routecost.core.units import factor
from routecost.mesh.reading.formats.raw_mesh import EXPORT_AGAIN, Raw, check_finite, joined
from routecost.mesh.reading.formats.xml_tree import local_name, xml_root

_UNITS = ("mm", "cm", "m", "in", "ft", "µm")


def read_dae(data: bytes, file: str) -> Raw:
    """All triangles of the scene, each geometry in its place, in the unit that the file states, else in metres."""
    root = xml_root(data, file)
    if local_name(root) != "COLLADA":
        what = f"found <{local_name(root)}> where <COLLADA> belongs"
        raise InputError.of(file, f"line {root.sourceline}", what, EXPORT_AGAIN)
    stated = root.find("{*}asset/{*}unit")
    meters = _number(file, stated.get("meter", "1")) if stated is not None else 1.0
    unit = next((u for u in _UNITS if math.isclose(factor(u, "m"), meters, rel_tol=1e-6)), None)
    controller = root.find("{*}library_visual_scenes//{*}instance_controller")
    if controller is not None:
        what = "the scene holds a mesh bent by a controller, which is not read"
        raise InputError.of(file, f"line {controller.sourceline}", what, "export the part without animation")
    for array in root.iterfind("{*}library_geometries//{*}float_array"):
        _check_numbers(file, array)
    vertices, faces = _placed(data, file)
    check_finite(file, vertices, lambda k: f"triangle {k // 3 + 1}")  # every corner has its own vertex
    numbers = np.arange(1, len(faces) + 1)
    if unit is None:
        vertices, unit = vertices * meters, "m"
    return Raw(vertices, faces, numbers, "triangle", unit, unit_is_fixed=stated is None)


def _check_numbers(file: str, array: Any) -> None:
    words = (array.text or "").split()
    stated, what = array.get("count", ""), ""
    if stated != str(len(words)):
        what = f"the array says it has {stated[:20]} numbers, it has {len(words)}"
    else:
        try:
            if not np.isfinite(np.array(words, dtype=np.float64)).all():
                what = "a number is not finite (nan or inf)"
        except ValueError as error:
            what = str(error)
    if what:
        raise InputError.of(file, f"line {array.sourceline}, array {array.get('id', '')}", what, EXPORT_AGAIN)


def _number(file: str, text: str) -> float:
    try:
        meters = float(text)
    except ValueError:
        meters = math.nan
    if not (math.isfinite(meters) and meters > 0):
        what = f"the unit is {text[:20]!r} metres long"
        raise InputError.of(file, "asset, unit", what, "write a number above 0, such as 0.001 for mm")
    return meters


def _placed(data: bytes, file: str) -> tuple[Floats, Ints]:
    from trimesh.exchange.dae import load_collada

    try:
        loaded = load_collada(io.BytesIO(data), ignore_broken=False)
        pieces = []
        for node in loaded["graph"]:
            mesh = loaded["geometry"][node["geometry"]]
            pieces.append(
                (np.asarray(mesh["vertices"], np.float64), mesh["faces"], np.asarray(node["matrix"]))
            )
    except Exception as error:  # whatever a damaged file makes the libraries raise
        what = f"the COLLADA data do not fit together ({' '.join(str(error).split())[:120]})"
        raise InputError.of(file, "", what, EXPORT_AGAIN) from None
    if not sum(len(faces) for _, faces, _ in pieces):
        what = "the scene has no triangles"
        raise InputError.of(file, "", what, "export the surface of the part, as triangles")
    return joined(pieces)
