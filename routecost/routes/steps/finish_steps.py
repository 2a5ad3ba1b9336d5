"""The steps of finishing: sand and polish by the ladder, coat, file off support marks.

All copies go through a step side by side, so that a change of grit or a spraying session is paid once.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from routecost.routes.physics.ladder import Ladder, Stage
from routecost.routes.process.operation import Operation, Usage, timed, used
from routecost.routes.steps.running import protection
from routecost.shop.facts import Factor
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
    def in_cm2(self) -> Factor:
        return Factor(self.cm2, f"{self.cm2:.0f} cm² on {self.copies}")

    @property
    def per_100cm2(self) -> Factor:
        """For what is used up by 100 cm²."""
        return replace(self.in_cm2, number=self.cm2 / 100.0)


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
    n = len(stages)
    usages = [
        *(
            usage
            for i, stage in enumerate(stages)
            for usage in _stage(shop, surface, stage, ridged and i == 0)
        ),
        timed((n, "grits"), s.rate("set_up_stage_min")),
    ]
    return Operation(
        f"{verb} the {surface.what}, {named(stages)}",
        (
            *usages,
            used("wipe", surface.per_100cm2, (n, "grits"), s.rate("wipes_per_100cm2", "for 100 cm²")),
            *protection(shop, *usages, vapour="dust" in cautions),
        ),
        cautions=cautions,
        note=f"{' → '.join(stage.name for stage in stages)}; {note}",
    )


def _stage(shop: Shop, surface: Surface, stage: Stage, levels: bool) -> Iterator[Usage]:
    """Hands-on time by reach, and paper or compound."""
    s, abrasive = shop.the(FinishingStandards), shop.one(Abrasive, stage.name)
    of_levels = (s.rate("first_stage_factor", "to level ridges"),) if levels else ()
    of_finger = s.rate("finger_factor", "where only a finger reaches")
    passes = (stage.passes, "passes")
    for mm2, reach in ((surface.block_mm2, ()), (surface.finger_mm2, (of_finger,))):
        if mm2 > 0.0:
            area = Factor(mm2 / 1000.0, f"{stage.name}: {mm2 / 100:.0f} cm² on {surface.copies}")
            yield timed(area, abrasive.rate("min_per_10cm2", "for 10 cm²"), *reach, passes, *of_levels)
    unit = "g" if stage.kind == "compound" else "sheet"
    yield used(abrasive.id, surface.in_cm2, abrasive.rate("life_cm2", f"a {unit}"), passes)


def coat_operation(shop: Shop, surface: Surface, coating: Coating) -> Operation:
    """Degrease, then spray or dip coat by coat; one set-up a coat for all copies."""
    s, area, coats = shop.the(FinishingStandards), surface.in_cm2, coating.rate("coats", "coats")
    spray = timed(area, coats, s.rate("clear_coat_min_per_cm2"))
    set_up = timed(coats, s.rate("set_up_coat_min", "to set up"))
    # clear coats that last are two-part polyurethanes
    hardener = ("isocyanate",) if coating.purpose in ("clear", "uv") else ()
    return Operation(
        f"coat the {surface.what} with {coating.id}",
        (
            spray,
            set_up,
            used(coating.id, area, coats, coating.rate("spread_g_cm2", "with overspray")),
            used("isopropanol", area, s.rate("degrease_g_per_cm2", "to degrease")),
            used("wipe", surface.per_100cm2, s.rate("wipes_per_100cm2", "for 100 cm²")),
            *protection(shop, spray, set_up, vapour=True),
        ),
        waiting_min=coating.coats * coating.dry_h * 60.0,
        runs=round(coating.coats),
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
    work = timed((cm2, f"cm² of contact on {copies}"), s.rate("support_mark_min_per_cm2"))
    return (
        Operation(
            f"file off the support marks of the {what}",
            (work, *protection(shop, work, vapour=True)),
            cautions=("dust",),
        ),
    )
