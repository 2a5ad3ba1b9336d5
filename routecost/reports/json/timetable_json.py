"""A timetable as plain dictionaries with stable names."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from routecost.reports.wording.buy_list_sentences import item_text
from routecost.scheduling.day_loads import DayLoad
from routecost.scheduling.order_days import Order
from routecost.scheduling.timetable import Timetable
from routecost.scheduling.timetable_entries import Entry


def timetable_json(found: Timetable, orders: Sequence[Order] = ()) -> dict[str, Any]:
    """Plain dictionaries with stable names; times are local, ISO 8601."""
    return {
        "start": found.start.isoformat(),
        "finish": found.finish.isoformat(),
        "bound": found.bound.isoformat(),
        "status": found.status,
        "method": found.method,
        "gap_days": found.gap_days,
        "step_min": found.step_min,
        "parts": {part: end.isoformat() for part, end in found.ends.items()},
        "entries": [entry_json(e) for e in found.entries],
        "critical_chain": [
            {
                "part": link.part,
                "operation": link.operation,
                "start": link.start.isoformat(),
                "until": link.until.isoformat(),
                "cause": link.cause,
            }
            for link in found.chain
        ],
        "days": [_day(load) for load in found.days],
        "orders": [
            {"day": o.day.isoformat(), "supplier": o.supplier, "items": [item_text(i) for i in o.items]}
            for o in orders
        ],
    }


def entry_json(e: Entry) -> dict[str, Any]:
    return {
        "start": e.start.isoformat(),
        "end": e.end.isoformat(),
        "part": e.part,
        "route": e.route,
        "operation": e.operation,
        "place": e.place,
        "run": e.run,
        "runs": e.runs,
        "phase": e.phase,
        "resource": e.resource,
        "unit": e.unit,
        "minutes": e.minutes,
        "critical": e.is_critical,
    }


def _day(load: DayLoad) -> dict[str, Any]:
    return {
        "day": load.day.isoformat(),
        "window_min": load.window_min,
        "hands_min": load.hands_min,
        "machine_min": load.machine_min,
    }
