"""Contents of the tables: prices on the date, rates, and the meaning of every column."""

from __future__ import annotations

import pandas as pd
import streamlit as st

from routecost.page import state
from routecost.page.widgets import table
from routecost.reports.json.tables_json import TABLES, tables_json


def tables_page() -> None:
    build, ranking = state.build(), state.ranking()
    tariff, shop = build.tariff(ranking.as_of), build.shop(ranking.as_of)
    st.header("Tables")
    prices, rates, meaning = st.tabs(["Prices", "Rates and properties", "Columns"])
    with prices:
        st.caption(f"As of {ranking.as_of}. Rows in prices.csv of this build replace the example prices.")
        table(
            {
                "resource": offer.resource,
                "pack": offer.pack,
                f"pack price, {tariff.currency}": offer.pack_price,
                "unit price": f"{offer.unit_price:.4g} / {tariff.unit(offer.resource)}",
                "as of": offer.as_of,
                "supplier": offer.supplier,
                "source": offer.source,
                "file and row": offer.place,
            }
            for offers in tariff.prices.offers.values()
            for offer in offers
        )
    with rates:
        table(
            {
                "rate": fact.ref,
                "value": str(fact.value),
                "unit": fact.unit,
                "low": fact.low,
                "high": fact.high,
                "meaning": fact.meaning,
                "source": fact.source,
                "file and row": fact.place,
            }
            for fact in shop.facts.values()
        )
    with meaning:
        name = st.selectbox("Table", list(TABLES))
        for found in tables_json(name):
            st.table(pd.DataFrame(found["columns"]))
            for kind, columns in found["classes"].items():
                st.markdown(f"**Properties of class {kind}**")
                st.table(pd.DataFrame(columns))
