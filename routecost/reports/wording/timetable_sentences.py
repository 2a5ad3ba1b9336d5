"""What a timetable says, in words: the same in a terminal, on the page, in the workbook and in a calendar."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from routecost.reports.wording.formats import moment
from routecost.scheduling.critical_path import Cause
from routecost.scheduling.timetable import Timetable
from routecost.scheduling.timetable_entries import Entry

CAUSE_TEXT: dict[Cause, str] = {
    "start": "started at once",
    "delivery": "waited for a delivery",
    "order": "followed the previous operation",
    "machine": "waited for a machine",
    "hands": "waited for your time",
}


def finish_proof(found: Timetable) -> str:
    """How good the finish is, in a sentence."""
    if found.status == "optimal":
        return "Proven optimal: no other order of this work finishes sooner."
    return (
        f"Another order of work could finish at most {found.gap_days:.1f} days sooner: nothing can finish before "
        f"{moment(found.bound)}."
    )


def hands_on_hours(found: Timetable) -> tuple[float, float]:
    """Hours of own work in the timetable, and own hours available until its finish."""
    return sum(x.hands_min for x in found.days) / 60.0, sum(x.window_min for x in found.days) / 60.0


def operation_text(e: Entry) -> str:
    """The operation, and which run of how many."""
    return e.operation + (f" ({e.run} of {e.runs})" if e.runs > 1 else "")


def machine_text(e: Entry) -> str:
    """The machine, by number where there are several."""
    return e.resource + (f" no. {e.unit}" if e.unit > 1 else "")


def sittings(found: Timetable, first: dt.date, until: dt.date | None = None) -> Iterator[tuple[Entry, str]]:
    """Own work from a day up to but not on another, each with what runs or waits by itself after it."""
    follows = {(e.plan, e.place, e.run, e.start): e for e in found.entries if e.phase != "hands"}
    for e in found.entries:
        if e.phase == "hands" and first <= e.start.date() and (until is None or e.start.date() < until):
            then = follows.get((e.plan, e.place, e.run, e.end))
            yield e, _then(then) if then else ""


def _then(e: Entry) -> str:
    return f"{f'{machine_text(e)} runs' if e.phase == 'machine' else 'wait'} until {moment(e.end)}"
