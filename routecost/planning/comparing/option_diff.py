"""Two ways of making a part beside each other: what was chosen in both, and where they differ."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from routecost.buying.options import Option
from routecost.routes.process.operation import ProcessPlan


def differences(then: Mapping[str, str], now: Mapping[str, str]) -> tuple[tuple[str, str, str], ...]:
    """Choices that are not the same, with what they were and are; empty text where one has no such choice.

    >>> differences({"resin": "pu", "pose": "up"}, {"resin": "epoxy", "pose": "up"})
    (('resin', 'pu', 'epoxy'),)
    """
    names = dict.fromkeys((*then, *now))
    return tuple((n, then.get(n, ""), now.get(n, "")) for n in names if then.get(n, "") != now.get(n, ""))


def nearest(
    plans: Iterable[ProcessPlan], route: str, alternative: str, chosen: Mapping[str, str]
) -> ProcessPlan | None:
    """The plan by a route that is most like a way: the very same one, else with the fewest choices otherwise; the
    first of equals. None where the route has none."""
    return min(
        (p for p in plans if p.route == route),
        key=lambda p: (p.alternative != alternative, len(differences(chosen, p.chosen))),
        default=None,
    )


def told(then: Option, now: Option, names: Mapping[str, str]) -> str:
    """What changes from one way to the other, in words."""
    if then.route != now.route:
        a, b = names.get(then.route, then.route), names.get(now.route, now.route)
        return f"{b} instead of {a} ({now.plan.alternative})"
    changed = differences(then.plan.chosen, now.plan.chosen)
    if not changed:
        return now.plan.alternative
    return "; ".join(f"{name}: {b or 'none'} instead of {a or 'none'}" for name, a, b in changed)
