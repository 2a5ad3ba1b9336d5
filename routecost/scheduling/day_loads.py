"""How full each day is: of own time, and of machines."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field

from routecost.builds.working_time import WorkingTime
from routecost.scheduling.timetable_entries import Entry


@dataclass(frozen=True)
class DayLoad:
    day: dt.date
    window_min: float
    """Own time that the day offers; 0 on a day off."""
    hands_min: float = 0.0
    machine_min: dict[str, float] = field(default_factory=dict)
    """By machine; two printers of a kind may run 48 hours a day."""


def loads_of(
    entries: Sequence[Entry], working: WorkingTime, start: dt.date, finish: dt.datetime
) -> tuple[DayLoad, ...]:
    """Every day from `start` to the one of the `finish`."""
    hands: dict[dt.date, float] = {}
    machines: dict[dt.date, dict[str, float]] = {}
    for entry in entries:
        if entry.phase == "waiting":
            continue
        for day, minutes in _by_day(entry.start, entry.end):
            if entry.phase == "hands":
                hands[day] = hands.get(day, 0.0) + minutes
            else:
                of_day = machines.setdefault(day, {})
                of_day[entry.resource] = of_day.get(entry.resource, 0.0) + minutes
    days = (start + dt.timedelta(days=n) for n in range((finish.date() - start).days + 1))
    return tuple(
        DayLoad(
            day=day,
            window_min=0.0 if working.is_off(day) else working.hours_a_day * 60.0,
            hands_min=hands.get(day, 0.0),
            machine_min=dict(sorted(machines.get(day, {}).items())),
        )
        for day in days
    )


def _by_day(start: dt.datetime, end: dt.datetime) -> list[tuple[dt.date, float]]:
    found = []
    while start < end:
        midnight = dt.datetime.combine(start.date() + dt.timedelta(days=1), dt.time())
        until = min(end, midnight)
        found.append((start.date(), (until - start).total_seconds() / 60.0))
        start = until
    return found
