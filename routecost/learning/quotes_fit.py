"""A service's price law from its quotes: quantities of each quote, the fit, and rows for the price log."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

import numpy as np

from routecost.bill.rank_bill import Progress, as_build
from routecost.builds.build import Build
from routecost.builds.table_appending import append_rows
from routecost.core.arrays import Floats
from routecost.core.errors import Fault, InputError
from routecost.learning.price_law_fit import LawFit, fit_law, rms
from routecost.routes.outsourced_sla import OUTSOURCED_SLA
from routecost.routes.process.operation import ProcessPlan, Usage
from routecost.routes.process.part import Demands, Part, Quote
from routecost.shop.price_log import PriceList, PriceRow, price_list
from routecost.shop.services import SlaService
from routecost.shop.shop import Shop

LEAST_QUOTES = 5
"""A law has up to five coefficients; fewer quotes do not determine it."""
AT_MINIMUM = 0.005
"""A quote this close to the minimum charge in the tables is taken for that charge: quotes are rounded."""


@dataclass(frozen=True)
class QuotedLine:
    """A quote, and its quantities in the law. Amounts of money in the build's currency, of all its copies."""

    part: str
    finish: str
    copies: int
    as_of: dt.date
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


@dataclass(frozen=True, eq=False)
class ServiceFit:
    """The fitted law of one service."""

    service: str
    lines: tuple[QuotedLine, ...]
    unused: tuple[Unused, ...]
    notes: tuple[str, ...]
    law: LawFit
    units: tuple[str, ...]
    """Of each coefficient's resource."""
    tabled: tuple[float, ...]
    """Each coefficient as priced on the day; 0 where it has no price."""
    day: dt.date
    currency: str

    @cached_property
    def tabled_errors(self) -> Floats:
        """(n,): price by the tables over the quoted price, less one."""
        drivers = [c.driver for c in self.law.coefficients]
        amounts = np.array([[line.usages.get(name, 0.0) for name in drivers] for line in self.lines])
        return np.asarray(amounts @ np.array(self.tabled) / self.law.prices - 1.0)

    @property
    def tabled_rms_error(self) -> float:
        return rms(self.tabled_errors)

    @property
    def rows(self) -> tuple[PriceRow, ...]:
        """The law as rows of the price log, from the day on."""
        first, last = min(q.as_of for q in self.lines), max(q.as_of for q in self.lines)
        dated = f"of {first}" if first == last else f"of {first} to {last}"
        source = f"fitted to {len(self.lines)} quotes {dated}, leave-one-out error {100 * self.law.rms_error:.2g} %"
        return tuple(
            PriceRow(
                resource=c.driver,
                pack=f"1 {unit}",
                price=_figures(c.value),
                currency=self.currency,
                low=_figures(c.low),
                high=_figures(c.high),
                as_of=self.day,
                supplier=self.service,
                source=source,
            )
            for c, unit in zip(self.law.coefficients, self.units, strict=True)
        )


def fit(
    build: Build | str | Path,
    service: str | None = None,
    *,
    as_of: dt.date | None = None,
    progress: Progress | None = None,
) -> tuple[ServiceFit, ...]:
    """The price law of a service, or of every service with five quotes or more, from the build's quotes up to a
    day; expired ones count too. Nothing is written; see `write_laws`. Raises InputError."""
    build = as_build(build)
    day = as_of or build.day
    shop, prices = build.shop(day), build.tariff(day).prices
    known = [s.id for s in shop.all(SlaService)]
    if service is not None and service not in known:
        mend = "the services are " + ", ".join(known)
        raise InputError.of("command line", "--service", f"unknown service {service!r}", mend)
    counts = {name: len(list(_quotes(build, name, day))) for name in known}
    wanted = [name for name in known if counts[name] >= LEAST_QUOTES and service in (None, name)]
    if not wanted:
        counted = ", ".join(f"{counts[name]} for {name}" for name in known if service in (None, name))
        what = f"quotes up to {day}: {counted}; a price law needs {LEAST_QUOTES}"
        mend = "add quotes for parts of different size and shape, with the service in the column service"
        raise InputError.of("quotes.csv", "", what, mend)
    return tuple(_fit_service(build, name, shop, prices, progress) for name in wanted)


def write_laws(build: Build, found: Iterable[ServiceFit]) -> tuple[Path, ...]:
    """Append fitted laws to the build's prices.csv, all of them or nothing. Raises InputError."""
    rows = [row for one in found for row in one.rows]
    return append_rows(build.folder, build.settings.currency, {"prices.csv": rows})


def _quotes(build: Build, service: str, day: dt.date) -> Iterator[tuple[Part, Quote, dt.date]]:
    """Of quotes for the same part, finish and copies the newest."""
    for read in build.read_parts:
        newest: dict[str, tuple[Quote, dt.date]] = {}
        for quote, first, _last in build.quotes.by_part.get(read.part.id, ()):
            before = newest.get(quote.resource)
            if quote.service == service and first <= day and (before is None or before[1] < first):
                newest[quote.resource] = (quote, first)
        for quote, first in newest.values():
            yield read.part, quote, first


def _fit_service(
    build: Build, service: str, shop: Shop, prices: PriceList, progress: Progress | None
) -> ServiceFit:
    paid = _quoted_prices(build, prices)
    lines, unused, notes = list[QuotedLine](), list[Unused](), list[str]()
    for part, quote, first in _quotes(build, service, shop.day):
        name = f"{part.id}, {quote.finish}, x{quote.copies}"
        plan = law_plan(part, quote, service, shop)
        if plan is None:
            why = f"{service} does not sell this finish" if part.shape else "the part has no mesh"
            unused.append(Unused(name, why))
            continue
        law, floor, shipping = _parts_of(plan, service)
        cost = sum(amount * prices.unit_price(r) for r, amount in shipping.items())
        line = QuotedLine(
            part.id, quote.finish, quote.copies, first, paid[quote.resource], cost, _summed(law)
        )
        why = _unusable(line, floor, prices, notes)
        if why:
            unused.append(Unused(name, why))
        else:
            lines.append(line)
        if progress:
            progress(part.id)
    if len(lines) < LEAST_QUOTES:
        because = "".join(f"; {u.quote}: {u.why}" for u in unused)
        what = (
            f"only {len(lines)} quotes for {service} can be used, a price law needs {LEAST_QUOTES}{because}"
        )
        raise InputError.of("quotes.csv", "", what, "add quotes for parts of different size and shape")
    drivers = list(dict.fromkeys(r for line in lines for r, amount in line.usages.items() if amount > 0.0))
    tabled = [prices.unit_price(r) if prices.offers.get(r) else 0.0 for r in drivers]
    found = fit_law(
        drivers,
        np.array([[line.usages.get(r, 0.0) for r in drivers] for line in lines]),
        np.array([line.without_shipping for line in lines]),
        np.array(tabled),
    )
    notes += _other_offers(drivers, service, build, prices)
    return ServiceFit(
        service=service,
        lines=tuple(lines),
        unused=tuple(unused),
        notes=tuple(dict.fromkeys(notes)),
        law=found,
        units=tuple(shop.resources[r].unit for r in drivers),
        tabled=tuple(tabled),
        day=shop.day,
        currency=prices.currency,
    )


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


def _other_offers(drivers: list[str], service: str, build: Build, prices: PriceList) -> list[str]:
    """Own prices from another supplier remain valid beside the fitted ones, and the cheaper one is used."""
    own = {(p.row.resource, p.row.supplier) for p in build.tables.prices if p.file == "prices.csv"}
    return [
        f"{r} also has a price of your own from {o.supplier}: the lower one will be used"
        for r in drivers
        for o in prices.offers.get(r, ())
        if o.supplier != service and (r, o.supplier) in own
    ]


def _figures(x: float) -> float:
    """To six figures: finer than the uncertainty, coarser than rounding errors."""
    return float(f"{x:.6g}")
