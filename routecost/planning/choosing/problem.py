"""The choice for a whole bill as arrays: usages of every option, and what options share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from routecost.buying.options import Option, Workshop
from routecost.buying.packs import cheapest_packs, payable, worth_buying
from routecost.buying.service_orders import least_order
from routecost.core.arrays import Bools, Floats
from routecost.routes.process.operation import OWN_HOUR
from routecost.shop.price_log import Offer


@dataclass(frozen=True, eq=False)
class Order:
    """The fixed cost of an order with a service, however many parts are in it."""

    service: str
    takes: dict[str, float]
    amount: float
    """Paid for the order itself, in the currency: shipping."""
    own_hours: float
    least: float
    """Minimum charge: a smaller sum of parts is topped up to it."""


@dataclass(frozen=True, eq=False)
class Problem:
    """Options as rows; what they share as columns."""

    shop: Workshop
    parts: tuple[str, ...]
    options: tuple[Option, ...]
    part_of: NDArray[np.int64]
    """(options,): row in `parts`."""
    resources: tuple[str, ...]
    """Bought in packs."""
    usages: Floats
    """(options, resources)."""
    stock: Floats
    """(resources,)."""
    offers: tuple[tuple[Offer, ...], ...]
    """(resources,): those worth buying, the largest first."""
    tools: tuple[str, ...]
    tool_prices: Floats
    needs_tool: Bools
    """(options, tools)."""
    orders: tuple[Order, ...]
    needs_order: Bools
    """(options, orders)."""
    charges: Floats
    """(options, orders): what counts towards the order's least price."""
    as_used: Floats
    """(options,): paid as used, charges left out."""
    wear: Floats
    own_hours: Floats
    printer_hours: Floats
    lead_days: Floats
    booked_hours: Floats
    """(options,): scheduled own hours after the first deliveries."""

    @classmethod
    def of(cls, parts: Sequence[str], options: Sequence[Option], shop: Workshop) -> Problem:
        """Raises InputError for a tool or an order without a price."""
        tariff = shop.tariff
        row = {part: i for i, part in enumerate(parts)}
        resources = tuple(sorted({r for o in options for r in o.packed}))
        tools = tuple(
            t for t in sorted({t for o in options for t in o.tools}) if shop.stock.get(t, 0.0) < 1.0
        )
        services = tuple(sorted({s for o in options for s in (*o.orders, *o.charges)}))
        column = {name: i for names in (resources, tools, services) for i, name in enumerate(names)}
        usages = np.zeros((len(options), len(resources)))
        needs_tool = np.zeros((len(options), len(tools)), dtype=bool)
        needs_order = np.zeros((len(options), len(services)), dtype=bool)
        charges = np.zeros((len(options), len(services)))
        for i, o in enumerate(options):
            for resource, quantity in o.packed.items():
                usages[i, column[resource]] = quantity
            for tool in o.tools:
                if tool in column:
                    needs_tool[i, column[tool]] = True
            for service in (*o.orders, *o.charges):
                needs_order[i, column[service]] = True
            for service, amount in o.charges.items():
                charges[i, column[service]] = amount
        return cls(
            shop=shop,
            parts=tuple(parts),
            options=tuple(options),
            part_of=np.array([row[o.part] for o in options], dtype=np.int64),
            resources=resources,
            usages=usages,
            stock=np.array([shop.stock.get(r, 0.0) for r in resources]),
            offers=tuple(
                tuple(worth_buying(payable(tariff.prices.offers[r], tariff.currency))) for r in resources
            ),
            tools=tools,
            tool_prices=np.array([_once(t, shop) for t in tools]),
            needs_tool=needs_tool,
            orders=tuple(_order(service, options, shop) for service in services),
            needs_order=needs_order,
            charges=charges,
            as_used=np.array([o.as_used for o in options]),
            wear=np.array([o.wear for o in options]),
            own_hours=np.array([o.own_hours for o in options]),
            printer_hours=np.array([o.printer_hours for o in options]),
            lead_days=np.array([o.lead_days for o in options]),
            booked_hours=np.array([o.booked_hours for o in options]),
        )

    def only(self, keep: Bools) -> Problem:
        """The same bill with some of its options."""
        rows = np.flatnonzero(keep)
        return replace(
            self,
            options=tuple(self.options[i] for i in rows.tolist()),
            part_of=self.part_of[rows],
            usages=self.usages[rows],
            needs_tool=self.needs_tool[rows],
            needs_order=self.needs_order[rows],
            charges=self.charges[rows],
            as_used=self.as_used[rows],
            wear=self.wear[rows],
            own_hours=self.own_hours[rows],
            printer_hours=self.printer_hours[rows],
            lead_days=self.lead_days[rows],
            booked_hours=self.booked_hours[rows],
        )

    @property
    def without_option(self) -> tuple[str, ...]:
        """Parts without an option."""
        there = set(self.part_of.tolist())
        return tuple(part for i, part in enumerate(self.parts) if i not in there)

    def least_usages(self) -> Floats:
        """(parts, resources): the least usage of a part over its options."""
        return self._by_part(np.minimum, np.inf)

    def most_usages(self) -> Floats:
        """(parts, resources): the largest usage of a part over its options."""
        return self._by_part(np.maximum, 0.0)

    def _by_part(self, ufunc: np.ufunc, start: float) -> Floats:
        found = np.full((len(self.parts), len(self.resources)), start)
        ufunc.at(found, self.part_of, self.usages)
        return found

    def pack_cost(self, resource: int, need: float) -> float:
        """The least cost of packs for a need beyond the stock."""
        short = need - self.stock[resource]
        return sum(b.amount for b in cheapest_packs(float(short), self.offers[resource]))


def _once(tool: str, shop: Workshop) -> float:
    shop.tariff.prices.offer(tool)
    offers = payable(shop.tariff.prices.offers[tool], shop.tariff.currency)
    return sum(b.amount for b in cheapest_packs(1.0 - shop.stock.get(tool, 0.0), offers))


def _order(service: str, options: Sequence[Option], shop: Workshop) -> Order:
    tariff = shop.tariff
    takes: dict[str, float] = {}
    for o in options:
        for resource, quantity in o.orders.get(service, {}).items():
            takes[resource] = max(quantity, takes.get(resource, 0.0))
    least = least_order(service)
    return Order(
        service=service,
        takes=takes,
        amount=sum(q * tariff.unit_price(r) for r, q in takes.items() if r != OWN_HOUR),
        own_hours=takes.get(OWN_HOUR, 0.0),
        least=tariff.unit_price(least) if tariff.prices.offers.get(least) else 0.0,
    )
