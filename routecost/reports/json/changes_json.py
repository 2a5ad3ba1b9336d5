"""What moved the bill between two days, as plain dictionaries with stable names."""

from __future__ import annotations

from typing import Any

from routecost.costing.sensitivity.changes import Changes, PriceShare


def changes_json(c: Changes) -> dict[str, Any]:
    """Unrounded; for each part after - before = sum of prices + quantities + choice."""
    return {
        "currency": c.currency,
        "by": c.by,
        "from": c.first.isoformat(),
        "to": c.last.isoformat(),
        "before": c.before,
        "after": c.after,
        "difference": c.after - c.before,
        "prices": [_share(s) for s in c.by_resource],
        "quantities": sum(p.quantities for p in c.parts),
        "choice": sum(p.choice for p in c.parts),
        "flips": [p.part for p in c.flips],
        "parts": [
            {
                "part": p.part,
                "copies": p.copies,
                "route_before": p.route_before or None,
                "route_after": p.route_after or None,
                "alternative_before": p.way_before,
                "alternative_after": p.way_after,
                "before": p.before,
                "after": p.after,
                "difference": p.difference,
                "prices": [_share(s) for s in p.prices],
                "quantities": p.quantities,
                "choice": p.choice,
                "why_choice": p.why_choice,
            }
            for p in c.parts
        ],
    }


def _share(s: PriceShare) -> dict[str, Any]:
    return {
        "resource": s.resource,
        "unit": s.unit,
        "price_before": s.before,
        "price_after": s.after,
        "amount": s.amount,
    }
