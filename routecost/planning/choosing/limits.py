"""Objective and limits of a plan."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np

from routecost.core.money import minor_digits
from routecost.planning.choosing.problem import Problem
from routecost.planning.choosing.solver import Caps, Weights

ObjectiveName = Literal["outlay", "full", "own-time", "hour-worth"]
OBJECTIVES: tuple[ObjectiveName, ...] = ("outlay", "full", "own-time")
LimitName = Literal["budget", "own-hours", "printer-hours", "days", "needed-by"]
LIMITS: tuple[LimitName, ...] = ("budget", "own-hours", "printer-hours", "days", "needed-by")

SAME_DAY = 1e-9
"""Relative tolerance of lead times, which are sums of quotients."""
_NEARLY_HALF = 0.499
"""Of a minor unit: what is rounded down."""


def _down(amount: float, unit: float) -> float:
    """Rounded down to whole minor units, with a tolerance for sums."""
    return math.floor(amount / unit + 1e-6) * unit


def least_budget(outlay: float, currency: str) -> float:
    """The smallest budget that holds an outlay before rounding.

    >>> least_budget(64.744, "EUR"), least_budget(64.746, "EUR")
    (64.74, 64.75)
    """
    scale: int = 10 ** minor_digits(currency)
    return math.ceil(outlay * scale - _NEARLY_HALF) / scale


@dataclass(frozen=True)
class Objective:
    """What is minimized: outlay; full cost; own time; or outlay plus `hour_worth` for each own hour."""

    name: ObjectiveName = "outlay"
    hour_worth: float = 0.0

    def weights(self, own_rate: float) -> Weights:
        """The weight of each measure.

        >>> Objective("full").weights(12.0)
        {'outlay': 1.0, 'own-hours': 12.0, 'wear': 1.0}
        """
        if self.name == "outlay":
            return {"outlay": 1.0}
        if self.name == "own-time":
            return {"own-hours": 1.0}
        if self.name == "hour-worth":
            return {"outlay": 1.0, "own-hours": self.hour_worth}
        return {"outlay": 1.0, "own-hours": own_rate, "wear": 1.0}


@dataclass(frozen=True)
class Limits:
    """Upper limits of a plan; None: no limit."""

    budget: float | None = None
    """Of the outlay, in the currency."""
    own_hours: float | None = None
    printer_hours: float | None = None
    """Of all printers together."""
    days: float | None = None
    """Calendar days that the longest lead time among the parts may take."""
    needed_by: Mapping[str, float] = field(default_factory=dict)
    """Days until a part must be there, by part id."""

    def caps(self, currency: str) -> Caps:
        """Limits of sums over the parts. Payments are rounded to the minor unit, so sums before rounding may exceed
        a budget by nearly half of one.

        >>> Limits(budget=50.0, own_hours=3.0).caps("EUR")
        {'outlay': 50.00499, 'own-hours': 3.0}
        """
        unit = 10.0 ** -minor_digits(currency)
        budget = None if self.budget is None else _down(self.budget, unit) + _NEARLY_HALF * unit
        found = {"outlay": budget, "own-hours": self.own_hours, "printer-hours": self.printer_hours}
        return {measure: most for measure, most in found.items() if most is not None}  # type: ignore[misc]

    def due_days(self, problem: Problem) -> np.ndarray:
        """(parts,): limit of each part's lead time in days; infinite where there is none."""
        most = np.inf if self.days is None else self.days
        return np.array([min(most, self.needed_by.get(part, np.inf)) for part in problem.parts])

    def in_time(self, problem: Problem) -> Problem:
        """The problem with the options whose lead times are within the limits."""
        due = self.due_days(problem)[problem.part_of]
        return problem.only(problem.lead_days <= due * (1.0 + SAME_DAY))

    def of(self, name: LimitName) -> float | None:
        """The limit's value; for `needed-by` 0 days late where any part has a date."""
        if name == "needed-by":
            return 0.0 if self.needed_by else None
        return {
            "budget": self.budget,
            "own-hours": self.own_hours,
            "printer-hours": self.printer_hours,
            "days": self.days,
        }[name]

    def set_to(self, name: LimitName, value: float | None) -> Limits:
        """Another value of one limit; `needed-by`: all parts so many days later, None: no dates.

        >>> Limits(needed_by={"lid": 5.0}).set_to("needed-by", 2.0).needed_by
        {'lid': 7.0}
        """
        if name == "needed-by":
            later = {} if value is None else {part: d + value for part, d in self.needed_by.items()}
            return replace(self, needed_by=later)
        if name == "budget":
            return replace(self, budget=value)
        if name == "own-hours":
            return replace(self, own_hours=value)
        if name == "printer-hours":
            return replace(self, printer_hours=value)
        return replace(self, days=value)

    @property
    def names(self) -> tuple[LimitName, ...]:
        """Those that are set."""
        return tuple(name for name in LIMITS if self.of(name) is not None)
