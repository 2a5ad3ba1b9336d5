"""The log compared with the plan: actual over planned minutes, good and failed attempts, failures per hour."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import exp, log, prod

from routecost.builds.build_tables import LogRow
from routecost.core.errors import Fault, InputError
from routecost.costing.ranking import RankedPart
from routecost.learning.sittings import Job, job, without_repeats
from routecost.routes.process.operation import OWN_HOUR, Operation, Usage
from routecost.shop.facts import Fact
from routecost.shop.shop import Shop
from routecost.shop.table_reader import Placed

SLIP = log(8.0)
"""A time that is off by more than a factor of eight is taken for a typing error, or for a row about one copy that
does not say so: jobs scatter by a factor of 1.4, and tables are off by 2 or 3."""
_YIELD = "yield_"
_FAILURES = "failure_per_h"


@dataclass(frozen=True)
class SeenTime:
    """Hands-on time of one job in all its sittings, and the share of its plan that depends on each time standard."""

    log_ratio: float
    """Log of actual over planned."""
    shares: Mapping[str, float]
    """By fact; the rest of the time depends on no time standard."""
    rows: int = 1
    """Number of log rows that add up to it."""


@dataclass(frozen=True)
class SeenTries:
    """Outcomes of attempts that a yield describes."""

    ref: str
    good: int
    failed: int


@dataclass(frozen=True)
class SeenRun:
    """A print job: machine hours until it was done or failed."""

    ref: str
    hours: float
    failures: int


@dataclass(frozen=True)
class SeenGrams:
    """Mass of a step's main material in all sittings; reported, but nothing is learned from it."""

    resource: str
    planned_g: float
    actual_g: float


@dataclass(frozen=True)
class Seen:
    """All observations in a log."""

    times: tuple[SeenTime, ...]
    tries: tuple[SeenTries, ...]
    runs: tuple[SeenRun, ...]
    grams: tuple[SeenGrams, ...]
    notes: tuple[Fault, ...]
    """Warnings about rows that could not be used fully."""


def grams_ratios(found: Sequence[SeenGrams]) -> list[tuple[str, int, float]]:
    """By resource: how often weighed, and the geometric mean of actual over planned."""
    logs: dict[str, list[float]] = {}
    for g in found:
        logs.setdefault(g.resource, []).append(log(g.actual_g / g.planned_g))
    return [(name, len(x), exp(sum(x) / len(x))) for name, x in sorted(logs.items())]


def has_range(fact: Fact) -> bool:
    """Whether a fact is uncertain; one without low and high is taken as exact and never changes."""
    return fact.low is not None and fact.high is not None and fact.low < fact.value < fact.high


def is_time(fact: Fact | None) -> bool:
    """Whether a fact is a time standard with a range: minutes, or minutes by area or length, that a time is in
    proportion to."""
    if fact is None or fact.unit.split("/")[0] != "minute" or fact.power != 1:
        return False
    return has_range(fact) and fact.low is not None and fact.low > 0.0


def seen(rows: Iterable[Placed[LogRow]], ranked: Mapping[str, RankedPart], shop: Shop) -> Seen:
    """Match the rows with steps of the route's best alternative that has such a step; rows of one step are a job.

    Raises InputError naming every row whose step is not one of its route.
    """
    times, tries, runs, grams = list[SeenTime](), list[SeenTries](), list[SeenRun](), list[SeenGrams]()
    faults, notes = list[Fault](), list[Fault]()
    found: dict[tuple[str, str, str], list[Placed[LogRow]]] = {}
    steps: dict[tuple[str, str, str], tuple[Operation, ...]] = {}
    for placed in rows:
        if named := steps_of(placed, ranked[placed.row.part], faults):
            key = placed.row.part, placed.row.route, named[0].name
            found.setdefault(key, []).append(placed)
            steps[key] = named
    if faults:
        raise InputError(faults)
    for key, all_rows in found.items():
        step = _Step(steps[key], ranked[key[0]].part.copies, shop, notes)
        # names of a step can differ between rows, by case or length
        named_alike = [replace(p, row=replace(p.row, operation=key[2])) for p in all_rows]
        single, repeated = without_repeats(named_alike, notes)
        if not repeated:
            times += step.times(job(single, "minutes", notes))
            grams += step.grams(job(single, "grams", notes))
        for placed in single:
            if placed.row.outcome:
                outcome = step.outcome(placed)
                tries += [outcome] if isinstance(outcome, SeenTries) else []
                runs += [outcome] if isinstance(outcome, SeenRun) else []
    notes.sort(key=lambda note: int(note.where.split(",")[0].removeprefix("row ")))
    return Seen(tuple(times), tuple(tries), tuple(runs), tuple(grams), tuple(notes))


def steps_of(placed: Placed[LogRow], ranked: RankedPart, faults: list[Fault]) -> tuple[Operation, ...]:
    """All steps of that name, since names can repeat: by the whole name, or by an unambiguous beginning."""
    row = placed.row
    rows = ranked.order.get(row.route)
    if not rows:
        known = ", ".join(ranked.order) or "none"
        what = f"{row.part} cannot be made by route {row.route!r}"
        faults.append(placed.fault("route", what, f"its routes are {known}"))
        return ()
    plans = [ranked.amounts.plans[i] for i in rows]
    wanted = " ".join(row.operation.lower().split())
    for plan in plans:
        if found := tuple(op for op in plan.operations if op.name.lower() == wanted):
            return found
    for plan in plans:
        matching = {op.name for op in plan.operations if op.name.lower().startswith(wanted)}
        if len(matching) == 1:
            return tuple(op for op in plan.operations if op.name in matching)
        if matching:
            what = f"{row.operation!r} matches {len(matching)} operations of {row.part} by {row.route}"
            faults.append(
                placed.fault("operation", what, "write more of the name: " + "; ".join(sorted(matching)))
            )
            return ()
    names = list(dict.fromkeys(op.name for op in plans[0].operations))
    close = difflib.get_close_matches(row.operation, names, 1)
    mend = f"did you mean {close[0]!r}?" if close else "its operations are " + "; ".join(names)
    what = f"{row.operation!r} is not an operation of {row.part} by {row.route}"
    faults.append(placed.fault("operation", what, mend))
    return ()


class _Step:
    """The operations of one name, compared with the log."""

    def __init__(self, steps: tuple[Operation, ...], copies: int, shop: Shop, notes: list[Fault]) -> None:
        self.steps, self.shop, self.notes = steps, shop, notes
        self.usages = tuple(usage for op in steps for usage in op.usages)
        self.yields = tuple(
            ref
            for ref in _facts(self.usages)
            if ref.rpartition(".")[2].startswith(_YIELD) and ref in shop.facts
        )
        # the plan covers as many attempts as give the copies on average
        self.attempts = copies / prod(float(shop.facts[ref].value) for ref in self.yields)

    def note(
        self, placed: Placed[LogRow], header: str, what: str, mend: str = "the value is not used"
    ) -> None:
        self.notes.append(placed.fault(header, what, mend))

    def share(self, copies: int | None) -> float:
        """Of the planned attempts; no number means all."""
        return 1.0 if copies is None else copies / self.attempts

    def times(self, done: Job | None) -> list[SeenTime]:
        if done is None:
            return []
        own = [usage for usage in self.usages if usage.resource == OWN_HOUR]
        planned_h = sum(usage.quantity for usage in own)
        if planned_h <= 0.0:
            self.note(done.last, "minutes", "the plan has no hands-on time for this operation")
            return []
        shares: dict[str, float] = {}
        for usage in own:
            standards = [ref for ref in usage.facts if is_time(self.shop.facts.get(ref))]
            for ref in standards:
                # a time that depends on two standards changes both
                part = usage.quantity / planned_h / len(standards)
                shares[ref] = shares.get(ref, 0.0) + part
        planned_min = 60.0 * planned_h * self.share(done.copies)
        ratio = log(done.total / planned_min)
        if abs(ratio) > SLIP:
            copies = f"{done.copies} attempts" if done.copies else "all copies"
            rows = f" in {len(done.rows)} rows" if len(done.rows) > 1 else ""
            what = f"{done.total:g} min{rows} is {exp(ratio):.2g} times the planned time for {copies}"
            mend = "the value is not used; if it covers fewer copies, enter their number"
            self.note(done.last, "minutes", what, mend)
            return []
        if not shares:
            what = "this time depends on no time standard with a low and a high"
            self.note(done.last, "minutes", what)
            return []
        return [SeenTime(ratio, shares, len(done.rows))]

    def grams(self, done: Job | None) -> list[SeenGrams]:
        if done is None:
            return []
        planned: dict[str, float] = {}
        for usage in self.usages:
            resource = self.shop.resources.get(usage.resource)
            if resource is not None and resource.unit == "g" and resource.kind == "material":
                planned[usage.resource] = planned.get(usage.resource, 0.0) + usage.quantity
        if not any(planned.values()):
            self.note(done.last, "grams", "the plan has no material by mass for this operation")
            return []
        main = max(planned, key=lambda name: planned[name])
        return [SeenGrams(main, planned[main] * self.share(done.copies), done.total)]

    def outcome(self, placed: Placed[LogRow]) -> SeenTries | SeenRun | None:
        """A print counts for its printer; a casting or a filled shell for its yield."""
        row, facts = placed.row, self.shop.facts
        failed = row.outcome == "failed"
        if row.copies == 0:
            self.note(placed, "outcome", "the row has an outcome, but its copies are 0")
            return None
        printers = [op for op in self.steps if f"{op.machine}.{_FAILURES}" in facts]
        ref = f"{printers[0].machine}.{_FAILURES}" if printers else self.yields[0] if self.yields else ""
        if not ref or (not printers and len(self.yields) > 1):
            self.note(placed, "outcome", "the tables have no yield for this operation")
            return None
        if not has_range(facts[ref]):
            self.note(placed, "outcome", f"{ref} has no low and high, so it is taken as exact")
            return None
        if printers:
            hours = sum(_undisturbed_h(op, ref) for op in printers) * self.share(row.copies)
            # a print is equally likely to fail at any time, so half of it has run on average
            return SeenRun(ref, hours / 2.0 if failed else hours, int(failed))
        n = row.copies or 1
        return SeenTries(ref, 0 if failed else n, n if failed else 0)


def _facts(usages: Iterable[Usage]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(ref for usage in usages for ref in usage.facts))


def _undisturbed_h(op: Operation, failures: str) -> float:
    """Machine hours without expected losses: wear that does not depend on the failure rate."""
    wear = [usage for usage in op.usages if usage.resource == op.machine]
    whole = sum(usage.quantity for usage in wear)
    kept = sum(usage.quantity for usage in wear if failures not in usage.facts)
    return op.machine_min / 60.0 * (kept / whole if whole > 0.0 else 1.0)
