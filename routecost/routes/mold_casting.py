"""Casting resin in silicone molds: master x mold x silicone x resin x molds side by side, priced by the one core.

The finish is put on the master, once for all copies; a casting takes on what it was molded from.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cache
from math import hypot

from routecost.mesh.measuring.shape import Shape
from routecost.routes.casting.masters import Master, finished, raw_masters, with_barrier
from routecost.routes.casting.mold_making import mold_operations
from routecost.routes.casting.molds import Mold, molds_for
from routecost.routes.casting.pots import CLEAR, pot_for
from routecost.routes.casting.pull_planning import Casting, casting_of
from routecost.routes.casting.pull_steps import dressing_paper, pull_operations
from routecost.routes.physics.boxes import Block
from routecost.routes.physics.optics import surface_haze_percent, total_haze_percent
from routecost.routes.physics.shrink import master_scale
from routecost.routes.printing.print_ways import direction_words
from routecost.routes.process.operation import Operation, ProcessPlan, Reason, Verdict
from routecost.routes.process.part import Part
from routecost.routes.steps.joining import trials
from routecost.routes.steps.surface_finish import FinishPlan, finish_options, target_rq_um
from routecost.routes.steps.verdicts import (
    ROUGH_HAZE_PERCENT,
    haze_reason,
    heat_reason,
    load_reason,
    opaque_reason,
    present,
    tolerance_reason,
)
from routecost.shop.machines import Vessel
from routecost.shop.materials import CastingResin, Silicone
from routecost.shop.shop import Shop
from routecost.shop.standards import CastingStandards

SIDE_BY_SIDE = (1, 2, 4)
"""Molds that are filled in one round. More save mixing, cleaning up and days, and cost silicone and hours.
The same for any number of copies, so that one copy more never costs less."""


@dataclass(frozen=True, eq=False)
class _Tooling:
    """Molds of one silicone for one resin, with their operations made once for all masters."""

    mold: Mold
    silicone: Silicone
    casting: Casting
    resin: CastingResin
    operations: tuple[Operation, ...]
    vessels: frozenset[str]
    reasons: tuple[Reason, ...]


class MoldCasting:
    """The route."""

    id = "mold-casting"
    name = "silicone-mold casting"

    def plans(self, part: Part, shop: Shop) -> Iterable[ProcessPlan]:
        if part.shape is None:
            return
        shape, raw = part.shape, dict[tuple[float, float | None], list[Master]]()

        @cache
        def copy_finish(left: _Left) -> FinishPlan:
            return _copy_finish(part, shape, left, shop)

        for resin in _worth_pricing(part, shop):
            target = target_rq_um(part.demands, shop, resin.haze_percent)
            for silicone in shop.all(Silicone):
                scale = master_scale(silicone.linear_shrink_percent, resin.linear_shrink_percent)
                # what shrinks by a few ten-thousandths more or less takes the same filament
                key = (round(scale, 3), target)
                if key not in raw:
                    raw[key] = [
                        ready
                        for master in raw_masters(shape, key[0], target, shop)
                        for ready in finished(part.demands, shape, master, target, shop)
                    ]
                tooling = list(_toolings(part, shape, silicone, resin, shop))
                for master in raw[key]:
                    inhibited = master.inhibits and silicone.cure == "addition"
                    ready = with_barrier(master, shop) if inhibited else master
                    for t in tooling:
                        left = _left_on_copies(part, ready, t.mold, target, shop)
                        yield _plan(part, shape, ready, t, copy_finish(left) if left else None, scale, shop)


MOLD_CASTING = MoldCasting()


def _worth_pricing(part: Part, shop: Shop) -> list[CastingResin]:
    """Resins that meet the demands by themselves; where none does, all, so that the reason and a cost show."""
    resins = list(shop.all(CastingResin))

    def suits(resin: CastingResin) -> bool:
        clear_enough = haze_reason(part.demands, resin.haze_percent, resin.id, shop)
        return Verdict((clear_enough, *_resin_reasons(part, resin, shop))).level != "ruled out"

    return [resin for resin in resins if suits(resin)] or resins


def _resin_reasons(part: Part, resin: CastingResin, shop: Shop) -> tuple[Reason, ...]:
    """Whatever its surface."""
    return present(
        heat_reason(part.demands, resin.softens_degc, resin.id, shop),
        load_reason(part, resin.strength_mpa, 1.0, shop, resin.id),
    )


def _toolings(
    part: Part, shape: Shape, silicone: Silicone, resin: CastingResin, shop: Shop
) -> Iterator[_Tooling]:
    demands = part.demands
    faced = demands.finish != "as-made" or demands.clarity in CLEAR
    rest_h = silicone.rest_h if resin.chemistry == "polyurethane" else 0.0
    reasons = present(
        tolerance_reason(part, _tolerance_mm(silicone, shop), f"a casting from {silicone.id}", shop),
        _rest_reason(silicone, resin, rest_h),
    )

    def in_pot(box: Block) -> tuple[Reason, ...]:
        return pot_for(box, resin, demands, shop)[1]

    for mold in molds_for(shape, silicone, shop, part.up, judge=in_pot):
        seen = set[int]()
        impossible = Verdict((*mold.reasons, *in_pot(mold.box))).level == "ruled out"
        # what is ruled out shows one cost
        for at_once in SIDE_BY_SIDE[:1] if impossible else SIDE_BY_SIDE:
            casting = casting_of(shape, part.copies, demands, mold, silicone, resin, shop, at_once)
            if casting.at_once in seen:
                continue
            seen.add(casting.at_once)
            pot = casting.pot.vessel if casting.pot else None
            operations = (
                *mold_operations(mold, silicone, casting.molds, shop, pot, rest_h),
                *pull_operations(
                    casting,
                    mold,
                    resin,
                    shop,
                    pigment=demands.opaque and resin.haze_percent < 100.0,
                    faced=faced,
                ),
            )
            drawn = {usage.resource for operation in operations for usage in operation.usages}
            vessels = frozenset(v.id for v in shop.all(Vessel) if v.id in drawn)
            yield _Tooling(mold, silicone, casting, resin, operations, vessels, reasons)


def _tolerance_mm(silicone: Silicone, shop: Shop) -> float:
    """On 100 mm: what any casting holds, and half the spread of the silicone's shrinkage, by root sum square."""
    held = shop.the(CastingStandards).tolerance_mm
    fact = shop.facts.get(silicone.ref("linear_shrink_percent")[0])
    if fact is None or fact.low is None or fact.high is None:
        return held
    return hypot(held, (fact.high - fact.low) / 2.0)  # a percent of 100 mm is a millimetre


def _rest_reason(silicone: Silicone, resin: CastingResin, rest_h: float) -> Reason | None:
    if rest_h <= 0.0:
        return None
    return Reason("suits", f"{silicone.id} rests {rest_h:g} h before {resin.id} goes in")


def _plan(
    part: Part, shape: Shape, master: Master, t: _Tooling, after: FinishPlan | None, scale: float, shop: Shop
) -> ProcessPlan:
    casting, mold, resin, d = t.casting, t.mold, t.resin, part.demands
    rq_um = after.rq_um if after else master.rq_um
    haze = _haze_percent(resin, rq_um)
    molds = f"{casting.molds} molds" if casting.molds > 1 else "1 mold"
    side = f", {casting.at_once} side by side" if casting.at_once > 1 else ""
    return ProcessPlan(
        route=MoldCasting.id,
        part=part.id,
        copies=part.copies,
        alternative=f"{resin.id} in {molds} of {t.silicone.id} ({mold.kind}{side}), master {master.label}",
        operations=(
            *(replace(step, once=True) for step in master.operations),
            *t.operations,
            *(after.operations if after else ()),
            *trials(shop, part),
        ),
        verdict=Verdict(
            (
                *_shape_reasons(shape),
                *mold.reasons,
                *casting.reasons,
                *t.reasons,
                *_resin_reasons(part, resin, shop),
                *present(
                    haze_reason(d, haze, f"castings of {resin.id} at Rq {rq_um:.2g} µm", shop),
                    opaque_reason(d, False, "pigmented resin"),
                ),
                *master.reasons,
                *(after.reasons if after else ()),
            )
        ),
        mass_g=part.copies * casting.part_g,
        tools=t.vessels | ({master.machine} if master.machine else set()),
        chosen={
            "master": master.label,
            "master enlarged": f"{100.0 * (scale - 1.0):.2f} %",
            "mold": mold.kind,
            "silicone": t.silicone.id,
            "molds": str(casting.molds),
            "side by side": str(casting.at_once),
            "resin": resin.id,
            "up": direction_words(mold.pose.up),
            "pressure pot": casting.pot.vessel.id if casting.pot else "none",
        },
    )


def _haze_percent(resin: CastingResin, rq_um: float) -> float:
    """Of a casting with two such faces. A clear resin under a rough face still lets light through."""
    haze = total_haze_percent(resin.haze_percent, surface_haze_percent(rq_um, rq_um))
    return haze if resin.haze_percent >= 100.0 else min(haze, ROUGH_HAZE_PERCENT)


@dataclass(frozen=True)
class _Left:
    """What is left to do on each copy."""

    start_um: float
    share: float
    ridged: bool
    target_um: float


def _left_on_copies(
    part: Part, master: Master, mold: Mold, target_um: float | None, shop: Shop
) -> _Left | None:
    """All of the finish where the mold does not give it; else the marks it leaves on a clear part."""
    share = part.demands.finish_share
    if target_um is None:
        return None
    if master.rq_um > target_um:
        return _Left(master.rq_um, share, master.ridged, target_um)
    paper = dressing_paper(shop)
    if part.demands.clarity not in CLEAR or not mold.openings or paper is None or paper.rq_um <= target_um:
        return None
    return _Left(paper.rq_um, min(shop.the(CastingStandards).post_polish_share, share), False, target_um)


def _copy_finish(part: Part, shape: Shape, left: _Left, shop: Shop) -> FinishPlan:
    """The quickest way to do what is left; quickest, as hours on every copy outweigh sheets and coats."""
    options = finish_options(
        shop,
        area_mm2=shape.solid.area_mm2,
        reach=shape.reach(),
        start_rq_um=left.start_um,
        target_rq_um=left.target_um,
        copies=part.copies,
        opaque=part.demands.opaque,
        clear=part.demands.clarity in CLEAR,
        share=left.share,
        ridged=left.ridged,
    )
    return min(options, key=lambda plan: (Verdict(plan.reasons).level == "ruled out", plan.hands_on_min))


def _shape_reasons(shape: Shape) -> tuple[Reason, ...]:
    solid = shape.solid
    if solid.closed_voids:
        text = f"{solid.closed_voids} closed voids ({solid.closed_void_volume_mm3 / 1000:.2f} cm³) cannot be cast"
        return (Reason("ruled out", text),)
    return ()
