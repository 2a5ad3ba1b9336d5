"""Plans as a matrix over terms: a resource together with the facts that scale its quantity.

A draw's quantity is a product in the facts that it names: q = q0 · Π (f / f0)^e with e = 1, or -1 for
lives and yields. So a sampled world is again one vector, price · Π factors for each term, and all plans in
all sampled worlds are one matrix product, floors included. Because a row of a table is one input however
many parts draw on it, everything that rests on it moves together.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from routecost.core.arrays import Floats
from routecost.costing.quantities import Quantities
from routecost.costing.tariff import Tariff
from routecost.costing.uncertainty.spread import Spread
from routecost.costing.views import View
from routecost.routes.process.operation import OWN_HOUR, ProcessPlan, Usage
from routecost.shop.shop import Shop

Key = tuple[str, tuple[str, ...]]
"""A resource, and the facts that its quantity is a product of."""


@dataclass(frozen=True, eq=False)
class Terms:
    """The matrix, and the inputs that its columns move with."""

    quantities: Quantities
    """Its `resources` are names of terms."""
    keys: tuple[Key, ...]
    """(terms,)."""
    inputs: tuple[str, ...]
    """Uncertain inputs: `price of RESOURCE`, or a fact `thing.property`."""
    spreads: tuple[Spread, ...]
    powers: Floats
    """(terms, inputs): exponent of each input in each term."""
    likely: Floats
    """(inputs,)."""
    base: Floats
    """(terms,): unit price of the term's resource."""

    @classmethod
    def of(cls, plans: Sequence[ProcessPlan], tariff: Tariff, shop: Shop) -> Terms:
        """The terms of some plans, with every input that the tables give a spread for."""
        keys: dict[str, Key] = {}
        q = Quantities.of([_by_terms(plan, keys) for plan in plans])
        ordered = tuple(keys[name] for name in q.resources)
        spreads = _spreads(ordered, tariff, shop)
        index = {name: i for i, name in enumerate(spreads)}
        powers = np.zeros((len(ordered), len(index)))
        for row, (resource, facts) in enumerate(ordered):
            for name in (f"price of {resource}", *facts):
                if name in index:
                    powers[row, index[name]] += shop.facts[name].power if name in shop.facts else 1.0
        return cls(
            quantities=q,
            keys=ordered,
            inputs=tuple(index),
            spreads=tuple(spreads.values()),
            powers=powers,
            likely=np.array([s.likely for s in spreads.values()]),
            base=np.array([tariff.unit_price(resource) for resource, _facts in ordered]),
        )

    def prices(self, values: Floats, tariff: Tariff, view: View = "full") -> Floats:
        """What each term costs a unit in sampled worlds: (terms, n) for values (inputs, n) of the inputs."""
        counts = np.array([tariff.counts(resource, view) for resource, _facts in self.keys])
        logs = self.powers @ np.log(values / self.likely[:, None])
        return np.asarray(np.where(counts, self.base, 0.0)[:, None] * np.exp(logs))

    def own_hours(self, values: Floats) -> Floats:
        """Own hours of each plan in sampled worlds, (plans, n)."""
        logs = self.powers @ np.log(values / self.likely[:, None])
        hours = np.array([resource == OWN_HOUR for resource, _facts in self.keys])
        # the rate itself is no part of the hours
        return self.quantities.matrix @ np.where(hours[:, None], np.exp(logs), 0.0)


def _by_terms(plan: ProcessPlan, keys: dict[str, Key]) -> ProcessPlan:
    """The plan with each draw's resource renamed to its term."""
    from dataclasses import replace

    def term(usage: Usage) -> Usage:
        facts = tuple(sorted(usage.facts))
        name = " | ".join((usage.resource, *facts))
        keys.setdefault(name, (usage.resource, facts))
        return replace(usage, resource=name)

    return replace(
        plan,
        operations=tuple(
            replace(
                op,
                usages=tuple(term(d) for d in op.usages),
                floor=term(op.floor) if op.floor is not None else None,
            )
            for op in plan.operations
        ),
    )


def _spreads(keys: Sequence[Key], tariff: Tariff, shop: Shop) -> Mapping[str, Spread]:
    """Inputs that move something and whose table row gives a low or a high: prices first, then facts."""
    found: dict[str, Spread] = {}
    for resource in dict.fromkeys(resource for resource, _facts in keys):
        if resource != OWN_HOUR:
            offer = tariff.prices.offer(resource)
            if offer.low < offer.high and offer.low > 0.0:
                found[f"price of {resource}"] = Spread(offer.low, offer.unit_price, offer.high)
    for ref in dict.fromkeys(ref for _resource, facts in keys for ref in facts):
        fact = shop.facts.get(ref)
        if fact is None or not isinstance(fact.value, float) or fact.low is None or fact.high is None:
            continue
        # a product needs inputs above zero; what can be nothing is taken as fixed
        if fact.power and 0.0 < fact.low < fact.high:
            found[ref] = Spread(fact.low, fact.value, fact.high)
    return found
