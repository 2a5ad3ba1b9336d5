"""The plan in a real browser: asked for, changed, taken along; its timetable drawn."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

from routecost.core.money import shown
from routecost.page.planning.plan_charts import BAND, LINE, PHASE_SHADES
from routecost.reports.files.buy_list_csv import buy_list_csv
from routecost.reports.files.icalendar import timetable_ical
from routecost.reports.wording.formats import date
from tests.page.browser import looked_at, needs_browser, served
from tests.reports.small_plan import made_at_home, small_build
from tests.reports.workbook.recompute import Recomputed, row_of

pytestmark = needs_browser


@pytest.fixture
def page() -> Iterator:
    with served(small_build()) as address, looked_at(address) as tab:
        tab.get_by_role("heading", name="Bill: best route of each part").wait_for()
        tab.get_by_role("link", name="Plan", exact=True).click()
        tab.get_by_role("heading", name="Plan for the whole bill").wait_for()
        yield tab


def press_plan(page) -> None:
    page.get_by_role("button", name="Plan", exact=True).click()


def taken(page, label: str) -> bytes:
    with page.expect_download() as download:
        page.get_by_role("button", name=label).click()
    return Path(download.value.path()).read_bytes()


def bars(chart) -> dict[str, int]:
    """How many bars a chart shows of each colour."""
    return dict(
        Counter(
            chart.evaluate(
                "chart => [...chart.querySelectorAll('.mark-rect path')].map(p => p.getAttribute('fill'))"
            )
        )
    )


def test_a_plan_is_asked_for_limited_and_taken_along(page) -> None:
    found = made_at_home()
    best = found.totals
    budget = page.get_by_role("spinbutton", name="Budget, EUR")
    # two limits in a row: the second must count, too
    for amount, told in (("20", "No plan meets all limits"), ("500", f"{shown(500 - best.outlay, 'EUR')}")):
        budget.fill(amount)
        press_plan(page)
        page.get_by_text(told).first.wait_for()
    page.get_by_text(f"Total to pay: {shown(best.outlay, 'EUR')} EUR").wait_for()
    page.get_by_text(date(found.timetable.finish.date())).first.wait_for()
    assert taken(page, "Download the buy list").decode() == buy_list_csv(found.items, "EUR", found.order_days)
    book = Recomputed(taken(page, "Download the workbook"))
    total = book.value("Buy list", "F", row_of(book.book["Buy list"], "total to pay"))
    assert total == pytest.approx(best.outlay, abs=1e-9)
    # what was asked for stays in the form while other pages are looked at
    page.get_by_role("link", name="Tables").click()
    page.get_by_role("heading", name="Tables").wait_for()
    page.get_by_role("link", name="Plan", exact=True).click()
    page.get_by_text("Total to pay").wait_for()
    assert float(budget.input_value()) == 500.0
    assert page.get_by_text("Traceback").count() == 0


def test_the_timetable_is_drawn_and_taken_along(page) -> None:
    found = made_at_home()
    page.get_by_role("link", name="Timetable").click()
    page.get_by_role("heading", name="Timetable").wait_for()
    # the button of the page before must be gone
    page.get_by_role("spinbutton", name="Budget, EUR").wait_for(state="detached")
    press_plan(page)
    page.get_by_role("heading", name="Critical path").wait_for()
    charts = page.get_by_test_id("stVegaLiteChart")
    charts.first.locator(".mark-rect path").first.wait_for()
    table = found.timetable
    wanted = Counter(PHASE_SHADES[e.phase] for e in table.entries)
    wanted[BAND] = sum(load.window_min > 0.0 for load in table.days)
    wanted[LINE] = sum(e.is_critical for e in table.entries)
    assert bars(charts.nth(0)) == dict(wanted)
    assert len(table.ends) == sum(charts.nth(0).get_by_text(part, exact=True).count() for part in table.ends)
    loads = {PHASE_SHADES["hands"]: len(table.days), BAND: len(table.days)}
    assert bars(charts.nth(1)) == loads
    calendar = taken(page, "Download the calendar").decode()
    assert calendar == timetable_ical(found.timetable, found.build.settings.name, found.orders)
    page.get_by_text(re.compile("^three days$")).click()
    page.get_by_text("From", exact=True).wait_for()
    assert page.get_by_text("Traceback").count() == 0
