"""A mesh written to a file, whole or not at all."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import numpy as np

from routecost.core.errors import InputError
from routecost.core.files import write_for_user
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.reading.formats.stl import FACET

_CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
_TYPES = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>'
    "</Types>\n"
)
_RELATIONS = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    '<Relationship Target="/3D/3dmodel.model" Id="rel0" '
    'Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/>'
    "</Relationships>\n"
)


def write_mesh(mesh: Mesh, path: str | Path) -> None:
    """Writes binary STL (single precision, no unit) or 3MF (full precision, in millimetres), by the suffix.

    The same mesh gives the same bytes. An existing file at `path` is replaced only by a complete one.
    """
    path = Path(path)
    match path.suffix.lower():
        case ".stl":
            data = stl_bytes(mesh)
        case ".3mf":
            data = threemf_bytes(mesh)
        case suffix:
            raise InputError.of(
                str(path), "", f"files of type {suffix!r} are not written", "name it .stl or .3mf"
            )
    write_for_user(path, data)


def stl_bytes(mesh: Mesh) -> bytes:
    facets = np.zeros(len(mesh.faces), FACET)
    facets["normal"] = mesh.normals
    facets["corners"] = mesh.triangles
    return b"routecost, lengths in mm".ljust(80) + len(facets).to_bytes(4, "little") + facets.tobytes()


def threemf_bytes(mesh: Mesh) -> bytes:
    vertices = "".join(f'<vertex x="{x!r}" y="{y!r}" z="{z!r}"/>\n' for x, y, z in mesh.vertices.tolist())
    triangles = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>\n' for a, b, c in mesh.faces.tolist())
    model = (
        f'<?xml version="1.0" encoding="UTF-8"?>\n<model unit="millimeter" xmlns="{_CORE}"><resources>'
        f'<object id="1" type="model"><mesh><vertices>\n{vertices}</vertices><triangles>\n{triangles}</triangles>'
        '</mesh></object></resources><build><item objectid="1"/></build></model>\n'
    )
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in (
            ("[Content_Types].xml", _TYPES),
            ("_rels/.rels", _RELATIONS),
            ("3D/3dmodel.model", model),
        ):
            entry = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))  # the clock must not change the bytes
            entry.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(entry, text)
    return made.getvalue()
