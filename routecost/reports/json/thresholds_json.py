"""Where another route becomes best, as plain dictionaries with stable names."""

from __future__ import annotations

from typing import Any

from routecost.api.sensitivity import Thresholds
from routecost.costing.sensitivity.thresholds import Threshold


def thresholds_json(t: Thresholds) -> dict[str, Any]:
    """Every threshold, the nearest of each part first; `at` is exact where `within` is 0."""
    return {
        "currency": t.currency,
        "as_of": t.as_of.isoformat(),
        "by": t.by,
        "parts": [
            {
                "part": p.ranked.part.id,
                "copies": p.ranked.part.copies,
                "best": p.ranked.best.route if p.ranked.best else None,
                "thresholds": [_threshold(x) for x in p.thresholds],
                "copies_steps": [
                    {
                        "from_copies": s.from_copies,
                        "to_copies": s.to_copies,
                        "route": s.route or None,
                        "figure_from": s.figure_from,
                        "figure_to": s.figure_to,
                    }
                    for s in p.steps
                ],
            }
            for p in t.parts
        ],
    }


def _threshold(x: Threshold) -> dict[str, Any]:
    return {
        "what": x.what,
        "name": x.name,
        "unit": x.unit,
        "today": x.today,
        "at": x.at,
        "percent": x.percent,
        "within": x.within,
        "route": x.route,
        "other": x.other or None,
        "figure": x.figure,
        "pack": x.pack or None,
        "pack_price_today": x.today * x.pack_quantity if x.pack else None,
        "pack_price_at": x.at * x.pack_quantity if x.pack else None,
    }
