"""Services that make parts to order. The coefficients of a price law are prices, so they are in the
price log: resources named after the service, such as `clearwater-sla volume`."""

from __future__ import annotations

from dataclasses import dataclass

from routecost.shop.facts import Thing
from routecost.shop.machines import LENGTH
from routecost.shop.schema import column


@dataclass(frozen=True, kw_only=True)
class SlaService(Thing):
    """A service for vat photopolymerization with one clear resin."""

    width_mm: float = column("largest part, across", **LENGTH)
    depth_mm: float = column("largest part, front to back", **LENGTH)
    height_mm: float = column("largest part, up", **LENGTH)
    thinnest_wall_mm: float = column("thinnest wall it accepts", unit="mm", low=0.05, high=10)
    tolerance_mm: float = column("tolerance it holds on a part of 100 mm", unit="mm", low=0.01, high=5)
    density_g_cm3: float = column("density of the cured resin", unit="g/cm**3", low=0.5, high=3)
    strength_mpa: float = column("tensile strength", unit="MPa", low=1, high=200)
    softens_degc: float = column("heat-deflection temperature", unit="degC", low=20, high=300)
    as_printed_rq_um: float = column("roughness (Rq) as printed", unit="micrometer", low=0.1, high=50)
    clear_haze_percent: float = column(
        "haze of the resin itself with polished faces", unit="percent", low=0, high=100
    )
    lead_days: float = column("calendar days from order to delivery, as printed", unit="day", low=0, high=120)
    parts_per_order: float = column(
        "parts among which a usual order shares its shipping", power=-1, low=1, high=100
    )


@dataclass(frozen=True, kw_only=True)
class SlaFinish(Thing):
    """A finish that the service sells."""

    service: str = column("the service's id")
    grade: str = column("the finish", choices=("as-printed", "sanded", "clear-coated", "polished"))
    price_factor: float = column("what it makes of the part's price", low=1, high=20)
    extra_days: float = column("days added to the lead time", unit="day", low=0, high=60)
    rq_um: float = column("roughness (Rq) it leaves", unit="micrometer", low=0.001, high=50)


@dataclass(frozen=True, kw_only=True)
class QuantityBreak(Thing):
    """From so many copies on, the part's price is multiplied."""

    service: str = column("the service's id")
    from_copies: float = column("copies in one order", low=2, high=100000)
    factor: float = column("what the price of a part is multiplied by", low=0.05, high=1)


SERVICE_CLASSES: dict[str, type[Thing]] = {
    "sla-service": SlaService,
    "sla-finish": SlaFinish,
    "quantity-break": QuantityBreak,
}
