"""Thresholds of what quantities are not linear in: copies, failure rates, yields. The part is planned anew.

Copies come in steps (another plate, another mold, a quote), so each number is a case of its own. Whole
stretches are settled without looking at every number: where costs only rise, and the best route costs less at
a stretch's end than every other at its beginning, nothing changes within. Only near a change are all looked at.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache, partial
from itertools import pairwise
from math import isqrt, sqrt
from typing import TypeVar

from routecost.costing.estimate import price_plans
from routecost.costing.ranking import figures, in_order
from routecost.costing.sensitivity.thresholds import Threshold
from routecost.costing.tariff import Tariff
from routecost.costing.views import By
from routecost.routes.process.operation import ProcessPlan
from routecost.shop.facts import Fact
from routecost.shop.schema import columns_of
from routecost.shop.shop import Shop

RATES = ("failure_per_h", "yield_clear", "yield_opaque")
"""Properties whose thresholds are looked for: how often a print is lost, how many pulls are good."""
WITHIN = 0.01
"""A rate's threshold is found to within this share of its value: the rates themselves are known to a factor of two."""

REACH = 4.0
"""How many times lower and higher a rate is looked at. Twice what it is known to; far beyond, a printer that
loses every other print makes routes look for pieces that nobody would print."""

N = TypeVar("N", int, float)


@dataclass(frozen=True)
class BestByRoute:
    """The routes that are not ruled out, best first, with the figure of each; and the level of each route."""

    figures: dict[str, float]
    levels: dict[str, str]

    @property
    def best(self) -> str:
        """Empty where no route is left."""
        return next(iter(self.figures), "")

    @property
    def figure(self) -> float:
        return self.figures[self.best] if self.figures else 0.0


@dataclass(frozen=True)
class CopiesStep:
    """From so many copies to so many, this route is best."""

    part: str
    from_copies: int
    to_copies: int
    route: str
    """Empty where every route is ruled out."""
    figure_from: float
    """Of all copies, at `from_copies`."""
    figure_to: float


def best_by_route(plans: Sequence[ProcessPlan], tariff: Tariff, hours_a_day: float, by: By) -> BestByRoute:
    """The routes of some plans in the order of `rank_part`."""
    amounts = price_plans(plans, tariff, hours_a_day)
    figure = figures(amounts, by)
    first = {route: rows[0] for route, rows in in_order(plans, figure, amounts.full).items()}
    levels = {route: str(plans[i].verdict.level) for route, i in first.items()}
    return BestByRoute({r: float(figure[i]) for r, i in first.items() if levels[r] != "ruled out"}, levels)


def copies_steps(
    part: str, at: Callable[[int], BestByRoute], first: int, last: int, breaks: Iterable[int] = ()
) -> tuple[CopiesStep, ...]:
    """Which route is best for every number of copies from `first` to `last`.

    `at` plans the part for a number of copies. `breaks` are numbers at which a cost may fall, such as the
    copies of a quote; elsewhere each route's cost is taken not to fall with more copies.
    """
    look = cache(at)
    ends = {first, last}
    for n in breaks:
        ends |= {k for k in (n - 1, n) if first <= k <= last}

    def split(a: int, b: int) -> int | None:
        # costs grow about in proportion, so stretches of equal ratio are settled alike
        return None if b - a < 2 else min(max(isqrt(a * b), a + 1), b - 1)

    def settled(a: BestByRoute, b: BestByRoute) -> bool:
        return _settled(a, b) and all(b.figures[route] >= figure for route, figure in a.figures.items())

    seen = {first}
    for a, b in pairwise(sorted(ends)):
        seen |= {n for stretch in _stretches(look, a, b, split, settled) for n in stretch}
    steps: list[CopiesStep] = []
    for n in sorted(seen):
        best, figure = look(n).best, look(n).figure
        if steps and steps[-1].route == best:
            steps[-1] = replace(steps[-1], to_copies=n, figure_to=figure)
        else:
            steps.append(CopiesStep(part, n, n, best, figure, figure))
    return tuple(steps)


def _stretches(
    look: Callable[[N], BestByRoute],
    a: N,
    b: N,
    split: Callable[[N, N], N | None],
    settled: Callable[[BestByRoute, BestByRoute], bool],
) -> Iterator[tuple[N, N]]:
    """The way from a to b in stretches, in order: within each the best route of its beginning stays best up
    to its end, or it is too short to be split."""
    middle = None if settled(look(a), look(b)) else split(a, b)
    if middle is None:
        yield a, b
    else:
        yield from _stretches(look, a, middle, split, settled)
        yield from _stretches(look, middle, b, split, settled)


def _settled(a: BestByRoute, b: BestByRoute) -> bool:
    """Whether the best route is the same all the way: it costs less at its dearer end than every other route
    at its cheaper one. Holds where each route's cost only rises, or only falls, and verdicts stay."""
    if a.levels != b.levels or a.best != b.best:
        return False
    dearest = max(a.figure, b.figure)
    return all(dearest <= min(a.figures[r], b.figures[r]) for r in a.figures if r != a.best)


def copies_thresholds(steps: Sequence[CopiesStep], copies: int) -> tuple[Threshold, ...]:
    """The nearest numbers of copies below and above `copies` for which another route is best."""
    i = next(i for i, step in enumerate(steps) if step.from_copies <= copies <= step.to_copies)
    here, found = steps[i], list[tuple[int, str, float]]()
    if i > 0:
        below = steps[i - 1]
        found.append((below.to_copies, below.route, below.figure_to))
    if i + 1 < len(steps):
        above = steps[i + 1]
        found.append((above.from_copies, above.route, above.figure_from))
    return tuple(
        Threshold(here.part, "copies", "copies", "", copies, n, here.route, other, figure)
        for n, other, figure in found
    )


def rates_of(plans: Iterable[ProcessPlan]) -> tuple[str, ...]:
    """The rates that plans rest on, as `thing.property`."""
    refs = {ref for plan in plans for op in plan.operations for usage in op.usages for ref in usage.facts}
    return tuple(sorted(ref for ref in refs if ref.rpartition(".")[2] in RATES))


def range_of(shop: Shop, ref: str) -> tuple[float, float]:
    """How far a rate is looked at: `REACH` times up and down, within what its column allows."""
    thing, _, name = ref.rpartition(".")
    today = float(shop.facts[ref].value)
    columns = (
        c for cls, found in shop.things.items() if any(t.id == thing for t in found) for c in columns_of(cls)
    )
    low, high = next((c.low or 0.0, 1.0 if c.high is None else c.high) for c in columns if c.name == name)
    return max(low, today / REACH), min(high, today * REACH) if today else high


def rate_thresholds(
    part: str, fact: Fact, bounds: tuple[float, float], at: Callable[[float], BestByRoute]
) -> tuple[Threshold, ...]:
    """The rates below and above today's at which another route becomes best, to `WITHIN` of today's value.

    `at` plans the part for a value of the fact; `bounds` are looked at as far as they go. Each route's cost is
    taken to move one way only, up or down, while the rate moves one way.
    """
    today, look = float(fact.value), cache(at)
    found = []
    for end in bounds:
        within = WITHIN * (today or abs(end - today))
        split = partial(_middle, within=within)
        for a, b in _stretches(look, today, end, split, _settled) if end != today else ():
            if look(b).best != look(today).best:
                found.append(
                    Threshold(
                        part=part,
                        what="fact",
                        name=fact.ref,
                        unit=fact.unit,
                        today=today,
                        at=(a + b) / 2.0,
                        route=look(today).best,
                        other=look(b).best,
                        figure=look(b).figure,
                        within=abs(b - a) / 2.0,
                    )
                )
                break
    return tuple(found)


def _middle(a: float, b: float, within: float) -> float | None:
    """Between two rates, in ratio where they are far apart; None where they are as near as is asked."""
    if abs(b - a) <= within:
        return None
    return sqrt(a * b) if min(a, b) > 0.0 else (a + b) / 2.0
