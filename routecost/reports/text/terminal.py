"""Tables for a terminal, at most 100 columns wide; colour only where a person looks at it."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

from routecost.core.money import apportioned, shown
from routecost.costing.estimate import Estimate
from routecost.costing.ranking import RankedPart, Ranking
from routecost.routes.process.operation import Operation
from routecost.shop.resources import CautionRow

if TYPE_CHECKING:
    from routecost.bill.rank_bill import Explanation
    from routecost.builds.build import Build

WIDTH = 100


def console() -> Console:
    """Where tables go: as wide as the terminal, 100 columns at most and when nobody looks."""
    made = Console(highlight=False)
    if not made.is_terminal or made.width > WIDTH:
        made = Console(highlight=False, width=WIDTH)
    return made


def make_table(*columns: str, numbers: Sequence[str] = (), title: str = "") -> Table:
    table = Table(
        box=box.SIMPLE_HEAD, title=title or None, title_justify="left", pad_edge=False, expand=False
    )
    for name in columns:
        right = name in numbers
        table.add_column(name, justify="right" if right else "left", no_wrap=right, overflow="fold")
    return table


def hours(h: float) -> str:
    """Hours as people say them.

    >>> hours(0.2), hours(7.25)
    ('12 min', '7.2 h')
    """
    return f"{h * 60:.0f} min" if h < 1.0 else f"{h:.1f} h"


def days(d: float) -> str:
    return f"{d * 24:.0f} h" if d < 1.0 else f"{d:.1f} d"


def print_notes(build: Build, out: Console) -> None:
    """What reading the meshes wants known."""
    for note in build.warnings:
        out.print(Text(f"note: {note}", style="dim"))


def print_ranking(ranking: Ranking, out: Console, names: dict[str, str], *, every: bool = True) -> None:
    """The bill with the best route of each part, then every part's routes in order."""
    c = ranking.currency
    out.print(
        f"Prices as of {ranking.as_of}, in {c}; ranked by {ranking.by}; amounts are for all copies of a part."
    )
    if every:
        for ranked in ranking.parts:
            _print_part(ranked, out, names, c)
    _print_bill(ranking, out, names)


def _print_part(ranked: RankedPart, out: Console, names: dict[str, str], currency: str) -> None:
    part = ranked.part
    head = Text(f"\n{part.id}", style="bold")
    head.append(f"  {part.description}, {part.copies} x", style="not bold")
    out.print(head)
    _row(out, "", "route", "verdict", "full cost", "spend", "own time", "lead", style="dim")
    for place, e in enumerate(ranked.estimates, start=1):
        out_of = e.plan.verdict.level == "ruled out"
        _row(
            out,
            "-" if out_of else str(place),
            names.get(e.route, e.route),
            _LEVEL_TEXT[e.plan.verdict.level],
            shown(e.full, currency),
            shown(e.spend, currency),
            hours(e.own_hours),
            days(e.lead_days),
            style="dim" if out_of else ("bold" if e is ranked.best else ""),
        )
        _indented(e.plan.alternative, out, "dim" if out_of else "")
        if e.plan.verdict.level != "suits":
            _indented(first_reason(e), out, "dim" if out_of else "italic")


_FIELDS = ("{:<2}", "{:<23}", "{:<19}", "{:>11}", "{:>11}", "{:>9}", "{:>8}")


def _row(out: Console, *cells: str, style: str = "") -> None:
    out.print(Text("  " + " ".join(f.format(c) for f, c in zip(_FIELDS, cells, strict=True)), style=style))


def _indented(text: str, out: Console, style: str) -> None:
    """A text below its row, broken at words."""
    for line in textwrap.wrap(text, out.width - 9, break_long_words=True):
        out.print(Text(f"       {line}", style=style))


_LEVEL_TEXT = {"suits": "suits", "changes": "suits with changes", "ruled out": "ruled out"}


def first_reason(e: Estimate) -> str:
    """The reasons that decide the verdict."""
    return "; ".join(r.text for r in e.plan.verdict.reasons if r.level == e.plan.verdict.level)


def _print_bill(ranking: Ranking, out: Console, names: dict[str, str]) -> None:
    c = ranking.currency
    numbers = ("copies", "full cost", "spend", "own time", "lead")
    title = "\nThe bill, each part by itself"
    table = make_table("part", "copies", "best route", *numbers[1:], numbers=numbers, title=title)
    chosen = ranking.chosen
    full = iter(apportioned([e.full for e in chosen], c))
    spend = iter(apportioned([e.spend for e in chosen], c))
    for ranked in ranking.parts:
        e = ranked.best
        if e is None:
            table.add_row(ranked.part.id, str(ranked.part.copies), "none can make it")
            continue
        changes = " (with changes)" if e.plan.verdict.level == "changes" else ""
        table.add_row(
            ranked.part.id,
            str(ranked.part.copies),
            names.get(e.route, e.route) + changes,
            shown(next(full), c),
            shown(next(spend), c),
            hours(e.own_hours),
            days(e.lead_days),
        )
    table.add_section()
    totals = (shown(ranking.full, c), shown(ranking.spend, c), hours(ranking.own_hours), "")
    table.add_row("total", "", "", *totals, style="bold")
    out.print(table)


def print_explanation(x: Explanation, out: Console, name: str, *, every: bool) -> None:
    """Every operation and draw of one route, then where each price and rate comes from."""
    e, c = x.estimate, x.currency
    part = x.ranked.part
    head = Text(f"{part.id}", style="bold")
    head.append(f"  {part.description}, {part.copies} x, by {name}: {e.plan.alternative}", style="not bold")
    out.print(head)
    out.print(f"{_LEVEL_TEXT[e.plan.verdict.level]}: " + "; ".join(e.plan.verdict.texts))
    out.print(
        f"full cost {shown(e.full, c)}, spend {shown(e.spend, c)}, own time {hours(e.own_hours)}, "
        f"machines {hours(e.machine_hours)}, lead {days(e.lead_days)}, mass {e.mass_g:,.0f} g; "
        f"{c}, prices as of {x.as_of}"
    )
    _print_operations(x, out)
    _print_cautions(e.plan.operations, x.shop.cautions, out)
    numbers = ("unit price",)
    prices = make_table(
        "resource", "unit price", "from", "as of", "source", numbers=numbers, title="\nPrices"
    )
    for offer in x.offers.values():
        unit = x.shop.resources[offer.resource].unit if offer.resource in x.shop.resources else "each"
        price = f"{offer.unit_price:.4g} / {unit}"
        prices.add_row(
            offer.resource,
            price,
            f"{offer.supplier}, {offer.pack}",
            str(offer.as_of),
            f"{offer.source} ({offer.place})",
        )
    out.print(prices)
    rates = make_table("rate", "value", "source", title="Rates")
    for fact in x.rates:
        rates.add_row(fact.ref, fact.shown, f"{fact.source} ({fact.place}, {fact.as_of})")
    out.print(rates)
    if every:
        figures = ("full cost", "spend", "own time")
        table = make_table(
            "alternative", "verdict", *figures, "because", numbers=figures, title="Alternatives"
        )
        for other in x.alternatives:
            table.add_row(
                other.plan.alternative,
                other.plan.verdict.level,
                shown(other.full, c),
                shown(other.spend, c),
                hours(other.own_hours),
                "" if other.plan.verdict.level == "suits" else first_reason(other),
            )
        out.print(table)


def _print_operations(x: Explanation, out: Console) -> None:
    amounts = iter(apportioned([line.amount for line in x.estimate.lines], x.currency))
    numbers = ("quantity", "unit price", "amount")
    lines = list(x.estimate.lines)
    for op in x.estimate.plan.operations:
        times = [
            text
            for text, minutes in (
                ("hands-on", op.hands_on_min),
                (op.machine or "machine", op.machine_min),
                ("waiting", op.waiting_min),
            )
            if minutes > 0
            for text in [f"{text} {hours(minutes / 60)}"]
        ]
        title = Text(f"\n{op.name}", style="bold")
        title.append(f"  {', '.join(times)}" if times else "", style="not bold")
        out.print(title)
        if op.note:
            out.print(f"  {op.note}")
        table = make_table("  resource", *numbers, "how much and why", numbers=numbers)
        # lines stand in the order of the operations; a name may come back later
        while lines and lines[0].operation == op.name:
            line = lines.pop(0)
            table.add_row(
                f"  {line.resource}",
                f"{_short(line.quantity)} {line.unit}",
                f"{line.unit_price:.4g}",
                shown(next(amounts), x.currency),
                line.why,
            )
        if table.row_count:
            out.print(table)


def _short(x: float) -> str:
    """A quantity with about three figures.

    >>> _short(1234.6), _short(0.0123456)
    ('1,235', '0.0123')
    """
    return f"{x:,.0f}" if abs(x) >= 100 else f"{x:.3g}"


def _print_cautions(
    operations: Iterable[Operation], cautions: Mapping[str, CautionRow], out: Console
) -> None:
    named = dict.fromkeys(c for op in operations for c in op.cautions)
    if named:
        out.print(Text("\nCautions", style="bold"))
    for name in named:
        where = ", ".join(dict.fromkeys(op.name for op in operations if name in op.cautions))
        out.print(f"  {cautions[name].topic} ({where}): {cautions[name].text}")
