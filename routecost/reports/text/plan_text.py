"""A plan for the whole bill in a terminal."""

from __future__ import annotations

from itertools import groupby

from rich.console import Console
from rich.markup import escape
from rich.padding import Padding
from rich.text import Text

from routecost.api.plan_bill import BillPlan
from routecost.buying.buy_list import Item, from_stock
from routecost.buying.totals import Totals
from routecost.core.money import minor_digits, shown
from routecost.planning.comparing.baseline import Baseline, shared_purchases
from routecost.planning.comparing.frontier import Point, trades
from routecost.planning.comparing.makespan_frontier import MakespanPoint
from routecost.planning.comparing.option_diff import told
from routecost.reports.text.terminal import make_table
from routecost.reports.text.timetable_text import print_timetable
from routecost.reports.wording.formats import date, hours, quantity
from routecost.reports.wording.plan_sentences import (
    LIMIT_TEXT,
    finish_text,
    first_day_text,
    margin_text,
    objective_text,
    optimality_text,
    shortfall_text,
    sufficiency_text,
    trade_text,
)

MOST = 8
"""Differences that are told; the rest is summed up."""


def print_plan(found: BillPlan, out: Console, names: dict[str, str], *, days: int | None = 7) -> None:
    """Everything: what is chosen and why, what to buy, when it is done, what other plans offer."""
    print_head(found, out)
    if found.totals is None:
        print_why_none(found, out)
        return
    _print_choices(found, found.totals, out, names)
    if found.baseline is not None:
        _print_against(found, found.baseline, out, names)
    _print_margins(found, out)
    _print_trades(found, found.totals, out)
    _print_spread(found, out)
    _print_items(found, found.totals, out)
    if found.timetable is not None:
        out.print(Text("\nTimetable", style="bold"))
        print_timetable(found.timetable, out, days=days, needed_by=found.request.dates.needed_by)


def print_head(found: BillPlan, out: Console) -> None:
    """What was asked for."""
    request, c = found.request, found.workshop.tariff.currency
    out.print(
        f"The whole bill with the least {objective_text(found)}; prices as of {found.day}, in {c}; "
        f"work begins on {date(request.dates.start)}."
    )
    limits = []
    if request.limits.budget is not None:
        limits.append(f"outlay up to {shown(request.limits.budget, c)}")
    if request.limits.own_hours is not None:
        limits.append(f"{request.limits.own_hours:g} own hours")
    if request.limits.printer_hours is not None:
        limits.append(f"{request.limits.printer_hours:g} printer hours")
    if request.dates.finish_by is not None:
        limits.append(f"done by {date(request.dates.finish_by)}")
    limits += [f"{part} needed by {day}" for part, day in request.dates.needed_by.items()]
    limits += [f"{part} by {route}" for part, route in request.plan_request.pins.items()]
    if request.plan_request.as_designed:
        limits.append("no part changed")
    if request.plan_request.without:
        limits.append("without " + ", ".join(request.plan_request.without))
    if limits:
        out.print("Limits: " + "; ".join(limits) + ".")
    if found.done:
        told = ", ".join(f"{n} x {part}" for part, n in found.done.items())
        out.print(f"Done already, and not planned again: {told}.")
    print_begun(found, out)


def print_begun(found: BillPlan, out: Console) -> None:
    """Parts that go on from where the log leaves them."""
    names = {route.id: route.name for route in found.build.routes}
    for b in found.in_progress:
        if not b.finished:
            after = f"done up to: {b.last_done}" if b.last_done else "partly done"
            out.print(indented(f"Under way: {b.part} goes on as {names.get(b.route, b.route)}, {after}"))
    passed = {p: d for p, d in found.request.dates.needed_by.items() if d < found.request.dates.start}
    if passed:
        told = ", ".join(f"{part} by {day}" for part, day in passed.items())
        out.print(f"Needed on days that have passed, so late whatever is done: {told}.")


def print_why_none(found: BillPlan, out: Console) -> None:
    """Which limit is in the way, by how much, and the smallest change that helps."""
    c = found.workshop.tariff.currency
    out.print(Text("\nThere is no such plan.", style="bold"))
    for barred in found.bill.barred:
        out.print(Text(f"{barred.part}: no allowed route makes it", style="bold"))
        for reason in barred.reasons:
            out.print(Text(f"  {reason}"))
        out.print(f"  relax what it must do in parts.csv, or plan the rest: --without {barred.part}")
    if found.choice.status == "unknown":
        out.print("None was found in the time allowed; there may be one: give it more with --seconds.")
    if day := first_day_text(found):
        out.print(indented(day))
    if found.why is None:
        return
    for short in found.why.each:
        out.print(indented(f"{shortfall_text(found, short, c)}: {sufficiency_text(found)}"))
    if found.why.together:
        out.print("No single limit is in the way. All of these together would do:")
        for short in found.why.together:
            out.print("  " + shortfall_text(found, short, c))


def _print_choices(found: BillPlan, totals: Totals, out: Console, names: dict[str, str]) -> None:
    c = found.workshop.tariff.currency
    ends = found.timetable.ends if found.timetable else {}
    table = make_table("part", "copies", "way", "own time", "done on", numbers=("copies", "own time"))
    for o in totals.options:
        way = Text(names.get(o.route, o.route), style="bold")
        way.append(f"\n{o.plan.alternative}", style="not bold")
        for reason in o.plan.verdict.reasons:
            if reason.level == "changes":
                way.append(f"\n{reason.text}", style="italic not bold")
        end = ends.get(o.part)
        table.add_row(o.part, str(o.plan.copies), way, hours(o.own_hours), f"{end:%m-%d}" if end else "")
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
        late = ", ".join(f"{part} (by {day})" for part, day in found.scheduled.late.items())
        out.print(Text(f"Late in the best timetable found: {late}.", style="bold"))
    elif found.scheduled.rounds:
        out.print(f"Better plans were late: {found.scheduled.rounds} were tried until one held the dates.")


def _print_against(found: BillPlan, each: Baseline, out: Console, names: dict[str, str]) -> None:
    c = found.workshop.tariff.currency
    out.print(Text("\nWhy not the cheapest way of each part?", style="bold"))
    if not each.switched and not each.differences:
        out.print("The cheapest way of each part by itself is the plan: nothing is gained by sharing.")
        return
    out.print(
        f"Bought in whole packs, that comes to an outlay of {shown(each.totals.outlay, c)}, "
        f"{each.totals.own_hours:.1f} own hours and a full cost of {shown(each.totals.full, c)}. The plan "
        f"{_saves(each.outlay, c, 'of outlay')} and {_saves(each.full, c, 'of full cost')}."
    )
    if each.breaks:
        broken = ", ".join(LIMIT_TEXT[name] for name in each.breaks)
        out.print(f"It would also break a limit: {broken}.")
    for was, now in each.switched:
        out.print(indented(f"{was.part}: {told(was, now, names)}"))
    table = make_table("saves", "what is bought otherwise", numbers=("saves",))
    for d in each.differences[:MOST]:
        table.add_row(shown(d.saves, c), escape(d.text))
    rest = each.differences[MOST:]
    if rest:
        table.add_row(shown(sum(d.saves for d in rest), c), f"{len(rest)} smaller differences")
    out.print(table)
    shared = [line for line in shared_purchases(each_plan(found), found.workshop) if line.amount > 0.0][:3]
    if shared:
        served = "; ".join(f"{line.resource} serves {len(line.parts)} parts" for line in shared)
        out.print(f"Shared most in the plan: {served}.")


def indented(text: str) -> Padding:
    """A line of a list, its continuation below its words."""
    return Padding(Text(text), (0, 0, 0, 2))


def each_plan(found: BillPlan) -> Totals:
    """The plan's totals, which are there."""
    assert found.totals is not None
    return found.totals


def _saves(amount: float, c: str, what: str) -> str:
    return f"saves {shown(amount, c)} {what}" if amount >= 0.0 else f"costs {shown(-amount, c)} more {what}"


def _print_margins(found: BillPlan, out: Console) -> None:
    told = [margin_text(found, m) for m in found.margins]
    if told:
        out.print("\nAt the limits: " + "; ".join(told) + ".")


def _print_trades(found: BillPlan, totals: Totals, out: Console) -> None:
    c = found.workshop.tariff.currency
    if found.frontier:
        out.print(
            Text("\nOutlay against your own time: no plan that was found is better in both", style="bold")
        )
        told = [trade_text(t, c) for t in trades(found.frontier, totals)]
        if told:
            out.print("From this plan, " + "; ".join(told) + ".")
        table = make_table("own hours", "outlay", "least possible", "full cost", "", numbers=(
            "own hours", "outlay", "least possible", "full cost"))  # fmt: skip
        for p in found.frontier:
            table.add_row(f"{p.totals.own_hours:.1f}", *_point_cells(p, c), _mark(p.totals, totals))
        out.print(table)
    if found.makespan_frontier:
        out.print(Text("Outlay against the day it is done", style="bold"))
        table = make_table("done on", "outlay", "least possible", "full cost", "own hours", "", numbers=(
            "outlay", "least possible", "full cost", "own hours"))  # fmt: skip
        for f in found.makespan_frontier:
            cells = _point_cells(f, c)
            own = f"{f.totals.own_hours:.1f}"
            table.add_row(f"{date(f.finish.date())} {f.finish:%H:%M}", *cells, own, _mark(f.totals, totals))
        out.print(table)


def _point_cells(p: Point | MakespanPoint, c: str) -> tuple[str, str, str]:
    return shown(p.totals.outlay, c), shown(p.bound, c), shown(p.totals.full, c)


def _mark(some: Totals, plan: Totals) -> str:
    same = all(a.plan is b.plan for a, b in zip(some.options, plan.options, strict=True))
    return "the plan" if same else ""


def _print_spread(found: BillPlan, out: Console) -> None:
    if found.spread is None or found.makespan_spread is None:
        return
    c, spread = found.workshop.tariff.currency, found.spread
    out.print(Text("How sure it is", style="bold"))
    out.print(
        f"Prices between their lows and highs: the outlay is up to {shown(spread.p50, c)} in half of "
        f"{spread.draws} draws (P50), up to {shown(spread.p80, c)} in four of five (P80)."
    )
    p50, p80 = found.makespan_spread.at(50), found.makespan_spread.at(80)
    if p50 and p80:
        out.print(
            f"Times between their lows and highs: done by {date(p50.date())} (P50), {date(p80.date())} (P80), "
            f"from {found.makespan_spread.worlds} draws; machine and curing times as planned. The timetable takes "
            "every time as the likeliest, and most can turn out longer by more than shorter."
        )
    out.print(
        f"Another of {len(found.alternatives) - 1} plans looked at would have been better in {spread.another_wins:.0%} "
        "of the draws."
    )


def _print_items(found: BillPlan, totals: Totals, out: Console) -> None:
    c = found.workshop.tariff.currency
    scale = 10 ** minor_digits(c)
    out.print(Text("\nWhat to buy", style="bold"))
    for supplier, some in groupby(found.items, key=lambda i: i.supplier):
        lines = list(some)
        paid = shown(sum(i.minor_units for i in lines) / scale, c)
        headers = ("what", "packs", "amount", "price of", "left over")
        table = make_table(*headers, numbers=("amount",), title=f"{escape(supplier)}: {paid} {c}")
        for i in lines:
            table.add_row(
                escape(i.resource),
                escape(f"{i.packs} x {i.pack}" if i.packs else f"{quantity(i.quantity)} {i.unit}"),
                shown(i.minor_units / scale, c),
                i.price_as_of.isoformat(),
                _left(i, c),
            )
        out.print(table)
    shelf = from_stock(totals)
    if shelf:
        told = ", ".join(f"{quantity(s.quantity)} {s.unit} {s.resource}" for s in shelf)
        out.print(f"From the shelf: {told}.")
    worth = sum(i.left_over_worth for i in found.items)
    out.print(
        Text(
            f"To pay in all: {shown(totals.outlay, c)} {c}; what is left over is worth {shown(worth, c)}.",
            style="bold",
        )
    )


def _left(i: Item, c: str) -> str:
    if not i.left_over:
        return ""
    keeps = f", keeps {i.keeps_days:g} days" if i.keeps_days else ""
    return f"{quantity(i.left_over)} {i.unit} ({shown(i.left_over_worth, c)}{keeps})"
