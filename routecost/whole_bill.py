"""The whole bill at once, in a few calls: which way to make each part so that all of it together is best, what
to buy for it, when it is done, and how sure that is."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from routecost.builds.build import Build
from routecost.costing.ranking import RankedPart
from routecost.job import as_build, rank
from routecost.planning.against import AgainstEach, against_each
from routecost.planning.asking import Ask, Asked, asked_of
from routecost.planning.bill import Bill, bill_of
from routecost.planning.choice import Choice
from routecost.planning.dates import with_dates
from routecost.planning.finishing import FinishPoint, finish_frontier
from routecost.planning.frontier import Point, frontier
from routecost.planning.in_time import InTime, Schedule, chosen_in_time
from routecost.planning.limits import Limits, Objective
from routecost.planning.options import Workshop
from routecost.planning.relaxing import Margin, WhyNone, margins, why_none
from routecost.planning.rivals import rivals
from routecost.planning.sampled import Sampled, sampled
from routecost.planning.shopping import Item, items
from routecost.planning.timetable import Timetable, deliveries, schedule
from routecost.planning.totals import Totals, totals
from routecost.planning.workshop import workshop_of
from routecost.routes.operation import ProcessPlan
from routecost.shop.standards import OrderingStandards

if TYPE_CHECKING:
    from routecost.planning.finish_spread import FinishSpread

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
    asked: Asked
    limits: Limits
    """With what follows from the dates."""
    ranked: tuple[RankedPart, ...]
    """Parts with copies to make, for these copies."""
    done: Mapping[str, int]
    """Copies that are done, by part id, where there are any."""
    bill: Bill
    choice: Choice
    in_time: InTime
    against: AgainstEach | None
    margins: tuple[Margin, ...]
    why: WhyNone | None
    items: tuple[Item, ...]
    frontier: tuple[Point, ...] = ()
    finish_frontier: tuple[FinishPoint, ...] = ()
    spread: Sampled | None = None
    rivals: tuple[Totals, ...] = ()
    finish_spread: FinishSpread | None = None

    @property
    def status(self) -> Literal["optimal", "feasible", "none"]:
        """`none`: no plan keeps the limits, or none was found in the time allowed."""
        return self.choice.status if self.choice.totals is not None else "none"  # type: ignore[return-value]

    @property
    def totals(self) -> Totals | None:
        return self.choice.totals

    @property
    def timetable(self) -> Timetable | None:
        return self.in_time.timetable

    @property
    def workshop(self) -> Workshop:
        return self.bill.everything.shop


Tick = Callable[[str], None]


def plan(
    build: Build | str | Path,
    ask: Ask | None = None,
    *,
    copies: int | Mapping[str, int] | None = None,
    as_of: dt.date | None = None,
    start: dt.date | None = None,
    gap: float = 0.0,
    seconds: float = SECONDS,
    quick: bool = False,
    done: Mapping[str, int] | None = None,
    plans: Mapping[str, Sequence[ProcessPlan]] | None = None,
    progress: Tick | None = None,
) -> BillPlan:
    """Choose for the whole bill, buy, schedule.

    Parts are there by their `needed_by` and all of it by the day asked for, or what is late is told; work begins
    on `start`, the day of the prices if left out. Good enough is what is proven to be within the share `gap` of
    the best, or found in so many `seconds`. `quick` leaves out the frontiers and the spreads. `done` says of more
    copies than the parts table that they are; `plans` replaces what routes offer for parts, by id. Raises
    InputError.
    """
    build = as_build(build)
    tick = progress or (lambda _what: None)
    day = as_of or build.day
    asked = asked_of(ask or Ask(), build, start or day)
    ranked, ready = _to_make(build, asked, copies, done or {}, day, tick)
    shop = workshop_of(build, day, asked.dates.start)
    ways = {r.part.id: (plans or {}).get(r.part.id, r.amounts.plans) for r in ranked}
    tick("choosing")
    bill = bill_of(ways, shop, pins=asked.ask.pins, as_designed=asked.ask.as_designed)
    working, printers = build.settings.working_time, max(1, len(shop.printers))
    limits = with_dates(asked.limits, asked.dates, working, printers)
    scheduling = _Scheduling(build, day, asked.dates.start, asked.dates.needed_by)
    problem = bill.problem
    found = (
        chosen_in_time(
            problem,
            asked.objective,
            limits,
            asked.dates,
            scheduling.of(TIMETABLE_S),
            gap=gap,
            seconds=seconds,
        )
        if ranked
        else _nothing_to_do(asked.objective, limits, shop, scheduling)
    )
    choice, best = found.choice, found.choice.totals
    base = BillPlan(
        build=build,
        day=day,
        asked=asked,
        limits=limits,
        ranked=ranked,
        done=ready,
        bill=bill,
        choice=choice,
        in_time=found,
        against=None,
        margins=(),
        why=why_none(problem, limits, seconds=seconds) if best is None and not bill.barred else None,
        items=items(best, shop) if best is not None else (),
    )
    if best is None or not ranked:
        return base
    tick("comparing")
    base = replace(
        base,
        against=against_each(bill.everything, best, asked.objective, limits),
        margins=margins(
            problem, asked.objective, limits, choice, gap=gap, seconds=POINT_S, nodes=POINT_NODES
        ),
    )
    return base if quick else with_outlook(base, tick)


def _nothing_to_do(objective: Objective, limits: Limits, shop: Workshop, scheduling: _Scheduling) -> InTime:
    nothing = totals((), shop)
    choice = Choice("optimal", 0.0, objective, 0.0, limits, nothing)
    return InTime(choice, scheduling.of(0.0)(nothing), {}, 0)


def with_outlook(found: BillPlan, progress: Tick | None = None) -> BillPlan:
    """A plan with what other plans offer, and how sure its outlay and finish are."""
    from routecost.planning.finish_spread import finish_spread

    tick = progress or (lambda _what: None)
    scheduling = _Scheduling(found.build, found.day, found.asked.dates.start, found.asked.dates.needed_by)
    best, problem, limits = found.totals, found.bill.problem, found.limits
    assert best is not None
    assert found.timetable is not None
    assert found.against is not None
    hours = frontier(
        problem, limits, "own-hours", found.choice, seconds=POINT_S, nodes=POINT_NODES, on_point=tick
    )
    days = finish_frontier(
        problem,
        limits,
        found.asked.dates,
        found.build.settings.working_time,
        scheduling.of(QUICK_TIMETABLE_S),
        best,
        delivered_days=scheduling.lead_days,
        seconds=POINT_S,
        nodes=POINT_NODES,
        on_point=tick,
    )
    tick("sampling")
    others = (found.against.totals, *(p.totals for p in hours), *(p.totals for p in days))
    against = rivals(limits.in_time(problem), best, found.asked.objective, others)
    return replace(
        found,
        frontier=hours,
        finish_frontier=days,
        rivals=against,
        spread=sampled(against, found.asked.objective, found.workshop),
        finish_spread=finish_spread(
            [o.plan for o in best.options],
            found.timetable,
            found.workshop.tariff,
            found.build.shop(found.day),
            capacity={},
            supply_days=scheduling.supply_days(best),
        ),
    )


@dataclass(frozen=True, eq=False)
class _Scheduling:
    """Timetables of plans for a build."""

    build: Build
    day: dt.date
    start: dt.date
    needed_by: Mapping[str, dt.date]

    def of(self, effort_s: float) -> Schedule:
        return lambda found: schedule(
            [o.plan for o in found.options],
            start=self.start,
            working=self.build.settings.working_time,
            supply_days=self.supply_days(found),
            due=self.needed_by,
            effort_s=effort_s,
        )

    def supply_days(self, found: Totals) -> dict[str, float]:
        """When what is bought arrives: all of it is ordered on the first day."""
        return deliveries(found.buy, self.lead_days)

    @cached_property
    def lead_days(self) -> float:
        return self.build.shop(self.day).the(OrderingStandards).bought_lead_days


def _to_make(
    build: Build,
    asked: Asked,
    copies: int | Mapping[str, int] | None,
    ready: Mapping[str, int],
    day: dt.date,
    tick: Tick,
) -> tuple[tuple[RankedPart, ...], dict[str, int]]:
    """Parts that are not done, ranked for the copies that are left; and copies that are done."""
    left: dict[str, int] = {}
    done: dict[str, int] = {}
    for part in build.parts(day, copies):
        if part.id in asked.ask.without:
            continue
        made = min(part.copies, max(part.done, ready.get(part.id, 0)))
        if made:
            done[part.id] = made
        if part.copies > made:
            left[part.id] = part.copies - made
    if not left:
        return (), done
    found = rank(build, copies=left, as_of=day, progress=tick)
    return tuple(r for r in found.parts if r.part.id in left), done
