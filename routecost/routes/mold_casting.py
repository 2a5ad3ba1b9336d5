"""Casting resin in a silicone mold: master x mold x silicone x resin x molds at once, all priced by the one core.

The finish is put on the master, once for all copies; for a few copies, finishing each instead is priced too.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from routecost.parts.shape import Shape
from routecost.routes.finishing import finish_options, target_rq_um
from routecost.routes.joining import tests
from routecost.routes.masters import FinishedMaster, Master, barrier_operations, finished, raw_masters
from routecost.routes.molds import Mold, mold_operations, molds_for
from routecost.routes.operation import Operation, ProcessPlan, Reason, Verdict
from routecost.routes.part import Part
from routecost.routes.physics.optics import surface_haze_percent, total_haze_percent
from routecost.routes.physics.shrink import master_scale
from routecost.routes.print_ways import direction_words
from routecost.routes.pulls import CLEAR, Casting, casting_of, pull_operations
from routecost.routes.verdicts import (
    haze_reason,
    heat_reason,
    kept,
    load_reason,
    opaque_reason,
    tolerance_reason,
)
from routecost.shop.materials import Abrasive, CastingResin, Silicone
from routecost.shop.shop import Shop
from routecost.shop.standards import CastingStandards, PrintingStandards

_FINISH_EACH_UP_TO = 4
"""Copies up to which finishing each instead of the master is worth pricing: beyond, it is hours for nothing."""


@dataclass(frozen=True, eq=False)
class _Tooling:
    """A mold of one silicone for one number of molds, with its operations made once for all masters."""

    mold: Mold
    silicone: Silicone
    casting: Casting
    resin: CastingResin
    making: tuple[Operation, ...]
    pulling: tuple[Operation, ...]


class MoldCasting:
    """The route."""

    id = "mold-casting"
    name = "silicone-mold casting"

    def plans(self, part: Part, shop: Shop) -> Iterable[ProcessPlan]:
        if part.shape is None or not shop.all(Silicone):
            return
        shape = part.shape
        resins = _worth_pricing(part, shop)
        by_scale: dict[float, list[Master]] = {}
        for silicone in shop.all(Silicone):
            molds = _worth_making(list(molds_for(shape, silicone, shop)))
            for resin in resins:
                # what shrinks by a few thousandths more or less is printed at the same size
                scale = round(master_scale(silicone.linear_shrink_percent, resin.linear_shrink_percent), 3)
                if scale not in by_scale:
                    by_scale[scale] = list(raw_masters(part, shape, scale, shop))
                tooling = [t for mold in molds for t in _toolings(part, shape, mold, silicone, resin, shop)]
                target = target_rq_um(part.demands, shop, resin.haze_percent)
                for master in _finished_masters(part, shape, by_scale[scale], target, shop):
                    for t in tooling:
                        yield _plan(part, shape, master, t, target, shop)


MOLD_CASTING = MoldCasting()


def _worth_pricing(part: Part, shop: Shop) -> list[CastingResin]:
    """Resins that meet the demands by themselves; where none does, all, so that the reason and a cost show."""
    resins = list(shop.all(CastingResin))
    return [r for r in resins if Verdict(_resin_reasons(part, r, shop)).level != "ruled out"] or resins


def _resin_reasons(part: Part, resin: CastingResin, shop: Shop) -> tuple[Reason, ...]:
    d = part.demands
    return kept(
        haze_reason(d, resin.haze_percent, f"castings of {resin.id}"),
        heat_reason(d, resin.softens_degc, resin.id),
        load_reason(part, resin.strength_mpa, 1.0, shop.the(PrintingStandards), resin.id),
    )


def _worth_making(molds: list[Mold]) -> list[Mold]:
    """The first mold of each kind that releases the part; a mold in three parts only where two do not."""
    can = [m for m in molds if Verdict(m.reasons).level != "ruled out"]
    kinds = {m.kind for m in can}
    if "two-part block" in kinds:
        can = [m for m in can if m.kind != "multi-part block"]
    first: dict[str, Mold] = {}
    for mold in can or molds:
        first.setdefault(mold.kind, mold)
    return list(first.values())


def _toolings(
    part: Part, shape: Shape, mold: Mold, silicone: Silicone, resin: CastingResin, shop: Shop
) -> Iterator[_Tooling]:
    """As many molds as their life asks for; and twice as many, for speed, where there are rounds to save."""
    seen = set[int]()
    for at_once in (1, 2, 4):
        casting = casting_of(shape, part.copies, part.demands, mold, silicone, resin, shop, at_once)
        if casting.molds in seen or (at_once > 1 and casting.pulls < 2 * at_once):
            continue
        seen.add(casting.molds)
        yield _Tooling(
            mold,
            silicone,
            casting,
            resin,
            mold_operations(mold, silicone, casting.molds, shop),
            pull_operations(casting, mold, resin, shop, pigment=part.demands.opaque),
        )


def _finished_masters(
    part: Part, shape: Shape, masters: list[Master], target: float | None, shop: Shop
) -> Iterator[FinishedMaster]:
    for master in masters:
        yield from finished(part, shape, master, target, shop)
        if target is not None and part.copies <= _FINISH_EACH_UP_TO and master.rq_um > target:
            yield FinishedMaster(
                f"{master.label}, finish on each copy",
                master.operations,
                master.rq_um,
                master.inhibits,
                master.machine,
                master.reasons,
            )


def _plan(
    part: Part, shape: Shape, master: FinishedMaster, t: _Tooling, target: float | None, shop: Shop
) -> ProcessPlan:
    copies = _copy_finish(part, shape, master, t, target, shop)
    barrier = master.inhibits and t.silicone.cure == "addition"
    after, rq_um, reasons = copies
    casting, mold, resin = t.casting, t.mold, t.resin
    operations = (
        *master.operations,
        *(barrier_operations(shape, shop) if barrier else ()),
        *t.making,
        *t.pulling,
        *after,
        *tests(shop, part),
    )
    molds = f"{casting.molds} molds" if casting.molds > 1 else "1 mold"
    tools = {v for v in (master.machine, casting.pot.id if casting.pot else "") if v}
    tools |= {op.machine for op in t.making if op.machine in shop.resources}
    return ProcessPlan(
        route=MoldCasting.id,
        part=part.id,
        copies=part.copies,
        alternative=f"{resin.id} in {molds} of {t.silicone.id} ({mold.kind}), master {master.label}",
        operations=operations,
        verdict=Verdict(
            (
                *_shape_reasons(shape),
                *mold.reasons,
                *casting.reasons,
                *_resin_reasons(part, resin, shop)[1:],
                *kept(
                    haze_reason(
                        part.demands,
                        total_haze_percent(resin.haze_percent, surface_haze_percent(rq_um, rq_um)),
                        f"castings of {resin.id} at Rq {rq_um:.2g} µm",
                    ),
                    tolerance_reason(part, shop.the(CastingStandards).tolerance_mm, "a casting"),
                    opaque_reason(part.demands, False, "pigmented resin"),
                ),
                *master.reasons,
                *reasons,
            )
        ),
        mass_g=part.copies * shape.solid.volume_mm3 / 1000.0 * resin.density_g_cm3,
        tools=frozenset(tools),
        chosen={
            "master": master.label,
            "mold": mold.kind,
            "silicone": t.silicone.id,
            "molds": str(casting.molds),
            "resin": resin.id,
            "up": direction_words(mold.pose.up),
            "pressure pot": casting.pot.id if casting.pot else "none",
        },
    )


def _copy_finish(
    part: Part, shape: Shape, master: FinishedMaster, t: _Tooling, target: float | None, shop: Shop
) -> tuple[tuple[Operation, ...], float, tuple[Reason, ...]]:
    """What each copy still needs: all of the finish where the master has none, else the marks of the mold."""
    if target is None:
        return (), master.rq_um, ()
    s, d = shop.the(CastingStandards), part.demands
    whole = master.rq_um > target
    if not whole and (d.clarity not in CLEAR or not t.mold.openings):
        return (), master.rq_um, ()
    dressed = shop.one(Abrasive, "paper-p320").rq_um
    options = finish_options(
        shop,
        area_mm2=shape.solid.area_mm2,
        reach=shape.reach(),
        start_rq_um=master.rq_um if whole else dressed,
        target_rq_um=target,
        copies=t.casting.good,
        opaque=d.opaque,
        clear=d.clarity in CLEAR,
        share=d.finish_share if whole else min(s.post_polish_share, d.finish_share),
        ridged=whole,
    )
    quickest = min(options, key=lambda plan: (Verdict(plan.reasons).level == "ruled out", plan.hands_on_min))
    return quickest.operations, quickest.rq_um, quickest.reasons


def _shape_reasons(shape: Shape) -> tuple[Reason, ...]:
    solid = shape.solid
    if solid.closed_voids:
        text = f"{solid.closed_voids} closed voids ({solid.closed_void_volume_mm3 / 1000:.2f} cm³) cannot be cast"
        return (Reason("ruled out", text),)
    return ()
