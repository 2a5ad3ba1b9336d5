"""Parts whose work has begun: what the log and the parts table tell of, and how each goes on from there."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from routecost.builds.build import Build
from routecost.builds.build_tables import LogRow
from routecost.core.errors import Fault, InputError
from routecost.costing.ranking import RankedPart
from routecost.learning.observations import steps_of
from routecost.planning.comparing.option_diff import nearest
from routecost.planning.progress.remaining_work import rest_of
from routecost.planning.progress.saved_plan import SavedChoice, SavedPlan
from routecost.routes.process.operation import ProcessPlan
from routecost.shop.table_reader import Placed


@dataclass(frozen=True)
class InProgress:
    """A part that is under way."""

    part: str
    route: str
    steps_done: int
    last_done: str
    """Name of the last step that is wholly done; empty where none is."""
    finished: bool


@dataclass(frozen=True, eq=False)
class WorkInProgress:
    """All that is begun."""

    in_progress: tuple[InProgress, ...] = ()
    finished: frozenset[str] = frozenset()
    """Parts of which nothing is left to do."""
    plans: Mapping[str, tuple[ProcessPlan, ...]] | None = None
    """Of each other part that is begun, the ways on from where it is."""


def work_in_progress(
    build: Build,
    ranked: Sequence[RankedPart],
    saved: SavedPlan | None,
    pins: Mapping[str, str],
    start: dt.date,
) -> WorkInProgress:
    """What rows of the log tell of `ranked` parts, which are planned for the copies that are left.

    A part goes on by the route of its newest row, as the `saved` plan made it where that knows it. Raises
    InputError for rows about steps that are none of their route, and where a pin wants another route.
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
        told = sorted(rows.get(part, ()), key=lambda placed: placed.row.date)
        choice = choices.get(part)
        route = told[-1].row.route if told else choice.route if choice and done else ""
        told = [placed for placed in told if placed.row.route == route]
        if not route or not all(steps_of(placed, one, faults) for placed in told):
            continue
        if told and pins.get(part, route) != route:
            what = f"{part} is begun by {route}, but pinned to {pins[part]}"
            mend = "leave out the pin, or the log with --afresh"
            faults.append(told[-1].fault("route", what, mend))
            continue
        progress = [rest_of(plan, [p.row for p in told], start, done) for plan in _ways(one, route, choice)]
        furthest = max(progress, key=lambda p: p.steps_done, default=None)
        if furthest is None or (not told and not furthest.steps_done):
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


def _ways(one: RankedPart, route: str, choice: SavedChoice | None) -> list[ProcessPlan]:
    """The way that was planned, or what is nearest to it now; where none was planned, all of the route."""
    of_route = [plan for plan in one.amounts.plans if plan.route == route]
    if choice is None or choice.route != route:
        return of_route
    found = nearest(of_route, route, choice.alternative, dict(choice.chosen))
    return [found] if found is not None else []
