"""Plans come back from their text as they were, to the last bit."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecost.costing import plan_codec as plan_text
from routecost.costing.plan_codec import plans_of_text, text_of
from routecost.routes.process.operation import Operation, ProcessPlan, Reason, Usage, Verdict
from tests.costing.plans import plans

words = st.text(max_size=8)
numbers = st.one_of(st.floats(), st.integers(-9, 9))
"""A quantity may be a whole number, infinite or none at all: what comes out must be what went in."""
usages = st.builds(Usage, words, numbers, words, st.tuples(words))
any_plans = st.builds(
    ProcessPlan,
    *(words, words, st.integers(1, 9), words),
    st.lists(
        st.builds(
            Operation,
            *(words, st.lists(usages, max_size=3).map(tuple), words, numbers, numbers),
            *(st.tuples(words), st.integers(1, 9), st.none() | usages, st.none() | usages),
            *(st.tuples(words, words), words),
        ),
        max_size=3,
    ).map(tuple),
    st.builds(Verdict, st.lists(st.builds(Reason, st.sampled_from(["suits", "changes"]), words)).map(tuple)),
    *(numbers, st.frozensets(words), st.dictionaries(words, words)),
)


def seen(plan: ProcessPlan) -> str:
    """All of a plan. As repr, because 1 equals 1.0 and 0.0 equals -0.0, though a report shows them apart."""
    return repr(
        [
            (f.name, sorted(x) if isinstance(x := getattr(plan, f.name), frozenset) else x)
            for f in fields(plan)
        ]
    )


@given(st.lists(st.one_of(any_plans, plans()), max_size=4))
def test_plans_make_the_round_trip_unchanged(made: list[ProcessPlan]) -> None:
    again = plans_of_text(text_of(made))
    assert list(map(seen, again)) == list(map(seen, made))
    assert list(map(seen, plans_of_text(text_of(again)))) == list(map(seen, made))


@given(any_plans)
def test_steps_that_are_alike_are_one_object(plan: ProcessPlan) -> None:
    twin = replace(plan, operations=tuple(replace(op) for op in plan.operations), route="another")
    one, two = plans_of_text(text_of([plan, twin]))
    assert all(a is b for a, b in zip(one.operations, two.operations, strict=True))


def test_numbers_that_are_equal_but_not_alike_stay_apart() -> None:
    made = [
        ProcessPlan("r", "p", 1, "", (Operation("o", (Usage("d", q, ""),)),), Verdict(), 1.0)
        for q in (1, 1.0, 0.0, -0.0)
    ]
    assert list(map(seen, plans_of_text(text_of(made)))) == list(map(seen, made))


def test_numpy_numbers_become_plain_ones() -> None:
    draw = Usage("d", np.float64(0.1), "")
    plan = ProcessPlan("r", "p", np.int64(3), "", (Operation("o", (draw,)),), Verdict(), np.float64(2.5))  # type: ignore[arg-type]
    (again,) = plans_of_text(text_of([plan]))
    assert repr((again.copies, again.operations[0].usages[0].quantity, again.mass_g)) == "(3, 0.1, 2.5)"


def test_a_field_that_could_not_come_back_is_refused() -> None:
    @dataclass(frozen=True)
    class Later:
        pairs: tuple[tuple[str, float], ...]

    with pytest.raises(TypeError, match="cannot be kept"):
        plan_text._codes(Later)
