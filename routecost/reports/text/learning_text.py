"""Fitted price laws and what the log changes, in a terminal: before and after with uncertainty, and the new rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rich.console import Console
from rich.text import Text

from routecost.builds.table_appending import csv_lines
from routecost.learning.learn import Learning
from routecost.learning.observations import grams_ratios
from routecost.learning.quotes_fit import ServiceFit
from routecost.reports.text.terminal import make_table
from routecost.reports.wording.fit_notes import fit_notes
from routecost.shop.facts import FactRow
from routecost.shop.price_log import PriceRow
from routecost.shop.schema import columns_of


def print_fit(fit: ServiceFit, out: Console) -> None:
    law, c = fit.law, fit.currency
    head = Text(f"\n{fit.service}", style="bold")
    head.append(f"  price law fitted to {len(fit.lines)} quotes, in {c}", style="not bold")
    out.print(head)
    out.print(
        "Shipping by the tables (a share of the order's cost, plus cost by mass) is subtracted from each quote first; "
        "errors are relative to the rest."
    )
    numbers = ("in tables", "fitted", "low", "high")
    table = make_table("price of", "unit", *numbers, "", numbers=numbers)
    for k, unit, tabled in zip(law.coefficients, fit.units, fit.tabled, strict=True):
        note = "" if k.is_determined else "not determined"
        table.add_row(k.driver, unit, *(f"{x:.4g}" for x in (tabled, k.value, k.low, k.high)), note)
    out.print(table)
    sums = ("quoted", "shipping", "fitted", "left out", "error", "by tables")
    table = make_table("quote", *sums, numbers=sums)
    errors = zip(fit.lines, law.fitted, law.left_out, law.errors, fit.tabled_errors, strict=True)
    for line, fitted, left_out, error, tabled_error in errors:
        amounts = (line.price, line.shipping, fitted + line.shipping, left_out + line.shipping)
        table.add_row(
            line.name, *(f"{x:.2f}" for x in amounts), f"{100 * error:+.1f} %", f"{100 * tabled_error:+.1f} %"
        )
    out.print(table)
    out.print(
        f"Leave-one-out error {100 * law.rms_error:.2g} % (root mean square), worst {100 * law.worst_error:+.2g} %; "
        f"error of the prices in the tables {100 * fit.tabled_rms_error:.2g} %. Low and high are the "
        "10th and 90th percentile (jackknife)."
    )
    for note in fit_notes(fit):
        out.print(Text(f"note: {note}"))


def print_learning(found: Learning, out: Console) -> None:
    out.print(
        f"{found.log_rows} rows of log.csv up to {found.day}, combined with the tables (without rows learned earlier). "
        "Value, low and high are the 50th, 10th and 90th percentile; weight is the share of the log in the result."
    )
    if found.later_rows:
        out.print(f"{found.later_rows} later rows are not used yet.")
    numbers = ("weight",)
    columns = ("rate", "in the table", "with the log", "evidence", *numbers)
    table = make_table(*columns, numbers=numbers, title="\nLearned rates")
    for wide in table.columns[:3]:
        wide.no_wrap = True
    for x in found.facts:
        table.add_row(x.ref, str(x.table), str(x.after), x.evidence, f"{x.weight:.0%}")
    if found.facts:
        out.print(table)
    for name, n, ratio in grams_ratios(found.grams):
        rows = "row" if n == 1 else "rows"
        out.print(f"{name}: {ratio:.2f} x the planned mass, in {n} {rows}; for information only")
    for note in found.notes:
        out.print(Text(f"note: {note}"))


def print_rows(
    rows: Mapping[str, Sequence[FactRow | PriceRow]], written: Sequence[str], out: Console
) -> None:
    """New rows for the tables, and whether they were written."""
    for table, added in rows.items():
        out.print(Text(f"\nRows for {table}", style="bold"))
        header = ",".join(c.header for c in columns_of(type(added[0])))
        # lines are not wrapped, so that they can be copied
        out.print(Text(f"{header}\n{csv_lines(added)}".rstrip("\n")), soft_wrap=True)
    if not rows:
        out.print("No new rows.")
    elif written:
        out.print("\nappended to " + ", ".join(written))
    else:
        out.print("\nNothing was written; use --write to append these rows.")
