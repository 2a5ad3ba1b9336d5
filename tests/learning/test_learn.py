"""Learning from a log: near the tables while it says little, near the truth when it says much, twice the same."""

from __future__ import annotations

import json
from dataclasses import replace
from math import log, sqrt
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from routecost.bill.rank_bill import rank
from routecost.builds.build import Build, load_build
from routecost.commands.learning_commands import _learn
from routecost.core.errors import InputError
from routecost.learning.learn import Learning, before_learning, learn, learned_facts, write_learned
from routecost.learning.observations import Seen, SeenRun, SeenTime, SeenTries
from routecost.learning.posteriors import JOB_SD, TO_P90, beta_prior, gamma_prior
from tests.learning.bench import FACTS, HEADER, bench_build
from tests.routes.stated import shipped_shop
from tests.shop.test_bad_tables import own_files

DAY = "2026-02-01,lid,bench,"
TAU = log(2.0) / TO_P90
"""Of a standard that is half to twice its value."""


def learned(folder: Path, rows: str = "") -> tuple[Build, Learning]:
    build = load_build(bench_build(folder, rows) if not folder.exists() else folder)
    return build, learn(build)


def add(folder: Path, rows: str) -> None:
    path = folder / "log.csv"
    path.write_text(path.read_text() + rows)


def ran(folder: Path, capsys: pytest.CaptureFixture[str], **options: object) -> dict:
    """What the command tells another program."""
    from argparse import Namespace

    wanted = {"build": str(folder), "as_of": None, "write": False, "json": True, **options}
    assert _learn(Namespace(**wanted)) == 0
    return json.loads(capsys.readouterr().out)


# ---- by hand


def test_one_job_by_hand(tmp_path: Path) -> None:
    """Ten demolds of 6 min took 90 instead of 60 min: log 1.5, shrunk by τ²/(τ² + 0.35²)."""
    _build, found = learned(tmp_path / "b", DAY + "demold,,90 min,,,\n")
    (fact,) = found.facts
    gain = TAU**2 / (TAU**2 + JOB_SD**2)
    sd = sqrt(TAU**2 * (1.0 - gain))
    assert fact.ref == "casting.demold_min"
    assert fact.after.value == pytest.approx(6.0 * 1.5**gain)
    assert fact.after.low == pytest.approx(6.0 * 1.5**gain * np.exp(-TO_P90 * sd))
    assert fact.after.high == pytest.approx(6.0 * 1.5**gain * np.exp(TO_P90 * sd))
    assert fact.weight == pytest.approx(gain)


def test_pulls_by_hand(tmp_path: Path) -> None:
    a, b = beta_prior(0.8, 0.6, 0.92)
    _build, found = learned(tmp_path / "b", DAY + "demold,7,,,good,\n" + DAY + "demold,5,,,failed,\n")
    (fact,) = found.facts
    assert fact.ref == "casting.yield_clear"
    # the median, as of every table row
    assert fact.after.value == pytest.approx(stats.beta(a + 7, b + 5).median())
    assert "7 good of 12" in fact.evidence


def test_prints_by_hand(tmp_path: Path) -> None:
    fact = shipped_shop().facts["printer-220.failure_per_h"]
    k, h = gamma_prior(fact.value, fact.low or 0.0, fact.high or 0.0)
    _build, found = learned(tmp_path / "b", DAY + "print,,,,failed,\n" + 3 * (DAY + "print,,,,good,\n"))
    (fact_,) = found.facts
    assert fact_.ref == "printer-220.failure_per_h"
    assert fact_.after.value == pytest.approx(stats.gamma(k + 1, scale=1.0 / (h + 5.0 + 30.0)).median())


# ---- truths recovered, and noise left alone

REFS = ("casting.mix_min", "casting.pour_min", "casting.demold_min", "printing.start_plate_min")


def worlds(jobs: int, seeds: int, truth_sd: float = 1.0) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Held, error of the log, and width of it, each (seeds, 4), for standards that are off as the tables say."""
    shop, out = shipped_shop(), []
    spread = np.array(
        [log((shop.facts[r].high or 0) / (shop.facts[r].low or 1)) / (2 * TO_P90) for r in REFS]
    )
    for seed in range(seeds):
        rng = np.random.default_rng(seed)
        truth = rng.normal(0.0, truth_sd * spread)
        times = []
        for _ in range(jobs):
            share = rng.dirichlet(np.ones(4))
            ratio = log(float(share @ np.exp(truth))) + float(rng.normal(0.0, JOB_SD))
            times.append(SeenTime(ratio, dict(zip(REFS, share.tolist(), strict=True))))
        found = {x.ref: x for x in learned_facts(Seen(tuple(times), (), (), (), ()), shop)}
        for i, ref in enumerate(REFS):
            x, true = found[ref], shop.facts[ref].value * np.exp(truth[i])
            out.append(
                (
                    x.after.low <= true <= x.after.high,
                    log(x.after.value / true),
                    log(x.after.high / x.after.low),
                )
            )
    held, error, width = np.array(out, dtype=float).reshape(seeds, 4, 3).transpose(2, 0, 1)
    return held, error, width


@pytest.mark.parametrize("jobs", [1, 5, 25, 100])
def test_learned_ranges_hold_the_true_standards_eight_times_in_ten(jobs: int) -> None:
    held, _error, _width = worlds(jobs, 120)
    assert held.mean(axis=0).min() >= 0.7
    assert 0.75 <= held.mean() <= 0.85


def test_more_jobs_come_nearer_with_narrower_ranges() -> None:
    sizes = [
        (np.abs(error).mean(), width.mean()) for _held, error, width in (worlds(n, 60) for n in (1, 10, 100))
    ]
    assert sizes == sorted(sizes, reverse=True)
    assert sizes[2][0] < 0.5 * sizes[0][0]


def test_noise_about_right_tables_moves_them_next_to_nothing() -> None:
    """Symmetric noise on the log scale: the mean ratio of learned to tabled is 1."""
    _held, error, _width = worlds(40, 60, truth_sd=0.0)
    assert abs(error.mean()) < 0.02
    assert np.abs(error).mean() < 0.15


def test_yields_and_rates_are_recovered_in_their_ranges() -> None:
    """Prints of any length that fail at a constant rate, some of them long: the half that a failed one has run
    leaves no bias to see."""
    shop = shipped_shop()
    share, rate = shop.facts["casting.yield_clear"], shop.facts["printer-220.failure_per_h"]
    a, b = beta_prior(share.value, share.low or 0.0, share.high or 0.0)
    k, h = gamma_prior(rate.value, rate.low or 0.0, rate.high or 0.0)
    held, worlds_, ratio = np.zeros(2), 200, []
    for seed in range(worlds_):
        rng = np.random.default_rng(seed)
        good, fails = rng.beta(a, b), rng.gamma(k, 1.0 / h)
        tries = tuple(SeenTries("casting.yield_clear", int(ok), 1 - int(ok)) for ok in rng.random(20) < good)
        hours = rng.uniform(1.0, 15.0, 60)
        lost = rng.random(60) < 1.0 - np.exp(-fails * hours)
        runs = tuple(
            SeenRun("printer-220.failure_per_h", float(t / 2 if f else t), int(f))
            for t, f in zip(hours, lost, strict=True)
        )
        yield_, failures = learned_facts(Seen((), tries, runs, (), ()), shop)
        held += [
            yield_.after.low <= good <= yield_.after.high,
            failures.after.low <= fails <= failures.after.high,
        ]
        ratio.append(failures.after.value / fails)
    assert (held / worlds_ >= 0.73).all()
    assert (held / worlds_ <= 0.87).all()
    assert float(np.median(ratio)) == pytest.approx(1.0, abs=0.08)


# ---- what is written, and what stays


def test_nothing_changes_until_it_is_written(tmp_path: Path, capsys) -> None:
    folder = bench_build(tmp_path / "b", DAY + "demold,,90 min,,,\n")
    before = own_files(folder)
    told = ran(folder, capsys)
    assert told["written"] == []
    assert own_files(folder) == before


def test_what_is_written_is_in_force_from_that_day_and_no_earlier(tmp_path: Path, capsys) -> None:
    folder = bench_build(tmp_path / "b", DAY + "demold,,90 min,,,\n" + DAY + "sand each,,30 min,,,\n")
    old, text = load_build(folder), (folder / "standards.csv").read_bytes()
    told = ran(folder, capsys, write=True)
    assert [Path(p).name for p in told["written"]] == ["materials.csv", "standards.csv"]
    assert (folder / "standards.csv").read_bytes().startswith(text)
    new = load_build(folder)
    facts = new.shop().facts
    after = {x["fact"]: x["after"] for x in told["facts"]}
    assert facts["casting.demold_min"].value == pytest.approx(after["casting.demold_min"]["value"], rel=1e-3)
    assert facts["casting.demold_min"].source == "learned from 1 log row up to 2026-02-01"
    paper = facts["paper-p320.min_per_10cm2"]
    assert (paper.low, paper.high) == pytest.approx(
        (after["paper-p320.min_per_10cm2"]["low"], after["paper-p320.min_per_10cm2"]["high"]), rel=1e-3
    )
    # the days before keep what they had, also where a shipped row stood
    day = old.day.replace(month=2, day=27)
    assert {r: f.value for r, f in new.shop(day).facts.items()} == {
        r: f.value for r, f in old.shop(day).facts.items()
    }
    # the plan moves by it
    minutes = [
        next(op for op in rank(b).parts[0].amounts.plans[0].operations if op.name == "demold").hands_on_min
        for b in (old, new)
    ]
    ratio = after["casting.demold_min"]["value"] / 6.0
    assert minutes[1] / minutes[0] == pytest.approx(ratio, rel=1e-3)


def test_learning_again_starts_from_the_tables_as_they_were(tmp_path: Path) -> None:
    folder = tmp_path / "b"
    build, first = learned(folder, DAY + "demold,,90 min,,,\n")
    assert first.changed == 1
    write_learned(build, first)
    build, again = learned(folder)
    assert again.facts[0].after == first.facts[0].after
    assert again.changed == 0
    assert write_learned(build, again) == ()
    # a later row is weighed together with the earlier one, as if both had been there from the start
    add(folder, "2026-03-05,lid,bench,demold,,100 min,,,\n")
    later = learn(build := load_build(folder), as_of=build.day.replace(day=9))
    write_learned(build, later)
    both = learned(tmp_path / "c", DAY + "demold,,100 min,,,\n" + DAY + "demold,,90 min,,,\n")[1]
    assert later.facts[0].after.value == pytest.approx(both.facts[0].after.value)
    assert later.facts[0].table.value == 6.0
    assert later.facts[0].now.value == pytest.approx(first.facts[0].after.value, rel=1e-3)


def test_a_second_lesson_of_the_same_day_is_refused_whole(tmp_path: Path) -> None:
    folder = tmp_path / "b"
    build, found = learned(folder, DAY + "demold,,90 min,,,\n")
    write_learned(build, found)
    add(folder, DAY + "demold,,50 min,,,\n" + DAY + "mix and,,120 min,,,\n")
    text = (folder / "standards.csv").read_bytes()
    build, found = learned(folder)
    with pytest.raises(InputError, match="already"):
        write_learned(build, found)
    assert (folder / "standards.csv").read_bytes() == text


def test_own_rows_are_the_table_that_is_learned_from(tmp_path: Path) -> None:
    facts = FACTS + "casting,casting,demold_min,8,min,4,16,2026-02-15,timed again\n"
    build = load_build(bench_build(tmp_path / "b", DAY + "demold,,90 min,,,\n", facts))
    found = learn(build)
    assert found.facts[0].table.value == 8.0
    tables = before_learning(build.tables)
    assert tables.facts == build.tables.facts


def test_rows_of_the_log_count_from_their_day(tmp_path: Path) -> None:
    folder = bench_build(tmp_path / "b", DAY + "demold,,90 min,,,\n2026-06-01,lid,bench,demold,,200 min,,,\n")
    build = load_build(folder)
    found = learn(build)
    assert (found.log_rows, found.later_rows) == (1, 1)
    assert learn(build, as_of=build.day.replace(year=2027)).facts[0].rows == 2
    with pytest.raises(InputError, match="2026-02-01"):
        learn(build, as_of=build.day.replace(year=2025))


def test_the_order_of_rows_does_not_matter(tmp_path: Path) -> None:
    rows = [DAY + f"demold,,{m} min,,,\n" for m in (50, 70, 90)] + [DAY + "mix and,,130 min,,,\n"]
    one = learned(tmp_path / "b", "".join(rows))[1]
    other = learned(tmp_path / "c", "".join(reversed(rows)))[1]
    for x, y in zip(one.facts, other.facts, strict=True):
        assert x.ref == y.ref
        assert x.after.value == pytest.approx(y.after.value)


def test_without_a_log_there_is_one_clear_error(tmp_path: Path) -> None:
    for text in (None, HEADER):
        folder = bench_build(tmp_path / ("none" if text is None else "empty"))
        if text:
            (folder / "log.csv").write_text(text)
        with pytest.raises(InputError, match=r"log\.csv: the table has no rows"):
            learn(folder)


def test_a_certain_fact_stays(tmp_path: Path) -> None:
    """A row without low and high says that it is certain."""
    facts = FACTS.replace("demold_min,6,min,3,12", "demold_min,6,min,,").replace("0.8,,0.6,0.92", "0.8,,,")
    build = load_build(bench_build(tmp_path / "b", DAY + "demold,,90 min,,failed,\n", facts))
    found = learn(build)
    assert found.facts == ()
    assert found.rows == {}
    assert {"no time standard" in str(note) or "exact" in str(note) for note in found.notes} == {True}
    assert len(found.notes) == 2


def test_the_table_for_a_person_fits_and_shows_before_and_after(tmp_path: Path, capsys) -> None:
    from argparse import Namespace

    folder = bench_build(
        tmp_path / "b", DAY + "demold,,90 min,600 g,,\n" + DAY + "mix and,,130 min,600 g,,\n"
    )
    assert _learn(Namespace(build=str(folder), as_of=None, write=False, json=False)) == 0
    text = capsys.readouterr().out
    assert "casting.demold_min" in text
    assert "6 (3–12)" in text
    assert "epoxy-clear: 1.20 x the planned mass, in 1 row" in text
    assert "Nothing was written" in text
    tables = [line for line in text.splitlines() if not line.startswith(("casting,", "class,"))]
    assert max(len(line) for line in tables) <= 100
    (row,) = [line for line in text.splitlines() if line.startswith("casting,casting,demold_min")]
    assert row.endswith("2026-03-01,learned from 1 log row up to 2026-02-01")


def test_a_learned_row_alone_is_kept(tmp_path: Path) -> None:
    """Where a person has deleted the row that it came from, it is the table."""
    build, found = learned(tmp_path / "b", DAY + "demold,,90 min,,,\n")
    write_learned(build, found)
    build = load_build(tmp_path / "b")
    rows = build.tables.facts["standards.csv"]
    alone = tuple(p for p in rows if p.row.property != "demold_min" or p.row.source.startswith("learned"))
    tables = replace(build.tables, facts={**build.tables.facts, "standards.csv": alone})
    assert before_learning(tables).facts["standards.csv"] == alone
