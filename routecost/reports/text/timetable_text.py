"""A timetable in a terminal."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Mapping, Sequence
from itertools import groupby

from rich.console import Console
from rich.markup import escape
from rich.text import Text

from routecost.planning.scheduling.task_network import OWN_TO_EACH_PART
from routecost.planning.scheduling.timetable import Timetable
from routecost.planning.scheduling.timetable_entries import Entry
from routecost.reports.text.terminal import make_table
from routecost.reports.wording.formats import clock, date, moment
from routecost.reports.wording.timetable_sentences import CAUSES, finish_proof

NAME = 18
"""Columns for a name beside the chart; longer names are cut."""
CHART = 64
"""Columns of the chart: what is left of 100 beside a name and the day a part is done."""
SIGNS = {"hands": "■", "machine": "=", "waiting": "·"}
LEVELS = " ▁▂▃▄▅▆▇█"


def print_timetable(
    found: Timetable,
    out: Console,
    *,
    days: int | None = 14,
    needed_by: Mapping[str, dt.date] | None = None,
) -> None:
    """The finish, a chart of the parts, what to do on the first `days` days (None: all), and what decides."""
    if not found.entries:
        out.print("Nothing is to be made, so there is no timetable.")
        return
    _print_head(found, out)
    _print_late(found, out, needed_by or {})
    _print_chart(found, out)
    _print_days(found, out, days)
    _print_chain(found, out)


def _print_head(found: Timetable, out: Console) -> None:
    opens, closes = (dt.timedelta(minutes=m) for m in found.working.window_min)
    midnight = dt.datetime.combine(found.start, dt.time())
    out.print(
        f"All is done on {date(found.finish.date())} at {clock(found.finish)}, from {date(found.start)} on and "
        f"with hands from {clock(midnight + opens)} to {clock(midnight + closes)}."
    )
    out.print(finish_proof(found))
    booked = sum(load.hands_min for load in found.days) / 60.0
    offered = sum(load.window_min for load in found.days) / 60.0
    share = f", {booked / offered:.0%} of the {offered:.0f} h until then" if offered else ""
    out.print(f"Hands-on {booked:.1f} h, rounded up to {found.step_min} min each{share}.")


def _print_late(found: Timetable, out: Console, needed_by: Mapping[str, dt.date]) -> None:
    for part, end in found.ends.items():
        if part in needed_by and end.date() > needed_by[part]:
            late = f"late: {part} is done on {date(end.date())} and needed by {date(needed_by[part])}"
            out.print(Text(late, style="bold"))


def _print_chart(found: Timetable, out: Console) -> None:
    width = -(-len(found.days) // CHART)  # days a column
    columns = [found.days[i : i + width] for i in range(0, len(found.days), width)]
    each = "a day" if width == 1 else f"{width} days"
    hands, machine, waiting = SIGNS["hands"], SIGNS["machine"], SIGNS["waiting"]
    out.print(
        f"\nA column is {each}: {hands} hands-on, {machine} machine runs, {waiting} cures, dries, on its way; "
        "* decides the finish."
    )
    scale = [" "] * (len(columns) + 6)
    for i in range(0, len(columns), 8):
        scale[i : i + 6] = f"|{columns[i][0].day:%m-%d}"
    _chart_row(out, "", "".join(scale), "done", style="dim")
    ends, critical = found.ends, {e.part for e in found.entries if e.is_critical}
    for part in ends:
        signs = _signs([e for e in found.entries if e.part == part], found.start, width, len(columns))
        name = part if len(part) < NAME else part[: NAME - 2] + "…"
        _chart_row(out, name + "*" * (part in critical), signs, date(ends[part].date()))
    offered = [sum(load.window_min for load in c) for c in columns]
    booked = [sum(load.hands_min for load in c) for c in columns]
    _chart_row(out, "hands", _levels(booked, offered), "of own hours", style="dim")
    for name in sorted({name for load in found.days for name in load.machine_min} - OWN_TO_EACH_PART):
        runs = [sum(load.machine_min.get(name, 0.0) for load in c) for c in columns]
        units = max((e.unit for e in found.entries if e.resource == name), default=1)
        _chart_row(
            out, name, _levels(runs, [1440.0 * units * len(c) for c in columns]), "of 24 h", style="dim"
        )


def _chart_row(out: Console, name: str, signs: str, end: str, style: str = "") -> None:
    out.print(Text(f"{name:<{NAME}} {signs:<{CHART}} {end}".rstrip()[: out.width], style=style))


def _signs(entries: Sequence[Entry], start: dt.date, width: int, columns: int) -> str:
    """A sign a column: hands before machines before waits."""
    found = [" "] * columns
    for sign in ("waiting", "machine", "hands"):
        for entry in entries:
            if entry.phase == sign:
                last = entry.end - dt.timedelta(microseconds=1)
                first, until = ((at.date() - start).days // width for at in (entry.start, last))
                found[first : until + 1] = SIGNS[sign] * (until + 1 - first)
    return "".join(found)


def _levels(amounts: Sequence[float], of: Sequence[float]) -> str:
    """How full each column is; the least amount shows.

    >>> _levels([0, 1, 60, 120, 0], [120, 120, 120, 120, 0])
    ' ▁▄█ '
    """
    top = len(LEVELS) - 1
    return "".join(
        LEVELS[min(top, max(1, round(top * a / full)))] if a > 0.0 and full > 0.0 else " "
        for a, full in zip(amounts, of, strict=True)
    )


def _print_days(found: Timetable, out: Console, days: int | None) -> None:
    until = None if days is None else found.start + dt.timedelta(days=days)
    follows = {(e.plan, e.place, e.run, e.start): e for e in found.entries if e.phase != "hands"}
    by_day = groupby((e for e in found.entries if e.phase == "hands"), key=lambda e: e.start.date())
    table = make_table("day", "from", "to", "part", "what to do", title="\nWhat to do when")
    more = 0
    for day, entries in by_day:
        if until is not None and day >= until:
            more += 1
            continue
        shown = date(day)
        for e in entries:
            then = follows.get((e.plan, e.place, e.run, e.end))
            part, what = escape(e.part) + "*" * e.is_critical, escape(_what(e, then))
            table.add_row(shown, clock(e.start), clock(e.end), part, what)
            shown = ""
    out.print(table)
    if more:
        out.print(f"... and {more} more days with work for hands")


def _what(sitting: Entry, then: Entry | None) -> str:
    """What to do, and what that sets going."""
    told = sitting.operation + (f" ({sitting.run} of {sitting.runs})" if sitting.runs > 1 else "")
    if then is None:
        return told
    unit = f" no. {then.unit}" if then.unit > 1 else ""
    return f"{told}; {f'{then.resource}{unit} runs' if then.phase == 'machine' else 'waits'} until {moment(then.end)}"


def _print_chain(found: Timetable, out: Console, most: int = 10) -> None:
    """What the chain waited for, and its end."""
    counts = Counter(link.cause for link in found.chain)
    told = ", ".join(f"{n} {CAUSES[cause]}" for cause, n in counts.most_common())
    out.print(f"\nWhat decides the finish: a chain of {len(found.chain)} operations; {told}.")
    table = make_table(
        "begins", "part", "operation", "", title=f"Its last {most}" if len(found.chain) > most else ""
    )
    for link in found.chain[-most:]:
        names = escape(link.part), escape(link.operation)
        table.add_row(moment(link.start), *names, CAUSES[link.cause])
    out.print(table)
