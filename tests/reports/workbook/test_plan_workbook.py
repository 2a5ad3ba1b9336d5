"""The workbook of a plan computes what the plan came to, live."""

from __future__ import annotations

from pathlib import Path

import pytest

from routecost.api.plan_bill import Plan, plan
from routecost.buying.buy_list import from_stock
from routecost.buying.service_orders import counts_to_least, least_order, service_of
from routecost.core.errors import InputError
from routecost.planning.choosing.plan_request import PlanRequest
from routecost.reports.workbook.buy_list_sheet import round_half_up
from routecost.reports.workbook.plan_book import plan_workbook_bytes, write_plan_workbook
from tests.reports.small_plan import LEAST_ORDER, made_at_home, ordered, small_build
from tests.reports.workbook.recompute import Recomputed, half_up, row_of, stored


@pytest.fixture(scope="module", params=[ordered, made_at_home])
def found(request) -> tuple[Plan, bytes]:
    result = request.param()
    return result, plan_workbook_bytes(result)


def cell(book: Recomputed, sheet: str, column: str, text: str) -> float:
    """In the row whose first cell is `text`."""
    return book.value(sheet, column, row_of(book.book[sheet], text))


def resource_row(book: Recomputed, resource: str) -> int:
    (row,) = (c.row for (c,) in book.book["Buy list"].iter_rows(min_col=2, max_col=2) if c.value == resource)
    return int(row)


def test_sums_are_those_of_the_plan(found) -> None:
    result, data = found
    best, book = result.totals, Recomputed(data)
    assert cell(book, "Buy list", "F", "total to pay") == pytest.approx(best.outlay, abs=1e-9)
    assert cell(book, "Plan", "E", "outlay, EUR") == pytest.approx(best.outlay, abs=1e-9)
    assert cell(book, "Plan", "E", "total") == pytest.approx(best.own_hours, rel=1e-9)
    assert cell(book, "Plan", "G", "total") == pytest.approx(best.wear, rel=1e-9)
    assert cell(book, "Plan", "E", "full cost, EUR") == pytest.approx(best.full, rel=1e-9)
    assert cell(book, "Plan", "E", "left of the budget of 900.00 EUR") == pytest.approx(900.0 - best.outlay)


def test_every_stored_value_is_what_its_formula_gives(found) -> None:
    _result, data = found
    book, shown = Recomputed(data), stored(data)
    checked = 0
    for sheet in book.book.sheetnames:
        for letter, row in book.formula_cells(sheet):
            value = shown[sheet][f"{letter}{row}"].value
            assert value == pytest.approx(book.value(sheet, letter, row), rel=1e-9, abs=1e-9), (sheet, row)
            checked += 1
    assert checked > 200


def test_lines_of_the_buy_list_are_whole_minor_units_and_add_up(found) -> None:
    result, data = found
    book = Recomputed(data)
    paid = 0.0
    for item in result.items:
        amount = book.value("Buy list", "F", resource_row(book, item.resource))
        assert amount == pytest.approx(item.minor_units / 100, abs=1e-9)
        paid += amount
    assert paid == pytest.approx(result.totals.outlay, abs=1e-9)
    together = [
        book.value("Buy list", "F", c.row)
        for (c,) in book.book["Buy list"].iter_rows(max_col=1)
        if str(c.value).endswith(" subtotal")
    ]
    assert sum(together) == pytest.approx(paid, abs=1e-9)


def test_a_changed_pack_price_moves_outlay_and_full_cost_by_whole_packs(found) -> None:
    result, data = found
    line = next(i for i in result.items if i.resource == "wipe")
    book = Recomputed(data)
    sheet = book.book["Prices"]
    row = row_of(sheet, "wipe")
    sheet[f"F{row}"] = sheet[f"F{row}"].value + 1.0
    outlay = cell(book, "Plan", "E", "outlay, EUR")
    assert outlay == pytest.approx(result.totals.outlay + line.packs, abs=1e-9)
    assert cell(book, "Plan", "E", "full cost, EUR") == pytest.approx(
        result.totals.full + line.packs, rel=1e-9
    )


def test_an_own_hour_moves_the_full_cost_only(found) -> None:
    result, data = found
    best, book = result.totals, Recomputed(data)
    sheet = book.book["Prices"]
    sheet[f"F{row_of(sheet, 'own-hour')}"] = 0.0
    assert cell(book, "Plan", "E", "outlay, EUR") == pytest.approx(best.outlay, abs=1e-9)
    assert cell(book, "Plan", "E", "full cost, EUR") == pytest.approx(best.outlay + best.wear, rel=1e-9)


@pytest.mark.parametrize("least", [LEAST_ORDER, LEAST_ORDER + 100.0, 10.0])
def test_the_least_price_of_an_order_tops_it_up(least: float) -> None:
    result = ordered()
    book = Recomputed(plan_workbook_bytes(result))
    (service,) = result.totals.orders
    sheet, resource = book.book["Prices"], least_order(service)
    sheet[f"F{row_of(sheet, resource)}"] = least
    charged = sum(
        i.minor_units
        for i in result.items
        if service_of(i.resource, result.workshop.parts_per_order)
        and counts_to_least(i.resource)
        and i.resource != resource
    )
    assert charged > 1000
    top = book.value("Buy list", "F", resource_row(book, resource))
    # lines are rounded each by itself, so the sum may be a cent off
    assert top == pytest.approx(max(0.0, least - charged / 100), abs=0.011)


def test_what_the_shelf_gives_is_told_and_not_paid(found) -> None:
    result, data = found
    shown = stored(data)["Buy list"]
    first = row_of(shown, "from stock") + 1
    told = {row[1]: row[3] for row in shown.iter_rows(min_row=first, values_only=True)}
    assert told == {s.resource: pytest.approx(s.quantity) for s in from_stock(result.totals)}
    assert told


def test_the_timetable_has_every_entry_and_its_hours(found) -> None:
    result, data = found
    book, table = Recomputed(data), result.timetable
    rows = list(stored(data)["Timetable"].iter_rows(min_row=4, values_only=True))
    assert [row[:2] for row in rows] == [(e.start, e.end) for e in table.entries]
    assert [row[7] for row in rows] == [e.minutes for e in table.entries]
    assert [row[8] == "yes" for row in rows] == [e.is_critical for e in table.entries]
    by_hand = sum(e.minutes for e in table.entries if e.phase == "hands") / 60.0
    assert cell(book, "Plan", "E", "hands-on hours in the timetable") == pytest.approx(by_hand)


def test_trades_are_the_frontiers_and_mark_the_plan() -> None:
    result = ordered()
    data = plan_workbook_bytes(result)
    book, shown = Recomputed(data), stored(data)["Trade-offs"]
    points = [*result.frontier, *result.makespan_frontier]
    assert len(points) > 3
    marked = 0
    for row, p in enumerate(points, start=4):
        assert book.value("Trade-offs", "D", row) == p.totals.outlay
        assert book.value("Trade-offs", "F", row) == pytest.approx(p.gap, abs=1e-6)
        assert book.value("Trade-offs", "H", row) == pytest.approx(p.totals.outlay - result.totals.outlay)
        marked += shown[f"I{row}"].value == "this plan"
    assert marked >= 1
    assert (
        "Other plans were not compared."
        in stored(plan_workbook_bytes(made_at_home()))["Trade-offs"]["A1"].value
    )


def test_the_sheets_it_rests_on_are_about_the_plan(found) -> None:
    result, data = found
    book = stored(data)
    rows = list(book["Operations"].iter_rows(min_row=4, values_only=True))
    parts = {o.part: o.route for o in result.totals.options} | dict.fromkeys(result.totals.orders, "order")
    assert {row[0]: row[1] for row in rows} == parts
    named = {c for o in result.totals.options for op in o.plan.operations for c in op.cautions}
    assert {row[0] for row in book["Cautions"].iter_rows(min_row=4, values_only=True)} == named
    assert book["Assumptions"].max_row > 10


def test_the_same_plan_is_the_same_file(found) -> None:
    result, data = found
    assert plan_workbook_bytes(result) == data


def test_without_a_plan_there_is_no_workbook(tmp_path: Path) -> None:
    nothing = plan(small_build(), PlanRequest(budget=0.01), quick=True)
    with pytest.raises(InputError, match="no plan"):
        write_plan_workbook(nothing, tmp_path / "plan.xlsx")
    with pytest.raises(InputError, match="xlsx"):
        write_plan_workbook(made_at_home(), tmp_path / "plan.pdf")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(("amount", "digits"), [(0.125, 2), (2.5, 0), (0.375, 2), (46.4555, 3), (7.0, 2)])
def test_halves_are_rounded_as_spreadsheets_do(amount: float, digits: int) -> None:
    assert round_half_up(amount, digits) == pytest.approx(half_up(amount, digits) * 10**digits)
