"""The buy list of a plan in a terminal, supplier by supplier."""

from __future__ import annotations

from itertools import groupby

from rich.console import Console
from rich.markup import escape
from rich.text import Text

from routecost.api.plan_bill import Plan
from routecost.buying.buy_list import Item
from routecost.buying.totals import Totals
from routecost.core.money import minor_digits, shown
from routecost.reports.text.terminal import make_table
from routecost.reports.wording.buy_list_sentences import amount_text, stock_text
from routecost.reports.wording.formats import quantity
from routecost.scheduling.order_days import OrderDays


def print_buy_list(found: Plan, totals: Totals, out: Console) -> None:
    """What to buy, what comes from stock, and the total to pay."""
    c = found.workshop.tariff.currency
    scale = 10 ** minor_digits(c)
    out.print(Text("\nWhat to buy", style="bold"))
    for supplier, some in groupby(found.items, key=lambda i: i.supplier):
        lines = list(some)
        paid = shown(sum(i.minor_units for i in lines) / scale, c)
        headers = ("resource", "packs", "amount", "price as of", "order by", "needed on", "left over")
        table = make_table(*headers, numbers=("amount",), title=f"{escape(supplier)}: {paid} {c}")
        for i in lines:
            table.add_row(
                escape(i.resource),
                escape(amount_text(i)),
                shown(i.minor_units / scale, c),
                i.price_as_of.isoformat(),
                *_days(found.order_days.get(i.resource)),
                _left_over(i, c),
            )
        out.print(table)
    if stock := stock_text(totals):
        out.print(f"From stock: {stock}.")
    worth = sum(i.left_over_worth for i in found.items)
    out.print(
        Text(
            f"Total to pay: {shown(totals.outlay, c)} {c}; leftovers are worth {shown(worth, c)} {c}.",
            style="bold",
        )
    )


def _days(days: OrderDays | None) -> tuple[str, str]:
    return (days.order_by.isoformat(), days.needed_on.isoformat()) if days else ("", "")


def _left_over(i: Item, c: str) -> str:
    if not i.left_over:
        return ""
    life = f", shelf life {i.keeps_days:g} d" if i.keeps_days else ""
    return f"{quantity(i.left_over)} {i.unit} ({shown(i.left_over_worth, c)}{life})"
