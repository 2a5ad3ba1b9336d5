"""What a route says: operations with draws, and a verdict. Amounts of resources only, never money."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING, Literal, Protocol

from routecost.shop.facts import Factor

if TYPE_CHECKING:
    from routecost.routes.process.part import Part
    from routecost.shop.shop import Shop

OWN_HOUR = "own-hour"
"""The maker's own hour: the one resource whose price is set in build.toml."""


@dataclass(frozen=True)
class Usage:
    """An amount of a resource, in the resource's own unit, and why it is that much."""

    resource: str
    quantity: float
    why: str
    """The formula in words, with its numbers."""
    facts: tuple[str, ...] = ()
    """Table rows (`thing.property`) that the quantity rests on and is proportional to."""

    def times(self, factor: float) -> Usage:
        return replace(self, quantity=self.quantity * factor)


def used(resource: str, *factors: Factor | tuple[float, str], facts: tuple[str, ...] = ()) -> Usage:
    """A product of factors: number, formula and facts all come from the same list.

    A factor is a row of a table (`Thing.rate`) or a number with its unit or noun; what is 1 is not shown.
    `facts`: what else it is proportional to.

    >>> used("pins", (2, "copies"), (3, "bonds"), Factor(2.0, "2 pins", ("joining.pins_per_bond",)))
    Usage(resource='pins', quantity=12.0, why='2 copies x 3 bonds x 2 pins', facts=('joining.pins_per_bond',))
    """
    quantity, why, rests = 1.0, "", list(facts)
    for factor in factors:
        if isinstance(factor, Factor):
            quantity = quantity / factor.number if factor.divides else quantity * factor.number
            rests += factor.facts
            why += f" {'/' if factor.divides else 'x'} {factor.text}"
        else:
            quantity *= factor[0]
            if factor[0] != 1.0:
                why += f" x {rounded(factor[0])} {factor[1]}"
    return Usage(resource, quantity, why.removeprefix(" x ") or "one", tuple(rests))


def own_time(minutes: float, why: str, facts: tuple[str, ...] = ()) -> Usage:
    """Hands-on work whose minutes are no plain product; else see `timed`.

    >>> own_time(90, "three plates of 30 min").quantity
    1.5
    """
    return Usage(OWN_HOUR, minutes / 60.0, why, facts)


def timed(*factors: Factor | tuple[float, str], facts: tuple[str, ...] = ()) -> Usage:
    """Hands-on work: factors, as in `used`, whose product is minutes.

    >>> timed((3, "plates"), Factor(30.0, "30 min"))
    Usage(resource='own-hour', quantity=1.5, why='3 plates x 30 min', facts=())
    """
    minutes = used(OWN_HOUR, *factors, facts=facts)
    return replace(minutes, quantity=minutes.quantity / 60.0)


def rounded(number: float) -> str:
    """As a formula shows it: three digits, or all before the decimal point.

    >>> rounded(30.0), rounded(1.23456), rounded(12345.6)
    ('30', '1.23', '12346')
    """
    return f"{number:.0f}" if abs(number) >= 100.0 else f"{number:.3g}"


def own_hours(usages: Iterable[Usage]) -> float:
    """Hours of hands-on work among them."""
    return sum(usage.quantity for usage in usages if usage.resource == OWN_HOUR)


@dataclass(frozen=True)
class Operation:
    """One step. Hands-on, machine and waiting time are three different times.

    Draws with a `floor` form a charge group: together they cost no less than the floor's amount.
    """

    name: str
    usages: tuple[Usage, ...] = ()
    machine: str = ""
    """What is tied up while `machine_min` run: a printer, a pot, a mold."""
    machine_min: float = 0.0
    waiting_min: float = 0.0
    """Curing, drying, delivery: only the part is tied up."""
    waiting_facts: tuple[str, ...] = ()
    """Table rows (`thing.property`) that the waiting moves with, as far as it does not belong to the material."""
    runs: int = 1
    """How often it is begun by hand: plates, loads of a pot, rounds of pulls, coats. Hands-on and machine time are
    shared out evenly among them. Where no machine runs, so is waiting; else it is that of the last run."""
    floor: Usage | None = None
    shared_floor: Usage | None = None
    """Where `floor` is the minimum of a whole order with only this part in it: the floor that applies to the part
    once everything in the order is known."""
    cautions: tuple[str, ...] = ()
    note: str = ""
    cycle: str = ""
    """Consecutive steps of the same cycle are repeated together: the first run of each, then the second run of
    each. One with fewer runs than the others takes part in the first ones. Hands-on time, too, is shared out
    among the runs; what comes out of a machine waits once the last run of the cycle is over."""
    runs_in_cycle: int = 1
    """How many of the runs follow each other before the cycle goes on: pours on top of one another in a mold."""
    unbroken: bool = False
    """A run cannot be interrupted: resin sets, paint dries."""
    once: bool = False
    """Done once however many copies there are: master, mold. What is made stays."""

    @cached_property
    def hands_on_min(self) -> float:
        return 60.0 * own_hours(self.usages)

    def times(self, factor: float) -> Operation:
        """The same step done `factor` times over, one after the other; runs are whole.

        >>> plates = Operation("print", machine="printer", machine_min=240.0, runs=4).times(1.6)
        >>> plates.machine_min, plates.runs
        (384.0, 6)
        """
        return replace(
            self,
            usages=tuple(d.times(factor) for d in self.usages),
            machine_min=self.machine_min * factor,
            waiting_min=self.waiting_min * factor,
            runs=max(1, round(self.runs * factor)),
            floor=self.floor.times(factor) if self.floor else None,
            shared_floor=self.shared_floor.times(factor) if self.shared_floor else None,
        )


Level = Literal["suits", "changes", "ruled out"]


@dataclass(frozen=True)
class Reason:
    """Why a route suits, suits with changes, or is ruled out; in numbers."""

    level: Level
    text: str


@dataclass(frozen=True)
class Verdict:
    """All reasons together; the worst of them decides.

    >>> Verdict((Reason("changes", "split in 3"), Reason("suits", "fits"))).level
    'changes'
    """

    reasons: tuple[Reason, ...] = ()

    @property
    def level(self) -> Level:
        found = {reason.level for reason in self.reasons}
        return "ruled out" if "ruled out" in found else "changes" if "changes" in found else "suits"

    @property
    def texts(self) -> list[str]:
        """The reasons that matter first."""
        order = {"ruled out": 0, "changes": 1, "suits": 2}
        return [r.text for r in sorted(self.reasons, key=lambda r: order[r.level])]


@dataclass(frozen=True)
class ProcessPlan:
    """One alternative of one route for all copies of one part."""

    route: str
    part: str
    copies: int
    alternative: str
    """What was chosen inside the route, in a few words: `pla-clear on bed-220, +z up`."""
    operations: tuple[Operation, ...]
    verdict: Verdict
    mass_g: float
    """All copies, as made."""
    tools: frozenset[str] = frozenset()
    """Machines and vessels it needs, whether owned or not."""
    chosen: dict[str, str] = field(default_factory=dict, compare=False)
    """The choices one by one (material, printer, pose ...), for explaining."""

    def lead_days(self, hours_a_day: float) -> float:
        """Calendar days, one step after the other: hands work `hours_a_day`, all else runs day and night."""
        hands_on_h = sum(op.hands_on_min for op in self.operations) / 60.0
        running_h = sum(op.machine_min + op.waiting_min for op in self.operations) / 60.0
        return hands_on_h / hours_a_day + running_h / 24.0


class Route(Protocol):
    """A way of making a part. A new one is a new object of this kind; nothing else changes."""

    @property
    def id(self) -> str: ...

    @property
    def name(self) -> str: ...

    def plans(self, part: Part, shop: Shop) -> Iterable[ProcessPlan]:
        """Every alternative worth pricing, ruled-out ones included; none when the route does not apply."""
        ...
