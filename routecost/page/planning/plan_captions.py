"""Captions of the plan page."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping, Sequence

from routecost.api.plan_bill import Plan
from routecost.buying.totals import Totals
from routecost.core.money import shown
from routecost.planning.comparing.frontier import trades
from routecost.planning.comparing.makespan_frontier import MakespanPoint
from routecost.planning.comparing.option_diff import change_text
from routecost.reports.wording.plan_sentences import trade_text


def currency(found: Plan) -> str:
    return found.workshop.tariff.currency


def _days(days: float) -> str:
    return "1 day" if abs(days - 1.0) < 0.05 else f"{days:.1f} days"


def hours_trades(found: Plan, at: Totals) -> tuple[str, ...]:
    """Trade-offs to the neighbors on the frontier of own hours."""
    c = currency(found)
    return tuple(f"{trade_text(t, c)}." for t in trades(found.frontier, at))


def finish_trades(found: Plan, at: Totals, finish: dt.datetime) -> tuple[str, ...]:
    """What an earlier finish costs and a later one saves, for the neighbors on the frontier."""
    c, points = currency(found), found.makespan_frontier
    sooner = [p for p in points if p.finish < finish and p.totals.outlay > at.outlay]
    later = [p for p in points if p.finish > finish and p.totals.outlay < at.outlay]
    return (
        *_neighbor(max(sooner, key=_finish, default=None), at, finish, "sooner", c),
        *_neighbor(min(later, key=_finish, default=None), at, finish, "later", c),
    )


def _finish(point: MakespanPoint) -> dt.datetime:
    return point.finish


def _neighbor(
    point: MakespanPoint | None, at: Totals, finish: dt.datetime, word: str, c: str
) -> tuple[str, ...]:
    if point is None:
        return ()
    days = abs((point.finish - finish).total_seconds()) / 86400.0
    difference = point.totals.outlay - at.outlay
    verb = "costs" if difference > 0.0 else "saves"
    return (f"Finishing {_days(days)} {word} {verb} {shown(abs(difference), c)} {c}.",)


def differences_text(some: Totals, plan: Totals, names: Mapping[str, str]) -> str:
    """How another plan differs."""
    return "; ".join(
        f"{a.part}: {change_text(b, a, names)}"
        for a, b in zip(some.options, plan.options, strict=True)
        if a.plan is not b.plan
    )


def plain(text: str) -> str:
    r"""A text escaped so that Markdown shows it literally.

    >>> plain("lid_v2 [left], 2 * 3")
    'lid\\_v2 \\[left\\], 2 \\* 3'
    """
    return re.sub(r"([\\`*_{}\[\]<>$~|#:])", r"\\\1", text)


def named(parts: Sequence[str], most: int = 6) -> str:
    """A list of names that stays short.

    >>> named(["a", "b", "c"], 2)
    'a, b and 1 more'
    """
    more = f" and {len(parts) - most} more" if len(parts) > most else ""
    return ", ".join(parts[:most]) + more
