"""What a buy list says, in words."""

from __future__ import annotations

from routecost.buying.buy_list import Item, from_stock
from routecost.buying.totals import Totals
from routecost.reports.wording.formats import quantity
from routecost.scheduling.order_days import Order


def stock_text(totals: Totals) -> str:
    """What the plan takes from stock; empty where that is nothing."""
    return ", ".join(f"{quantity(s.quantity)} {s.unit} {s.resource}" for s in from_stock(totals))


def order_text(order: Order) -> str:
    """An order in a few words."""
    n = len(order.items)
    return f"order: {n} item{'s' if n > 1 else ''} from {order.supplier or 'no supplier named'}"


def amount_text(item: Item) -> str:
    """How much of it is bought."""
    return f"{item.packs} x {item.pack}" if item.packs else f"{quantity(item.quantity)} {item.unit}"


def item_text(item: Item) -> str:
    """What to write into an order."""
    return f"{amount_text(item)} {item.resource}"
