"""Prices as a vector, and the views: which of them count."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from routecost.core.arrays import Floats
from routecost.core.errors import InputError
from routecost.costing.views import View
from routecost.routes.process.operation import OWN_HOUR
from routecost.shop.price_log import PriceList
from routecost.shop.resources import Kind, Resource


@dataclass(frozen=True, eq=False)
class Tariff:
    """What every resource costs on one day, the maker's own hour included."""

    prices: PriceList
    resources: Mapping[str, Resource]
    own_rate: float
    """Currency an own hour."""
    owned: frozenset[str] = frozenset()
    """Tools that stand in the shop: their wear is full cost, but no spending any more."""

    @property
    def currency(self) -> str:
        return self.prices.currency

    def unit_price(self, resource: str) -> float:
        return self.own_rate if resource == OWN_HOUR else self.prices.unit_price(resource)

    def kind(self, resource: str) -> Kind:
        return "own-time" if resource == OWN_HOUR else self.resources[resource].kind  # type: ignore[return-value]

    def unit(self, resource: str) -> str:
        return "hour" if resource == OWN_HOUR else self.resources[resource].unit

    def counts(self, resource: str, view: View) -> bool:
        """Whether a resource's amount belongs to a view."""
        if view == "full":
            return True
        if view == "own-time":
            return resource == OWN_HOUR
        return resource != OWN_HOUR and not (self.kind(resource) == "tool" and resource in self.owned)

    def vector(self, resources: Sequence[str], view: View = "full") -> Floats:
        """Prices in the order of a matrix's resources, zero where the view leaves one out.

        Raises InputError naming every resource without a price on the day.
        """
        priced = [r for r in resources if r != OWN_HOUR]
        missing = [self.prices.missing(r) for r in priced if not self.prices.offers.get(r)]
        if missing:
            raise InputError(missing)
        return np.array([self.unit_price(r) if self.counts(r, view) else 0.0 for r in resources])

    def with_rate(self, own_rate: float) -> Tariff:
        return replace(self, own_rate=own_rate)
