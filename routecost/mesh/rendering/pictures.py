"""A picture of a part as PNG bytes: rays through every pixel, soft light, dark outlines; no display, no GPU.

What needs attention can be marked on it. Marks differ by their hatching, not by colour alone.
"""

from __future__ import annotations

from collections.abc import Mapping
from io import BytesIO
from typing import Any

import numpy as np
from numpy.typing import NDArray

from routecost.core.arrays import Bools, Floats, Ints
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.geometry.rays.lattice_scan import ranges, scan
from routecost.mesh.geometry.vectors import rotation_to_z

Shades = NDArray[np.float32]

MARKS = ("overhang", "thin", "unreachable")
"""What can be marked: stripes rising to the right, stripes falling to the right, a grid of both."""

_TINTS = {"overhang": (125, 62, 10), "thin": (130, 35, 75), "unreachable": (30, 65, 105)}
_BODY = np.array([226.0, 231.0, 234.0], np.float32)  # a neutral grey: no colour of a route or material
_INK = np.array([44.0, 50.0, 58.0], np.float32)  # lines: dark enough for print, softer than black
_MARGIN = 0.05  # share of the picture left free on each side
_FINE = 2  # rays a pixel and direction: smooth edges; more is not seen
_TURN_DEG, _RISE_DEG = 32.0, 30.0  # near isometric, but no two edges of a box coincide
_SMOOTH_DEG = 24.0  # facets that meet flatter than this are shown as one curved surface
_CREASE_DEG = 36.0  # surfaces that meet sharper get a line
_HATCH_PX = 8.0  # one stripe and one gap: a mark on a few square millimetres still shows two


def picture(
    mesh: Mesh,
    size_px: int = 300,
    up: Any = None,
    marks: Mapping[str, Bools] | None = None,
    from_below: bool = False,
) -> bytes:
    """A square PNG of the part with a transparent background.

    `up` is the direction shown upward (+z if None). `marks` names what to mark (see `MARKS`) and which faces,
    as (m,) bool. `from_below` looks at the underside, where overhangs are.
    """
    axes = view_axes(mesh, up, from_below)
    seen = mesh.vertices @ axes.T
    low, high = seen.min(axis=0), seen.max(axis=0)
    scale = size_px * _FINE * (1 - 2 * _MARGIN) / float(max((high - low)[:2].max(), 1e-12))
    # only the rectangle around the part is worked on, in whole pixels with a free one on each side
    columns, rows = ((np.ceil((high - low)[:2] * scale / _FINE) + 2) * _FINE).astype(int)
    middle = (low + high) / 2
    # lattice points are the middles of fine pixels; rows go down
    x = (seen[:, 0] - middle[0]) * scale + (columns - 1) / 2
    y = (middle[1] - seen[:, 1]) * scale + (rows - 1) / 2

    face, near = _nearest(mesh, axes[2], x, y, seen[:, 2] * scale, (rows, columns))
    inside = face >= 0
    normal = np.zeros((rows, columns, 3), np.float32)
    normal[inside] = _smooth_normals(mesh, axes, face[inside], np.argwhere(inside), x, y)

    colour = _lit(normal, near, inside, from_below)
    for name, faces in (marks or {}).items():
        _hatch(colour, name, inside & np.asarray(faces, bool)[face])
    ink = _lines(normal, near, inside)[..., None]
    return _png(colour + (_INK - colour) * ink, inside, size_px)


def view_axes(mesh: Mesh, up: Any = None, from_below: bool = False) -> Floats:
    """Rows: the part's directions that point right, up and out of the picture.

    Of the two horizontal sides of a part the longer one runs across the picture.
    """
    rotation = rotation_to_z((0.0, 0.0, 1.0) if up is None else up)
    wide, deep, _ = np.ptp(mesh.vertices @ rotation.T, axis=0)
    turn = np.deg2rad(_TURN_DEG - 90.0 if wide >= deep else -_TURN_DEG)
    rise = np.deg2rad(-_RISE_DEG if from_below else _RISE_DEG)
    toward = np.array([np.cos(rise) * np.cos(turn), np.cos(rise) * np.sin(turn), np.sin(rise)])
    right = np.array([-np.sin(turn), np.cos(turn), 0.0])
    return np.asarray(np.array([right, np.cross(toward, right), toward]) @ rotation)


def _nearest(
    mesh: Mesh, toward: Floats, x: Floats, y: Floats, depth: Floats, shape: tuple[int, int]
) -> tuple[Ints, Shades]:
    """The face seen in each pixel (−1 where none) and how near it is."""
    facing = np.flatnonzero(mesh.normals @ toward > 0)
    column, row, height, _, met = scan(mesh.faces[facing], x, y, depth)
    cell = row * shape[1] + column
    near = np.full(shape[0] * shape[1], -np.inf)
    np.maximum.at(near, cell, height)
    face = np.full(shape[0] * shape[1], -1, np.int64)
    first = height == near[cell]
    # where two faces meet in a pixel the later one wins, whatever the order of the hits
    np.maximum.at(face, cell[first], facing[met[first]])
    return face.reshape(shape), np.where(face >= 0, near, 0.0).astype(np.float32).reshape(shape)


def _smooth_normals(mesh: Mesh, axes: Floats, face: Ints, pixel: Ints, x: Floats, y: Floats) -> Shades:
    """Normals in view axes, (k, 3): between those of the corners where a curved surface is meant."""
    shown = (mesh.normals @ axes.T).astype(np.float32)
    visible, which = np.unique(face, return_inverse=True)
    at_corner = _corner_normals(mesh, shown, visible)
    result = shown[face]
    bent = np.flatnonzero((np.abs(at_corner - shown[visible][:, None]).max(axis=(1, 2)) > 0.005)[which])

    corners = mesh.faces[face[bent]]
    cx, cy = (
        (x[corners] - pixel[bent, 1:]).astype(np.float32),
        (y[corners] - pixel[bent, :1]).astype(np.float32),
    )
    # shares of the corners: areas of the triangles that the pixel makes with the opposite edges
    ahead, after = [1, 2, 0], [2, 0, 1]
    share = cx[:, ahead] * cy[:, after] - cx[:, after] * cy[:, ahead]
    whole = share.sum(axis=1, keepdims=True)
    share = np.clip(share / np.where(whole == 0, 1, whole), 0, 1)
    blend = np.einsum("ij,ijk->ik", share, at_corner[which[bent]])
    length = np.linalg.norm(blend, axis=1, keepdims=True)
    result[bent] = np.where(length > 0.1, blend / np.maximum(length, 0.1), result[bent])
    return np.asarray(result)


def _corner_normals(mesh: Mesh, shown: Shades, visible: Ints) -> Shades:
    """(k, 3, 3): at each corner of the visible faces the mean over the faces there that meet this one flatly.

    Weighted by the angle of their corners, so that it does not matter how a surface is cut into triangles.
    """
    flat = mesh.faces.ravel()
    around = np.argsort(flat, kind="stable")  # corners gathered by vertex
    first = np.searchsorted(flat[around], np.arange(len(mesh.vertices) + 1))
    vertex = mesh.faces[visible].ravel()
    owner, place = ranges(first[vertex], first[vertex + 1])
    corner = around[place]
    other, own = shown[corner // 3], shown[visible[owner // 3]]
    flatly = np.einsum("ij,ij->i", other, own) > np.cos(np.deg2rad(_SMOOTH_DEG))
    weighted = other[flatly] * _corner_angles(mesh).ravel()[corner[flatly], None]
    total = np.stack([np.bincount(owner[flatly], w, len(vertex)) for w in weighted.T], axis=1)
    total = total / np.maximum(np.linalg.norm(total, axis=1, keepdims=True), 1e-12)
    return np.asarray(total.astype(np.float32).reshape(-1, 3, 3))


def _corner_angles(mesh: Mesh) -> Floats:
    """Angles of the faces' corners in rad, (m, 3)."""
    t = mesh.triangles
    edge = [t[:, (k + 1) % 3] - t[:, k] for k in range(3)]
    length = [np.maximum(np.linalg.norm(e, axis=1), 1e-300) for e in edge]
    cosine = [-np.einsum("ij,ij->i", edge[k], edge[k - 1]) / (length[k] * length[k - 1]) for k in range(3)]
    return np.asarray(np.arccos(np.clip(np.stack(cosine, axis=1), -1, 1)))


def _lit(normal: Shades, near: Shades, inside: Bools, from_below: bool) -> Shades:
    """Two lights, from the upper left and weakly from the right, and shade where the part lies in a hollow.

    Seen from below the light comes from below: what is looked at is lit.
    """
    main, fill = np.array([-0.45, 0.65, 0.61], np.float32), np.array([0.75, -0.10, 0.65], np.float32)
    if from_below:
        main[1] *= -1
    light = 0.50 + 0.44 * np.clip(normal @ main, 0, 1) + 0.16 * np.clip(normal @ fill, 0, 1)
    return np.asarray((light * (1 - 0.45 * _hollow(near, inside)))[..., None] * _BODY)


def _hollow(near: Shades, inside: Bools) -> Shades:
    """0 to 1: how far each pixel lies behind the mean of the part around it. A blur needs no fine pixels."""
    from scipy.ndimage import gaussian_filter

    reach = max(inside.shape) / _FINE / 40
    weight = gaussian_filter(_coarse(inside.astype(np.float32)), reach)
    around = gaussian_filter(_coarse(near), reach) / np.maximum(weight, 1e-6)
    around = around.repeat(_FINE, axis=0).repeat(_FINE, axis=1)
    return np.asarray(np.clip((around - near) / (6 * reach * _FINE), 0, 1))


def _coarse(values: Shades) -> Shades:
    """Means over whole pixels."""
    rows, columns = values.shape[0] // _FINE, values.shape[1] // _FINE
    return np.asarray(values.reshape(rows, _FINE, columns, _FINE, *values.shape[2:]).mean(axis=(1, 3)))


def _hatch(colour: Shades, name: str, where: Bools) -> None:
    """Lighten the marked pixels and lay the mark's dark stripes over them: readable without colour."""
    y, x = np.nonzero(where)
    period = _HATCH_PX * _FINE
    rising, falling = (x + y) % period, (x - y) % period
    stripe = {
        "overhang": rising < 0.4 * period,
        "thin": falling < 0.4 * period,
        "unreachable": np.minimum(rising, falling) < 0.22 * period,
    }[name]
    tint = np.array(_TINTS[name], np.float32)
    pale = (colour[y, x] + 3 * (0.15 * tint + 0.85 * 255)) / 4
    colour[y, x] = np.where(stripe[:, None], 0.85 * tint + 0.15 * colour[y, x], pale)


def _lines(normal: Shades, near: Shades, inside: Bools) -> Shades:
    """How much ink each pixel gets, 0 to 1: most on the outline, less where the depth jumps, least on creases."""
    from scipy.ndimage import maximum_filter

    ink = np.zeros(inside.shape, np.float32)
    # a plane seen at a slant recedes by its slope each pixel: only what is beyond that is a jump
    slope = np.sqrt(1 - np.clip(normal[..., 2], 0.05, 1) ** 2) / np.clip(normal[..., 2], 0.05, 1)
    for axis in (0, 1):
        a, b = _neighbours(inside, axis)
        outline = a != b
        both = a & b
        a, b = _neighbours(normal, axis)
        crease = both & (np.einsum("ijk,ijk->ij", a, b) < np.cos(np.deg2rad(_CREASE_DEG)))
        a, b = _neighbours(near, axis)
        jump = both & (np.abs(a - b) > 2 * np.maximum(*_neighbours(slope, axis)) + 3)
        strength = np.where(outline, 1.0, np.where(jump, 0.75, np.where(crease, 0.45, 0.0))).astype(
            np.float32
        )
        for side in _neighbours(ink, axis):
            np.maximum(side, strength, out=side)
    return np.asarray(maximum_filter(ink, size=_FINE))


def _neighbours(values: NDArray[Any], axis: int) -> tuple[NDArray[Any], NDArray[Any]]:
    """Views of all pixels but the last, and of all but the first, along an axis."""
    if axis == 0:
        return values[:-1], values[1:]
    return values[:, :-1], values[:, 1:]


def _png(colour: Shades, inside: Bools, size_px: int) -> bytes:
    from PIL import Image

    covered = inside.astype(np.float32)[..., None]
    part = _coarse(np.concatenate([np.clip(colour, 0, 255) * covered, 255 * covered], axis=2))
    part[..., :3] /= np.maximum(part[..., 3:] / 255, 1e-6)
    whole = np.zeros((size_px, size_px, 4), np.uint8)
    top, left = (size_px - part.shape[0]) // 2, (size_px - part.shape[1]) // 2
    whole[top : top + part.shape[0], left : left + part.shape[1]] = np.rint(part)
    buffer = BytesIO()
    Image.fromarray(whole, "RGBA").save(buffer, "PNG")
    return buffer.getvalue()
