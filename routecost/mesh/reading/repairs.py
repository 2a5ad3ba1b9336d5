"""The single repairs of a mesh, each recorded in words. What a repair cannot solve is left unchanged."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from routecost.core.arrays import Bools, Floats, Ints
from routecost.core.errors import InputError
from routecost.mesh.geometry.edges import Edges, consistent_winding, flip
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.geometry.vectors import areas, signed_volumes
from routecost.mesh.reading.formats.raw_mesh import count_of
from routecost.mesh.reading.holes import small_fillings
from routecost.mesh.reading.welding import weld_near

CRACK = 1e-5
"""Vertices at open edges are joined within this share of the part's diagonal: 1 µm on 100 mm. Only
vertices at open edges move, so that closed fine detail is unchanged."""

STRAY_SHARE = 1e-4
"""Open fragments of surface below this share of the whole are dropped."""


@dataclass(eq=False)
class Work:
    """A mesh under repair."""

    file: str
    word: str
    vertices: Floats
    faces: Ints
    numbers: Ints
    """(m,) number of each face in the file; 0 for one that was added."""
    faults: list[str] = field(default_factory=list)
    repairs: list[str] = field(default_factory=list)

    def record(self, what: str, done: str) -> None:
        self.faults.append(what)
        self.repairs.append(f"{what}: {done}")

    def change(self, faces: Ints, numbers: Ints | None = None, vertices: Floats | None = None) -> None:
        self.faces = faces
        self.numbers = self.numbers if numbers is None else numbers
        self.vertices = self.vertices if vertices is None else vertices
        self.__dict__.pop("edges", None)

    def drop(self, which: Bools) -> None:
        self.change(self.faces[~which], self.numbers[~which])

    @cached_property
    def edges(self) -> Edges:
        return Edges.of(self.faces)

    @property
    def bad_edges(self) -> int:
        return int((self.edges.count != 2).sum())

    @property
    def diagonal(self) -> float:
        return float(np.linalg.norm(np.ptp(self.vertices, axis=0)))

    def faces_text(self, number: int) -> str:
        return count_of(number, self.word)

    def point_text(self, point: Floats) -> str:
        """A place in mm, to a thousandth of the part's size or better."""
        digits = max(1, 3 - int(np.floor(np.log10(max(self.diagonal, 1e-9)))))
        return "({}) mm".format(", ".join(f"{round(float(c), digits) + 0.0:.10g}" for c in point))

    def refuse(self, face: int, what: str, mend: str) -> InputError:
        return InputError.of(self.file, self.place(face), what, mend)

    def place(self, face: int) -> str:
        """The face's name in the file, and the position of its centroid."""
        number = int(self.numbers[face])
        middle = self.point_text(self.vertices[self.faces[face]].mean(axis=0))
        return f"{self.word} {number} near {middle}" if number else f"near {middle}"


def _collapsed(faces: Ints) -> Bools:
    a, b, c = faces.T
    return np.asarray((a == b) | (b == c) | (c == a))


def drop_collapsed(work: Work) -> None:
    """Faces two corners of which are one point."""
    collapsed = _collapsed(work.faces)
    if not any(areas(work.vertices, some).any() for some in (work.faces[:1000], work.faces)):
        what = f"none of its {work.faces_text(len(work.faces))} has any area"
        raise InputError.of(work.file, "", what, "export the part with more precision")
    if collapsed.any():
        work.drop(collapsed)
        work.record(f"{work.faces_text(int(collapsed.sum()))} with two corners at one point", "dropped")


def drop_duplicates(work: Work) -> None:
    """Faces on the same three corners: all but one are dropped, or all where two bodies share a wall."""
    suspects = np.unique(work.edges.non_manifold // 3)
    corners = work.faces[suspects]
    if not len(corners):
        return
    _, first, same, number = np.unique(
        np.sort(corners, axis=1), axis=0, return_index=True, return_inverse=True, return_counts=True
    )
    if len(first) == len(suspects):
        return
    # +1 or −1 by the winding of the three corners
    sense = np.where((np.diff(np.argsort(corners, axis=1), axis=1) % 3 == 1)[:, 0], 1, -1)
    cancels = (np.bincount(same.reshape(-1), weights=sense) == 0) & (number > 1)
    doubles = np.zeros(len(work.faces), bool)
    doubles[suspects] = True
    doubles[suspects[first]] = False
    walls = doubles.copy()
    walls[suspects[first[cancels]]] = True
    as_walls = not walls.all() and _bad_edges(work.faces[~walls]) < _bad_edges(work.faces[~doubles])
    dropped = walls if as_walls else doubles
    work.drop(dropped)
    done = "dropped, as walls between bodies" if as_walls else "one of each kept"
    work.record(f"{work.faces_text(int(dropped.sum()))} on the same corners as others", done)


def _bad_edges(faces: Ints) -> int:
    return int((Edges.of(faces).count != 2).sum())


def close_cracks(work: Work) -> None:
    """Joins vertices at open edges that almost coincide."""
    edges = work.edges
    if not len(edges.boundary):
        return
    rim = np.unique(np.concatenate(edges.ends(edges.boundary)))
    # single precision can be coarser than that for a part far from the origin
    grain = 4 * float(np.spacing(np.float32(np.abs(work.vertices).max())))
    distance = CRACK * work.diagonal * min(max(1.0, grain / (CRACK * work.diagonal)), 100.0)
    number = weld_near(work.vertices, rim, distance)
    joined = int((number[rim] != rim).sum())
    faces = number[work.faces]
    collapsed = _collapsed(faces)
    if joined and not collapsed.all() and _bad_edges(faces[~collapsed]) < work.bad_edges:
        work.change(faces)
        work.drop(collapsed)
        what = f"{count_of(joined, 'vertex', 'vertices')} at open edges within {distance:.2g} mm of another"
        work.record(what, "joined")


def drop_fragments(work: Work) -> None:
    """Drops faces without area and small open fragments, if that reduces the number of bad edges."""
    edges = work.edges
    if edges.closed:
        return
    area = areas(work.vertices, work.faces)
    bad_faces = np.unique(np.concatenate([edges.boundary, edges.non_manifold]) // 3)
    flat = np.zeros(len(area), bool)
    flat[bad_faces] = area[bad_faces] <= 1e-12 * work.diagonal**2
    _drop_if_better(work, flat, "without area at open edges")
    edges = work.edges
    area = areas(work.vertices, work.faces)
    number, patch = edges.patches
    small = np.bincount(patch, weights=area, minlength=number) <= STRAY_SHARE * area.sum()
    has_rim = np.zeros(number, bool)
    has_rim[patch[edges.boundary // 3]] = True
    _drop_if_better(work, (small & has_rim)[patch], "in loose bits of surface")


def _drop_if_better(work: Work, drop: Bools, kind: str) -> None:
    if drop.any() and not drop.all() and _bad_edges(work.faces[~drop]) < work.bad_edges:
        work.drop(drop)
        work.record(f"{work.faces_text(int(drop.sum()))} {kind}", "dropped")


def unify_winding(work: Work) -> Floats:
    """Winds each patch consistently, as most of its area is; (m,) the share of area that already was."""
    edges = work.edges
    number, patch = edges.patches
    flipped, one_sided = consistent_winding(edges)
    if one_sided.any():
        face = int(np.flatnonzero(one_sided[patch])[0])
        what = "the surface has only one side, like a Moebius strip, so it has no inside"
        raise work.refuse(face, what, "model it as a closed solid")
    if not flipped.any():
        return np.ones(len(work.faces))
    area = areas(work.vertices, work.faces)
    whole = np.maximum(np.bincount(patch, weights=area, minlength=number), 1e-300)
    share = np.bincount(patch, weights=area * flipped, minlength=number) / whole
    flipped ^= (share > 0.5)[patch]
    if flipped.any():
        work.change(flip(work.faces, flipped))
        work.record(f"{work.faces_text(int(flipped.sum()))} wound against the rest", "turned")
    return np.maximum(share, 1 - share)[patch]


def fill_holes(work: Work) -> None:
    """Fills holes too small to be intended."""
    surface = float(areas(work.vertices, work.faces).sum())
    open_before = len(work.edges.boundary)
    faces, holes, added = small_fillings(work.vertices, work.edges, surface)
    if holes:
        numbers = np.concatenate([work.numbers, np.zeros(len(faces), np.int64)])
        work.change(np.concatenate([work.faces, faces]), numbers)
        closed = count_of(open_before - len(work.edges.boundary), "open edge")
        work.record(
            f"{count_of(holes, 'small hole')} ({closed})", f"filled, {added:.3g} mm² of surface added"
        )


def separate_bodies(work: Work) -> None:
    """Gives bodies that meet along an edge separate vertices."""
    edges = work.edges
    if (edges.count % 2).any():
        return
    what = f"{count_of(int((edges.count > 2).sum()), 'edge')} where four faces or more meet"
    number, patch = edges.patches
    at_edge = np.repeat(np.arange(len(edges.count)), edges.count)
    _, of_patch = np.unique(at_edge * number + patch[edges.order // 3], return_counts=True)
    if (of_patch == 2).all():
        corner = patch[:, None] * len(work.vertices) + work.faces
        key, index = np.unique(corner.reshape(-1), return_inverse=True)
        work.change(index.reshape(-1, 3), vertices=work.vertices[key % len(work.vertices)])
        work.record(what, "the bodies that meet there taken apart")
        return
    # one body that touches itself: manifold3d pairs the faces where the winding allows
    volume = float(signed_volumes(work.vertices, work.faces).sum())
    made = Mesh.from_manifold(Mesh(work.vertices, work.faces).manifold())
    if not len(made.faces) or _bad_edges(made.faces):
        return
    if abs(made.volume_mm3 - volume) <= 1e-9 * abs(volume):
        work.change(made.faces, np.zeros(len(made.faces), np.int64), made.vertices)
        work.record(what, "the surface taken apart there")
