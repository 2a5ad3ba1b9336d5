"""What a buy list says, in words."""

from __future__ import annotations

from routecost.buying.buy_list import from_stock
from routecost.buying.totals import Totals
from routecost.reports.wording.formats import quantity


def stock_text(totals: Totals) -> str:
    """What the plan takes from stock; empty where that is nothing."""
    return ", ".join(f"{quantity(s.quantity)} {s.unit} {s.resource}" for s in from_stock(totals))
