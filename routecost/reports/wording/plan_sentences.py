"""What a plan says, in sentences: the same in a terminal, on the page and in the workbook."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

from routecost.api.plan_bill import Plan
from routecost.buying.options import Option
from routecost.buying.totals import Totals
from routecost.core.money import shown
from routecost.planning.choosing.limits import LimitName
from routecost.planning.comparing.frontier import Trade
from routecost.planning.comparing.infeasibility import Margin, Shortfall
from routecost.reports.wording.formats import date, hours

LIMIT_TEXT: dict[LimitName, str] = {
    "budget": "budget",
    "own-hours": "own hours",
    "printer-hours": "printer hours",
    "days": "finish date",
    "needed-by": "dates in needed_by",
}


def objective_text(found: Plan) -> str:
    """What the plan minimizes."""
    objective, c = found.request.objective, found.workshop.tariff.currency
    return {
        "outlay": "outlay",
        "full": f"full cost (own time at {shown(found.workshop.tariff.own_rate, c)} {c}/h)",
        "own-time": "own time",
        "hour-worth": f"outlay plus {shown(objective.hour_worth, c)} {c} per own hour",
    }[objective.name]


def optimality_text(found: Plan) -> str:
    """How good the plan is proven to be."""
    if found.scheduled.late:
        return "No plan found meets all dates; this one misses them by the fewest days."
    if found.status == "optimal":
        return "Proven optimal: no other plan within the limits is better."
    return f"Proven to be within {found.choice.gap:.1%} of the best possible plan."


def done_text(done: Mapping[str, int]) -> str:
    """Copies that are finished, so that they are not planned again."""
    return ", ".join(f"{n} x {part}" for part, n in done.items())


def late_text(late: Mapping[str, dt.date]) -> str:
    """Parts that miss their dates."""
    return ", ".join(f"{part} (needed by {date(day)})" for part, day in late.items())


def changes_needed(option: Option) -> list[str]:
    """What must be changed about the part for this route."""
    return [reason.text for reason in option.plan.verdict.reasons if reason.level == "changes"]


def is_same_choice(a: Totals, b: Totals) -> bool:
    """Whether two plans make every part by the same process."""
    return len(a.options) == len(b.options) and all(
        x.plan is y.plan for x, y in zip(a.options, b.options, strict=True)
    )


def sufficiency_text(found: Plan) -> str:
    """Whether relaxing one limit this far is known to be enough."""
    dated = found.request.dates.finish_by is not None or found.request.dates.needed_by
    return "this alone may be enough, if a timetable meets the dates" if dated else "this alone is enough"


def earliest_finish_text(found: Plan) -> str:
    """The earliest possible finish date; empty where it was not computed."""
    if found.first_day is None:
        return ""
    return (
        f"a finish date of {date(found.first_day)} or later: no plan can be done sooner, and the timetable may "
        "need longer"
    )


def finish_text(found: Plan) -> str:
    """The planned finish, and the one that holds in 80 % of samples."""
    if found.timetable is None:
        return ""
    planned = f"done on {date(found.timetable.finish.date())} at the most likely times"
    p80 = found.makespan_spread.at(80) if found.makespan_spread is not None else None
    return planned if p80 is None else f"{planned}, by {date(p80.date())} with 80 % probability"


def shortfall_text(found: Plan, short: Shortfall, c: str) -> str:
    """What a limit would have to be."""
    start = found.request.dates.start
    if short.limit == "budget":
        return (
            f"a budget of {shown(short.needed, c)} {c} instead of {shown(short.requested, c)} "
            f"({shown(short.short_by, c)} more)"
        )
    if short.limit == "days":
        last = start + dt.timedelta(days=max(0, _whole(short.needed) - 1))
        return f"a finish date of {date(last)}, {short.short_by:.1f} days later"
    if short.limit == "needed-by":
        return f"all dates in needed_by moved {short.needed:.1f} days later"
    return f"{short.needed:.1f} {LIMIT_TEXT[short.limit]} instead of {short.requested:.1f}"


def _whole(days: float) -> int:
    return -(-round(days * 1e6) // 10**6)


def margin_text(found: Plan, m: Margin) -> str:
    """What relaxing a limit by one step saves."""
    c = found.workshop.tariff.currency
    step = {
        "budget": f"{shown(m.step, c)} {c} more budget",
        "own-hours": "one more own hour",
        "printer-hours": "one more printer hour",
        "days": "one more day",
        "needed-by": "moving all dates in needed_by one day later",
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

    >>> trade_text(Trade(20.0, 310.0), "EUR")
    '20.0 h more of your own time save 310.00 EUR'
    """
    word = "more" if t.more_hours > 0.0 else "less"
    verb = "save" if t.saves > 0.0 else "cost"
    return f"{abs(t.more_hours):.1f} h {word} of your own time {verb} {shown(abs(t.saves), c)} {c}"
