"""What the log changes in the tables, as plain dictionaries with stable names."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from routecost.learning.learn import Learning
from routecost.learning.observations import grams_ratios
from routecost.learning.posteriors import Known
from routecost.reports.json.table_rows_json import row_json


def learning_json(found: Learning, written: Sequence[str]) -> dict[str, Any]:
    return {
        "as_of": found.day.isoformat(),
        "log_rows": found.log_rows,
        "later_rows": found.later_rows,
        "facts": [
            {
                "fact": x.ref,
                "what": x.what,
                "unit": x.unit,
                "table": _known_json(x.table),
                "in_force": _known_json(x.now),
                "after": _known_json(x.after),
                "rows": x.rows,
                "evidence": x.evidence,
                "weight": x.weight,
            }
            for x in found.facts
        ],
        "grams": [
            {"resource": name, "rows": n, "actual_over_planned": ratio}
            for name, n, ratio in grams_ratios(found.grams)
        ],
        "notes": [note.as_dict() for note in found.notes],
        "rows": {table: [row_json(row) for row in rows] for table, rows in found.rows.items()},
        "written": list(written),
    }


def _known_json(k: Known) -> dict[str, float]:
    return {"value": k.value, "low": k.low, "high": k.high}
