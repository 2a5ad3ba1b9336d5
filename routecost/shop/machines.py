"""Machines and vessels. A machine's id is also the resource that is its purchase price."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from routecost.shop.facts import Thing
from routecost.shop.schema import column

LENGTH: dict[str, Any] = {"unit": "mm", "low": 1, "high": 5000}
SPEED: dict[str, Any] = {"unit": "mm/s", "low": 1, "high": 2000}


@dataclass(frozen=True, kw_only=True)
class Printer(Thing):
    """A material-extrusion printer as it is set up: nozzle, layer and speeds belong together."""

    width_mm: float = column("build volume, across", **LENGTH)
    depth_mm: float = column("build volume, front to back", **LENGTH)
    height_mm: float = column("build volume, up", **LENGTH)
    line_mm: float = column("width of one extruded line", unit="mm", low=0.1, high=3)
    layer_mm: float = column("layer height", unit="mm", low=0.02, high=2)
    wall_speed_mm_s: float = column("along walls", **SPEED)
    skin_speed_mm_s: float = column("across top and bottom skins", **SPEED)
    infill_speed_mm_s: float = column("across infill and supports", **SPEED)
    travel_speed_mm_s: float = column("without extruding", **SPEED)
    accel_mm_s2: float = column("acceleration", unit="mm/s**2", low=10, high=50000)
    flow_mm3_s: float = column("fastest the hot end melts", unit="mm**3/s", low=0.5, high=200)
    shortest_layer_s: float = column("a layer takes no less, so that it can cool", unit="s", low=0, high=120)
    layer_change_s: float = column("from one layer to the next", unit="s", low=0, high=60)
    warm_up_min: float = column("heating before and cooling after a print", unit="minute", low=0, high=120)
    power_w: float = column("mean power while printing", unit="W", low=1, high=5000)
    life_h: float = column("working hours over its life", power=-1, unit="hour", low=100, high=100000)
    resale_share: float = column("share of the price left at the end", power=0, low=0, high=0.95)
    failure_per_h: float = column("prints lost per printing hour", unit="1/hour", low=0, high=0.5)
    finest_tolerance_mm: float = column("tolerance it holds on a part of 100 mm", unit="mm", low=0.01, high=5)
    surface_rq_um: float = column("roughness (Rq) of its upright walls", unit="micrometer", low=0.5, high=100)


@dataclass(frozen=True, kw_only=True)
class Vessel(Thing):
    """A pressure pot or vacuum chamber."""

    purpose: str = column("what it does", choices=("pressure", "vacuum"))
    inner_diameter_mm: float = column("usable inner diameter", **LENGTH)
    inner_height_mm: float = column("usable inner height", **LENGTH)
    life_cycles: float = column("cycles over its life", power=-1, low=10, high=100000)
    cycle_min: float = column("hands-on minutes a cycle", unit="minute", low=0, high=60)
    energy_kwh: float = column("electricity a cycle", unit="kWh", low=0, high=20)


MACHINE_CLASSES: dict[str, type[Thing]] = {"printer": Printer, "vessel": Vessel}
