"""The plan: one route for each part, and the totals."""

from __future__ import annotations

from typing import Any

from routecost.api.plan_bill import Plan
from routecost.buying.totals import Totals
from routecost.reports.wording.plan_sentences import done_text, late_text, objective_text, optimality_text
from routecost.reports.wording.timetable_sentences import hands_on_hours
from routecost.reports.workbook.book import FIRST_ROW, Book
from routecost.reports.workbook.operation_sheet import AMOUNT, HOURS, SPEND, sum_of
from routecost.routes.process.operation import OWN_HOUR

ORDER = "order"
"""Replaces the route in rows of what an order takes once."""


def fill_plan(b: Book, sheet: Any, found: Plan, best: Totals, cells: dict[str, str]) -> None:
    """One row a part, one an order, their sums, and the figures of the whole."""
    note = (
        f"{b.build.settings.name}: prices as of {b.as_of}, work starts on {found.request.dates.start}. Consumption "
        "by part is at unit prices; the outlay is in whole packs, on the sheet Buy list."
    )
    columns = (
        "part 22 | description 32 | copies 8 | route 16 | own hours 12 | "
        "consumption at unit prices, ¤ 14 | wear of own tools, ¤ 14 | days on its own 10 | done on 12 | "
        "process 60 | reasons 60"
    )
    b.fill(sheet, note, columns)
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


def _part_rows(b: Book, sheet: Any, found: Plan, best: Totals) -> int:
    f = b.formats
    texts = {ranked.part.id: ranked.part.description for ranked in found.ranked}
    ends = found.timetable.ends if found.timetable else {}
    ways = [*best.options, *[None] * len(best.orders)]
    row = FIRST_ROW
    for e, o in zip(b.chosen, ways, strict=True):
        sheet.write(row, 0, e.plan.part, f["strong"])
        b.wrap(sheet, row, 1, texts.get(e.plan.part, "") if o else "once for the whole order")
        sheet.write(row, 2, e.plan.copies, f["count"])
        sheet.write(row, 3, e.route, f["text"])
        n = row + 1
        keys = f"$A{n}", f"$D{n}"
        sheet.write_formula(row, 4, f"={sum_of(HOURS, *keys)}", f["hours"], e.own_hours)
        sheet.write_formula(row, 5, f"={sum_of(SPEND, *keys)}", f["money"], e.spend)
        # tool wear that is not an expense any more, because the tool is owned
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


def _sums(b: Book, sheet: Any, total: int, found: Plan, best: Totals, cells: dict[str, str]) -> None:
    """Below the total: full cost from outlay, own time and wear; and how good the plan is."""
    f, c, rate = b.formats, b.currency, b.tariff.own_rate
    row = total + 2
    n = row + 1  # of the first line
    lines = [
        (f"outlay, {c}", f"={cells['outlay']}", best.outlay, "money"),
        (
            f"own hours at {rate:g} {c}",
            f"=E{total + 1}*{b.price_cell[OWN_HOUR]}",
            best.own_hours * rate,
            "money",
        ),
        (f"wear of own tools, {c}", f"=G{total + 1}", best.wear, "money"),
        (f"full cost, {c}", f"=SUM(E{n}:E{n + 2})", best.full, "total"),
        (
            f"value of leftovers, {c}",
            f"={cells['left over']}",
            sum(i.left_over_worth for i in found.items),
            "money",
        ),
    ]
    if "hands" in cells:
        booked = hands_on_hours(found.timetable)[0] if found.timetable else 0.0
        lines.append(("hands-on hours in the timetable", f"={cells['hands']}", booked, "hours"))
    if found.limits.budget is not None:
        left = found.limits.budget - best.outlay
        lines.append(
            (
                f"left of the budget of {found.limits.budget:,.2f} {c}",
                f"={found.limits.budget!r}-E{n}",
                left,
                "money",
            )
        )
    for text, formula, value, style in lines:
        sheet.write(row, 0, text, f["total_text" if style == "total" else "text"])
        for column in (1, 2, 3) if style == "total" else ():
            sheet.write(row, column, "", f["total_text"])
        sheet.write_formula(row, 4, formula, f[style], value)
        row += 1
    for text in _notes(found):
        sheet.write(row, 0, text, f["text"])
        row += 1


def _notes(found: Plan) -> tuple[str, ...]:
    notes = [f"Minimizes {objective_text(found)}. {optimality_text(found)}"]
    if found.timetable is not None and found.timetable.entries:
        notes.append(f"Done on {found.timetable.finish:%Y-%m-%d at %H:%M}")
    if found.scheduled.late:
        notes.append(f"Late: {late_text(found.scheduled.late)}")
    if found.done:
        notes.append(f"Done already: {done_text(found.done)}")
    return tuple(notes)
