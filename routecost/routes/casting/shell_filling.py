"""How a shell is filled: how deep a pour may be, how many it takes, and what that draws.

A pour is limited four ways: by the resin's own depth and mass, by what the head does to the largest flat
panel, and by the heat of the cure. Heat has two limits: the wall must not soften, the middle not scorch.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import ceil, inf

from routecost.core.wording import counted
from routecost.mesh.measuring.measures import Cavity
from routecost.routes.casting.pull_planning import Mix, mix_of
from routecost.routes.physics.heat import adiabatic_rise_k, pour_depth_for_rise
from routecost.routes.physics.plates import pour_depth_for_bulge
from routecost.routes.physics.pours import Pour, largest_mix_g, plan_pours, pour_waits_h
from routecost.routes.physics.shrink import top_up_mm3
from routecost.routes.process.operation import Operation, Reason, timed, used
from routecost.routes.steps.running import batch_usages, protection
from routecost.shop.facts import Factor
from routecost.shop.materials import CastingResin, Filament
from routecost.shop.shop import Shop
from routecost.shop.standards import CastingStandards, JudgingStandards

_NAMED = 6
"""Pours listed one by one."""


@dataclass(frozen=True)
class Filling:
    """One resin in one kind of shell; amounts of one shell."""

    resin: CastingResin
    pours: tuple[Pour, ...]
    top_up_g: float
    boards_cm2: float
    """Behind flat panels, both sides of the shell; 0 where the shell needs none."""
    reasons: tuple[Reason, ...]

    @property
    def resin_g(self) -> float:
        """Poured into one shell, what shrinkage takes in the end included."""
        return sum(pour.mass_g for pour in self.pours) + self.top_up_g

    @property
    def part_g(self) -> float:
        """What stays: shrinkage loses volume, not mass."""
        return self.resin_g


def plan_filling(
    cavity: Cavity, volume_mm3: float, resin: CastingResin, filament: Filament, s: CastingStandards
) -> Filling:
    """Pours for one shell whose cavity takes `volume_mm3` of resin: the cavity less the supports in it.

    Where the head bulges a panel too far even in the shallowest pour that makes sense, boards go behind it;
    where heat alone asks for less, the resin does not go with the filament.
    """
    by_bulge, by_heat = bulge_depth_mm(cavity, resin, filament, s), heat_depth_mm(cavity, resin, filament, s)
    least = s.shallowest_pour_mm
    reasons = [*_resin_reasons(cavity, resin, s)]
    boards_cm2 = 0.0
    if by_bulge < least:
        short, long = cavity.largest_panel_mm
        boards_cm2 = 2.0 * short * long / 100.0
        text = (
            f"{least:g} mm of {resin.id} bulge the {short:.0f} x {long:.0f} mm panel by more than "
            f"{s.bulge_limit_mm:g} mm: back it with boards"
        )
        reasons.append(Reason("changes", text))
        by_bulge = inf
    if by_heat < least:
        text = (
            f"even {least:g} mm of {resin.id} warm a shell of {filament.id} beyond "
            f"{filament.softens_degc - s.shell_warm_margin_k:g} °C, or scorch: {by_heat:.1f} mm would do"
        )
        reasons.append(Reason("ruled out", text))
        by_heat = least
    depth = min(resin.max_pour_depth_mm, by_bulge, by_heat)
    why = {resin.max_pour_depth_mm: "the resin", by_bulge: "bulge", by_heat: "heat"}[depth]
    mass = resin.max_pour_mass_g
    total_g = volume_mm3 / 1000.0 * resin.density_g_cm3
    count = cavity.height_mm / depth + total_g / mass
    if count > s.most_shell_pours:
        reasons.append(Reason("ruled out", f"{resin.id} would take some {count:.0f} pours"))
        depth, mass = depth * count / s.most_shell_pours, mass * count / s.most_shell_pours
    shrunk = volume_mm3 / cavity.volume_mm3 if cavity.volume_mm3 > 0.0 else 0.0
    sections = [area * shrunk for area in cavity.area_by_height_mm2] if total_g > 0.0 else []
    pours = plan_pours(sections, cavity.slice_mm, resin.density_g_cm3, depth, mass) if sections else ()
    # sections of slices add up to the cavity within their thickness: the volume is the better known
    laid = sum(pour.volume_mm3 for pour in pours)
    exact = volume_mm3 / laid if laid > 0.0 else 1.0
    pours = tuple(replace(p, volume_mm3=p.volume_mm3 * exact, mass_g=p.mass_g * exact) for p in pours)
    if len(pours) > 1:
        deepest = max(pour.depth_mm for pour in pours)
        heaviest = max(pour.mass_g for pour in pours)
        text = (
            f"{len(pours)} pours of up to {deepest:.0f} mm and {heaviest:.0f} g: {why} allows {depth:.0f} mm"
        )
        reasons.append(Reason("suits", text))
    top_up = top_up_mm3(volume_mm3, resin.linear_shrink_percent) / 1000.0 * resin.density_g_cm3
    return Filling(resin, pours, top_up if pours else 0.0, boards_cm2, tuple(reasons))


def _resin_reasons(cavity: Cavity, resin: CastingResin, s: CastingStandards) -> Iterator[Reason]:
    """Whether the resin can be mixed in its pot life, and warms enough to cure in the room it has."""
    try:
        largest_mix_g(resin.pot_life_min, s.stir_min, s.pour_g_per_min, s.usable_share)
    except ValueError as error:
        yield Reason("ruled out", f"{resin.id}: {error}")
    if 0.0 < cavity.thickest_mm < resin.cures_from_mm:
        text = (
            f"{cavity.thickest_mm:.1f} mm of {resin.id} stay soft, which warms enough to cure from "
            f"{resin.cures_from_mm:g} mm: cure in a warm box, or take a quicker resin"
        )
        yield Reason("changes", text)


def bulge_depth_mm(cavity: Cavity, resin: CastingResin, filament: Filament, s: CastingStandards) -> float:
    """Deepest pour whose head leaves the largest panel within the bulge limit; infinite without a panel."""
    short, long = cavity.largest_panel_mm
    if short <= 0.0:
        return inf
    return pour_depth_for_bulge(
        s.bulge_limit_mm, short, long, cavity.wall_mm, filament.modulus_gpa, resin.density_g_cm3
    )


def heat_depth_mm(cavity: Cavity, resin: CastingResin, filament: Filament, s: CastingStandards) -> float:
    """Deepest pour that neither softens the wall nor scorches in the middle.

    The wall of a slab that makes heat evenly is as warm above the room as the heat leaving through the air
    film makes it, so over the middle it has (1/2h) / (d/8k + 1/2h) of the rise; same slab as in `physics.heat`.
    """
    section = cavity.thickest_mm
    if section <= 0.0:
        return inf
    film, inside = 1.0 / (2.0 * s.air_film_w_m2k), section / 1000.0 / (8.0 * resin.conductivity_w_mk)
    wall_k = filament.softens_degc - s.shell_warm_margin_k - s.room_degc
    middle_k = s.peak_degc - s.room_degc
    limit_k = min(wall_k * (film + inside) / film, middle_k)
    if limit_k <= 0.0:
        return 0.0
    return pour_depth_for_rise(
        limit_k,
        adiabatic_rise_k(resin.reaction_heat_j_g, resin.heat_capacity_j_gk),
        resin.gel_h,
        section,
        resin.density_g_cm3,
        resin.heat_capacity_j_gk,
        resin.conductivity_w_mk,
        s.air_film_w_m2k,
    )


def filling_operations(
    shop: Shop, filling: Filling, copies: int, entries: int, *, seen: bool = False
) -> tuple[Operation, ...]:
    """Mix and pour in all shells side by side, top up for shrinkage and close, let it cure.

    `entries`: ports and vents of one shell. `seen`: light gets at the resin.
    """
    if not filling.pours:
        return ()
    resin, s = filling.resin, shop.the(CastingStandards)
    # quick resins see several pours before tools and bench are cleaned
    together = max(1, int(s.session_h / resin.gel_h))
    levels = "; ".join(f"{pour.depth_mm:.0f} mm, {pour.mass_g:.0f} g" for pour in filling.pours[:_NAMED])
    levels += "; and so on" if len(filling.pours) > _NAMED else ""
    n = len(filling.pours)
    pour = _pour(
        shop,
        resin,
        copies,
        "mix and pour",
        [p.mass_g for p in filling.pours],
        sessions=ceil(n / together),
        waiting_h=pour_waits_h(n, resin.gel_h) + resin.gel_h,
        note=f"from the bottom up in each shell: {levels}; {resin.gel_h:g} h to gel before the next",
    )
    close, ports = (", close ports", f"; {entries} ports and vents each") if entries else ("", "")
    top_up = _pour(
        shop,
        resin,
        copies,
        f"top up for shrinkage{close}",
        [filling.top_up_g],
        sessions=ceil((n + 1) / together) - ceil(n / together),
        waiting_h=0.0,
        note=f"{resin.linear_shrink_percent:g} % linear{ports}",
    )
    diffuses = resin.haze_percent > shop.the(JudgingStandards).diffusing_haze_percent
    cure = Operation(
        "let it cure",
        waiting_min=resin.cure_h * 60.0,
        cautions=("yellowing",) if seen and not diffuses else (),
        note=f"{resin.id}: {resin.cure_h:g} h",
    )
    return (pour, *((top_up,) if filling.top_up_g > 0.0 else ()), cure)


def mix_for_shells(resin: CastingResin, shop: Shop) -> Mix:
    """As for molds, but no cup heavier than what may stand in one place."""
    mix = mix_of(resin, False, shop)
    return replace(mix, most_g=min(mix.most_g, resin.max_pour_mass_g))


def _pour(
    shop: Shop,
    resin: CastingResin,
    copies: int,
    name: str,
    masses_g: Sequence[float],
    sessions: int,
    waiting_h: float,
    note: str,
) -> Operation:
    s, mix = shop.the(CastingStandards), mix_for_shells(resin, shop)
    number = sum(mix.batches(copies, g * (1.0 + s.mix_loss_share)) for g in masses_g)
    batches = Factor(number, counted(number, "batch", "batches"))
    grams = Factor(copies * sum(masses_g), f"{copies} x {sum(masses_g):.1f} g", resin.ref("density_g_cm3"))
    usages = [
        used(resin.id, grams),
        used(resin.id, grams, s.rate("mix_loss_share", "stays behind")),
        used(resin.id, batches, s.rate("cup_loss_g", "in the cup")),
        timed(batches, s.rate("mix_min", "to weigh and mix")),
        timed(batches, s.rate("pour_min", "to pour and chase bubbles")),
        timed((copies * len(masses_g), "fillings"), s.rate("next_mold_min", "from shell to shell")),
        timed((sessions, "sessions"), s.rate("clean_up_min", "to clean up")),
        *batch_usages(shop, number),
    ]
    hazard = "isocyanate" if resin.chemistry == "polyurethane" else "sensitiser"
    return Operation(
        f"{name}: {resin.id}",
        (*usages, *protection(shop, *usages, vapour=True)),
        waiting_min=waiting_h * 60.0,
        runs=len(masses_g),
        cautions=(hazard, "exotherm"),
        note=note,
        unbroken=True,
    )
