"""The uncertainty of the ranking, as plain dictionaries with stable names."""

from __future__ import annotations

from typing import Any

from routecost.costing.uncertainty.risk import Risk


def risk_json(risk: Risk) -> dict[str, Any]:
    """Plain dictionaries with stable names."""
    return {
        "currency": risk.currency,
        "draws": risk.draws,
        "seed": risk.seed,
        "law": risk.law,
        "likely": {
            "full": risk.likely_full,
            "spend": risk.likely_spend,
            "own_hours": risk.likely_own_hours,
        },
        "full": _named(risk.percentiles(risk.full)),
        "spend": _named(risk.percentiles(risk.spend)),
        "own_hours": _named(risk.percentiles(risk.own_hours)),
        "budget": risk.budget,
        "chance_in_budget": risk.chance_in_budget,
        "contingency_to_p80": risk.contingency,
        "estimate_class": risk.estimate_class,
        "parts": [
            {"part": part.part, "best_as_likely": part.best_as_likely, "chance_cheapest": part.by_route}
            for part in risk.parts
        ],
        "drivers": [
            {
                "input": d.input,
                "variance_share": d.share,
                "low": d.low,
                "likely": d.likely,
                "high": d.high,
                "full_at_low": d.at_low,
                "full_at_high": d.at_high,
            }
            for d in risk.drivers
        ],
    }


def _named(percentiles: dict[int, float]) -> dict[str, float]:
    return {f"p{p}": x for p, x in percentiles.items()}
