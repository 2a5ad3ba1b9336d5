"""A plan for the whole bill as plain dictionaries with stable names."""

from __future__ import annotations

from typing import Any

from routecost.api.plan_bill import Plan
from routecost.buying.buy_list import Item
from routecost.buying.options import Option
from routecost.buying.totals import Totals
from routecost.core.money import minor_digits
from routecost.planning.comparing.frontier import Point
from routecost.planning.comparing.infeasibility import Shortfall
from routecost.planning.comparing.makespan_frontier import MakespanPoint
from routecost.reports.json.timetable_json import timetable_json
from routecost.scheduling.order_days import OrderDays


def plan_json(found: Plan) -> dict[str, Any]:
    """`frontier` holds two kinds of points, told apart by `baseline`. Amounts are in the build's currency."""
    totals, table = found.totals, found.timetable
    tariff = found.workshop.tariff
    digits = minor_digits(tariff.currency)
    each, objective = found.baseline, found.request.objective
    return {
        "status": found.status,
        "gap": found.choice.gap,
        "objective": objective.name,
        "objective_value": found.choice.value if totals else None,
        "hour_worth": objective.hour_worth if objective.name == "hour-worth" else None,
        "currency": tariff.currency,
        "as_of": found.day.isoformat(),
        "start": found.request.dates.start.isoformat(),
        "limits": {name: found.request.limits.of(name) for name in found.request.limits.names},
        "finish_by": _date(found.request.dates.finish_by),
        "outlay": totals.outlay if totals else None,
        "full": totals.full if totals else None,
        "own_hours": totals.own_hours if totals else None,
        "printer_hours": totals.printer_hours if totals else None,
        "finish_day": table.finish.date().isoformat() if table else None,
        "late": {part: day.isoformat() for part, day in found.scheduled.late.items()},
        "done": dict(found.done),
        "begun": [
            {"part": b.part, "route": b.route, "steps_done": b.steps_done, "last_done": b.last_done}
            for b in found.in_progress
            if not b.finished
        ],
        "choices": [
            {
                "part": o.part,
                "route": o.route,
                "alternative": o.plan.alternative,
                "copies": o.plan.copies,
                "own_hours": o.own_hours,
                "verdict": o.plan.verdict.level,
                "changes": [r.text for r in o.plan.verdict.reasons if r.level == "changes"],
                "done_on": table.ends[o.part].date().isoformat() if table and o.part in table.ends else None,
            }
            for o in (totals.options if totals else ())
        ],
        "buy": [_item(item, digits, found.order_days.get(item.resource)) for item in found.items],
        "against_each_cheapest": {
            "outlay": each.totals.outlay,
            "full": each.totals.full,
            "own_hours": each.totals.own_hours,
            "saves_outlay": each.outlay,
            "saves_full": each.full,
            "breaks": list(each.breaks),
            "because": [{"resource": d.resource, "saves": d.saves, "what": d.text} for d in each.differences],
            "switched": [
                {"part": a.part, "by_itself": way_json(a), "in_the_plan": way_json(b)}
                for a, b in each.switched
            ],
        }
        if each
        else None,
        "margins": [
            {"limit": m.limit, "step": m.step, "saves": m.saving, "proven": m.exact} for m in found.margins
        ],
        "frontier": [*(_point(p) for p in found.frontier), *(_finish(p) for p in found.makespan_frontier)],
        "spread": _spread(found),
        "why_none": why_json(found),
        "timetable": timetable_json(table, found.orders) if table else None,
    }


def way_json(o: Option) -> dict[str, str]:
    """How a part is made."""
    return {"route": o.route, "alternative": o.plan.alternative}


def why_json(found: Plan) -> list[dict[str, Any]]:
    """Parts that nothing makes, then limits: with `needed` instead of `request` there is a plan; those of
    `together` help only when all are set so."""
    out: list[dict[str, Any]] = [{"part": b.part, "reasons": list(b.reasons)} for b in found.bill.barred]
    if found.why:
        out += [_short(s, together=False) for s in found.why.each]
        out += [_short(s, together=True) for s in found.why.together]
    if found.first_day is not None:
        out.append(
            {
                "limit": "finish-by",
                "asked": _date(found.request.dates.finish_by),
                "needed": found.first_day.isoformat(),
                "together": False,
            }
        )
    return out


def _short(s: Shortfall, *, together: bool) -> dict[str, Any]:
    return {
        "limit": s.limit,
        "asked": s.requested,
        "needed": s.needed,
        "short_by": s.short_by,
        "within": s.within,
        "together": together,
    }


def _item(item: Item, digits: int, days: OrderDays | None) -> dict[str, Any]:
    return {
        "resource": item.resource,
        "supplier": item.supplier,
        "pack": item.pack or "as used",
        "packs": item.packs,
        "quantity": item.quantity,
        "unit": item.unit,
        "amount": item.minor_units / 10**digits,
        "price_as_of": item.price_as_of.isoformat(),
        "order_by": _date(days.order_by if days else None),
        "needed_on": _date(days.needed_on if days else None),
        "for_parts": list(item.parts),
        "left_over": item.left_over,
        "left_over_worth": item.left_over_worth,
        "keeps_days": item.keeps_days,
    }


def _point(p: Point) -> dict[str, Any]:
    return {"against": "own-hours", **_of(p.totals), "bound": p.bound, "gap": p.gap}


def _finish(p: MakespanPoint) -> dict[str, Any]:
    return {
        "against": "finish",
        **_of(p.totals),
        "finish": p.finish.isoformat(),
        "bound": p.bound,
        "gap": p.gap,
    }


def _of(totals: Totals) -> dict[str, float]:
    return {"outlay": totals.outlay, "full": totals.full, "own_hours": totals.own_hours}


def _spread(found: Plan) -> dict[str, Any] | None:
    if found.makespan_spread is None:
        return None
    p50, p80 = found.makespan_spread.at(50), found.makespan_spread.at(80)
    finish = {"worlds": found.makespan_spread.worlds, "finish": {"p50": _moment(p50), "p80": _moment(p80)}}
    if found.spread is None:
        return finish
    return {
        **finish,
        "draws": found.spread.draws,
        "seed": found.spread.seed,
        "outlay": {"p50": found.spread.p50, "p80": found.spread.p80},
        "plans_compared": len(found.alternatives),
        "another_wins": found.spread.another_wins,
    }


def _moment(at: Any) -> str | None:
    return at.isoformat() if at else None


def _date(day: Any) -> str | None:
    return day.isoformat() if day else None
