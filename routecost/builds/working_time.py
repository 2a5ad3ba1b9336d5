"""Working hours: a daily window of own work, except on days off."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass

from routecost.core.errors import InputError

WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
DAY_MIN = 24 * 60
USUAL_OPENING_MIN = 18 * 60.0
"""After a job during the day."""
USUAL_CLOSING_MIN = 22 * 60.0
"""Long evenings start earlier rather than end later."""


@dataclass(frozen=True)
class WorkingTime:
    """A window of the day, and the days without one.

    >>> working = WorkingTime(2.0, weekdays_off=frozenset({6}))
    >>> working.window_min, working.is_off(dt.date(2026, 3, 1))
    ((1080.0, 1200.0), True)
    """

    hours_a_day: float
    opens_min: float | None = None
    """Minutes after midnight; without it 18:00, or earlier so that long hours end by 22:00."""
    weekdays_off: frozenset[int] = frozenset()
    """Monday is 0."""
    spans_off: tuple[tuple[dt.date, dt.date], ...] = ()
    """First and last day of each."""

    @property
    def window_min(self) -> tuple[float, float]:
        """When it opens and closes, in minutes after midnight. More hours contain fewer, unless an opening
        is set: then they begin together."""
        length = self.hours_a_day * 60.0
        opens = self.opens_min
        if opens is None:
            opens = min(USUAL_OPENING_MIN, max(0.0, USUAL_CLOSING_MIN - length))
        return opens, opens + length

    def is_off(self, day: dt.date) -> bool:
        return day.weekday() in self.weekdays_off or any(a <= day <= b for a, b in self.spans_off)


def read_working_time(hours_a_day: float, work_from: str = "", days_off: str = "") -> WorkingTime:
    """From the keys of build.toml. Raises InputError.

    >>> read_working_time(3.0, "17:30", "sunday 2026-12-24/2026-12-26").window_min
    (1050.0, 1230.0)
    """
    opens = _opening(work_from, hours_a_day) if work_from.strip() else None
    weekdays, spans = set[int](), []
    for word in re.split(r"[\s,;]+", days_off.strip().lower()):
        if word in WEEKDAYS:
            weekdays.add(WEEKDAYS.index(word))
        elif word:
            spans.append(_span(word))
    if len(weekdays) == len(WEEKDAYS):
        raise _error("days_off", "every weekday is off", "remove a weekday on which you work")
    return WorkingTime(hours_a_day, opens, frozenset(weekdays), tuple(spans))


def _opening(text: str, hours_a_day: float) -> float:
    found = re.fullmatch(r"([01]?\d|2[0-3]):([0-5]\d)", text.strip())
    if found is None:
        raise _error("work_from", f"{text!r} is not a time of day", "write one such as 18:00")
    opens = int(found[1]) * 60.0 + int(found[2])
    if opens + hours_a_day * 60.0 > DAY_MIN:
        what = f"{hours_a_day:g} hours from {text.strip()} go past midnight"
        raise _error("work_from", what, "start earlier, or reduce hours_a_day")
    return opens


def _span(word: str) -> tuple[dt.date, dt.date]:
    """A date, or the first and the last with a slash between, as ISO 8601 writes intervals."""
    mend = "write weekdays, dates, or date ranges such as 2026-12-24/2027-01-02, separated by spaces"
    try:
        first, *last = (dt.date.fromisoformat(end) for end in word.split("/"))
    except ValueError:
        raise _error("days_off", f"{word!r} is neither a weekday nor a date", mend) from None
    if len(last) > 1 or (last and last[0] < first):
        raise _error("days_off", f"{word!r} does not end after it starts", mend)
    return first, (last[0] if last else first)


def _error(key: str, what: str, mend: str) -> InputError:
    return InputError.of("build.toml", f"key {key}", what, mend)
