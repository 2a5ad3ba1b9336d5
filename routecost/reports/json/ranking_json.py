"""What other programs read: plain dictionaries with stable names."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from routecost.core.errors import Fault
from routecost.costing.estimate import Estimate, Line
from routecost.costing.ranking import RankedPart, Ranking

if TYPE_CHECKING:
    from routecost.bill.rank_bill import Explanation


def ranking_json(ranking: Ranking) -> dict[str, Any]:
    return {
        "currency": ranking.currency,
        "as_of": ranking.as_of.isoformat(),
        "copies": ranking.copies,
        "by": ranking.by,
        "parts": [_part(ranked) for ranked in ranking.parts],
        "totals": {"spend": ranking.spend, "full": ranking.full, "own_hours": ranking.own_hours},
    }


def _part(ranked: RankedPart) -> dict[str, Any]:
    return {
        "part": ranked.part.id,
        "description": ranked.part.description,
        "copies": ranked.part.copies,
        "best": ranked.best.route if ranked.best else None,
        "routes": [estimate_json(e) for e in ranked.estimates],
    }


def estimate_json(e: Estimate) -> dict[str, Any]:
    return {
        "route": e.route,
        "alternative": e.plan.alternative,
        "verdict": e.plan.verdict.level,
        "reasons": e.plan.verdict.texts,
        "spend": e.spend,
        "full": e.full,
        "own_hours": e.own_hours,
        "machine_hours": e.machine_hours,
        "lead_days": e.lead_days,
        "mass_g": e.mass_g,
        "cautions": list(dict.fromkeys(c for op in e.plan.operations for c in op.cautions)),
        "lines": [_line(line) for line in e.lines],
    }


def _line(line: Line) -> dict[str, Any]:
    return {
        "operation": line.operation,
        "resource": line.resource,
        "quantity": line.quantity,
        "unit": line.unit,
        "unit_price": line.unit_price,
        "amount": line.amount,
        "kind": line.kind,
        "why": line.why,
    }


def explanation_json(x: Explanation, every: bool) -> dict[str, Any]:
    estimate = estimate_json(x.estimate)
    estimate["operations"] = [
        {
            "operation": op.name,
            "hands_on_min": op.hands_on_min,
            "machine": op.machine,
            "machine_min": op.machine_min,
            "waiting_min": op.waiting_min,
            "note": op.note,
            "cautions": [{"caution": c, "text": x.shop.cautions[c].text} for c in op.cautions],
        }
        for op in x.estimate.plan.operations
    ]
    found = {
        "part": x.ranked.part.id,
        "copies": x.ranked.part.copies,
        "currency": x.currency,
        "as_of": x.as_of.isoformat(),
        **estimate,
        "prices": [
            {
                "resource": o.resource,
                "supplier": o.supplier,
                "pack": o.pack,
                "pack_price": o.pack_price,
                "unit_price": o.unit_price,
                "as_of": o.as_of.isoformat(),
                "source": o.source,
                "place": o.place,
            }
            for o in x.offers.values()
        ],
        "rates": [
            {
                "name": f.ref,
                "value": f.value,
                "low": f.low,
                "high": f.high,
                "unit": f.unit,
                "as_of": f.as_of.isoformat(),
                "source": f.source,
                "place": f.place,
            }
            for f in x.rates
        ],
    }
    if every:
        found["alternatives"] = [
            {k: v for k, v in estimate_json(e).items() if k != "lines"} for e in x.alternatives
        ]
    return found


def faults_json(faults: tuple[Fault, ...]) -> dict[str, Any]:
    """One fault as `error`; several also as a list under `errors`."""
    found: dict[str, Any] = {"error": faults[0].as_dict()}
    if len(faults) > 1:
        found["errors"] = [fault.as_dict() for fault in faults]
    return found
