"""Work in progress: what log and parts table record, and the remaining work of each part."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from routecost.builds.build import Build
from routecost.builds.build_tables import LogRow
from routecost.core.errors import Fault, InputError
from routecost.costing.ranking import RankedPart
from routecost.learning.observations import steps_of
from routecost.planning.comparing.option_diff import nearest
from routecost.planning.progress.remaining_work import remaining_work
from routecost.planning.progress.saved_plan import SavedChoice, SavedPlan
from routecost.routes.process.operation import ProcessPlan
from routecost.shop.table_reader import Placed


@dataclass(frozen=True)
class InProgress:
    """A part in progress."""

    part: str
    route: str
    steps_done: int
    last_done: str
    """Name of the last completed step; empty where none is."""
    finished: bool


@dataclass(frozen=True, eq=False)
class WorkInProgress:
    """All parts in progress."""

    in_progress: tuple[InProgress, ...] = ()
    finished: frozenset[str] = frozenset()
    """Parts without remaining work."""
    plans: Mapping[str, tuple[ProcessPlan, ...]] = field(default_factory=dict)
    """Of each other part in progress, its options for the remaining work."""


def work_in_progress(
    build: Build,
    ranked: Sequence[RankedPart],
    saved: SavedPlan | None,
    pins: Mapping[str, str],
    start: dt.date,
) -> WorkInProgress:
    """The progress of `ranked` parts by the log; they are planned for the copies that are left.

    A part continues by the route of its newest row, with the option of the `saved` plan where that has one. Raises
    InputError for rows about steps that their route does not have, and where a pin demands another route.
    """
    choices = {c.part: c for c in saved.choices} if saved else {}
    rows: dict[str, list[Placed[LogRow]]] = {}
    for placed in build.log:
        rows.setdefault(placed.row.part, []).append(placed)
    made = {read.part.id: read.part.done for read in build.read_parts}
    faults: list[Fault] = []
    in_progress, finished, plans = list[InProgress](), set[str](), dict[str, tuple[ProcessPlan, ...]]()
    for one in ranked:
        part, done = one.part.id, made.get(one.part.id, 0)
        logged = sorted(rows.get(part, ()), key=lambda placed: placed.row.date)
        choice = choices.get(part)
        route = logged[-1].row.route if logged else choice.route if choice and done else ""
        logged = [placed for placed in logged if placed.row.route == route]
        if not route or not all(steps_of(placed, one, faults) for placed in logged):
            continue
        if logged and pins.get(part, route) != route:
            what = f"{part} is in progress by {route}, but pinned to {pins[part]}"
            mend = "leave out the pin, or the log with --afresh"
            faults.append(logged[-1].fault("route", what, mend))
            continue
        progress = [
            remaining_work(plan, [p.row for p in logged], start, done)
            for plan in _options(one, route, choice)
        ]
        furthest = max(progress, key=lambda p: p.steps_done, default=None)
        if furthest is None or (not logged and not furthest.steps_done):
            continue
        over = not furthest.rest.operations
        in_progress.append(InProgress(part, route, furthest.steps_done, furthest.last_done, over))
        if over:
            finished.add(part)
        else:
            plans[part] = tuple(p.rest for p in progress)
    if faults:
        raise InputError(faults)
    return WorkInProgress(tuple(in_progress), frozenset(finished), plans)


def _options(one: RankedPart, route: str, choice: SavedChoice | None) -> list[ProcessPlan]:
    """The planned option or the nearest to it now; all of the route where none was planned."""
    of_route = [plan for plan in one.amounts.plans if plan.route == route]
    if choice is None or choice.route != route:
        return of_route
    found = nearest(of_route, route, choice.alternative, dict(choice.chosen))
    return [found] if found is not None else []
