"""The bill as a workbook: every total is a formula over quantity x price, stored together with its value.

Change a price, a quantity or the route of a part, and any spreadsheet program recomputes the totals;
viewers that do not calculate show the stored values.
"""

from __future__ import annotations

from pathlib import Path

from routecost.builds.build import Build
from routecost.costing.ranking import Ranking
from routecost.reports.workbook.bill_sheets import fill_bill, fill_ranking
from routecost.reports.workbook.book import Book, Fill, workbook, write_book
from routecost.reports.workbook.operation_sheet import fill_operations
from routecost.reports.workbook.reference_sheets import (
    fill_assumptions,
    fill_bill_purchases,
    fill_cautions,
    fill_prices,
)


def write_workbook(build: Build, ranking: Ranking, path: Path) -> Path:
    """Write the bill, ranking, operations, prices, buy list, assumptions and cautions. Returns the path."""
    return write_book(path, lambda: workbook_bytes(build, ranking))


def workbook_bytes(build: Build, ranking: Ranking) -> bytes:
    """The workbook as bytes; the same inputs give the same bytes."""
    sheets: dict[str, Fill] = {
        "Bill": lambda b, sheet: fill_bill(b, sheet, ranking),
        "Ranking": lambda b, sheet: fill_ranking(b, sheet, ranking),
        "Operations": fill_operations,
        "Prices": fill_prices,
        "Buy list": fill_bill_purchases,
        "Assumptions": fill_assumptions,
        "Cautions": fill_cautions,
    }
    estimates = tuple(e for ranked in ranking.parts for e in ranked.estimates)
    return workbook(
        lambda file: Book(file, build, ranking.as_of, estimates, ranking.chosen),
        sheets,
        title=build.settings.name,
        as_of=ranking.as_of,
    )
