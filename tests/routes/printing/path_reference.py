"""A print laid out explicitly: every layer, every loop, every line, every move timed by itself.

Slow and plain, to hold the estimate against. The conventions are the estimate's; the way is not:

- every straight move starts and ends at rest; segments that turn by less than 15° are one move;
- the height is divided into a whole number of equal layers;
- a loop runs where the room that is left is at least 1.5 lines wide; where it is half a line to 1.5 lines wide
  one pass runs along its middle; what is narrower is closed by its neighbours;
- skins and infill are lines that lie at 45° and 135° to the x axis in turn, at fixed places;
- what is next is what is nearest, island by island: its walls, its skins, its infill;
- a filling is walked line by line as long as lines follow each other;
- speeds give way to the hot end's melting rate; a short layer waits.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import cos, hypot, radians, sin, sqrt

import numpy as np
from manifold3d import CrossSection, JoinType

from routecost.core.arrays import Floats
from routecost.mesh.geometry.mesh import Mesh
from routecost.routes.printing.motion import PrintSettings

Point = tuple[float, float]


@dataclass
class Printed:
    """Seconds by kind, and what was laid down."""

    walls: float = 0.0
    skins: float = 0.0
    infill: float = 0.0
    travel: float = 0.0
    layer_changes: float = 0.0
    waiting: float = 0.0
    wall_mm: float = 0.0
    skin_mm: float = 0.0
    infill_mm: float = 0.0
    volume_mm3: float = 0.0
    layer_s: list[float] = field(default_factory=list)

    @property
    def total(self) -> float:
        return self.walls + self.skins + self.infill + self.travel + self.layer_changes + self.waiting


def one_move_s(distance: float, speed: float, accel: float) -> float:
    """Speed up, cruise, slow down, phase by phase."""
    ramp = speed / accel
    ramp_mm = 0.5 * accel * ramp**2
    if 2 * ramp_mm <= distance:
        return ramp + (distance - 2 * ramp_mm) / speed + ramp
    return 2 * sqrt(2 * (distance / 2) / accel)


def printed(
    mesh: Mesh,
    layer_mm: float,
    line_mm: float,
    walls: int,
    skins: int,
    settings: PrintSettings,
    turn_deg: float = 0.0,
) -> Printed:
    """Print `mesh` as it stands, its lowest point on the plate; lines lie `turn_deg` further round."""
    low, high = mesh.bounds_mm[:, 2]
    layers = max(1, round((high - low) / layer_mm))
    layer = (high - low) / layers
    solid = Mesh(np.array(mesh.vertices), mesh.faces).manifold()
    sections = [solid.slice(low + (k + 0.5) * layer).simplify(1e-3) for k in range(layers)]
    done = Printed()
    at: Point = (0.0, 0.0)
    for k, section in enumerate(sections):
        before = done.walls + done.skins + done.infill + done.travel
        inside = _inset(section, walls * line_mm)
        core = inside
        for other in [*range(k - skins, k), *range(k + 1, k + skins + 1)]:
            core = core ^ (sections[other] if 0 <= other < layers else CrossSection())
        angle = radians(turn_deg + 45 + 90 * (k % 2))
        islands = section.decompose()
        while islands:
            island = islands.pop(_nearest([piece.to_polygons() for piece in islands], at))
            at = _lay_walls(done, island, island ^ inside, layer, line_mm, walls, settings, at)
            for region, share, speed, kind in (
                ((inside - core) ^ island, 1.0, settings.skin_speed_mm_s, "skin"),
                (core ^ island, settings.infill_share, settings.infill_speed_mm_s, "infill"),
            ):
                if share > 0:
                    bead = layer * line_mm
                    at = _fill(done, region, line_mm / share, angle, bead, speed, settings, at, kind)
        taken = done.walls + done.skins + done.infill + done.travel - before + settings.layer_change_s
        done.layer_changes += settings.layer_change_s
        done.waiting += max(0.0, settings.shortest_layer_s - taken)
        done.layer_s.append(taken)
    return done


def _nearest(figures: list[list[Floats]], at: Point) -> int:
    return min(
        range(len(figures)), key=lambda i: min(float(np.hypot(*(ring - at).T).min()) for ring in figures[i])
    )


def _lay_walls(
    done: Printed,
    section: CrossSection,
    inside: CrossSection,
    layer: float,
    line: float,
    walls: int,
    settings: PrintSettings,
    at: Point,
) -> Point:
    passes: list[tuple[Floats, float]] = []
    room = section
    for _ in range(walls):
        if room.is_empty():
            break
        wide = _opened(room, 0.75 * line)
        passes += [(np.asarray(ring), 1.0) for ring in _inset(wide, 0.5 * line).to_polygons()]
        narrow = _opened(room - wide, 0.25 * line)
        passes += [(np.asarray(ring), 0.5) for ring in narrow.to_polygons()]
        room = _inset(room, line)
    moves = [(_moves(ring), share) for ring, share in passes]
    length = sum(share * sum(steps) for steps, share in moves)
    volume = layer * (section.area() - inside.area())
    if length > 0:
        speed = min(settings.wall_speed_mm_s, settings.volumetric_mm3_s * length / volume)
        done.walls += sum(
            share * one_move_s(step, speed, settings.accel_mm_s2) for steps, share in moves for step in steps
        )
    done.wall_mm += length
    done.volume_mm3 += volume
    left = [ring for ring, _ in passes]
    while left:
        away = [np.hypot(*(ring - at).T) for ring in left]
        nearest = min(range(len(left)), key=lambda i: away[i].min())
        corner = int(away[nearest].argmin())
        _travel(done, float(away[nearest][corner]), settings)
        at = (float(left[nearest][corner, 0]), float(left[nearest][corner, 1]))
        del left[nearest]
    return at


def _fill(
    done: Printed,
    region: CrossSection,
    apart: float,
    angle: float,
    bead_mm2: float,
    speed: float,
    settings: PrintSettings,
    at: Point,
    kind: str,
) -> Point:
    speed = min(speed, settings.volumetric_mm3_s / bead_mm2)
    chains = _chains(_lines(region, apart, angle))
    while chains:
        ways = [
            (hypot(chain[end][0][0] - at[0], chain[end][0][1] - at[1]), i, end)
            for i, chain in enumerate(chains)
            for end in (0, 1)
        ]
        _, i, end = min(ways)
        chain = chains.pop(i)[end]
        for start, stop in zip(chain[::2], chain[1::2], strict=True):
            _travel(done, hypot(start[0] - at[0], start[1] - at[1]), settings)
            length = hypot(stop[0] - start[0], stop[1] - start[1])
            seconds = one_move_s(length, speed, settings.accel_mm_s2)
            done.volume_mm3 += length * bead_mm2
            if kind == "skin":
                done.skins += seconds
                done.skin_mm += length
            else:
                done.infill += seconds
                done.infill_mm += length
            at = stop
    return at


def _lines(region: CrossSection, apart: float, angle: float) -> list[list[tuple[Point, Point]]]:
    """The pieces of each line inside the region, line by line."""
    along, across = np.array([cos(angle), sin(angle)]), np.array([-sin(angle), cos(angle)])
    rings = [np.asarray(ring) for ring in region.to_polygons()]
    if not rings:
        return []
    edges = np.concatenate([np.stack([ring, np.roll(ring, -1, axis=0)], axis=1) for ring in rings])
    u, v = edges @ along, edges @ across
    lines = []
    for number in range(int(np.floor(v.min() / apart)), int(np.ceil(v.max() / apart)) + 1):
        height = (number + 0.5) * apart
        crossed = (v[:, 0] < height) != (v[:, 1] < height)
        share = (height - v[crossed, 0]) / (v[crossed, 1] - v[crossed, 0])
        cuts = np.sort(u[crossed, 0] + share * (u[crossed, 1] - u[crossed, 0]))
        points = cuts[:, None] * along + height * across
        ends = [(float(x), float(y)) for x, y in points]
        lines.append(list(zip(ends[::2], ends[1::2], strict=True)))
    return lines


def _chains(lines: list[list[tuple[Point, Point]]]) -> list[tuple[list[Point], list[Point]]]:
    """Pieces that follow each other from line to line, walked to and fro; each chain from either end."""
    open_chains: list[list[tuple[Point, Point]]] = []
    closed: list[list[tuple[Point, Point]]] = []
    for pieces in lines:
        meets = [[i for i, chain in enumerate(open_chains) if _meet(chain[-1], piece)] for piece in pieces]
        taken = [sum(i in found for found in meets) for i in range(len(open_chains))]
        going, following = set(), []
        for piece, found in zip(pieces, meets, strict=True):
            if len(found) == 1 and taken[found[0]] == 1:
                open_chains[found[0]].append(piece)
                following.append(open_chains[found[0]])
                going.add(found[0])
            else:
                following.append([piece])
        closed += [chain for i, chain in enumerate(open_chains) if i not in going]
        open_chains = following
    walked = []
    for chain in closed + open_chains:
        path = [end for i, piece in enumerate(chain) for end in (piece if i % 2 == 0 else piece[::-1])]
        walked.append((path, path[::-1]))
    return walked


def _meet(one: tuple[Point, Point], other: tuple[Point, Point]) -> bool:
    """Whether two pieces on neighbouring lines lie beside each other."""
    direction = (one[1][0] - one[0][0], one[1][1] - one[0][1])
    if hypot(*direction) == 0:
        return False

    def place(point: Point) -> float:
        return point[0] * direction[0] + point[1] * direction[1]

    a, b = sorted(map(place, one))
    c, d = sorted(map(place, other))
    return a < d and c < b


def _travel(done: Printed, distance: float, settings: PrintSettings) -> None:
    if distance > 1e-9:
        done.travel += one_move_s(distance, settings.travel_speed_mm_s, settings.accel_mm_s2)


def _moves(ring: Floats) -> list[float]:
    """Lengths from corner to corner around a closed ring."""
    steps = np.roll(ring, -1, axis=0) - ring
    headings = [complex(x, y) for x, y in steps if hypot(x, y) > 0]
    corners = [
        i for i, step in enumerate(headings) if abs(np.angle(step / headings[i - 1], deg=True)) >= 15.0
    ]
    lengths = [abs(step) for step in headings]
    if not corners:
        return [sum(lengths)]
    turned = lengths[corners[0] :] + lengths[: corners[0]]
    starts = [corner - corners[0] for corner in corners]
    return [sum(turned[a:b]) for a, b in zip(starts, [*starts[1:], len(turned)], strict=True)]


def _inset(figure: CrossSection, depth: float) -> CrossSection:
    """All points deeper than `depth`, around inner corners too."""
    return figure.offset(-depth, JoinType.Round, 2.0, 64).simplify(1e-3)


def _opened(figure: CrossSection, radius: float) -> CrossSection:
    """The parts of a figure that are at least 2 × `radius` wide."""
    return figure.offset(-radius, JoinType.Miter, 2.0).offset(radius, JoinType.Miter, 20.0) ^ figure
