"""Quotes that are valid on a day: each becomes a priced resource of its own, and a note on its part."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from routecost.builds.build_tables import QuoteRow
from routecost.core.errors import Fault
from routecost.routes.process.part import Quote
from routecost.shop.price_log import PriceRow
from routecost.shop.resources import Resource
from routecost.shop.table_reader import Placed


@dataclass(frozen=True)
class ReadQuotes:
    """What quotes.csv adds: resources, rows of the price log, and quotes by part."""

    resources: tuple[Placed[Resource], ...]
    prices: tuple[Placed[PriceRow], ...]
    by_part: dict[str, tuple[tuple[Quote, dt.date, dt.date], ...]]
    """Each with its first and last day."""

    def on(self, part: str, day: dt.date, copies: int) -> tuple[Quote, ...]:
        """Quotes for a part that are valid on a day for so many copies: of each supplier and finish the one for
        most copies, since a price for fewer also applies to more, but not the other way round."""
        best: dict[tuple[str, str], Quote] = {}
        for quote, first, last in self.by_part.get(part, ()):
            if first <= day <= last and quote.copies <= copies:
                key = (quote.supplier, quote.finish)
                if key not in best or best[key].copies < quote.copies:
                    best[key] = quote
        return tuple(best.values())


def read_quotes(
    rows: Iterable[Placed[QuoteRow]], parts: set[str], services: set[str], faults: list[Fault]
) -> ReadQuotes:
    """Quotes as resources with prices; faults are added to `faults`."""
    resources, prices = [], []
    by_part: dict[str, list[tuple[Quote, dt.date, dt.date]]] = {}
    for placed in rows:
        row = placed.row
        if row.part not in parts:
            faults.append(placed.fault("part", f"unknown part {row.part!r}", "use a part of the parts table"))
        if row.service and row.service not in services:
            mend = "the services are " + ", ".join(sorted(services)) + "; or leave it empty"
            faults.append(placed.fault("service", f"unknown service {row.service!r}", mend))
        if row.valid_until < row.as_of:
            faults.append(
                placed.fault("valid_until", f"{row.valid_until} is before as_of", "enter a later date")
            )
            continue
        resource = f"quote {row.supplier}: {row.part} {row.finish} x{row.copies}"
        described = f"one of {row.copies} copies of {row.part}, {row.finish}, quoted by {row.supplier}"
        resources.append(
            Placed(
                Resource(resource=resource, description=described, unit="each", kind="service"),
                placed.file,
                placed.number,
            )
        )
        price = PriceRow(
            resource=resource,
            pack=f"{row.copies} each",
            price=row.price,
            currency=row.currency,
            as_of=row.as_of,
            expires=row.valid_until,
            supplier=row.supplier,
            source=row.source,
        )
        prices.append(Placed(price, placed.file, placed.number))
        quote = Quote(row.supplier, row.service, row.finish, row.copies, resource, row.lead_days)
        by_part.setdefault(row.part, []).append((quote, row.as_of, row.valid_until))
    unique = {placed.row.resource: placed for placed in resources}
    return ReadQuotes(tuple(unique.values()), tuple(prices), {k: tuple(v) for k, v in by_part.items()})
