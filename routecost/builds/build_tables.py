"""The tables that only a build has: parts, quotes, stock, and the log of work done."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from routecost.builds.settings import UNITS
from routecost.shop.schema import column


@dataclass(frozen=True, kw_only=True)
class PartRow:
    """A row of parts.csv or parts.xlsx: one line of the bill of materials."""

    part: str = column("part id, used in commands and files")
    description: str = column("short description", default="")
    mesh: str = column("mesh file in the folder meshes/; empty for a bought part", default="")
    unit: str = column("unit of the mesh, if the file states none", choices=UNITS, default="")
    copies: int = column("number of copies needed", low=1, high=100000, default=1)
    spares: int = column("additional copies to make", low=0, high=100000, default=0)
    done: int = column(
        "copies that are finished, bought or ordered; plans cover the rest",
        low=0,
        high=200000,
        default=0,
    )
    clarity: str = column(
        "required clarity", choices=("any", "translucent", "clear", "optical"), default="any"
    )
    finish: str = column(
        "required surface finish", choices=("as-made", "smooth", "polished"), default="as-made"
    )
    finish_share: float = column(
        "share of the surface that clarity and finish apply to", low=0.01, high=1, default=1.0
    )
    load_n: float = column("load on the part", header="load", unit="N", low=0, high=1e7, default=0.0)
    load_direction: str = column("direction of the load in the part's frame, such as z or 0 0 1", default="z")
    holds_liquid: bool = column("whether it must hold water", default=False)
    service_degc: float = column(
        "highest service temperature", header="service_temp", unit="degC", low=-80, high=400, default=25.0
    )
    tolerance_mm: float | None = column(
        "tolerance on dimensions, plus or minus",
        header="tolerance",
        unit="mm",
        low=0.001,
        high=50,
        default=None,
    )
    largest_seam_mm: float | None = column(
        "longest visible seam allowed; 0 mm: the part must not be split",
        header="largest_seam",
        unit="mm",
        low=0,
        default=None,
    )
    opaque: bool = column("whether it must be opaque", default=False)
    needed_by: dt.date | None = column("date by which it is needed", default=None)
    routes: str = column("allowed route ids, separated by spaces; empty: all", default="")
    up: str = column("required print orientation, such as z or 0 0 1; empty: each route chooses", default="")
    buy: str = column("resource to buy instead, one for each copy", default="")
    note: str = column("free text", default="")


@dataclass(frozen=True, kw_only=True)
class QuoteRow:
    """A row of quotes.csv: a supplier's written price for a part."""

    supplier: str = column("supplier")
    service: str = column("sla-service of the quote, if it is in the tables", default="")
    part: str = column("part id")
    copies: int = column(
        "copies that the price is for; larger orders are assumed to cost the same per copy", low=1
    )
    price: float = column("total price for these copies, including tax and shipping", low=0)
    currency: str = column("ISO 4217 code")
    finish: str = column("quoted finish", choices=("as-printed", "sanded", "clear-coated", "polished"))
    as_of: dt.date = column("date of the quote")
    valid_until: dt.date = column("last day of validity")
    lead_days: float | None = column("calendar days to delivery", low=0, high=400, default=None)
    source: str = column("where the quote is filed", default="quote")


@dataclass(frozen=True, kw_only=True)
class StockRow:
    """A row of stock.csv: what is in stock."""

    resource: str = column("resource id, as in resources.csv")
    amount: str = column("amount in stock with its unit, such as 350 g")
    as_of: dt.date | None = column("date of the count", default=None)
    note: str = column("free text", default="")


@dataclass(frozen=True, kw_only=True)
class LogRow:
    """A row of log.csv: one sitting at an operation, with its time, mass and outcome if known.

    Rows of the same part, route and operation are sittings of one job: their minutes, grams and copies add up.
    """

    date: dt.date = column("date of the work")
    part: str = column("part id")
    route: str = column("route id")
    operation: str = column("operation name as in `routecost explain`, or the beginning of it")
    copies: int | None = column(
        "copies finished in this sitting, including failed ones; 0: none yet, the operation goes on in a later row; "
        "empty: all copies of the part, in all such rows together",
        low=0,
        default=None,
    )
    minutes: float | None = column(
        "actual hands-on time of this sitting; rows of the same part, route and operation add up",
        unit="minute",
        low=0.01,
        default=None,
    )
    grams: float | None = column(
        "actual mass of its main material in this sitting; adds up like minutes",
        unit="g",
        low=0.001,
        default=None,
    )
    outcome: str = column(
        "result of a print, a casting or a filled shell, in one row for each: one attempt, or as many as copies "
        "states",
        choices=("good", "failed"),
        default="",
    )
    note: str = column(
        "free text; tells apart two sittings that are the same in all other columns", default=""
    )
