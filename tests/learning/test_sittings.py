"""Sittings of one job: their minutes, grams and copies add up; rows that contradict each other are asked about."""

from __future__ import annotations

import datetime as dt
from math import exp
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecost.bill.rank_bill import rank
from routecost.builds.build import Build, load_build
from routecost.builds.build_tables import LogRow
from routecost.costing.ranking import RankedPart
from routecost.learning.learn import learn, learned_facts
from routecost.learning.observations import Seen, seen
from routecost.reports.json.tables_json import tables_json
from routecost.shop.table_reader import Placed
from tests.learning.bench import bench_build

DAY = "2026-02-01,lid,bench,"


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> tuple[Build, dict[str, RankedPart]]:
    build = load_build(bench_build(tmp_path_factory.mktemp("sittings") / "b"))
    return build, {one.part.id: one for one in rank(build).parts}


def read(bench: tuple[Build, dict[str, RankedPart]], *rows: LogRow) -> Seen:
    build, ranked = bench
    placed = [Placed(row, "log.csv", i) for i, row in enumerate(rows, 2)]
    return seen(placed, ranked, build.shop())


def sitting(minutes: float | None, copies: int | None, day: int = 1, **other: object) -> LogRow:
    made = {"part": "lid", "route": "bench", "operation": "demold", "minutes": minutes, "copies": copies}
    return LogRow(date=dt.date(2026, 2, 1) + dt.timedelta(day), **{**made, **other})  # type: ignore[arg-type]


@given(st.data())
def test_sittings_teach_what_their_sum_teaches(
    bench: tuple[Build, dict[str, RankedPart]], data: st.DataObject
) -> None:
    """Minutes and copies split over rows at random, in any order, some rows naming the step by its beginning."""
    parts = data.draw(st.lists(st.floats(1.0, 60.0), min_size=1, max_size=7))
    counts: list[int | None] = [None] * len(parts)
    if data.draw(st.booleans()):
        counts = list(data.draw(st.lists(st.integers(0, 3), min_size=len(parts), max_size=len(parts))))
        counts[0] = (counts[0] or 0) + 1
    names = data.draw(st.lists(st.sampled_from(["demold", "Demo", "DEM"]), min_size=7, max_size=7))
    rows = [
        sitting(minutes, copies, day, operation=names[day])
        for day, (minutes, copies) in enumerate(zip(parts, counts, strict=True))
    ]
    total = None if counts[0] is None else sum(c or 0 for c in counts)
    one = read(bench, sitting(sum(parts), total))
    many = read(bench, *data.draw(st.permutations(rows)))
    shop = bench[0].shop()
    facts, single = learned_facts(many, shop), learned_facts(one, shop)
    assert [f.ref for f in facts] == [f.ref for f in single]
    for a, b in zip(facts, single, strict=True):
        assert (a.after.value, a.after.low, a.after.high) == pytest.approx(
            (b.after.value, b.after.low, b.after.high)
        )
        assert a.rows == len(rows)


def test_five_sittings_by_hand(tmp_path: Path) -> None:
    """Ten demolds of 6 min took five times 18 min: 1.5 times the plan, one job."""
    log = "".join(f"2026-02-0{i},lid,bench,demold,,18 min,,,\n" for i in range(1, 6))
    build = load_build(bench_build(tmp_path / "b", log))
    found = learn(build)
    (fact,) = found.facts
    assert fact.evidence == "1 job in 5 rows"
    assert fact.rows == 5
    one = learn(load_build(bench_build(tmp_path / "c", DAY + "demold,,90 min,,,\n")))
    assert fact.after == one.facts[0].after
    assert one.facts[0].evidence == "1 job"


def test_copies_are_counted_when_they_are_finished(bench: tuple[Build, dict[str, RankedPart]]) -> None:
    """Two sittings that finish nothing and one that finishes five: 45 min for 5 x 6 min."""
    found = read(bench, sitting(10.0, 0), sitting(20.0, 0, 2), sitting(15.0, 5, 3))
    assert [exp(time.log_ratio) for time in found.times] == pytest.approx([1.5])
    # an empty last row says that all are finished: 45 min for 10 x 6 min
    found = read(bench, sitting(10.0, 0), sitting(20.0, 0, 2), sitting(15.0, None, 3))
    assert [exp(time.log_ratio) for time in found.times] == pytest.approx([0.75])


def test_a_job_without_a_finished_copy_waits(bench: tuple[Build, dict[str, RankedPart]]) -> None:
    found = read(bench, sitting(10.0, 0), sitting(20.0, 0, 2))
    assert found.times == ()
    (note,) = found.notes
    assert "finished copy" in str(note)


def test_other_parts_routes_and_steps_are_other_jobs(bench: tuple[Build, dict[str, RankedPart]]) -> None:
    found = read(bench, sitting(60.0, None), sitting(100.0, None, operation="mix and"))
    assert [exp(time.log_ratio) for time in found.times] == pytest.approx([1.0, 1.0])


def test_grams_add_up_over_the_rows_that_state_them(bench: tuple[Build, dict[str, RankedPart]]) -> None:
    """50 g a pull: 3 pulls in two rows; a row without grams does not count."""
    pours = [
        sitting(10.0, 1, 1, operation="mix and", grams=55.0),
        sitting(10.0, 2, 2, operation="mix and", grams=110.0),
        sitting(10.0, 4, 3, operation="mix and"),
    ]
    (grams,) = read(bench, *pours).grams
    assert (grams.planned_g, grams.actual_g) == pytest.approx((150.0, 165.0))


def test_a_row_entered_twice_is_asked_about(bench: tuple[Build, dict[str, RankedPart]]) -> None:
    found = read(bench, sitting(30.0, None), sitting(20.0, None, 2), sitting(30.0, None, operation="DEMOLD"))
    assert found.times == ()
    (note,) = found.notes
    assert "row 4" in str(note)
    assert "row 2" in str(note)
    # unless the note tells them apart
    found = read(bench, sitting(30.0, None, note="morning"), sitting(30.0, None, note="evening"))
    assert [exp(time.log_ratio) for time in found.times] == pytest.approx([1.0])
    assert found.notes == ()


def test_an_outcome_entered_twice_with_its_minutes_counts_once(
    bench: tuple[Build, dict[str, RankedPart]],
) -> None:
    twice = [sitting(6.0, 1, outcome="good"), sitting(6.0, 1, outcome="good")]
    found = read(bench, *twice)
    assert len(found.tries) == 1
    assert len(found.notes) == 1
    # outcomes alone are attempts, one row for each
    found = read(bench, *(sitting(None, 1, outcome="good") for _ in range(2)))
    assert len(found.tries) == 2
    assert found.notes == ()


@pytest.mark.parametrize("order", [1, -1])
def test_all_copies_beside_counted_ones_are_asked_about(
    order: int, bench: tuple[Build, dict[str, RankedPart]]
) -> None:
    found = read(bench, *[sitting(12.0, 2), sitting(40.0, None, 2)][::order])
    assert found.times == ()
    (note,) = found.notes
    assert {"row 2", "row 3"} <= {text for text in ("row 2", "row 3") if text in str(note)}


def test_an_outcome_of_no_copies_is_not_used(bench: tuple[Build, dict[str, RankedPart]]) -> None:
    found = read(bench, sitting(None, 0, outcome="good"))
    assert found.tries == ()
    assert "copies are 0" in str(found.notes[0])


def test_the_table_s_own_words_say_that_rows_add_up() -> None:
    (table,) = tables_json("log.csv")
    said = {c["column"]: c["meaning"] for c in table["columns"]}
    assert "add up" in said["minutes"]
    assert "finished" in said["copies"]
