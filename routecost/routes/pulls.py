"""Casting the copies: rounds of pulls, one in each mold at a time, until enough are good."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from routecost.parts.shape import Shape
from routecost.routes.molds import Mold
from routecost.routes.operation import Draw, Operation, Reason, own_time
from routecost.routes.part import Demands
from routecost.routes.physics.attempts import expected_starts
from routecost.routes.physics.boxes import fits_pot
from routecost.routes.physics.heat import adiabatic_rise_k, exotherm_rise_k, pour_cooling_h
from routecost.routes.physics.pours import Pour, largest_mix_g, mix_batches, plan_pours
from routecost.routes.running import batch_draws, protection, vessel_draws
from routecost.shop.machines import Vessel
from routecost.shop.materials import CastingResin, Silicone
from routecost.shop.shop import Shop
from routecost.shop.standards import CastingStandards

CLEAR = ("clear", "optical")


@dataclass(frozen=True)
class Casting:
    """All pulls for all copies of a part."""

    good: int
    yield_share: float
    pulls: float
    """Expected, pro rata."""
    molds: int
    pours: tuple[Pour, ...]
    """Of one pull."""
    resin_g: float
    """In one pull, sprue included, mixing loss not."""
    pot: Vessel | None
    """Where the molds cure under pressure."""
    per_load: int
    """Molds that go into the pot together."""
    reasons: tuple[Reason, ...]

    @property
    def rounds(self) -> float:
        return self.pulls / self.molds


def casting_of(
    shape: Shape,
    copies: int,
    demands: Demands,
    mold: Mold,
    silicone: Silicone,
    resin: CastingResin,
    shop: Shop,
    at_once: int,
) -> Casting:
    """How many pulls, molds and pours; `at_once` molds are made even where fewer would last."""
    s = shop.the(CastingStandards)
    clear = demands.clarity in CLEAR
    good_share = s.yield_clear if clear else s.yield_opaque
    pulls = expected_starts(copies, good_share)
    molds = max(at_once, ceil(pulls / silicone.mold_life_pulls - 1e-9))
    layers = shape.layers(mold.pose.up)
    pours = plan_pours(
        layers.area_mm2, layers.layer_mm, resin.density_g_cm3, resin.max_pour_depth_mm, resin.max_pour_mass_g
    )
    sprue = 0.0 if mold.kind == "open block" else s.sprue_share
    resin_g = shape.solid.volume_mm3 / 1000.0 * resin.density_g_cm3 * (1.0 + sprue)
    pot, per_load, reasons = _pot(mold, resin, clear, shop)
    reasons += (*_pour_reasons(pours, resin, clear), *_heat_reasons(shape, pours, resin, s))
    thin = shape.walls.thinnest_mm
    if thin < s.flow_wall_mm:
        text = f"thinnest wall {thin:.2f} mm; resin fills {s.flow_wall_mm:g} mm: thicken to {s.flow_wall_mm:g} mm"
        reasons += (Reason("changes", text),)
    heavy_kg = mold.filled_g(silicone, resin_g) / 1000.0
    if heavy_kg > (limit := _liftable(shop)):
        text = f"a filled mold weighs {heavy_kg:.0f} kg; one person turns {limit:g} kg: work with a second person"
        reasons += (Reason("changes", text),)
    return Casting(copies, good_share, pulls, molds, pours, resin_g, pot, per_load, reasons)


def _liftable(shop: Shop) -> float:
    from routecost.shop.standards import MoldingStandards

    return shop.the(MoldingStandards).liftable_kg


def _pot(
    mold: Mold, resin: CastingResin, clear: bool, shop: Shop
) -> tuple[Vessel | None, int, tuple[Reason, ...]]:
    """A clear casting of a resin that traps bubbles cures under pressure: its mold has to go into a pot."""
    if not (clear and resin.needs_pressure):
        return None, 1, ()
    box = (mold.box.width_mm, mold.box.depth_mm, mold.box.height_mm)
    size = " x ".join(f"{side:.0f}" for side in box) + " mm"
    pots = [v for v in shop.all(Vessel) if v.purpose == "pressure"]
    fitting = [v for v in pots if fits_pot(*box, v.inner_diameter_mm, v.inner_height_mm)]
    if not fitting:
        names = ", ".join(
            f"{v.id} ({v.inner_diameter_mm:g} mm wide, {v.inner_height_mm:g} mm high)" for v in pots
        )
        text = (
            f"{resin.id} is clear only under pressure; a mold of {size} does not go into {names or 'any pot'}"
        )
        return None, 1, (Reason("ruled out", text),)
    fitting.sort(key=lambda v: v.id not in shop.owned)
    pot = fitting[0]
    stacked = max(1, int(pot.inner_height_mm // mold.box.height_mm))
    if pot.id in shop.owned:
        return pot, stacked, (Reason("suits", f"a mold of {size} goes into {pot.id}"),)
    return pot, stacked, (Reason("changes", f"needs a {pot.id}, which is not in the shop"),)


def _pour_reasons(pours: tuple[Pour, ...], resin: CastingResin, clear: bool) -> tuple[Reason, ...]:
    if len(pours) <= 1:
        return ()
    limits = f"{resin.max_pour_depth_mm:g} mm and {resin.max_pour_mass_g:g} g a pour"
    if clear:
        text = f"{len(pours)} pours of {resin.id} ({limits}); each leaves a faint line in a clear part"
        return (Reason("changes", text),)
    return (Reason("suits", f"{len(pours)} pours of {resin.id} ({limits})"),)


def _heat_reasons(
    shape: Shape, pours: tuple[Pour, ...], resin: CastingResin, s: CastingStandards
) -> tuple[Reason, ...]:
    """Estimated peak in the thickest section, against what the resin stands without cracking."""
    deepest = max((pour.depth_mm for pour in pours), default=0.0)
    if deepest <= 0.0:
        return ()
    cooling_h = pour_cooling_h(
        max(shape.walls.thickest_mm, 0.1),
        deepest,
        resin.density_g_cm3,
        resin.heat_capacity_j_gk,
        resin.conductivity_w_mk,
    )
    adiabatic = adiabatic_rise_k(resin.reaction_heat_j_g, resin.heat_capacity_j_gk)
    peak = s.room_degc + exotherm_rise_k(adiabatic, resin.gel_h, cooling_h)
    if peak <= s.peak_degc:
        return ()
    text = (
        f"a section of {shape.walls.thickest_mm:.0f} mm in {resin.id} heats to about {peak:.0f} °C "
        f"(limit {s.peak_degc:g} °C): chill the molds, pour shallower, or take a slower resin"
    )
    return (Reason("changes", text),)


def pull_operations(
    casting: Casting, mold: Mold, resin: CastingResin, shop: Shop, *, pigment: bool
) -> tuple[Operation, ...]:
    """Prepare, mix, pour, cure, demold, trim: all rounds together."""
    s = shop.the(CastingStandards)
    c = casting
    n = f"{c.pulls:.3g} pulls ({c.good} good at a yield of {c.yield_share:g})"
    yields = s.ref("yield_clear") if c.yield_share == s.yield_clear else s.ref("yield_opaque")
    return (
        _prepare(c, mold, shop, s, n, yields),
        _pour(c, mold, resin, shop, s, n, yields, pigment),
        _demold(c, shop, s, n, yields),
        *_trim(c, mold, shop, s, n, yields),
    )


def _prepare(
    c: Casting, mold: Mold, shop: Shop, s: CastingStandards, n: str, yields: tuple[str, ...]
) -> Operation:
    minutes = c.pulls * s.prepare_pull_min
    draws = [
        own_time(minutes, f"{n} x {s.prepare_pull_min:g} min", s.ref("prepare_pull_min") + yields),
        Draw(
            "release-agent",
            c.pulls * mold.surface_mm2 / 100.0 * RELEASE_G_PER_CM2,
            f"{n} x {mold.surface_mm2 / 100:.0f} cm² x {RELEASE_G_PER_CM2:g} g/cm²",
            yields,
        ),
        *protection(shop, minutes, vapour=True),
    ]
    if mold.kind != "open block":
        tape_cm = 2.0 * 2.0 * (mold.box.width_mm + mold.box.depth_mm) / 10.0
        draws.append(Draw("tape", c.pulls * tape_cm, f"{n} x twice round the mold", yields))
    return Operation("clean, release and close the molds", tuple(draws), cautions=("solvent",))


RELEASE_G_PER_CM2 = 0.0015
"""A light mist before each pull, half of what a first coat takes: common practice, no source."""


def _pour(
    c: Casting,
    mold: Mold,
    resin: CastingResin,
    shop: Shop,
    s: CastingStandards,
    n: str,
    yields: tuple[str, ...],
    pigment: bool,
) -> Operation:
    layers = len(c.pours)
    round_g = c.resin_g / layers * c.molds
    largest = largest_mix_g(resin.pot_life_min, min(s.mix_min, 0.5 * resin.pot_life_min), s.pour_g_per_min)
    batches = c.rounds * layers * mix_batches(round_g, largest)
    film = mold.kind == "open block"
    loads = c.rounds * layers * ceil(c.molds / c.per_load) if c.pot else 0.0
    mix_pour = batches * (s.mix_min + s.pour_min)
    clean = c.rounds * s.clean_up_min
    resin_g = c.pulls * c.resin_g * (1.0 + s.mix_loss_share)
    draws = [
        own_time(
            mix_pour,
            f"{batches:.3g} batches of at most {largest:.0f} g x ({s.mix_min:g} mix + {s.pour_min:g} pour) min",
            s.ref("mix_min", "pour_min") + yields,
        ),
        own_time(clean, f"{c.rounds:.3g} rounds x {s.clean_up_min:g} min to clean up", s.ref("clean_up_min")),
        Draw(
            resin.id,
            resin_g,
            f"{n} x {c.resin_g:.0f} g with sprue, + {s.mix_loss_share:.0%} mixing loss",
            s.ref("sprue_share", "mix_loss_share") + yields,
        ),
        *batch_draws(shop, batches),
        *protection(shop, mix_pour + clean, vapour=True),
    ]
    if pigment:
        # 1 % by mass covers: common practice, no source
        draws.append(Draw("pigment", 0.01 * resin_g, f"1 % of {resin_g:.0f} g of resin"))
    if film:
        area = mold.pose.flat_opening_area_mm2 / 100.0
        draws += [
            own_time(c.pulls * s.film_min, f"{n} x {s.film_min:g} min for film and plate", s.ref("film_min")),
            Draw("polyester-film", c.pulls * area * 1.3, f"{n} x {area:.0f} cm² x 1.3 overlap", yields),
        ]
    if c.pot:
        draws += [
            own_time(loads * c.pot.cycle_min, f"{loads:.3g} pot loads x {c.pot.cycle_min:g} min",
                     c.pot.ref("cycle_min")),
            *vessel_draws(c.pot, loads, "one for each load"),
        ]  # fmt: skip
    cure_h = (layers - 1) * resin.gel_h + resin.demold_h
    hazards = ("isocyanate",) if resin.chemistry == "polyurethane" else ("sensitiser",)
    return Operation(
        "mix and pour resin" + (", cure under pressure" if c.pot else ""),
        tuple(draws),
        machine=c.pot.id if c.pot else "mold",
        machine_min=c.rounds * cure_h * 60.0 * (ceil(c.molds / c.per_load) if c.pot else 1),
        waiting_min=max(0.0, resin.cure_h - resin.demold_h) * 60.0,
        cautions=(*hazards, "exotherm", *(("pressure",) if c.pot else ())),
        note=f"{layers} pour{'s' if layers > 1 else ''} a pull; demold after {cure_h:g} h, full strength after "
        f"{resin.cure_h:g} h; {c.molds} mold{'s' if c.molds > 1 else ''}, {c.rounds:.3g} rounds",
    )


def _demold(c: Casting, shop: Shop, s: CastingStandards, n: str, yields: tuple[str, ...]) -> Operation:
    minutes = c.pulls * s.demold_min
    return Operation(
        "demold",
        (
            own_time(minutes, f"{n} x {s.demold_min:g} min", s.ref("demold_min") + yields),
            *protection(shop, minutes),
        ),
        cautions=("blade",),
    )


def _trim(
    c: Casting, mold: Mold, shop: Shop, s: CastingStandards, n: str, yields: tuple[str, ...]
) -> tuple[Operation, ...]:
    """Flash along the parting line, sprue and vents; an open casting has only its rim."""
    a, b = mold.pose.footprint_mm
    line_cm = mold.parting_cm or 2.0 * (a + b) / 10.0
    minutes = c.good * (line_cm * s.trim_min_per_cm + mold.openings * s.sprue_min)
    where = "parting line" if mold.parting_cm else "rim"
    return (
        Operation(
            "trim flash, sprue and vents" if mold.openings else "trim the rim",
            (
                own_time(
                    minutes,
                    f"{c.good} copies x ({line_cm:.0f} cm of {where} x {s.trim_min_per_cm:g} min/cm + "
                    f"{mold.openings} sprue and vents x {s.sprue_min:g} min)",
                    s.ref("trim_min_per_cm", "sprue_min"),
                ),
                Draw("blade", c.good / 5.0, "one for five copies"),
                Draw("paper-p320", c.good * line_cm / 150.0, "a quarter sheet dresses about 150 cm"),
                *protection(shop, minutes, vapour=True),
            ),
            cautions=("blade", "dust"),
        ),
    )
