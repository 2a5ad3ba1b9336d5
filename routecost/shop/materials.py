"""Materials by class, with the properties that decide a process. Prices are in the price log."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from routecost.shop.facts import Thing
from routecost.shop.schema import column

DENSITY: dict[str, Any] = {"unit": "g/cm**3", "low": 0.3, "high": 9.0}


@dataclass(frozen=True, kw_only=True)
class Filament(Thing):
    """Feedstock of material extrusion."""

    density_g_cm3: float = column("density of the solid", **DENSITY)
    strength_mpa: float = column("tensile strength along the layers", unit="MPa", low=1, high=500)
    modulus_gpa: float = column("tensile modulus", unit="GPa", low=0.001, high=50)
    softens_degc: float = column("temperature at which it sags under load", unit="degC", low=20, high=300)
    transmits: str = column("what a printed wall does to light", choices=("opaque", "translucent"))
    light_path_mm: float = column(
        "solid print after which a third of the light is left (1/e)", unit="mm", low=0.05, high=200, power=0
    )
    wall_haze_percent: float = column("haze of a printed wall", unit="percent", low=0, high=100)
    sands_well: bool = column(
        "shows its scratches and sands without smearing: good for masters", default=False
    )
    max_flow_mm3_s: float = column("fastest extrusion the material stands", unit="mm**3/s", low=0.5, high=100)


@dataclass(frozen=True, kw_only=True)
class CastingResin(Thing):
    """Two-part resin that is mixed and poured."""

    chemistry: str = column("what cures", choices=("epoxy", "polyurethane"))
    density_g_cm3: float = column("density when cured", **DENSITY)
    haze_percent: float = column(
        "haze of a bubble-free casting with polished faces", unit="percent", low=0, high=100
    )
    strength_mpa: float = column("tensile strength when cured", unit="MPa", low=1, high=200)
    softens_degc: float = column("heat-deflection temperature when cured", unit="degC", low=20, high=300)
    pot_life_min: float = column("from mixing until it no longer flows", unit="minute", low=1, high=2000)
    gel_h: float = column("until the next pour may follow", unit="hour", low=0.05, high=72)
    demold_h: float = column("until it may leave the mold", unit="hour", low=0.1, high=240)
    cure_h: float = column("until it has its full strength", unit="hour", low=0.5, high=720)
    max_pour_depth_mm: float = column("deepest single pour", unit="mm", low=1, high=500)
    max_pour_mass_g: float = column("heaviest single pour", unit="g", low=10, high=100000)
    linear_shrink_percent: float = column("linear shrinkage on cure", unit="percent", low=0, high=5)
    reaction_heat_j_g: float = column("heat of reaction", unit="J/g", low=50, high=800)
    heat_capacity_j_gk: float = column("specific heat", unit="J/(g*delta_degC)", low=0.5, high=4)
    conductivity_w_mk: float = column("thermal conductivity", unit="W/(m*delta_degC)", low=0.05, high=2)
    needs_pressure: bool = column("clear only when cured under pressure", default=False)
    cures_from_mm: float = column(
        "thinnest section that gets warm enough to cure in its time",
        power=0,
        unit="mm",
        low=0,
        high=100,
        default=0.0,
    )


@dataclass(frozen=True, kw_only=True)
class Silicone(Thing):
    """Two-part mold silicone."""

    cure: str = column(
        "how it cures; addition cure is inhibited by sulfur, tin and many uncured resins",
        choices=("addition", "condensation"),
    )
    density_g_cm3: float = column("density", **DENSITY)
    pot_life_min: float = column("from mixing until it no longer flows", unit="minute", low=1, high=600)
    demold_h: float = column("until it may be taken off", unit="hour", low=0.2, high=72)
    linear_shrink_percent: float = column("linear shrinkage on cure", unit="percent", low=0, high=3)
    mold_life_pulls: float = column("pulls a mold gives before its surface fails", power=0, low=1, high=500)
    stretch_share: float = column(
        "trapped space it stretches over, as a share of the part's volume", power=0, low=0, high=0.5
    )
    see_through: bool = column(
        "the master is seen in it, so that a block can be cut open along it", default=False
    )
    rest_h: float = column(
        "rest of a new mold until polyurethane cures in it without foam or tack",
        power=0,
        unit="hour",
        low=0,
        high=240,
    )


@dataclass(frozen=True, kw_only=True)
class Coating(Thing):
    """A liquid that stays on the surface: filler primer, clear coat, sealing coat, barrier coat, UV coat."""

    purpose: str = column("what it is for", choices=("primer", "clear", "seal", "barrier", "uv"))
    spread_g_cm2: float = column("amount for one coat", unit="g/cm**2", low=0.0005, high=0.5)
    coats: float = column("coats for the purpose", low=1, high=10)
    dry_h: float = column("until the next coat or the next step", unit="hour", low=0.05, high=72)
    rq_um: float = column("roughness it leaves", unit="micrometer", low=0, high=20)
    levels_rq_um: float = column(
        "roughest sanded surface that disappears under it; 0: it follows the surface",
        unit="micrometer",
        low=0,
        high=20,
        default=0.0,
    )


@dataclass(frozen=True, kw_only=True)
class Abrasive(Thing):
    """A stage of the finishing ladder: paper by P-grade (ISO 6344) or a compound."""

    kind: str = column("paper or compound", choices=("paper", "compound"))
    grain_um: float = column("mean grain diameter", unit="micrometer", low=0.05, high=1000)
    rq_um: float = column("roughness (Rq) it leaves", unit="micrometer", low=0.001, high=100)
    life_cm2: float = column(
        "surface that one sheet, or one gram of compound, finishes", power=-1, unit="cm**2", low=1, high=5000
    )
    min_per_10cm2: float = column("hands-on time on an open flat surface", unit="minute", low=0.05, high=30)


MATERIAL_CLASSES: dict[str, type[Thing]] = {
    "filament": Filament,
    "casting-resin": CastingResin,
    "silicone": Silicone,
    "coating": Coating,
    "abrasive": Abrasive,
}
