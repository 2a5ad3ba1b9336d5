"""The log compared with the plan: actual over planned minutes, good and failed attempts, failures per hour."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import exp, log, prod

from routecost.builds.build_tables import LogRow
from routecost.core.errors import Fault, InputError
from routecost.costing.ranking import RankedPart
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
    """One job's hands-on time, and the share of the planned time that depends on each time standard."""

    log_ratio: float
    """Log of actual over planned."""
    shares: Mapping[str, float]
    """By fact; the rest of the time depends on no time standard."""


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
    """Mass of a step's main material; reported, but nothing is learned from it."""

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
    """Match each row with its step in the route's best alternative that has such a step.

    Raises InputError naming every row whose step is not one of its route.
    """
    times, tries, runs, grams = list[SeenTime](), list[SeenTries](), list[SeenRun](), list[SeenGrams]()
    faults, notes = list[Fault](), list[Fault]()
    for placed in rows:
        row, of = placed.row, ranked[placed.row.part]
        steps = steps_of(placed, of, faults)
        if steps:
            step = _Step(placed, steps, of.part.copies, shop)
            times += step.times(notes)
            grams += step.grams(notes)
            if row.outcome:
                found = step.outcome(notes)
                tries += [found] if isinstance(found, SeenTries) else []
                runs += [found] if isinstance(found, SeenRun) else []
    if faults:
        raise InputError(faults)
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
    """One row with the operations that it is about."""

    def __init__(self, placed: Placed[LogRow], steps: tuple[Operation, ...], copies: int, shop: Shop) -> None:
        self.placed, self.row, self.steps, self.shop = placed, placed.row, steps, shop
        self.usages = tuple(usage for op in steps for usage in op.usages)
        self.yields = tuple(
            ref
            for ref in _facts(self.usages)
            if ref.rpartition(".")[2].startswith(_YIELD) and ref in shop.facts
        )
        # the plan covers as many attempts as give the copies on average
        tries = copies / prod(float(shop.facts[ref].value) for ref in self.yields)
        self.share = self.row.copies / tries if self.row.copies else 1.0

    def note(self, header: str, what: str, mend: str = "the value is not used") -> Fault:
        return self.placed.fault(header, what, mend)

    def times(self, notes: list[Fault]) -> list[SeenTime]:
        if self.row.minutes is None:
            return []
        own = [usage for usage in self.usages if usage.resource == OWN_HOUR]
        planned_h = sum(usage.quantity for usage in own)
        if planned_h <= 0.0:
            notes.append(self.note("minutes", "the plan has no hands-on time for this operation"))
            return []
        shares: dict[str, float] = {}
        for usage in own:
            standards = [ref for ref in usage.facts if is_time(self.shop.facts.get(ref))]
            for ref in standards:
                # a time that depends on two standards changes both
                part = usage.quantity / planned_h / len(standards)
                shares[ref] = shares.get(ref, 0.0) + part
        planned_min = 60.0 * planned_h * self.share
        ratio = log(self.row.minutes / planned_min)
        if abs(ratio) > SLIP:
            copies = f"{self.row.copies} attempts" if self.row.copies else "all copies"
            what = f"{self.row.minutes:g} min is {exp(ratio):.2g} times the planned time for {copies}"
            notes.append(
                self.note(
                    "minutes", what, "the value is not used; if it covers fewer copies, enter their number"
                )
            )
            return []
        if not shares:
            notes.append(self.note("minutes", "this time depends on no time standard with a low and a high"))
            return []
        return [SeenTime(ratio, shares)]

    def grams(self, notes: list[Fault]) -> list[SeenGrams]:
        if self.row.grams is None:
            return []
        planned: dict[str, float] = {}
        for usage in self.usages:
            resource = self.shop.resources.get(usage.resource)
            if resource is not None and resource.unit == "g" and resource.kind == "material":
                planned[usage.resource] = planned.get(usage.resource, 0.0) + usage.quantity
        if not any(planned.values()):
            notes.append(self.note("grams", "the plan has no material by mass for this operation"))
            return []
        main = max(planned, key=lambda name: planned[name])
        return [SeenGrams(main, planned[main] * self.share, self.row.grams)]

    def outcome(self, notes: list[Fault]) -> SeenTries | SeenRun | None:
        """A print counts for its printer; a casting or a filled shell for its yield."""
        failed = self.row.outcome == "failed"
        facts = self.shop.facts
        printers = [op for op in self.steps if f"{op.machine}.{_FAILURES}" in facts]
        ref = f"{printers[0].machine}.{_FAILURES}" if printers else self.yields[0] if self.yields else ""
        if not ref or (not printers and len(self.yields) > 1):
            notes.append(self.note("outcome", "the tables have no yield for this operation"))
            return None
        if not has_range(facts[ref]):
            notes.append(self.note("outcome", f"{ref} has no low and high, so it is taken as exact"))
            return None
        if printers:
            hours = sum(_undisturbed_h(op, ref) for op in printers) * self.share
            # a print is equally likely to fail at any time, so half of it has run on average
            return SeenRun(ref, hours / 2.0 if failed else hours, int(failed))
        n = self.row.copies or 1
        return SeenTries(ref, 0 if failed else n, n if failed else 0)


def _facts(usages: Iterable[Usage]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(ref for usage in usages for ref in usage.facts))


def _undisturbed_h(op: Operation, failures: str) -> float:
    """Machine hours without expected losses: wear that does not depend on the failure rate."""
    wear = [usage for usage in op.usages if usage.resource == op.machine]
    whole = sum(usage.quantity for usage in wear)
    kept = sum(usage.quantity for usage in wear if failures not in usage.facts)
    return op.machine_min / 60.0 * (kept / whole if whole > 0.0 else 1.0)
