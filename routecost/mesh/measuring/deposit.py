"""What a printer deposits: walls, skins and core of every layer, and the moves they consist of.

Walls are loops inside a section's outline, the k-th centred (k + 1/2) lines from it. What lies deeper is skin
where a section of the next few layers above or below leaves it uncovered, else core.

Few sections are cut: consecutive similar layers form one run, represented by its middle layer.
"""

from __future__ import annotations

import functools
import itertools
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from routecost.core.arrays import Floats, Ints, Vector
from routecost.core.errors import InputError
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.measuring.layers import mid_heights, oriented_points
from routecost.mesh.measuring.measures import Deposit, LayerRun, Moves
from routecost.mesh.measuring.sections import THINNED, Rings, chords, gather, inset, straight_moves

if TYPE_CHECKING:
    from manifold3d import CrossSection, Manifold

# Most runs that a part is divided into: a sphere then errs by 0.02 % in volume, and a part takes 0.01 to 0.5 s
RUNS = 80

# Change of section, as a share of the part's shadow, below which two layers are the same
SAME = 1e-6

# Loops offset one by one; a solid of more loops is nearly always a plate, and the rest is estimated by area
LOOPS = 6

# Outlines of a layer up to which the path between them is followed; beyond, its known mean is used
FOLLOWED = 40


def measure_deposit(
    mesh: Mesh, up: Vector, layer_mm: float, line_mm: float, walls: int, skins: int
) -> Deposit:
    """The deposit in the pose `up` with loops `walls` deep and skins `skins` layers thick.

    The number of layers is the height over `layer_mm`, rounded; they are equal and fill the height.
    `walls=99` with `skins=0` makes all of it wall. Where the section has room for r lines between what the
    loops have filled from either side, r rounded to a whole number is laid, as much wider or narrower as
    fills the room; what is narrower than half a line gets none and its volume goes to its neighbours.
    """
    points = oriented_points(mesh, up)
    solid = Mesh(points, mesh.faces).manifold()
    if solid.is_empty():
        raise InputError.of(
            "mesh", "", "it cannot be cut into layers", "repair it so that every edge joins exactly two faces"
        )
    count = max(1, round(float(points[:, 2].max()) / layer_mm))
    layer, middles = mid_heights(points, count)
    change = _changes(points[mesh.faces], middles, layer)
    firsts = _runs(change, skins)
    sampled = _cut(solid, middles, change, firsts, line_mm, walls, skins)

    layers = np.diff(np.append(firsts, count)).astype(np.float64)
    wall, wall_mm, loops = _walls(sampled, layers)
    skin, skin_mm = _filling(sampled.skins, layers * sampled.skin_mm2, line_mm)
    core, core_mm = _filling(sampled.cores, layers * sampled.core_mm2, line_mm)
    travels, ways = _travels(sampled, layers, loops, line_mm)
    runs = zip(layers, wall_mm / layers, skin_mm / layers, core_mm / layers, ways / layers, strict=True)
    return Deposit(
        up=up,
        layer_mm=layer,
        line_mm=line_mm,
        layers=count,
        wall_volume_mm3=layer * float(layers @ sampled.wall_mm2),
        skin_volume_mm3=layer * float(layers @ sampled.skin_mm2),
        core_volume_mm3=layer * float(layers @ sampled.core_mm2),
        walls=wall,
        skins=skin,
        core=core,
        travels=travels,
        islands=_pieces(sampled.sections, layers),
        skin_pieces=_pieces(sampled.skins, layers),
        core_pieces=_pieces(sampled.cores, layers),
        across_mm=_across(points),
        runs=tuple(LayerRun(int(run[0]), *(float(value) for value in run[1:])) for run in runs),
    )


class _Loop(NamedTuple):
    """Outlines that loops follow: `weight` of them in each layer of a run, `scale` times as large."""

    run: int
    outline: CrossSection
    weight: float
    scale: float = 1.0


@dataclass(eq=False)
class _Sampled:
    """One layer of every run, in areas (mm²) and figures."""

    wall_mm2: Floats
    skin_mm2: Floats
    core_mm2: Floats
    sections: list[CrossSection] = field(default_factory=list)
    skins: list[CrossSection] = field(default_factory=list)
    cores: list[CrossSection] = field(default_factory=list)
    loops: list[_Loop] = field(default_factory=list)


def _changes(triangles: Floats, middles: Floats, layer: float) -> Floats:
    """(layers + 1,): area by which sections change: below the first, from each to the next, above the last.

    It is the area of the faces between the two mid-heights as seen from above: none for upright walls.
    """
    a, b = triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]
    seen = 0.5 * np.abs(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])
    low, high = triangles[:, :, 2].min(axis=1), triangles[:, :, 2].max(axis=1)
    flat = high - low < 1e-3 * layer
    rate = seen[~flat] / (high - low)[~flat]
    # each face adds evenly from its low to its high end: a slope that sets in and ends
    at = np.concatenate([low[~flat], high[~flat]])
    slope = np.concatenate([rate, -rate])
    order = np.argsort(at, kind="stable")
    at, slope = at[order], slope[order]
    passed = np.searchsorted(at, middles, side="right")
    sums = np.concatenate([[0.0], np.cumsum(slope)]), np.concatenate([[0.0], np.cumsum(slope * at)])
    flats = np.bincount(np.searchsorted(middles, low[flat], side="left"), seen[flat], len(middles) + 1)
    below = middles * sums[0][passed] - sums[1][passed]
    change = np.diff(below, prepend=0.0, append=float(seen[~flat].sum())) + flats
    shadow = 0.5 * float(seen.sum())
    return np.where(change > SAME * shadow, change, 0.0)


def _runs(change: Floats, skins: int) -> Ints:
    """First layer of each run: runs break where what a layer sees within `skins` layers changes most."""
    count = len(change) - 1
    seen = np.zeros(count)
    for shift in {0, skins, -skins}:
        gap = np.arange(1, count) + shift
        inside = (gap >= 0) & (gap <= count)
        seen[1:][inside] += change[gap[inside]]
    changing = seen > 0
    if not changing.any():
        return np.zeros(1, dtype=np.int64)
    # by area so that large features are resolved, and a quarter by height so that small ones are not lost
    mixed = 0.75 * seen / seen.sum() + 0.25 * changing / changing.sum()
    # at the end rounding must not open a class of its own
    label = np.floor(np.cumsum(mixed) * RUNS * (1 - 1e-12)).astype(np.int64)
    return np.flatnonzero(np.diff(label, prepend=-1))


def _cut(
    solid: Manifold, middles: Floats, change: Floats, firsts: Ints, line: float, walls: int, skins: int
) -> _Sampled:
    """Cut one layer of each run and divide it into walls, skins and core."""
    from manifold3d import CrossSection

    count, thinned = len(middles), THINNED * line
    slices: dict[int, CrossSection] = {}
    raw_area: dict[int, float] = {}

    def section(layer: int) -> CrossSection:
        if layer not in slices:
            raw = solid.slice(middles[layer])
            raw_area[layer] = raw.area()
            slices[layer] = raw.simplify(thinned)
        return slices[layer]

    runs = len(firsts)
    sampled = _Sampled(np.zeros(runs), np.zeros(runs), np.zeros(runs))
    for run, (first, end) in enumerate(zip(firsts, np.append(firsts[1:], count), strict=True)):
        at = int(first + end - 1) // 2
        outer = section(at)
        inner = inset(outer, line, walls)
        core, skin = inner, CrossSection()
        covering = _covering(at, change, skins)
        if covering and not inner.is_empty():
            covers = [section(k) if 0 <= k < count else CrossSection() for k in covering]
            cover = functools.reduce(CrossSection.__xor__, covers)
            # both from the cover: edges that core and skin share would leave slivers
            core, skin = (inner ^ cover).simplify(thinned), (inner - cover).simplify(thinned)
        sampled.sections.append(outer)
        sampled.skins.append(skin)
        sampled.cores.append(core)
        sampled.core_mm2[run] = core.area()
        sampled.skin_mm2[run] = inner.area() - core.area()
        sampled.wall_mm2[run] = raw_area[at] - inner.area()
        sampled.loops += _loops(run, outer, inner, line, walls, sampled.wall_mm2[run])
    return sampled


def _covering(at: int, change: Floats, skins: int) -> list[int]:
    """Layers within `skins` of layer `at` that differ from the one before them on the way."""
    above = [at + k for k in range(1, skins + 1) if at + k <= len(change) - 1 and change[at + k] > 0]
    below = [at - k for k in range(1, skins + 1) if at - k >= -1 and change[at - k + 1] > 0]
    return above + below


def _loops(
    run: int, outer: CrossSection, inner: CrossSection, line: float, walls: int, wall_mm2: float
) -> list[_Loop]:
    """The loops of one section.

    A strip with room for r lines holds a whole number of them, r rounded. Outlines a quarter and three
    quarters of a line into the room, half of each, are just that: none up to 1/2, one up to 3/2, two beyond.
    Where there is room enough, half of each is the loop itself: length falls evenly with depth.
    """
    loops = []
    for depth in range(min(walls, LOOPS)):
        for quarter in (0.25, 0.75):
            outline = inset(outer, line, depth + quarter)
            if outline.is_empty():
                break
            loops.append(_Loop(run, outline, 0.5))
    if walls > LOOPS and not (rest := inset(outer, line, LOOPS)).is_empty():
        # loops shrink into the middle: half the size in the mean, as many as the area asks
        around = _length(rest)
        loops.append(_Loop(run, rest, 2.0 * (rest.area() - inner.area()) / (line * around), 0.5))
    if 1.5 * line * sum(loop.weight * loop.scale * _length(loop.outline) for loop in loops) < wall_mm2:
        # thinner than half a line: one pass along the middle, which is half the way around
        return [_Loop(run, outer, 0.5)]
    return loops


def _length(figure: CrossSection) -> float:
    return float(Rings.of([figure]).lengths.sum())


def _walls(sampled: _Sampled, layers: Floats) -> tuple[Moves, Floats, Floats]:
    """Moves of all loops; path and number of loops by run, over all layers of it."""
    rings = Rings.of([loop.outline for loop in sampled.loops])
    run = np.array([loop.run for loop in sampled.loops], dtype=np.int64)
    weight = layers[run] * [loop.weight for loop in sampled.loops]
    scale = np.array([loop.scale for loop in sampled.loops])
    moves, ring = straight_moves(rings)
    loop = rings.owner[ring]
    moves = moves * scale[loop]
    path = _summed(run[loop], moves * weight[loop], len(layers))
    loops = _summed(run[rings.owner], weight[rings.owner], len(layers))
    return gather(moves, weight[loop]), path, loops


def _filling(figures: list[CrossSection], area: Floats, line: float) -> tuple[Moves, Floats]:
    """Lines across the figures, as many as Cauchy–Crofton says and as long as `area` (mm², all layers) asks.

    Lines a width w apart cut a figure P / (π w) times, and are A / w long together. Sampled chords only
    tell how lengths vary: long ones along a thin ring are rare, and a sample would miss them.
    """
    rings = Rings.of(figures)
    length, figure, weight = chords(rings, len(figures))
    around = _summed(rings.owner, rings.lengths, len(figures))
    number = _summed(figure, weight, len(figures))
    total = _summed(figure, length * weight, len(figures))
    own = np.array([max(one.area(), 1e-12) for one in figures])
    valid = total > 0
    layers = area / own
    count = np.divide(layers * around / (np.pi * line), number, out=np.zeros_like(total), where=valid)
    stretch = np.divide(area / line, count * total, out=np.zeros_like(total), where=valid)
    return gather(length * stretch[figure], weight * count[figure]), area / line


def _travels(sampled: _Sampled, layers: Floats, loops: Floats, line: float) -> tuple[Moves, Floats]:
    """Moves from loop to loop and outline to outline; their number by run over all layers of it."""
    outlines = Rings.of(sampled.sections)
    runs = len(layers)
    bounds = np.searchsorted(outlines.owner, np.arange(runs + 1))
    ways = [_way(outlines, int(first), int(end)) for first, end in itertools.pairwise(bounds)]
    between = layers * [len(way) for way in ways]
    # from loop to loop within an outline: they lie a line apart
    hops = np.maximum(loops - np.diff(bounds) * layers, 0.0)
    length = np.concatenate([*ways, np.full(runs, line)])
    count = np.concatenate([np.repeat(layers, [len(way) for way in ways]), hops])
    return gather(length, count), between + hops


def _summed(group: Ints, values: Floats, groups: int) -> Floats:
    return np.bincount(group, values, groups).astype(np.float64)


def _pieces(figures: list[CrossSection], layers: Floats) -> float:
    """Separate pieces, summed over layers."""
    outlines = Rings.of(figures)
    return float(layers[outlines.owner[outlines.areas > 0]].sum())


def _way(outlines: Rings, first: int, end: int) -> Floats:
    """Distances from each outline of a layer to the nearest one not visited yet, from the outermost on."""
    corners = outlines.points[outlines.first[first] : outlines.first[end]]
    ring = outlines.ring[outlines.first[first] : outlines.first[end]]
    number = end - first
    if number < 2:
        return np.zeros(0)
    if number > FOLLOWED:
        # the shortest way through m scattered points is near 0.7124 √(m A) (Beardwood, Halton, Hammersley)
        spread = float(np.prod(np.ptp(corners, axis=0)))
        return np.full(number - 1, 0.7124 * np.sqrt(spread / number))
    here = int(np.hypot(*(corners - corners.mean(axis=0)).T).argmax())
    left = ring != ring[here]
    way = []
    while left.any():
        away = np.where(left, np.hypot(*(corners - corners[here]).T), np.inf)
        here = int(away.argmin())
        way.append(float(away[here]))
        left &= ring != ring[here]
    return np.array(way)


def _across(points: Floats) -> float:
    from manifold3d import CrossSection

    return float(np.sqrt(CrossSection.hull_points(points[:, :2]).area()))
