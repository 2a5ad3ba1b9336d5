"""The parts of a travelling ant-habitat exhibit, generated. All sizes in mm; every part stands on z = 0."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from routecost.demo.solids import (
    ARC,
    TURN,
    bore,
    corners,
    countersink,
    cup,
    quarter_round,
    rounded_block,
    rounded_outline,
    together,
    turned,
)
from routecost.mesh.geometry.mesh import Mesh

if TYPE_CHECKING:
    from manifold3d import CrossSection, Manifold

# shared by the parts that meet
CHAMBER = (160.0, 110.0, 25.0)  # nest chamber outside: what two hands carry
CHAMBER_CORNER = 8.0
PASSAGE = 7.0  # radius of the half-round ant passage: wide enough to be wiped
M3_HOLE = 3.4  # clearance hole, medium series of ISO 273
M4_HOLE = 4.5  # clearance hole, medium series of ISO 273
OVER = 1.0  # cutters stick out by this much, so that no two faces fall together

ROOMS = (  # x, y, radius of the rooms in the nest
    (-56.0, 24.0, 15.0),
    (-50.0, -26.0, 18.0),
    (-8.0, 0.0, 20.0),
    (30.0, 32.0, 13.0),
    (34.0, -30.0, 15.0),
    (58.0, 4.0, 14.0),
)
GALLERIES = ((0, 1), (0, 2), (1, 2), (2, 3), (2, 4), (3, 5), (4, 5))  # rooms joined by a passage
ROOM_DEPTH = 19.0
ROOM_FLOOR_ROUND = 4.0  # no corner that a cloth does not reach


def nest_chamber() -> Manifold:
    """A clear tray: rooms and galleries sunk into a block, passages open at two ends and at the top."""
    width, depth, height = CHAMBER
    floor = height - ROOM_DEPTH
    up = ROOM_DEPTH + OVER
    rooms = [cup(x, y, floor, r, up, ROOM_FLOOR_ROUND) for x, y, r in ROOMS]
    narrow = [cup(x, y, floor, PASSAGE, up, ROOM_FLOOR_ROUND) for x, y, _ in ROOMS]
    galleries = [_between(narrow[a], narrow[b]) for a, b in GALLERIES]
    # the passages to the tunnels meet the long sides' ends level with the elbows
    doors = [
        _between(cup(x, y, height - PASSAGE - 4, PASSAGE, up, PASSAGE - 0.5), narrow[room])
        for x, y, room in ((-width / 2 - 8, 0.0, 0), (width / 2 + 8, 4.0, 5))
    ]
    block = rounded_block(width, depth, height, CHAMBER_CORNER, top=1.5, bottom=1.5)
    screws = [bore(x, y, -OVER, M3_HOLE, height + 2 * OVER) for x, y in corners(width - 14, depth - 14)]
    return block - together([*rooms, *galleries, *doors, *screws])


LID_PLATE = 4.0
LID_SKIRT = (4.0, 6.0)  # wall and height of the rim that grips the chamber
LID_GAP = 0.3  # around the chamber, so that it lifts off by hand
LID_PORT = (14.0, 20.0, 6.0)  # bore, outside and height of the two feeding ports
LID_VENT = 1.2  # smaller than the smallest worker


def chamber_lid() -> Manifold:
    """A clear flat plate with a rim, two feeding ports and a field of breathing holes, lying on its face."""
    width, depth, _ = CHAMBER
    wall, skirt = LID_SKIRT
    inner = (width + 2 * LID_GAP, depth + 2 * LID_GAP)
    corner = CHAMBER_CORNER + LID_GAP
    outer = rounded_block(
        inner[0] + 2 * wall, inner[1] + 2 * wall, LID_PLATE + skirt, corner + wall, top=1.0, bottom=1.5
    )
    hollow = rounded_outline(*inner, corner).extrude(skirt + OVER).translate((0, 0, LID_PLATE))
    bored, outside, high = LID_PORT
    places = ((-50.0, 24.0), (34.0, -26.0))
    collars = [bore(x, y, LID_PLATE - OVER, outside, high + OVER) for x, y in places]
    ports = [bore(x, y, -OVER, bored, LID_PLATE + high + 2 * OVER) for x, y in places]
    vents = [
        bore(x, y, -OVER, LID_VENT, LID_PLATE + 2 * OVER)
        for x in np.arange(30.0, 61.0, 6.0)
        for y in np.arange(20.0, 39.0, 6.0)
    ]
    return together([outer - hollow, *collars]) - together([*ports, *vents])


TUNNEL = (24.0, 17.0)  # width and height of the solid around the passage
BEND_RADIUS = 36.0  # middle of the passage
STRAIGHT = 10.0  # before and after the bend: room for the flange
FLANGE = (38.0, 17.0, 5.0)  # width, height, thickness
FLANGE_SLOT = 3.4  # open at the top, so that a mold lets go of it


def tunnel_elbow() -> Manifold:
    """A quarter bend with flanges, its passage open at the top: a flat back, nothing undercut."""
    lap = 0.01  # the straight ends reach into the bend, so that no film is left between
    flange, slots = _flange()

    def run(section: CrossSection, length: float) -> Manifold:
        beside = section.translate((BEND_RADIUS, 0.0))
        bend = beside.revolve(TURN // 3, 90.0)
        end = beside.extrude(length + lap)
        first = end.rotate((90, 0, 0)).translate((0, lap, 0))
        second = end.rotate((90, 0, 90)).translate((-length, 0, 0))
        return together([bend, first, second])

    def at_both_ends(solid: Manifold) -> Manifold:
        first = solid.translate((BEND_RADIUS, -STRAIGHT, 0))
        second = solid.rotate((0, 0, -90)).translate((-STRAIGHT, BEND_RADIUS, 0))
        return together([first, second])

    solid = together([run(_tunnel_section(), STRAIGHT), at_both_ends(flange)])
    return solid - together([run(_passage_section(), STRAIGHT + OVER), at_both_ends(slots)])


TEE_RUN = 80.0  # flange to flange
TEE_BRANCH = 40.0  # middle of the run to the third flange


def tunnel_tee() -> Manifold:
    """Three passages that meet, made like the elbow."""
    body, passage = _tunnel_section(), _passage_section()
    run = body.extrude(TEE_RUN).rotate((90, 0, 90)).translate((-TEE_RUN / 2, 0, 0))
    branch = body.extrude(TEE_BRANCH).rotate((90, 0, 0))
    run_void = passage.extrude(TEE_RUN + 2 * OVER).rotate((90, 0, 90)).translate((-TEE_RUN / 2 - OVER, 0, 0))
    branch_void = passage.extrude(TEE_BRANCH + OVER).rotate((90, 0, 0))
    flange, slots = _flange()

    def at_all_ends(solid: Manifold) -> Manifold:
        left = solid.rotate((0, 0, -90)).translate((-TEE_RUN / 2, 0, 0))
        right = solid.rotate((0, 0, 90)).translate((TEE_RUN / 2, 0, 0))
        return together([solid.translate((0, -TEE_BRANCH, 0)), left, right])

    solid = together([run, branch, at_all_ends(flange)])
    return solid - together([run_void, branch_void, at_all_ends(slots)])


DOME_OUTSIDE = 120.0
DOME_WALL = 3.0
DOME_FLANGE = (140.0, 4.0)  # diameter and thickness
DOME_SCREWS = 6


def viewing_dome() -> Manifold:
    """A clear half ball that a child looks into, on a flange with six screws."""
    wide, thick = DOME_FLANGE[0] / 2, DOME_FLANGE[1]
    outer, inner = DOME_OUTSIDE / 2, DOME_OUTSIDE / 2 - DOME_WALL
    down = np.linspace(0.0, np.pi / 2, 33)
    start = np.arcsin(thick / outer)
    up = np.linspace(start, np.pi / 2, 33)[:-1]
    profile = [(inner, 0.0), (wide, 0.0), (wide, thick)]
    profile += [(outer * np.cos(t), outer * np.sin(t)) for t in up]
    profile += [(0.0, outer), (0.0, inner)]
    profile += [(inner * np.sin(t), inner * np.cos(t)) for t in down[1:-1]]
    around = np.arange(DOME_SCREWS) * 2 * np.pi / DOME_SCREWS
    ring = (outer + wide) / 2
    screws = [bore(ring * np.cos(t), ring * np.sin(t), -OVER, M3_HOLE, thick + 2 * OVER) for t in around]
    return turned(profile, sides=128) - together(screws)


LENS_DIAMETER = 40.0
LENS_EDGE = 3.0
LENS_RADIUS = 50.0  # of the curved face


def magnifier_blank() -> Manifold:
    """A plano-convex lens blank, to be polished; it stands on its flat face."""
    half = LENS_DIAMETER / 2
    middle = LENS_EDGE - np.sqrt(LENS_RADIUS**2 - half**2)
    turn = np.linspace(np.arcsin(half / LENS_RADIUS), 0.0, 25)[:-1]
    curve = [(LENS_RADIUS * np.sin(t), middle + LENS_RADIUS * np.cos(t)) for t in turn]
    return turned([(0.0, 0.0), (half, 0.0), *curve, (0.0, middle + LENS_RADIUS)], sides=128)


FRAME = (420.0, 300.0, 40.0)  # carries two chambers side by side
FRAME_MEMBER = 24.0  # width of its members
FRAME_REBATE = (8.0, 6.0)  # width and depth of the step that the floor panel lies in


def base_frame() -> Manifold:
    """The ring that all stands on: longer than a common printer is wide."""
    width, depth, height = FRAME
    lip, deep = FRAME_REBATE
    inner = (width - 2 * FRAME_MEMBER, depth - 2 * FRAME_MEMBER)
    block = rounded_block(width, depth, height, 14.0, top=2.0, bottom=2.0)
    window = rounded_outline(*inner, 6.0).extrude(height + 2 * OVER).translate((0, 0, -OVER))
    step = rounded_outline(inner[0] + 2 * lip, inner[1] + 2 * lip, 10.0).extrude(deep + OVER)
    feet = [bore(x, y, -OVER, 8.4, 20.0 + OVER) for x, y in corners(width - 36, depth - 36)]
    return block - together([window, step.translate((0, 0, height - deep)), *feet])


FOOT = (60.0, 40.0, 45.0)  # diameter below, diameter above, height
FOOT_THREAD = (10.5, 28.0)  # diameter and depth of the hole for a press-in M8 insert


def foot() -> Manifold:
    """A solid cone under each corner of the frame."""
    low, high, height = FOOT
    hole, deep = FOOT_THREAD
    profile = [(0.0, 0.0), (low / 2, 0.0), (low / 2, 6.0), (high / 2, height), (0.0, height)]
    return turned(profile, round_edges=1.5) - bore(0, 0, height - deep, hole, deep + OVER)


DISH_DIAMETER = 80.0
DISH_HEIGHT = 18.0
DISH_WALL = 3.5


def feeder_dish() -> Manifold:
    """A shallow dish for sugar water with a low island in the middle, where ants stand dry."""
    r, h, t = DISH_DIAMETER / 2, DISH_HEIGHT, DISH_WALL
    profile = [
        (0.0, 0.0),
        (r - 12, 0.0),
        (r - 8, 4.0),
        (r, h - 4),
        (r, h),
        (r - t, h),
        (r - t, h - 4),
        (r - 8 - t, 4.0 + t),
        (12.0, 4.0 + t),
        (8.0, 10.0),
        (0.0, 10.0),
    ]
    return turned(profile, round_edges=1.2)


TOWER = (70.0, 120.0)  # diameter and height to the shoulder's end
TOWER_WALL = 5.0
TOWER_NECK = (22.0, 34.0, 16.0)  # bore, outside and height


def water_tower() -> Manifold:
    """A thick-walled bottle that keeps the nest moist: its inside is wider than its neck."""
    r, h = TOWER[0] / 2, TOWER[1]
    t = TOWER_WALL
    inside, outside, neck = TOWER_NECK[0] / 2, TOWER_NECK[1] / 2, TOWER_NECK[2]
    profile = [
        (0.0, 0.0),
        (r, 0.0),
        (r, h - 22),
        (outside, h),
        (outside, h + neck),
        (inside, h + neck),
        (inside, h - 4),
        (r - t, h - 24),
        (r - t, t + 1),
        (0.0, t + 1),
    ]
    return turned(profile, round_edges=2.0)


HINGE = (60.0, 28.0, 4.0)  # along the pin, across, thickness
HINGE_KNUCKLE = (10.0, 4.2)  # outside and bore for a 4 mm pin
HINGE_GAPS = 5  # knuckles and gaps along the pin: this leaf has three, its mate two


def hinge_leaf() -> Manifold:
    """One leaf of the lid's hinge, printed flat, its knuckles along one side."""
    from manifold3d import Manifold

    along, across, thick = HINGE
    outside, pin = HINGE_KNUCKLE
    step = along / HINGE_GAPS
    leaf = rounded_block(along, across, thick, 3.0, top=0.8).translate((0, across / 2, 0))
    # the knuckles' lower side is level with the leaf's, so that it lies flat
    barrel = Manifold.cylinder(along, outside / 2, circular_segments=8 * ARC).rotate((0, 90, 0))
    web = Manifold.cube((along, outside / 2 + 3, thick), False)
    knuckles = together([barrel.translate((-along / 2, 0, outside / 2)), web.translate((-along / 2, 0, 0))])
    gap = Manifold.cube((step + 0.4, outside + 1.0, outside + 2 * OVER), False)
    gaps = [
        gap.translate((-along / 2 + step * k - 0.2, -outside / 2 - OVER, -OVER))
        for k in range(1, HINGE_GAPS, 2)
    ]
    hole = Manifold.cylinder(along + 2 * OVER, pin / 2, circular_segments=8 * ARC).rotate((0, 90, 0))
    screws = [bore(x, across - 9, -OVER, M4_HOLE, thick + 2 * OVER) for x in (-20.0, 0.0, 20.0)]
    heads = [countersink(x, across - 9, thick, M4_HOLE, 9.0) for x in (-20.0, 0.0, 20.0)]
    pinned = hole.translate((-along / 2 - OVER, 0, outside / 2))
    return together([leaf, knuckles]) - together([*gaps, pinned, *screws, *heads])


BEZEL = (200.0, 150.0, 9.0)
BEZEL_WINDOW = (150.0, 100.0)
BEZEL_SLOPE = 10.0  # the bevel runs this far outward from the window


def front_bezel() -> Manifold:
    """The opaque frame around the chamber's window, bevelled towards the glass."""
    width, depth, height = BEZEL
    block = rounded_block(width, depth, height, 12.0, top=2.0)
    through = rounded_outline(*BEZEL_WINDOW, 5.0).extrude(height + 2 * OVER).translate((0, 0, -OVER))
    # a bevel is a block whose lower outline is the window and whose upper one is wider
    lip = 2.5
    rise = height + OVER - lip
    wide = BEZEL_SLOPE * 2 * rise / (height - lip)
    low = rounded_outline(*BEZEL_WINDOW, 5.0).extrude(0.01)
    high = rounded_outline(BEZEL_WINDOW[0] + wide, BEZEL_WINDOW[1] + wide, 5.0 + wide / 2).extrude(0.01)
    bevel = together([low, high.translate((0, 0, rise))]).hull().translate((0, 0, lip))
    screws = [bore(x, y, -OVER, M3_HOLE, height + 2 * OVER) for x, y in corners(width - 20, depth - 20)]
    heads = [countersink(x, y, height, M3_HOLE, 6.5) for x, y in corners(width - 20, depth - 20)]
    return block - together([through, bevel, *screws, *heads])


KNOB = (36.0, 22.0)  # diameter and height
KNOB_FLUTES = 12
KNOB_SHAFT = (6.1, 5.5, 14.0)  # bore, over the flat, depth: for a 6 mm shaft with a flat


def knob() -> Manifold:
    """A fluted knob for vents and doors, on a shaft with a flat."""
    r, h = KNOB[0] / 2, KNOB[1]
    hole, flat, deep = KNOB_SHAFT
    dome = quarter_round(5.0)[::-1]
    profile = [(0.0, 0.0), (r, 0.0), (r, 3.0), (r - 2, 5.0)]
    profile += [(r - 2 - inset, h - 5 + rise) for inset, rise in dome[::-1]]
    body = turned([*profile, (0.0, h)])
    around = np.arange(KNOB_FLUTES) * 2 * np.pi / KNOB_FLUTES
    flutes = [cup((r + 0.5) * np.cos(t), (r + 0.5) * np.sin(t), 5.0, 3.5, h, 3.0) for t in around]
    shaft = bore(0, 0, -OVER, hole, deep + OVER)
    return body - together([*flutes, shaft.trim_by_plane((-1, 0, 0), hole / 2 - flat)])


GLOW_BLOCK = (60.0, 60.0, 50.0)
GLOW_BLOCK_ROUND = 6.0  # every edge


def glow_block() -> Manifold:
    """A heavy translucent riser that is lit from below; the specimen case stands on four of them."""
    r = GLOW_BLOCK_ROUND
    return rounded_block(*GLOW_BLOCK, r, top=r, bottom=r)


GRILLE = (80.0, 80.0, 4.0)
GRILLE_HOLE = 4.0  # across the flats of the hexagons; gauze goes behind
GRILLE_BAR = 1.6


def vent_grille() -> Manifold:
    """A plate of hexagonal holes with four screws."""
    from manifold3d import CrossSection

    width, depth, height = GRILLE
    pitch = GRILLE_HOLE + GRILLE_BAR
    hexagon = CrossSection.circle(GRILLE_HOLE / np.sqrt(3), 6).rotate(30)
    reach = min(width, depth) / 2 - 9
    row = pitch * np.sqrt(3) / 2
    holes = [
        hexagon.translate((pitch * (i + (j % 2) / 2), row * j))
        for i in range(-8, 9)
        for j in range(-8, 9)
        if np.hypot(pitch * (i + (j % 2) / 2), row * j) < reach
    ]
    field = CrossSection.compose(holes).extrude(height + 2 * OVER).translate((0, 0, -OVER))
    block = rounded_block(width, depth, height, 8.0, top=1.0)
    screws = [bore(x, y, -OVER, M3_HOLE, height + 2 * OVER) for x, y in corners(width - 14, depth - 14)]
    heads = [countersink(x, y, height, M3_HOLE, 6.5) for x, y in corners(width - 14, depth - 14)]
    return block - together([field, *screws, *heads])


PARTS: tuple[Callable[[], Manifold], ...] = (
    nest_chamber,
    chamber_lid,
    tunnel_elbow,
    tunnel_tee,
    viewing_dome,
    magnifier_blank,
    base_frame,
    foot,
    feeder_dish,
    water_tower,
    hinge_leaf,
    front_bezel,
    knob,
    glow_block,
    vent_grille,
)


def demo_meshes() -> dict[str, Mesh]:
    """All parts by name: sound, one body each, the same bytes every time."""
    # edges below a micrometre come of cutting and carry no shape
    return {make.__name__: Mesh.from_manifold(make().as_original().simplify(0.001)) for make in PARTS}


def _between(a: Manifold, b: Manifold) -> Manifold:
    """The convex body around two cutters: a passage from one to the other."""
    from manifold3d import Manifold

    return Manifold.batch_hull([a, b])


def _tunnel_section() -> CrossSection:
    """Outline of a tunnel across its run, from its base up; the upper edges are eased."""
    from manifold3d import CrossSection

    width, height = TUNNEL
    rise = [(width / 2 - inset, height - 2 + up) for inset, up in quarter_round(2.0)]
    return CrossSection([[(-width / 2, 0.0), (width / 2, 0.0), *rise, *((-x, y) for x, y in reversed(rise))]])


def _passage_section() -> CrossSection:
    """What is taken out of a tunnel: a half round below the top, and the air above it."""
    from manifold3d import CrossSection

    height = TUNNEL[1]
    turn = np.linspace(np.pi, 2 * np.pi, 4 * ARC + 1)
    half = [(PASSAGE * np.cos(t), height - 3.0 + PASSAGE * np.sin(t)) for t in turn]
    return CrossSection([[*half, (PASSAGE, height + 10.0), (-PASSAGE, height + 10.0)]])


def _flange() -> tuple[Manifold, Manifold]:
    """A flange across y = 0 with its outer face there, and the screw slots to be cut from it."""
    from manifold3d import CrossSection

    width, height, thick = FLANGE
    ease = [(width / 2 - inset, height - 3 + up) for inset, up in quarter_round(3.0)]
    outline = [(-width / 2, 0.0), (width / 2, 0.0), *ease, *((-x, y) for x, y in reversed(ease))]
    plate = CrossSection([outline]).extrude(thick).rotate((90, 0, 0)).translate((0, thick, 0))
    r = FLANGE_SLOT / 2
    turn = np.linspace(np.pi, 2 * np.pi, 2 * ARC + 1)
    slot = [(r * np.cos(t), height / 2 + r * np.sin(t)) for t in turn]
    opened = CrossSection([[*slot, (r, height + OVER), (-r, height + OVER)]])
    cut = opened.extrude(thick + 2 * OVER).rotate((90, 0, 0)).translate((0, thick + OVER, 0))
    across = (TUNNEL[0] + width) / 4
    return plate, together([cut.translate((-across, 0, 0)), cut.translate((across, 0, 0))])
