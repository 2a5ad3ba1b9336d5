"""The bill and the ranking: sums over the operations' lines, by part and route."""

from __future__ import annotations

from typing import Any

from routecost.costing.ranking import Ranking
from routecost.reports.wording.verdict_words import LEVEL_TEXT
from routecost.reports.workbook.book import FIRST_ROW, HEADER_ROW, Book
from routecost.reports.workbook.operation_sheet import AMOUNT, HOURS, SPEND, sum_of


def fill_bill(b: Book, sheet: Any, ranking: Ranking) -> None:
    """One row a part with its best route; changing the route recomputes the sums."""
    c, f = b.currency, b.formats
    note = (
        f"{b.build.settings.name}: prices as of {ranking.as_of}, own hour at "
        f"{b.build.settings.own_rate:g} {c}. Change the route in column D to recompute the totals; the columns to "
        "the right of them describe the best route."
    )
    columns = (
        "part 18 | description 32 | copies 8 | route 16 | full cost, ¤ 13 | spend, ¤ 12 | "
        "own hours 10 | lead time, days 10 | mass, g 10 | process 44 | reasons 70"
    )
    b.fill(sheet, note, columns)
    row = FIRST_ROW
    for ranked in ranking.parts:
        e = ranked.best
        sheet.write(row, 0, ranked.part.id, f["strong"])
        b.wrap(sheet, row, 1, ranked.part.description)
        sheet.write(row, 2, ranked.part.copies, f["count"])
        sheet.write(row, 3, e.route if e else "none", f["choice"])
        routes = [x.route for x in ranked.estimates]
        if routes:
            sheet.data_validation(row, 3, row, 3, {"validate": "list", "source": routes})
        part, route = f"$A{row + 1}", f"$D{row + 1}"
        for column, source, value, style in (
            (4, AMOUNT, e.full if e else 0.0, "money"),
            (5, SPEND, e.spend if e else 0.0, "money"),
            (6, HOURS, e.own_hours if e else 0.0, "hours"),
        ):
            sheet.write_formula(row, column, f"={sum_of(source, part, route)}", f[style], value)
        if e is not None:
            sheet.write(row, 7, e.lead_days, f["hours"])
            sheet.write(row, 8, e.mass_g, f["money"])
            b.wrap(sheet, row, 9, e.plan.alternative)
            b.wrap(sheet, row, 10, "; ".join(e.plan.verdict.texts))
        row += 1
    b.texts(sheet, row, "total", "", "", "", style="total_text")
    for column, letter, value, style in (
        (4, "E", ranking.full, "total"),
        (5, "F", ranking.spend, "total"),
        (6, "G", ranking.own_hours, "total_hours"),
    ):
        sheet.write_formula(row, column, f"=SUM({letter}{FIRST_ROW + 1}:{letter}{row})", f[style], value)


def fill_ranking(b: Book, sheet: Any, ranking: Ranking) -> None:
    """Every route of every part in order."""
    f = b.formats
    note = "Every route of every part. Ruled-out routes show what they would cost if the requirement were relaxed."
    columns = (
        "part 18 | rank 7 | route 16 | verdict 20 | full cost, ¤ 13 | spend, ¤ 12 | own hours 10 | "
        "machine hours 10 | lead time, days 10 | process 44 | reasons 90"
    )
    b.fill(sheet, note, columns)
    row = FIRST_ROW
    for ranked in ranking.parts:
        for place, e in enumerate(ranked.estimates, start=1):
            out = e.plan.verdict.level == "ruled out"
            sheet.write(row, 0, ranked.part.id, f["strong"])
            b.texts(sheet, row, "-" if out else place, e.route, LEVEL_TEXT[e.plan.verdict.level], first=1)
            part, route = f"$A{row + 1}", f"$C{row + 1}"
            sheet.write_formula(row, 4, f"={sum_of(AMOUNT, part, route)}", f["money"], e.full)
            sheet.write_formula(row, 5, f"={sum_of(SPEND, part, route)}", f["money"], e.spend)
            sheet.write_formula(row, 6, f"={sum_of(HOURS, part, route)}", f["hours"], e.own_hours)
            b.texts(sheet, row, e.machine_hours, e.lead_days, style="hours", first=7)
            b.wrap(sheet, row, 9, e.plan.alternative)
            b.wrap(sheet, row, 10, "; ".join(e.plan.verdict.texts))
            row += 1
    sheet.autofilter(HEADER_ROW, 0, max(row - 1, HEADER_ROW), columns.count("|"))
