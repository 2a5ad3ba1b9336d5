"""Process plans of any shape for property tests, and tables to price them by."""

from __future__ import annotations

import datetime as dt

from hypothesis import strategies as st

from routecost.core.errors import Fault
from routecost.costing.tariff import Tariff
from routecost.routes.process.operation import OWN_HOUR, Operation, ProcessPlan, Usage, Verdict
from routecost.shop.price_log import PriceList, PriceRow, price_list
from routecost.shop.resources import Resource
from routecost.shop.table_reader import Placed

DAY = dt.date(2026, 3, 1)
MATERIALS = ("resin", "silicone", "paper")
SERVICE = ("volume", "minimum")
RESOURCES = {
    **{r: Resource(resource=r, description=r, unit="g", kind="material") for r in MATERIALS},
    **{r: Resource(resource=r, description=r, unit="each", kind="service") for r in SERVICE},
    "machine": Resource(resource="machine", description="a machine", unit="each", kind="tool"),
}

amounts = st.floats(0.0, 1e4, allow_nan=False)
prices = st.floats(0.001, 1e3, allow_nan=False)


@st.composite
def operations(draw: st.DrawFn) -> Operation:
    """A step with draws of anything, or an order with a minimum."""
    if draw(st.booleans()):
        usages = tuple(Usage("volume", draw(amounts), "by volume") for _ in range(draw(st.integers(1, 3))))
        return Operation("order", usages, floor=Usage("minimum", draw(amounts), "one part"))
    resources = (*MATERIALS, "machine", OWN_HOUR)
    usages = tuple(
        Usage(draw(st.sampled_from(resources)), draw(amounts), "any") for _ in range(draw(st.integers(0, 4)))
    )
    return Operation("step", usages, waiting_min=draw(amounts))


@st.composite
def plans(draw: st.DrawFn) -> ProcessPlan:
    steps = tuple(draw(st.lists(operations(), min_size=0, max_size=5)))
    return ProcessPlan("any", "part", draw(st.integers(1, 9)), "as drawn", steps, Verdict(), draw(amounts))


def tariff(unit_prices: dict[str, float], own_rate: float, owned: frozenset[str] = frozenset()) -> Tariff:
    """A tariff made the way the program makes it: from rows of a price log."""
    rows = [
        Placed(
            PriceRow(
                resource=resource,
                pack=f"1 {RESOURCES[resource].unit}",
                price=price,
                currency="EUR",
                as_of=DAY,
                supplier="s",
                source="test",
            ),
            "prices.csv",
            number,
        )
        for number, (resource, price) in enumerate(unit_prices.items(), start=2)
    ]
    faults: list[Fault] = []
    found: PriceList = price_list(rows, [], RESOURCES, DAY, "EUR", faults)
    assert not faults
    return Tariff(found, RESOURCES, own_rate, owned)


tariffs = st.builds(
    tariff,
    st.fixed_dictionaries(dict.fromkeys(RESOURCES, prices)),
    prices,
    st.sampled_from([frozenset[str](), frozenset({"machine"})]),
)
