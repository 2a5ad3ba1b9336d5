"""Dates as limits of hours and days: necessary conditions for finishing by a date. Only a timetable is sufficient."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from routecost.builds.working_time import WorkingTime
from routecost.planning.choosing.limits import Limits
from routecost.scheduling.workdays import HORIZON_DAYS


@dataclass(frozen=True)
class Dates:
    """Start of work, and due dates."""

    start: dt.date
    finish_by: dt.date | None = None
    needed_by: Mapping[str, dt.date] = field(default_factory=dict)
    """By part id."""

    def days_until(self, day: dt.date) -> float:
        """Days from the midnight before the start to the one after a day.

        >>> Dates(dt.date(2026, 3, 2)).days_until(dt.date(2026, 3, 3))
        2.0
        """
        return float((day - self.start).days + 1)

    def sooner(self, days: int) -> Dates:
        """All due dates moved forward by `days`, none to before the start."""

        def moved(day: dt.date) -> dt.date:
            return max(min(day, self.start), day - dt.timedelta(days=days))

        return Dates(
            self.start,
            None if self.finish_by is None else moved(self.finish_by),
            {part: moved(day) for part, day in self.needed_by.items()},
        )

    def late(self, ends: Mapping[str, dt.datetime]) -> dict[str, dt.date]:
        """Due dates that are missed, by part id, given the parts' `ends`."""
        found = {}
        for part, end in ends.items():
            days = [d for d in (self.finish_by, self.needed_by.get(part)) if d is not None]
            # what ends at midnight ends on the day before
            if days and (end - dt.timedelta(microseconds=1)).date() > min(days):
                found[part] = min(days)
        return found


def with_date_limits(limits: Limits, dates: Dates, working: WorkingTime, printers: int) -> Limits:
    """The limits implied by the dates too: lead times of parts, and own and printer hours available until the last
    day. Due dates in the past are not limits: these parts are late, but still planned."""
    needed = {part: dates.days_until(day) for part, day in dates.needed_by.items() if day >= dates.start}
    found = replace(limits, needed_by={**limits.needed_by, **needed})
    return found if dates.finish_by is None else finished_by(found, dates.finish_by, dates, working, printers)


def finished_by(limits: Limits, day: dt.date, dates: Dates, working: WorkingTime, printers: int) -> Limits:
    """The limits that finishing by the end of a day implies too."""
    days = max(0.0, dates.days_until(day))
    hours = hours_between(0.0, day, dates, working)
    return replace(
        limits,
        days=_least(limits.days, days),
        own_hours=_least(limits.own_hours, hours),
        printer_hours=_least(limits.printer_hours, 24.0 * days * printers),
    )


def hours_between(after_days: float, day: dt.date, dates: Dates, working: WorkingTime) -> float:
    """Own hours in the working windows from `after_days` whole days after the start to the end of a day."""
    span = range(int(after_days), min(HORIZON_DAYS, int(max(0.0, dates.days_until(day)))))
    return working.hours_a_day * sum(not working.is_off(dates.start + dt.timedelta(days=n)) for n in span)


def _least(limit: float | None, other: float) -> float:
    return other if limit is None else min(limit, other)
