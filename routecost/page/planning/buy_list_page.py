"""The buy list of a plan, supplier by supplier."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

import pandas as pd
import streamlit as st

from routecost.api.plan_bill import BillPlan
from routecost.buying.buy_list import Item, from_stock, shopping_csv
from routecost.buying.totals import Totals
from routecost.core.money import minor_digits, shown
from routecost.page.planning.plan_captions import currency, named
from routecost.planning.buying.buy_list import Item, from_stock
from routecost.planning.buying.totals import Totals
from routecost.reports.files.buy_list_csv import buy_list_csv
from routecost.reports.workbook.plan_book import plan_workbook_bytes


def shopping(found: BillPlan, totals: Totals) -> None:
    """What to buy where, what is left over of it, and files to take along."""
    c = currency(found)
    scale = 10 ** minor_digits(c)
    st.subheader("What to buy")
    st.caption("Whole packs, less what is in stock. Prices are those of the day; look at the date of each.")
    for supplier, some in groupby(found.items, key=lambda i: i.supplier):
        lines = list(some)
        paid = shown(sum(i.minor_units for i in lines) / scale, c)
        with st.expander(f"{supplier or 'no supplier named'}: {paid} {c}", expanded=True):
            _table(lines, c)
    shelf = from_stock(totals)
    if shelf:
        told = ", ".join(f"{amount(s.quantity)} {s.unit} of {s.resource}" for s in shelf)
        st.markdown(f"From the shelf: {told}.")
    left = sum(i.left_over_worth for i in found.items)
    st.markdown(
        f"**To pay in all: {shown(totals.outlay, c)} {c}.** What is left over of the packs is worth "
        f"{shown(left, c)} {c} at their prices, as long as it keeps."
    )
    list_, book = st.columns([1, 4])
    list_.download_button(
        "Take the buy list along",
        data=buy_list_csv(found.items, c),
        file_name="buy-list.csv",
        mime="text/csv",
        on_click="ignore",
    )
    book.download_button(
        "Take the plan along as a workbook",
        data=lambda: plan_workbook_bytes(found),
        file_name="plan.xlsx",
        mime="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
        on_click="ignore",
    )


def _table(lines: Sequence[Item], c: str) -> None:
    digits = minor_digits(c)
    money = st.column_config.NumberColumn(format=f"%.{digits}f", width=95)
    st.dataframe(
        pd.DataFrame(
            {
                "resource": i.resource,
                "buy": f"{i.packs} x {i.pack}" if i.packs else f"{amount(i.quantity)} {i.unit}, as used",
                f"amount, {c}": i.minor_units / 10**digits,
                "left over": f"{amount(i.left_over)} {i.unit}" if i.left_over else "",
                f"its worth, {c}": i.left_over_worth if i.left_over else None,
                "keeps": f"{i.keeps_days:g} days" if i.keeps_days and i.left_over else "",
                "price as of": i.price_as_of.isoformat(),
                "for": named(i.parts, 2),
            }
            for i in lines
        ),
        hide_index=True,
        width="stretch",
        height=38 + 35 * len(lines),
        placeholder="",
        column_config={
            "resource": st.column_config.TextColumn(width=170),
            "buy": st.column_config.TextColumn(width=135),
            f"amount, {c}": money,
            "left over": st.column_config.TextColumn(width=90),
            f"its worth, {c}": money,
            "keeps": st.column_config.TextColumn(width=75),
            "price as of": st.column_config.TextColumn(width=90),
            "for": st.column_config.TextColumn(width=280),
        },
    )


def amount(quantity: float) -> str:
    """Three digits that mean something, and no powers of ten.

    >>> amount(13.7642), amount(4554.2), amount(0.28539)
    ('13.8', '4,554', '0.285')
    """
    return f"{quantity:,.0f}" if quantity >= 1000.0 else f"{quantity:.3g}"
