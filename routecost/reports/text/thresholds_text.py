"""Thresholds in a terminal: what would make another route best."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rich.console import Console
from rich.text import Text

from routecost.api.sensitivity import PartThresholds, Thresholds
from routecost.core.money import shown
from routecost.costing.estimate import Estimate
from routecost.costing.sensitivity.thresholds import Threshold
from routecost.reports.text.changes_text import route_name
from routecost.reports.text.terminal import make_table
from routecost.reports.wording.figures import BY_TEXT

FAR = 10.0
"""Thresholds farther away than this factor are left out: prices do not move that far."""


def print_thresholds(t: Thresholds, out: Console, names: Mapping[str, str], *, every: bool = False) -> None:
    """Each part's thresholds, the nearest first, and its best route by number of copies."""
    out.print(
        f"Values at which another route becomes best, each changed on its own; prices as of {t.as_of}, in "
        f"{t.currency}, by {BY_TEXT[t.by]}."
    )
    alone, far = list[str](), list[str]()
    for p in t.parts:
        near = [x for x in p.thresholds if every or _near(x)]
        if near:
            _print_part(p, near, t, out, names)
        else:
            (far if len(_able(p)) > 1 else alone).append(p.ranked.part.id)
    if far:
        out.print(f"\nNo threshold within a factor of ten: {', '.join(far)}")
    if alone:
        out.print(f"\nAt most one suitable route: {', '.join(alone)}")


def _able(p: PartThresholds) -> list[Estimate]:
    return [e for e in p.ranked.estimates if e.plan.verdict.level != "ruled out"]


def _print_part(
    p: PartThresholds, near: Sequence[Threshold], t: Thresholds, out: Console, names: Mapping[str, str]
) -> None:
    head = Text(f"\n{p.ranked.part.id}", style="bold")
    routes = [route_name(e.route, names) for e in _able(p)[:2]]
    if t.by in ("full", "spend"):
        figures = [e.full if t.by == "full" else e.spend for e in _able(p)[:2]]
        routes = [f"{r}, {shown(x, t.currency)}" for r, x in zip(routes, figures, strict=True)]
    head.append(f"  {p.ranked.part.copies} x, best: {'; next: '.join(routes)}", style="not bold")
    out.print(head)
    numbers = ("today", "at", "change")
    table = make_table("  value", *numbers, "best beyond it", numbers=numbers)
    for x in near:
        table.add_row(f"  {_what(x)}", *_values(x), route_name(x.other, names))
    out.print(table)
    if len(p.steps) > 1:
        runs = [f"{_span(s.from_copies, s.to_copies)} {route_name(s.route, names)}" for s in p.steps]
        out.print("  copies: " + "; ".join(runs))


def _near(x: Threshold) -> bool:
    return x.what == "copies" or x.today == 0.0 or x.today / FAR <= x.at <= x.today * FAR


def _what(x: Threshold) -> str:
    if x.what == "copies":
        return "copies"
    if x.what == "own rate":
        return "own hourly rate"
    pack = f" ({x.pack})" if x.pack else ""
    return f"{x.name}{pack}"


def _values(x: Threshold) -> tuple[str, str, str]:
    """Today's value, the threshold and the way between them; a resource by the pack that is sold."""
    if x.what == "copies":
        return f"{x.today:.0f}", f"{x.at:.0f}", f"{x.at - x.today:+.0f}"
    scale = x.pack_quantity if x.what == "price" else 1.0
    percent = "" if x.percent is None else f"{x.percent:+,.1f} %"
    about = "about " if x.within else ""
    return f"{x.today * scale:,.4g}", f"{about}{x.at * scale:,.4g}", percent


def _span(a: int, b: int) -> str:
    """
    >>> _span(3, 3), _span(1, 40)
    ('3', '1-40')
    """
    return f"{a}" if a == b else f"{a}-{b}"
