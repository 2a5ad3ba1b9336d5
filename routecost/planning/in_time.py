"""A plan whose timetable holds its dates. Limits alone do not see who waits for whose hands, so what the
timetable shows to be scarce is made scarcer in the choice until the dates hold."""

from __future__ import annotations

import datetime as dt
import math
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace
from time import perf_counter
from typing import Literal

from routecost.planning.choice import PROVEN, Choice, choose
from routecost.planning.dates import Dates
from routecost.planning.limits import Limits, Objective
from routecost.planning.problem import Problem
from routecost.planning.timetable import Timetable
from routecost.planning.totals import Totals

ROUNDS = 8
"""Plans tried beyond the first: each takes the time of a choice and of a timetable."""
_LESS = 0.97
"""How much below the fitting share a scarce measure is set, so that rounds get somewhere."""

Schedule = Callable[[Totals], Timetable]


@dataclass(frozen=True, eq=False)
class InTime:
    """A choice with its timetable."""

    choice: Choice
    timetable: Timetable | None
    late: dict[str, dt.date]
    """Parts that end after their day in the best timetable found."""
    rounds: int
    """Other plans that were tried because the first was late."""


def chosen_in_time(
    problem: Problem,
    objective: Objective,
    limits: Limits,
    dates: Dates,
    schedule: Schedule,
    *,
    gap: float = 0.0,
    seconds: float = math.inf,
) -> InTime:
    """The best plan within the limits whose timetable holds the dates, as far as some rounds find one; else
    the one that is late by the fewest days.

    A first plan that holds its dates is proven best within the stated gap. A later one need not be: its bound
    is that of the first, because what the first lacked is a timetable.
    """
    deadline = perf_counter() + seconds
    first = choose(problem, objective, limits, gap=gap, seconds=seconds)
    if first.totals is None:
        return InTime(first, None, {}, 0)
    table = schedule(first.totals)
    best = InTime(first, table, dates.late(table.ends), 0)
    tried, tight = best, limits
    for rounds in range(1, ROUNDS + 1):
        if not tried.late or perf_counter() > deadline:
            break
        tight = _tightened(tight, tried, dates)
        left = max(0.0, deadline - perf_counter())
        found = choose(problem, objective, tight, gap=gap, seconds=left)
        if found.totals is None or found.totals.options == tried.choice.totals.options:  # type: ignore[union-attr]
            break
        table = schedule(found.totals)
        open_gap = _gap(found, first)
        status: Literal["optimal", "feasible"] = "optimal" if open_gap <= PROVEN else "feasible"
        choice = replace(found, status=status, limits=limits, gap=open_gap)
        tried = InTime(choice, table, dates.late(table.ends), rounds)
        if _days_late(tried, dates) < _days_late(best, dates):
            best = tried
    return best


def _gap(found: Choice, first: Choice) -> float:
    least = first.value * (1.0 - first.gap)
    return (found.value - least) / found.value if found.value > least else 0.0


def _days_late(found: InTime, dates: Dates) -> float:
    assert found.timetable is not None
    ends = found.timetable.ends
    return sum(
        (ends[part] - dt.datetime.combine(day, dt.time())).total_seconds() / 86400.0
        for part, day in found.late.items()
    )


def _tightened(limits: Limits, tried: InTime, dates: Dates) -> Limits:
    """Less of what the late parts waited for most: hands, printers, or their own steps."""
    table, totals = tried.timetable, tried.choice.totals
    assert table is not None
    assert totals is not None
    part, day = max(tried.late.items(), key=lambda item: table.ends[item[0]])
    taken = dates.days_until(table.ends[part].date())
    share = _LESS * max(0.1, dates.days_until(day) / max(taken, 1.0))
    waited = Counter(link.cause for link in table.chain)
    if waited["hands"] >= max(waited["machine"], 1):
        return replace(limits, own_hours=share * totals.own_hours)
    if waited["machine"] >= 1:
        return replace(limits, printer_hours=share * totals.printer_hours)
    alone = next(o.lead_days for o in totals.options if o.part == part)
    return replace(limits, needed_by={**limits.needed_by, part: share * alone})
