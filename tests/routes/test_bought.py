"""Lines that are bought as they are."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecost.routes.bought import BOUGHT
from routecost.routes.process.operation import OWN_HOUR
from routecost.routes.process.part import Demands, Part
from routecost.shop.standards import OrderingStandards
from tests.routes.stated import (
    StatedShape,
    assert_declared,
    costs,
    drawn,
    shipped_shop,
    shipped_tariff,
    shop_with,
)

SHOP = shop_with(
    shipped_shop(),
    OrderingStandards(
        id="ordering",
        prepare_order_min=20,
        prepare_part_min=6,
        inspect_copy_min=5,
        wash_g_per_cm2=0.05,
        packing_share=0.5,
        buy_line_min=9,
        bought_lead_days=3,
    ),
)


@given(copies=st.integers(1, 500))
def test_one_each_and_the_line_ordered_once(copies: int) -> None:
    (plan,) = BOUGHT.plans(Part("pin", "dowel pins", copies, buy="pins"), SHOP)
    assert drawn(plan) == {"pins": copies, OWN_HOUR: 9 / 60}
    assert sum(op.waiting_min for op in plan.operations) == 3 * 24 * 60
    assert plan.verdict.level == "suits"
    assert_declared([plan], SHOP)


def test_its_cost_by_hand() -> None:
    """24 pins from a pack of 100 at 8.00, and 9 min at 12.00 an hour."""
    (plan,) = BOUGHT.plans(Part("pin", "dowel pins", 24, buy="pins"), SHOP)
    tariff = shipped_tariff(own_rate=12.0)
    assert costs([plan], tariff)[0] == pytest.approx(24 * tariff.unit_price("pins") + 1.80)


def test_a_part_that_names_nothing_to_buy_is_not_bought() -> None:
    assert list(BOUGHT.plans(Part("lid", "a lid", 2, shape=StatedShape()), SHOP)) == []


def test_a_shape_may_be_bought_too_and_a_load_points_to_the_data_sheet() -> None:
    """What only the seller knows is not judged, but the demand is repeated."""
    hook = Part("hook", "a hook", 1, Demands(load_n=40.0), StatedShape(), buy="pins")
    (plan,) = BOUGHT.plans(hook, SHOP)
    assert "40 N" in plan.verdict.texts[0]
