"""Table values combined with observations: three closed-form posteriors.

A low and a high of a table are read as a range that holds the truth nine times in ten. Ratios of times are
log-normal, good attempts binomial, failures per hour a Poisson process; the matching priors are
normal, beta and gamma (Gelman and others, *Bayesian Data Analysis*, from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import exp, log

import numpy as np

from routecost.core.arrays import Floats

Z_90 = 1.6448536269514722
"""Standard deviations to either side that hold 90 % of a normal law."""
JOB_SD = 0.35
"""Spread of the log of one job's time over what it takes as a rule: two jobs in three within a factor of 1.4.
Common practice, no source."""
_LEAST, _MOST, _STEPS = 0.1, 1e7, 81
"""Range of the strength of a prior, in observations, and steps of a factor of 1.26 in it."""


@dataclass(frozen=True)
class Known:
    """A value and its 90 % range."""

    value: float
    low: float
    high: float

    def __str__(self) -> str:
        return f"{self.value:.3g} ({self.low:.3g}–{self.high:.3g})"


def log_sd(low: float, high: float) -> float:
    """Standard deviation of the log of a number with this 90 % range.

    >>> round(log_sd(1.0, 10.0), 2)
    0.7
    """
    return log(high / low) / (2.0 * Z_90)


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
    """A time standard multiplied by a log-normal factor: its median, and 90 % of it."""
    return Known(value * exp(log_mean), value * exp(log_mean - Z_90 * sd), value * exp(log_mean + Z_90 * sd))


def beta_prior(mean: float, low: float, high: float) -> tuple[float, float]:
    """The beta distribution of a share with this mean and 90 % range: (a, b), the good and failed attempts that the
    table counts as. 0 <= low < mean < high <= 1.

    >>> a, b = beta_prior(0.5, 0.0, 0.95)
    >>> round(a, 3) == round(b, 3)
    True
    """
    from scipy.stats import beta

    def held(strength: Floats) -> Floats:
        a, b = mean * strength, (1.0 - mean) * strength
        return np.asarray(beta.cdf(high, a, b) - beta.cdf(low, a, b))

    strength = _strength(held)
    return mean * strength, (1.0 - mean) * strength


def beta_posterior(prior: tuple[float, float], good: int, failed: int) -> Known:
    """Mean and 90 % range of a share after more good and failed attempts.

    >>> round(beta_posterior((8.0, 2.0), 5, 5).value, 3)
    0.65
    """
    from scipy.stats import beta

    a, b = prior[0] + good, prior[1] + failed
    return _in_order(a / (a + b), float(beta.ppf(0.05, a, b)), float(beta.ppf(0.95, a, b)))


def gamma_prior(mean: float, low: float, high: float) -> tuple[float, float]:
    """The gamma distribution of a rate with this mean and 90 % range: the failures and hours that the table counts
    as. 0 <= low < mean < high."""
    from scipy.stats import gamma

    def held(failures: Floats) -> Floats:
        scale = mean / failures
        return np.asarray(gamma.cdf(high, failures, scale=scale) - gamma.cdf(low, failures, scale=scale))

    failures = _strength(held)
    return failures, failures / mean


def gamma_posterior(prior: tuple[float, float], failures: int, hours: float) -> Known:
    """Mean and 90 % range of a rate after more failures in more hours.

    >>> round(gamma_posterior((1.0, 100.0), 3, 100.0).value, 3)
    0.02
    """
    from scipy.stats import gamma

    shape, exposure = prior[0] + failures, prior[1] + hours
    low, high = (float(gamma.ppf(p, shape, scale=1.0 / exposure)) for p in (0.05, 0.95))
    return _in_order(shape / exposure, low, high)


def _strength(held: Callable[[Floats], Floats]) -> float:
    """Strength of a prior whose range has 90 % probability: the largest one.

    A strong prior is concentrated at its mean, inside the range. Where even weak priors exceed 90 %, because the
    range reaches the end of the possible values, the one that exceeds it least; of equals, the weakest.
    """
    from scipy.optimize import brentq

    grid = np.geomspace(_LEAST, _MOST, _STEPS)
    excess = held(grid) - 0.9
    short = np.flatnonzero(excess < 0.0)
    if not len(short):
        return float(grid[np.argmin(np.round(excess, 9))])
    i = int(short[-1])
    if i + 1 == len(grid):
        return _MOST

    def excess_at(strength: float) -> float:
        return float(held(np.array(strength))) - 0.9

    return float(brentq(excess_at, grid[i], grid[i + 1], xtol=1e-12, rtol=1e-14))


def _in_order(value: float, low: float, high: float) -> Known:
    """The mean of a very skew law may lie outside its middle 90 %."""
    return Known(value, min(low, value), max(high, value))
