"""A timetable as CSV."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

from routecost.reports.json.timetable_json import entry_json
from routecost.reports.wording.buy_list_sentences import item_text, order_text
from routecost.scheduling.order_days import Order
from routecost.scheduling.timetable import Timetable


def timetable_csv(found: Timetable, orders: Sequence[Order] = ()) -> str:
    """One row an entry, with the columns of the JSON entries, and one an order, with its day and its items;
    lines end as RFC 4180 has them."""
    out = io.StringIO(newline="")
    rows = [entry_json(e) for e in found.entries]
    fields = list(rows[0]) if rows else ["start", "end", "part", "operation"]
    rows += [
        {
            "start": o.day.isoformat(),
            "operation": order_text(o),
            "phase": "order",
            "resource": "; ".join(item_text(i) for i in o.items),
            "critical": False,
        }
        for o in orders
    ]
    rows.sort(key=lambda row: row["start"])
    writer = csv.DictWriter(out, fields)
    writer.writeheader()
    writer.writerows({**row, "critical": "yes" if row["critical"] else "no"} for row in rows)
    return out.getvalue()
