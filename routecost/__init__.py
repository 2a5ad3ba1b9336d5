"""routecost: how to make each part of a one-off build, what it costs, and what to buy.

>>> import routecost
>>> callable(routecost.rank)
True
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from routecost.api.plan_bill import plan as plan
    from routecost.api.revisit import revisit as revisit
    from routecost.api.revisit import save as save
    from routecost.api.sensitivity import changes as changes
    from routecost.api.sensitivity import thresholds as thresholds
    from routecost.bill.rank_bill import explain as explain
    from routecost.bill.rank_bill import measure as measure
    from routecost.bill.rank_bill import rank as rank
    from routecost.builds.build import load_build as load_build
    from routecost.core.errors import InputError as InputError
    from routecost.planning.choosing.plan_request import PlanRequest as PlanRequest
    from routecost.reports.workbook.export import export as export

_HOMES = {
    "load_build": "routecost.builds.build",
    "InputError": "routecost.core.errors",
    "rank": "routecost.bill.rank_bill",
    "explain": "routecost.bill.rank_bill",
    "export": "routecost.reports.workbook.export",
    "measure": "routecost.bill.rank_bill",
    "changes": "routecost.api.sensitivity",
    "thresholds": "routecost.api.sensitivity",
    "PlanRequest": "routecost.planning.choosing.plan_request",
    "plan": "routecost.api.plan_bill",
    "revisit": "routecost.api.revisit",
    "save": "routecost.api.revisit",
}
__all__ = sorted(_HOMES)


def __getattr__(name: str) -> Any:
    # imported when first used, so that the command's help stays instant
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'routecost' has no attribute {name!r}")
