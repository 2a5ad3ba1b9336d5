"""Casting the copies, step by step: prepare, mix and pour, cure, demold, trim. All rounds together."""

from __future__ import annotations

from routecost.routes.casting.mold_steps import hands_on_min
from routecost.routes.casting.molds import OPEN, Mold
from routecost.routes.casting.pull_planning import Casting
from routecost.routes.physics.attempts import attempts_to_be_sure
from routecost.routes.process.operation import Operation, Usage, own_time
from routecost.routes.steps.running import batch_usages, protection, vessel_usages
from routecost.shop.materials import Abrasive, CastingResin
from routecost.shop.shop import Shop
from routecost.shop.standards import CastingStandards, PrintingStandards

_CYCLE = "pull"
"""Each mold is released, filled and emptied before it is filled again: what its steps are repeated as."""
_DRESSING_GRAIN_UM = 46.2
"""Flash of a casting is dressed with about P320 (ISO 6344): finer takes long, coarser shows; common practice,
no source."""


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


def _pulls_words(c: Casting) -> str:
    return f"{c.pulls:.3g} pulls for {c.good} good at {c.yield_share:.0%}"


def _prepare(c: Casting, mold: Mold, shop: Shop, s: CastingStandards) -> Operation:
    n, rests = _pulls_words(c), _yield_ref(c, s)
    minutes, cm2 = c.pulls * s.prepare_pull_min, mold.part_mm2 / 100.0
    usages = [
        own_time(minutes, f"{n} x {s.prepare_pull_min:g} min", (*s.ref("prepare_pull_min"), *rests)),
        Usage(
            "release-agent",
            c.pulls * cm2 * s.release_g_per_cm2,
            f"{n} x {cm2:.0f} cm² x {s.release_g_per_cm2:g} g/cm²",
            (*s.ref("release_g_per_cm2"), *rests),
        ),
        *protection(shop, minutes, vapour=True),
    ]
    if mold.kind != OPEN:
        usages.append(Usage("tape", c.pulls * 2.0 * mold.girth_cm, f"{n} x twice round the mold", rests))
    name = "clean and release the mold" if mold.kind == OPEN else "clean, release, close and strap the mold"
    return Operation(name, tuple(usages), runs=c.turns, cautions=("solvent",), cycle=_CYCLE)


def _pour(
    c: Casting, mold: Mold, resin: CastingResin, shop: Shop, s: CastingStandards, pigment: bool, faced: bool
) -> Operation:
    rests, n = _yield_ref(c, s), _pulls_words(c)
    rounds = c.rounds.total()
    resin_g, density = c.pulls * c.pull_g, resin.ref("density_g_cm3")
    mixed_g = resin_g * (1.0 + s.mix_loss_share)
    b = f"{c.batches:.3g} batches"
    usages = [
        *_resin(c, mold, resin, s),
        own_time(
            c.batches * s.mix_min, f"{b} x {s.mix_min:g} min to weigh and mix", (*s.ref("mix_min"), *rests)
        ),
        own_time(
            c.batches * s.pour_min,
            f"{b} x {s.pour_min:g} min to pour and chase bubbles",
            (*s.ref("pour_min"), *rests),
        ),
        own_time(
            c.pulls * c.layers * s.next_mold_min,
            f"{c.pulls * c.layers:.3g} fillings x {s.next_mold_min:g} min from mold to mold",
            (*s.ref("next_mold_min"), *rests),
        ),
        own_time(
            c.sessions * s.clean_up_min,
            f"{c.sessions:.3g} sessions x {s.clean_up_min:g} min to clean up",
            (*s.ref("clean_up_min"), *rests),
        ),
        *batch_usages(shop, c.batches),
    ]
    if pigment:
        usages.append(
            Usage(
                "pigment",
                mixed_g * s.pigment_share,
                f"{s.pigment_share:.1%} of {mixed_g:.0f} g of resin",
                (*density, *s.ref("pigment_share"), *rests),
            )
        )
    if mold.kind == OPEN:
        usages += _free_face(c, mold, s, faced)
    if chamber := c.mix.chamber:
        usages += [
            own_time(
                c.batches * s.degas_min,
                f"{b} x {s.degas_min:g} min under vacuum",
                (*s.ref("degas_min"), *rests),
            ),
            own_time(
                c.batches * chamber.cycle_min,
                f"{b} x {chamber.cycle_min:g} min to close and vent {chamber.id}",
                (*chamber.ref("cycle_min"), *rests),
            ),
            *vessel_usages(chamber, c.batches, "one for each batch"),
        ]
    if c.pot:
        pot = c.pot.vessel
        usages += [
            own_time(
                c.loads * pot.cycle_min,
                f"{c.loads:.3g} pot loads of up to {c.pot.per_load} molds x {pot.cycle_min:g} min",
                (*pot.ref("cycle_min"), *rests),
            ),
            *vessel_usages(pot, c.loads, "one for each load"),
        ]
    sure = attempts_to_be_sure(c.good, c.yield_share)
    return Operation(
        "mix"
        + (", degas" if c.mix.chamber else "")
        + " and pour resin"
        + (", cure under pressure" if c.pot else ""),
        (*usages, *protection(shop, hands_on_min(usages), vapour=True)),
        machine=c.pot.vessel.id if c.pot else "mold",
        machine_min=c.in_turn * c.cure_h * 60.0,
        waiting_min=max(0.0, resin.cure_h - resin.demold_h) * 60.0,
        runs=c.layers * c.turns,
        cautions=_cautions(c, resin),
        note=f"{n}, {c.at_once} side by side in {rounds:.3g} rounds, {c.molds} mold{'s' * (c.molds > 1)} in all; "
        f"{c.layers} pour{'s' * (c.layers > 1)} a pull; demold after {resin.demold_h:g} h, full strength after "
        f"{resin.cure_h:g} h; have resin for {sure} pulls to be 90 % sure",
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
    n, rests = _pulls_words(c), (*resin.ref("density_g_cm3"), *_yield_ref(c, s))
    pulled_g = c.pulls * c.pull_g
    what, share = ("pressed out under the plate", "overfill_share") if mold.kind == OPEN else (
        "in vents and flash", "sprue_share")  # fmt: skip
    laid = (
        (c.pulls * c.part_g, f"{n} x {c.part_g:.1f} g", rests),
        (c.pulls * c.part_g * c.more_share, f"{c.more_share:.0%} of it {what}", (*rests, *s.ref(share))),
        (
            c.pulls * c.sprue_g,
            f"{n} x {s.sprue_cm3:g} cm³ in sprue and funnel",
            (*rests, *s.ref("sprue_cm3")),
        ),
        (
            pulled_g * s.mix_loss_share,
            f"{s.mix_loss_share:.0%} of {pulled_g:.0f} g stays behind",
            (*rests, *s.ref("mix_loss_share")),
        ),
        (
            c.batches * s.cup_loss_g,
            f"{c.batches:.3g} batches x {s.cup_loss_g:g} g in the cup",
            (*s.ref("cup_loss_g"), *_yield_ref(c, s)),
        ),
    )
    return tuple(Usage(resin.id, grams, why, facts) for grams, why, facts in laid if grams > 0.0)


def _free_face(c: Casting, mold: Mold, s: CastingStandards, faced: bool) -> tuple[Usage, ...]:
    """Under film and plate the free face cures flat and shining; else it is scraped level."""
    n, rests = _pulls_words(c), _yield_ref(c, s)
    if not faced:
        why = f"{n} x {s.level_min:g} min to scrape the free face level"
        return (own_time(c.pulls * s.level_min, why, (*s.ref("level_min"), *rests)),)
    a, b = (side + 2.0 * s.film_margin_mm for side in mold.pose.footprint_mm)
    return (
        own_time(
            c.pulls * s.film_min, f"{n} x {s.film_min:g} min for film and plate", (*s.ref("film_min"), *rests)
        ),
        Usage("polyester-film", c.pulls * a * b / 100.0, f"{n} x a sheet of {a:.0f} x {b:.0f} mm", rests),
    )


def _demold(c: Casting, shop: Shop, s: CastingStandards) -> Operation:
    minutes = c.pulls * s.demold_min
    return Operation(
        "demold",
        (
            own_time(
                minutes,
                f"{_pulls_words(c)} x {s.demold_min:g} min",
                (*s.ref("demold_min"), *_yield_ref(c, s)),
            ),
            *protection(shop, minutes),
        ),
        runs=c.turns,
        cycle=_CYCLE,
    )


def dressing_paper(shop: Shop) -> Abrasive | None:
    """The paper that flash is dressed with; None where the tables have none."""
    papers = [a for a in shop.all(Abrasive) if a.kind == "paper"]
    return min(papers, key=lambda a: abs(a.grain_um - _DRESSING_GRAIN_UM), default=None)


def _trim(c: Casting, mold: Mold, shop: Shop, s: CastingStandards) -> Operation:
    """Flash along the parting line, sprue and vents; an open casting has only its rim."""
    where = "rim" if mold.kind == OPEN else "parting line"
    flash = f"{c.good} x {mold.flash_cm:.0f} cm of {where}"
    usages = [
        own_time(
            c.good * mold.flash_cm * s.trim_min_per_cm,
            f"{flash} x {s.trim_min_per_cm:g} min/cm",
            s.ref("trim_min_per_cm"),
        )
    ]
    if mold.openings:
        usages.append(
            own_time(
                c.good * mold.openings * s.sprue_min,
                f"{c.good} x {mold.openings} sprue and vents x {s.sprue_min:g} min",
                s.ref("sprue_min"),
            )
        )
    minutes, p = hands_on_min(usages), shop.the(PrintingStandards)
    usages.append(
        Usage(
            "blade",
            minutes / p.blade_life_min,
            f"{minutes:.0f} min at {p.blade_life_min:g} min a blade",
            p.ref("blade_life_min"),
        )
    )
    if paper := dressing_paper(shop):
        cm2 = c.good * mold.flash_cm * s.trim_strip_mm / 10.0
        usages.append(
            Usage(
                paper.id,
                cm2 / paper.life_cm2,
                f"a strip of {s.trim_strip_mm:g} mm along {flash}, {paper.life_cm2:g} cm² a sheet",
                (*s.ref("trim_strip_mm"), *paper.ref("life_cm2")),
            )
        )
    return Operation(
        f"trim flash, sprue and vents, dress the {where}" if mold.openings else "trim and dress the rim",
        (*usages, *protection(shop, minutes, vapour=True)),
        cautions=("blade", "dust"),
    )
