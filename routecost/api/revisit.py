"""A saved plan looked at again: what has changed since, what is done, and whether another plan is better now."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from routecost.api.plan_bill import SECONDS, BillPlan, plan
from routecost.bill.rank_bill import as_build
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
from routecost.planning.comparing.baseline import broken
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

Tick = Callable[[str], None]


@dataclass(frozen=True, eq=False)
class Revisit:
    """The saved plan carried on, beside what is best now."""

    saved: SavedPlan
    now: BillPlan
    plan_changes: tuple[PlanChange, ...]
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

    def __repr__(self) -> str:
        best = "switching is better" if self.is_worth_switching else "continuing is best"
        outlay = with_currency(self.stay.outlay, self.saved.currency) if self.stay else "not possible"
        return short_repr(self, f"plan of {self.saved.day}", f"{self.now.day}", f"continuing {outlay}", best)

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
    request, tariff = found.request, found.workshop.tariff
    shapes = {r.part.id: r.part.shape for r in found.ranked}
    chosen = []
    for o in totals_.options:
        shape = shapes.get(o.part)
        mesh, volume = (shape.mesh.content_hash, shape.solid.volume_mm3) if shape is not None else ("", 0.0)
        way = tuple(o.plan.chosen.items())
        chosen.append(SavedChoice(o.part, o.route, o.plan.alternative, way, o.plan.copies, mesh, volume))
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
            request=SavedRequest.of(request.plan_request),
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
    progress: Tick | None = None,
) -> Revisit:
    """Look at the saved plan again, on another day and from what is done: it asks what the saved plan asked, but
    for fields of `PlanRequest` that are `changed`.

    What the log tells of is kept: a part whose work has begun goes on by its route from where it is. Raises
    InputError, also where there is no saved plan, or one in another currency.
    """
    build = as_build(build)
    saved = read_saved(build.folder)
    if saved.currency != build.settings.currency:
        what = f"the saved plan is in {saved.currency}, the build in {build.settings.currency}"
        raise InputError.of("plan.json", "currency", what, "plan anew without --revisit")
    day = as_of or build.day
    plan_request = replace(
        saved.request.plan_request({read.part.id for read in build.read_parts}), **(changed or {})
    )
    now = plan(
        build,
        plan_request,
        start=start or day,
        as_of=day,
        quick=quick,
        seconds=seconds,
        saved=saved,
        progress=progress,
    )
    stay, nearest_ways, gone = _carried_on(saved, now)
    return Revisit(
        saved=saved,
        now=now,
        plan_changes=plan_diff(saved, build, now.workshop.tariff, build.shop(day), now.ranked),
        stay=stay,
        nearest=nearest_ways,
        gone=gone,
        breaks=broken(stay, now.limits) if stay is not None else (),
        stay_value=value_of(stay, now.request.objective) if stay is not None else float("inf"),
    )


def _carried_on(
    saved: SavedPlan, now: BillPlan
) -> tuple[Totals | None, tuple[tuple[str, tuple[tuple[str, str, str], ...]], ...], tuple[str, ...]]:
    """What is left of the saved plan, at today's prices, or None; where it is not made in the very way; parts
    that it does not tell how to make."""
    ways = {c.part: c for c in saved.choices}
    problem, kept, gone, otherwise = now.bill.everything, list[Option](), list[str](), []
    for part in problem.parts:
        way = ways.get(part)
        options = {id(o.plan): o for o in problem.options if o.part == part}
        plans = (o.plan for o in options.values())
        same = nearest(plans, way.route, way.alternative, dict(way.chosen)) if way else None
        if same is None or way is None:
            gone.append(part)
            continue
        found = options[id(same)]
        kept.append(found)
        if found.plan.alternative != way.alternative:
            otherwise.append((part, differences(dict(way.chosen), found.plan.chosen)))
    return None if gone else totals(kept, now.workshop), tuple(otherwise), tuple(gone)
