"""What a plan comes to, in sentences: the same in a terminal and on the page."""

from __future__ import annotations

import datetime as dt

from routecost.api.plan_bill import BillPlan
from routecost.core.money import shown
from routecost.planning.choosing.limits import LimitName
from routecost.planning.comparing.frontier import Trade
from routecost.planning.comparing.infeasibility import Margin, Shortfall
from routecost.reports.wording.formats import date, hours

LIMIT_TEXT: dict[LimitName, str] = {
    "budget": "the budget",
    "own-hours": "own hours",
    "printer-hours": "printer hours",
    "days": "the finish date",
    "needed-by": "the days on which parts are needed",
}


def objective_text(found: BillPlan) -> str:
    """What the plan makes least."""
    objective, c = found.request.objective, found.workshop.tariff.currency
    return {
        "outlay": "outlay",
        "full": f"full cost (an own hour at {shown(found.workshop.tariff.own_rate, c)} {c})",
        "own-time": "own time",
        "hour-worth": f"outlay and {shown(objective.hour_worth, c)} {c} for each own hour",
    }[objective.name]


def optimality_text(found: BillPlan) -> str:
    """How good the plan is proven to be."""
    if found.scheduled.late:
        return "No plan was found whose timetable holds the dates; this one misses them by the fewest days."
    if found.status == "optimal":
        return "No plan within the limits is better: proven."
    return f"At most {found.choice.gap:.1%} could still be saved: proven."


def sufficiency_text(found: BillPlan) -> str:
    """Whether a limit that is moved so far is known to do."""
    dated = found.request.dates.finish_by is not None or found.request.dates.needed_by
    return "that alone may do, if a timetable holds the dates" if dated else "that alone is enough"


def first_day_text(found: BillPlan) -> str:
    """By when all can be done at the soonest; empty where no such day was asked for or found."""
    if found.first_day is None:
        return ""
    return (
        f"{date(found.first_day)} as the last day, by the days and hours that any plan takes; a timetable may end "
        "later"
    )


def finish_text(found: BillPlan) -> str:
    """When all is done, and how sure that is."""
    if found.timetable is None:
        return ""
    planned = f"done on {date(found.timetable.finish.date())} if every time is as likely"
    p80 = found.makespan_spread.at(80) if found.makespan_spread is not None else None
    return planned if p80 is None else f"{planned}, by {date(p80.date())} in four cases of five"


def shortfall_text(found: BillPlan, short: Shortfall, c: str) -> str:
    """What a limit would have to be."""
    start = found.request.dates.start
    if short.limit == "budget":
        return (
            f"a budget of {shown(short.needed, c)} {c} instead of {shown(short.asked, c)} "
            f"({shown(short.short_by, c)} more)"
        )
    if short.limit == "days":
        last = start + dt.timedelta(days=max(0, _whole(short.needed) - 1))
        return f"{date(last)} as the last day, {short.short_by:.1f} days later"
    if short.limit == "needed-by":
        return f"all days on which parts are needed {short.needed:.1f} days later"
    what = LIMIT_TEXT[short.limit]
    return f"{short.needed:.1f} {what} instead of {short.asked:.1f}"


def _whole(days: float) -> int:
    return -(-round(days * 1e6) // 10**6)


def margin_text(found: BillPlan, m: Margin) -> str:
    """What one step more of a limit saves."""
    c = found.workshop.tariff.currency
    step = {
        "budget": f"{shown(m.step, c)} {c} more of budget",
        "own-hours": "one own hour more",
        "printer-hours": "one printer hour more",
        "days": "one day more",
        "needed-by": "all parts needed one day later",
    }[m.limit]
    if m.saving <= 0.0:
        saved = "nothing"
    elif found.request.objective.name == "own-time":
        saved = hours(m.saving)
    else:
        saved = f"{shown(m.saving, c)} {c}"
    return f"{step} would save {saved}" + ("" if m.exact else " (not proven)")


def trade_text(t: Trade, c: str) -> str:
    """A trade as a sentence.

    >>> trade_text(Trade("own-hours", 20.0, 310.0), "EUR")
    '20.0 h more of your own time save 310.00'
    """
    unit = "h {} of your own time" if t.against == "own-hours" else "days {}"
    more = t.more > 0.0
    word = ("more" if more else "less") if t.against == "own-hours" else ("later" if more else "sooner")
    verb = "save" if t.saves > 0.0 else "cost"
    return f"{abs(t.more):.1f} {unit.format(word)} {verb} {shown(abs(t.saves), c)}"
