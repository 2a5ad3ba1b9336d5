"""Why nothing fits, against every plan: the named relaxation helps, and a little less does not."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations as choices
from random import Random

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from routecost.planning.choosing.choice import bill_problem, choose
from routecost.planning.choosing.limits import LimitName, Limits, Objective
from routecost.planning.comparing.infeasibility import explain_infeasibility, margins, step_of
from routecost.routes.process.operation import Operation, ProcessPlan, Usage, own_time
from tests.planning.small_bills import (
    Candidates,
    best_by_trial,
    by_hand,
    combinations,
    random_bill,
    random_wish,
    sample_of,
)

CENT = 0.01
seeds = st.integers(0, 10**6)
few = settings(max_examples=100, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])


LITTLE: dict[LimitName, float] = {
    "budget": 0.012,  # a cent, which half a cent of rounding cannot undo
    "own-hours": 2e-3,
    "printer-hours": 2e-3,
    "days": 2e-3,
    "needed-by": 2e-3,
}


def tight_wish(seed: int, bill: Candidates) -> Limits:
    """Limits about as large as the least that each can be by itself: together nothing fits as a rule."""
    random = Random(seed)
    some = [by_hand(bill, chosen) for chosen in sample_of(bill, random)]

    def maybe(least: float) -> float | None:
        return least * random.uniform(0.7, 1.1) if random.random() < 0.6 else None

    dates = [part for part in bill.parts if random.random() < 0.3]
    return Limits(
        budget=maybe(min(s.outlay for s in some)),
        own_hours=maybe(min(s.own_hours for s in some)),
        printer_hours=maybe(min(s.printer_hours for s in some)),
        days=maybe(min(s.lead_days for s in some)),
        needed_by={part: random.uniform(1.0, 12.0) for part in dates},
    )


def late_days(bill: Candidates, chosen: Sequence[ProcessPlan], limits: Limits) -> float:
    """By how much the latest part misses its date, each made by itself."""
    days = {way.part: by_hand(bill, [way]).lead_days for way in chosen}
    return max((days[part] - due for part, due in limits.needed_by.items()), default=-math.inf)


def can_be_kept(bill: Candidates, limits: Limits) -> bool:
    return any(
        by_hand(bill, chosen).keeps(limits) and late_days(bill, chosen, limits) <= 1e-9
        for chosen in combinations(bill)
    )


def least_needed(bill: Candidates, limits: Limits, name: LimitName) -> float:
    """The least value of one limit over all plans that keep the others; infinite where none does."""
    others = limits.set_to(name, None)
    found = []
    for chosen in combinations(bill):
        sums = by_hand(bill, chosen)
        if sums.keeps(others) and late_days(bill, chosen, others) <= 1e-9:
            value = {
                "budget": round(sums.outlay, 2),  # what is paid is whole cents
                "own-hours": sums.own_hours,
                "printer-hours": sums.printer_hours,
                "days": sums.lead_days,
                "needed-by": max(0.0, late_days(bill, chosen, limits)),
            }[name]
            found.append(value)
    return min(found, default=math.inf)


@given(seeds)
@few
def test_what_is_named_helps_and_a_little_less_does_not(seed: int) -> None:
    """Exhaustive enumeration of small bills under limits that cannot be kept."""
    bill = random_bill(seed)
    limits = tight_wish(seed, bill)
    assume(not can_be_kept(bill, limits))
    problem = bill_problem(bill.parts, bill.options, bill.shop)
    assert choose(problem, Objective(), limits).status == "none"
    why = explain_infeasibility(problem, limits)
    least = {name: least_needed(bill, limits, name) for name in limits.names}
    assert {short.limit for short in why.each} == {
        name for name in limits.names if math.isfinite(least[name])
    }
    for short in why.each:
        assert short.requested == limits.of(short.limit)
        rounding = 0.0101 if short.limit == "budget" else 1e-5
        assert short.needed == pytest.approx(least[short.limit], rel=1e-5, abs=rounding)
        assert short.short_by > 0.0
        assert can_be_kept(bill, limits.set_to(short.limit, short.needed + 2e-3))
        assert not can_be_kept(bill, limits.set_to(short.limit, short.needed - LITTLE[short.limit]))
    assert not (why.each and why.together)
    if not why.each:
        _check_together(bill, limits, {s.limit: s.needed for s in why.together})


def _check_together(bill: Candidates, limits: Limits, needed: dict[LimitName, float]) -> None:
    def lifted(names: Sequence[LimitName]) -> Limits:
        found = limits
        for name in names:
            found = found.set_to(name, None)
        return found

    # fewer do not help however far they are lifted
    for count in range(1, len(needed)):
        for names in choices(limits.names, count):
            assert not can_be_kept(bill, lifted(names))
    assert needed

    def set_to(less: LimitName | None) -> Limits:
        found = limits
        for name, value in needed.items():
            found = found.set_to(name, value - LITTLE[name] if name == less else value + 2e-3)
        return found

    assert can_be_kept(bill, set_to(None))
    for name in needed:
        asked = limits.of(name)
        assert asked is not None
        if needed[name] > asked:
            assert not can_be_kept(bill, set_to(name))


@given(seeds)
@few
def test_margins_are_what_one_step_more_saves(seed: int) -> None:
    """Both sides by exhaustive enumeration."""
    bill = random_bill(seed)
    objective, limits = random_wish(seed, bill)
    assume(limits.names)
    problem = bill_problem(bill.parts, bill.options, bill.shop)
    best = choose(problem, objective, limits)
    assume(best.found)
    by_trial = best_by_trial(bill, objective, limits)
    found = margins(problem, objective, limits, best)
    assert tuple(m.limit for m in found) == limits.names
    for margin in found:
        asked = limits.of(margin.limit)
        assert asked is not None
        assert margin.step == step_of(margin.limit, "EUR")
        wider = best_by_trial(bill, objective, limits.set_to(margin.limit, asked + margin.step))
        assert margin.saving == pytest.approx(by_trial - wider, abs=2 * CENT)
        assert margin.saving >= 0.0
        assert margin.exact


def test_a_part_that_nothing_can_make_is_no_matter_of_limits() -> None:
    bill = random_bill(1)
    problem = bill_problem((*bill.parts, "impossible"), bill.options, bill.shop)
    why = explain_infeasibility(problem, Limits(budget=1.0, days=1.0))
    assert (why.each, why.together) == ((), ())


def test_two_limits_that_exclude_each_other_by_hand() -> None:
    """One part: 100 g of resin and no work, or ten hours and no resin. With 1 EUR or 1 h nothing fits; with the
    pack for 30 EUR, or with the ten hours, it does."""
    bill = random_bill(0)
    quick = replace(bill.plans[0], part="lid", operations=(), tools=frozenset())
    resin = Operation("cast", (Usage("resin", 100.0, "by hand"),))
    work = Operation("carve", (own_time(600.0, "by hand"),))
    plans = (
        replace(quick, route="cast", operations=(resin,)),
        replace(quick, route="carve", operations=(work,)),
    )
    small = Candidates(("lid",), plans, {**bill.offers, "resin": [(100, 30.0)]}, {})
    why = explain_infeasibility(
        bill_problem(small.parts, small.options, small.shop), Limits(budget=1.0, own_hours=1.0)
    )
    assert [(s.limit, pytest.approx(s.needed)) for s in why.each] == [("budget", 30.0), ("own-hours", 10.0)]
