"""From what a file holds to a sound mesh: closed, wound outward, every bit of volume counted once.

Defects with one right answer are repaired and reported. What could be meant in more than one way is refused, with the
place in mm.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from routecost.core.arrays import Floats
from routecost.core.errors import Fault, InputError
from routecost.mesh.geometry.hull import ring_length
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.geometry.rays.ray_columns import Columns
from routecost.mesh.geometry.vectors import areas
from routecost.mesh.reading.bodies import Ambiguous, Surfaces, arrange
from routecost.mesh.reading.formats.raw_mesh import Raw, count_of
from routecost.mesh.reading.holes import boundary_loops
from routecost.mesh.reading.repairs import (
    Work,
    close_cracks,
    drop_collapsed,
    drop_duplicates,
    drop_fragments,
    fill_holes,
    separate_bodies,
    unify_winding,
)
from routecost.mesh.reading.welding import weld

CLEAR_MAJORITY = 0.6
"""Where a surface is wound both ways, this share of its area must agree before it decides what is a void."""

NO_VOLUME = 1e-9
"""Volume over area^1.5, below which a closed surface encloses nothing: a sphere has 0.094, a square metre of
0.1 mm foil 3e-5."""

OVERLAP_REPORTED = 1e-3
OVERLAP_REFUSED = 0.05
"""Shares of the volume that a self-intersecting surface counts wrongly: from these on reported, and refused."""


@dataclass(frozen=True, eq=False)
class Sound:
    mesh: Mesh
    faults: tuple[str, ...]
    """What was wrong with the mesh."""
    repairs: tuple[str, ...]
    """The same defects, with what was done about each."""
    warnings: tuple[str, ...]
    """Assumptions where the mesh could be meant otherwise."""


def make_sound(file: str, raw: Raw, mm: float = 1.0) -> Sound:
    """The sound mesh of what a file holds, `mm` to its unit; InputError where there is no one right answer."""
    vertices, index = weld(raw.vertices * mm)
    work = Work(file, raw.face_word, vertices, index[raw.faces], raw.numbers)
    drop_collapsed(work)
    if not work.edges.closed:
        drop_duplicates(work)
        close_cracks(work)
        drop_fragments(work)
    majority = unify_winding(work)
    if len(work.edges.boundary):
        fill_holes(work)
        majority = np.concatenate([majority, np.ones(len(work.faces) - len(majority))])
    if len(work.edges.non_manifold):
        separate_bodies(work)
        majority = np.resize(majority, len(work.faces))
    _refuse_open(work)
    mesh, warnings = _arranged(work, majority)
    warnings += _overlap_warning(work, mesh)
    return Sound(mesh, tuple(work.faults), tuple(work.repairs), tuple(warnings))


def _refuse_open(work: Work) -> None:
    """InputError with one fault for open edges and one for edges of too many faces, each with a place."""
    edges, faults = work.edges, []
    if len(edges.boundary):
        loops = boundary_loops(edges)
        longest = max(loops, key=lambda rim: ring_length(work.vertices[rim]), default=None)
        what = f"the surface is not closed: {count_of(len(edges.boundary), 'open edge')}"
        if longest is not None:
            rim = work.vertices[longest]
            what += f" around {count_of(len(loops), 'hole')}, the longest {ring_length(rim):.4g} mm"
            what += f" around at {work.point_text(rim.mean(axis=0))}"
        mend = "close the holes where the part was modelled, and export it as one solid"
        faults.append(Fault(work.file, work.place(int(edges.boundary[0]) // 3), what, mend))
    if len(edges.non_manifold):
        worst = int(edges.count.max())
        many = count_of(int((edges.count > 2).sum()), "edge")
        what = f"{many} where more than two faces meet (up to {worst})"
        mend = "remove inner faces where the part was modelled, and export it as one solid"
        faults.append(Fault(work.file, work.place(int(edges.non_manifold[0]) // 3), what, mend))
    if faults:
        raise InputError(faults)


def _arranged(work: Work, majority: Floats) -> tuple[Mesh, list[str]]:
    """Voids, bodies and overlaps resolved."""
    number, patch = work.edges.patches
    area = np.bincount(patch, weights=areas(work.vertices, work.faces))
    surfaces = Surfaces.of(work.vertices, work.faces, patch, number)
    empty = np.abs(surfaces.volume) <= NO_VOLUME * area**1.5
    if empty.all():
        what = f"its closed surface of {area.sum():.4g} mm² encloses no volume"
        raise InputError.of(work.file, "", what, "model the part with a thickness")
    if empty.any():
        work.drop(empty[patch])
        work.record(f"{count_of(int(empty.sum()), 'closed surface')} without volume", "dropped")
        majority = majority[~empty[patch]]
        number, patch = work.edges.patches
        surfaces = Surfaces.of(work.vertices, work.faces, patch, number)
    clear = np.minimum.reduceat(majority[surfaces.order], surfaces.start[:-1]) >= CLEAR_MAJORITY
    try:
        done = arrange(surfaces, clear)
    except Ambiguous as ambiguous:
        face = int(surfaces.order[surfaces.start[ambiguous.surface]])
        raise work.refuse(face, ambiguous.what, ambiguous.mend) from None

    warnings = []
    if done.turned:
        some = f"{done.turned} of {done.outermost} bodies" if done.turned < done.outermost else "the surface"
        work.record(f"{some} wound inside out", "turned")
    if done.enclosed:
        what = f"{count_of(done.enclosed, 'closed surface')} inside the material, wound like the outside"
        work.record(what, "left out, as solid through and through")
        mend = "if they are meant as voids, turn their normals and export again"
        warnings.append(f"{what}, {done.enclosed_mm3:.4g} mm³ in all, taken as solid: {mend}")
    if done.united:
        what = f"{count_of(done.united, 'closed surface')} that overlap or touch"
        off = f"; apart, their volume is off by {done.united_mm3:.4g} mm³" if done.united_mm3 else ""
        work.record(what, f"united{off}")
    return Mesh.of(done.vertices, done.faces), warnings


def _overlap_warning(work: Work, mesh: Mesh) -> list[str]:
    """A surface that passes through itself counts volume twice or as less than none; rays find how much."""
    columns = Columns.of(mesh, (0.0, 0.0, 1.0), hits=50_000)
    depth = np.cumsum(np.where(columns.rising, -1, 1))[:-1]
    same = columns.cell[1:] == columns.cell[:-1]
    gap = np.where(same, np.diff(columns.height_mm), 0.0)
    wrong = gap * np.where(depth < 0, -depth, np.maximum(depth - 1, 0))
    volume = float(wrong.sum()) * columns.cell_area_mm2
    share = volume / mesh.volume_mm3
    if share < OVERLAP_REPORTED:
        return []
    worst = int(wrong.argmax())
    place = work.point_text(columns.points_mm(np.array([worst]))[0])
    what = f"the surface passes through itself; about {volume:.3g} mm³ ({share:.1%}) are counted wrongly"
    mend = "unite the bodies where the part was modelled"
    if share > OVERLAP_REFUSED:
        raise InputError.of(work.file, f"above {place}", what, mend)
    return [f"{what}, at worst above {place}: {mend}"]
