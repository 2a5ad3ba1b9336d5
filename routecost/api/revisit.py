"""A saved plan revisited: what has changed since, what is done, and whether to switch to another plan."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from routecost.api.plan_bill import SECONDS, Plan, plan
from routecost.bill.rank_bill import Progress, as_build
from routecost.builds.build import Build
from routecost.buying.options import Option
from routecost.buying.purchases import BuyLine
from routecost.buying.totals import Totals, totals
from routecost.core.errors import InputError
from routecost.core.money import minor_digits, with_currency
from routecost.core.wording import short_repr
from routecost.costing.tariff import Tariff
from routecost.planning.choosing.choice import value_of
from routecost.planning.choosing.limits import LimitName
from routecost.planning.comparing.baseline import exceeded_limits
from routecost.planning.comparing.option_diff import differences, nearest
from routecost.planning.progress.plan_diff import PlanChange, plan_diff
from routecost.planning.progress.saved_plan import (
    FORMAT,
    SavedChoice,
    SavedPlan,
    SavedPrice,
    SavedRequest,
    read_saved,
    write_saved,
)
from routecost.shop.price_log import Offer


@dataclass(frozen=True, eq=False)
class Revisit:
    """Continuing the saved plan, beside the best plan now."""

    saved: SavedPlan
    now: Plan
    plan_changes: tuple[PlanChange, ...]
    stay: Totals | None
    """The rest of the saved plan at today's prices; None where a part has no option near the saved one."""
    nearest: tuple[tuple[str, tuple[tuple[str, str, str], ...]], ...]
    """Parts of which the saved option does not exist any more, with the differences of the nearest one: choice, saved
    and current value."""
    gone: tuple[str, ...]
    """Parts without an option near the saved one."""
    breaks: tuple[LimitName, ...]
    """Limits that continuing would exceed."""
    stay_value: float
    """Objective of continuing; infinite where that is impossible."""

    def __repr__(self) -> str:
        best = "switching is better" if self.is_worth_switching else "continuing is best"
        outlay = with_currency(self.stay.outlay, self.saved.currency) if self.stay else "not possible"
        return short_repr(self, f"plan of {self.saved.day}", f"{self.now.day}", f"continuing {outlay}", best)

    @property
    def saves(self) -> float:
        """What switching saves of the objective; 0 where continuing is best."""
        return max(0.0, self.stay_value - self.now.choice.value) if self.now.totals else 0.0

    @property
    def switched(self) -> tuple[tuple[Option, Option], ...]:
        """Parts with another option in the plan of today: when continuing, and in that plan."""
        if self.now.totals is None or self.stay is None:
            return ()
        pairs = zip(self.stay.options, self.now.totals.options, strict=True)
        return tuple((a, b) for a, b in pairs if a.plan is not b.plan)

    @property
    def is_worth_switching(self) -> bool:
        """Whether another plan is better by more than rounding, or continuing is infeasible."""
        if self.now.totals is None:
            return False
        least = 10.0 ** -minor_digits(self.now.workshop.tariff.currency)
        return self.stay is None or bool(self.breaks) or self.saves > least


def save(found: Plan) -> Path:
    """Save a plan in its build's folder with the prices, facts and meshes that it is based on. Raises InputError."""
    totals_ = found.totals
    if totals_ is None:
        raise InputError.of("plan", "", "there is no plan to save", "relax a limit first")
    request, tariff = found.request, found.workshop.tariff
    shapes = {r.part.id: r.part.shape for r in found.ranked}
    chosen = []
    for o in totals_.options:
        shape = shapes.get(o.part)
        mesh, volume = (shape.mesh.content_hash, shape.solid.volume_mm3) if shape is not None else ("", 0.0)
        values = tuple(o.plan.chosen.items())
        chosen.append(SavedChoice(o.part, o.route, o.plan.alternative, values, o.plan.copies, mesh, volume))
    facts = found.build.shop(found.day).facts
    refs = {f for o in totals_.options for op in o.plan.operations for d in op.usages for f in d.facts}
    numbers = {r: float(facts[r].value) for r in sorted(refs) if r in facts and _is_number(facts[r].value)}
    prices = [
        SavedPrice(
            resource=line.resource,
            supplier=offer.supplier,
            pack=offer.pack,
            pack_quantity=offer.pack_quantity,
            pack_price=offer.pack_price,
            packs=packs,
            unit=line.unit,
            as_of=offer.as_of.isoformat(),
        )
        for line in totals_.buy
        for offer, packs in _paid(line, tariff)
    ]
    return write_saved(
        found.build.folder,
        SavedPlan(
            format=FORMAT,
            day=found.day.isoformat(),
            start=request.dates.start.isoformat(),
            currency=tariff.currency,
            request=SavedRequest.of(request.original),
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
    )


def _paid(line: BuyLine, tariff: Tariff) -> list[tuple[Offer, int]]:
    """The offers that a line is bought from, with how many packs: 0 for what is paid as used."""
    if line.packs:
        return [(b.offer, b.packs) for b in line.packs]
    return [(tariff.prices.offer(line.resource), 0)] if line.amount > 0.0 else []


def _is_number(value: object) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def revisit(
    build: Build | str | Path,
    changed: Mapping[str, Any] | None = None,
    *,
    as_of: dt.date | None = None,
    start: dt.date | None = None,
    quick: bool = True,
    seconds: float = SECONDS,
    progress: Progress | None = None,
) -> Revisit:
    """Plan again by the request of the saved plan, on another day and from what is done; `changed` overrides fields of
    its `PlanRequest`.

    Of parts in progress by the log the remaining work is planned. Raises InputError, also where there is no saved
    plan, or one in another currency.
    """
    build = as_build(build)
    saved = read_saved(build.folder)
    if saved.currency != build.settings.currency:
        what = f"the saved plan is in {saved.currency}, the build in {build.settings.currency}"
        raise InputError.of("plan.json", "currency", what, "plan anew without --revisit")
    day = as_of or build.day
    request = saved.request.to_request({read.part.id for read in build.read_parts})
    now = plan(
        build,
        replace(request, **(changed or {})),
        start=start or day,
        as_of=day,
        quick=quick,
        seconds=seconds,
        saved=saved,
        progress=progress,
    )
    stay, substitutes, gone = _continued(saved, now)
    return Revisit(
        saved=saved,
        now=now,
        plan_changes=plan_diff(saved, build, now.workshop.tariff, build.shop(day), now.ranked),
        stay=stay,
        nearest=substitutes,
        gone=gone,
        breaks=exceeded_limits(stay, now.limits) if stay is not None else (),
        stay_value=value_of(stay, now.request.objective) if stay is not None else float("inf"),
    )


def _continued(
    saved: SavedPlan, now: Plan
) -> tuple[Totals | None, tuple[tuple[str, tuple[tuple[str, str, str], ...]], ...], tuple[str, ...]]:
    """The rest of the saved plan at today's prices, or None; parts with the nearest option instead, and how it
    differs; parts without one."""
    saved_choices = {c.part: c for c in saved.choices}
    problem, chosen, gone, substitutes = now.bill.everything, list[Option](), list[str](), []
    for part in problem.parts:
        choice = saved_choices.get(part)
        options = {id(o.plan): o for o in problem.options if o.part == part}
        plans = (o.plan for o in options.values())
        plan_ = nearest(plans, choice.route, choice.alternative, dict(choice.chosen)) if choice else None
        if plan_ is None or choice is None:
            gone.append(part)
            continue
        chosen.append(options[id(plan_)])
        if plan_.alternative != choice.alternative:
            substitutes.append((part, differences(dict(choice.chosen), plan_.chosen)))
    return None if gone else totals(chosen, now.workshop), tuple(substitutes), tuple(gone)
