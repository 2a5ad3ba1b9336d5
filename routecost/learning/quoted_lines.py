"""Quotes of a service as lines of a price law: what each was paid for, and in which amounts."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from routecost.bill.rank_bill import Progress
from routecost.builds.build import Build
from routecost.core.arrays import Floats
from routecost.core.errors import Fault, InputError
from routecost.routes.outsourced_sla import OUTSOURCED_SLA
from routecost.routes.process.operation import ProcessPlan, Usage
from routecost.routes.process.part import Demands, Part, Quote
from routecost.shop.price_log import PriceList, price_list
from routecost.shop.shop import Shop

AT_MINIMUM = 0.005
"""A quote this close to the minimum charge in the tables is taken for that charge: quotes are rounded."""


@dataclass(frozen=True)
class QuotedLine:
    """A quote, and its quantities in the law. Amounts of money in the build's currency, of all its copies."""

    part: str
    finish: str
    copies: int
    as_of: dt.date
    row: int
    """Of quotes.csv."""
    price: float
    shipping: float
    """By the tables; subtracted before the law is fitted."""
    usages: Mapping[str, float]
    """Amounts of the law's resources, times copies, finish and quantity break."""

    @property
    def without_shipping(self) -> float:
        return self.price - self.shipping

    @property
    def name(self) -> str:
        return f"{self.part}, {self.finish}, x{self.copies}"


@dataclass(frozen=True)
class Unused:
    """A quote that is not used for the fit, and why."""

    quote: str
    why: str


def quotes_of(build: Build, service: str, day: dt.date) -> Iterator[tuple[Part, Quote, dt.date]]:
    """Of quotes for the same part, finish and copies the newest."""
    for read in build.read_parts:
        newest: dict[str, tuple[Quote, dt.date]] = {}
        for quote, first, _last in build.quotes.by_part.get(read.part.id, ()):
            before = newest.get(quote.resource)
            if quote.service == service and first <= day and (before is None or before[1] < first):
                newest[quote.resource] = (quote, first)
        for quote, first in newest.values():
            yield read.part, quote, first


def quoted_lines(
    build: Build, service: str, shop: Shop, prices: PriceList, progress: Progress | None
) -> tuple[list[QuotedLine], list[Unused], list[str]]:
    """The quotes that a law can be fitted to, the others, and notes. Raises InputError for unknown currencies."""
    paid = _quoted_prices(build, prices)
    rows = {(p.row.resource, p.row.as_of): p.number for p in build.quotes.prices}
    lines, unused, notes = list[QuotedLine](), list[Unused](), list[str]()
    for part, quote, first in quotes_of(build, service, shop.day):
        name = f"{part.id}, {quote.finish}, x{quote.copies}"
        plan = law_plan(part, quote, service, shop)
        if plan is None:
            why = f"{service} does not sell this finish" if part.shape else "the part has no mesh"
            unused.append(Unused(name, why))
            continue
        law, floor, shipping = _parts_of(plan, service)
        cost = sum(amount * prices.unit_price(r) for r, amount in shipping.items())
        line = QuotedLine(
            part.id,
            quote.finish,
            quote.copies,
            first,
            rows[quote.resource, first],
            paid[quote.resource],
            cost,
            _summed(law),
        )
        why = _unusable(line, floor, prices, notes)
        if why:
            unused.append(Unused(name, why))
        else:
            lines.append(line)
        if progress:
            progress(part.id)
    return lines, unused, notes


def drivers_of(lines: Iterable[QuotedLine], prices: PriceList) -> tuple[list[str], list[float]]:
    """The resources of a law, and their prices in the tables; 0 where there is none."""
    drivers = list(dict.fromkeys(r for line in lines for r, amount in line.usages.items() if amount > 0.0))
    return drivers, [prices.unit_price(r) if prices.offers.get(r) else 0.0 for r in drivers]


def amounts_of(lines: Sequence[QuotedLine], drivers: Sequence[str]) -> Floats:
    """(n, k): amount of each driver in each quote."""
    return np.array([[line.usages.get(name, 0.0) for name in drivers] for line in lines])


def paid_for(lines: Iterable[QuotedLine]) -> Floats:
    """(n,): prices without shipping."""
    return np.array([line.without_shipping for line in lines])


def law_plan(part: Part, quote: Quote, service: str, shop: Shop) -> ProcessPlan | None:
    """The plan of an order by the price law for a quote's copies and finish; None where there is none.

    The law depends on shape, copies and finish only; a request for a smooth part gives every finish.
    """
    request = replace(part, copies=quote.copies, quotes=(), demands=Demands(finish="smooth"))
    for plan in OUTSOURCED_SLA.plans(request, shop):
        if (plan.chosen["service"], plan.chosen["finish"]) == (service, quote.finish):
            return plan
    return None


def _parts_of(plan: ProcessPlan, service: str) -> tuple[tuple[Usage, ...], Usage | None, dict[str, float]]:
    """Usages of the law, its minimum, and the shipping. The law is the operation that uses only the service."""

    def of_service(usage: Usage) -> bool:
        return usage.resource.startswith(f"{service} ")

    law = next(op for op in plan.operations if op.usages and all(of_service(d) for d in op.usages))
    shipping = _summed(d for op in plan.operations if op is not law for d in op.usages if of_service(d))
    return law.usages, law.floor, shipping


def _summed(usages: Iterable[Usage]) -> dict[str, float]:
    found: dict[str, float] = {}
    for usage in usages:
        found[usage.resource] = found.get(usage.resource, 0.0) + usage.quantity
    return found


def _quoted_prices(build: Build, prices: PriceList) -> dict[str, float]:
    """Each quote's price in the build's currency, whether it has expired or not."""
    ever = [replace(placed, row=replace(placed.row, expires=None)) for placed in build.quotes.prices]
    faults: list[Fault] = []
    found = price_list(
        ever, build.tables.exchange, build.tables.resource_map, prices.day, prices.currency, faults
    )
    if faults:
        raise InputError(faults)
    return {resource: offers[0].pack_price for resource, offers in found.offers.items()}


def _unusable(line: QuotedLine, floor: Usage | None, prices: PriceList, notes: list[str]) -> str:
    """Why a quote cannot be used; a note where it contradicts the minimum in the tables."""
    if line.without_shipping <= 0.0:
        return f"shipping alone costs {line.shipping:.2f} by the tables, more than the quote"
    if floor is None or not prices.offers.get(floor.resource):
        return ""
    least = floor.quantity * prices.unit_price(floor.resource)
    if abs(line.without_shipping / least - 1.0) <= AT_MINIMUM:
        return f"it is the minimum charge ({floor.resource}), which hides the law"
    if line.without_shipping < least:
        notes.append(
            f"{line.name} is below the minimum charge in the tables ({floor.resource}): add its current price"
        )
    return ""
