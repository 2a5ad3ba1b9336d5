"""The dated price log, and what a resource costs on a day. Nothing in a log is ever overwritten."""

from __future__ import annotations

import datetime as dt
import difflib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from routecost.core.errors import Fault, InputError
from routecost.core.units import UnitError, read_quantity
from routecost.shop.resources import Resource
from routecost.shop.schema import column
from routecost.shop.table_reader import Placed


@dataclass(frozen=True, kw_only=True)
class PriceRow:
    """A row of prices.csv: what a pack cost at a supplier from a day on."""

    resource: str = column("what is priced, as declared in resources.csv")
    pack: str = column("amount and unit in the pack, such as 1 kg, 32 fl oz, 100 each")
    price: float = column("price of the pack, tax included", low=0)
    currency: str = column("ISO 4217 code")
    low: float | None = column("a low price that would not surprise", low=0, default=None)
    high: float | None = column("a high price that would not surprise", low=0, default=None)
    as_of: dt.date = column("the day from which the price holds")
    expires: dt.date | None = column("the last day on which it holds", default=None)
    supplier: str = column("who sells it")
    source: str = column("where the price was seen")


@dataclass(frozen=True)
class ExchangeRow:
    """A row of exchange.csv: what one unit of a currency was worth in another from a day on."""

    currency: str = column("ISO 4217 code")
    worth: float = column("one unit of it in the other currency", low=1e-9)
    in_currency: str = column("ISO 4217 code of the other")
    as_of: dt.date = column("the day from which the rate holds")
    source: str = column("where the rate was seen")


@dataclass(frozen=True)
class Offer:
    """One supplier's pack, in the resource's unit and the build's currency."""

    resource: str
    supplier: str
    pack: str
    pack_quantity: float
    pack_price: float
    low: float
    high: float
    as_of: dt.date
    source: str
    place: str

    @property
    def unit_price(self) -> float:
        return self.pack_price / self.pack_quantity


@dataclass(frozen=True)
class PriceList:
    """All offers on one day, in one currency."""

    day: dt.date
    currency: str
    offers: Mapping[str, tuple[Offer, ...]]
    """By resource, the cheapest per unit first."""

    def offer(self, resource: str) -> Offer:
        """The cheapest offer per unit. Raises InputError where there is none."""
        found = self.offers.get(resource)
        if not found:
            raise InputError([self.missing(resource)])
        return found[0]

    def unit_price(self, resource: str) -> float:
        return self.offer(resource).unit_price

    def missing(self, resource: str) -> Fault:
        what = f"{resource!r} has no price on {self.day}"
        return Fault("prices.csv", f"resource {resource}", what, "add a row that holds on that day")


def price_list(
    rows: Iterable[Placed[PriceRow]],
    exchange: Iterable[Placed[ExchangeRow]],
    resources: Mapping[str, Resource],
    day: dt.date,
    currency: str,
    faults: list[Fault],
) -> PriceList:
    """Offers on a day: of each supplier and pack the newest row that is not after it and not expired.

    Every row is checked, also those of other days; faults are added, not raised.
    """
    rates = _rates(exchange, day, faults)
    # the last day of all stands for "whenever"
    when = f" on {day}" if day < dt.date.max else ""
    newest: dict[tuple[str, str, float], tuple[PriceRow, Offer]] = {}
    seen: dict[tuple[str, str, str, float, dt.date], int] = {}
    for placed in rows:
        row = placed.row
        quantity = _pack_quantity(placed, resources, faults)
        bounds = (
            row.low if row.low is not None else row.price,
            row.high if row.high is not None else row.price,
        )
        if not bounds[0] <= row.price <= bounds[1]:
            faults.append(
                placed.fault("price", "price is not between low and high", "order them low, price, high")
            )
        if row.expires is not None and row.expires < row.as_of:
            faults.append(placed.fault("expires", f"{row.expires} is before as_of", "write a later day"))
        rate = rates.get(
            (row.currency.upper(), currency.upper()), 1.0 if row.currency.upper() == currency else None
        )
        if rate is None:
            mend = f"add a row to exchange.csv that gives {row.currency} in {currency}"
            faults.append(
                placed.fault("currency", f"no exchange rate from {row.currency} to {currency}{when}", mend)
            )
        if quantity is None or rate is None:
            continue
        twin = (placed.file, row.resource, row.supplier, quantity, row.as_of)
        if twin in seen:
            what = f"the same resource, supplier, pack and day stand in row {seen[twin]}"
            faults.append(placed.fault("", what, "keep one of the two"))
        seen[twin] = placed.number
        if row.as_of > day or (row.expires is not None and row.expires < day):
            continue
        key = (row.resource, row.supplier, quantity)
        if key in newest and newest[key][0].as_of >= row.as_of:
            continue
        offer = Offer(
            resource=row.resource,
            supplier=row.supplier,
            pack=row.pack,
            pack_quantity=quantity,
            pack_price=row.price * rate,
            low=bounds[0] * rate / quantity,
            high=bounds[1] * rate / quantity,
            as_of=row.as_of,
            source=row.source,
            place=placed.place,
        )
        newest[key] = (row, offer)
    offers: dict[str, list[Offer]] = {}
    for _row, offer in newest.values():
        offers.setdefault(offer.resource, []).append(offer)
    return PriceList(
        day,
        currency,
        {
            r: tuple(sorted(found, key=lambda o: (o.unit_price, o.supplier, o.pack)))
            for r, found in offers.items()
        },
    )


def _pack_quantity(
    placed: Placed[PriceRow], resources: Mapping[str, Resource], faults: list[Fault]
) -> float | None:
    row = placed.row
    resource = resources.get(row.resource)
    if resource is None:
        close = difflib.get_close_matches(row.resource, resources, 1)
        mend = f"did you mean {close[0]}?" if close else "declare it in resources.csv with its unit"
        faults.append(placed.fault("resource", f"unknown resource {row.resource!r}", mend))
        return None
    try:
        quantity = read_quantity(row.pack, resource.unit, resource.density_g_ml)
    except UnitError as error:
        faults.append(placed.fault("pack", error.what, error.mend))
        return None
    if not quantity > 0:
        faults.append(placed.fault("pack", f"{row.pack!r} holds nothing", "write how much is in the pack"))
        return None
    return quantity


def _rates(
    exchange: Iterable[Placed[ExchangeRow]], day: dt.date, faults: list[Fault]
) -> dict[tuple[str, str], float]:
    newest: dict[tuple[str, str], ExchangeRow] = {}
    for placed in exchange:
        row = placed.row
        key = (row.currency.upper(), row.in_currency.upper())
        if key[0] == key[1]:
            faults.append(placed.fault("in_currency", "both currencies are the same", "name the other one"))
        if row.as_of <= day and (key not in newest or newest[key].as_of < row.as_of):
            newest[key] = row
    rates = {key: row.worth for key, row in newest.items()}
    for (a, b), worth in list(rates.items()):
        rates.setdefault((b, a), 1.0 / worth)
    return rates
