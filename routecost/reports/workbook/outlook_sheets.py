"""The timetable of a plan, and its trade-offs with other plans."""

from __future__ import annotations

from typing import Any

from routecost.api.plan_bill import Plan
from routecost.buying.totals import Totals
from routecost.reports.wording.plan_sentences import is_same_choice
from routecost.reports.wording.timetable_sentences import machine_text
from routecost.reports.workbook.book import FIRST_ROW, HEADER_ROW, Book


def fill_timetable(b: Book, sheet: Any, found: Plan, cells: dict[str, str]) -> None:
    """One row an entry, by start."""
    table = found.timetable
    note = (
        "Own work happens in your working hours; machines and curing continue overnight. Critical operations determine "
        "the finish."
    )
    columns = (
        "start 17 | end 17 | part 22 | operation 44 | run 9 | phase 10 | you or machine 20 | "
        "minutes 10 | critical 9 | note 70"
    )
    b.fill(sheet, note, columns)
    if table is None or not table.entries:
        return
    f = b.formats
    row = FIRST_ROW
    for e in table.entries:
        n = row + 1
        sheet.write_datetime(row, 0, e.start, f["moment"])
        sheet.write_datetime(row, 1, e.end, f["moment"])
        who = {
            "hands": "you",
            "machine": machine_text(e),
            "waiting": "",
        }
        run = f"{e.run} of {e.runs}" if e.runs > 1 else ""
        b.texts(sheet, row, e.part, e.operation, run, e.phase, who[e.phase], first=2)
        sheet.write_formula(row, 7, f"=ROUND((B{n}-A{n})*1440,0)", f["count"], e.minutes)
        b.texts(sheet, row, "yes" if e.is_critical else "", first=8)
        b.wrap(sheet, row, 9, e.note)
        row += 1
    sheet.autofilter(HEADER_ROW, 0, row - 1, columns.count("|"))
    cells["hands"] = 'SUMIFS(Timetable!$H:$H,Timetable!$F:$F,"hands")/60'


def fill_tradeoffs(b: Book, sheet: Any, found: Plan, best: Totals, cells: dict[str, str]) -> None:
    """The least outlay for many limits of own hours, and for many finish dates."""
    note = (
        "The least outlay found within each row's own hours, or by its date. No plan for that row can be below its "
        "lower bound."
        if found.frontier
        else "Other plans were not compared."
    )
    columns = (
        "outlay vs. 18 | own hours 12 | done on 12 | outlay, ¤ 14 | lower bound, ¤ 14 | gap 9 | "
        "full cost, ¤ 14 | outlay minus this plan's, ¤ 16 | 14"
    )
    b.fill(sheet, note, columns)
    row = FIRST_ROW
    for p in found.frontier:
        _point(b, sheet, row, "own hours", p.totals, p.bound, best, cells)
        row += 1
    for q in found.makespan_frontier:
        _point(b, sheet, row, "finish", q.totals, q.bound, best, cells)
        sheet.write_datetime(row, 2, q.finish, b.formats["day"])
        row += 1
    _spread(b, sheet, row + 1, found)


def _point(
    b: Book,
    sheet: Any,
    row: int,
    baseline: str,
    some: Totals,
    bound: float,
    best: Totals,
    cells: dict[str, str],
) -> None:
    f, n = b.formats, row + 1
    b.texts(sheet, row, baseline)
    sheet.write(row, 1, some.own_hours, f["hours"])
    sheet.write(row, 3, some.outlay, f["money"])
    sheet.write(row, 4, bound, f["money"])
    gap = (some.outlay - bound) / some.outlay if some.outlay else 0.0
    sheet.write_formula(row, 5, f"=IF(D{n}=0,0,(D{n}-E{n})/D{n})", f["share"], gap)
    sheet.write(row, 6, some.full, f["money"])
    sheet.write_formula(row, 7, f"=D{n}-{cells['outlay']}", f["money"], some.outlay - best.outlay)
    b.texts(sheet, row, "this plan" if is_same_choice(some, best) else "", first=8)


def _spread(b: Book, sheet: Any, row: int, found: Plan) -> None:
    spread, days, f = found.spread, found.makespan_spread, b.formats
    if spread is None:
        return
    for text, value in (("outlay, P50", spread.p50), ("outlay, P80", spread.p80)):
        b.texts(sheet, row, text)
        sheet.write(row, 3, value, f["money"])
        row += 1
    for text, percent in (("finish, P50", 50.0), ("finish, P80", 80.0)):
        at = days.at(percent) if days else None
        if at is not None:
            b.texts(sheet, row, text)
            sheet.write_datetime(row, 2, at.replace(microsecond=0), f["day"])
            row += 1
    b.texts(sheet, row, f"probability that another of {len(found.alternatives) - 1} plans is better")
    sheet.write(row, 5, spread.another_wins, f["share"])
