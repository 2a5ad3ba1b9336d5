"""Names of the figures that a cost is seen by."""

from __future__ import annotations

from routecost.costing.views import By

BY_TEXT: dict[By, str] = {
    "full": "full cost",
    "spend": "spend",
    "own-time": "own time",
    "lead-time": "lead time",
}
