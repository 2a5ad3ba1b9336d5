"""Prices in use that are so old that they should be checked."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from routecost.builds.build import Build
from routecost.core.errors import Fault
from routecost.shop.price_log import Offer

_NAMED = 4
"""How many are named in one line."""


@dataclass(frozen=True)
class StaleOffer:
    """An offer that counts on a day, and how old it is then."""

    offer: Offer
    age_days: int
    limit_days: int

    @property
    def note(self) -> Fault:
        o = self.offer
        what = f"the price of {o.resource} ({o.supplier}, {o.pack}) is {self.age_days} days old"
        return Fault(o.place, "", what, "check it and add the current one with `routecost price`")


def stale_offers(build: Build, day: dt.date | None, drawn: Iterable[str]) -> tuple[StaleOffer, ...]:
    """Of the resources `drawn` by a bill, those whose price on the day is older than the build's `stale_days`, the
    oldest first. The price is the one that counts: the cheapest offer's. Resources without a price are left out.
    """
    on = day or build.day
    offers = build.tariff(on).prices.offers
    limit = build.settings.stale_days
    found = [
        StaleOffer(offers[r][0], (on - offers[r][0].as_of).days, limit)
        for r in dict.fromkeys(drawn)
        if offers.get(r)
    ]
    old = [s for s in found if s.age_days > limit]
    return tuple(sorted(old, key=lambda s: (-s.age_days, s.offer.resource)))


def stale_summary(found: Sequence[StaleOffer]) -> str:
    """All of them in one line; empty where there are none."""
    if not found:
        return ""
    named = ", ".join(f"{s.offer.resource} ({s.age_days} days)" for s in found[:_NAMED])
    more = f" and {len(found) - _NAMED} more" if len(found) > _NAMED else ""
    return f"prices older than {found[0].limit_days} days: {named}{more}; check them"
