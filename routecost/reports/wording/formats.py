"""Dates, times of day, hours and quantities as text."""

from __future__ import annotations

import datetime as dt


def date(day: dt.date) -> str:
    """
    >>> date(dt.date(2026, 3, 2))
    'Mon 2026-03-02'
    """
    return f"{('Mon', 'Tue', 'Wed', 'Thu', 'Fri', 'Sat', 'Sun')[day.weekday()]} {day.isoformat()}"


def clock(at: dt.datetime) -> str:
    return f"{at:%H:%M}"


def moment(at: dt.datetime) -> str:
    """Without the year, which is clear from the context.

    >>> moment(dt.datetime(2026, 3, 2, 18, 5))
    'Mon 03-02 18:05'
    """
    return f"{date(at.date())[:4]}{at:%m-%d %H:%M}"


def hours(h: float) -> str:
    """
    >>> hours(0.2), hours(7.25)
    ('12 min', '7.2 h')
    """
    return f"{h * 60:.0f} min" if h < 1.0 else f"{h:.1f} h"


def days(d: float) -> str:
    """
    >>> days(0.25), days(4.0)
    ('6 h', '4.0 d')
    """
    return f"{d * 24:.0f} h" if d < 1.0 else f"{d:.1f} d"


def quantity(x: float) -> str:
    """A quantity with about three figures and no powers of ten.

    >>> quantity(1234.6), quantity(999.6), quantity(13.7642), quantity(0.0123456)
    ('1,235', '1,000', '13.8', '0.0123')
    """
    return f"{x:,.0f}" if abs(x) >= 100 else f"{x:.3g}"
