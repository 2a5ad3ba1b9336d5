"""Comparison of two options of a part: the choices in which they differ."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from routecost.buying.options import Option
from routecost.routes.process.operation import ProcessPlan


def differences(then: Mapping[str, str], now: Mapping[str, str]) -> tuple[tuple[str, str, str], ...]:
    """Choices that differ, with old and new value; empty text where one option has no such choice.

    >>> differences({"resin": "pu", "pose": "up"}, {"resin": "epoxy", "pose": "up"})
    (('resin', 'pu', 'epoxy'),)
    """
    names = dict.fromkeys((*then, *now))
    return tuple((n, then.get(n, ""), now.get(n, "")) for n in names if then.get(n, "") != now.get(n, ""))


def nearest(
    plans: Iterable[ProcessPlan], route: str, alternative: str, chosen: Mapping[str, str]
) -> ProcessPlan | None:
    """The plan of a route nearest to an option: the same alternative, else the one with the fewest different choices;
    the first of equals. None where the route has no plan."""
    return min(
        (p for p in plans if p.route == route),
        key=lambda p: (p.alternative != alternative, len(differences(chosen, p.chosen))),
        default=None,
    )


def change_text(then: Option, now: Option, names: Mapping[str, str]) -> str:
    """What changes from one option to the other, in words."""
    if then.route != now.route:
        a, b = names.get(then.route, then.route), names.get(now.route, now.route)
        return f"{b} instead of {a} ({now.plan.alternative})"
    changed = differences(then.plan.chosen, now.plan.chosen)
    if not changed:
        return now.plan.alternative
    return "; ".join(f"{name}: {b or 'none'} instead of {a or 'none'}" for name, a, b in changed)
