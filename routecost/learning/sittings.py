"""Rows of the log about one step of one part and route: sittings that add up to one job."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from routecost.builds.build_tables import LogRow
from routecost.core.errors import Fault
from routecost.shop.table_reader import Placed

Amount = Literal["minutes", "grams"]


@dataclass(frozen=True)
class Job:
    """Minutes or grams of all sittings together."""

    total: float
    copies: int | None
    """Finished in these sittings, failed ones included; None: all copies of the part."""
    rows: tuple[Placed[LogRow], ...]

    @property
    def last(self) -> Placed[LogRow]:
        return max(self.rows, key=lambda placed: (placed.row.date, placed.number))


def job(rows: Sequence[Placed[LogRow]], amount: Amount, notes: list[Fault]) -> Job | None:
    """The rows of one step that state this amount, added up in any order.

    Copies that rows count add up too; where no row counts any, the job is for all copies of the part. None where no
    row states the amount or no copy is finished, and where rows contradict each other: then a note asks about them.
    """
    stated = tuple(placed for placed in rows if getattr(placed.row, amount) is not None)
    if not stated:
        return None
    uncounted = [placed for placed in stated if placed.row.copies is None]
    counted = [placed for placed in stated if placed.row.copies]
    if uncounted and counted:
        some, all_ = counted[0], uncounted[0]
        what = (
            f"the column is empty, which means all copies, but row {some.number} counts "
            f"{some.row.copies} of the same operation"
        )
        mend = f"no {amount} of this operation are used; enter the copies finished in each row, 0 for none"
        notes.append(all_.fault("copies", what, mend))
        return None
    copies = None if uncounted else sum(placed.row.copies or 0 for placed in counted)
    if copies == 0:
        what = f"no row with {amount} for this operation has a finished copy yet"
        notes.append(
            stated[-1].fault("copies", what, "its rows are used once one counts the finished copies")
        )
        return None
    return Job(sum(getattr(placed.row, amount) for placed in stated), copies, stated)


def without_repeats(
    rows: Sequence[Placed[LogRow]], notes: list[Fault]
) -> tuple[tuple[Placed[LogRow], ...], bool]:
    """The rows of one step without those that repeat another in every column, and whether there were any.

    Two rows with an outcome alone are two attempts. Rows with minutes or grams may be one sitting entered twice.
    """
    first: dict[LogRow, int] = {}
    kept = list[Placed[LogRow]]()
    for placed in rows:
        row = placed.row
        measured = row.minutes is not None or row.grams is not None
        if measured and row in first:
            what = f"the same as row {first[row]} in every column: is it one sitting, entered twice?"
            mend = (
                "no minutes and grams of this operation are used until one row is deleted, or the column note "
                "tells two sittings apart"
            )
            notes.append(placed.fault("", what, mend))
        else:
            first[row] = placed.number
            kept.append(placed)
    return tuple(kept), len(kept) < len(rows)
