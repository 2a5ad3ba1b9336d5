"""What moved the bill between two days, in a terminal."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rich.console import Console
from rich.text import Text

from routecost.core.money import apportioned, rounded, shown
from routecost.costing.sensitivity.changes import Changes, PartChange
from routecost.reports.text.terminal import make_table
from routecost.reports.wording.figures import BY_TEXT


def print_changes(c: Changes, out: Console, names: Mapping[str, str]) -> None:
    """The bill on two days, then each part's difference term by term; what is shown adds up."""
    out.print(
        f"Changes from {c.first} to {c.last}, in {c.currency}, by {BY_TEXT[c.by]}; each part by its best route of the "
        "day."
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
    bill.add_row(
        "total",
        "",
        *(shown(x, c.currency) for x in total),
        _signed(total[1] - total[0], c.currency),
        style="bold",
    )
    out.print(bill)
    _print_terms(c, [now - was for was, now in zip(before, after, strict=True)], out)
    if c.flips:
        out.print(Text("Parts whose best route has changed", style="bold"))
        for p in c.flips:
            out.print(
                f"  {p.part}: {route_name(p.route_before, names)} before, {route_name(p.route_after, names)} now"
            )


def _print_terms(c: Changes, differences: Sequence[float], out: Console) -> None:
    numbers = ("price before", "price after", "difference")
    table = make_table("part", "cause", *numbers, numbers=numbers, title="Causes")
    sums: dict[str, float] = {}
    for p, difference in zip(c.parts, differences, strict=True):
        for what, prices, amount in _terms(p, difference, c.currency):
            sums[what] = sums.get(what, 0.0) + amount
            table.add_row(p.part, what, *prices, _signed(amount, c.currency))
    if not sums:
        out.print("No price or quantity in the bill has changed.")
        return
    table.add_section()
    for what, amount in sorted(sums.items(), key=lambda item: -abs(item[1])):
        table.add_row("all parts", what, "", "", _signed(amount, c.currency))
    table.add_row("all parts", "total", "", "", _signed(sum(sums.values()), c.currency), style="bold")
    out.print(table)


def _terms(p: PartChange, difference: float, currency: str) -> list[tuple[str, tuple[str, str], float]]:
    """The terms of one part, rounded so that they add up to its shown difference; zeros left out."""
    terms = [
        (s.resource, (f"{s.before:.4g} / {s.unit}", f"{s.after:.4g} / {s.unit}"), s.amount) for s in p.prices
    ]
    terms.append(("quantities", ("", ""), p.quantities))
    terms.append((p.why_choice or "another alternative", ("", ""), p.choice))
    # before and after are rounded each by itself: a difference of a cent goes to the largest term
    largest = max(range(len(terms)), key=lambda i: abs(terms[i][2]))
    exact = [amount for _what, _prices, amount in terms]
    exact[largest] += difference - sum(exact)
    cents = apportioned(exact, currency)
    return [(what, prices, x) for (what, prices, _), x in zip(terms, cents, strict=True) if x]


def _route(p: PartChange, names: Mapping[str, str]) -> str:
    now = route_name(p.route_after, names)
    return f"{route_name(p.route_before, names)} → {now}" if p.flipped else now


def route_name(route: str, names: Mapping[str, str]) -> str:
    return names.get(route, route) or "no suitable route"


def _signed(amount: float, currency: str) -> str:
    """An amount with its sign; zero has none.

    >>> _signed(1234.5, "EUR"), _signed(-0.001, "EUR")
    ('+1,234.50', '0.00')
    """
    near = rounded(amount, currency)
    return ("+" if near > 0 else "") + shown(near or 0.0, currency)
