"""Casting the copies, planned: pulls, molds, rounds, pours, what is mixed at once, and objections."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, inf

from routecost.mesh.measuring.shape import Shape
from routecost.routes.casting.mold_making import cup_g, vacuum_chamber
from routecost.routes.casting.molds import OPEN, Mold
from routecost.routes.casting.pots import CLEAR, Pot, pot_for
from routecost.routes.casting.rounds import Rounds, rounds_until
from routecost.routes.physics.attempts import expected_starts
from routecost.routes.physics.heat import adiabatic_rise_k, exotherm_rise_k, pour_cooling_h
from routecost.routes.physics.pours import Pour, largest_mix_g, mix_batches, plan_pours, pour_waits_h
from routecost.routes.process.operation import Reason
from routecost.routes.process.part import Demands
from routecost.shop.machines import Vessel
from routecost.shop.materials import CastingResin, Silicone
from routecost.shop.shop import Shop
from routecost.shop.standards import CastingStandards, MoldingStandards


@dataclass(frozen=True)
class Mix:
    """What one person can do with one cup of a resin before it thickens."""

    pouring_min: float
    """Left of the pot life once it is stirred, and degassed."""
    g_per_min: float
    next_mold_min: float
    most_g: float
    """In one cup: what may stand in one place, and what a vacuum chamber degasses at once."""
    chamber: Vessel | None

    def batches(self, molds: int, mold_g: float) -> int:
        """Cups for one pour into so many molds: several molds from one cup, or several cups for one mold."""
        by_time = (self.pouring_min + self.next_mold_min) / (self.next_mold_min + mold_g / self.g_per_min)
        from_one_cup = int(min(by_time, self.most_g / mold_g) * (1.0 + 1e-12))
        if from_one_cup >= 1:
            return ceil(molds / from_one_cup)
        return molds * mix_batches(mold_g, min(self.pouring_min * self.g_per_min, self.most_g))


@dataclass(frozen=True)
class Casting:
    """All pulls for all copies of a part."""

    good: int
    yield_share: float
    clear: bool
    molds: int
    """Made in all; each lasts so many pulls."""
    at_once: int
    """Filled in one round."""
    rounds: Rounds
    pours: tuple[Pour, ...]
    """Of one pull."""
    part_g: float
    """In one pull: the part itself."""
    sprue_g: float
    """In one pull: sprue with funnel."""
    more_share: float
    """In one pull, over the part: vents and flash, or what is pressed out under film and plate."""
    cure_h: float
    """After a pour, on average over the pours of a pull: to gel before the next, to demold after the last."""
    rounds_a_session: int
    mix: Mix
    pot: Pot | None
    reasons: tuple[Reason, ...]

    @property
    def pulls(self) -> float:
        """Expected."""
        return self.rounds.total(lambda molds: molds)

    @property
    def pull_g(self) -> float:
        return self.part_g * (1.0 + self.more_share) + self.sprue_g

    @property
    def layers(self) -> int:
        """Pours on top of one another in one pull."""
        return len(self.pours)

    @property
    def sessions(self) -> float:
        """Expected: after each, tools and bench are cleaned."""
        return self.layers * self.rounds.total() / self.rounds_a_session

    @property
    def in_turn(self) -> float:
        """Expected cures one after the other: of a load in the pot, or of all molds on the bench."""
        return self.loads if self.pot else self.layers * self.rounds.total()

    @property
    def turns(self) -> int:
        """How often molds are filled and emptied, to the nearest: rounds, or loads of the pot."""
        return round(self.in_turn / self.layers)

    def _loads(self, molds: int) -> list[int]:
        """Molds in each load of the pot in a round; all in one where there is none."""
        per_load = self.pot.per_load if self.pot else molds
        full, rest = divmod(molds, per_load)
        return [per_load] * full + [rest] * (rest > 0)

    @property
    def loads(self) -> float:
        """Expected: every pour goes under pressure by itself."""
        return self.layers * self.rounds.total(lambda molds: len(self._loads(molds)))

    @property
    def batches(self) -> float:
        """Expected: each load is mixed for when it goes in."""
        each_g = self.pull_g / self.layers
        return self.layers * self.rounds.total(
            lambda molds: sum(self.mix.batches(load, each_g) for load in self._loads(molds))
        )


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
    """Pulls, molds, rounds and pours; with `at_once` molds side by side, renewed as they wear out.

    So more copies take more of everything, for any number of molds side by side.
    """
    s = shop.the(CastingStandards)
    clear = demands.clarity in CLEAR
    good_share = s.yield_clear if clear else s.yield_opaque
    together = min(at_once, copies)
    worn_out = ceil(expected_starts(copies, good_share) / silicone.mold_life_pulls - 1e-9)
    pours = _pours(shape, mold, resin, s)
    cure_h = (pour_waits_h(len(pours), resin.gel_h) + resin.demold_h) / len(pours)
    pot, reasons = pot_for(mold.box, resin, demands, shop)
    opened = mold.kind == OPEN
    part_g = shape.solid.volume_mm3 / 1000.0 * resin.density_g_cm3
    return Casting(
        good=copies,
        yield_share=good_share,
        clear=clear,
        molds=max(together, worn_out),
        at_once=together,
        rounds=rounds_until(copies, together, good_share),
        pours=pours,
        part_g=part_g,
        sprue_g=0.0 if opened else s.sprue_cm3 * resin.density_g_cm3,
        more_share=s.overfill_share if opened else s.sprue_share,
        cure_h=cure_h,
        rounds_a_session=max(1, int(s.session_h / cure_h)),
        mix=mix_of(resin, clear and pot is None, shop),
        pot=pot,
        reasons=(
            *reasons,
            *_pour_reasons(pours, resin, clear, s),
            *_heat_reasons(shape, pours, resin, s),
            *_wall_reasons(shape, resin, s),
            *_pot_life_reasons(resin, s),
            *_weight_reasons(mold, silicone, part_g, shop.the(MoldingStandards)),
        ),
    )


def _pours(shape: Shape, mold: Mold, resin: CastingResin, s: CastingStandards) -> tuple[Pour, ...]:
    """Of one pull. The depth is a limit of heat: a thin wall loses it sideways, however high it stands."""
    layers = shape.layers(mold.pose.up)
    depth_mm = inf if shape.walls.thickest_mm <= resin.max_pour_depth_mm else resin.max_pour_depth_mm
    mass_g = resin.max_pour_mass_g
    # what takes too many pours is ruled out, and still gets a cost
    pours = mold.pose.height_mm / depth_mm + shape.solid.volume_mm3 / 1000.0 * resin.density_g_cm3 / mass_g
    eased = max(1.0, pours / s.most_pours)
    return plan_pours(layers.area_mm2, layers.layer_mm, resin.density_g_cm3, eased * depth_mm, eased * mass_g)


def mix_of(resin: CastingResin, degassed: bool, shop: Shop) -> Mix:
    """How a resin is mixed here. Clear resin that does not go under pressure is degassed, if it leaves the time.

    The pot life starts when both sides meet, so weighing is not lost of it.
    """
    s, m = shop.the(CastingStandards), shop.the(MoldingStandards)
    usable_min = s.usable_share * resin.pot_life_min
    chamber = vacuum_chamber(shop) if degassed else None
    if chamber and usable_min < 2.0 * (s.stir_min + s.degas_min + chamber.cycle_min):
        chamber = None  # half of the usable time would be gone
    gone_min = s.stir_min + (s.degas_min + chamber.cycle_min if chamber else 0.0)
    # a resin that thickens while it is stirred is refused below, and still gets a cost
    gone_min = min(gone_min, 0.9 * usable_min)
    pouring_min = (
        largest_mix_g(resin.pot_life_min, gone_min, s.pour_g_per_min, s.usable_share) / s.pour_g_per_min
    )
    # a cup is a deep pour too: heavier, it runs away
    most_g = min(resin.max_pour_mass_g, cup_g(chamber, resin.density_g_cm3, m) if chamber else inf)
    return Mix(pouring_min, s.pour_g_per_min, s.next_mold_min, most_g, chamber)


def _pour_reasons(
    pours: tuple[Pour, ...], resin: CastingResin, clear: bool, s: CastingStandards
) -> tuple[Reason, ...]:
    if len(pours) <= 1:
        return ()
    limits = f"{resin.max_pour_depth_mm:g} mm and {resin.max_pour_mass_g:g} g a pour"
    if max(pour.mass_g for pour in pours) > 1.001 * resin.max_pour_mass_g:
        text = f"it would take more than {s.most_pours} pours of {resin.id} ({limits})"
        return (Reason("ruled out", text),)
    if clear:
        text = f"{len(pours)} pours of {resin.id} ({limits}); each leaves a faint line in a clear part"
        return (Reason("changes", text),)
    return (Reason("suits", f"{len(pours)} pours of {resin.id} ({limits})"),)


def _heat_reasons(
    shape: Shape, pours: tuple[Pour, ...], resin: CastingResin, s: CastingStandards
) -> tuple[Reason, ...]:
    """Estimated peak in the thickest section, against what the resin tolerates without cracking."""
    deepest = max((pour.depth_mm for pour in pours), default=0.0)
    if deepest <= 0.0:
        return ()
    cooling_h = pour_cooling_h(
        max(shape.walls.thickest_mm, 0.1),
        deepest,
        resin.density_g_cm3,
        resin.heat_capacity_j_gk,
        resin.conductivity_w_mk,
        s.air_film_w_m2k,
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


def _wall_reasons(shape: Shape, resin: CastingResin, s: CastingStandards) -> tuple[Reason, ...]:
    thin, typical, found = shape.walls.thinnest_mm, shape.walls.typical_mm, []
    if thin < s.flow_wall_mm:
        mend = f"resin fills {s.flow_wall_mm:g} mm: thicken to {s.flow_wall_mm:g} mm"
        found.append(Reason("changes", f"thinnest wall {thin:.2f} mm; {mend}"))
    if typical < resin.cures_from_mm:
        text = (
            f"walls of {typical:.1f} mm stay soft in {resin.id}, which warms enough to cure from "
            f"{resin.cures_from_mm:g} mm: cure them in a warm box, or take a quicker resin"
        )
        found.append(Reason("changes", text))
    return tuple(found)


def _pot_life_reasons(resin: CastingResin, s: CastingStandards) -> tuple[Reason, ...]:
    usable_min = s.usable_share * resin.pot_life_min
    if usable_min > s.stir_min:
        return ()
    text = f"{resin.id} pours well for {usable_min:.1f} min; stirring alone takes {s.stir_min:g} min by hand"
    return (Reason("ruled out", text),)


def _weight_reasons(mold: Mold, silicone: Silicone, part_g: float, m: MoldingStandards) -> tuple[Reason, ...]:
    """What hands have to lift and turn."""
    kg = (mold.silicone_mm3 / 1000.0 * silicone.density_g_cm3 + part_g) / 1000.0
    if kg <= m.liftable_kg:
        return ()
    text = (
        f"a filled mold weighs {kg:.0f} kg; one person turns {m.liftable_kg:g} kg: work with a second person"
    )
    return (Reason("changes", text),)
