"""Pictures against projected areas, which are known for convex solids: half of Σ area × |normal · view|."""

from __future__ import annotations

from collections.abc import Mapping
from io import BytesIO

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from routecost.demo.demo_meshes import demo_meshes
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.rendering.pictures import MARKS, picture, view_axes
from tests.mesh import shapes


def pixels(
    mesh: Mesh,
    size_px: int = 200,
    up: object = None,
    marks: Mapping[str, np.ndarray] | None = None,
    below: bool = False,
) -> np.ndarray:
    png = picture(mesh, size_px, up, marks, from_below=below)
    image = Image.open(BytesIO(png))
    assert (image.format, image.size, image.mode) == ("PNG", (size_px, size_px), "RGBA")
    return np.asarray(image).astype(float)


def coverage(image: np.ndarray) -> np.ndarray:
    return image[..., 3] / 255


def grey(image: np.ndarray) -> np.ndarray:
    """Luma of ITU-R BT.601, on white."""
    alpha = coverage(image)[..., None]
    return (image[..., :3] * alpha + 255 * (1 - alpha)) @ [0.299, 0.587, 0.114]


def square_mm_per_pixel(mesh: Mesh, image: np.ndarray, up: object = None, below: bool = False) -> float:
    """From the height and width of the picture of the part."""
    seen = mesh.vertices @ view_axes(mesh, up, below).T
    width, height = np.ptp(seen[:, :2], axis=0)
    across, down = coverage(image).max(axis=0).sum(), coverage(image).max(axis=1).sum()
    return float(width * height / (across * down))


CONVEX = {
    "box": shapes.box(30, 20, 10),
    "cube": shapes.box(10, 10, 10),
    "plate": shapes.box(60, 40, 2),
    "sphere": shapes.sphere(15, 96),
    "cone": shapes.cone(12, 3, 20, 96),
    "cylinder": shapes.cylinder(3, 40, 96),
}


@pytest.mark.parametrize("below", [False, True])
@pytest.mark.parametrize("name", CONVEX)
def test_silhouette_of_convex_solids(name: str, below: bool) -> None:
    mesh = CONVEX[name]
    image = pixels(mesh, 240, below=below)
    toward = view_axes(mesh, from_below=below)[2]
    projected = float(mesh.face_areas_mm2 @ np.abs(mesh.normals @ toward)) / 2
    scale = square_mm_per_pixel(mesh, image, below=below)
    assert coverage(image).sum() * scale == pytest.approx(projected, rel=0.015)


@settings(deadline=None, max_examples=15)
@given(st.integers(0, 10_000))
def test_silhouette_whichever_way_it_stands(seed: int) -> None:
    mesh = shapes.box(30, 22, 8)
    up = shapes.rotation(seed)[0]
    image = pixels(mesh, 200, up)
    projected = float(mesh.face_areas_mm2 @ np.abs(mesh.normals @ view_axes(mesh, up)[2])) / 2
    assert coverage(image).sum() * square_mm_per_pixel(mesh, image, up) == pytest.approx(projected, rel=0.02)


def test_a_ball_is_round_and_in_the_middle() -> None:
    seen = coverage(pixels(shapes.sphere(50, 96)))
    across, down = seen.max(axis=0).sum(), seen.max(axis=1).sum()
    assert across == pytest.approx(down, abs=1)
    assert seen.sum() == pytest.approx(np.pi / 4 * across * down, rel=0.01)
    rows, columns = np.indices(seen.shape)
    assert (seen * rows).sum() / seen.sum() == pytest.approx(99.5, abs=0.5)
    assert (seen * columns).sum() / seen.sum() == pytest.approx(99.5, abs=0.5)


def test_a_hole_is_seen_through() -> None:
    """A tube seen along its axis, near enough: light comes through a ring twice as wide as it is long."""
    seen = coverage(pixels(shapes.tube(40, 30, 10, 64)))
    assert seen[100, 100] == 0
    assert seen[100].max() == 1


def test_what_is_in_front_hides_what_is_behind() -> None:
    """A hatched box behind another one, as seen from the front, shows less of its hatching."""
    front, back = shapes.box(30, 10, 30), shapes.moved(shapes.box(30, 10, 30), (0, 12, 0))
    both = shapes.beside(front, back)
    far = np.arange(len(both.faces)) >= len(front.faces)
    without = pixels(both)
    changed = (np.abs(pixels(both, marks={"thin": far}) - without).max(axis=2) > 8).sum()
    changed_near = (np.abs(pixels(both, marks={"thin": ~far}) - without).max(axis=2) > 8).sum()
    assert 0 < changed < 0.75 * changed_near


@pytest.mark.parametrize("kind", ["demo", "far away", "tiny", "huge"])
def test_place_and_size_of_the_part_change_nothing(kind: str) -> None:
    mesh = demo_meshes()["hinge_leaf"]
    other = {
        "demo": mesh,
        "far away": shapes.moved(mesh, (1024, -2048, 512)),
        "tiny": shapes.scaled(mesh, 1 / 64),
        "huge": shapes.scaled(mesh, 64),
    }[kind]
    difference = np.abs(pixels(mesh) - pixels(other)).max(axis=2)
    # rounding may move a ray that passes along an edge
    assert (difference > 8).mean() < 2e-3


def test_order_of_the_faces_changes_nothing() -> None:
    mesh = demo_meshes()["knob"]
    difference = np.abs(pixels(mesh) - pixels(shapes.shuffled(mesh, 3))).max(axis=2)
    assert (difference > 8).mean() < 2e-3


def test_the_same_bytes_every_time() -> None:
    mesh = demo_meshes()["tunnel_tee"]
    assert picture(mesh) == picture(Mesh.of(mesh.vertices.copy(), mesh.faces.copy()))


@pytest.mark.parametrize("name", MARKS)
def test_marks_show_on_the_marked_faces_alone(name: str) -> None:
    """The top of a box is marked: it changes throughout, its front and side do not."""
    mesh = shapes.box(40, 40, 20)
    top = mesh.normals[:, 2] > 0.5
    plain, marked = pixels(mesh), pixels(mesh, marks={name: top})
    changed = np.abs(plain - marked).max(axis=2) > 8
    # seen area of the top against that of the whole
    seen = np.clip(mesh.normals @ view_axes(mesh)[2], 0, None) * mesh.face_areas_mm2
    assert changed.sum() / coverage(plain).sum() == pytest.approx(seen[top].sum() / seen.sum(), rel=0.08)


@pytest.mark.parametrize("below", [False, True])
@pytest.mark.parametrize("name", MARKS)
def test_marks_are_told_apart_without_colour(name: str, below: bool) -> None:
    """In grey the stripes are clearly darker than what lies between them, on a lit side and on a shaded one.

    Contrast of at least 3 : 1 as W3C's WCAG 2.1 (1.4.11) asks of graphics, on relative luminance.
    """
    mesh = shapes.box(40, 40, 20)
    side = (mesh.normals[:, 2] < -0.5) if below else (mesh.normals[:, 1] < -0.5)
    every = {mark: grey(pixels(mesh, marks={mark: side}, below=below)) for mark in MARKS}
    plain = grey(pixels(mesh, below=below))
    marked = every[name][np.abs(every[name] - plain) > 8]
    dark, light = (np.quantile(marked, q) / 255 for q in (0.1, 0.9))
    assert ((light**2.2 + 0.05) / (dark**2.2 + 0.05)) > 3
    for other in MARKS:
        if other != name:
            assert (np.abs(every[name] - every[other]) > 40).sum() > 0.2 * len(marked)


def test_no_mark_changes_nothing() -> None:
    mesh = shapes.box(40, 40, 20)
    assert picture(mesh) == picture(mesh, marks={}) == picture(mesh, marks={"thin": np.zeros(12, bool)})


def test_outlines_are_darker_than_the_part() -> None:
    image = pixels(shapes.box(40, 40, 20))
    lightness = image[..., :3].mean(axis=2)
    partly = (coverage(image) > 0.3) & (coverage(image) < 1)
    assert np.median(lightness[partly]) < np.median(lightness[coverage(image) == 1]) - 80


def test_a_flat_face_is_shaded_evenly_however_it_is_cut_up() -> None:
    """A bored plate's top is cut into slivers that all end at the bore; its shade does not show them."""
    mesh = shapes.cut(shapes.box(60, 60, 10), shapes.moved(shapes.cylinder(4, 20, 64), (12, 12, -5)))
    image = pixels(mesh, 300)
    top = np.abs(image - pixels(mesh, 300, marks={"thin": mesh.normals[:, 2] > 0.999})).max(axis=2) > 8
    low, high = np.quantile(grey(image)[top], [0.2, 0.95])
    assert high - low < 8
    # against the wall of the bore and the front, which are shaded otherwise
    assert np.median(grey(image)[top]) > np.median(grey(image)[(coverage(image) == 1) & ~top]) + 15


def test_from_below_shows_the_underside() -> None:
    """A box's bottom alone is marked: it is seen from below only."""
    mesh = shapes.box(40, 40, 20)
    bottom = {"overhang": mesh.normals[:, 2] < -0.5}
    assert picture(mesh, marks=bottom) == picture(mesh)
    assert picture(mesh, marks=bottom, from_below=True) != picture(mesh, from_below=True)
