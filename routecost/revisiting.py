"""A saved plan looked at again: what has changed since, what is done, and whether another plan is better now."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from routecost.builds.build import Build
from routecost.builds.rows import LogRow
from routecost.costing.ranking import RankedPart
from routecost.errors import InputError
from routecost.job import as_build, rank
from routecost.money import minor_digits
from routecost.planning.against import broken
from routecost.planning.choice import value_of
from routecost.planning.limits import LimitName
from routecost.planning.options import Option
from routecost.planning.remaining import rest_of
from routecost.planning.saved import (
    FORMAT,
    SavedAsk,
    SavedChoice,
    SavedPlan,
    SavedPrice,
    read_saved,
    write_saved,
)
from routecost.planning.since import Moved, moved_since
from routecost.planning.totals import Totals, totals
from routecost.planning.ways import differences, nearest
from routecost.routes.operation import ProcessPlan
from routecost.whole_bill import SECONDS, BillPlan, plan

Tick = Callable[[str], None]


@dataclass(frozen=True)
class Begun:
    """A part whose work the log tells of."""

    part: str
    route: str
    steps_done: int
    last_done: str
    finished: bool


@dataclass(frozen=True, eq=False)
class Revisit:
    """The saved plan carried on, beside what is best now."""

    saved: SavedPlan
    now: BillPlan
    moved: tuple[Moved, ...]
    begun: tuple[Begun, ...]
    stay: Totals | None
    """The rest of the saved plan at today's prices; None where a part of it cannot be made so any more."""
    nearest: tuple[tuple[str, tuple[tuple[str, str, str], ...]], ...]
    """Parts that carrying on makes a little otherwise, because the very way is not there any more: what differs,
    as it was and as it is."""
    gone: tuple[str, ...]
    """Parts that the saved plan does not tell how to make now."""
    breaks: tuple[LimitName, ...]
    """Limits that carrying on would exceed."""
    stay_value: float
    """Of the objective; infinite where there is no carrying on."""

    @property
    def saves(self) -> float:
        """By how much the objective is less after switching; 0 where carrying on is best."""
        return max(0.0, self.stay_value - self.now.choice.value) if self.now.totals else 0.0

    @property
    def switched(self) -> tuple[tuple[Option, Option], ...]:
        """Parts that the plan of today makes otherwise: carried on, and in it."""
        if self.now.totals is None or self.stay is None:
            return ()
        pairs = zip(self.stay.options, self.now.totals.options, strict=True)
        return tuple((a, b) for a, b in pairs if a.plan is not b.plan)

    @property
    def is_worth_switching(self) -> bool:
        """Whether another plan is better by more than rounding, or the saved one does not do any more."""
        if self.now.totals is None:
            return False
        least = 10.0 ** -minor_digits(self.now.workshop.tariff.currency)
        return self.stay is None or bool(self.breaks) or self.saves > least


def save(found: BillPlan) -> Path:
    """Keep a plan in its build's folder with the prices, rates and meshes that it rests on. Raises InputError."""
    totals_ = found.totals
    if totals_ is None:
        raise InputError.of("plan", "", "there is no plan to save", "relax a limit first")
    asked, tariff = found.asked, found.workshop.tariff
    shapes = {r.part.id: r.part.shape for r in found.ranked}
    chosen = []
    for o in totals_.options:
        shape = shapes.get(o.part)
        mesh, volume = (shape.mesh.content_hash, shape.solid.volume_mm3) if shape is not None else ("", 0.0)
        way = tuple(o.plan.chosen.items())
        chosen.append(SavedChoice(o.part, o.route, o.plan.alternative, way, o.plan.copies, mesh, volume))
    facts = found.build.shop(found.day).facts
    refs = {f for o in totals_.options for op in o.plan.operations for d in op.draws for f in d.facts}
    numbers = {r: float(facts[r].value) for r in sorted(refs) if r in facts and _is_number(facts[r].value)}
    prices = []
    for line in totals_.buy:
        offer = tariff.prices.offer(line.resource)
        of_day = offer.as_of.isoformat()
        prices.append(
            SavedPrice(line.resource, offer.unit_price, line.unit, offer.supplier, offer.pack, of_day)
        )
    return write_saved(
        found.build.folder,
        SavedPlan(
            format=FORMAT,
            day=found.day.isoformat(),
            start=asked.dates.start.isoformat(),
            currency=tariff.currency,
            asked=SavedAsk.of(asked.ask),
            value=found.choice.value,
            outlay=totals_.outlay,
            full=totals_.full,
            own_hours=totals_.own_hours,
            finish=found.timetable.finish.isoformat() if found.timetable else "",
            choices=tuple(chosen),
            prices=tuple(prices),
            facts=tuple(numbers.items()),
            stock=tuple(sorted(found.build.stock.items())),
        ),
    )  # fmt: skip


def _is_number(value: object) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def revisit(
    build: Build | str | Path,
    *,
    as_of: dt.date | None = None,
    start: dt.date | None = None,
    quick: bool = True,
    seconds: float = SECONDS,
    progress: Tick | None = None,
) -> Revisit:
    """Look at the saved plan again, on another day and from what is done: it asks what the saved plan asked.

    What the log tells of since is kept: a part whose work has begun goes on by its route from where it is.
    Raises InputError, also where there is no saved plan.
    """
    build = as_build(build)
    saved = read_saved(build.folder)
    day = as_of or build.day
    left = {p.id: p.copies - p.done for p in build.parts(day) if p.copies > p.done}
    ranking = rank(build, copies=left, as_of=day, progress=progress)
    begun, done, plans = _begun(build, saved, ranking.parts, left)
    now = plan(
        build,
        saved.asked.ask({read.part.id for read in build.read_parts}),
        start=start or day,
        as_of=day,
        quick=quick,
        seconds=seconds,
        done=done,
        plans=plans,
        progress=progress,
    )
    stay, nearest_ways, gone = _carried_on(saved, now)
    return Revisit(
        saved=saved,
        now=now,
        moved=moved_since(saved, build, now.workshop.tariff, build.shop(day), ranking.parts),
        begun=begun,
        stay=stay,
        nearest=nearest_ways,
        gone=gone,
        breaks=broken(stay, now.limits) if stay is not None else (),
        stay_value=value_of(stay, now.asked.objective) if stay is not None else float("inf"),
    )


def _begun(
    build: Build, saved: SavedPlan, ranked: Sequence[RankedPart], left: Mapping[str, int]
) -> tuple[tuple[Begun, ...], dict[str, int], dict[str, tuple[ProcessPlan, ...]]]:
    """Parts that the log tells of since the plan was saved: how far they are, copies that are finished, and
    what is left to do of each."""
    choices = {c.part: c for c in saved.choices}
    rows: dict[str, list[LogRow]] = {}
    for placed in build.log:
        if placed.row.date >= saved.saved_on:
            rows.setdefault(placed.row.part, []).append(placed.row)
    begun: list[Begun] = []
    finished: dict[str, int] = {}
    plans: dict[str, tuple[ProcessPlan, ...]] = {}
    for one in ranked:
        told = rows.get(one.part.id)
        if not told or one.part.id not in left:
            continue
        route = max(told, key=lambda row: row.date).route
        told = [row for row in told if row.route == route]
        saved_way = choices.get(one.part.id)
        ways = [p for p in one.amounts.plans if p.route == route]
        if saved_way is not None and saved_way.route == route:
            ways = [p for p in ways if p.alternative == saved_way.alternative] or ways
        progress = [rest_of(p, told, one.part.done) for p in ways]
        if not progress:
            continue
        furthest = max(progress, key=lambda p: p.steps_done)
        over = not furthest.rest.operations
        begun.append(Begun(one.part.id, route, furthest.steps_done, furthest.last_done, over))
        if over:
            finished[one.part.id] = one.part.done + one.part.copies
        else:
            plans[one.part.id] = tuple(p.rest for p in progress)
    return tuple(begun), finished, plans


def _carried_on(
    saved: SavedPlan, now: BillPlan
) -> tuple[Totals | None, tuple[tuple[str, tuple[tuple[str, str, str], ...]], ...], tuple[str, ...]]:
    """What is left of the saved plan, at today's prices, or None; where it is not made in the very way; parts
    that it does not tell how to make."""
    ways = {c.part: c for c in saved.choices}
    problem, kept, gone, otherwise = now.bill.everything, list[Option](), list[str](), []
    for part in problem.parts:
        way = ways.get(part)
        options = (o for o in problem.options if o.part == part)
        found = nearest(options, way.route, way.alternative, dict(way.chosen)) if way else None
        if found is None or way is None:
            gone.append(part)
            continue
        kept.append(found)
        if found.plan.alternative != way.alternative:
            otherwise.append((part, differences(dict(way.chosen), found.plan.chosen)))
    return None if gone else totals(kept, now.workshop), tuple(otherwise), tuple(gone)
