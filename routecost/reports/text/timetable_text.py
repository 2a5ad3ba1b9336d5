"""A timetable in a terminal."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Mapping, Sequence

from rich.console import Console
from rich.markup import escape
from rich.text import Text

from routecost.reports.text.terminal import make_table
from routecost.reports.wording.buy_list_sentences import order_text
from routecost.reports.wording.formats import clock, date, moment
from routecost.reports.wording.timetable_sentences import (
    CAUSE_TEXT,
    finish_proof,
    hands_on_hours,
    operation_text,
    sittings,
)
from routecost.scheduling.order_days import Order
from routecost.scheduling.task_network import OWN_TO_EACH_PART
from routecost.scheduling.timetable import Timetable
from routecost.scheduling.timetable_entries import Entry

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
    orders: Sequence[Order] = (),
) -> None:
    """The finish, a chart of the parts, what to do and to order on the first `days` days (None: all), and the
    critical path."""
    if not found.entries:
        out.print("Nothing left to make, so there is no timetable.")
        return
    _print_head(found, out)
    _print_late(found, out, needed_by or {})
    _print_chart(found, out)
    _print_days(found, orders, out, days)
    _print_chain(found, out)


def _print_head(found: Timetable, out: Console) -> None:
    opens, closes = (dt.timedelta(minutes=m) for m in found.working.window_min)
    midnight = dt.datetime.combine(found.start, dt.time())
    out.print(
        f"Done on {date(found.finish.date())} at {clock(found.finish)}, starting on {date(found.start)}, own work "
        f"from {clock(midnight + opens)} to {clock(midnight + closes)}."
    )
    out.print(finish_proof(found))
    booked, available = hands_on_hours(found)
    share = f", {booked / available:.0%} of the {available:.0f} h available until then" if available else ""
    out.print(f"Hands-on time {booked:.1f} h, each operation rounded up to {found.step_min} min{share}.")


def _print_late(found: Timetable, out: Console, needed_by: Mapping[str, dt.date]) -> None:
    for part, end in found.ends.items():
        if part in needed_by and end.date() > needed_by[part]:
            late = f"late: {part} is done on {date(end.date())} but needed by {date(needed_by[part])}"
            out.print(Text(late, style="bold"))


def _print_chart(found: Timetable, out: Console) -> None:
    width = -(-len(found.days) // CHART)  # days a column
    columns = [found.days[i : i + width] for i in range(0, len(found.days), width)]
    each = "one day" if width == 1 else f"{width} days"
    hands, machine, waiting = SIGNS["hands"], SIGNS["machine"], SIGNS["waiting"]
    out.print(
        f"\nEach column is {each}: {hands} hands-on, {machine} machine running, {waiting} waiting (cure, drying, "
        "delivery); * on the critical path."
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
    _chart_row(out, "own work", _levels(booked, offered), "of own hours", style="dim")
    for name in sorted({name for load in found.days for name in load.machine_min} - OWN_TO_EACH_PART):
        runs = [sum(load.machine_min.get(name, 0.0) for load in c) for c in columns]
        units = max((e.unit for e in found.entries if e.resource == name), default=1)
        _chart_row(
            out, name, _levels(runs, [1440.0 * units * len(c) for c in columns]), "of 24 h", style="dim"
        )


def _chart_row(out: Console, name: str, signs: str, end: str, style: str = "") -> None:
    out.print(Text(f"{name:<{NAME}} {signs:<{CHART}} {end}".rstrip()[: out.width], style=style))


def _signs(entries: Sequence[Entry], start: dt.date, width: int, columns: int) -> str:
    """One sign for each column; hands-on hides machines, and machines hide waiting."""
    found = [" "] * columns
    for sign in ("waiting", "machine", "hands"):
        for entry in entries:
            if entry.phase == sign:
                last = entry.end - dt.timedelta(microseconds=1)
                first, until = ((at.date() - start).days // width for at in (entry.start, last))
                found[first : until + 1] = SIGNS[sign] * (until + 1 - first)
    return "".join(found)


def _levels(amounts: Sequence[float], of: Sequence[float]) -> str:
    """How full each column is; any amount above zero shows.

    >>> _levels([0, 1, 60, 120, 0], [120, 120, 120, 120, 0])
    ' ▁▄█ '
    """
    top = len(LEVELS) - 1
    return "".join(
        LEVELS[min(top, max(1, round(top * a / full)))] if a > 0.0 and full > 0.0 else " "
        for a, full in zip(amounts, of, strict=True)
    )


def _print_days(found: Timetable, orders: Sequence[Order], out: Console, days: int | None) -> None:
    until = None if days is None else found.start + dt.timedelta(days=days)
    table = make_table("day", "from", "to", "part", "task", title="\nSchedule")
    rows = [(o.day, "", "", "", order_text(o)) for o in orders if until is None or o.day < until]
    for e, then in sittings(found, found.start, until):
        task = f"{operation_text(e)}; {then}" if then else operation_text(e)
        rows.append((e.start.date(), clock(e.start), clock(e.end), e.part + "*" * e.is_critical, task))
    last = None
    for on, *cells in sorted(rows, key=lambda row: row[:2]):
        table.add_row("" if on == last else date(on), *map(escape, cells))
        last = on
    out.print(table)
    if orders:
        out.print("Each order is listed on the last working day on which it still arrives in time.")
    later = sum(until is not None and o.day >= until for o in orders)
    if later:
        out.print(f"... and {later} more order{'s' if later > 1 else ''} on later days: see the buy list")
    more = {e.start.date() for e, _then in sittings(found, until)} if until else ()
    if more:
        out.print(f"... and {len(more)} more days with own work")


def _print_chain(found: Timetable, out: Console, most: int = 10) -> None:
    """The critical path: counts of what it waited for, and its end."""
    counts = Counter(link.cause for link in found.chain)
    causes = ", ".join(f"{n} {CAUSE_TEXT[cause]}" for cause, n in counts.most_common())
    out.print(f"\nCritical path: {len(found.chain)} operations; {causes}.")
    title = f"Its last {most} operations" if len(found.chain) > most else ""
    table = make_table("starts", "part", "operation", "", title=title)
    for link in found.chain[-most:]:
        names = escape(link.part), escape(link.operation)
        table.add_row(moment(link.start), *names, CAUSE_TEXT[link.cause])
    out.print(table)
