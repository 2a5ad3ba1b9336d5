"""Ways beside each other: which one is nearest to a way that is not there any more."""

from __future__ import annotations

from dataclasses import replace

from routecost.buying.options import Option
from routecost.planning.comparing.option_diff import change_text, nearest
from routecost.routes.process.operation import ProcessPlan
from tests.planning.small_bills import random_bill


def option(route: str, alternative: str, **chosen: str) -> Option:
    one = random_bill(3).options[0]
    return replace(one, plan=replace(one.plan, route=route, alternative=alternative, chosen=chosen))


GREY = option("fdm", "grey, 8 on a plate", filament="grey", stands="8 on a plate", finish="none")
CLEAR = option("fdm", "clear, 5 on a plate", filament="clear", stands="5 on a plate", finish="none")
FEWER = option("fdm", "grey, 5 on a plate", filament="grey", stands="5 on a plate", finish="none")
CAST = option("cast", "grey, 8 on a plate", resin="pu")


def plans(*options: Option) -> list[ProcessPlan]:
    return [o.plan for o in options]


def test_the_very_way_is_nearest_wherever_it_stands() -> None:
    found = nearest(plans(CAST, CLEAR, FEWER, GREY), "fdm", GREY.plan.alternative, GREY.plan.chosen)
    assert found is GREY.plan


def test_else_the_one_with_the_fewest_choices_otherwise() -> None:
    assert nearest(plans(CAST, CLEAR, FEWER), "fdm", GREY.plan.alternative, GREY.plan.chosen) is FEWER.plan


def test_another_route_is_no_nearest_way() -> None:
    assert nearest(plans(CAST), "fdm", GREY.plan.alternative, GREY.plan.chosen) is None


def test_what_changes_is_told_and_nothing_else() -> None:
    assert change_text(GREY, FEWER, {}) == "stands: 5 on a plate instead of 8 on a plate"
    assert change_text(GREY, CAST, {"cast": "casting", "fdm": "printing"}).startswith(
        "casting instead of printing"
    )
