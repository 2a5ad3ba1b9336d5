"""Casting the copies, step by step: prepare, mix and pour, cure, demold, trim. All rounds together."""

from __future__ import annotations

from routecost.core.wording import counted
from routecost.routes.casting.molds import OPEN, Mold
from routecost.routes.casting.pull_planning import Casting
from routecost.routes.physics.attempts import attempts_to_be_sure
from routecost.routes.process.operation import Operation, Usage, timed, used
from routecost.routes.steps.joining import paper_near, strip_of_paper
from routecost.routes.steps.running import batch_usages, blades, cycle_usages, protection
from routecost.shop.facts import Factor
from routecost.shop.materials import Abrasive, CastingResin
from routecost.shop.shop import Shop
from routecost.shop.standards import CastingStandards, JudgingStandards

_CYCLE = "pull"
"""Each mold is released, filled and emptied before it is filled again: what its steps are repeated as."""


def pull_operations(
    casting: Casting,
    mold: Mold,
    resin: CastingResin,
    shop: Shop,
    *,
    pigment: bool = False,
    faced: bool = False,
) -> tuple[Operation, ...]:
    """Everything from a mold that is ready to trimmed copies.

    pigment: the resin lets light through and must not. faced: the free face of an open mold has to shine.
    """
    s = shop.the(CastingStandards)
    return (
        _prepare(casting, mold, shop, s),
        _pour(casting, mold, resin, shop, s, pigment, faced),
        _demold(casting, shop, s),
        _trim(casting, mold, shop, s),
    )


def _yield_ref(c: Casting, s: CastingStandards) -> tuple[str, ...]:
    return s.ref("yield_clear" if c.clear else "yield_opaque")


def _pulls(c: Casting, s: CastingStandards) -> Factor:
    return Factor(c.pulls, f"{c.pulls:.3g} pulls for {c.good} good at {c.yield_share:.0%}", _yield_ref(c, s))


def _prepare(c: Casting, mold: Mold, shop: Shop, s: CastingStandards) -> Operation:
    pulls = _pulls(c, s)
    work = timed(pulls, s.rate("prepare_pull_min"))
    usages = [
        work,
        used("release-agent", pulls, (mold.part_mm2 / 100.0, "cm²"), s.rate("release_g_per_cm2")),
        *protection(shop, work, vapour=True),
    ]
    if mold.kind != OPEN:
        usages.append(used("tape", pulls, (2, "times round"), (mold.girth_cm, "cm of mold")))
    name = "clean and release the mold" if mold.kind == OPEN else "clean, release, close and strap the mold"
    return Operation(name, tuple(usages), runs=c.turns, cautions=("solvent",), cycle=_CYCLE)


def _pour(
    c: Casting, mold: Mold, resin: CastingResin, shop: Shop, s: CastingStandards, pigment: bool, faced: bool
) -> Operation:
    pulls, rests = _pulls(c, s), _yield_ref(c, s)
    batches = Factor(c.batches, f"{c.batches:.3g} batches", rests)
    fillings = Factor(c.pulls * c.layers, f"{c.pulls * c.layers:.3g} fillings", rests)
    usages = [
        *_resin(c, mold, resin, s),
        timed(batches, s.rate("mix_min", "to weigh and mix")),
        timed(batches, s.rate("pour_min", "to pour and chase bubbles")),
        timed(fillings, s.rate("next_mold_min", "from mold to mold")),
        timed((c.sessions, "sessions"), s.rate("clean_up_min", "to clean up"), facts=rests),
        *batch_usages(shop, c.batches),
    ]
    if pigment:
        mixed_g = c.pulls * c.pull_g * (1.0 + s.mix_loss_share)
        mixed = Factor(mixed_g, f"{mixed_g:.0f} g of resin", (*resin.ref("density_g_cm3"), *rests))
        usages.append(used("pigment", mixed, s.rate("pigment_share")))
    if mold.kind == OPEN:
        usages += _free_face(pulls, mold, s, faced)
    if chamber := c.mix.chamber:
        usages.append(timed(batches, s.rate("degas_min", "under vacuum")))
        usages += cycle_usages(chamber, c.batches, "batches", rests)
    if c.pot:
        usages += cycle_usages(c.pot.vessel, c.loads, f"loads of up to {c.pot.per_load} molds", rests)
    confidence = shop.the(JudgingStandards).sure_share
    sure = attempts_to_be_sure(c.good, c.yield_share, confidence)
    return Operation(
        "mix"
        + (", degas" if c.mix.chamber else "")
        + " and pour resin"
        + (", cure under pressure" if c.pot else ""),
        (*usages, *protection(shop, *usages, vapour=True)),
        machine=c.pot.vessel.id if c.pot else "mold",
        machine_min=c.in_turn * c.cure_h * 60.0,
        waiting_min=max(0.0, resin.cure_h - resin.demold_h) * 60.0,
        runs=c.layers * c.turns,
        cautions=_cautions(c, resin),
        note=f"{pulls.text}, {c.at_once} side by side in {c.rounds.total():.3g} rounds, "
        f"{counted(c.molds, 'mold')} in all; {counted(c.layers, 'pour')} a pull; demold after {resin.demold_h:g} h, "
        f"full strength after {resin.cure_h:g} h; have resin for {sure} pulls to be {100 * confidence:g} % sure",
        cycle=_CYCLE,
        runs_in_cycle=c.layers,
        unbroken=True,
    )


def _cautions(c: Casting, resin: CastingResin) -> tuple[str, ...]:
    hazard = "isocyanate" if resin.chemistry == "polyurethane" else "sensitiser"
    shines = ("yellowing",) if resin.haze_percent < 100.0 else ()
    return (hazard, "exotherm", *(("pressure",) if c.pot or c.mix.chamber else ()), *shines)


def _resin(c: Casting, mold: Mold, resin: CastingResin, s: CastingStandards) -> tuple[Usage, ...]:
    """One draw for each reason resin is used."""
    pulls, density = _pulls(c, s), resin.ref("density_g_cm3")
    part = Factor(c.part_g, f"{c.part_g:.1f} g", density)
    sprue = Factor(c.sprue_g, f"{c.sprue_g:.1f} g in sprue and funnel", (*density, *s.ref("sprue_cm3")))
    pulled = Factor(c.pulls * c.pull_g, f"{c.pulls * c.pull_g:.0f} g", (*density, *pulls.facts))
    batches = Factor(c.batches, f"{c.batches:.3g} batches", pulls.facts)
    if mold.kind == OPEN:
        more = s.rate("overfill_share", "pressed out under the plate")
    else:
        more = s.rate("sprue_share", "in vents and flash")
    laid = (
        used(resin.id, pulls, part),
        used(resin.id, pulls, part, more),
        used(resin.id, pulls, sprue),
        used(resin.id, pulled, s.rate("mix_loss_share", "stays behind")),
        used(resin.id, batches, s.rate("cup_loss_g", "in the cup")),
    )
    return tuple(usage for usage in laid if usage.quantity > 0.0)


def _free_face(pulls: Factor, mold: Mold, s: CastingStandards, faced: bool) -> tuple[Usage, ...]:
    """Under film and plate the free face cures flat and shining; else it is scraped level."""
    if not faced:
        return (timed(pulls, s.rate("level_min", "to scrape the free face level")),)
    a, b = (side + 2.0 * s.film_margin_mm for side in mold.pose.footprint_mm)
    film = used("polyester-film", pulls, (a, "mm"), (b, "mm"), Factor(100.0, "100 mm² a cm²", divides=True))
    return timed(pulls, s.rate("film_min", "for film and plate")), film


def _demold(c: Casting, shop: Shop, s: CastingStandards) -> Operation:
    work = timed(_pulls(c, s), s.rate("demold_min"))
    usages = (work, *protection(shop, work))
    return Operation("demold", usages, runs=c.turns, cycle=_CYCLE)


def dressing_paper(shop: Shop) -> Abrasive | None:
    """The paper that flash is dressed with; None where the tables have none."""
    return paper_near(shop, shop.the(CastingStandards).flash_grain_um)


def _trim(c: Casting, mold: Mold, shop: Shop, s: CastingStandards) -> Operation:
    """Flash along the parting line, sprue and vents; an open casting has only its rim."""
    where = "rim" if mold.kind == OPEN else "parting line"
    copies, flash = (c.good, "copies"), (mold.flash_cm, f"cm of {where}")
    usages = [timed(copies, flash, s.rate("trim_min_per_cm"))]
    if mold.openings:
        usages.append(timed(copies, (mold.openings, "sprue and vents"), s.rate("sprue_min")))
    usages.append(blades(shop, *usages))
    if paper := dressing_paper(shop):
        length = (c.good * mold.flash_cm, f"cm of {where}")
        usages.append(strip_of_paper(paper, length, s.rate("trim_strip_mm", "wide")))
    return Operation(
        f"trim flash, sprue and vents, dress the {where}" if mold.openings else "trim and dress the rim",
        (*usages, *protection(shop, *usages, vapour=True)),
        cautions=("blade", "dust"),
    )
