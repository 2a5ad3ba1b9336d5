"""When own hands work: windows by hand, nesting, and errors that name the key."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecost.builds.settings import read_settings
from routecost.builds.working_time import WEEKDAYS, WorkingTime, read_working_time
from routecost.core.errors import Fault, InputError

hours = st.floats(0.1, 24.0)


@given(hours)
def test_a_window_is_as_long_as_its_hours_and_within_its_day(hours_a_day: float) -> None:
    opens, closes = WorkingTime(hours_a_day).window_min
    assert closes - opens == pytest.approx(hours_a_day * 60.0)
    assert 0.0 <= opens < closes <= 1440.0 + 1e-9


@given(hours, hours)
def test_more_hours_contain_fewer(a: float, b: float) -> None:
    few, many = (WorkingTime(h).window_min for h in sorted((a, b)))
    assert many[0] <= few[0] + 1e-9
    assert few[1] <= many[1] + 1e-9


@pytest.mark.parametrize(
    ("hours_a_day", "window"),
    # by hand: from 18:00, but never past 22:00 as long as the day has hours before it
    [(2.0, (18, 20)), (4.0, (18, 22)), (6.0, (16, 22)), (22.0, (0, 22)), (24.0, (0, 24))],
)
def test_long_hours_begin_earlier(hours_a_day: float, window: tuple[int, int]) -> None:
    assert WorkingTime(hours_a_day).window_min == (window[0] * 60.0, window[1] * 60.0)


def test_weekdays_dates_and_spans_are_off() -> None:
    working = read_working_time(2.0, "", "Sunday, 2026-12-24 2026-12-30/2027-01-02")
    off = [n for n in range(14) if working.is_off(dt.date(2026, 12, 21) + dt.timedelta(days=n))]
    # 21 December 2026 is a Monday: the 24th, Sunday the 27th, the 30th to the 2nd, Sunday the 3rd
    assert off == [3, 6, 9, 10, 11, 12, 13]


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("days_off", '"caturday"'),
        ("days_off", '"2026-13-01"'),
        ("days_off", '"2026-03-05/2026-03-01"'),
        ("days_off", '"2026-03-05/2026-03-06/2026-03-07"'),
        ("days_off", f'"{" ".join(WEEKDAYS)}"'),
        ("days_off", '["sunday"]'),
        ("work_from", '"evening"'),
        ("work_from", '"25:00"'),
        ("work_from", '"23:00"'),
        ("work_from", "18"),
    ],
)
def test_what_is_wrong_in_build_toml_is_told_by_its_key(tmp_path: Path, key: str, value: str) -> None:
    path = tmp_path / "build.toml"
    path.write_text(f'name = "x"\nown_rate = 10\n{key} = {value}\n', encoding="utf-8")
    faults: list[Fault] = []
    assert read_settings(path, faults) is None
    (fault,) = faults
    assert (fault.file, fault.where) == ("build.toml", f"key {key}")
    assert fault.what
    assert fault.mend


def test_settings_give_the_working_time(tmp_path: Path) -> None:
    path = tmp_path / "build.toml"
    path.write_text(
        'name = "x"\nown_rate = 10\nhours_a_day = 3\nwork_from = "9:30"\ndays_off = "monday"\n',
        encoding="utf-8",
    )
    faults: list[Fault] = []
    read = read_settings(path, faults)
    assert not faults
    assert read is not None
    assert read[0].working_time == read_working_time(3.0, "09:30", "monday")
    assert read[0].working_time.window_min == (570.0, 750.0)


def test_all_weekdays_off_is_refused() -> None:
    with pytest.raises(InputError):
        read_working_time(2.0, "", ",".join(WEEKDAYS))
