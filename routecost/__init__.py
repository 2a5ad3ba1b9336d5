"""routecost: how to make each part of a one-off build, what it costs, and what to buy.

>>> import routecost
>>> callable(routecost.rank)
True
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from routecost.builds.build import load_build as load_build
    from routecost.errors import InputError as InputError
    from routecost.job import explain as explain
    from routecost.job import export as export
    from routecost.job import measure as measure
    from routecost.job import rank as rank
    from routecost.moving import changes as changes
    from routecost.moving import thresholds as thresholds
    from routecost.planning.asking import Ask as Ask
    from routecost.revisiting import revisit as revisit
    from routecost.revisiting import save as save
    from routecost.whole_bill import plan as plan

_HOMES = {
    "load_build": "routecost.builds.build",
    "InputError": "routecost.errors",
    "rank": "routecost.job",
    "explain": "routecost.job",
    "export": "routecost.job",
    "measure": "routecost.job",
    "changes": "routecost.moving",
    "thresholds": "routecost.moving",
    "Ask": "routecost.planning.asking",
    "plan": "routecost.whole_bill",
    "revisit": "routecost.revisiting",
    "save": "routecost.revisiting",
}
__all__ = sorted(_HOMES)


def __getattr__(name: str) -> Any:
    # imported when first used, so that the command's help stays instant
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'routecost' has no attribute {name!r}")
