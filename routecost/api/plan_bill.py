"""Planning the whole bill in one call: a jointly optimal option for each part, a buy list, a timetable and
their uncertainty."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from routecost.bill.rank_bill import Progress, as_build, rank
from routecost.builds.build import Build
from routecost.buying.buy_list import Item, items
from routecost.buying.options import Workshop
from routecost.buying.totals import Totals, totals
from routecost.core.money import with_currency
from routecost.core.wording import counted, short_repr
from routecost.costing.ranking import RankedPart
from routecost.planning.choosing.candidates import Candidates, candidates_of
from routecost.planning.choosing.choice import Choice
from routecost.planning.choosing.date_limits import Dates, with_date_limits
from routecost.planning.choosing.deadlines import (
    Calendar,
    ScheduledChoice,
    choose_with_deadlines,
    first_day,
)
from routecost.planning.choosing.limits import Limits, Objective
from routecost.planning.choosing.plan_request import CheckedRequest, PlanRequest, checked_request
from routecost.planning.comparing.alternatives import alternative_plans
from routecost.planning.comparing.baseline import Baseline, baseline_of
from routecost.planning.comparing.frontier import Point, frontier
from routecost.planning.comparing.infeasibility import Infeasibility, Margin, explain_infeasibility, margins
from routecost.planning.comparing.makespan_frontier import MakespanPoint, makespan_frontier
from routecost.planning.comparing.monte_carlo import OutlaySample, sample_outlay
from routecost.planning.progress.in_progress import InProgress, WorkInProgress, work_in_progress
from routecost.planning.progress.saved_plan import SavedPlan
from routecost.scheduling.makespan_spread import MakespanSpread, makespan_spread
from routecost.scheduling.order_days import Order, OrderDays, order_days, orders_of
from routecost.scheduling.timetable import Timetable, deliveries, schedule
from routecost.scheduling.workshop import workshop_of
from routecost.shop.standards import OrderingStandards

if TYPE_CHECKING:
    import pandas as pd

SECONDS = 60.0
"""Time limit of one choice: a bill of a few dozen parts takes a few seconds, one of 200 about this."""
TIMETABLE_S = 10.0
"""Effort for the timetable of the plan."""
QUICK_TIMETABLE_S = 0.5
"""Effort for the timetables of other plans, which are only compared."""
POINT_NODES = 60
"""Node limit of a frontier point or a margin: a second or two for a few dozen parts, deterministic. What is not proven
optimal by then is shown with its gap."""
POINT_S = 30.0
"""Time limit of such a point."""


@dataclass(frozen=True, eq=False)
class Plan:
    """A plan for the whole bill, or why the request is infeasible."""

    build: Build
    day: dt.date
    """Date of the prices."""
    request: CheckedRequest
    limits: Limits
    """Including those implied by dates."""
    ranked: tuple[RankedPart, ...]
    """Parts with copies left to make, ranked for these."""
    done: Mapping[str, int]
    """Copies done, by part id, where there are any."""
    bill: Candidates
    choice: Choice
    scheduled: ScheduledChoice
    items: tuple[Item, ...]
    order_days: Mapping[str, OrderDays]
    """By resource that has to be ordered."""
    in_progress: tuple[InProgress, ...] = ()
    """Parts of which only the remaining work is planned."""
    baseline: Baseline | None = None
    margins: tuple[Margin, ...] = ()
    why: Infeasibility | None = None
    first_day: dt.date | None = None
    """The first feasible `finish_by` where that of the request is infeasible."""
    frontier: tuple[Point, ...] = ()
    makespan_frontier: tuple[MakespanPoint, ...] = ()
    spread: OutlaySample | None = None
    alternatives: tuple[Totals, ...] = ()
    makespan_spread: MakespanSpread | None = None

    def __repr__(self) -> str:
        found, table = self.totals, self.timetable
        outlay = f"{with_currency(found.outlay, self.workshop.tariff.currency)} outlay" if found else ""
        finish = f"finish {table.finish.date()}" if found and table else ""
        facts = counted(len(self.ranked), "part"), str(self.day), self.status, outlay, finish
        return short_repr(self, *facts)

    def frame(self) -> pd.DataFrame:
        """How each part is made: one row for each, none where there is no plan.

        Packs and orders are shared, so no part has an outlay of its own: see `totals`.
        """
        import pandas as pd

        columns = (
            "part",
            "copies",
            "route",
            "alternative",
            "verdict",
            "own_hours",
            "printer_hours",
            "mass_g",
        )
        ends = self.timetable.ends if self.timetable else {}
        rows = [
            (
                o.part,
                o.plan.copies,
                o.route,
                o.plan.alternative,
                o.plan.verdict.level,
                o.own_hours,
                o.printer_hours,
                o.plan.mass_g,
                ends[o.part].date() if o.part in ends else None,
            )
            for o in (self.totals.options if self.totals else ())
        ]
        return pd.DataFrame(rows, columns=[*columns, "done_on"])

    @property
    def status(self) -> Literal["optimal", "feasible", "none"]:
        """`none`: infeasible, or no plan was found within the time limit."""
        return self.choice.status if self.choice.totals is not None else "none"  # type: ignore[return-value]

    @property
    def totals(self) -> Totals | None:
        return self.choice.totals

    @property
    def timetable(self) -> Timetable | None:
        return self.scheduled.timetable

    @property
    def orders(self) -> tuple[Order, ...]:
        """What to order from whom by which day at the latest, by day."""
        return orders_of(self.items, self.order_days)

    @property
    def workshop(self) -> Workshop:
        return self.bill.everything.shop


def plan(
    build: Build | str | Path,
    request: PlanRequest | None = None,
    *,
    copies: int | Mapping[str, int] | None = None,
    as_of: dt.date | None = None,
    start: dt.date | None = None,
    gap: float = 0.0,
    seconds: float = SECONDS,
    quick: bool = False,
    saved: SavedPlan | None = None,
    ignore_log: bool = False,
    progress: Progress | None = None,
) -> Plan:
    """Choose an option for every part, derive the buy list, and schedule the work.

    Parts meet their `needed_by` and all work the `finish_by` of the request, or are listed as late. Work begins on
    `start`, the day of the prices if None. `gap` is the relative gap that is good enough, `seconds` the time limit of
    the choice. `quick` leaves out frontiers, alternatives and the sampled outlay. Of parts in progress by the log the
    remaining work is planned, with the option of the `saved` plan if there is one, unless `ignore_log`. Raises
    InputError.
    """
    build = as_build(build)
    report = progress or _silent
    day = as_of or build.day
    request = request or PlanRequest()
    checked = checked_request(request, build, start or day)
    objective, dates = checked.objective, checked.dates
    to_make, done = _to_make(build, request, copies or request.copies, day, report)
    work = (
        WorkInProgress() if ignore_log else work_in_progress(build, to_make, saved, request.pins, dates.start)
    )
    ranked = tuple(r for r in to_make if r.part.id not in work.finished)
    done |= {r.part.id: r.part.done + r.part.copies for r in to_make if r.part.id in work.finished}
    shop = workshop_of(build, day, dates.start)
    plans = {r.part.id: work.plans.get(r.part.id, r.amounts.plans) for r in ranked}
    report("choosing")
    bill = candidates_of(plans, shop, pins=request.pins, as_designed=request.as_designed)
    calendar = _calendar(build, day, dates, shop, TIMETABLE_S)
    limits = with_date_limits(checked.limits, dates, calendar.working, calendar.printers)
    found = (
        choose_with_deadlines(bill.problem, objective, checked.limits, calendar, gap=gap, seconds=seconds)
        if ranked
        else _nothing_to_do(objective, limits, shop, calendar)
    )
    best = found.choice.totals
    base = Plan(
        build=build,
        day=day,
        request=checked,
        limits=limits,
        ranked=ranked,
        done=done,
        in_progress=work.in_progress,
        bill=bill,
        choice=found.choice,
        scheduled=found,
        items=items(best, shop) if best is not None else (),
        order_days=_order_days(best, found.timetable, calendar, shop),
    )
    if best is None:
        return base if bill.barred else _with_reasons(base, calendar, seconds)
    return base if not ranked else _with_comparisons(base, gap, quick, report)


def _silent(_step: str) -> None:
    """No report of progress."""


def _with_reasons(found: Plan, calendar: Calendar, seconds: float) -> Plan:
    """Why the request is infeasible: its limits, and `finish_by` instead of the limits that it implies."""
    request, problem = found.request, found.bill.problem
    why = explain_infeasibility(problem, found.limits, seconds=seconds)
    if request.dates.finish_by is None:
        return replace(found, why=why)
    # limits that the date implies cannot be relaxed without it
    own = tuple(s for s in why.each if request.limits.of(s.limit) == s.requested or s.limit == "needed-by")
    together = why.together if all(request.limits.of(s.limit) == s.requested for s in why.together) else ()
    return replace(
        found,
        why=Infeasibility(own, together),
        first_day=first_day(problem, request.limits, calendar, seconds=seconds),
    )


def _with_comparisons(found: Plan, gap: float, quick: bool, report: Progress) -> Plan:
    best, request, problem = found.choice.totals, found.request, found.bill.problem
    assert best is not None
    report("comparing")
    compared = replace(
        found,
        baseline=baseline_of(found.bill.everything, best, request.objective, found.limits),
        margins=margins(
            problem,
            request.objective,
            found.limits,
            found.choice,
            gap=gap,
            seconds=POINT_S,
            nodes=POINT_NODES,
        ),
        makespan_spread=_finish_spread(found, best),
    )
    return compared if quick else with_outlook(compared, report)


def _finish_spread(found: Plan, best: Totals) -> MakespanSpread | None:
    if found.timetable is None:
        return None
    shop = found.build.shop(found.day)
    return makespan_spread(
        [o.plan for o in best.options],
        found.timetable,
        found.workshop.tariff,
        shop,
        capacity={},
        supply_days=deliveries(best.buy, shop.the(OrderingStandards).bought_lead_days),
    )


def _order_days(
    best: Totals | None, table: Timetable | None, calendar: Calendar, shop: Workshop
) -> dict[str, OrderDays]:
    if best is None or table is None:
        return {}
    plans = [o.plan for o in best.options]
    return order_days(table, plans, best.buy, calendar.delivered_days, shop.parts_per_order)


def _nothing_to_do(
    objective: Objective, limits: Limits, shop: Workshop, calendar: Calendar
) -> ScheduledChoice:
    nothing = totals((), shop)
    return ScheduledChoice(
        Choice("optimal", 0.0, objective, 0.0, 0.0, limits, nothing), calendar.schedule(nothing), {}, 0
    )


def with_outlook(found: Plan, progress: Progress | None = None) -> Plan:
    """A plan with Pareto frontiers, alternatives and its sampled outlay."""
    report = progress or _silent
    best, problem, limits = found.totals, found.bill.problem, found.limits
    assert best is not None
    assert found.timetable is not None
    assert found.baseline is not None
    effort: dict[str, Any] = {"seconds": POINT_S, "nodes": POINT_NODES}
    hours = frontier(problem, limits, found.choice, on_point=partial(report, "own hours"), **effort)
    calendar = _calendar(found.build, found.day, found.request.dates, found.workshop, QUICK_TIMETABLE_S)
    days = makespan_frontier(
        problem, limits, calendar, best, found.timetable.finish, on_point=partial(report, "finish"), **effort
    )
    report("sampling")
    others = (found.baseline.totals, *(p.totals for p in hours), *(p.totals for p in days))
    compared = alternative_plans(limits.in_time(problem), best, found.request.objective, limits, others)
    return replace(
        found,
        frontier=hours,
        makespan_frontier=days,
        alternatives=compared,
        spread=sample_outlay(compared, found.request.objective, found.workshop),
    )


def _calendar(build: Build, day: dt.date, dates: Dates, shop: Workshop, effort_s: float) -> Calendar:
    """The calendar of a build; everything can be ordered from the first day on."""
    lead_days = build.shop(day).the(OrderingStandards).bought_lead_days

    def timetable(found: Totals) -> Timetable:
        return schedule(
            [o.plan for o in found.options],
            start=dates.start,
            working=build.settings.working_time,
            supply_days=deliveries(found.buy, lead_days),
            due=dates.needed_by,
            effort_s=effort_s,
        )

    printers = max(1, len(shop.printers))
    return Calendar(dates, build.settings.working_time, printers, lead_days, timetable)


def _to_make(
    build: Build, request: PlanRequest, copies: int | Mapping[str, int] | None, day: dt.date, report: Progress
) -> tuple[tuple[RankedPart, ...], dict[str, int]]:
    """Parts with copies left to make, ranked for these; and copies that are done by the parts table."""
    left: dict[str, int] = {}
    done: dict[str, int] = {}
    for part in build.parts(day, copies):
        if part.id in request.without:
            continue
        if made := min(part.copies, part.done):
            done[part.id] = made
        if part.copies > made:
            left[part.id] = part.copies - made
    if not left:
        return (), done
    found = rank(build, copies=left, as_of=day, progress=report)
    return tuple(r for r in found.parts if r.part.id in left), done
