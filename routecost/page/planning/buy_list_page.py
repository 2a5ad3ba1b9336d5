"""The buy list of a plan, supplier by supplier."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import groupby

import streamlit as st

from routecost.api.plan_bill import Plan
from routecost.buying.buy_list import Item
from routecost.buying.totals import Totals
from routecost.core.money import minor_digits, shown
from routecost.page.planning.plan_captions import currency, named
from routecost.page.widgets import download, table
from routecost.reports.files.buy_list_csv import buy_list_csv
from routecost.reports.wording.buy_list_sentences import stock_text
from routecost.reports.wording.formats import quantity
from routecost.reports.workbook.plan_book import plan_workbook_bytes
from routecost.scheduling.order_days import OrderDays


def buy_list_section(found: Plan, totals: Totals) -> None:
    """What to buy where, leftovers, and files to download."""
    c = currency(found)
    scale = 10 ** minor_digits(c)
    st.subheader("What to buy")
    st.caption("Whole packs, minus stock. Check the date of each price.")
    for supplier, some in groupby(found.items, key=lambda i: i.supplier):
        lines = list(some)
        paid = shown(sum(i.minor_units for i in lines) / scale, c)
        with st.expander(f"{supplier or 'no supplier named'}: {paid} {c}", expanded=True):
            _table(lines, c, found.order_days)
    if stock := stock_text(totals):
        st.markdown(f"From stock: {stock}.")
    left = sum(i.left_over_worth for i in found.items)
    st.markdown(
        f"**Total to pay: {shown(totals.outlay, c)} {c}.** Leftovers are worth {shown(left, c)} {c} at today's prices, "
        "until their shelf life ends."
    )
    list_, book = st.columns([1, 4])
    download(list_, "Download the buy list", "buy-list.csv", buy_list_csv(found.items, c, found.order_days))
    download(book, "Download the workbook", "plan.xlsx", lambda: plan_workbook_bytes(found))


def _table(lines: Sequence[Item], c: str, days: Mapping[str, OrderDays]) -> None:
    digits = minor_digits(c)
    money = (f"amount, {c}", f"leftover value, {c}")
    table(
        (
            {
                "resource": i.resource,
                "buy": f"{i.packs} x {i.pack}" if i.packs else f"{quantity(i.quantity)} {i.unit}, as used",
                f"amount, {c}": i.minor_units / 10**digits,
                "order by": days[i.resource].order_by.isoformat() if i.resource in days else "",
                "needed on": days[i.resource].needed_on.isoformat() if i.resource in days else "",
                "left over": f"{quantity(i.left_over)} {i.unit}" if i.left_over else "",
                f"leftover value, {c}": i.left_over_worth if i.left_over else None,
                "shelf life": f"{i.keeps_days:g} days" if i.keeps_days and i.left_over else "",
                "price as of": i.price_as_of.isoformat(),
                "for parts": named(i.parts, 2),
            }
            for i in lines
        ),
        dict.fromkeys(money, f".{digits}f"),
        {
            "resource": 170,
            "buy": 135,
            **dict.fromkeys(money, 95),
            "order by": 90,
            "needed on": 90,
            "left over": 90,
            "shelf life": 75,
            "price as of": 90,
            "for parts": 280,
        },
        most_rows=len(lines),
    )
