"""A saved plan looked at again, as plain dictionaries with stable names."""

from __future__ import annotations

from typing import Any

from routecost.api.revisit import Revisit
from routecost.reports.json.plan_json import plan_json, way_json


def revisit_json(found: Revisit) -> dict[str, Any]:
    """Plain dictionaries with stable names; `now` is the plan of today."""
    return {
        "saved": {
            "day": found.saved.day,
            "outlay": found.saved.outlay,
            "full": found.saved.full,
            "own_hours": found.saved.own_hours,
            "finish": found.saved.finish,
        },
        "moved": [
            {"kind": m.kind, "name": m.name, "then": m.then, "now": m.now, "what": m.text}
            for m in found.plan_changes
        ],
        "begun": [
            {
                "part": b.part,
                "route": b.route,
                "steps_done": b.steps_done,
                "last_done": b.last_done,
                "finished": b.finished,
            }
            for b in found.now.in_progress
        ],
        "gone": list(found.gone),
        "nearest": [
            {"part": part, "otherwise": [{"choice": n, "then": a, "now": b} for n, a, b in changed]}
            for part, changed in found.nearest
        ],
        "carry_on": {
            "outlay": found.stay.outlay,
            "full": found.stay.full,
            "own_hours": found.stay.own_hours,
            "breaks": list(found.breaks),
        }
        if found.stay
        else None,
        "worth_switching": found.is_worth_switching,
        "switching_saves": found.saves if found.stay else None,
        "switched": [
            {"part": b.part, "carried_on": way_json(a), "now": way_json(b)} for a, b in found.switched
        ],
        "now": plan_json(found.now),
    }
