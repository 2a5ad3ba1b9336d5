"""Rows of the log beside what was planned: whose minutes they are, and what an outcome tells of."""

from __future__ import annotations

from math import exp, log
from pathlib import Path

import pytest

from routecost.bill.rank_bill import rank
from routecost.builds.build import inspect_build, load_build
from routecost.core.errors import InputError
from routecost.learning.observations import Seen, seen
from tests.learning.bench import HEADER, bench_build

PULLS = 10.0
"""8 copies at a yield of 0.8."""


def read(folder: Path, rows: str) -> Seen:
    build = load_build(bench_build(folder / "b", rows))
    ranked = {one.part.id: one for one in rank(build).parts}
    return seen(build.log, ranked, build.shop())


def test_minutes_are_split_by_shares_of_the_planned_time(tmp_path: Path) -> None:
    """5 min to mix, 4 to pour, 1 that no table tells: 100 min for 10 pulls."""
    (time,) = read(tmp_path, "2026-02-01,lid,bench,mix and pour,,150 min,,,\n").times
    assert time.log_ratio == pytest.approx(log(1.5))
    assert time.shares == pytest.approx({"casting.mix_min": 0.5, "casting.pour_min": 0.4})


def test_units_are_read_at_the_door(tmp_path: Path) -> None:
    found = read(tmp_path, "2026-02-01,lid,bench,mix and pour,,2.5 h,1 lb,,\n")
    assert found.times[0].log_ratio == pytest.approx(log(1.5))
    assert found.grams[0].actual_g == pytest.approx(453.59237)  # NIST SP 811
    assert (found.grams[0].resource, found.grams[0].planned_g) == ("epoxy-clear", pytest.approx(500.0))


def test_a_row_about_some_tries_is_compared_with_their_share(tmp_path: Path) -> None:
    """Two pulls of ten: a fifth of what is planned for eight good copies."""
    found = read(tmp_path, "2026-02-01,lid,bench,demold,2,18 min,,failed,\n")
    assert found.times[0].log_ratio == pytest.approx(log(18.0 / (2.0 * 6.0)))
    (tries,) = found.tries
    assert (tries.ref, tries.good, tries.failed) == ("casting.yield_clear", 0, 2)
    # where nothing is lost, copies are copies
    found = read(tmp_path / "2", "2026-02-01,lid,bench,sand each,4,12 min,,,\n")
    assert found.times[0].log_ratio == pytest.approx(0.0)


def test_a_row_without_copies_is_about_all_of_them_and_one_try(tmp_path: Path) -> None:
    found = read(tmp_path, "2026-02-01,lid,bench,demold,,60 min,,good,\n")
    assert found.times[0].log_ratio == pytest.approx(0.0)
    assert (found.tries[0].good, found.tries[0].failed) == (1, 0)


def test_a_print_tells_of_its_printer_by_undisturbed_hours(tmp_path: Path) -> None:
    """12 h are planned, 2 of them for prints that are lost; a print that failed has run half on average."""
    found = read(
        tmp_path, "2026-02-01,lid,bench,print the master,,,,good,\n2026-02-02,lid,bench,print,,,,failed,\n"
    )
    assert [(run.ref, run.hours, run.failures) for run in found.runs] == [
        ("printer-220.failure_per_h", pytest.approx(10.0), 0),
        ("printer-220.failure_per_h", pytest.approx(5.0), 1),
    ]
    assert not found.tries


def test_a_step_is_named_whole_or_by_how_it_begins(tmp_path: Path) -> None:
    found = read(
        tmp_path, "2026-02-01,lid,bench,Mix  and,,100 min,,,\n2026-02-01,lid,bench,DEMOLD,,60 min,,,\n"
    )
    assert [set(time.shares) for time in found.times] == [
        {"casting.mix_min", "casting.pour_min"},
        {"casting.demold_min"},
    ]


def test_every_wrong_step_is_told_at_once(tmp_path: Path) -> None:
    rows = "2026-02-01,lid,bench,demould,,60 min,,,\n2026-02-01,lid,bench,mix,,60 min,,,\n"
    rows += "2026-02-01,lid,fdm,print,,60 min,,,\n"
    with pytest.raises(InputError) as error:
        read(tmp_path, rows)
    told = [str(fault) for fault in error.value.faults]
    assert len(told) == 3
    assert "log.csv, row 2, column operation" in told[0]
    assert "'demold'" in told[0]
    assert "mix and pour; mix colour" in told[1]
    assert "row 4, column route" in told[2]
    assert "bench" in told[2]


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("demold,,6 min,,,", "times the planned time for all copies"),
        ("let it cure,,6 min,,,", "no hands-on time"),
        ("mix colour,,6 min,,,", "depends on no time standard"),
        ("mix colour,,5 min,,good,", "the tables have no yield"),
        ("demold,,,5 g,,", "no material"),
    ],
)
def test_what_tells_nothing_is_told_and_not_used(row: str, words: str, tmp_path: Path) -> None:
    found = read(tmp_path, f"2026-02-01,lid,bench,{row}\n")
    assert (found.tries, found.runs, found.grams) == ((), (), ())
    assert not found.times or words == "the tables have no yield"
    assert any(words in str(note) for note in found.notes)
    assert all("row 2" in str(note) for note in found.notes)


def test_eight_times_off_is_a_slip_and_seven_times_is_not(tmp_path: Path) -> None:
    """In two builds: in one log they would be two sittings, and add up."""
    found = read(tmp_path / "7", "2026-02-01,lid,bench,demold,,420 min,,,\n")
    assert [exp(time.log_ratio) for time in found.times] == pytest.approx([7.0])
    assert found.notes == ()
    found = read(tmp_path / "8", "2026-02-01,lid,bench,demold,,481 min,,,\n")
    assert found.times == ()
    assert len(found.notes) == 1


def test_faults_of_the_table_are_all_told_when_the_build_is_read(tmp_path: Path) -> None:
    folder = bench_build(tmp_path / "b")
    (folder / "log.csv").write_text(
        HEADER
        + "2026-02-01,lit,bench,demold,,6 min,,,\n"
        + "2026-02-01,lid,bnech,demold,,6 min,,,\n"
        + "2026-02-01,lid,bench,demold,,6,,,\n"
        + "2026-02-01,lid,bench,demold,,6 g,,,\n"
        + "2026-02-01,lid,bench,demold,,,6 min,,\n"
        + "2026-02-01,lid,bench,demold,,,,well,\n"
        + "2026-02-01,lid,bench,demold,,,,,tired\n"
        + "1.2.2026,lid,bench,demold,,6 min,,,\n"
        + "2026-02-01,lid,bench,demold,-1,6 min,,,\n"
    )
    _build, faults = inspect_build(folder)
    told = {fault.where: f"{fault.what}; {fault.mend}" for fault in faults}
    assert {fault.file for fault in faults} == {"log.csv"}
    wanted = {
        "row 2, column part": "did you mean lid?",
        "row 3, column route": "did you mean bench?",
        "row 4, column minutes": "6 minute",
        "row 5, column minutes": "'g'",
        "row 6, column grams": "'min'",
        "row 7, column outcome": "good, failed",
        "row 9, column date": "2026-03-31",
        "row 10, column copies": "at least 0",
    }
    assert told.keys() == wanted.keys()
    for where, words in wanted.items():
        assert words in told[where], told[where]
