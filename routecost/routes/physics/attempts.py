"""How many starts it takes: yield, whole attempts, and prints that fail by the hour and start anew."""

from __future__ import annotations

from math import exp, expm1

from routecost.routes.physics.domain import above_zero, not_negative

# e^600 is some 10^260: beyond it nothing is printed, and floats soon overflow
_HOPELESS = 600.0


def expected_starts(good: float, yield_share: float) -> float:
    """Mean number of attempts until `good` have come out well: the pro-rata share of cost.

    Mean of the negative binomial distribution, n / y. Any good ≥ 0, 0 < yield_share ≤ 1.

    >>> round(expected_starts(30, 0.95), 3)
    31.579
    """
    not_negative("number of good ones", good)
    _check_yield(yield_share)
    return good / yield_share


def chance_of_enough(starts: int, good: int, yield_share: float) -> float:
    """P(X ≥ good) for X binomial of `starts` attempts, each good with probability `yield_share`.

    By the regularized incomplete beta function (Abramowitz & Stegun 26.5.24).

    >>> round(chance_of_enough(32, 30, 0.95), 4)
    0.7861
    """
    not_negative("number of starts", starts)
    not_negative("number of good ones", good)
    _check_yield(yield_share)
    if good == 0:
        return 1.0
    if starts < good:
        return 0.0
    from scipy.special import betainc

    return float(betainc(good, starts - good + 1, yield_share))


def attempts_to_be_sure(good: int, yield_share: float, confidence: float) -> int:
    """Smallest number of attempts that gives at least `good` with probability `confidence` or more.

    What is bought and planned for, while `expected_starts` is what is paid for on average.
    Any good ≥ 0, 0 < yield_share ≤ 1, 0 < confidence < 1.

    >>> attempts_to_be_sure(30, 0.95, 0.9), attempts_to_be_sure(1, 0.8, 0.9), attempts_to_be_sure(4, 1.0, 0.9)
    (33, 2, 4)
    """
    if not 0.0 < confidence < 1.0:
        raise ValueError(f"confidence is {confidence:g}; give a probability above 0 and below 1, such as 0.9")
    not_negative("number of good ones", good)
    _check_yield(yield_share)
    enough = good
    while chance_of_enough(enough, good, yield_share) < confidence:
        enough = 2 * enough
    too_few = enough // 2 if enough > good else good - 1
    while enough - too_few > 1:
        middle = (enough + too_few) // 2
        if chance_of_enough(middle, good, yield_share) < confidence:
            too_few = middle
        else:
            enough = middle
    return enough


def expected_restart_starts(job_h: float, failures_per_h: float) -> float:
    """Mean number of starts of a job that fails at a constant rate and then starts from nothing: e^(λT).

    Standard renewal result, e.g. Ross, *Introduction to Probability Models*. Job 0 h or more, rate 0 or more,
    λT up to 600.

    >>> round(expected_restart_starts(10, 0.05), 5)
    1.64872
    """
    return exp(_exponent(job_h, failures_per_h))


def expected_machine_h(job_h: float, failures_per_h: float) -> float:
    """Mean machine hours until a job of `job_h` has run through: (e^(λT) − 1) / λ, and T where nothing fails.

    Renewal result as above: each hour of running, lost or not, is counted. A job of 30 h is not three of 10
    h.

    >>> round(expected_machine_h(10, 0.05), 4), expected_machine_h(10, 0)
    (12.9744, 10.0)
    """
    return job_h * expected_material_factor(job_h, failures_per_h)


def expected_material_factor(job_h: float, failures_per_h: float) -> float:
    """Mean material spent over the material of one undisturbed run: (e^(λT) − 1) / (λT).

    Material leaves the nozzle at about the job's mean rate for as long as the machine runs, so the share
    spent is the share of machine time: at least 1, and less than the number of starts, because a failed try
    stops early.

    >>> round(expected_material_factor(10, 0.05), 5), expected_material_factor(10, 0)
    (1.29744, 1.0)
    """
    x = _exponent(job_h, failures_per_h)
    return expm1(x) / x if x > 0.0 else 1.0


def _exponent(job_h: float, failures_per_h: float) -> float:
    not_negative("job time", job_h, "h")
    not_negative("failure rate", failures_per_h, "per hour")
    x = failures_per_h * job_h
    if x > _HOPELESS:
        raise ValueError(
            f"a job of {job_h:g} h at {failures_per_h:g} failures per hour practically never ends; "
            "split the job or make the printer more reliable"
        )
    return x


def _check_yield(yield_share: float) -> None:
    above_zero("yield", yield_share)
    if yield_share > 1.0:
        raise ValueError(f"yield is {yield_share:g}; give a share above 0 and up to 1 (80 percent is 0.8)")
