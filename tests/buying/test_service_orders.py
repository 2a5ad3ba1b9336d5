"""Orders of the whole bill: a least price of each part and one of the whole order, both to the cent."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routecost.buying.options import Workshop, options_of
from routecost.buying.totals import totals
from routecost.routes.process.operation import ProcessPlan
from routecost.routes.process.part import Demands, Part
from tests.routes.stated import StatedShape
from tests.routes.test_outsourced_sla import OUTSOURCED_SLA, TARIFF, A, stated_shop

LAW = ("setup", "volume", "area", "box", "height")
FACTOR = {"as-printed": 1.0, "sanded": 1.25, "polished": 2.4}
"""Of the price, as stated_shop has it."""


def ordered(name: str, side_mm: float, finish: str, parts_per_order: float) -> ProcessPlan:
    """A cube from the service."""
    solid = StatedShape(
        extents_mm=(side_mm, side_mm, side_mm), volume_mm3=side_mm**3, area_mm2=6.0 * side_mm**2
    )
    shop = stated_shop(parts_per_order)
    asked = Demands(finish="as-made" if finish == "as-printed" else "smooth")
    found = OUTSOURCED_SLA.plans(Part(name, "", 1, asked, solid), shop)
    return next(plan for plan in found if plan.alternative == f"{A}, {finish}")


def law_by_hand(side_mm: float, finish: str) -> float:
    """max(minimum, set-up + a volume + b area + c box + d height) x finish, of one part."""
    cm = side_mm / 10.0
    amounts = dict(zip(LAW, (1.0, cm**3, 6.0 * cm**2, cm**3, cm), strict=True))
    price = {term: TARIFF.unit_price(f"{A} {term}") for term in (*LAW, "minimum-part")}
    return max(price["minimum-part"], sum(q * price[t] for t, q in amounts.items())) * FACTOR[finish]


lines = st.lists(
    st.tuples(st.floats(3.0, 40.0), st.sampled_from(("as-printed", "sanded", "polished"))),
    min_size=1,
    max_size=5,
)


@settings(max_examples=40)
@given(lines, st.sampled_from((1.0, 4.0)))
def test_each_part_and_the_whole_order_keep_their_least_price(
    wanted: list[tuple[float, str]], parts_per_order: float
) -> None:
    """Whatever the routes take a usual order for: alone in it, a part has the order's least price as its own."""
    asked = [(side, finish) for side, finish in wanted]
    plans = [ordered(f"part-{i}", *line, parts_per_order) for i, line in enumerate(asked)]
    shop = Workshop(TARIFF, {}, {A: parts_per_order}, frozenset(), 2.0)
    found = totals(options_of(plans, shop), shop)
    paid = sum(b.amount for b in found.buy if b.resource.startswith(f"{A} ") and "shipping" not in b.resource)
    by_hand = max(TARIFF.unit_price(f"{A} minimum-order"), sum(law_by_hand(*line) for line in asked))
    assert paid == pytest.approx(by_hand, abs=0.01 * len(LAW))
    shipping = next(b for b in found.buy if b.resource == f"{A} shipping-order")
    assert shipping.need == pytest.approx(1.0)


def test_both_least_prices_are_met_in_the_test_above() -> None:
    least_order = TARIFF.unit_price(f"{A} minimum-order")
    one = law_by_hand(3.0, "sanded")
    assert one == 1.25 * TARIFF.unit_price(f"{A} minimum-part") < least_order < 5 * one
    assert law_by_hand(40.0, "sanded") > one
