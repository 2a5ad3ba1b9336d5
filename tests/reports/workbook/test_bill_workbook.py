"""The workbook computes what the command computed, live."""

from __future__ import annotations

from pathlib import Path

import pytest

from routecost.bill.rank_bill import rank
from routecost.builds.build import Build, load_build
from routecost.core.errors import InputError
from routecost.costing.ranking import Ranking
from routecost.reports.workbook import workbook_bytes, write_workbook
from tests.reports.workbook.recompute import Recomputed, row_of, stored


@pytest.fixture(scope="module")
def demo(demo_folder: Path) -> tuple[Build, Ranking, bytes]:
    build = load_build(demo_folder)
    ranking = rank(build)
    return build, ranking, workbook_bytes(build, ranking)


def test_recomputed_totals_are_the_rankings(demo) -> None:
    _build, ranking, data = demo
    book = Recomputed(data)
    row = row_of(book.book["Bill"], "total")
    assert book.value("Bill", "E", row) == pytest.approx(ranking.full, abs=0.005)
    assert book.value("Bill", "F", row) == pytest.approx(ranking.spend, abs=0.005)
    assert book.value("Bill", "G", row) == pytest.approx(ranking.own_hours, abs=0.005)


def test_every_stored_value_is_what_its_formula_gives(demo) -> None:
    _build, _ranking, data = demo
    book, shown = Recomputed(data), stored(data)
    checked = 0
    for sheet in ("Prices", "Bill", "Ranking", "Operations", "Buy list"):
        for letter, row in book.formula_cells(sheet):
            value = shown[sheet][f"{letter}{row}"].value
            assert value == pytest.approx(book.value(sheet, letter, row), rel=1e-9, abs=1e-9), (
                sheet,
                letter,
                row,
            )
            checked += 1
    assert checked > 500


def test_another_route_in_the_bill_changes_its_sums(demo) -> None:
    _build, ranking, data = demo
    ranked = next(r for r in ranking.parts if len(r.estimates) > 2)
    other = ranked.estimates[1]
    book = Recomputed(data)
    row = row_of(book.book["Bill"], ranked.part.id)
    book.book["Bill"][f"D{row}"] = other.route
    assert book.value("Bill", "E", row) == pytest.approx(other.full, rel=1e-9)
    assert book.value("Bill", "F", row) == pytest.approx(other.spend, rel=1e-9)


def test_a_changed_pack_price_reaches_the_total(demo) -> None:
    _build, ranking, data = demo
    book = Recomputed(data)
    sheet = book.book["Prices"]
    row = row_of(sheet, "electricity")
    before = sheet[f"F{row}"].value
    sheet[f"F{row}"] = 2 * before
    kwh = sum(line.quantity for e in ranking.chosen for line in e.lines if line.resource == "electricity")
    assert kwh > 0
    total = book.value("Bill", "E", row_of(book.book["Bill"], "total"))
    assert total == pytest.approx(ranking.full + kwh * before / sheet[f"G{row}"].value, rel=1e-9)


def test_own_hour_is_a_price_like_any_other(demo) -> None:
    build, ranking, data = demo
    book = Recomputed(data)
    sheet = book.book["Prices"]
    sheet[f"F{row_of(sheet, 'own-hour')}"] = 0.0
    total = book.value("Bill", "E", row_of(book.book["Bill"], "total"))
    assert total == pytest.approx(ranking.full - ranking.own_hours * build.settings.own_rate, rel=1e-9)


def test_same_inputs_same_bytes(demo) -> None:
    build, ranking, data = demo
    assert workbook_bytes(build, ranking) == data


def test_cautions_of_the_best_routes_are_in_the_workbook(demo) -> None:
    _build, ranking, data = demo
    named = {c for e in ranking.chosen for op in e.plan.operations for c in op.cautions}
    listed = {cell.value for (cell,) in stored(data)["Cautions"].iter_rows(min_row=4, max_col=1)}
    assert named
    assert named <= listed


def test_a_name_that_is_no_workbook_is_refused(demo, tmp_path: Path) -> None:
    build, ranking, _data = demo
    with pytest.raises(InputError, match="xlsx"):
        write_workbook(build, ranking, tmp_path / "bill.ods")
    assert list(tmp_path.iterdir()) == []
