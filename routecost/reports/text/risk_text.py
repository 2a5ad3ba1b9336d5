"""The uncertainty of the ranking in a terminal: percentiles, probabilities, and what drives the spread."""

from __future__ import annotations

from rich.console import Console

from routecost.core.money import shown
from routecost.costing.uncertainty.risk import PERCENTILES, Risk
from routecost.reports.text.terminal import make_table

BAR = 28
"""Columns of a bar of the tornado: what is left of 100 beside its numbers."""


def print_risk(risk: Risk, out: Console, names: dict[str, str], most: int = 15) -> None:
    """Percentiles, chances by part, and the strongest drivers with their tornado."""
    c = risk.currency
    out.print(
        f"{risk.draws:,} random samples (seed {risk.seed}, {risk.law}): each price and rate varies between its low and "
        "high, by the same value in all parts that use it; each part stays with its best route."
    )
    columns = [f"P{p}" for p in PERCENTILES]
    table = make_table(
        "", "most likely", *columns, numbers=("most likely", *columns), title=f"\nTotals, in {c}"
    )
    for name, likely, samples in (
        ("full cost", risk.likely_full, risk.full),
        ("spend", risk.likely_spend, risk.spend),
    ):
        table.add_row(name, shown(likely, c), *(shown(x, c) for x in risk.percentiles(samples).values()))
    place = float((risk.full <= risk.likely_full).mean())
    hours = [f"{x:.1f}" for x in risk.percentiles(risk.own_hours).values()]
    table.add_row("own hours", f"{risk.likely_own_hours:.1f}", *hours)
    out.print(table)
    out.print(
        f"The full cost stays at or below its most likely value in {place:.0%} of the samples: most prices and times "
        "can rise by more than they can fall."
    )
    if risk.budget is not None and risk.chance_in_budget is not None:
        out.print(
            f"Probability of staying within the budget of {shown(risk.budget, c)}: {risk.chance_in_budget:.0%}."
        )
    out.print(
        f"Contingency for 80 % probability: {shown(risk.contingency, c)} on top of the most likely spend."
    )
    found = risk.estimate_class
    limits = f"class {found}" if found else "wider than class 5"
    out.print(f"The spread corresponds to an estimate of {limits} (outer limits of AACE 18R-97).")

    table = make_table("part", "best route", "probability of being the cheapest", title="\nParts")
    for part in risk.parts:
        others = [
            f"{names.get(r, r)} {p:.0%}"
            for r, p in sorted(part.by_route.items(), key=lambda item: -item[1])
            if r != part.best_as_likely and p >= 0.005
        ]
        share = f"{part.by_route[part.best_as_likely]:.0%}"
        table.add_row(
            part.part,
            names.get(part.best_as_likely, part.best_as_likely),
            share + (f"; otherwise {', '.join(others)}" if others else ""),
        )
    out.print(table)
    _print_tornado(risk, out, most)


def _print_tornado(risk: Risk, out: Console, most: int) -> None:
    """One input at a time from its low to its high, all others at their most likely values."""
    strongest = risk.drivers[:most]
    ends = [x for d in strongest for x in (d.at_low, d.at_high)]
    if not ends:
        return
    least, widest = min(ends), max(max(ends) - min(ends), 1e-9)
    numbers = ("of variance", "at low", "at high")
    table = make_table(
        "input",
        *numbers,
        "full cost from low to high",
        numbers=numbers,
        title="\nMain drivers: one input at a time",
    )
    for d in strongest:
        first, last = sorted((d.at_low, d.at_high))
        left = round(BAR * (first - least) / widest)
        long = max(1, round(BAR * (last - first) / widest))
        table.add_row(
            d.input,
            f"{d.share:.0%}",
            shown(d.at_low, risk.currency),
            shown(d.at_high, risk.currency),
            " " * left + "■" * long,
        )
    out.print(table)
