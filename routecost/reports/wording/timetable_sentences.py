"""What a timetable says, in sentences."""

from __future__ import annotations

from routecost.planning.scheduling.timetable import Timetable
from routecost.reports.wording.formats import moment

CAUSES = {
    "start": "began at once",
    "delivery": "waited for a delivery",
    "order": "followed in the plan",
    "machine": "waited for a machine",
    "hands": "waited for hands",
}


def finish_proof(found: Timetable) -> str:
    """How good the finish is, in a sentence."""
    if found.status == "optimal":
        return "No other order of this work ends sooner."
    return f"Another order may save {found.gap_days:.1f} days at most: nothing can end before {moment(found.bound)}."
