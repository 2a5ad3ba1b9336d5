"""The steps of finishing: sand and polish by the ladder, coat, file off support marks.

All copies go through a step side by side, so that a change of grit or a spraying session is paid once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from routecost.routes.physics.ladder import Ladder, Stage, abrasive_used, stage_min
from routecost.routes.process.operation import OWN_HOUR, Operation, Usage, own_time
from routecost.routes.steps.running import protection
from routecost.shop.materials import Abrasive, Coating
from routecost.shop.shop import Shop
from routecost.shop.standards import FinishingStandards


@dataclass(frozen=True)
class Surface:
    """What is finished of all copies together."""

    what: str
    """A copy, or the master of a mold."""
    copies: int
    block_mm2: float
    """Where a sanding block reaches."""
    finger_mm2: float
    """Where only a fingertip or a rod does."""

    @property
    def mm2(self) -> float:
        return self.block_mm2 + self.finger_mm2

    @property
    def cm2(self) -> float:
        return self.mm2 / 100.0

    @property
    def shown(self) -> str:
        return f"{self.cm2:.0f} cm² on {self.copies}"


def ladder_operations(shop: Shop, surface: Surface, ladder: Ladder, ridged: bool) -> tuple[Operation, ...]:
    """Papers as one operation, compounds as another. ridged: the first stage meets printed or cast ridges."""
    papers = [stage for stage in ladder.stages if stage.kind == "paper"]
    compounds = [stage for stage in ladder.stages if stage.kind == "compound"]
    found = []
    if papers:
        found.append(_stages(shop, surface, papers, ridged, "wet sand", ("dust",), "rinse between grits"))
    if compounds:
        first = ridged and not papers
        found.append(_stages(shop, surface, compounds, first, "polish", (), "a clean cloth for each"))
    return tuple(found)


def named(stages: Sequence[Stage]) -> str:
    """`paper-p180`, or `paper-p180 to compound-fine`."""
    return " to ".join(dict.fromkeys((stages[0].name, stages[-1].name))) if stages else "as it is"


def _stages(
    shop: Shop,
    surface: Surface,
    stages: Sequence[Stage],
    ridged: bool,
    verb: str,
    cautions: tuple[str, ...],
    note: str,
) -> Operation:
    s = shop.the(FinishingStandards)
    usages = [
        usage for i, stage in enumerate(stages) for usage in _stage(shop, surface, stage, ridged and i == 0)
    ]
    n = len(stages)
    why = f"{n} grits x {s.set_up_stage_min:g} min"
    usages.append(own_time(n * s.set_up_stage_min, why, s.ref("set_up_stage_min")))
    hands_on_min = 60.0 * sum(d.quantity for d in usages if d.resource == OWN_HOUR)
    return Operation(
        f"{verb} the {surface.what}, {named(stages)}",
        (
            *usages,
            _wipes(s, surface, n, "grits"),
            *protection(shop, hands_on_min, vapour="dust" in cautions),
        ),
        cautions=cautions,
        note=f"{' → '.join(stage.name for stage in stages)}; {note}",
    )


def _stage(shop: Shop, surface: Surface, stage: Stage, levels: bool) -> tuple[Usage, ...]:
    """Hands-on time by reach, and paper or compound."""
    s, abrasive = shop.the(FinishingStandards), shop.one(Abrasive, stage.name)
    factor = s.first_stage_factor if levels else 1.0
    passes = f" x {stage.passes:.3g} passes" if stage.passes > 1.0 else ""
    by_area = f"{abrasive.min_per_10cm2:g} min per 10 cm²{passes}"
    by_area += f" x {factor:g} to level ridges" if levels else ""
    rests = (*abrasive.ref("min_per_10cm2"), *(s.ref("first_stage_factor") if levels else ()))

    def work(mm2: float, reach_factor: float, more: str, facts: tuple[str, ...]) -> tuple[Usage, ...]:
        minutes = stage_min(mm2, abrasive.min_per_10cm2, reach_factor, stage.passes * factor)
        why = f"{stage.name}: {mm2 / 100:.0f} cm² on {surface.copies} x {by_area}{more}"
        return (own_time(minutes, why, facts),) if mm2 > 0.0 else ()

    finger = f" x {s.finger_factor:g} where only a finger reaches"
    unit = "g" if stage.kind == "compound" else "sheet"
    return (
        *work(surface.block_mm2, 1.0, "", rests),
        *work(surface.finger_mm2, s.finger_factor, finger, (*rests, *s.ref("finger_factor"))),
        Usage(
            abrasive.id,
            abrasive_used(surface.mm2, abrasive.life_cm2, stage.passes),
            f"{surface.shown}, {abrasive.life_cm2:g} cm² a {unit}{passes}",
            abrasive.ref("life_cm2"),
        ),
    )


def coat_operation(shop: Shop, surface: Surface, coating: Coating) -> Operation:
    """Degrease, then spray or dip coat by coat; one set-up a coat for all copies."""
    s = shop.the(FinishingStandards)
    coats, of_coats = coating.coats, coating.ref("coats")
    coated = f"{surface.shown} x {coats:g} coats"
    spray_min, set_up_min = surface.cm2 * coats * s.clear_coat_min_per_cm2, coats * s.set_up_coat_min
    # clear coats that last are two-part polyurethanes
    hardener = ("isocyanate",) if coating.purpose in ("clear", "uv") else ()
    return Operation(
        f"coat the {surface.what} with {coating.id}",
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
            Usage(
                coating.id,
                surface.cm2 * coats * coating.spread_g_cm2,
                f"{coated} x {coating.spread_g_cm2:g} g/cm², overspray included",
                coating.ref("spread_g_cm2", "coats"),
            ),
            Usage(
                "isopropanol",
                surface.cm2 * s.degrease_g_per_cm2,
                f"degrease {surface.shown} x {s.degrease_g_per_cm2:g} g/cm²",
                s.ref("degrease_g_per_cm2"),
            ),
            _wipes(s, surface, 1, "to degrease"),
            *protection(shop, spray_min + set_up_min, vapour=True),
        ),
        waiting_min=coats * coating.dry_h * 60.0,
        runs=round(coats),
        cautions=("solvent", "compressed-air", *hardener),
        note=f"free of dust; {coating.dry_h:g} h after each coat",
        unbroken=True,
    )


def support_marks(shop: Shop, copies: int, contact_mm2: float, what: str = "copy") -> tuple[Operation, ...]:
    """File off the stubs that supports of vat photopolymerization leave, before sanding.

    contact_mm2: on one copy.
    """
    s = shop.the(FinishingStandards)
    cm2 = copies * contact_mm2 / 100.0
    if cm2 <= 0.0:
        return ()
    minutes = cm2 * s.support_mark_min_per_cm2
    why = f"{cm2:.1f} cm² of contact on {copies} x {s.support_mark_min_per_cm2:g} min/cm²"
    return (
        Operation(
            f"file off the support marks of the {what}",
            (
                own_time(minutes, why, s.ref("support_mark_min_per_cm2")),
                *protection(shop, minutes, vapour=True),
            ),
            cautions=("dust",),
        ),
    )


def _wipes(s: FinishingStandards, surface: Surface, times: int, what: str) -> Usage:
    why = f"{surface.shown} x {times} {what}; {s.wipes_per_100cm2:g} for 100 cm²"
    return Usage("wipe", surface.cm2 / 100.0 * times * s.wipes_per_100cm2, why, s.ref("wipes_per_100cm2"))
