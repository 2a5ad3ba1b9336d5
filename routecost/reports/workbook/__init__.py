"""The bill as a workbook: every total is a formula over quantity x price, stored together with its value.

Change a price, a quantity or the route of a part, and the totals follow in any spreadsheet program;
viewers that do not calculate show the stored values.
"""

from __future__ import annotations

import datetime as dt
from io import BytesIO
from pathlib import Path

from routecost.builds.build import Build
from routecost.costing.ranking import Ranking
from routecost.errors import InputError
from routecost.files import write_for_user
from routecost.reports.workbook.bill import fill_bill, fill_ranking
from routecost.reports.workbook.book import Book
from routecost.reports.workbook.lines import fill_operations
from routecost.reports.workbook.references import fill_assumptions, fill_buy_list, fill_cautions, fill_prices

# in the order of the tabs
SHEETS = {
    "Bill": fill_bill,
    "Ranking": fill_ranking,
    "Operations": fill_operations,
    "Prices": fill_prices,
    "Buy list": fill_buy_list,
    "Assumptions": fill_assumptions,
    "Cautions": fill_cautions,
}


def write_workbook(build: Build, ranking: Ranking, path: Path) -> Path:
    """Write the bill, ranking, operations, prices, buy list, assumptions and cautions. Returns the path."""
    if path.suffix.lower() != ".xlsx":
        what = "is not the name of a workbook"
        raise InputError.of(str(path), "", what, "give it the ending .xlsx")
    write_for_user(path, workbook_bytes(build, ranking))
    return path


def workbook_bytes(build: Build, ranking: Ranking) -> bytes:
    """The workbook as bytes; the same inputs give the same bytes."""
    import xlsxwriter

    memory = BytesIO()
    file = xlsxwriter.Workbook(memory, {"in_memory": True})
    # stamped with the day of the prices, not of writing: the same inputs give the same bytes
    file.set_properties(
        {"title": build.settings.name, "created": dt.datetime.combine(ranking.as_of, dt.time())}
    )
    book = Book(file, build, ranking)
    sheets = {name: file.add_worksheet(name) for name in SHEETS}
    # the other sheets point at the cells of the prices
    for name in sorted(SHEETS, key=lambda name: name != "Prices"):
        SHEETS[name](book, sheets[name])
    file.close()
    return memory.getvalue()
