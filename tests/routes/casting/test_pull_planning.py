"""Pulls, rounds, cups and pot loads, against closed forms and plans by hand."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from itertools import pairwise
from math import comb, pi

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom

from routecost.builds.working_time import WorkingTime
from routecost.routes.casting.molds import CUT, OPEN, TWO_PART, Mold, molds_for
from routecost.routes.casting.pots import molds_in_pot, pot_for
from routecost.routes.casting.pull_planning import Casting, Mix, casting_of, mix_of
from routecost.routes.casting.pull_steps import pull_operations
from routecost.routes.casting.rounds import rounds_until
from routecost.routes.physics.boxes import Block
from routecost.routes.process.operation import OWN_HOUR, Operation, ProcessPlan, Verdict
from routecost.routes.process.part import Demands
from routecost.scheduling.timetable import schedule
from routecost.shop.materials import CastingResin, Silicone
from routecost.shop.shop import Shop
from tests.routes.casting.cast_shape import (
    ADDITION,
    CHAMBER,
    CLEAR,
    CLEAR_PU,
    EPOXY,
    POT,
    TAN,
    CastShape,
    ball,
    cast_shop,
)

SHOP = cast_shop()
OWNED = SHOP.with_owned(frozenset({POT.id, CHAMBER.id}))
ANY = Demands()


def planned(
    shape: CastShape,
    copies: int,
    resin: CastingResin,
    demands: Demands = ANY,
    at_once: int = 1,
    shop: Shop = SHOP,
    silicone: Silicone = ADDITION,
) -> tuple[Casting, Mold]:
    mold = molds_for(shape, silicone, shop)[0]
    return casting_of(shape, copies, demands, mold, silicone, resin, shop, at_once), mold


def pulled(
    shape: CastShape,
    copies: int,
    resin: CastingResin,
    demands: Demands = ANY,
    at_once: int = 1,
    shop: Shop = SHOP,
    *,
    pigment: bool = False,
    faced: bool = False,
) -> tuple[Operation, ...]:
    casting, mold = planned(shape, copies, resin, demands, at_once, shop)
    return pull_operations(casting, mold, resin, shop, pigment=pigment, faced=faced)


def drawn(operations: tuple[Operation, ...]) -> dict[str, float]:
    found: dict[str, float] = {}
    for draw in (draw for operation in operations for draw in operation.usages):
        found[draw.resource] = found.get(draw.resource, 0.0) + draw.quantity
    return found


def minutes(operations: tuple[Operation, ...]) -> float:
    return sum(operation.hands_on_min for operation in operations)


# ---- rounds


@pytest.mark.parametrize("y", [0.3, 0.8, 0.95])
@pytest.mark.parametrize("n", [1, 2, 3, 7])
def test_as_many_molds_as_castings_take_as_many_rounds_as_the_unluckiest(n: int, y: float) -> None:
    """Each mold goes on until its casting is good: the mean of the largest of n geometric numbers, by
    inclusion and exclusion: Σ (-1)^(k+1) C(n, k) / (1 - (1 - y)^k) (textbook result)."""
    exact = sum((-1) ** (k + 1) * comb(n, k) / (1.0 - (1.0 - y) ** k) for k in range(1, n + 1))
    assert rounds_until(n, n, y).total() == pytest.approx(exact)
    assert rounds_until(n, n + 5, y).total() == pytest.approx(exact)


def test_one_mold_takes_the_mean_of_the_negative_binomial() -> None:
    """n / y: 30 good at 0.95 take 31.579 (derived)."""
    assert rounds_until(30, 1, 0.95).total() == pytest.approx(31.579, abs=5e-4)


def test_full_rounds_are_enough_as_often_as_the_binomial_says() -> None:
    """If both molds were always filled, five would take Σ P(fewer than 5 good of 2 r) rounds over r = 0, 1, ...
    Filling one when one is missing can only take longer, and no longer than one mold does for that one."""
    y = 0.6
    both = sum(float(binom.cdf(4, 2 * r, y)) for r in range(200))
    assert both <= rounds_until(5, 2, y).total() <= both + 1 / y - 1 / (1 - 0.4**2)


def test_sure_castings_take_whole_rounds() -> None:
    assert rounds_until(24, 4, 1.0).total() == 6
    assert rounds_until(25, 4, 1.0).total() == 7


@given(st.integers(1, 60), st.integers(1, 8), st.floats(0.05, 1.0))
def test_pulls_are_good_over_yield_whatever_the_number_of_molds(good: int, molds: int, y: float) -> None:
    assert rounds_until(good, molds, y).total(float) == pytest.approx(good / y)


@given(st.integers(1, 60), st.integers(1, 8), st.floats(0.05, 1.0))
def test_more_molds_save_rounds_and_more_castings_take_more(good: int, molds: int, y: float) -> None:
    here = rounds_until(good, molds, y).total()
    assert rounds_until(good, molds + 1, y).total() <= here + 1e-9
    assert rounds_until(good + 1, molds, y).total() >= here - 1e-9
    assert rounds_until(good, molds, min(1.0, 1.1 * y)).total() <= here + 1e-9


# ---- two plans by hand, line by line


def test_ten_pulls_from_an_open_block_by_hand() -> None:
    """Eight copies of 48 cm³ at a yield of 0.8: ten pulls in one mold of a life of 20, ten rounds.

    53.3 g of epoxy each, and 3 % pressed out under the plate.
    """
    operations = pulled(CastShape(), 8, EPOXY, faced=True)
    part_g = 48 * 1.1
    pull_g = part_g * 1.03
    pour_min = 10 * 5 + 10 * 4 + 10 * 0.5 + 10 * 8 + 10 * 2  # mix, pour, go on, clean up, film and plate
    trim_min = 8 * 24 * 0.12
    assert drawn(operations) == pytest.approx(
        {
            OWN_HOUR: (10 * 6 + pour_min + 10 * 5 + trim_min) / 60,
            "release-agent": 10 * 100 * 0.0015,
            "epoxy-clear": 10 * pull_g * 1.05 + 10 * 3,
            "mix-cup": 10,
            "wipe": 20,
            "isopropanol": 150,
            "resin-waste": 200,
            "polyester-film": 10 * 11.0 * 7.0,  # 15 mm wider all round
            "blade": trim_min / 60,
            "paper-p320": 8 * 24 * 1.0 / 300,
            "gloves": (10 * 6 + pour_min + 10 * 5 + trim_min) / 60 * 2,
            "mask-cartridges": (10 * 6 + pour_min + trim_min) / 60 / 30,
        }
    )
    (pour,) = [op for op in operations if op.machine]
    assert pour.machine == "mold"
    assert pour.machine_min == pytest.approx(10 * 24 * 60)
    assert pour.waiting_min == (72 - 24) * 60
    assert pour.runs == 10  # with one mold, each pull is poured after the last is demolded


def test_each_pull_of_one_mold_takes_a_night_of_its_own() -> None:
    """By hand: ten pulls of 19.5 min that stay 24 h in the mold; none is begun before the last is out."""
    (pour,) = [op for op in pulled(CastShape(), 8, EPOXY, faced=True) if op.machine]
    plan = ProcessPlan("cast", "lid", 8, "", (pour,), Verdict(), 0.0)
    found = schedule([plan], start=dt.date(2026, 3, 2), working=WorkingTime(2.0), effort_s=0.0)
    cures = [e for e in found.entries if e.phase == "machine"]
    assert len(cures) == 10
    for cure, then in pairwise(cures):
        assert then.start >= cure.end + dt.timedelta(minutes=pour.hands_on_min / 10 - 5)
    assert sum(e.minutes for e in cures) == pytest.approx(10 * 24 * 60)
    # hands begin ten times, and after the last it waits for full strength
    assert [e.run for e in found.entries if e.phase == "hands"] == list(range(1, 11))
    assert found.finish == cures[-1].end + dt.timedelta(hours=72 - 24)


def test_clear_balls_from_two_molds_under_pressure_by_hand() -> None:
    """Two copies, two molds side by side in the pot: 2.5 pulls in 1.458 rounds (two geometric numbers).

    35.19 g of polyurethane, 6 % in vents and flash, 3 cm³ in the sprue: 40.45 g a pull. Both molds are filled
    from one cup: (0.8 x 8 - 2 + 0.5) min of pouring over 0.5 + 40.45/200 min a mold is 6.9 molds.
    """
    operations = pulled(ball(), 2, CLEAR_PU, CLEAR, at_once=2, shop=OWNED)
    rounds = 2 / 0.8 - 1 / (1 - 0.2**2)  # 1.4583
    pull_g = 33.5103 * 1.05 * 1.06 + 3 * 1.05
    pour_min = rounds * (5 + 4 + 8 + 6) + 2.5 * 0.5  # a cup, a session and a load of the pot each round
    trim_min = 2 * 12.566 * 0.12 + 2 * 2 * 4
    girth_cm = 4 * 6.4
    assert drawn(operations) == pytest.approx(
        {
            OWN_HOUR: (2.5 * 6 + pour_min + 2.5 * 5 + trim_min) / 60,
            "release-agent": 2.5 * 50.265 * 0.0015,
            "tape": 2.5 * 2 * girth_cm,
            "pu-clear": 2.5 * pull_g * 1.05 + rounds * 3,
            "mix-cup": rounds,
            "wipe": 2 * rounds,
            "isopropanol": 15 * rounds,
            "resin-waste": 20 * rounds,
            "pressure-pot-10l": rounds / 1000,
            "electricity": 0.15 * rounds,
            "blade": trim_min / 60,
            "paper-p320": 2 * 12.566 * 1.0 / 300,
            "gloves": (2.5 * 6 + pour_min + 2.5 * 5 + trim_min) / 60 * 2,
            "mask-cartridges": (2.5 * 6 + pour_min + trim_min) / 60 / 30,
        },
        rel=1e-4,
    )
    (pour,) = [op for op in operations if op.machine]
    assert pour.machine == POT.id
    assert pour.machine_min == pytest.approx(rounds * 4 * 60)
    assert pour.runs == 1  # 1.46, to the nearest
    assert {"isocyanate", "exotherm", "pressure", "yellowing"} <= set(pour.cautions)
    assert "have resin for 4 pulls to be 90 % sure" in pour.note


def test_resin_to_be_sure_is_by_the_binomial() -> None:
    """Smallest N with P(Binomial(N, 0.8) >= 2) >= 0.9 is 3 (0.896 is just short), so 4 (0.9728)."""
    assert binom.sf(1, 3, 0.8) == pytest.approx(0.896)
    assert binom.sf(1, 4, 0.8) == pytest.approx(0.9728)


# ---- molds and their life


def test_the_next_mold_is_made_when_the_first_is_worn_out() -> None:
    """A life of 20 pulls, about what is told of urethane in silicone (10 to 50 by severity; common practice,
    no source): 16 copies at 0.8 are 20 pulls, 17 are 21.25."""
    assert planned(CastShape(), 16, TAN)[0].molds == 1
    assert planned(CastShape(), 17, TAN)[0].molds == 2
    assert planned(CastShape(), 32, TAN)[0].molds == 2
    assert planned(CastShape(), 33, TAN)[0].molds == 3
    # side by side they are renewed only when all are worn
    assert planned(CastShape(), 33, TAN, at_once=2)[0].molds == 3
    assert planned(CastShape(), 33, TAN, at_once=4)[0].molds == 4


def test_no_more_molds_side_by_side_than_copies() -> None:
    casting, _ = planned(CastShape(), 3, TAN, at_once=4)
    assert (casting.at_once, casting.molds) == (3, 3)


# ---- cups and loads


def test_cups_by_pot_life_and_by_what_a_mold_takes() -> None:
    """4.4 min of pouring at 200 g/min, half a minute to the next mold."""
    mix = Mix(4.4, 200.0, 0.5, float("inf"), None)
    # n molds of 40 g: (n - 1) / 2 + n / 5 min <= 4.4 min, so 7
    assert [mix.batches(n, 40.0) for n in (1, 7, 8, 14, 15)] == [1, 1, 2, 2, 3]
    # 880 g go into one mold from one cup, more needs more cups
    assert [mix.batches(2, grams) for grams in (879.0, 881.0, 1761.0)] == [2, 4, 6]


def test_weighing_is_not_lost_of_the_pot_life() -> None:
    assert mix_of(CLEAR_PU, False, SHOP).pouring_min == pytest.approx(0.8 * 8 - 2)


def test_clear_resin_is_degassed_where_there_is_vacuum_and_time() -> None:
    assert mix_of(EPOXY, True, OWNED).chamber == CHAMBER
    assert mix_of(EPOXY, True, OWNED).pouring_min == pytest.approx(0.8 * 40 - 2 - 5 - 5)
    assert mix_of(EPOXY, True, SHOP).chamber is None
    assert mix_of(EPOXY, False, OWNED).chamber is None
    # 6.4 min of polyurethane are over before it is degassed
    assert mix_of(CLEAR_PU, True, OWNED).chamber is None
    plain, degassed = pulled(CastShape(), 4, EPOXY, CLEAR), pulled(CastShape(), 4, EPOXY, CLEAR, shop=OWNED)
    assert minutes(degassed) - minutes(plain) == pytest.approx(5 * (5 + 5))
    assert drawn(degassed)[CHAMBER.id] == pytest.approx(5 / 1500)


def test_resin_that_gels_while_it_is_stirred_is_refused() -> None:
    casting, _ = planned(CastShape(), 4, replace(TAN, pot_life_min=2.0))
    (reason,) = [r for r in casting.reasons if "stirring" in r.text]
    assert reason.level == "ruled out"
    assert casting.batches > 0


def test_molds_in_a_pot_are_counted_in_rows_and_shelves() -> None:
    """A pot of 240 mm by 220 mm, 10 mm between molds."""
    # two rows of two: 138 mm square, 195 mm across; three shelves of 60 mm
    assert molds_in_pot(Block(64, 64, 60, 0), POT, 10) == 4 * 3
    # 170 x 170 mm is 240.4 mm across
    assert molds_in_pot(Block(169, 170, 100, 0), POT, 10) == 2
    assert molds_in_pot(Block(170, 170, 100, 0), POT, 10) == 0
    assert molds_in_pot(Block(60, 60, 221, 0), POT, 10) == 0


@given(st.floats(20, 250), st.floats(20, 250), st.floats(20, 250), st.floats(1.0, 2.0))
def test_a_larger_mold_never_goes_more_often_into_a_pot(a: float, b: float, h: float, k: float) -> None:
    here = molds_in_pot(Block(a, b, h, 0), POT, 10)
    assert molds_in_pot(Block(k * a, b, h, 0), POT, 10) <= here
    assert molds_in_pot(Block(a, b, k * h, 0), POT, 10) <= here
    assert molds_in_pot(Block(b, a, h, 0), POT, 10) == here
    # no more than their areas and heights have room for
    assert here * a * b * h <= pi / 4 * 240**2 * 220


def test_a_clear_resin_that_traps_bubbles_needs_a_pot_its_mold_goes_into() -> None:
    small, large = Block(64, 64, 60, 0), Block(200, 200, 60, 0)
    pot, (reason,) = pot_for(small, CLEAR_PU, CLEAR, OWNED)
    assert pot is not None
    assert pot.vessel == POT
    assert reason.level == "suits"
    pot, (reason,) = pot_for(small, CLEAR_PU, CLEAR, SHOP)
    assert pot is not None
    assert (reason.level, reason.text) == ("changes", f"needs a {POT.id}, which is not in the shop")
    pot, (reason,) = pot_for(large, CLEAR_PU, CLEAR, OWNED)
    assert pot is None
    assert reason.level == "ruled out"
    assert "200 x 200 x 60 mm" in reason.text
    assert "240 mm wide" in reason.text
    # an opaque part, or a resin that lets bubbles go, does without
    assert pot_for(large, CLEAR_PU, ANY, OWNED) == (None, ())
    assert pot_for(large, EPOXY, CLEAR, OWNED) == (None, ())


def test_every_pour_of_a_deep_casting_goes_under_pressure_by_itself() -> None:
    """80 mm deep and as thick, 60 mm a pour: two pours, each with cup, cleaning and load; 1.5 h to gel, 4 h
    to demold."""
    deep = ball(
        extents_mm=(80.0, 80.0, 80.0), thickest_mm=80.0, stands=(replace(ball().stands[0], height_mm=80.0),)
    )
    casting, _ = planned(deep, 4, CLEAR_PU, CLEAR, shop=OWNED)
    assert len(casting.pours) == 2
    assert casting.loads == pytest.approx(10)
    assert casting.batches == pytest.approx(10)
    operations = pulled(deep, 4, CLEAR_PU, CLEAR, shop=OWNED)
    assert sum(op.machine_min for op in operations) == pytest.approx(5 * (1.5 + 4) * 60)
    assert [op.runs for op in operations if op.machine] == [10]
    assert any(r.level == "changes" and "faint line" in r.text for r in casting.reasons)


def test_a_casting_of_more_pours_than_anyone_makes_is_ruled_out_and_priced() -> None:
    vast = ball().scaled(30.0)
    casting, _ = planned(vast, 1, TAN)
    (reason,) = [r for r in casting.reasons if "more than 20 pours" in r.text]
    assert reason.level == "ruled out"
    assert casting.layers <= 21
    assert casting.pull_g == pytest.approx(33.5103 * 27_000 * 1.06 * 1.06 + 3 * 1.06)


def test_no_cup_holds_more_than_may_stand_in_one_place() -> None:
    """At 900 g a pour, four molds of 300 g take two cups, whatever the time allows."""
    slow = replace(TAN, pot_life_min=60.0)
    assert mix_of(slow, False, SHOP).batches(4, 300.0) == 2


def test_a_thin_wall_is_poured_in_one_go_however_high_it_stands() -> None:
    high = ball(thickest_mm=4.0, typical_mm=4.0, stands=(replace(ball().stands[0], height_mm=150.0),))
    assert len(planned(high, 1, EPOXY, CLEAR)[0].pours) == 1


def test_quick_resin_sees_several_rounds_before_the_bench_is_cleaned() -> None:
    """Demolded after 0.75 h: three rounds in a session of 2.5 h; after 24 h one."""
    assert planned(CastShape(), 24, TAN)[0].sessions == pytest.approx(30 / 3)
    assert planned(CastShape(), 24, EPOXY)[0].sessions == pytest.approx(30)


# ---- what each kind of mold and demand adds


def test_a_closed_mold_has_sprue_vents_and_straps_an_open_one_film_or_a_scraped_face() -> None:
    opened, faced = pulled(CastShape(), 4, EPOXY), pulled(CastShape(), 4, EPOXY, faced=True)
    closed = pulled(ball(), 4, EPOXY)
    assert minutes(faced) - minutes(opened) == pytest.approx(5 * (2 - 1))
    assert "polyester-film" in drawn(faced)
    assert "polyester-film" not in drawn(opened)
    assert "tape" in drawn(closed)
    assert "tape" not in drawn(opened)
    assert closed[-1].name == "trim flash, sprue and vents, dress the parting line"
    assert opened[-1].name == "trim and dress the rim"


def test_pigment_is_a_share_of_all_that_is_mixed() -> None:
    """1 % of ten pulls of 54.4 g with 5 % loss."""
    amounts = drawn(pulled(CastShape(), 8, EPOXY, pigment=True))
    assert amounts["pigment"] == pytest.approx(0.01 * 10 * 48 * 1.1 * 1.03 * 1.05)


def test_a_wall_too_thin_or_a_resin_too_slow_for_it_asks_for_a_change() -> None:
    thin = replace(CastShape(), thinnest_mm=0.8, typical_mm=3.0)
    slow = replace(EPOXY, cures_from_mm=12.0)
    levels = {r.text: r.level for r in planned(thin, 1, slow)[0].reasons}
    assert levels == {
        "thinnest wall 0.80 mm; resin fills 1.2 mm: thicken to 1.2 mm": "changes",
        "walls of 3.0 mm stay soft in epoxy-clear, which warms enough to cure from 12 mm: cure them in a warm "
        "box, or take a quicker resin": "changes",
    }


def test_a_thick_hot_section_asks_for_a_change() -> None:
    hot = replace(EPOXY, reaction_heat_j_g=450, gel_h=0.5)
    (reason,) = planned(ball(), 1, hot)[0].reasons
    assert reason.level == "changes"
    assert "a section of 40 mm" in reason.text


def test_a_mold_too_heavy_to_turn_asks_for_a_second_person() -> None:
    huge = ball().scaled(8.0)
    (reason,) = [r for r in planned(huge, 1, TAN)[0].reasons if "person turns" in r.text]
    assert reason.level == "changes"
    # box 344 x 344 x 340 mm less the ball, with keys; and the ball in resin
    v = 4 / 3 * pi * 160**3 / 1000
    kg = ((34.4 * 34.4 * 34.0 - v) * 1.03 * 1.1 + v * 1.06) / 1000
    assert f"weighs {kg:.0f} kg" in reason.text


# ---- what must hold for any part

DEMANDS = [Demands(), Demands(clarity="translucent"), Demands(clarity="clear"), Demands(clarity="optical")]


@st.composite
def any_casting(draw: st.DrawFn) -> tuple[CastShape, int, CastingResin, int]:
    shape = draw(st.sampled_from([CastShape(), ball()])).scaled(draw(st.floats(0.3, 3.0)))
    resin = draw(st.sampled_from([TAN, CLEAR_PU, EPOXY]))
    return shape, draw(st.integers(1, 80)), resin, draw(st.sampled_from([1, 2, 4]))


@settings(max_examples=60, deadline=None)
@given(any_casting(), st.sampled_from(DEMANDS))
def test_one_copy_more_takes_more_of_everything(
    wanted: tuple[CastShape, int, CastingResin, int], demands: Demands
) -> None:
    shape, copies, resin, at_once = wanted
    fewer, mold = planned(shape, copies, resin, demands, at_once, OWNED)
    more, _ = planned(shape, copies + 1, resin, demands, at_once, OWNED)
    less = pull_operations(fewer, mold, resin, OWNED)
    much = pull_operations(more, mold, resin, OWNED)
    assert more.molds >= fewer.molds
    assert minutes(much) >= minutes(less)
    assert sum(op.machine_min for op in much) >= sum(op.machine_min for op in less) - 1e-6
    for resource, amount in drawn(less).items():
        assert drawn(much)[resource] >= amount - 1e-9


@settings(max_examples=60, deadline=None)
@given(any_casting(), st.floats(1.0, 2.5))
def test_a_larger_part_never_takes_less(wanted: tuple[CastShape, int, CastingResin, int], k: float) -> None:
    shape, copies, resin, at_once = wanted
    less = pulled(shape, copies, resin, ANY, at_once)
    more = pulled(shape.scaled(k), copies, resin, ANY, at_once)
    assert minutes(more) >= minutes(less) - 1e-9
    for resource, amount in drawn(less).items():
        assert drawn(more)[resource] >= amount - 1e-9


@settings(max_examples=60, deadline=None)
@given(any_casting())
def test_a_clearer_part_never_takes_less_work(wanted: tuple[CastShape, int, CastingResin, int]) -> None:
    shape, copies, resin, at_once = wanted
    by_demand = [
        minutes(pulled(shape, copies, resin, d, at_once, shop=OWNED, faced=d.clarity in ("clear", "optical")))
        for d in DEMANDS
    ]
    assert by_demand == sorted(by_demand)


@settings(max_examples=40, deadline=None)
@given(any_casting(), st.floats(0.1, 1.0), st.floats(0.1, 1.0))
def test_a_lower_yield_never_takes_fewer_pulls(
    wanted: tuple[CastShape, int, CastingResin, int], one: float, other: float
) -> None:
    shape, copies, resin, at_once = wanted
    low, high = sorted((round(one, 3), round(other, 3)))
    worse, _ = planned(shape, copies, resin, ANY, at_once, cast_shop(casting_yield_opaque=low))
    better, _ = planned(shape, copies, resin, ANY, at_once, cast_shop(casting_yield_opaque=high))
    assert worse.pulls >= better.pulls - 1e-9
    assert worse.molds >= better.molds
    assert worse.batches >= better.batches - 1e-9
    assert worse.loads >= better.loads - 1e-9


@settings(max_examples=40, deadline=None)
@given(any_casting())
def test_resin_in_good_castings_is_what_the_part_weighs(
    wanted: tuple[CastShape, int, CastingResin, int],
) -> None:
    """Mass does not shrink: of what is pulled, the yield's share is good, and weighs volume x density."""
    shape, copies, resin, at_once = wanted
    casting, mold = planned(shape, copies, resin, ANY, at_once)
    assert casting.pulls * casting.yield_share * casting.part_g == pytest.approx(
        copies * shape.volume_mm3 / 1000 * resin.density_g_cm3
    )
    assert mold.kind in (OPEN, CUT, TWO_PART)


def test_each_load_of_the_pot_is_released_before_and_demolded_after_all_its_pours() -> None:
    """Ten loads on average, two pours on top of one another: five times release, pour, pour, demold."""
    deep = ball(
        extents_mm=(80.0, 80.0, 80.0), thickest_mm=80.0, stands=(replace(ball().stands[0], height_mm=80.0),)
    )
    operations = pulled(deep, 4, CLEAR_PU, CLEAR, shop=OWNED)
    plan = ProcessPlan("cast", "ball", 4, "", operations, Verdict(), 0.0)
    found = schedule([plan], start=dt.date(2026, 3, 2), working=WorkingTime(2.0), effort_s=0.0)
    hands = [(e.place, e.run) for e in found.entries if e.phase == "hands" and e.place < 4]
    assert [place for place, _ in dict.fromkeys(hands)] == [1, 2, 2, 3] * 5
