"""A build ranked and written as a workbook, in one call."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from pathlib import Path

from routecost.bill.rank_bill import as_build, rank
from routecost.builds.build import Build
from routecost.costing.views import By
from routecost.reports.workbook import write_workbook


def export(
    build: Build | str | Path,
    path: str | Path,
    *,
    copies: int | Mapping[str, int] | None = None,
    by: By = "full",
    as_of: dt.date | None = None,
) -> Path:
    """Rank a build and write the workbook of its bill. Raises InputError."""
    build = as_build(build)
    return write_workbook(build, rank(build, copies=copies, by=by, as_of=as_of), Path(path))
