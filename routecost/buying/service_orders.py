"""Orders from services, shared by all parts that go into them.

A route prices one part at a time, so it draws 1/n of what a usual order of n parts takes: its shipping and
the time to prepare it. For the whole bill this share is known exactly: an order is placed once or not at all.
A share is a draw that rests on the fact `SERVICE.parts_per_order`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from routecost.routes.process.operation import ProcessPlan, Usage

_SHARE = ".parts_per_order"
_LEAST_ORDER, _SHIPPING = " minimum-order", " shipping-"


@dataclass(frozen=True, eq=False)
class Sharing:
    """A plan apart from its shares of orders."""

    plan: ProcessPlan
    """What the part takes by itself."""
    orders: Mapping[str, Mapping[str, float]]
    """By service that is ordered from: how much a whole order takes of which resource."""


def without_shares(plan: ProcessPlan, parts_per_order: Mapping[str, float]) -> Sharing:
    """Take the shares of orders out of a plan.

    The least price of an order, where a plan has it as a floor because a usual order holds one part, is left
    to the order; the least price of the part stands in for it.

    >>> from routecost.routes.process.operation import Operation, Verdict
    >>> share = Usage("lab shipping-order", 0.25, "", ("lab.parts_per_order",))
    >>> usages = (share, Usage("lab volume", 3.0, ""))
    >>> plan = ProcessPlan("sla", "lid", 1, "", (Operation("order", usages),), Verdict(), 5.0)
    >>> found = without_shares(plan, {"lab": 4.0})
    >>> found.orders, [d.resource for d in found.plan.operations[0].usages]
    ({'lab': {'lab shipping-order': 1.0}}, ['lab volume'])
    """
    orders: dict[str, dict[str, float]] = {}
    operations = []
    for op in plan.operations:
        kept, whole = [], dict[tuple[str, str], float]()
        for usage in op.usages:
            service = _service_of_share(usage, parts_per_order)
            if service:
                key = (service, usage.resource)
                whole[key] = whole.get(key, 0.0) + usage.quantity * parts_per_order[service]
            else:
                kept.append(usage)
                service = service_of(usage.resource, parts_per_order)
                if service:
                    orders.setdefault(service, {})
        for (service, resource), quantity in whole.items():
            # twice from the same service is still one order
            order = orders.setdefault(service, {})
            order[resource] = max(quantity, order.get(resource, 0.0))
        is_least = _is_least_order(op.floor, parts_per_order)
        if is_least or len(kept) < len(op.usages):
            op = replace(op, usages=tuple(kept), floor=op.shared_floor if is_least else op.floor)
        operations.append(op)
    return Sharing(replace(plan, operations=tuple(operations)), orders)


def service_of(resource: str, services: Mapping[str, float]) -> str:
    """The service whose price law a resource belongs to; empty where it is none's."""
    service = resource.rpartition(" ")[0]
    return service if service in services else ""


def counts_to_least(resource: str) -> bool:
    """Whether a service's charge counts towards the least price of its order: parts do, shipping does not."""
    return _SHIPPING not in resource


def least_order(service: str) -> str:
    """The resource that is the least price of an order."""
    return service + _LEAST_ORDER


def _service_of_share(usage: Usage, parts_per_order: Mapping[str, float]) -> str:
    for fact in usage.facts:
        if fact.endswith(_SHARE) and fact.removesuffix(_SHARE) in parts_per_order:
            return fact.removesuffix(_SHARE)
    return ""


def _is_least_order(floor: Usage | None, services: Mapping[str, float]) -> bool:
    return (
        floor is not None
        and floor.resource.endswith(_LEAST_ORDER)
        and bool(service_of(floor.resource, services))
    )
