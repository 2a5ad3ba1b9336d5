"""Whole plans of each route for bodies of closed form, against calculations of their own.

Speeds, densities, losses, times and prices are read from the shipped tables, so that the checks follow them.
What is checked is what a route makes of them: which volumes, paths, pours, pulls and orders. Nothing here calls
the physics of the program. Where a check has no other source it is plane and solid geometry.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from math import ceil, exp, hypot, pi

import numpy as np
import pytest

from routecost.costing.estimate import Estimate, price_plans
from routecost.mesh.measuring.shape import Shape
from routecost.routes.fdm import FDM
from routecost.routes.filled_shell import FILLED_SHELL
from routecost.routes.mold_casting import MOLD_CASTING
from routecost.routes.outsourced_sla import OUTSOURCED_SLA
from routecost.routes.process.operation import OWN_HOUR, Operation, ProcessPlan
from routecost.routes.process.part import Part
from routecost.shop.machines import Printer
from routecost.shop.materials import CastingResin, Filament, Silicone
from routecost.shop.services import QuantityBreak, SlaFinish, SlaService
from routecost.shop.standards import (
    CastingStandards,
    MoldingStandards,
    OrderingStandards,
    PrintingStandards,
    SafetyStandards,
)
from tests.mesh.shapes import box, cylinder, sphere
from tests.routes.stated import shipped_shop, shipped_tariff

PRINTER = "printer-220"
SHOP = shipped_shop().with_owned(frozenset({PRINTER}))
TARIFF = shipped_tariff(own_rate=15.0)
PRINTING, CASTING, MOLDING = (
    SHOP.the(PrintingStandards),
    SHOP.the(CastingStandards),
    SHOP.the(MoldingStandards),
)
ORDERING, SAFETY = SHOP.the(OrderingStandards), SHOP.the(SafetyStandards)


def priced(plan: ProcessPlan) -> Estimate:
    return price_plans([plan], TARIFF, 4.0).estimate(0)


def drawn(plan: ProcessPlan, resource: str) -> float:
    return sum(u.quantity for op in plan.operations for u in op.usages if u.resource == resource)


def money(amounts: dict[str, float]) -> float:
    return sum(quantity * TARIFF.unit_price(resource) for resource, quantity in amounts.items())


def drawing(plan: ProcessPlan, resource: str) -> list[Operation]:
    return [op for op in plan.operations if any(u.resource == resource for u in op.usages)]


# ---- in-house FDM: the toolpath of a box and of a cylinder, line by line


def move_s(distances: Iterable[float], speed: float, accel: float) -> float:
    """Trapezoidal motion from rest to rest (kinematics): v²/2a to speed up, as much to slow down."""
    total = 0.0
    for d in distances:
        ramp = speed * speed / (2.0 * accel)
        total += (
            2.0 * (d / accel) ** 0.5 if d < 2.0 * ramp else 2.0 * speed / accel + (d - 2.0 * ramp) / speed
        )
    return total


Outline = np.ndarray
"""Corners (n, 2) of a convex figure about the origin, counterclockwise."""


def square(side: float) -> Outline:
    s = side / 2.0
    return np.array([(-s, -s), (s, -s), (s, s), (-s, s)])


def polygon(radius: float, n: int = 192) -> Outline:
    angles = np.arange(n) * 2.0 * pi / n
    return radius * np.stack([np.cos(angles), np.sin(angles)], axis=1)


def lines_across(figure: Outline, angle: float, apart: float) -> list[tuple[np.ndarray, np.ndarray]]:
    """Parallel lines through a convex figure, clipped to it, in the order they are laid: to and fro."""
    along, across = np.array([np.cos(angle), np.sin(angle)]), np.array([-np.sin(angle), np.cos(angle)])
    heights, places = figure @ across, figure @ along
    found = []
    for k, y in enumerate(np.arange(heights.min() + apart / 2.0, heights.max(), apart)):
        ends = []
        for i in range(len(figure)):
            a, b = heights[i - 1], heights[i]
            if (a <= y) != (b <= y):
                ends.append(places[i - 1] + (y - a) / (b - a) * (places[i] - places[i - 1]))
        if len(ends) == 2:
            low, high = sorted(ends)
            start, end = (low, high) if k % 2 == 0 else (high, low)
            found.append((start * along + y * across, end * along + y * across))
    return found


@dataclass(frozen=True)
class Laid:
    """A body of one section, laid down line by line."""

    solid_mm3: float
    core_mm3: float
    minutes: float


def laid_down(
    sections: Sequence[Outline], areas: Sequence[float], height: float, p: Printer, flow: float
) -> Laid:
    """`sections`: the outlines of the loops' middle lines from outside in, and last the edge of the filling;
    `areas`: of the whole section and of the filling.

    Fillings are laid at twelve angles in turn: a printer does not know how the part will lie.
    """
    layers = round(height / p.layer_mm)
    layer = height / layers
    bead = p.line_mm * layer
    accel, travel = p.accel_mm_s2, p.travel_speed_mm_s

    def speed(asked: float) -> float:
        return min(asked, flow / bead)

    loops_s = 0.0
    for outline in sections[:-1]:
        sides = np.linalg.norm(outline - np.roll(outline, 1, axis=0), axis=1)
        # corners of the 192-gon turn by 2°: it is run through without stopping
        moves = sides if len(outline) < 24 else [sides.sum()]
        loops_s += move_s(moves, speed(p.wall_speed_mm_s), accel)
    between_loops_s = move_s([p.line_mm] * (len(sections) - 2), travel, accel)

    def filling_s(apart: float, asked: float) -> float:
        seconds = []
        for angle in np.arange(12) * pi / 12.0:
            lines = lines_across(sections[-1], angle, apart)
            at = sections[-2][0]
            s = 0.0
            for start, end in lines:
                s += move_s([hypot(*(start - at))], travel, accel)
                s += move_s([hypot(*(end - start))], speed(asked), accel)
                at = end
            seconds.append(s)
        return float(np.mean(seconds))

    skin_layers = min(layers, 2 * PRINTING.skins)
    skin_s = filling_s(p.line_mm, p.skin_speed_mm_s)
    core_s = filling_s(p.line_mm / PRINTING.infill_share, p.infill_speed_mm_s)
    total_s = layers * (loops_s + between_loops_s + p.layer_change_s)
    total_s += skin_layers * skin_s + (layers - skin_layers) * core_s
    assert loops_s + min(skin_s, core_s) > p.shortest_layer_s, "a layer would wait to cool"
    whole, filling = areas
    core = filling * layer * (layers - skin_layers)
    return Laid(whole * height - core, core, total_s / 60.0 + p.warm_up_min)


def laid_box(side: float, height: float, p: Printer, flow: float) -> Laid:
    loops = [square(side - (2 * k + 1) * p.line_mm) for k in range(PRINTING.walls)]
    room = side - 2 * PRINTING.walls * p.line_mm
    return laid_down([*loops, square(room)], [side * side, room * room], height, p, flow)


def laid_cylinder(radius: float, height: float, p: Printer, flow: float) -> Laid:
    loops = [polygon(radius - (k + 0.5) * p.line_mm) for k in range(PRINTING.walls)]
    room = radius - PRINTING.walls * p.line_mm
    return laid_down([*loops, polygon(room)], [pi * radius**2, pi * room**2], height, p, flow)


@pytest.mark.parametrize("body", ["cube", "cylinder"])
def test_a_print_of_closed_form(body: str) -> None:
    """Grams within 0.5 %, hours within 4 %: the program takes fillings by mean chords, this by their lines.

    A job of T hours failing at a rate λ and begun anew takes (e^λT - 1) / λ machine hours and e^λT starts
    (renewal theory; Ross, Introduction to Probability Models, from memory).
    """
    p = SHOP.one(Printer, PRINTER)
    mesh = box(40, 40, 40) if body == "cube" else cylinder(20, 40)
    part = Part(body, "", 1, shape=Shape(mesh), up=(0.0, 0.0, 1.0))
    for plan in FDM.plans(part, SHOP):
        if plan.chosen["printer"] != PRINTER:
            continue
        f = SHOP.one(Filament, plan.chosen["filament"])
        flow = min(p.flow_mm3_s, f.max_flow_mm3_s)
        laid = laid_box(40, 40, p, flow) if body == "cube" else laid_cylinder(20, 40, p, flow)
        hours = laid.minutes / 60.0
        machine_h = (exp(p.failure_per_h * hours) - 1.0) / p.failure_per_h
        starts = exp(p.failure_per_h * hours)
        (printing,) = (op for op in plan.operations if op.machine == PRINTER)
        assert printing.machine_min / 60.0 == pytest.approx(machine_h, rel=0.04)

        one_g = (laid.solid_mm3 + PRINTING.infill_share * laid.core_mm3) / 1000.0 * f.density_g_cm3
        # what leaves the nozzle goes with the machine's time, lost prints included
        wire_g = (one_g + PRINTING.purge_g) * machine_h / hours
        assert plan.mass_g == pytest.approx(one_g, rel=0.005)
        assert drawn(plan, f.id) == pytest.approx(wire_g, rel=0.005)

        cleaning_min = PRINTING.remove_copy_min + PRINTING.clean_up_copy_min
        own_h = (PRINTING.prepare_part_min + starts * PRINTING.start_plate_min + cleaning_min) / 60.0
        assert drawn(plan, OWN_HOUR) == pytest.approx(own_h, rel=0.005)
        cost = money(
            {
                f.id: wire_g,
                PRINTER: machine_h / p.life_h * (1.0 - p.resale_share),
                "electricity": machine_h * p.power_w / 1000.0,
                f"{PRINTER} upkeep": machine_h,
                OWN_HOUR: own_h,
                "isopropanol": starts * PRINTING.bed_alcohol_g,
                "wipe": starts,
                "blade": cleaning_min / PRINTING.blade_life_min,
            }
        )
        assert priced(plan).full == pytest.approx(cost, rel=0.005)


# ---- resin-filled shell: an open box printed with one wall, poured full


def test_a_filled_post_of_closed_form() -> None:
    """A post of 24 x 24 x 90 mm with an open top: the room is (L - 2t)(W - 2t)(H - t), the rest is printed.

    Within 1 %: layers and lines do not fit the wall to a hair. Where the resin's own depth is the limit, there
    are as many pours as it goes into the height, each gelled before the next.
    """
    length, height, copies, t = 24.0, 90.0, 4, CASTING.shell_wall_mm
    room_cm3 = (length - 2 * t) ** 2 * (height - t) / 1000.0
    shell_cm3 = length**2 * height / 1000.0 - room_cm3
    tries = 1.0 / CASTING.yield_shell
    part = Part("post", "", copies, shape=Shape(box(length, length, height)), up=(0.0, 0.0, 1.0))
    by_depth = set()
    for plan in FILLED_SHELL.plans(part, SHOP):
        if plan.chosen["printer"] != PRINTER or plan.verdict.level == "ruled out":
            continue
        f, resin = SHOP.one(Filament, plan.chosen["filament"]), SHOP.one(CastingResin, plan.chosen["resin"])
        assert plan.chosen["top"] == "open"
        resin_g = room_cm3 * resin.density_g_cm3
        assert plan.mass_g == pytest.approx(copies * (shell_cm3 * f.density_g_cm3 + resin_g), rel=0.01)

        # purge and lost prints go on top of what is laid: at most a few percent of four shells
        printed_g = tries * copies * shell_cm3 * f.density_g_cm3
        assert printed_g <= drawn(plan, f.id) <= 1.1 * printed_g
        pour, *_top_up = drawing(plan, resin.id)
        if f"the resin allows {resin.max_pour_depth_mm:.0f} mm" not in " ".join(plan.verdict.texts):
            continue
        by_depth.add(resin.id)
        pours = ceil((height - t) / resin.max_pour_depth_mm)
        assert pours > 1
        assert pour.runs == pours

        # one cup fills all four shells to a level: each pour and the topping up have their own
        shrunk_g = resin_g * (1.0 - (1.0 - resin.linear_shrink_percent / 100.0) ** 3)
        mixed_g = copies * (resin_g + shrunk_g) * (1.0 + CASTING.mix_loss_share)
        cups_g = (pours + 1) * CASTING.cup_loss_g
        assert drawn(plan, resin.id) == pytest.approx(tries * (mixed_g + cups_g), rel=0.01)
        waiting_h = sum(op.waiting_min for op in plan.operations[plan.operations.index(pour) :]) / 60.0
        assert waiting_h == pytest.approx(tries * (pours * resin.gel_h + resin.cure_h), rel=1e-6)
    assert len(by_depth) >= 2


# ---- casting in silicone molds: a block in an open mold, a ball in a closed one


@cache
def cast_plans(body: str, copies: int) -> tuple[ProcessPlan, ...]:
    mesh = box(40, 30, 20) if body == "block" else sphere(20, 128)
    plans = MOLD_CASTING.plans(Part(body, "", copies, shape=Shape(mesh)), SHOP)
    # one mold at a time, printed master: what side by side saves is checked by trial in tests/routes
    return tuple(p for p in plans if "side by side" not in p.alternative and f"on {PRINTER}" in p.alternative)


def of_plan(plan: ProcessPlan, cls: type[CastingResin] | type[Silicone]) -> str:
    (found,) = {t.id for t in SHOP.all(cls)} & {u.resource for op in plan.operations for u in op.usages}
    return found


@pytest.mark.parametrize("copies", [12, 45])
@pytest.mark.parametrize("body", ["block", "ball"])
def test_castings_of_closed_form(body: str, copies: int) -> None:
    """The mold is a block less the part; n good at a yield y take n / y pulls (mean of the negative binomial
    law), and a mold stands so many. Within 0.5 %: the ball has facets.
    """
    m, s = MOLDING, CASTING
    part_cm3 = 40 * 30 * 20 / 1000.0 if body == "block" else 4.0 / 3.0 * pi * 20**3 / 1000.0
    # the block lies on its largest face, which stays free; a ball hangs in the middle
    side, end = 2.0 * m.side_margin_mm, m.end_margin_mm
    box_mm3 = (40 + side) * (30 + side) * (20 + end) if body == "block" else (40 + side) ** 2 * (40 + 2 * end)
    seen = set()
    for plan in cast_plans(body, copies):
        resin, silicone = (
            SHOP.one(CastingResin, of_plan(plan, CastingResin)),
            SHOP.one(Silicone, of_plan(plan, Silicone)),
        )
        opened, two_part = "(open block" in plan.alternative, "(two-part block" in plan.alternative
        assert opened == (body == "block")
        pulls = copies / s.yield_opaque
        molds = ceil(pulls / silicone.mold_life_pulls)
        assert ("1 mold of" if molds == 1 else f"{molds} molds of") in plan.alternative

        keys = m.keys_share if two_part else 0.0
        mold_g = (box_mm3 / 1000.0 - part_cm3) * (1.0 + keys) * silicone.density_g_cm3
        pours = 2 if two_part else 1
        silicone_g = molds * (mold_g * (1.0 + m.mix_loss_share) + pours * m.cup_loss_g)
        assert drawn(plan, silicone.id) == pytest.approx(silicone_g, rel=0.005)
        curing_h = sum(op.machine_min for op in drawing(plan, silicone.id)) / 60.0
        assert curing_h == pytest.approx(molds * pours * silicone.demold_h, rel=1e-6)

        pull_g = part_cm3 * resin.density_g_cm3 * (1.0 + (s.overfill_share if opened else s.sprue_share))
        pull_g += 0.0 if opened else s.sprue_cm3 * resin.density_g_cm3
        (pour,) = drawing(plan, resin.id)
        # a resin that may stand only so deep is poured in layers, each mixed anew and gelled before the next
        layers = ceil((20 if body == "block" else 40) / resin.max_pour_depth_mm)
        assert pour.runs == layers * round(pulls)
        resin_g = pulls * (pull_g * (1.0 + s.mix_loss_share) + layers * s.cup_loss_g)
        assert drawn(plan, resin.id) == pytest.approx(resin_g, rel=0.005)
        if pour.machine == "mold":
            busy_h = (layers - 1) * resin.gel_h + resin.demold_h
            assert pour.machine_min / 60.0 == pytest.approx(pulls * busy_h, rel=1e-6)
            assert pour.waiting_min / 60.0 == pytest.approx(max(0.0, resin.cure_h - resin.demold_h))
        seen.add((resin.id, silicone.id))

        bought = {line.resource: 0.0 for line in priced(plan).lines}
        for line in priced(plan).lines:
            bought[line.resource] += line.amount
        assert bought[resin.id] == pytest.approx(money({resin.id: resin_g}), rel=0.005)
        assert bought[silicone.id] == pytest.approx(money({silicone.id: silicone_g}), rel=0.005)
    assert len(seen) >= 2


def test_the_hands_on_time_of_castings_from_an_open_mold() -> None:
    """Every minute of it, for a block of 40 x 30 x 20 mm, from the rows of the standards."""
    copies, m, s = 12, MOLDING, CASTING
    checked = 0
    for plan in cast_plans("block", copies):
        resin, silicone = (
            SHOP.one(CastingResin, of_plan(plan, CastingResin)),
            SHOP.one(Silicone, of_plan(plan, Silicone)),
        )
        pulls = copies / s.yield_opaque
        (pour,) = drawing(plan, resin.id)
        if pour.machine != "mold":
            continue  # in a pressure pot
        mold_g = (64.0 * 54.0 * 30.0 - 24_000.0) / 1000.0 * silicone.density_g_cm3
        assert (m.side_margin_mm, m.end_margin_mm) == (12.0, 10.0)
        mold_min = (
            m.build_box_min
            + m.release_min
            + m.mix_min
            + m.pour_min
            + mold_g / m.pour_g_per_min
            + m.demold_master_min
        )
        a_session = max(1, int(s.session_h / resin.demold_h))
        pull_min = s.prepare_pull_min + s.mix_min + s.pour_min + s.next_mold_min + s.level_min + s.demold_min
        pulls_min = pulls * (pull_min + s.clean_up_min / a_session)
        trim_min = copies * 2 * (4.0 + 3.0) * s.trim_min_per_cm
        after = [
            op
            for op in plan.operations
            if op.machine == PRINTER or op.name.startswith(("prepare the print", "take the master"))
        ]
        master_min = sum(op.hands_on_min for op in after)
        least = (
            PRINTING.prepare_part_min
            + PRINTING.start_plate_min
            + PRINTING.remove_copy_min
            + PRINTING.clean_up_copy_min
        )
        assert least <= master_min <= 1.05 * least
        total = master_min + mold_min + pulls_min + trim_min
        assert 60.0 * drawn(plan, OWN_HOUR) == pytest.approx(total, rel=1e-6)
        checked += 1
    assert checked


# ---- outsourced SLA: a price law with a least price and breaks


@pytest.mark.parametrize(
    ("sides", "copies"), [((8, 6, 4), 1), ((60, 40, 20), 1), ((60, 40, 20), 4), ((60, 40, 20), 30)]
)
def test_an_order_of_printed_boxes(sides: tuple[float, float, float], copies: int) -> None:
    """max(least price, set-up + a V + b A + c box + d h) x copies x finish x quantity, and the order's own costs.
    A box is its own smallest box and is printed lying on its largest face."""
    a, b, c = sides
    part = Part("box", "", copies, shape=Shape(box(a, b, c)))
    amounts = {
        "setup": 1.0,
        "volume": a * b * c / 1000.0,
        "area": 2.0 * (a * b + b * c + c * a) / 100.0,
        "box": a * b * c / 1000.0,
        "height": min(sides) / 10.0,
    }
    plans = list(OUTSOURCED_SLA.plans(part, SHOP))
    assert {p.chosen["service"] for p in plans} == {service.id for service in SHOP.all(SlaService)}
    for plan in plans:
        service = SHOP.one(SlaService, plan.chosen["service"])
        (finish,) = (
            f for f in SHOP.all(SlaFinish) if f.service == service.id and f.grade == plan.chosen["finish"]
        )

        def price(term: str, of: str = service.id) -> float:
            known = f"{of} {term}" in SHOP.resources
            return TARIFF.unit_price(f"{of} {term}") if known else 0.0

        each = max(price("minimum-part"), sum(n * price(term) for term, n in amounts.items()))
        breaks = [(1, 1.0)] + [
            (q.from_copies, q.factor) for q in SHOP.all(QuantityBreak) if q.service == service.id
        ]
        # more than are wanted are ordered where that costs less
        ordered, factor = min(((max(copies, n), x) for n, x in breaks), key=lambda o: o[0] * o[1])
        parts = ordered * factor * finish.price_factor * each
        mass_g = a * b * c / 1000.0 * service.density_g_cm3
        share = 1.0 / service.parts_per_order
        shipping = share * price("shipping-order") + ordered * mass_g * (1 + ORDERING.packing_share) * price(
            "shipping-mass"
        )
        inspect_min = copies * ORDERING.inspect_copy_min
        own_h = (share * ORDERING.prepare_order_min + ORDERING.prepare_part_min + inspect_min) / 60.0
        other = money(
            {
                OWN_HOUR: own_h,
                "isopropanol": copies * amounts["area"] * ORDERING.wash_g_per_cm2,
                "wipe": copies,
                "gloves": inspect_min / 60.0 * SAFETY.gloves_pairs_per_h,
            }
        )
        estimate = priced(plan)
        assert estimate.full == pytest.approx(parts + shipping + other, rel=1e-6)
        assert estimate.own_hours == pytest.approx(own_h)
        assert estimate.spend == pytest.approx(estimate.full - own_h * 15.0)
        days = service.lead_days + finish.extra_days
        assert sum(op.waiting_min for op in plan.operations) == pytest.approx(days * 24 * 60)
