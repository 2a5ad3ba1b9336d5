"""The plan: one way for each part, and what all of it comes to."""

from __future__ import annotations

from typing import Any

from routecost.api.plan_bill import BillPlan
from routecost.planning.buying.totals import Totals
from routecost.reports.wording.plan_sentences import objective_text, optimality_text
from routecost.reports.workbook.book import FIRST_ROW, Book
from routecost.reports.workbook.operation_sheet import AMOUNT, HOURS, SPEND, sum_of
from routecost.routes.process.operation import OWN_HOUR

ORDER = "order"
"""Stands for the route in rows of what an order takes once."""


def fill_plan(b: Book, sheet: Any, found: BillPlan, best: Totals, cells: dict[str, str]) -> None:
    """One row a part, one an order, their sums, and the figures of the whole."""
    c = b.currency
    note = (
        f"{b.build.settings.name}: prices as of {b.as_of}, work begins on {found.request.dates.start}. What a part "
        "takes is at unit prices; what is paid is whole packs, on the sheet Buy list."
    )
    headers = [("part", 22), ("description", 32), ("copies", 8), ("route", 16), ("own hours", 12),
               (f"takes at unit prices, {c}", 14), (f"wear of own tools, {c}", 14), ("days if alone", 10),
               ("done on", 12), ("how", 60), ("why", 60)]  # fmt: skip
    b.fill(sheet, note, headers)
    row = _part_rows(b, sheet, found, best)
    last = row
    b.texts(sheet, row, "total", *[""] * 3, style="total_text")
    for column, letter, value, style in (
        (4, "E", best.own_hours, "total_hours"),
        (5, "F", sum(e.spend for e in b.chosen), "total"),
        (6, "G", best.wear, "total"),
    ):
        sums = f"=SUM({letter}{FIRST_ROW + 1}:{letter}{last})"
        sheet.write_formula(row, column, sums, b.formats[style], value)
    _sums(b, sheet, row, found, best, cells)


def _part_rows(b: Book, sheet: Any, found: BillPlan, best: Totals) -> int:
    f = b.formats
    texts = {ranked.part.id: ranked.part.description for ranked in found.ranked}
    ends = found.timetable.ends if found.timetable else {}
    ways = [*best.options, *[None] * len(best.orders)]
    row = FIRST_ROW
    for e, o in zip(b.chosen, ways, strict=True):
        sheet.write(row, 0, e.plan.part, f["strong"])
        b.wrap(sheet, row, 1, texts.get(e.plan.part, "") if o else "what the order takes once")
        sheet.write(row, 2, e.plan.copies, f["count"])
        sheet.write(row, 3, e.route, f["text"])
        n = row + 1
        keys = f"$A{n}", f"$D{n}"
        sheet.write_formula(row, 4, f"={sum_of(HOURS, *keys)}", f["hours"], e.own_hours)
        sheet.write_formula(row, 5, f"={sum_of(SPEND, *keys)}", f["money"], e.spend)
        # of what tools wear off, the part that is not paid any more
        worn = f"={sum_of(AMOUNT, *keys, kind='tool')}-{sum_of(SPEND, *keys, kind='tool')}"
        wear = sum(x.amount for x in e.lines if x.kind == "tool" and not b.tariff.counts(x.resource, "spend"))
        sheet.write_formula(row, 6, worn, f["money"], wear)
        if o is not None:
            sheet.write(row, 7, o.lead_days, f["hours"])
            if o.part in ends:
                sheet.write_datetime(row, 8, ends[o.part], f["day"])
            b.wrap(sheet, row, 9, o.plan.alternative)
            b.wrap(sheet, row, 10, "; ".join(o.plan.verdict.texts))
        row += 1
    return row


def _sums(b: Book, sheet: Any, total: int, found: BillPlan, best: Totals, cells: dict[str, str]) -> None:
    """Below the total: how outlay, own time and wear make the full cost, and how good the plan is."""
    f, c, rate = b.formats, b.currency, b.tariff.own_rate
    row = total + 2
    n = row + 1  # of the first line
    lines = [
        (f"outlay, {c}", f"={cells['outlay']}", best.outlay, "money"),
        (f"own hours at {rate:g} {c}", f"=E{total + 1}*{b.price_cell[OWN_HOUR]}", best.own_hours * rate, "money"),
        (f"wear of own tools, {c}", f"=G{total + 1}", best.wear, "money"),
        (f"full cost, {c}", f"=SUM(E{n}:E{n + 2})", best.full, "total"),
        (f"left over of the packs, worth, {c}", f"={cells['left over']}",
         sum(i.left_over_worth for i in found.items), "money"),
    ]  # fmt: skip
    if "hands" in cells:
        booked = sum(load.hands_min for load in found.timetable.days) / 60.0 if found.timetable else 0.0
        lines.append(("hands-on hours in the timetable", f"={cells['hands']}", booked, "hours"))
    if found.limits.budget is not None:
        left = found.limits.budget - best.outlay
        lines.append((f"left of the budget of {found.limits.budget:,.2f} {c}",
                      f"={found.limits.budget!r}-E{n}", left, "money"))  # fmt: skip
    for text, formula, value, style in lines:
        sheet.write(row, 0, text, f["total_text" if style == "total" else "text"])
        for column in (1, 2, 3) if style == "total" else ():
            sheet.write(row, column, "", f["total_text"])
        sheet.write_formula(row, 4, formula, f[style], value)
        row += 1
    for text in _told(found):
        sheet.write(row, 0, text, f["text"])
        row += 1


def _told(found: BillPlan) -> tuple[str, ...]:
    told = [f"The least {objective_text(found)}. {optimality_text(found)}"]
    if found.timetable is not None and found.timetable.entries:
        told.append(f"all done on {found.timetable.finish:%Y-%m-%d at %H:%M}")
    told += [f"late: {part}, which must be there by {day}" for part, day in found.scheduled.late.items()]
    told += [f"done already: {part} x {n}" for part, n in found.done.items()]
    return tuple(told)
