"""Fitted price laws as plain dictionaries with stable names."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from routecost.learning.quotes_fit import ServiceFit
from routecost.reports.json.table_rows_json import row_json
from routecost.reports.wording.fit_notes import fit_notes


def fits_json(found: Sequence[ServiceFit], written: Sequence[str]) -> dict[str, Any]:
    return {"services": [_fit_json(fit) for fit in found], "written": list(written)}


def _fit_json(fit: ServiceFit) -> dict[str, Any]:
    law = fit.law
    return {
        "service": fit.service,
        "currency": fit.currency,
        "as_of": fit.day.isoformat(),
        "quotes": [
            {
                "part": line.part,
                "finish": line.finish,
                "copies": line.copies,
                "as_of": line.as_of.isoformat(),
                "price": line.price,
                "shipping": line.shipping,
                "fitted": float(fitted),
                "left_out": float(left_out),
                "tabled_error": float(tabled),
            }
            for line, fitted, left_out, tabled in zip(
                fit.lines, law.fitted, law.left_out, fit.tabled_errors, strict=True
            )
        ],
        "suspects": [
            {
                "quote": s.quote,
                "row": s.row,
                "price": s.price,
                "expected": s.expected,
                "factor": s.factor,
                "what": s.what,
            }
            for s in fit.suspects
        ],
        "unused": [{"quote": u.quote, "why": u.why} for u in fit.unused],
        "coefficients": [
            {
                "resource": c.driver,
                "unit": unit,
                "tabled": tabled,
                "value": c.value,
                "low": c.low,
                "high": c.high,
                "told_apart": c.is_determined,
            }
            for c, unit, tabled in zip(law.coefficients, fit.units, fit.tabled, strict=True)
        ],
        "rank": law.rank,
        "condition": law.condition,
        "hard_to_tell_apart": list(law.hard_to_tell_apart),
        "leave_one_out_rms": law.rms_error,
        "leave_one_out_worst": law.worst_error,
        "tabled_rms": fit.tabled_rms_error,
        "notes": fit_notes(fit),
        "rows": [row_json(row) for row in fit.rows],
    }
