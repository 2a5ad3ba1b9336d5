"""Shapes and shops with stated numbers, so that a plan can be worked out by hand beside its test."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import cache

from routecost.core.arrays import Vector
from routecost.core.errors import Fault
from routecost.costing.estimate import price_plans
from routecost.costing.tariff import Tariff
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.measuring.measures import Fit, Layers, Pose, Reach, Solid, Walls
from routecost.mesh.measuring.shape import Shape
from routecost.routes.process.operation import OWN_HOUR, ProcessPlan
from routecost.shop.facts import Thing
from routecost.shop.materials import Abrasive, Coating
from routecost.shop.shop import Shop, Tables, read_tables
from routecost.shop.standards import FinishingStandards, SafetyStandards

DAY = dt.date(2026, 2, 1)


@cache
def shipped_tables() -> Tables:
    faults: list[Fault] = []
    tables = read_tables(None, faults)
    assert not faults
    return tables


@cache
def shipped_shop() -> Shop:
    return shipped_tables().shop(DAY, [])


def shop_with(shop: Shop, *things: Thing) -> Shop:
    """The shop with these things in place of all others of their classes."""
    by_class: dict[type[Thing], tuple[Thing, ...]] = {}
    for thing in things:
        by_class[type(thing)] = (*by_class.get(type(thing), ()), thing)
    return replace(shop, things={**shop.things, **by_class})


def shipped_tariff(own_rate: float = 12.0) -> Tariff:
    tables = shipped_tables()
    return Tariff(tables.price_list(DAY, "EUR", []), tables.resource_map, own_rate)


def costs(plans: Iterable[ProcessPlan], tariff: Tariff) -> list[float]:
    return [float(x) for x in price_plans(tuple(plans), tariff, 4.0).full]


def drawn(plans: ProcessPlan | Iterable[ProcessPlan]) -> dict[str, float]:
    """All draws by resource."""
    found: dict[str, float] = {}
    for plan in [plans] if isinstance(plans, ProcessPlan) else plans:
        for operation in plan.operations:
            for draw in operation.usages:
                found[draw.resource] = found.get(draw.resource, 0.0) + draw.quantity
    return found


def assert_declared(plans: Iterable[ProcessPlan], shop: Shop) -> None:
    """Every resource, fact and caution that a plan names stands in the tables; amounts are not negative."""
    for plan in plans:
        for operation in plan.operations:
            assert set(operation.cautions) <= set(shop.cautions)
            for draw in (*operation.usages, *((operation.floor,) if operation.floor else ())):
                assert draw.resource == OWN_HOUR or draw.resource in shop.resources, draw.resource
                assert set(draw.facts) <= set(shop.facts), draw.facts
                assert draw.quantity >= 0.0
                assert draw.why


def _paper(grade: str, grain_um: float, minutes: float) -> Abrasive:
    # 0.02 x grain: as in the ladder
    return Abrasive(
        id=f"paper-{grade}",
        kind="paper",
        grain_um=grain_um,
        rq_um=0.02 * grain_um,
        life_cm2=300.0,
        min_per_10cm2=minutes,
    )


@cache
def finishing_shop() -> Shop:
    """Round numbers for plans by hand; ids that the shipped tables know."""
    return shop_with(
        shipped_shop(),
        _paper("p120", 125.0, 2.0),
        _paper("p220", 68.0, 2.0),
        _paper("p320", 46.2, 1.5),
        _paper("p400", 35.0, 1.5),
        _paper("p600", 25.8, 1.2),
        _paper("p1000", 18.3, 1.2),
        _paper("p2000", 10.3, 1.2),
        Abrasive(
            id="compound-cutting", kind="compound", grain_um=3.0, rq_um=0.08, life_cm2=60.0, min_per_10cm2=1.5
        ),
        Abrasive(
            id="compound-fine", kind="compound", grain_um=0.8, rq_um=0.018, life_cm2=80.0, min_per_10cm2=1.2
        ),
        Coating(id="filler-primer", purpose="primer", spread_g_cm2=0.02, coats=2, dry_h=1.5, rq_um=6.0),
        Coating(
            id="clear-coat",
            purpose="clear",
            spread_g_cm2=0.012,
            coats=2,
            dry_h=4.0,
            rq_um=0.025,
            levels_rq_um=0.75,
        ),
        FinishingStandards(
            id="finishing",
            set_up_stage_min=4.0,
            finger_factor=2.5,
            grain_factor=2.0,
            ridge_share=0.15,
            compound_span=4.5,
            first_stage_factor=2.0,
            unreached_share=0.02,
            wipes_per_100cm2=0.5,
            degrease_g_per_cm2=0.03,
            smooth_rq_um=1.5,
            polished_rq_um=0.05,
            primer_above_rq_um=10.0,
            support_mark_min_per_cm2=1.0,
            clear_coat_min_per_cm2=0.06,
            set_up_coat_min=10.0,
        ),
        SafetyStandards(
            id="safety",
            gloves_pairs_per_h=2.0,
            cartridge_h=30.0,
            solvent_g_per_batch=15.0,
            waste_g_per_batch=20.0,
        ),
    )


UP: Vector = (0.0, 0.0, 1.0)


def stated_pose(height_mm: float, footprint_mm: tuple[float, float], contact_area_mm2: float = 0.0) -> Pose:
    return Pose(
        up=UP,
        height_mm=height_mm,
        footprint_mm=footprint_mm,
        overhang_area_mm2=contact_area_mm2,
        contact_area_mm2=contact_area_mm2,
        support_volume_mm3=0.0,
        support_volume_to_bed_mm3=0.0,
        bed_area_mm2=footprint_mm[0] * footprint_mm[1],
        trapped_two_part_mm3=0.0,
        trapped_open_mm3=0.0,
        flat_opening=False,
        flat_opening_area_mm2=0.0,
        peaks=0,
    )


@dataclass(frozen=True, eq=False)
class StatedShape(Shape):
    """Answers with the numbers it was given instead of measuring a mesh."""

    source: Mesh = None  # type: ignore[assignment]
    extents_mm: Vector = (80.0, 60.0, 30.0)
    volume_mm3: float = 40_000.0
    area_mm2: float = 18_000.0
    smallest_section_mm2: float = 500.0
    thinnest_mm: float = 2.0
    reached: Reach = field(default_factory=lambda: Reach(0.8, 0.2, 0.0))
    contact_area_mm2: float = 600.0
    closed_voids: int = 0
    closed_void_volume_mm3: float = 0.0
    split: Fit | None = None

    @property
    def solid(self) -> Solid:
        a, b, c = sorted(self.extents_mm)
        return Solid(
            faces=12,
            bodies=1,
            volume_mm3=self.volume_mm3,
            area_mm2=self.area_mm2,
            extents_mm=self.extents_mm,
            smallest_box_mm=(a, b, c),
            closed_voids=self.closed_voids,
            closed_void_volume_mm3=self.closed_void_volume_mm3,
        )

    @property
    def walls(self) -> Walls:
        return Walls(self.thinnest_mm, (0.0, 0.0, 0.0), self.thinnest_mm, self.thinnest_mm)

    def reach(self, block_mm: float = 20.0, finger_mm: float = 8.0) -> Reach:
        return self.reached

    @property
    def poses(self) -> tuple[Pose, ...]:
        """On each of its three faces."""
        a, b, c = sorted(self.extents_mm)
        sides = ((a, (b, c)), (b, (a, c)), (c, (a, b)))
        return tuple(stated_pose(height, foot, self.contact_area_mm2) for height, foot in sides)

    def pose(self, up: Vector) -> Pose:
        return self.poses[-1]

    def layers(self, up: Vector, count: int = 200) -> Layers:
        n = 10
        return Layers(up, 1.0, tuple(range(n)), (self.smallest_section_mm2,) * n, (100.0,) * n, (1,) * n)

    def fit(self, volume_mm: Vector) -> Fit:
        assert self.split is not None, "asked how it is split although it fits"
        return self.split
