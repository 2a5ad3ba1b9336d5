"""The workshop of a build: its prices, its shelf, its services and printers, its calendar."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

from routecost.builds.build import Build
from routecost.builds.working_time import WorkingTime
from routecost.planning.options import Alone, Workshop
from routecost.planning.tasks import earliest_starts
from routecost.planning.timetable import STEP_MIN
from routecost.planning.work import work_of
from routecost.planning.workdays import HORIZON_DAYS, TooLong, Workdays
from routecost.routes.operation import ProcessPlan
from routecost.shop.services import SlaService

NEVER = Alone(float(HORIZON_DAYS), 24.0 * HORIZON_DAYS)
"""Longer than any plan is looked ahead."""


def workshop_of(build: Build, day: dt.date, start: dt.date) -> Workshop:
    """What a build's options are judged by: prices of `day`, and a calendar that begins at `start`.

    Raises InputError with all faults of the tables.
    """
    shop = build.shop(day)
    return Workshop(
        tariff=build.tariff(day),
        stock=build.stock,
        parts_per_order={s.id: float(s.parts_per_order) for s in shop.all(SlaService)},
        printers=frozenset(printer.id for printer in shop.printers()),
        hours_a_day=build.settings.hours_a_day,
        alone=alone(build.settings.working_time, start),
    )


def alone(working: WorkingTime, start: dt.date) -> Callable[[ProcessPlan], Alone]:
    """How many days after the midnight before `start` a plan would be done if nothing else were to do: hands in
    their windows, machines and waiting day and night. Nothing that shares hands and machines ends it sooner."""
    try:
        workdays = Workdays.of(working, start, STEP_MIN)
    except TooLong:
        return lambda _plan: NEVER

    def found(plan: ProcessPlan) -> Alone:
        try:
            job, _labels = work_of([plan], workdays, STEP_MIN, capacity={}, supply_days={})
            days = job.finish(earliest_starts(job)) / workdays.day_steps
        except TooLong:
            return NEVER
        return Alone(days, sum(task.hands for task in job.tasks) * STEP_MIN / 60.0)

    return found
