"""The workshop of a build: its prices, its shelf, its services and printers, its calendar."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Mapping

from routecost.builds.build import Build
from routecost.builds.working_time import WorkingTime
from routecost.buying.options import Alone, Workshop
from routecost.costing.tariff import Tariff
from routecost.routes.process.operation import ProcessPlan
from routecost.scheduling.task_network import work_of
from routecost.scheduling.tasks import earliest_starts
from routecost.scheduling.timetable import DELIVERED, STEP_MIN
from routecost.scheduling.workdays import HORIZON_DAYS, TooLong, Workdays
from routecost.shop.services import SlaService
from routecost.shop.standards import OrderingStandards

NEVER = Alone(float(HORIZON_DAYS), 24.0 * HORIZON_DAYS)
"""Longer than any plan is looked ahead."""


def workshop_of(build: Build, day: dt.date, start: dt.date) -> Workshop:
    """What a build's options are judged by: prices of `day`, and a calendar that begins at `start`.

    Raises InputError with all faults of the tables.
    """
    shop, tariff = build.shop(day), build.tariff(day)
    lead_days = shop.the(OrderingStandards).bought_lead_days
    return Workshop(
        tariff=tariff,
        stock=build.stock,
        parts_per_order={s.id: float(s.parts_per_order) for s in shop.all(SlaService)},
        printers=frozenset(printer.id for printer in shop.printers()),
        hours_a_day=build.settings.hours_a_day,
        alone=alone(
            build.settings.working_time, start, supply_days_of(tariff, build.stock, lead_days), lead_days
        ),
    )


def supply_days_of(tariff: Tariff, stock: Mapping[str, float], lead_days: float) -> dict[str, float]:
    """When a resource is there at the soonest: what the shelf lacks altogether must be delivered first."""
    return {
        name: lead_days
        for name, resource in tariff.resources.items()
        if resource.kind in DELIVERED and name not in tariff.owned and stock.get(name, 0.0) <= 0.0
    }


def alone(
    working: WorkingTime, start: dt.date, supply_days: Mapping[str, float], lead_days: float
) -> Callable[[ProcessPlan], Alone]:
    """How many days after the midnight before `start` a plan would be done if nothing else were to do: hands in
    their windows, machines and waiting day and night. Nothing that shares hands and machines ends it sooner.

    Its hours are those booked once `lead_days` are over: what hands must do from then on."""
    try:
        workdays = Workdays.of(working, start, STEP_MIN)
    except TooLong:
        return lambda _plan: NEVER

    def found(plan: ProcessPlan) -> Alone:
        try:
            network, _labels = work_of([plan], workdays, STEP_MIN, capacity={}, supply_days=supply_days)
            starts = earliest_starts(network)
        except TooLong:
            return NEVER
        delivered = math.floor(lead_days) * workdays.day_steps
        booked = sum(task.hands for task, at in zip(network.tasks, starts, strict=True) if at >= delivered)
        return Alone(network.finish(starts) / workdays.day_steps, booked * STEP_MIN / 60.0)

    return found
