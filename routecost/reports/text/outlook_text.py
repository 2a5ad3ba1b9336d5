"""What other plans offer, and the uncertainty of a plan, in a terminal."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from routecost.api.plan_bill import Plan
from routecost.buying.totals import Totals
from routecost.core.money import shown
from routecost.planning.comparing.frontier import trades
from routecost.reports.text.terminal import make_table
from routecost.reports.wording.formats import clock, date
from routecost.reports.wording.plan_sentences import is_same_choice, trade_text

FIGURES = ("outlay", "lower bound", "full cost", "own hours")


def print_trades(found: Plan, totals: Totals, out: Console) -> None:
    """The least outlay for many limits of own hours, and for many finish dates."""
    c = found.workshop.tariff.currency
    if found.frontier:
        out.print(Text("\nOutlay vs. own time: no plan found is better in both", style="bold"))
        near = [trade_text(t, c) for t in trades(found.frontier, totals)]
        if near:
            out.print("From this plan, " + "; ".join(near) + ".")
        table = make_table(*FIGURES, "", numbers=FIGURES)
        for p in found.frontier:
            table.add_row(*_figures(p.totals, p.bound, c), _mark(p.totals, totals))
        out.print(table)
    if found.makespan_frontier:
        out.print(Text("Outlay vs. finish", style="bold"))
        table = make_table("done on", *FIGURES, "", numbers=FIGURES)
        for f in found.makespan_frontier:
            done = f"{date(f.finish.date())} {clock(f.finish)}"
            table.add_row(done, *_figures(f.totals, f.bound, c), _mark(f.totals, totals))
        out.print(table)


def _figures(t: Totals, bound: float, c: str) -> tuple[str, ...]:
    return shown(t.outlay, c), shown(bound, c), shown(t.full, c), f"{t.own_hours:.1f}"


def _mark(some: Totals, plan: Totals) -> str:
    return "this plan" if is_same_choice(some, plan) else ""


def print_spread(found: Plan, out: Console) -> None:
    """Percentiles of outlay and finish, and how often another plan would have been better."""
    if found.spread is None or found.makespan_spread is None:
        return
    c, spread = found.workshop.tariff.currency, found.spread
    out.print(Text("Uncertainty", style="bold"))
    out.print(
        f"Outlay: P50 {shown(spread.p50, c)}, P80 {shown(spread.p80, c)} ({spread.draws:,} samples with prices "
        "between low and high)."
    )
    p50, p80 = found.makespan_spread.at(50), found.makespan_spread.at(80)
    if p50 and p80:
        out.print(
            f"Finish: P50 {date(p50.date())}, P80 {date(p80.date())} ({found.makespan_spread.worlds} samples with "
            "hands-on times and deliveries between low and high; machine and curing times as planned). The timetable "
            "uses the most likely times, and most times can grow by more than they can shrink."
        )
    out.print(
        f"In {spread.another_wins:.0%} of the samples another of the {len(found.alternatives) - 1} plans compared "
        "would have been better."
    )
