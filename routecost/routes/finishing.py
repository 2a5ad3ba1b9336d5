"""From the surface a route leaves to the one that is asked for: sanding, polishing, primer and clear coat.

All copies are finished side by side, stage by stage, so that a change of grit is paid once. A master for a
mold is finished the same way, once for all its copies.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import inf

from routecost.parts.measures import Reach
from routecost.routes.operation import Draw, Level, Operation, Reason, own_time
from routecost.routes.part import Demands
from routecost.routes.physics.ladder import Grit, Ladder, Stage, abrasive_used, plan_ladder, stage_min
from routecost.routes.physics.optics import haze_limit_percent, rq_for_haze_um
from routecost.routes.running import protection
from routecost.shop.materials import Abrasive, Coating
from routecost.shop.shop import Shop
from routecost.shop.standards import FinishingStandards

_NO_RIDGES = 1e-9
"""Share of the grain that a first stage may take as ridges where there are only scratches: next to none."""


@dataclass(frozen=True)
class FinishPlan:
    """One way to finish a surface: steps for all copies, the roughness left, and what stands against it."""

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
        limit = haze_limit_percent(demands.clarity)
        by_clarity = rq_for_haze_um(limit, base_haze_percent) or rq_for_haze_um(limit)
    finest = min(by_grade, by_clarity)
    return None if finest == inf else finest


@dataclass(frozen=True)
class _Job:
    """The surface to be finished on all copies."""

    shop: Shop
    what: str
    copies: int
    block_mm2: float
    finger_mm2: float

    @property
    def mm2(self) -> float:
        return self.block_mm2 + self.finger_mm2

    @property
    def whose(self) -> str:
        return f"of {self.copies} {self.what if self.copies == 1 else _many(self.what)}"


def _many(what: str) -> str:
    return what[:-1] + "ies" if what.endswith("y") else what + "s"


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
) -> tuple[FinishPlan, ...]:
    """Every sensible way to bring `share` of each copy's surface from one roughness to another.

    area_mm2: whole surface of one copy. opaque and primer_ok: the surface may hide under filler primer.
    clear: light must pass it, or a cast of it, unscattered; surface out of reach then counts as failure.
    ridged: printed or cast ridges, which the first stage has to level; False after sanding.

    What nothing reaches is not seen either: a share below 1 leaves it out first.
    """
    s = shop.the(FinishingStandards)
    if target_rq_um is None or start_rq_um <= target_rq_um or share <= 0.0:
        return (FinishPlan("no finishing", (), start_rq_um),)
    reached = reach.block + reach.finger
    done = min(share, reached)
    out_of_reach = _reach_reason(1.0 - done / share, area_mm2 * (share - done), s, clear)
    if reached <= 0.0:
        return (FinishPlan("no finishing", (), start_rq_um, out_of_reach),)
    block, finger = (copies * area_mm2 * done * part / reached for part in (reach.block, reach.finger))
    job = _Job(shop, what, copies, block, finger)

    plans = list(_on_surface(job, start_rq_um, target_rq_um, ridged))
    if opaque and primer_ok and start_rq_um > s.primer_above_rq_um:
        for primer in _coatings(shop, "primer"):
            if primer.rq_um < start_rq_um:
                first = _coat(job, primer)
                plans += [
                    FinishPlan(f"{primer.id}, {plan.name}", (first, *plan.operations), plan.rq_um)
                    for plan in _on_surface(job, primer.rq_um, target_rq_um, ridged=True, on_primer=True)
                ]
    fine_enough = [plan for plan in plans if plan.rq_um <= target_rq_um]
    kept = fine_enough or [min(plans, key=lambda plan: plan.rq_um)]
    return tuple(
        FinishPlan(
            plan.name,
            plan.operations,
            plan.rq_um,
            (*_too_rough(plan, target_rq_um), *out_of_reach),
        )
        for plan in kept
    )


def _on_surface(
    job: _Job, start_rq_um: float, target_rq_um: float, ridged: bool, on_primer: bool = False
) -> Iterator[FinishPlan]:
    """The ladder alone, and a ladder to where a clear coat takes over."""
    # primer is too soft to take a gloss from compound; common practice, no source
    grits = [a for a in job.shop.all(Abrasive) if a.kind == "paper" or not on_primer]
    ladder = _quickest(job, start_rq_um, target_rq_um, grits, ridged)
    yield FinishPlan(
        _named([stage.name for stage in ladder.stages]), _ladder(job, ladder, ridged), ladder.rq_um
    )
    for coat in _coatings(job.shop, "clear"):
        if coat.rq_um > target_rq_um or target_rq_um >= coat.levels_rq_um:
            continue
        flat = _quickest(job, start_rq_um, coat.levels_rq_um, grits, ridged)
        if flat.reaches:
            name = ", ".join([_named([stage.name for stage in flat.stages])] * bool(flat.stages) + [coat.id])
            yield FinishPlan(name, (*_ladder(job, flat, ridged), _coat(job, coat)), coat.rq_um)


def _quickest(
    job: _Job, start_rq_um: float, target_rq_um: float, grits: Sequence[Abrasive], ridged: bool
) -> Ladder:
    """Of all ladders that end fine enough the one with the least work; if none does, as far as it goes.

    A finer end is sometimes quicker, because a finer paper may take out the same ridges in one stage less.
    """
    s = job.shop.the(FinishingStandards)
    stock = [Grit(a.id, "compound" if a.kind == "compound" else "paper", a.grain_um, a.rq_um) for a in grits]

    def to(needed_um: float) -> Ladder:
        if ridged:
            return plan_ladder(start_rq_um, needed_um, stock, grain_factor=s.grain_factor)
        return plan_ladder(start_rq_um, needed_um, stock, grain_factor=s.grain_factor, ridge_share=_NO_RIDGES)

    ends = {target_rq_um, *(a.rq_um for a in grits if a.rq_um < target_rq_um)}
    ladders = [to(end) for end in sorted(ends, reverse=True)]
    fine_enough = [ladder for ladder in ladders if ladder.rq_um <= target_rq_um]
    if not fine_enough:
        return min(ladders, key=lambda ladder: ladder.rq_um)
    return min(fine_enough, key=lambda ladder: sum(op.hands_on_min for op in _ladder(job, ladder, ridged)))


def _ladder(job: _Job, ladder: Ladder, ridged: bool) -> tuple[Operation, ...]:
    """Papers as one operation, compounds as another."""
    papers = [stage for stage in ladder.stages if stage.kind == "paper"]
    compounds = [stage for stage in ladder.stages if stage.kind == "compound"]
    found = []
    if papers:
        found.append(
            _stages(job, "wet sand", papers, ridged, cautions=("dust",), note="wet; rinse between grits")
        )
    if compounds:
        note = "a clean cloth for each compound"
        found.append(_stages(job, "polish", compounds, ridged and not papers, cautions=(), note=note))
    return tuple(found)


def _stages(
    job: _Job, verb: str, stages: Sequence[Stage], ridged: bool, cautions: tuple[str, ...], note: str
) -> Operation:
    s = job.shop.the(FinishingStandards)
    draws: list[Draw] = []
    for i, stage in enumerate(stages):
        abrasive = job.shop.one(Abrasive, stage.name)
        levelling = s.first_stage_factor if ridged and i == 0 else 1.0
        times = stage.passes * levelling
        more = f" x {levelling:g} to level ridges" if levelling != 1.0 else ""
        more += f" x {stage.passes:.2g} passes" if stage.passes > 1.0 else ""
        rests = (*abrasive.ref("min_per_10cm2"), *(s.ref("first_stage_factor") if levelling != 1.0 else ()))
        each = f"{abrasive.min_per_10cm2:g} min per 10 cm²{more}"
        if job.block_mm2 > 0.0:
            draws.append(
                own_time(
                    stage_min(job.block_mm2, abrasive.min_per_10cm2, passes=times),
                    f"{stage.name}: {job.block_mm2 / 100:.0f} cm² {job.whose} x {each}",
                    rests,
                )
            )
        if job.finger_mm2 > 0.0:
            draws.append(
                own_time(
                    stage_min(job.finger_mm2, abrasive.min_per_10cm2, s.finger_factor, times),
                    f"{stage.name}: {job.finger_mm2 / 100:.0f} cm² {job.whose} where only a finger reaches "
                    f"x {each} x {s.finger_factor:g}",
                    (*rests, *s.ref("finger_factor")),
                )
            )
        used = abrasive_used(job.mm2, abrasive.life_cm2, stage.passes)
        unit = "g" if stage.kind == "compound" else "sheet"
        draws.append(
            Draw(
                abrasive.id,
                used,
                f"{job.mm2 / 100:.0f} cm², {abrasive.life_cm2:g} cm² a {unit}"
                + (f" x {stage.passes:.2g} passes" if stage.passes > 1.0 else ""),
                abrasive.ref("life_cm2"),
            )
        )
    n = len(stages)
    draws.append(
        own_time(n * s.set_up_stage_min, f"{n} grits x {s.set_up_stage_min:g} min", s.ref("set_up_stage_min"))
    )
    hands_on = 60.0 * sum(d.quantity for d in draws if d.resource == "own-hour")
    draws += _wipes(s, job, n, "grits")
    draws += protection(job.shop, hands_on, vapour="dust" in cautions)
    names = [stage.name for stage in stages]
    order = f"{' → '.join(names)}; {note}"
    return Operation(f"{verb} the {job.what}, {_named(names)}", tuple(draws), cautions=cautions, note=order)


def _named(stages: Sequence[str]) -> str:
    """`paper-p180`, or `paper-p180 to compound-fine`."""
    return " to ".join(dict.fromkeys((stages[0], stages[-1]))) if stages else "as it is"


def _coat(job: _Job, coating: Coating) -> Operation:
    """Degrease, then spray or dip coat by coat; one set-up a coat for all copies."""
    s = job.shop.the(FinishingStandards)
    cm2, coats = job.mm2 / 100.0, coating.coats
    coated = f"{cm2:.0f} cm² {job.whose} x {coats:g} coats"
    of_coats = coating.ref("coats")
    spray_min, set_up_min = cm2 * coats * s.clear_coat_min_per_cm2, coats * s.set_up_coat_min
    hardener = ("isocyanate",) if coating.purpose == "clear" else ()
    return Operation(
        f"coat the {job.what} with {coating.id}",
        (
            own_time(
                spray_min,
                f"{coated} x {s.clear_coat_min_per_cm2:g} min/cm²",
                (*s.ref("clear_coat_min_per_cm2"), *of_coats),
            ),
            own_time(
                set_up_min,
                f"{coats:g} coats x {s.set_up_coat_min:g} min",
                (*s.ref("set_up_coat_min"), *of_coats),
            ),
            Draw(
                coating.id,
                cm2 * coats * coating.spread_g_cm2,
                f"{coated} x {coating.spread_g_cm2:g} g/cm², overspray included",
                coating.ref("spread_g_cm2", "coats"),
            ),
            Draw(
                "isopropanol",
                cm2 * s.degrease_g_per_cm2,
                f"degrease {cm2:.0f} cm² x {s.degrease_g_per_cm2:g} g/cm²",
                s.ref("degrease_g_per_cm2"),
            ),
            *_wipes(s, job, 1, "to degrease"),
            *protection(job.shop, spray_min + set_up_min, vapour=True),
        ),
        waiting_min=coats * coating.dry_h * 60.0,
        cautions=("solvent", "compressed-air", *hardener),
        note=f"dust-free; {coating.dry_h:g} h after each coat",
    )


def _wipes(s: FinishingStandards, job: _Job, times: int, what: str) -> tuple[Draw, ...]:
    cm2 = job.mm2 / 100.0
    why = f"{cm2:.0f} cm² x {times} {what}; {s.wipes_per_100cm2:g} for 100 cm²"
    return (Draw("wipe", cm2 / 100.0 * times * s.wipes_per_100cm2, why, s.ref("wipes_per_100cm2")),)


def _coatings(shop: Shop, purpose: str) -> list[Coating]:
    return [c for c in shop.all(Coating) if c.purpose == purpose]


def _reach_reason(
    unreached: float, area_mm2: float, s: FinishingStandards, clear: bool
) -> tuple[Reason, ...]:
    """What nothing reaches stays as it is: hopeless for a clear part, a flaw on any other."""
    if unreached <= s.unreached_share:
        return ()
    level: Level = "ruled out" if clear else "changes"
    text = f"nothing reaches {unreached:.0%} of the surface to be finished ({area_mm2 / 100:.1f} cm²)"
    mend = (
        f"a clear part may have {s.unreached_share:.0%}" if clear else "leave it as it is, or open the part"
    )
    return (Reason(level, f"{text}: {mend}"),)


def _too_rough(plan: FinishPlan, target_rq_um: float) -> tuple[Reason, ...]:
    if plan.rq_um <= target_rq_um:
        return ()
    text = f"needs Rq {target_rq_um:.2g} µm; the abrasives and coats in the tables reach {plan.rq_um:.2g} µm"
    return (Reason("ruled out", text),)
