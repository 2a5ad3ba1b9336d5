"""Dates as limits: what any plan must keep that is to be done by a day. Necessary, not sufficient: whether a
plan holds its dates is what its timetable says."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from routecost.builds.working_time import WorkingTime
from routecost.planning.choosing.limits import Limits
from routecost.scheduling.workdays import HORIZON_DAYS


@dataclass(frozen=True)
class Dates:
    """When work begins, and by when what must be there."""

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
        """All dates so many days sooner, none before the start."""

        def moved(day: dt.date) -> dt.date:
            return max(min(day, self.start), day - dt.timedelta(days=days))

        return Dates(
            self.start,
            None if self.finish_by is None else moved(self.finish_by),
            {part: moved(day) for part, day in self.needed_by.items()},
        )

    def late(self, ends: Mapping[str, dt.datetime]) -> dict[str, dt.date]:
        """Parts that end after their day, with it; `ends` by part id. A day that has passed is missed."""
        found = {}
        for part, end in ends.items():
            days = [d for d in (self.finish_by, self.needed_by.get(part)) if d is not None]
            # what ends at midnight ends on the day before
            if days and (end - dt.timedelta(microseconds=1)).date() > min(days):
                found[part] = min(days)
        return found


def with_date_limits(limits: Limits, dates: Dates, working: WorkingTime, printers: int) -> Limits:
    """The limits with what follows from the dates: the days that each part may take, and no more hours of
    hands and of all printers than there are until the last day. Days that have passed cannot be kept: what is
    needed then is late, but still planned."""
    needed = {part: dates.days_until(day) for part, day in dates.needed_by.items() if day >= dates.start}
    found = replace(limits, needed_by={**limits.needed_by, **needed})
    return found if dates.finish_by is None else finished_by(found, dates.finish_by, dates, working, printers)


def finished_by(limits: Limits, day: dt.date, dates: Dates, working: WorkingTime, printers: int) -> Limits:
    """The limits with what any plan keeps that is done by the end of a day."""
    days = max(0.0, dates.days_until(day))
    hours = hours_between(0.0, day, dates, working)
    return replace(
        limits,
        days=_least(limits.days, days),
        own_hours=_least(limits.own_hours, hours),
        printer_hours=_least(limits.printer_hours, 24.0 * days * printers),
    )


def hours_between(after_days: float, day: dt.date, dates: Dates, working: WorkingTime) -> float:
    """Own hours that the windows hold from so many whole days after the start until the end of a day."""
    span = range(int(after_days), min(HORIZON_DAYS, int(max(0.0, dates.days_until(day)))))
    return working.hours_a_day * sum(not working.is_off(dates.start + dt.timedelta(days=n)) for n in span)


def _least(limit: float | None, other: float) -> float:
    return other if limit is None else min(limit, other)
