"""From the surface a route leaves to the one that is asked for: sanding, polishing, primer and clear coat.

A master for a mold is finished the same way as a part, once for all its copies.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import inf

from routecost.mesh.measuring.measures import Reach
from routecost.routes.physics.ladder import Grit, Ladder, plan_ladder
from routecost.routes.physics.optics import rq_for_haze_um
from routecost.routes.process.operation import Level, Operation, Reason
from routecost.routes.process.part import Demands
from routecost.routes.steps.finish_steps import Surface, coat_operation, ladder_operations, named
from routecost.routes.steps.verdicts import haze_limit_percent
from routecost.shop.materials import Abrasive, Coating
from routecost.shop.shop import Shop
from routecost.shop.standards import FinishingStandards

_NO_RIDGES = 1e-9
"""Share of the grain that a first stage may take as ridges where there are only scratches: nearly none."""


@dataclass(frozen=True)
class FinishPlan:
    """One way to finish a surface: steps for all copies, the roughness left, and objections."""

    name: str
    operations: tuple[Operation, ...]
    rq_um: float
    reasons: tuple[Reason, ...] = ()

    @property
    def hands_on_min(self) -> float:
        return sum(op.hands_on_min for op in self.operations)

    @property
    def waiting_min(self) -> float:
        return sum(op.waiting_min for op in self.operations)


def target_rq_um(demands: Demands, shop: Shop, base_haze_percent: float = 0.0) -> float | None:
    """Roughness (Rq, µm) asked for by clarity or by finish, whichever is finer; None: by neither.

    Clarity gives the roughness of two like faces that, with the material's own haze, meet the limit. Where
    the material alone spends the limit no finish helps: the target is then what clarity would ask of a
    material without haze, so that a plan that is ruled out still shows a real cost.
    """
    s = shop.the(FinishingStandards)
    by_grade = {"smooth": s.smooth_rq_um, "polished": s.polished_rq_um}.get(demands.finish, inf)
    by_clarity = inf
    if demands.clarity in ("clear", "optical"):
        limit = haze_limit_percent(demands, shop)
        by_clarity = rq_for_haze_um(limit, base_haze_percent) or rq_for_haze_um(limit)
    finest = min(by_grade, by_clarity)
    return None if finest == inf else finest


def finish_options(
    shop: Shop,
    *,
    area_mm2: float,
    reach: Reach,
    start_rq_um: float,
    target_rq_um: float | None,
    copies: int,
    opaque: bool,
    clear: bool,
    share: float = 1.0,
    what: str = "copy",
    primer_ok: bool = True,
    ridged: bool = True,
    uv_ok: bool = False,
) -> tuple[FinishPlan, ...]:
    """Every sensible way to bring `share` of each copy's surface from one roughness to another.

    area_mm2: whole surface of one copy. opaque and primer_ok: the surface may hide under filler primer.
    clear: light must pass it, or a cast of it, unscattered; surface out of reach then counts as failure.
    ridged: printed or cast ridges, which the first stage has to level; False after sanding.
    uv_ok: a coat against yellowing may take the place of the clear coat.

    What nothing reaches is not seen either: a share below 1 leaves it out first. A finer target never takes
    less hands-on time, all else equal.
    """
    if target_rq_um is None or start_rq_um <= target_rq_um or share <= 0.0:
        return (FinishPlan("no finishing", (), start_rq_um),)
    out_of_reach = reach_reason(shop, reach, area_mm2, share, clear)
    reached = reach.block + reach.finger
    if reached <= 0.0:
        return (FinishPlan("no finishing", (), start_rq_um, out_of_reach),)
    done_mm2 = copies * area_mm2 * min(share, reached) / reached
    surface = Surface(what, copies, done_mm2 * reach.block, done_mm2 * reach.finger)
    levelling = _coatings(shop, "clear", "uv") if uv_ok else _coatings(shop, "clear")

    plans = list(_from(shop, surface, start_rq_um, target_rq_um, shop.all(Abrasive), levelling, ridged))
    if opaque and primer_ok and start_rq_um > shop.the(FinishingStandards).primer_above_rq_um:
        # primer is too soft to take a gloss from compound; common practice, no source
        papers = [a for a in shop.all(Abrasive) if a.kind == "paper"]
        for primer in _coatings(shop, "primer"):
            plans += [
                FinishPlan(
                    f"{primer.id}, {then.name}",
                    (coat_operation(shop, surface, primer), *then.operations),
                    then.rq_um,
                )
                for then in _from(shop, surface, primer.rq_um, target_rq_um, papers, levelling, ridged=True)
            ]
    fine_enough = [plan for plan in plans if plan.rq_um <= target_rq_um]
    return tuple(
        FinishPlan(
            plan.name, plan.operations, plan.rq_um, (*_rough_reason(plan.rq_um, target_rq_um), *out_of_reach)
        )
        for plan in fine_enough or [min(plans, key=lambda plan: plan.rq_um)]
    )


def _from(
    shop: Shop,
    surface: Surface,
    start_rq_um: float,
    target_rq_um: float,
    abrasives: Sequence[Abrasive],
    coatings: Sequence[Coating],
    ridged: bool,
) -> Iterator[FinishPlan]:
    """The ladder alone, and a ladder to where a clear coat takes over."""
    ladder = _quickest(shop, surface, start_rq_um, target_rq_um, abrasives, ridged)
    yield FinishPlan(named(ladder.stages), ladder_operations(shop, surface, ladder, ridged), ladder.rq_um)
    for coat in coatings:
        if target_rq_um < coat.levels_rq_um:
            flat = _quickest(shop, surface, start_rq_um, coat.levels_rq_um, abrasives, ridged)
            if flat.reaches:
                steps = ladder_operations(shop, surface, flat, ridged)
                name = f"{named(flat.stages)}, {coat.id}" if flat.stages else coat.id
                yield FinishPlan(name, (*steps, coat_operation(shop, surface, coat)), coat.rq_um)


def _quickest(
    shop: Shop,
    surface: Surface,
    start_rq_um: float,
    target_rq_um: float,
    abrasives: Sequence[Abrasive],
    ridged: bool,
) -> Ladder:
    """Of all ladders that end fine enough the one with the least work; if none does, as far as it goes.

    A finer end is sometimes quicker, because a finer paper may take out the same ridges in one stage less.
    """
    s = shop.the(FinishingStandards)
    stock = [Grit(a.id, "paper" if a.kind == "paper" else "compound", a.grain_um, a.rq_um) for a in abrasives]
    ends = sorted({target_rq_um, *(a.rq_um for a in abrasives if a.rq_um < target_rq_um)}, reverse=True)
    ladders = [
        plan_ladder(
            start_rq_um,
            end,
            stock,
            grain_factor=s.grain_factor,
            ridge_share=s.ridge_share if ridged else _NO_RIDGES,
            compound_span=s.compound_span,
        )
        for end in ends
    ]
    fine_enough = {ladder.stages: ladder for ladder in ladders if ladder.rq_um <= target_rq_um}
    if not fine_enough:
        return min(ladders, key=lambda ladder: ladder.rq_um)

    def work_min(ladder: Ladder) -> float:
        return sum(op.hands_on_min for op in ladder_operations(shop, surface, ladder, ridged))

    return min(fine_enough.values(), key=work_min)


def _coatings(shop: Shop, *purposes: str) -> list[Coating]:
    return [c for c in shop.all(Coating) if c.purpose in purposes]


def reach_reason(shop: Shop, reach: Reach, area_mm2: float, share: float, clear: bool) -> tuple[Reason, ...]:
    """What nothing reaches stays as it is, whoever does the work: hopeless for a clear part, else a flaw."""
    most = shop.the(FinishingStandards).unreached_share
    missed = share - min(share, reach.block + reach.finger)
    if share <= 0.0 or missed / share <= most:
        return ()
    level: Level = "ruled out" if clear else "changes"
    of = f"{missed / share:.0%} of the surface to be finished ({area_mm2 * missed / 100:.1f} cm²)"
    mend = f"a clear part may have {most:.0%}" if clear else "leave it as it is, or open the part"
    return (Reason(level, f"nothing reaches {of}: {mend}"),)


def _rough_reason(rq_um: float, target_rq_um: float) -> tuple[Reason, ...]:
    if rq_um <= target_rq_um:
        return ()
    text = f"needs Rq {target_rq_um:.2g} µm; the abrasives and coats in the tables reach {rq_um:.2g} µm"
    return (Reason("ruled out", text),)
