from math import comb

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from routecost.routes.physics.attempts import (
    attempts_to_be_sure,
    chance_of_enough,
    expected_machine_h,
    expected_material_factor,
    expected_restart_starts,
    expected_starts,
)

yields = st.floats(0.05, 1.0)


def test_thirty_good_at_yield_095():
    # derived: mean n/y and the binomial sum
    assert expected_starts(30, 0.95) == pytest.approx(31.579, abs=5e-4)
    assert chance_of_enough(32, 30, 0.95) == pytest.approx(0.7861, abs=5e-5)


@given(st.integers(0, 40), st.integers(0, 40), yields)
def test_chance_of_enough_is_the_binomial_sum(starts, good, y):
    by_sum = sum(comb(starts, k) * y**k * (1 - y) ** (starts - k) for k in range(good, starts + 1))
    assert chance_of_enough(starts, good, y) == pytest.approx(by_sum, abs=1e-9)


@given(st.integers(1, 200), yields, st.floats(0.01, 0.999))
def test_attempts_are_the_fewest_that_are_sure_enough(good, y, confidence):
    n = attempts_to_be_sure(good, y, confidence)
    assert n >= good
    assert chance_of_enough(n, good, y) >= confidence
    assert n == good or chance_of_enough(n - 1, good, y) < confidence


@given(st.integers(0, 60), st.integers(0, 60), yields, yields)
def test_more_copies_or_a_poorer_yield_never_take_fewer_attempts(n1, n2, y1, y2):
    few, many = sorted((n1, n2))
    poor, fair = sorted((y1, y2))
    assert attempts_to_be_sure(few, fair, 0.9) <= attempts_to_be_sure(many, poor, 0.9)


def test_nothing_wanted_and_nothing_lost():
    assert attempts_to_be_sure(0, 0.5, 0.9) == 0
    assert attempts_to_be_sure(7, 1.0, 0.999) == 7


def test_a_job_of_ten_hours_at_half_a_failure():
    # derived; standard renewal result, e.g. Ross, Introduction to Probability Models
    assert expected_machine_h(10, 0.05) == pytest.approx(12.9744, abs=5e-5)
    assert expected_restart_starts(10, 0.05) == pytest.approx(1.64872, abs=5e-6)


@pytest.mark.parametrize(("job", "rate"), [(10.0, 0.05), (30.0, 0.01), (3.0, 1.0)])
def test_machine_hours_solve_the_renewal_equation(job, rate):
    # derived: a failure at t costs t and starts anew, else the job costs its own time
    mean = expected_machine_h(job, rate)
    failed, _ = quad(lambda t: (t + mean) * rate * 2.718281828459045 ** (-rate * t), 0.0, job)
    assert failed + job * 2.718281828459045 ** (-rate * job) == pytest.approx(mean, rel=1e-9)


@given(st.floats(0.01, 200.0))
def test_no_failures_is_the_smooth_limit(job):
    assert expected_machine_h(job, 0.0) == job
    assert expected_machine_h(job, 1e-12) == pytest.approx(job, rel=1e-9)
    assert expected_restart_starts(job, 0.0) == 1.0


@given(st.floats(0.1, 100.0), st.floats(0.1, 100.0), st.floats(0.0005, 0.05))
def test_a_long_print_costs_more_than_its_pieces(a, b, rate):
    assert expected_machine_h(a + b, rate) > expected_machine_h(a, rate) + expected_machine_h(b, rate)


@given(st.floats(0.1, 100.0), st.floats(0.001, 0.05))
def test_material_follows_machine_time_and_stays_below_the_starts(job, rate):
    factor = expected_material_factor(job, rate)
    assert factor * job == pytest.approx(expected_machine_h(job, rate))
    assert 1.0 < factor < expected_restart_starts(job, rate)


@pytest.mark.parametrize("wrong", [0.0, -0.1, 1.2, float("nan")])
def test_a_yield_outside_its_range_says_so(wrong):
    with pytest.raises(ValueError, match=r"yield is .*; give"):
        expected_starts(3, wrong)
    with pytest.raises(ValueError, match=r"yield is .*; give"):
        attempts_to_be_sure(3, wrong, 0.9)


def test_other_bad_input_says_what_to_give():
    with pytest.raises(ValueError, match=r"below 1, such as 0\.9"):
        attempts_to_be_sure(3, 0.9, 1.0)
    with pytest.raises(ValueError, match="number of good ones is -1"):
        attempts_to_be_sure(-1, 0.9, 0.9)
    with pytest.raises(ValueError, match="practically never ends"):
        expected_machine_h(2000, 0.5)
    with pytest.raises(ValueError, match="failure rate is -1 per hour"):
        expected_restart_starts(10, -1)
