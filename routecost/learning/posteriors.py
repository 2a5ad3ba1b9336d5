"""Table values combined with observations: three closed-form posteriors.

A low, a value and a high of a table are the 10th, 50th and 90th percentile, and so are those that are written.
Ratios of times are log-normal, good attempts binomial, failures per hour a Poisson process; the matching priors
are normal, beta and gamma (Gelman and others, *Bayesian Data Analysis*, from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import exp, log

import numpy as np

from routecost.core.arrays import Floats

TO_P90 = 1.2815515655446004
"""Standard deviations from the median of a normal law to its 90th percentile."""
COVERAGE = 0.8
"""Probability from the 10th to the 90th percentile."""
PERCENTILES = (0.5, 0.1, 0.9)
"""Of value, low and high."""
JOB_SD = 0.35
"""Spread of the log of one job's time over what it takes as a rule: two jobs in three within a factor of 1.4.
Common practice, no source."""
_LEAST, _MOST, _STEPS = 0.1, 1e7, 81
"""Range of the strength of a prior, in observations, and steps of a factor of 1.26 in it."""


@dataclass(frozen=True)
class Known:
    """A median with its 10th and 90th percentile."""

    value: float
    low: float
    high: float

    def __str__(self) -> str:
        return f"{self.value:.3g} ({self.low:.3g}–{self.high:.3g})"


def log_sd(low: float, high: float) -> float:
    """Standard deviation of the log of a number with this 10th and 90th percentile.

    >>> round(log_sd(1.0, 10.0), 2)
    0.9
    """
    return log(high / low) / (2.0 * TO_P90)


def ratios_posterior(
    prior_sd: Floats, shares: Floats, log_ratios: Floats, job_sd: float = JOB_SD
) -> tuple[Floats, Floats]:
    """Logs of what each time standard has to be multiplied by: mode (k,) and standard deviation (k,).

    prior_sd (k,); shares (n, k): part of a job's planned time that rests on each standard, the rest of it is
    certain; log_ratios (n,): log of actual over planned time. A job takes Σ share · factor and the rest, give or
    take `job_sd` on the log scale; the spread is by the slopes where the factors come to lie (Laplace). With one
    standard alone it is exact: the mean of n log ratios shrunk by τ² / (τ² + σ²/n).

    >>> mean, sd = ratios_posterior(np.array([0.35]), np.ones((1, 1)), np.array([log(2.0)]))
    >>> round(exp(mean[0]), 4), round(float(sd[0]) / 0.35, 4)  # one job weighs as much as the table
    (1.4142, 0.7071)
    """
    from scipy.optimize import least_squares

    rest = np.maximum(0.0, 1.0 - shares.sum(axis=1))

    def misfit(logs: Floats) -> Floats:
        """Of the table and of the jobs, in standard deviations."""
        total = rest + shares @ np.exp(logs)
        return np.concatenate([logs / prior_sd, (np.log(total) - log_ratios) / job_sd])

    def slopes(logs: Floats) -> Floats:
        times = shares * np.exp(logs)
        return np.vstack([np.diag(1.0 / prior_sd), times / (rest + times.sum(axis=1))[:, None] / job_sd])

    found = least_squares(misfit, np.zeros(len(prior_sd)), slopes, xtol=1e-14, ftol=1e-14, gtol=1e-14)
    there = slopes(found.x)
    return found.x, np.sqrt(np.diag(np.linalg.inv(there.T @ there)))


def times_of(value: float, log_mean: float, sd: float) -> Known:
    """A time standard multiplied by a log-normal factor of this mean and spread of its log."""
    return Known(
        value * exp(log_mean), value * exp(log_mean - TO_P90 * sd), value * exp(log_mean + TO_P90 * sd)
    )


def beta_prior(median: float, low: float, high: float) -> tuple[float, float]:
    """The beta distribution of a share: (a, b), the good and failed attempts that the table counts as.

    0 <= low < median < high <= 1. It has this median and holds 80 % from low to high; these are its 10th and
    90th percentile where any beta distribution has all three.

    >>> a, b = beta_prior(0.5, 0.1, 0.9)  # uniform
    >>> round(a, 6), round(b, 6)
    (1.0, 1.0)
    """
    from scipy.stats import beta

    def held(strength: float) -> float:
        a, b = _beta_of(median, strength)
        return float(beta.cdf(high, a, b) - beta.cdf(low, a, b))

    return _beta_of(median, _strength(held))


def _beta_of(median: float, strength: float) -> tuple[float, float]:
    """The beta distribution of this median and sum of parameters."""
    from scipy.optimize import brentq
    from scipy.special import betainc

    def above(mean: float) -> float:
        return float(betainc(mean * strength, (1.0 - mean) * strength, median)) - 0.5

    mean = float(brentq(above, 1e-12, 1.0 - 1e-12, xtol=1e-15, rtol=1e-14))
    return mean * strength, (1.0 - mean) * strength


def beta_posterior(prior: tuple[float, float], good: int, failed: int) -> Known:
    """Percentiles of a share after more good and failed attempts.

    >>> round(beta_posterior((1.0, 1.0), 1, 0).value ** 2, 3)
    0.5
    """
    from scipy.stats import beta

    return Known(*(float(beta.ppf(p, prior[0] + good, prior[1] + failed)) for p in PERCENTILES))


def gamma_prior(median: float, low: float, high: float) -> tuple[float, float]:
    """The gamma distribution of a rate: the failures and hours that the table counts as. 0 <= low < median < high.

    It has this median and holds 80 % from low to high; these are its 10th and 90th percentile where any gamma
    distribution has all three.
    """
    from scipy.stats import gamma

    def hours(failures: float) -> float:
        return float(gamma.ppf(0.5, failures)) / median

    def held(failures: float) -> float:
        scale = 1.0 / hours(failures)
        return float(gamma.cdf(high, failures, scale=scale) - gamma.cdf(low, failures, scale=scale))

    failures = _strength(held)
    return failures, hours(failures)


def gamma_posterior(prior: tuple[float, float], failures: int, hours: float) -> Known:
    """Percentiles of a rate after more failures in more hours.

    >>> round(gamma_posterior((1.0, 100.0), 0, 100.0).value * 200.0, 4)  # log 2
    0.6931
    """
    from scipy.stats import gamma

    scale = 1.0 / (prior[1] + hours)
    return Known(*(float(gamma.ppf(p, prior[0] + failures, scale=scale)) for p in PERCENTILES))


def _strength(held: Callable[[float], float]) -> float:
    """Strength of a prior whose range has 80 % probability: the largest one.

    A strong prior is concentrated at its median, inside the range. Where even weak priors exceed 80 %, because the
    range reaches the end of the possible values, the one that exceeds it least; of equals, the weakest.
    """
    from scipy.optimize import brentq

    grid = np.geomspace(_LEAST, _MOST, _STEPS)
    excess = np.array([held(float(strength)) for strength in grid]) - COVERAGE
    short = np.flatnonzero(excess < 0.0)
    if not len(short):
        return float(grid[np.argmin(np.round(excess, 9))])
    i = int(short[-1])
    if i + 1 == len(grid):
        return _MOST
    return float(brentq(lambda x: held(x) - COVERAGE, grid[i], grid[i + 1], xtol=1e-12, rtol=1e-14))
