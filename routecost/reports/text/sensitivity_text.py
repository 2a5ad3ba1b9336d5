"""Changes between two days and thresholds, for a terminal and for other programs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from rich.console import Console
from rich.text import Text

from routecost.core.money import apportioned, rounded, shown
from routecost.costing.estimate import Estimate
from routecost.costing.sensitivity.changes import Changes, PartChange, PriceShare
from routecost.costing.sensitivity.thresholds import Threshold
from routecost.reports.text.terminal import make_table

if TYPE_CHECKING:
    from routecost.api.sensitivity import PartThresholds, Thresholds
    from routecost.builds.price_entry import AddedPrice

FAR = 10.0
"""A terminal leaves out what lies farther away than this factor: such a price decides nothing."""


def print_changes(c: Changes, out: Console, names: Mapping[str, str]) -> None:
    """The bill on two days, then each part's difference term by term; what is shown adds up."""
    out.print(
        f"From {c.first} to {c.last}, in {c.currency}, by {'full cost' if c.by == 'full' else c.by}; "
        "each part by its best route of the day."
    )
    before = apportioned([p.before for p in c.parts], c.currency)
    after = apportioned([p.after for p in c.parts], c.currency)
    numbers = ("before", "after", "difference")
    bill = make_table("part", "best route", *numbers, numbers=numbers)
    for p, was, now in zip(c.parts, before, after, strict=True):
        bill.add_row(
            p.part,
            _route(p, names),
            shown(was, c.currency),
            shown(now, c.currency),
            _signed(now - was, c.currency),
            style="bold" if p.flipped else "",
        )
    bill.add_section()
    total = (sum(before), sum(after))
    bill.add_row("total", "", *(shown(x, c.currency) for x in total), _signed(total[1] - total[0], c.currency),
                 style="bold")  # fmt: skip
    out.print(bill)
    _print_terms(c, [now - was for was, now in zip(before, after, strict=True)], out)
    if c.flips:
        out.print(Text("Another route is best now", style="bold"))
        for p in c.flips:
            out.print(f"  {p.part}: {_name(p.route_before, names)} before, {_name(p.route_after, names)} now")


def _print_terms(c: Changes, differences: Sequence[float], out: Console) -> None:
    numbers = ("price before", "price after", "difference")
    table = make_table("part", "because of", *numbers, numbers=numbers, title="Why")
    sums: dict[str, float] = {}
    for p, difference in zip(c.parts, differences, strict=True):
        for what, prices, amount in _terms(p, difference, c.currency):
            sums[what] = sums.get(what, 0.0) + amount
            table.add_row(p.part, what, *prices, _signed(amount, c.currency))
    if not sums:
        out.print("Nothing that the bill rests on has changed.")
        return
    table.add_section()
    for what, amount in sorted(sums.items(), key=lambda item: -abs(item[1])):
        table.add_row("all parts", what, "", "", _signed(amount, c.currency))
    table.add_row("all parts", "everything", "", "", _signed(sum(sums.values()), c.currency), style="bold")
    out.print(table)


def _terms(p: PartChange, difference: float, currency: str) -> list[tuple[str, tuple[str, str], float]]:
    """The terms of one part, rounded so that they add up to its shown difference; nothings left out."""
    terms = [
        (s.resource, (f"{s.before:.4g} / {s.unit}", f"{s.after:.4g} / {s.unit}"), s.amount) for s in p.prices
    ]
    terms.append(("quantities", ("", ""), p.quantities))
    terms.append((p.why_choice or "another way", ("", ""), p.choice))
    # before and after are rounded each by itself: the cent that this may make goes to the largest term
    largest = max(range(len(terms)), key=lambda i: abs(terms[i][2]))
    exact = [amount for _what, _prices, amount in terms]
    exact[largest] += difference - sum(exact)
    cents = apportioned(exact, currency)
    return [(what, prices, x) for (what, prices, _), x in zip(terms, cents, strict=True) if x]


def _route(p: PartChange, names: Mapping[str, str]) -> str:
    now = _name(p.route_after, names)
    return f"{_name(p.route_before, names)} → {now}" if p.flipped else now


def _name(route: str, names: Mapping[str, str]) -> str:
    return names.get(route, route) or "none can make it"


def _signed(amount: float, currency: str) -> str:
    """An amount with its sign; nothing has none.

    >>> _signed(1234.5, "EUR"), _signed(-0.001, "EUR")
    ('+1,234.50', '0.00')
    """
    near = rounded(amount, currency)
    return ("+" if near > 0 else "") + shown(near or 0.0, currency)


def changes_json(c: Changes) -> dict[str, Any]:
    """Unrounded; for each part after - before = sum of prices + quantities + choice."""
    return {
        "currency": c.currency,
        "by": c.by,
        "from": c.first.isoformat(),
        "to": c.last.isoformat(),
        "before": c.before,
        "after": c.after,
        "difference": c.after - c.before,
        "prices": [_share(s) for s in c.by_resource],
        "quantities": sum(p.quantities for p in c.parts),
        "choice": sum(p.choice for p in c.parts),
        "flips": [p.part for p in c.flips],
        "parts": [
            {
                "part": p.part,
                "copies": p.copies,
                "route_before": p.route_before or None,
                "route_after": p.route_after or None,
                "alternative_before": p.way_before,
                "alternative_after": p.way_after,
                "before": p.before,
                "after": p.after,
                "difference": p.difference,
                "prices": [_share(s) for s in p.prices],
                "quantities": p.quantities,
                "choice": p.choice,
                "why_choice": p.why_choice,
            }
            for p in c.parts
        ],
    }


def _share(s: PriceShare) -> dict[str, Any]:
    return {
        "resource": s.resource,
        "unit": s.unit,
        "price_before": s.before,
        "price_after": s.after,
        "amount": s.amount,
    }


def print_thresholds(t: Thresholds, out: Console, names: Mapping[str, str], *, every: bool = False) -> None:
    """Each part's thresholds, the nearest first, and its best route by number of copies."""
    out.print(
        f"What would change the best route, each by itself; prices as of {t.as_of}, in {t.currency}, by {t.by}."
    )
    alone, far = list[str](), list[str]()
    for p in t.parts:
        near = [x for x in p.thresholds if every or _near(x)]
        if near:
            _print_part(p, near, t, out, names)
        else:
            (far if len(_able(p)) > 1 else alone).append(p.ranked.part.id)
    if far:
        out.print(f"\nNothing nearer than a factor of ten: {', '.join(far)}")
    if alone:
        out.print(f"\nOnly one route can make it, or none: {', '.join(alone)}")


def _able(p: PartThresholds) -> list[Estimate]:
    return [e for e in p.ranked.estimates if e.plan.verdict.level != "ruled out"]


def _print_part(
    p: PartThresholds, near: Sequence[Threshold], t: Thresholds, out: Console, names: Mapping[str, str]
) -> None:
    head = Text(f"\n{p.ranked.part.id}", style="bold")
    routes = [_name(e.route, names) for e in _able(p)[:2]]
    if t.by in ("full", "spend"):
        figures = [e.full if t.by == "full" else e.spend for e in _able(p)[:2]]
        routes = [f"{r}, {shown(x, t.currency)}" for r, x in zip(routes, figures, strict=True)]
    head.append(f"  {p.ranked.part.copies} x, by {'; next '.join(routes)}", style="not bold")
    out.print(head)
    numbers = ("today", "at", "change")
    table = make_table("  what", *numbers, "then best", numbers=numbers)
    for x in near:
        table.add_row(f"  {_what(x)}", *_values(x), _name(x.other, names))
    out.print(table)
    if len(p.steps) > 1:
        runs = [f"{_span(s.from_copies, s.to_copies)} {_name(s.route, names)}" for s in p.steps]
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


def thresholds_json(t: Thresholds) -> dict[str, Any]:
    """Every threshold, the nearest of each part first; `at` is exact where `within` is 0."""
    return {
        "currency": t.currency,
        "as_of": t.as_of.isoformat(),
        "by": t.by,
        "parts": [
            {
                "part": p.ranked.part.id,
                "copies": p.ranked.part.copies,
                "best": p.ranked.best.route if p.ranked.best else None,
                "thresholds": [_threshold(x) for x in p.thresholds],
                "copies_steps": [
                    {
                        "from_copies": s.from_copies,
                        "to_copies": s.to_copies,
                        "route": s.route or None,
                        "figure_from": s.figure_from,
                        "figure_to": s.figure_to,
                    }
                    for s in p.steps
                ],
            }
            for p in t.parts
        ],
    }


def _threshold(x: Threshold) -> dict[str, Any]:
    return {
        "what": x.what,
        "name": x.name,
        "unit": x.unit,
        "today": x.today,
        "at": x.at,
        "percent": x.percent,
        "within": x.within,
        "route": x.route,
        "other": x.other or None,
        "figure": x.figure,
        "pack": x.pack or None,
        "pack_price_today": x.today * x.pack_quantity if x.pack else None,
        "pack_price_at": x.at * x.pack_quantity if x.pack else None,
    }


def print_added(added: AddedPrice, out: Console) -> None:
    row = added.placed.row
    out.print(
        f"{added.placed.place}: {row.resource}, {row.pack} at {row.supplier}, {row.price:g} {row.currency} "
        f"from {row.as_of} on"
    )
    if added.replaces_shipped:
        out.print(
            f"note: it is the build's first own price of {row.resource}; it takes the place of the shipped "
            f"example prices ({added.replaces_shipped})",
            style="dim",
        )


def added_json(added: AddedPrice) -> dict[str, Any]:
    row = added.placed.row
    return {
        "file": str(added.path),
        "row": added.placed.number,
        "resource": row.resource,
        "pack": row.pack,
        "price": row.price,
        "currency": row.currency,
        "low": row.low,
        "high": row.high,
        "as_of": row.as_of.isoformat(),
        "expires": row.expires.isoformat() if row.expires else None,
        "supplier": row.supplier,
        "source": row.source,
        "replaces_shipped": added.replaces_shipped,
    }
