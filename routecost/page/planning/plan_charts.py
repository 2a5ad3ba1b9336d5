"""Charts of a plan: trade-offs, and the timetable. Readable in grayscale: hands-on work, machines and waiting differ
in lightness and in height."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import altair as alt
import pandas as pd

from routecost.buying.totals import Totals
from routecost.page.charts import INK, KIND_SHADES
from routecost.reports.wording.timetable_sentences import machine_text, operation_text
from routecost.scheduling.timetable import Timetable
from routecost.scheduling.timetable_entries import Entry

PAPER = "#fbfbf8"
BAND = "#e6eae4"
PHASE_TEXT = {
    "hands": "own work",
    "machine": "machine running",
    "waiting": "waiting (cure, drying, delivery)",
}
PHASE_SHADES = {"hands": INK, "machine": KIND_SHADES["material"], "waiting": KIND_SHADES["tool"]}
PHASE_HEIGHT = {"waiting": 4, "machine": 10, "hands": 16}
"""Drawn in this order, so that hands are seen where they overlap."""
LINE = KIND_SHADES["bought"]
ROW = 26
ABOVE = 90
"""Pixels for legend and days, which the height of a chart includes."""
NAMES_WIDTH = 130
"""Room for names left of the time axis, the same in all charts, so that their days stand below each other."""


@dataclass(frozen=True)
class Mark:
    """A plan in a chart of trades."""

    x: float | dt.datetime
    totals: Totals
    bound: float
    """No plan within the same limit has a smaller outlay."""
    is_plan: bool
    """The plan at hand."""


def trade_chart(marks: Sequence[Mark], x_title: str, currency: str, *, is_time: bool) -> Any:
    """The least outlay for each of many limits.
    The least outlay within a limit is a staircase; from each point down hangs what is not proven.
    """
    frame = pd.DataFrame(
        {
            "x": m.x,
            "outlay": m.totals.outlay,
            "bound": m.bound,
            "own hours": m.totals.own_hours,
            "is_plan": m.is_plan,
        }
        for m in marks
    )
    amounts = [float(v) for name in ("outlay", "bound") for v in frame[name]]
    is_log = min(amounts) > 0.0 and max(amounts) > 8.0 * min(amounts)
    kind = " (logarithmic)" if is_log else ""
    scale = alt.Scale(type="log", nice=False, padding=12) if is_log else alt.Scale(zero=False, padding=12)
    x = (
        alt.X("x:T", title=x_title, axis=alt.Axis(format="%d %b", labelOverlap=True))
        if is_time
        else alt.X("x:Q", title=x_title, scale=alt.Scale(zero=False, padding=16))
    )
    y = alt.Y("outlay:Q", title=f"outlay, {currency}{kind}", scale=scale, axis=alt.Axis(format=",.0f"))
    tips = [
        alt.Tooltip("x:T", title=x_title, format="%a %d %b")
        if is_time
        else alt.Tooltip("x:Q", title=x_title, format=".1f"),
        alt.Tooltip("outlay:Q", format=",.2f"),
        alt.Tooltip("bound:Q", title="lower bound", format=",.2f"),
        alt.Tooltip("own hours:Q", format=".1f"),
    ]
    base = alt.Chart(frame).encode(x=x)
    stairs = base.mark_line(interpolate="step-after", color=KIND_SHADES["tool"]).encode(y=y)
    unproven = base.mark_rule(color=KIND_SHADES["tool"], strokeDash=[2, 3]).encode(y=y, y2="bound:Q")
    bounds = base.mark_tick(color=KIND_SHADES["tool"], thickness=2, size=9, orient="horizontal").encode(
        y=alt.Y("bound:Q", scale=scale)
    )
    others = (
        base.transform_filter("!datum.is_plan")
        .mark_point(shape="circle", size=60, filled=True, color=KIND_SHADES["material"], opacity=1)
        .encode(y=y, tooltip=tips)
    )
    plan = base.transform_filter("datum.is_plan")
    mark = plan.mark_point(shape="diamond", size=170, filled=True, color=INK, opacity=1).encode(
        y=y, tooltip=tips
    )
    name = plan.mark_text(text="this plan", dx=9, dy=-12, align="left", color=INK, fontSize=12).encode(y=y)
    return (unproven + bounds + stairs + others + mark + name).properties(height=420)


def between(found: Timetable, first: dt.date, last: dt.date) -> list[Entry]:
    """What is under way on some days."""
    return [e for e in found.entries if e.end > _midnight(first) and e.start < _midnight(last, 1)]


def gantt_chart(found: Timetable, entries: Sequence[Entry], first: dt.date, last: dt.date) -> Any:
    """A row a part, from its first step on: what is done by hand, what a machine does, what waits."""
    parts = list(dict.fromkeys(e.part for e in entries))
    frame = pd.DataFrame(_bar(e) for e in entries)
    x = _days_axis(first, last, labels=True)
    y = alt.Y("part:N", sort=parts, title=None, axis=_names_axis(grid=True))
    shades = alt.Scale(domain=list(PHASE_TEXT.values()), range=list(PHASE_SHADES.values()))
    color = alt.Color("phase:N", scale=shades, title=None, legend=alt.Legend(orient="top", labelLimit=260))
    tips = ["part", "operation", "what", "from", "to", alt.Tooltip("note:N", title="note")]
    base = alt.Chart(frame).encode(x=x, x2="end:T", y=y)
    bars = [
        base.transform_filter(f"datum.phase == '{PHASE_TEXT[phase]}'")
        .mark_bar(size=height, clip=True, stroke=INK if phase == "hands" else None, strokeWidth=1)
        .encode(color=color, tooltip=tips)
        for phase, height in PHASE_HEIGHT.items()
    ]
    critical = base.transform_filter("datum.critical").mark_bar(size=3, yOffset=11, color=LINE, clip=True)
    return alt.layer(_windows(found, first, last), *bars, critical.encode(tooltip=tips)).properties(
        height=ROW * max(len(parts), 1) + ABOVE
    )


def load_chart(found: Timetable, resource: str, units: int, first: dt.date, last: dt.date) -> Any:
    """Hours a day that hands or machines of a kind are busy, below the hours that there are."""
    hands = resource == "hands"
    frame = pd.DataFrame(
        {
            "day": _midnight(load.day),
            "until": _midnight(load.day, 1),
            "hours": (load.hands_min if hands else load.machine_min.get(resource, 0.0)) / 60.0,
            "available": load.window_min / 60.0 if hands else 24.0 * units,
        }
        for load in found.days
        if first <= load.day <= last
    )
    top = max([1e-9, *frame["available"], *frame["hours"]])
    x = _days_axis(first, last, labels=False, field="day")
    y = alt.Y(
        "hours:Q",
        title=None,
        scale=alt.Scale(domain=[0.0, top]),
        axis=_names_axis(values=[0.0, top], format=".3~g"),
    )
    tips = [
        alt.Tooltip("day:T", format="%a %d %b"),
        alt.Tooltip("hours:Q", format=".1f"),
        alt.Tooltip("available:Q", format=".1f"),
    ]
    base = alt.Chart(frame).encode(x=x, x2="until:T", tooltip=tips)
    room = base.mark_rect(color=BAND, stroke=PAPER, clip=True).encode(
        y=alt.Y("available:Q", title=None), y2=alt.datum(0.0)
    )
    busy = base.mark_rect(
        color=PHASE_SHADES["hands" if hands else "machine"], stroke=PAPER, clip=True
    ).encode(y=y, y2=alt.datum(0.0))
    return (room + busy).properties(height=58)


def _bar(e: Entry) -> dict[str, object]:
    doing = {"hands": "own work", "machine": f"{machine_text(e)} running", "waiting": "waiting"}[e.phase]
    return {
        "part": e.part,
        "operation": operation_text(e),
        "phase": PHASE_TEXT[e.phase],
        "what": doing,
        "start": e.start,
        "end": e.end,
        "from": f"{e.start:%a %d %b %H:%M}",
        "to": f"{e.end:%a %d %b %H:%M}",
        "critical": e.is_critical,
        "note": e.note,
    }


def _midnight(day: dt.date, later: int = 0) -> dt.datetime:
    return dt.datetime.combine(day + dt.timedelta(days=later), dt.time())


def _windows(found: Timetable, first: dt.date, last: dt.date) -> Any:
    """When hands work: the pale bands between the nights."""
    opens, closes = (dt.timedelta(minutes=m) for m in found.working.window_min)
    days = [first + dt.timedelta(days=n) for n in range((last - first).days + 1)]
    bands = [
        {"start": _midnight(day) + opens, "end": _midnight(day) + closes}
        for day in days
        if not found.working.is_off(day)
    ]
    frame = pd.DataFrame(bands or [{"start": _midnight(first), "end": _midnight(first)}])
    return (
        alt.Chart(frame)
        .mark_rect(color=BAND, clip=True)
        .encode(x=_days_axis(first, last, labels=True), x2="end:T")
    )


def _days_axis(first: dt.date, last: dt.date, *, labels: bool, field: str = "start") -> Any:
    days = (last - first).days + 1
    every = next(n for n in (1, 2, 7, 14, 28, 91, 10**6) if days <= 14 * n)
    marks = [first + dt.timedelta(days=n) for n in range(0, days, every)]
    axis = alt.Axis(
        values=[_moment(day) for day in marks],
        format="%a %d %b" if every < 28 else "%d %b %Y",
        labels=labels,
        orient="top",
        ticks=labels,
        gridColor=KIND_SHADES["upkeep"],
        labelAlign="left",
        labelOverlap=True,
    )
    ends = [_moment(first), _moment(last + dt.timedelta(days=1))]
    return alt.X(f"{field}:T", title=None, scale=alt.Scale(domain=ends, nice=False), axis=axis)


def _moment(day: dt.date) -> Any:
    return alt.DateTime(year=day.year, month=day.month, date=day.day)


def _names_axis(**more: Any) -> Any:
    return alt.Axis(
        minExtent=NAMES_WIDTH, maxExtent=NAMES_WIDTH, labelLimit=NAMES_WIDTH - 8, labelOverlap=False, **more
    )
