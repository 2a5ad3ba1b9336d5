"""One route of a part explained in a terminal: operations, prices, rates, alternatives."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from rich.console import Console
from rich.text import Text

from routecost.bill.rank_bill import Explanation
from routecost.core.money import apportioned, shown
from routecost.reports.text.terminal import make_table
from routecost.reports.wording.formats import days, hours, quantity
from routecost.reports.wording.verdict_words import LEVEL_TEXT, first_reason
from routecost.routes.process.operation import Operation
from routecost.shop.resources import CautionRow


def print_explanation(x: Explanation, out: Console, name: str, *, every: bool) -> None:
    """Every operation and draw of one route, then where each price and rate comes from."""
    e, c = x.estimate, x.currency
    part = x.ranked.part
    head = Text(f"{part.id}", style="bold")
    head.append(f"  {part.description}, {part.copies} x, {name}: {e.plan.alternative}", style="not bold")
    out.print(head)
    out.print(f"{LEVEL_TEXT[e.plan.verdict.level]}: " + "; ".join(e.plan.verdict.texts))
    out.print(
        f"full cost {shown(e.full, c)}, spend {shown(e.spend, c)}, own time {hours(e.own_hours)}, "
        f"machine time {hours(e.machine_hours)}, lead time {days(e.lead_days)}, mass {e.mass_g:,.0f} g; "
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
            "alternative", "verdict", *figures, "reasons", numbers=figures, title="Alternatives"
        )
        for other in x.alternatives:
            table.add_row(
                other.plan.alternative,
                LEVEL_TEXT[other.plan.verdict.level],
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
        table = make_table("  resource", *numbers, "calculation", numbers=numbers)
        # lines stand in the order of the operations; a name may come back later
        while lines and lines[0].operation == op.name:
            line = lines.pop(0)
            table.add_row(
                f"  {line.resource}",
                f"{quantity(line.quantity)} {line.unit}",
                f"{line.unit_price:.4g}",
                shown(next(amounts), x.currency),
                line.why,
            )
        if table.row_count:
            out.print(table)


def _print_cautions(
    operations: Iterable[Operation], cautions: Mapping[str, CautionRow], out: Console
) -> None:
    named = dict.fromkeys(c for op in operations for c in op.cautions)
    if named:
        out.print(Text("\nCautions", style="bold"))
    for name in named:
        where = ", ".join(dict.fromkeys(op.name for op in operations if name in op.cautions))
        out.print(f"  {cautions[name].topic} ({where}): {cautions[name].text}")
