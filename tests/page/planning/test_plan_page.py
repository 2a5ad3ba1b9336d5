"""The pages of the plan and of its timetable, run without a browser on a small build."""

from __future__ import annotations

import datetime as dt
import math
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from routecost.api.plan_bill import plan
from routecost.core.money import shown
from routecost.planning.choosing.plan_request import PlanRequest
from routecost.reports.files.buy_list_csv import buy_list_csv
from routecost.reports.wording.formats import date
from tests.reports.small_plan import made_at_home, ordered, small_build

PATIENCE_S = 120.0


def _plan() -> None:
    from routecost.page.planning.plan_page import plan_page

    plan_page()


def _timetable() -> None:
    from routecost.page.planning.timetable_page import timetable_page

    timetable_page()


def opened(page, folder: Path | None = None) -> AppTest:
    app = AppTest.from_function(page, default_timeout=PATIENCE_S)
    app.session_state["folder"] = str(folder or small_build())
    return app.run()


def press(app: AppTest, label: str = "Plan") -> AppTest:
    button = next(b for b in app.button if b.label == label)
    button.click().run()
    assert not app.exception
    return app


def metric(app: AppTest, label: str) -> str:
    return str(next(m.value for m in app.metric if m.label == label))


def fill(app: AppTest, label: str, value: object) -> None:
    widgets = [*app.number_input, *app.date_input, *app.multiselect, *app.radio, *app.checkbox]
    next(w for w in widgets if w.label == label).set_value(value)


def texts(app: AppTest) -> str:
    every = (*app.markdown, *app.caption, *app.error, *app.warning, *app.info, *app.success)
    return "\n".join(str(element.value) for element in every)


def test_nothing_is_planned_before_it_is_asked_for() -> None:
    app = opened(_plan)
    assert not app.exception
    assert not app.metric
    assert next(n.value for n in app.number_input if n.label == "Budget, EUR") == 900.0


def test_the_plan_is_that_of_the_library() -> None:
    app, found = press(opened(_plan)), made_at_home()
    best = found.totals
    assert metric(app, "Outlay, EUR") == shown(best.outlay, "EUR")
    assert metric(app, "Full cost, EUR") == shown(best.full, "EUR")
    assert metric(app, "Done on") == date(found.timetable.finish.date())
    choices = app.table[0].value
    assert list(choices["part"]) == [o.part for o in best.options]
    assert list(choices["copies"]) == [o.plan.copies for o in best.options]
    assert f"Total to pay: {shown(best.outlay, 'EUR')} EUR" in texts(app)


def test_the_lists_of_the_suppliers_add_up_to_the_outlay() -> None:
    app, found = press(opened(_plan)), made_at_home()
    cents = [
        round(100 * a) for d in app.dataframe if "amount, EUR" in d.value for a in d.value["amount, EUR"]
    ]
    assert sum(cents) == sum(i.minor_units for i in found.items) == round(100 * found.totals.outlay)
    assert buy_list_csv(found.items, "EUR", found.order_days).count("\n") == len(cents) + 2


def test_every_input_reaches_the_plan() -> None:
    app = opened(_plan)
    fill(app, "Minimize", "hour-worth")
    fill(app, "Value of an own hour, EUR", 30.0)
    fill(app, "Fixed routes", [("foot", "fdm")])
    fill(app, "Leave out", ["magnet"])
    fill(app, "Work starts on", dt.date(2026, 3, 9))
    fill(app, "Budget, EUR", None)
    fill(app, "Max. own hours", 9.0)
    press(app)
    request = PlanRequest(
        hour_worth=30.0, pins={"foot": "fdm"}, without=("magnet",), own_hours=9.0, budget=math.inf
    )
    found = plan(small_build(), request, start=dt.date(2026, 3, 9), quick=True)
    assert metric(app, "Outlay, EUR") == shown(found.totals.outlay, "EUR")
    assert metric(app, "Own hours") == f"{found.totals.own_hours:.1f}"
    assert metric(app, "Done on") == date(found.timetable.finish.date())
    assert list(app.table[0].value["part"]) == ["foot", "knob"]
    assert not [m for m in app.metric if m.label.startswith("Budget left")]
    # what was asked stands in the form when one comes back
    assert next(n.value for n in app.number_input if n.label == "Max. own hours") == 9.0


def test_when_nothing_fits_the_smallest_change_is_told_and_is_enough() -> None:
    app = opened(_plan)
    fill(app, "Budget, EUR", 20.0)
    press(app)
    told = texts(app)
    assert "No plan meets all limits." in told
    needed = float(told.split("a budget of ")[1].split(" EUR")[0])
    fill(app, "Budget, EUR", needed)
    press(app)
    assert float(metric(app, "Outlay, EUR")) == pytest.approx(needed, abs=0.011)
    fill(app, "Budget, EUR", needed - 0.02)
    press(app)
    assert "No plan meets all limits." in texts(app)


def test_a_part_that_no_allowed_way_makes_is_told_with_its_reasons(tmp_path: Path) -> None:
    app = press(opened(_plan, changed(tmp_path, "500 N", "5000000 N")))
    assert "**foot**: no allowed route can make it." in texts(app)
    assert "MPa" in texts(app)
    fill(app, "Leave out", ["foot"])
    press(app)
    assert list(app.table[0].value["part"]) == ["knob", "magnet"]


def changed(folder: Path, old: str, new: str) -> Path:
    """A copy of the small build with one thing otherwise."""
    import shutil

    copy = folder / "build"
    shutil.copytree(small_build(), copy)
    text = (copy / "parts.csv").read_text()
    assert old in text
    (copy / "parts.csv").write_text(text.replace(old, new))
    return copy


def test_two_ways_for_a_part_are_refused() -> None:
    app = opened(_plan)
    fill(app, "Fixed routes", [("knob", "fdm"), ("knob", "outsourced-sla")])
    press(app)
    assert "is fixed to more than one route" in texts(app)
    assert not app.metric


def test_a_wrong_day_is_told_and_nothing_breaks() -> None:
    app = opened(_plan)
    fill(app, "Done by", dt.date(2026, 2, 1))
    press(app)
    assert "is before the start" in texts(app)


def test_a_change_of_the_build_asks_for_another_plan(tmp_path: Path) -> None:
    folder = changed(tmp_path, "knob.stl,6", "knob.stl,5")
    app = press(opened(_plan, folder))
    before = metric(app, "Full cost, EUR")
    (folder / "parts.csv").write_text((folder / "parts.csv").read_text().replace("knob.stl,5", "knob.stl,12"))
    app.run()
    assert "Plan again." in texts(app)
    assert not app.metric
    press(app)
    assert float(metric(app, "Full cost, EUR")) > float(before)


def test_trades_come_on_a_button_and_tell_what_own_time_is_worth() -> None:
    app = opened(_plan)
    fill(app, "Fixed routes", [("knob", "outsourced-sla")])
    press(app)
    assert "**Uncertainty**" not in texts(app)
    press(app, "Compare other plans")
    found = ordered()
    told = texts(app)
    assert "**Uncertainty**" in told
    assert metric(app, "Outlay, P80 (EUR)") == shown(found.spread.p80, "EUR")
    assert metric(app, "Finish, P50") == date(found.makespan_spread.at(50).date())
    (hours,) = (d.value for d in app.dataframe if list(d.value.columns[:1]) == ["own hours"])
    assert list(hours["outlay, EUR"]) == [p.totals.outlay for p in found.frontier]
    assert list(hours[""]).count("this plan") == 1
    if len(found.frontier) > 1:
        assert "of your own time" in told


def test_the_timetable_lists_what_to_do_on_the_days_that_are_asked_for() -> None:
    app = press(opened(_timetable))
    table = made_at_home().timetable
    assert metric(app, "Done on") == date(table.finish.date())
    days = next(s for s in app.slider if s.label == "Days")
    days.set_value(14).run()
    listed = next(d.value for d in app.dataframe if "task" in d.value)
    last = table.start + dt.timedelta(days=14)
    sittings = [e for e in table.entries if e.phase == "hands" and e.start.date() < last]
    assert list(zip(listed["day"], listed["from"], strict=True)) == [
        (date(e.start.date()), f"{e.start:%H:%M}") for e in sittings
    ]
    chain = next(d.value for d in app.dataframe if "cause" in d.value)
    assert list(chain["part"]) == [link.part for link in table.chain]


def test_a_build_that_is_done_has_nothing_to_plan(tmp_path: Path) -> None:
    folder = changed(tmp_path, "part,description", "part,description")
    header, *rows = (folder / "parts.csv").read_text().splitlines()
    done = [f"{row},{row.split(',')[3]}" for row in rows if row]
    (folder / "parts.csv").write_text("\n".join([f"{header},done", *done, ""]))
    app = press(opened(_plan, folder))
    assert "Nothing left to make." in texts(app)
    assert "Nothing left to make." in texts(press(opened(_timetable, folder)))


@pytest.mark.parametrize("page", [_plan, _timetable])
def test_faults_of_the_build_are_told(page, tmp_path: Path) -> None:
    folder = changed(tmp_path, "foot.stl,4", "foot.stl,0")
    app = opened(page, folder)
    assert not app.exception
    assert "column copies" in texts(app)
