"""A timetable as CSV."""

from __future__ import annotations

import csv
import io

from routecost.reports.json.timetable_json import entry_json
from routecost.scheduling.timetable import Timetable


def timetable_csv(found: Timetable) -> str:
    """One row an entry, with the columns of the JSON entries; lines end as RFC 4180 has them."""
    out = io.StringIO(newline="")
    rows = [entry_json(e) for e in found.entries]
    fields = list(rows[0]) if rows else ["start", "end", "part", "operation"]
    writer = csv.DictWriter(out, fields)
    writer.writeheader()
    writer.writerows({**row, "critical": "yes" if row["critical"] else "no"} for row in rows)
    return out.getvalue()
