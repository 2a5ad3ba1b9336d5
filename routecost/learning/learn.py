"""Time standards, yields and failure rates updated from the log; the fewer its rows, the closer to the tables.

The whole log is always combined with the tables without learned rows, so that learning twice changes nothing and
the order of the rows does not matter.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

import numpy as np

from routecost.bill.rank_bill import Progress, as_build, rank
from routecost.builds.build import Build
from routecost.builds.table_appending import append_rows
from routecost.core.errors import Fault, InputError
from routecost.core.wording import counted
from routecost.learning.observations import Seen, SeenGrams, is_time, seen
from routecost.learning.posteriors import (
    Known,
    beta_posterior,
    beta_prior,
    gamma_posterior,
    gamma_prior,
    log_sd,
    ratios_posterior,
    times_of,
)
from routecost.shop.facts import Fact, FactRow
from routecost.shop.shop import FACT_TABLES, Shop, Tables
from routecost.shop.table_reader import Placed

LEARNED = "learned from"
"""How the source of a learned row begins; such rows are never a prior."""
NEGLIGIBLE = 0.01
"""Facts that change by less than this share, in value and in spread, are left unchanged."""

What = Literal["time", "yield", "failures"]


@dataclass(frozen=True)
class Learned:
    """One fact before and after."""

    ref: str
    what: What
    unit: str
    table: Known
    """Before anything was learned."""
    now: Known
    """In force on the day."""
    after: Known
    rows: int
    """Number of log rows about it."""
    evidence: str
    """These rows in words."""
    weight: float
    """Weight of the log against the table, 0 to 1: the share of the variance that it removes, or its share of all
    attempts or hours."""


@dataclass(frozen=True, eq=False)
class Learning:
    """What is learned from the log of a build up to a day."""

    facts: tuple[Learned, ...]
    grams: tuple[SeenGrams, ...]
    notes: tuple[Fault, ...]
    day: dt.date
    log_rows: int
    later_rows: int
    """Rows dated after the day."""
    rows: dict[str, tuple[FactRow, ...]]
    """To be added, by table: the table's own row where the build has none yet, so that earlier days do not
    change, and the learned one."""

    @property
    def changed(self) -> int:
        return sum(row.source.startswith(LEARNED) for rows in self.rows.values() for row in rows)


def learn(
    build: Build | str | Path, *, as_of: dt.date | None = None, progress: Progress | None = None
) -> Learning:
    """Learn from the rows of log.csv up to a day. Nothing is written; see `write_learned`. Raises InputError."""
    build = as_build(build)
    day = as_of or build.day
    if not build.log:
        mend = "log actual times and outcomes; `routecost tables log.csv` explains its columns"
        raise InputError.of("log.csv", "", "the table has no rows", mend)
    rows = [placed for placed in build.log if placed.row.date <= day]
    if not rows:
        first = min(placed.row.date for placed in build.log)
        what = f"no row is dated {day} or earlier; the first is dated {first}"
        raise InputError.of("log.csv", "", what, "use a later date: --as-of, or as_of in build.toml")
    untrained = replace(build, tables=before_learning(build.tables))
    ranked = {}
    for part in dict.fromkeys(placed.row.part for placed in rows):
        ranked[part] = rank(untrained, part=part, as_of=day).parts[0]
        if progress:
            progress(part)
    table, now = untrained.shop(day), build.shop(day)
    observed = seen(rows, ranked, table)
    facts = learned_facts(observed, table, now)
    last = max(placed.row.date for placed in rows)
    return Learning(
        facts=facts,
        grams=observed.grams,
        notes=observed.notes,
        day=day,
        log_rows=len(rows),
        later_rows=len(build.log) - len(rows),
        rows=_new_rows(facts, build.tables, now, day, last),
    )


def write_learned(build: Build, learning: Learning) -> tuple[Path, ...]:
    """Append the new rows to the build's tables, and return the files. Raises InputError, with nothing written."""
    return append_rows(build.folder, build.settings.currency, learning.rows)


def before_learning(tables: Tables) -> Tables:
    """The tables without learned rows, except for facts that have no other row."""

    def without(rows: Sequence[Placed[FactRow]]) -> tuple[Placed[FactRow], ...]:
        others = {_key(p.row) for p in rows if not _is_learned(p.row)}
        return tuple(p for p in rows if not _is_learned(p.row) or _key(p.row) not in others)

    return replace(tables, facts={name: without(rows) for name, rows in tables.facts.items()})


def _is_learned(row: FactRow) -> bool:
    return row.source.startswith(LEARNED)


def _key(row: FactRow) -> tuple[str, str, str]:
    return row.kind, row.thing, row.property


def learned_facts(what: Seen, table: Shop, now: Shop | None = None) -> tuple[Learned, ...]:
    """Every fact with observations, by name; `table` holds the prior values, `now` the current ones."""
    now = now or table
    found = [*_times(what, table, now), *_yields(what, table, now), *_failures(what, table, now)]
    return tuple(sorted(found, key=lambda x: x.ref))


def known(fact: Fact) -> Known:
    """A fact of the tables; without low and high it is exact."""
    value = float(fact.value)
    return Known(value, value if fact.low is None else fact.low, value if fact.high is None else fact.high)


def _times(what: Seen, table: Shop, now: Shop) -> list[Learned]:
    refs = sorted({ref for time in what.times for ref in time.shares if is_time(table.facts[ref])})
    if not refs:
        return []
    prior = [known(table.facts[ref]) for ref in refs]
    prior_sd = np.array([log_sd(k.low, k.high) for k in prior])
    shares = np.array([[time.shares.get(ref, 0.0) for ref in refs] for time in what.times])
    mean, sd = ratios_posterior(prior_sd, shares, np.array([time.log_ratio for time in what.times]))
    found = []
    for i, ref in enumerate(refs):
        jobs = int((shares[:, i] > 0.0).sum())
        rows = sum(time.rows for time in what.times if time.shares.get(ref, 0.0) > 0.0)
        found.append(
            Learned(
                ref,
                "time",
                table.facts[ref].unit,
                prior[i],
                known(now.facts[ref]),
                times_of(prior[i].value, float(mean[i]), float(sd[i])),
                rows,
                counted(jobs, "job") + (f" in {rows} rows" if rows > jobs else ""),
                1.0 - float(sd[i] / prior_sd[i]) ** 2,
            )
        )
    return found


def _yields(what: Seen, table: Shop, now: Shop) -> list[Learned]:
    found = []
    for ref in sorted({tries.ref for tries in what.tries}):
        before = known(table.facts[ref])
        rows = [tries for tries in what.tries if tries.ref == ref]
        good, failed = sum(t.good for t in rows), sum(t.failed for t in rows)
        prior = beta_prior(before.value, before.low, before.high)
        after = beta_posterior(prior, good, failed)
        evidence = f"{good} good of {good + failed}"
        weight = (good + failed) / (sum(prior) + good + failed)
        found.append(
            Learned(ref, "yield", "", before, known(now.facts[ref]), after, len(rows), evidence, weight)
        )
    return found


def _failures(what: Seen, table: Shop, now: Shop) -> list[Learned]:
    found = []
    for ref in sorted({run.ref for run in what.runs}):
        before, unit = known(table.facts[ref]), table.facts[ref].unit
        rows = [run for run in what.runs if run.ref == ref]
        failures, hours = sum(run.failures for run in rows), sum(run.hours for run in rows)
        prior = gamma_prior(before.value, before.low, before.high)
        after = gamma_posterior(prior, failures, hours)
        evidence = f"{counted(failures, 'failure')} in {hours:.1f} h"
        weight = hours / (prior[1] + hours)
        found.append(
            Learned(ref, "failures", unit, before, known(now.facts[ref]), after, len(rows), evidence, weight)
        )
    return found


def _new_rows(
    facts: Iterable[Learned], tables: Tables, now: Shop, day: dt.date, last: dt.date
) -> dict[str, tuple[FactRow, ...]]:
    """Rows with the learned values, by table; none for values that are already current."""
    added: dict[str, list[FactRow]] = {}
    for fact in facts:
        after = _written(fact.after)
        in_force = fact.now == after and now.facts[fact.ref].source.startswith(LEARNED)
        if in_force or max(fact.weight, abs(fact.after.value / fact.table.value - 1.0)) < NEGLIGIBLE:
            continue
        table, rows = _rows_of(fact.ref, tables)
        if all(placed.file != table for placed in rows):
            # a build's own row hides all shipped ones, so days before it would have none
            added.setdefault(table, []).extend(placed.row for placed in rows)
        row = FactRow(
            kind=rows[0].row.kind,
            thing=rows[0].row.thing,
            property=rows[0].row.property,
            value=repr(after.value),
            unit=fact.unit,
            low=after.low,
            high=after.high,
            as_of=day,
            source=f"{LEARNED} {counted(fact.rows, 'log row')} up to {last}",
        )
        added.setdefault(table, []).append(row)
    return {table: tuple(added[table]) for table in FACT_TABLES if table in added}


def _written(k: Known) -> Known:
    """To four figures, as written to a table: finer than the uncertainty."""
    return Known(*(float(f"{x:.4g}") for x in (k.value, k.low, k.high)))


def _rows_of(ref: str, tables: Tables) -> tuple[str, list[Placed[FactRow]]]:
    """The table of a fact, and all its rows there."""
    thing, _, prop = ref.rpartition(".")
    for table in FACT_TABLES:
        if rows := [p for p in tables.facts[table] if (p.row.thing, p.row.property) == (thing, prop)]:
            return table, rows
    raise KeyError(ref)
