"""A plan for the whole bill in a terminal."""

from __future__ import annotations

from rich.console import Console
from rich.markup import escape
from rich.text import Text

from routecost.api.plan_bill import Plan
from routecost.buying.totals import Totals
from routecost.core.money import shown
from routecost.planning.comparing.baseline import Baseline, shared_purchases
from routecost.planning.comparing.option_diff import change_text
from routecost.reports.text.buy_list_text import print_buy_list
from routecost.reports.text.outlook_text import print_spread, print_trades
from routecost.reports.text.terminal import indented, make_table
from routecost.reports.text.timetable_text import print_timetable
from routecost.reports.wording.formats import date, hours
from routecost.reports.wording.plan_sentences import (
    LIMIT_TEXT,
    changes_needed,
    done_text,
    earliest_finish_text,
    finish_text,
    late_text,
    margin_text,
    objective_text,
    optimality_text,
    shortfall_text,
    sufficiency_text,
)

MOST = 8
"""Differences that are listed; the rest are summed up."""


def print_plan(found: Plan, out: Console, names: dict[str, str], *, days: int | None = 7) -> None:
    """Everything: what is chosen and why, what other plans offer, what to buy, when it is done."""
    _print_head(found, out)
    if found.totals is None:
        _print_infeasible(found, out)
        return
    _print_choices(found, found.totals, out, names)
    if found.baseline is not None:
        _print_baseline(found, found.totals, found.baseline, out, names)
    if found.margins:
        out.print("\nLimits: " + "; ".join(margin_text(found, m) for m in found.margins) + ".")
    print_trades(found, found.totals, out)
    print_spread(found, out)
    print_buy_list(found, found.totals, out)
    if found.timetable is not None:
        out.print(Text("\nTimetable", style="bold"))
        print_timetable(
            found.timetable, out, days=days, needed_by=found.request.dates.needed_by, orders=found.orders
        )


def _print_head(found: Plan, out: Console) -> None:
    """The request."""
    request, c = found.request, found.workshop.tariff.currency
    out.print(
        f"Plan for the whole bill; minimizes {objective_text(found)}; prices as of {found.day}, in {c}; work "
        f"starts on {date(request.dates.start)}."
    )
    limits = []
    if request.limits.budget is not None:
        limits.append(f"outlay at most {shown(request.limits.budget, c)}")
    if request.limits.own_hours is not None:
        limits.append(f"at most {request.limits.own_hours:g} own hours")
    if request.limits.printer_hours is not None:
        limits.append(f"at most {request.limits.printer_hours:g} printer hours")
    if request.dates.finish_by is not None:
        limits.append(f"done by {date(request.dates.finish_by)}")
    limits += [f"{part} needed by {day}" for part, day in request.dates.needed_by.items()]
    limits += [f"{part} by {route}" for part, route in request.original.pins.items()]
    if request.original.as_designed:
        limits.append("no changes to parts")
    if request.original.without:
        limits.append("without " + ", ".join(request.original.without))
    if limits:
        out.print("Limits: " + "; ".join(limits) + ".")
    if found.done:
        out.print(f"Done already, so not planned again: {done_text(found.done)}.")
    print_in_progress(found, out)


def print_in_progress(found: Plan, out: Console) -> None:
    """Parts in progress according to the log, and dates that have passed."""
    names = {route.id: route.name for route in found.build.routes}
    for b in found.in_progress:
        if not b.finished:
            after = f"done up to: {b.last_done}" if b.last_done else "partly done"
            out.print(indented(f"In progress: {b.part}, {names.get(b.route, b.route)}, {after}"))
    passed = {p: d for p, d in found.request.dates.needed_by.items() if d < found.request.dates.start}
    if passed:
        out.print(f"Late in any plan, because the date has passed: {late_text(passed)}.")


def _print_infeasible(found: Plan, out: Console) -> None:
    """Which limit is in the way, by how much, and the smallest change that helps."""
    c = found.workshop.tariff.currency
    out.print(Text("\nNo such plan.", style="bold"))
    for barred in found.bill.barred:
        out.print(Text(f"{barred.part}: no allowed route can make it", style="bold"))
        for reason in barred.reasons:
            out.print(Text(f"  {reason}"))
        out.print(f"  Relax its requirements in parts.csv, or plan the rest: --without {barred.part}")
    if found.choice.status == "unknown":
        out.print("No plan was found in the time allowed, but one may exist: allow more with --seconds.")
    if day := earliest_finish_text(found):
        out.print(indented(f"Set {day}."))
    if found.why is None:
        return
    for short in found.why.each:
        out.print(indented(f"Set {shortfall_text(found, short, c)}: {sufficiency_text(found)}"))
    if found.why.together:
        out.print("Changing a single limit is not enough. Set all of these:")
        for short in found.why.together:
            out.print("  " + shortfall_text(found, short, c))


def _print_choices(found: Plan, totals: Totals, out: Console, names: dict[str, str]) -> None:
    c = found.workshop.tariff.currency
    ends = found.timetable.ends if found.timetable else {}
    table = make_table("part", "copies", "route", "own time", "done on", numbers=("copies", "own time"))
    for o in totals.options:
        route = Text(names.get(o.route, o.route), style="bold")
        route.append(f"\n{o.plan.alternative}", style="not bold")
        for change in changes_needed(o):
            route.append(f"\n{change}", style="italic not bold")
        end = ends.get(o.part)
        table.add_row(o.part, str(o.plan.copies), route, hours(o.own_hours), f"{end:%m-%d}" if end else "")
    out.print(table)
    out.print(
        Text(
            f"Outlay {shown(totals.outlay, c)} {c}, own time {totals.own_hours:.1f} h, full cost "
            f"{shown(totals.full, c)} {c}; {finish_text(found)}.",
            style="bold",
        )
    )
    out.print(optimality_text(found))
    if found.scheduled.late:
        out.print(Text(f"Late in the best timetable found: {late_text(found.scheduled.late)}.", style="bold"))
    elif found.scheduled.rounds:
        out.print(
            f"{found.scheduled.rounds} plans with better figures missed the dates; this one meets them."
        )


def _print_baseline(found: Plan, totals: Totals, each: Baseline, out: Console, names: dict[str, str]) -> None:
    c = found.workshop.tariff.currency
    out.print(Text("\nWhy not the cheapest route for each part?", style="bold"))
    if not each.switched and not each.differences:
        out.print("The plan is the cheapest route for each part: sharing purchases saves nothing more.")
        return
    out.print(
        f"In whole packs, the cheapest routes come to an outlay of {shown(each.totals.outlay, c)}, "
        f"{each.totals.own_hours:.1f} own hours and a full cost of {shown(each.totals.full, c)}. The plan "
        f"{_saves(each.outlay, c, 'outlay')} and {_saves(each.full, c, 'full cost')}."
    )
    if each.breaks:
        out.print("They would exceed limits: " + ", ".join(LIMIT_TEXT[name] for name in each.breaks) + ".")
    for was, now in each.switched:
        out.print(indented(f"{was.part}: {change_text(was, now, names)}"))
    table = make_table("saves", "difference in purchases", numbers=("saves",))
    for d in each.differences[:MOST]:
        table.add_row(shown(d.saves, c), escape(d.text))
    if rest := each.differences[MOST:]:
        table.add_row(shown(sum(d.saves for d in rest), c), f"{len(rest)} smaller differences")
    out.print(table)
    shared = [line for line in shared_purchases(totals, found.workshop) if line.amount > 0.0][:3]
    if shared:
        served = "; ".join(f"{line.resource} for {len(line.parts)} parts" for line in shared)
        out.print(f"Shared by most parts: {served}.")


def _saves(amount: float, c: str, what: str) -> str:
    return (
        f"saves {shown(amount, c)} of {what}" if amount >= 0.0 else f"costs {shown(-amount, c)} more {what}"
    )
