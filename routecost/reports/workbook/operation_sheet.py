"""The operations: one row for each use of a resource, amount = quantity x the price's cell."""

from __future__ import annotations

from typing import Any

from routecost.costing.estimate import Estimate, Line, lines_of_operation
from routecost.reports.workbook.book import FIRST_ROW, HEADER_ROW, Book
from routecost.routes.process.operation import OWN_HOUR

AMOUNT, SPEND, HOURS = "Operations!$H:$H", "Operations!$I:$I", "Operations!$J:$J"
"""Columns that other sheets sum."""


def sum_of(column: str, part: str, route: str, kind: str = "") -> str:
    """Sums a column over the operations of a part by a route, both of which are cells; of one kind if named."""
    of_kind = f',Operations!$K:$K,"{kind}"' if kind else ""
    return f"SUMIFS({column},Operations!$A:$A,{part},Operations!$B:$B,{route}{of_kind})"


def fill_operations(b: Book, sheet: Any) -> None:
    """Every use of a resource in all estimates."""
    note = "Amount = quantity x unit price. A minimum charge is a line of its own: the difference up to the minimum."
    columns = (
        "part 18 | route 16 | operation 34 | resource 26 | quantity 12 | unit 8 | unit price, ¤ 12 | "
        "amount, ¤ 12 | spend share 12 | own hours 10 | kind 12 | calculation 90"
    )
    b.fill(sheet, note, columns)
    row = FIRST_ROW
    for e in b.estimates:
        row = _estimate_rows(b, sheet, row, e)
    sheet.autofilter(HEADER_ROW, 0, max(row - 1, HEADER_ROW), columns.count("|"))


def _estimate_rows(b: Book, sheet: Any, row: int, e: Estimate) -> int:
    for op in e.plan.operations:
        first, lines = row, lines_of_operation(op, b.tariff)
        for line in lines[: len(op.usages)]:
            _line_row(b, sheet, row, e, line, amount=f"=E{row + 1}*G{row + 1}")
            row += 1
        if op.floor is not None:
            # written even where the minimum does not bind today: it may after a price is changed
            idle = Line(
                op.name,
                op.floor.resource,
                0.0,
                b.tariff.unit(op.floor.resource),
                b.tariff.unit_price(op.floor.resource),
                0.0,
                b.tariff.kind(op.floor.resource),
                f"up to the minimum: {op.floor.why}",
                (),
            )
            line = lines[len(op.usages)] if len(lines) > len(op.usages) else idle
            least = f"{op.floor.quantity!r}*{b.price_cell[op.floor.resource]}"
            n = row + 1
            _line_row(
                b,
                sheet,
                row,
                e,
                line,
                amount=f"=MAX(0,{least}-SUM(H{first + 1}:H{row}))",
                quantity=f"=IF(G{n}=0,0,H{n}/G{n})",
            )
            row += 1
    return row


def _line_row(
    b: Book, sheet: Any, row: int, e: Estimate, line: Line, *, amount: str, quantity: str = ""
) -> None:
    f, n = b.formats, row + 1
    b.texts(sheet, row, e.plan.part, e.route, line.operation, line.resource)
    if quantity:
        sheet.write_formula(row, 4, quantity, f["number"], line.quantity)
    else:
        sheet.write(row, 4, line.quantity, f["number"])
    sheet.write(row, 5, line.unit, f["text"])
    sheet.write_formula(row, 6, f"={b.price_cell[line.resource]}", f["price"], line.unit_price)
    sheet.write_formula(row, 7, amount, f["money"], line.amount)
    spends, own = b.tariff.counts(line.resource, "spend"), line.resource == OWN_HOUR
    sheet.write_formula(row, 8, f"=H{n}" if spends else "=0", f["money"], line.amount if spends else 0.0)
    sheet.write_formula(row, 9, f"=E{n}" if own else "=0", f["hours"], line.quantity if own else 0.0)
    sheet.write(row, 10, line.kind, f["text"])
    b.wrap(sheet, row, 11, line.why)
