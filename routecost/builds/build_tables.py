"""The tables that only a build has: parts, quotes, stock, and the log of what really happened."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from routecost.builds.settings import UNITS
from routecost.shop.schema import column


@dataclass(frozen=True, kw_only=True)
class PartRow:
    """A row of parts.csv or parts.xlsx: one line of the bill of materials."""

    part: str = column("its id, used in commands and files")
    description: str = column("what it is", default="")
    mesh: str = column("mesh file in the folder meshes/; empty for a line that is simply bought", default="")
    unit: str = column("unit of the mesh, where the file states none", choices=UNITS, default="")
    copies: int = column("how many the build needs", low=1, high=100000, default=1)
    spares: int = column("how many more to make", low=0, high=100000, default=0)
    done: int = column(
        "how many of them are made already, or bought, or ordered and paid: a plan is for the rest",
        low=0, high=200000, default=0,
    )  # fmt: skip
    clarity: str = column(
        "how clear it must be", choices=("any", "translucent", "clear", "optical"), default="any"
    )
    finish: str = column(
        "how its surface must be", choices=("as-made", "smooth", "polished"), default="as-made"
    )
    finish_share: float = column("share of the surface that clarity and finish are asked of",
                                 low=0.01, high=1, default=1.0)  # fmt: skip
    load_n: float = column("load it carries", header="load", unit="N", low=0, high=1e7, default=0.0)
    load_direction: str = column("direction of the load in the part's frame, such as z or 0 0 1", default="z")
    holds_liquid: bool = column("whether it must hold water", default=False)
    service_degc: float = column(
        "hottest it gets", header="service_temp", unit="degC", low=-80, high=400, default=25.0
    )
    tolerance_mm: float | None = column("plus or minus on its sizes", header="tolerance", unit="mm",
                                        low=0.001, high=50, default=None)  # fmt: skip
    largest_seam_mm: float | None = column("longest seam that may be seen; 0 mm: it may not be split",
                                           header="largest_seam", unit="mm", low=0, default=None)  # fmt: skip
    opaque: bool = column("whether it must hide what is behind it", default=False)
    needed_by: dt.date | None = column("the day it must be there", default=None)
    routes: str = column("route ids allowed, separated by spaces; empty: all", default="")
    up: str = column("a pose you insist on, such as z or 0 0 1; empty: each route chooses", default="")
    buy: str = column("resource to buy instead, one each a copy", default="")
    note: str = column("anything you want to remember", default="")


@dataclass(frozen=True, kw_only=True)
class QuoteRow:
    """A row of quotes.csv: a supplier's written price for a part."""

    supplier: str = column("who quoted")
    service: str = column("the sla-service it stands for, where the tables know it", default="")
    part: str = column("the part's id")
    copies: int = column("copies that the price is for; more may be had at the same price a copy", low=1)
    price: float = column("price of all these copies, tax and shipping included", low=0)
    currency: str = column("ISO 4217 code")
    finish: str = column("finish quoted", choices=("as-printed", "sanded", "clear-coated", "polished"))
    as_of: dt.date = column("day of the quote")
    valid_until: dt.date = column("the last day on which it holds")
    lead_days: float | None = column("calendar days to delivery", low=0, high=400, default=None)
    source: str = column("where it is filed", default="quote")


@dataclass(frozen=True, kw_only=True)
class StockRow:
    """A row of stock.csv: what is on the shelf."""

    resource: str = column("what it is, as declared in resources.csv")
    amount: str = column("how much is left, with its unit, such as 350 g")
    as_of: dt.date | None = column("the day it was counted", default=None)
    note: str = column("anything you want to remember", default="")


@dataclass(frozen=True, kw_only=True)
class LogRow:
    """A row of log.csv: a step of making a part that is done; what it really took, and how it came out, if known."""

    date: dt.date = column("the day it was done")
    part: str = column("the part's id")
    route: str = column("the route it was made by")
    operation: str = column("the step, named as `routecost explain` names it, or by how the name begins")
    copies: int | None = column(
        "copies it was for, those that failed included; empty: all of the part", low=1, default=None
    )
    minutes: float | None = column("hands-on time it took", unit="minute", low=0.01, default=None)
    grams: float | None = column("how much of its main material it took", unit="g", low=0.001, default=None)
    outcome: str = column(
        "how a print, a pull or a filled shell came out, in one of the rows about it: one try, or as many as "
        "copies says",
        choices=("good", "failed"),
        default="",
    )
    note: str = column("anything you want to remember", default="")
