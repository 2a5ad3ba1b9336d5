"""The whole bill at once, in a few calls: which way to make each part so that all of it together is best, what
to buy for it, when it is done, and how sure that is."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from routecost.bill.rank_bill import as_build, rank
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

    from routecost.scheduling.makespan_spread import MakespanSpread

SECONDS = 60.0
"""How long one choice may take: a bill of a few dozen parts takes a few seconds, one of 200 about this."""
TIMETABLE_S = 10.0
"""Effort on the plan's own timetable."""
QUICK_TIMETABLE_S = 0.5
"""Effort on the timetables of other plans, which are only compared."""
POINT_NODES = 60
"""Of the solver's tree, for a point of a frontier or a margin: a second or two for a few dozen parts, and the same
result on every machine. What is not proven by then is shown with its gap."""
POINT_S = 30.0
"""When such a point is given up all the same."""


@dataclass(frozen=True, eq=False)
class BillPlan:
    """A plan for the whole bill, or why there is none."""

    build: Build
    day: dt.date
    """Whose prices hold."""
    request: CheckedRequest
    limits: Limits
    """With what follows from the dates."""
    ranked: tuple[RankedPart, ...]
    """Parts with copies to make, for these copies."""
    done: Mapping[str, int]
    """Copies that are done, by part id, where there are any."""
    bill: Candidates
    choice: Choice
    scheduled: ScheduledChoice
    items: tuple[Item, ...]
    order_days: Mapping[str, OrderDays]
    """By resource that has to be ordered."""
    in_progress: tuple[InProgress, ...] = ()
    """Parts that go on from where the log leaves them."""
    baseline: Baseline | None = None
    margins: tuple[Margin, ...] = ()
    why: Infeasibility | None = None
    first_day: dt.date | None = None
    """Where no plan can be done by the day that was asked for: the first day by which one may be."""
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
        """`none`: no plan keeps the limits, or none was found in the time allowed."""
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


Tick = Callable[[str], None]


def plan(
    build: Build | str | Path,
    plan_request: PlanRequest | None = None,
    *,
    copies: int | Mapping[str, int] | None = None,
    as_of: dt.date | None = None,
    start: dt.date | None = None,
    gap: float = 0.0,
    seconds: float = SECONDS,
    quick: bool = False,
    saved: SavedPlan | None = None,
    afresh: bool = False,
    progress: Tick | None = None,
) -> BillPlan:
    """Choose for the whole bill, buy, schedule.

    Parts are there by their `needed_by` and all of it by the day asked for, or what is late is told; work begins
    on `start`, the day of the prices if left out. Good enough is what is proven to be within the share `gap` of
    the best, or found in so many `seconds`. `quick` leaves out what other plans offer. What the log tells of goes
    on from where it is, as in the `saved` plan where there is one; `afresh` leaves the log out. Raises InputError.
    """
    build = as_build(build)
    tick = progress or (lambda _what: None)
    day = as_of or build.day
    request = checked_request(plan_request or PlanRequest(), build, start or day)
    everything, done = _to_make(build, request, copies or request.plan_request.copies, day, tick)
    going = (
        WorkInProgress()
        if afresh
        else work_in_progress(build, everything, saved, request.plan_request.pins, request.dates.start)
    )
    ranked = tuple(r for r in everything if r.part.id not in going.finished)
    done |= {r.part.id: r.part.done + r.part.copies for r in everything if r.part.id in going.finished}
    shop = workshop_of(build, day, request.dates.start)
    ways = {r.part.id: (going.plans or {}).get(r.part.id, r.amounts.plans) for r in ranked}
    tick("choosing")
    bill = candidates_of(
        ways, shop, pins=request.plan_request.pins, as_designed=request.plan_request.as_designed
    )
    calendar = _calendar(build, day, request.dates, shop, TIMETABLE_S)
    limits = with_date_limits(request.limits, request.dates, calendar.working, calendar.printers)
    found = (
        choose_with_deadlines(
            bill.problem, request.objective, request.limits, calendar, gap=gap, seconds=seconds
        )
        if ranked
        else _nothing_to_do(request.objective, limits, shop, calendar)
    )
    best = found.choice.totals
    base = BillPlan(
        build=build,
        day=day,
        request=request,
        limits=limits,
        ranked=ranked,
        done=done,
        in_progress=going.in_progress,
        bill=bill,
        choice=found.choice,
        scheduled=found,
        items=items(best, shop) if best is not None else (),
        order_days=_order_days(best, found.timetable, calendar, shop),
    )
    if best is None:
        return base if bill.barred else _with_reasons(base, calendar, seconds)
    return base if not ranked else _with_comparisons(base, gap, quick, tick)


def _with_reasons(found: BillPlan, calendar: Calendar, seconds: float) -> BillPlan:
    """Why there is no plan: limits, and the day, which stands for all that follows from it."""
    request, problem = found.request, found.bill.problem
    why = explain_infeasibility(problem, found.limits, seconds=seconds)
    if request.dates.finish_by is None:
        return replace(found, why=why)
    # hours and days that follow from the date cannot be had without it
    own = tuple(s for s in why.each if request.limits.of(s.limit) == s.asked or s.limit == "needed-by")
    together = why.together if all(request.limits.of(s.limit) == s.asked for s in why.together) else ()
    return replace(
        found,
        why=Infeasibility(own, together),
        first_day=first_day(problem, request.limits, calendar, seconds=seconds),
    )


def _with_comparisons(found: BillPlan, gap: float, quick: bool, tick: Tick) -> BillPlan:
    best, request, problem = found.choice.totals, found.request, found.bill.problem
    assert best is not None
    tick("comparing")
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
    return compared if quick else with_outlook(compared, tick)


def _finish_spread(found: BillPlan, best: Totals) -> MakespanSpread | None:
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


def with_outlook(found: BillPlan, progress: Tick | None = None) -> BillPlan:
    """A plan with what other plans offer, and how sure its outlay is."""
    tick = progress or (lambda _what: None)
    best, problem, limits = found.totals, found.bill.problem, found.limits
    assert best is not None
    assert found.timetable is not None
    assert found.baseline is not None
    effort: dict[str, Any] = {"seconds": POINT_S, "nodes": POINT_NODES}
    hours = frontier(problem, limits, found.choice, on_point=partial(tick, "own hours"), **effort)
    calendar = _calendar(found.build, found.day, found.request.dates, found.workshop, QUICK_TIMETABLE_S)
    days = makespan_frontier(
        problem, limits, calendar, best, found.timetable.finish, on_point=lambda: tick("finish"), **effort
    )
    tick("sampling")
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
    """Dates, and timetables of plans; what is bought can be ordered from the first day on."""
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
    build: Build, request: CheckedRequest, copies: int | Mapping[str, int] | None, day: dt.date, tick: Tick
) -> tuple[tuple[RankedPart, ...], dict[str, int]]:
    """Parts with copies that the parts table does not count as done, ranked for these; and copies that are."""
    left: dict[str, int] = {}
    done: dict[str, int] = {}
    for part in build.parts(day, copies):
        if part.id in request.plan_request.without:
            continue
        if made := min(part.copies, part.done):
            done[part.id] = made
        if part.copies > made:
            left[part.id] = part.copies - made
    if not left:
        return (), done
    found = rank(build, copies=left, as_of=day, progress=tick)
    return tuple(r for r in found.parts if r.part.id in left), done
