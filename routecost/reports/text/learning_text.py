"""What quotes and the log teach, as JSON and for a terminal: before and after with uncertainty, and the new rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import exp, log
from typing import Any

from rich.console import Console
from rich.text import Text

from routecost.builds.table_appending import csv_lines
from routecost.learning.learn import Learning
from routecost.learning.observations import SeenGrams
from routecost.learning.posteriors import Known
from routecost.learning.quotes_fit import ServiceFit
from routecost.reports.text.terminal import make_table
from routecost.shop.facts import FactRow
from routecost.shop.price_log import PriceRow
from routecost.shop.schema import columns_of


def fits_json(found: Sequence[ServiceFit], written: Sequence[str]) -> dict[str, Any]:
    return {"services": [_fit_json(fit) for fit in found], "written": list(written)}


def _fit_json(fit: ServiceFit) -> dict[str, Any]:
    law = fit.law
    return {
        "service": fit.service,
        "currency": fit.currency,
        "as_of": fit.day.isoformat(),
        "quotes": [
            {
                "part": line.part,
                "finish": line.finish,
                "copies": line.copies,
                "as_of": line.as_of.isoformat(),
                "price": line.price,
                "shipping": line.shipping,
                "fitted": float(fitted),
                "left_out": float(left_out),
                "tabled_error": float(tabled),
            }
            for line, fitted, left_out, tabled in zip(
                fit.lines, law.fitted, law.left_out, fit.tabled_errors, strict=True
            )
        ],
        "unused": [{"quote": u.quote, "why": u.why} for u in fit.unused],
        "coefficients": [
            {
                "resource": c.driver,
                "unit": unit,
                "tabled": tabled,
                "value": c.value,
                "low": c.low,
                "high": c.high,
                "told_apart": c.told,
            }
            for c, unit, tabled in zip(law.coefficients, fit.units, fit.tabled, strict=True)
        ],
        "rank": law.rank,
        "condition": law.condition,
        "hard_to_tell_apart": list(law.hard_to_tell_apart),
        "leave_one_out_rms": law.rms_error,
        "leave_one_out_worst": law.worst_error,
        "tabled_rms": fit.tabled_rms_error,
        "notes": fit_notes(fit),
        "rows": [_row_json(row) for row in fit.rows],
    }


def fit_notes(fit: ServiceFit) -> list[str]:
    """What a person should know before putting the law in force."""
    law, notes = fit.law, [f"not used: {u.quote}: {u.why}" for u in fit.unused]
    if law.untold:
        notes.append(
            f"the quotes cannot tell apart {', '.join(law.untold)}: together they fit, each is as near to its tabled "
            f"price as that allows, and low to high is all that fits as well; get a quote for a part of other "
            "proportions"
        )
    if law.hard_to_tell_apart:
        notes.append(
            f"hard to tell apart in these quotes: {', '.join(law.hard_to_tell_apart)} (condition index "
            f"{law.condition:.0f}); trust what they make together"
        )
    if len(fit.lines) <= law.rank:
        notes.append(
            "there are as many coefficients as quotes, so that any law fits: go by the left-out error"
        )
    if fit.tabled_rms_error <= law.rms_error:
        notes.append(
            "the law as tabled misses these quotes by no more than the fitted one misses what it has not seen"
        )
    return [*notes, *fit.notes]


def print_fit(fit: ServiceFit, out: Console) -> None:
    law, c = fit.law, fit.currency
    head = Text(f"\n{fit.service}", style="bold")
    head.append(f"  price law from {len(fit.lines)} quotes, in {c}", style="not bold")
    out.print(head)
    out.print(
        "Shipping as tabled (a share of an order's, and by mass) is taken off each quote first; errors are relative "
        "to what is left."
    )
    numbers = ("tabled", "fitted", "low", "high")
    table = make_table("price of", "unit", *numbers, "", numbers=numbers)
    for k, unit, tabled in zip(law.coefficients, fit.units, fit.tabled, strict=True):
        told = "" if k.told else "not told apart"
        table.add_row(k.driver, unit, *(f"{x:.4g}" for x in (tabled, k.value, k.low, k.high)), told)
    out.print(table)
    sums = ("quoted", "shipping", "fitted", "left out", "off", "tabled")
    table = make_table("quote", *sums, numbers=sums)
    errors = zip(fit.lines, law.fitted, law.left_out, law.errors, fit.tabled_errors, strict=True)
    for line, fitted, left_out, error, tabled_error in errors:
        amounts = (line.price, line.shipping, fitted + line.shipping, left_out + line.shipping)
        table.add_row(
            line.name, *(f"{x:.2f}" for x in amounts), f"{100 * error:+.1f} %", f"{100 * tabled_error:+.1f} %"
        )
    out.print(table)
    out.print(
        f"Left out of the fit, a quote is missed by {100 * law.rms_error:.2g} % (root mean square), "
        f"{100 * law.worst_error:+.2g} % at worst; the law as tabled misses them by "
        f"{100 * fit.tabled_rms_error:.2g} %. Low to high holds the true price nine times in ten (jackknife)."
    )
    for note in fit_notes(fit):
        out.print(Text(f"note: {note}"))


def learning_json(found: Learning, written: Sequence[str]) -> dict[str, Any]:
    return {
        "as_of": found.day.isoformat(),
        "log_rows": found.log_rows,
        "later_rows": found.later_rows,
        "facts": [
            {
                "fact": x.ref,
                "what": x.what,
                "unit": x.unit,
                "table": _known_json(x.table),
                "in_force": _known_json(x.now),
                "after": _known_json(x.after),
                "rows": x.rows,
                "evidence": x.evidence,
                "weight": x.weight,
            }
            for x in found.facts
        ],
        "grams": [
            {"resource": name, "rows": n, "actual_over_planned": ratio}
            for name, n, ratio in _grams(found.grams)
        ],
        "notes": [note.as_dict() for note in found.notes],
        "rows": {table: [_row_json(row) for row in rows] for table, rows in found.rows.items()},
        "written": list(written),
    }


def _known_json(k: Known) -> dict[str, float]:
    return {"value": k.value, "low": k.low, "high": k.high}


def print_learning(found: Learning, out: Console) -> None:
    out.print(
        f"{found.log_rows} rows of log.csv up to {found.day}, weighed against the tables as they were before anything "
        "was learned. Low to high holds the truth nine times in ten; weight is what the log counts beside the table."
    )
    if found.later_rows:
        out.print(f"{found.later_rows} later rows do not count yet.")
    numbers = ("weight",)
    columns = ("fact", "by the table", "after the log", "seen", *numbers)
    table = make_table(*columns, numbers=numbers, title="\nLearned")
    for wide in table.columns[:3]:
        wide.no_wrap = True
    for x in found.facts:
        table.add_row(x.ref, str(x.table), str(x.after), x.evidence, f"{x.weight:.0%}")
    if found.facts:
        out.print(table)
    for name, n, ratio in _grams(found.grams):
        rows = "row" if n == 1 else "rows"
        out.print(f"{name}: {ratio:.2f} of the planned grams, in {n} {rows}; nothing is learned from it")
    for note in found.notes:
        out.print(Text(f"note: {note}"))


def _grams(found: Sequence[SeenGrams]) -> list[tuple[str, int, float]]:
    """By resource: how often weighed, and the geometric mean of actual over planned."""
    logs: dict[str, list[float]] = {}
    for g in found:
        logs.setdefault(g.resource, []).append(log(g.actual_g / g.planned_g))
    return [(name, len(x), exp(sum(x) / len(x))) for name, x in sorted(logs.items())]


def _row_json(row: FactRow | PriceRow) -> dict[str, Any]:
    cells = {c.header: getattr(row, c.name) for c in columns_of(type(row))}
    return {name: str(x) if name in ("as_of", "expires") and x else x for name, x in cells.items()}


def print_rows(
    rows: Mapping[str, Sequence[FactRow | PriceRow]], written: Sequence[str], out: Console
) -> None:
    """New rows as they go into the tables, and whether they have."""
    for table, added in rows.items():
        out.print(Text(f"\nRows for {table}", style="bold"))
        header = ",".join(c.header for c in columns_of(type(added[0])))
        # whole lines, to be copied as they are
        out.print(Text(f"{header}\n{csv_lines(added)}".rstrip("\n")), soft_wrap=True)
    if not rows:
        out.print("There is nothing new to write.")
    elif written:
        out.print("\nappended to " + ", ".join(written))
    else:
        out.print("\nNothing is written; --write appends these rows.")
