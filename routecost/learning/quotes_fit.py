"""A service's price law from its quotes: the fit without suspect quotes, and rows for the price log."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np

from routecost.bill.rank_bill import Progress, as_build
from routecost.builds.build import Build
from routecost.builds.table_appending import append_rows
from routecost.core.arrays import Floats
from routecost.core.errors import InputError
from routecost.learning.price_law_fit import LawFit, fit_law, rms
from routecost.learning.quoted_lines import (
    QuotedLine,
    Unused,
    amounts_of,
    drivers_of,
    paid_for,
    quoted_lines,
    quotes_of,
)
from routecost.learning.suspect_quotes import SuspectQuote, suspect_quotes
from routecost.shop.price_log import PriceList, PriceRow
from routecost.shop.services import SlaService
from routecost.shop.shop import Shop

LEAST_QUOTES = 5
"""A law has up to five coefficients; fewer quotes do not determine it."""


@dataclass(frozen=True, eq=False)
class ServiceFit:
    """The fitted law of one service."""

    service: str
    lines: tuple[QuotedLine, ...]
    """That the law is fitted to."""
    unused: tuple[Unused, ...]
    suspects: tuple[SuspectQuote, ...]
    """Left out as well, because they contradict the law of all others."""
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
        amounts = amounts_of(self.lines, [c.driver for c in self.law.coefficients])
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
    counts = {name: len(list(quotes_of(build, name, day))) for name in known}
    wanted = [name for name in known if counts[name] >= LEAST_QUOTES and service in (None, name)]
    if not wanted:
        counted = ", ".join(f"{counts[name]} for {name}" for name in known if service in (None, name))
        what = f"quotes up to {day}: {counted}; a price law needs {LEAST_QUOTES}"
        mend = "add quotes for parts of different size and shape, with the service in the column service"
        raise InputError.of("quotes.csv", "", what, mend)
    return tuple(_fit_service(build, name, shop, prices, progress) for name in wanted)


def write_laws(build: Build, found: Iterable[ServiceFit], *, force: bool = False) -> tuple[Path, ...]:
    """Append fitted laws to the build's prices.csv, all of them or nothing.

    Raises InputError, also for suspect quotes unless `force`; the law is then that of all other quotes.
    """
    found = tuple(found)
    suspects = [suspect.fault for one in found for suspect in one.suspects]
    if suspects and not force:
        raise InputError(suspects)
    rows = [row for one in found for row in one.rows]
    return append_rows(build.folder, build.settings.currency, {"prices.csv": rows})


def _fit_service(
    build: Build, service: str, shop: Shop, prices: PriceList, progress: Progress | None
) -> ServiceFit:
    lines, unused, notes = quoted_lines(build, service, shop, prices, progress)
    if len(lines) < LEAST_QUOTES:
        because = "".join(f"; {u.quote}: {u.why}" for u in unused)
        what = (
            f"only {len(lines)} quotes for {service} can be used, a price law needs {LEAST_QUOTES}{because}"
        )
        raise InputError.of("quotes.csv", "", what, "add quotes for parts of different size and shape")
    suspects = suspect_quotes(lines, prices)
    rows = {suspect.row for suspect in suspects}
    lines = [line for line in lines if line.row not in rows]
    drivers, tabled = drivers_of(lines, prices)
    found = fit_law(drivers, amounts_of(lines, drivers), paid_for(lines), np.array(tabled))
    notes += _other_offers(drivers, service, build, prices)
    return ServiceFit(
        service=service,
        lines=tuple(lines),
        unused=tuple(unused),
        suspects=suspects,
        notes=tuple(dict.fromkeys(notes)),
        law=found,
        units=tuple(shop.resources[r].unit for r in drivers),
        tabled=tuple(tabled),
        day=shop.day,
        currency=prices.currency,
    )


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
