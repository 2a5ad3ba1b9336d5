"""What a verdict says, in words."""

from __future__ import annotations

from routecost.costing.estimate import Estimate

LEVEL_TEXT = {"suits": "suitable", "changes": "suitable with changes", "ruled out": "ruled out"}


def first_reason(e: Estimate) -> str:
    """The reasons that decide the verdict."""
    return "; ".join(r.text for r in e.plan.verdict.reasons if r.level == e.plan.verdict.level)
