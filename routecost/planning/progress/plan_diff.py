"""Changes since a plan was saved: prices, rates, meshes, copies, stock."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from routecost.builds.build import Build
from routecost.buying.packs import payable
from routecost.costing.ranking import RankedPart
from routecost.costing.tariff import Tariff
from routecost.planning.progress.saved_plan import SavedPlan
from routecost.shop.shop import Shop

_SAME = 1e-9
"""Relative tolerance of numbers that were written and read again."""


@dataclass(frozen=True)
class PlanChange:
    """One change."""

    kind: Literal["price", "rate", "mesh", "copies", "part", "shelf"]
    name: str
    then: float
    now: float
    text: str

    @property
    def share(self) -> float:
        """The relative change."""
        return abs(self.now - self.then) / abs(self.then) if self.then else float("inf")


def plan_diff(
    saved: SavedPlan, build: Build, tariff: Tariff, shop: Shop, ranked: Sequence[RankedPart]
) -> tuple[PlanChange, ...]:
    """All changes of what the saved plan is based on, by kind, the largest first."""
    found = [
        *_prices(saved, tariff),
        *_rates(saved, shop),
        *_parts(saved, build, ranked),
        *_shelf(saved, build),
    ]
    kinds = ("part", "copies", "mesh", "price", "rate", "shelf")
    return tuple(sorted(found, key=lambda m: (kinds.index(m.kind), -m.share, m.name)))


def _differs(a: float, b: float) -> bool:
    return abs(a - b) > _SAME * max(abs(a), abs(b))


def _prices(saved: SavedPlan, tariff: Tariff) -> Iterator[PlanChange]:
    """Each offer that the plan buys from against the same supplier's price of the same pack now."""
    for then in saved.prices:
        offers = tariff.prices.offers.get(then.resource, ())
        priced = payable(offers, tariff.currency) if then.packs else offers
        same = (
            o
            for o in priced
            if o.supplier == then.supplier and not _differs(o.pack_quantity, then.pack_quantity)
        )
        now = next(same, None)
        was = f"{then.resource}: {then.pack} from {then.supplier} for {then.pack_price:.6g} ({then.as_of})"
        if now is not None:
            if _differs(then.pack_price, now.pack_price):
                change = now.pack_price / then.pack_price - 1.0 if then.pack_price else 0.0
                text = f"{was}, now {now.pack_price:.6g} ({now.as_of}), {change:+.0%}"
                yield PlanChange("price", then.resource, then.pack_price, now.pack_price, text)
        elif offers:
            unit_price = then.pack_price / then.pack_quantity
            text = (
                f"{was} is no longer offered: {unit_price:.4g} per {then.unit}, now at least "
                f"{offers[0].unit_price:.4g} from {offers[0].supplier} ({offers[0].as_of})"
            )
            yield PlanChange("price", then.resource, unit_price, offers[0].unit_price, text)
        else:
            yield PlanChange("price", then.resource, then.pack_price, 0.0, f"{was} has no price any more")


def _rates(saved: SavedPlan, shop: Shop) -> Iterator[PlanChange]:
    for ref, then in saved.facts:
        fact = shop.facts.get(ref)
        if fact is None or isinstance(fact.value, (str, bool)):
            continue
        now = float(fact.value)
        if _differs(then, now):
            yield PlanChange("rate", ref, then, now, f"{ref}: {then:.4g}, now {now:.4g} {fact.unit}".rstrip())


def _parts(saved: SavedPlan, build: Build, ranked: Sequence[RankedPart]) -> Iterator[PlanChange]:
    then = {choice.part: choice for choice in saved.choices}
    left = {one.part.id: one.part for one in ranked}
    listed = {read.part.id: read.part for read in build.read_parts}
    for new in listed.keys() - then.keys() - set(saved.request.without):
        if new in left and not listed[new].done:
            yield PlanChange("part", new, 0.0, left[new].copies, f"{new} is new, {left[new].copies} x")
    for name, choice in then.items():
        if name not in listed:
            yield PlanChange("part", name, choice.copies, 0.0, f"{name} is not in the parts table any more")
            continue
        part = listed[name]
        shape = part.shape
        mesh = shape.mesh.content_hash if shape is not None else ""
        if mesh != choice.mesh:
            volume = shape.solid.volume_mm3 if shape is not None else 0.0
            volumes = f"{choice.volume_mm3 / 1e3:.2f} cm³ then, {volume / 1e3:.2f} cm³ now"
            text = f"{name}: the mesh is another one, {volumes}"
            yield PlanChange("mesh", name, choice.volume_mm3, volume, text)
        copies = part.copies - part.done
        if copies != choice.copies:
            done = f", {part.done} done" if part.done else ""
            text = f"{name}: {choice.copies} copies to make then, {copies} now ({part.copies} wanted{done})"
            yield PlanChange("copies", name, choice.copies, copies, text)


def _shelf(saved: SavedPlan, build: Build) -> Iterator[PlanChange]:
    then, units = dict(saved.stock), build.tables.resource_map
    for name in sorted(then.keys() | build.stock.keys()):
        was, now = then.get(name, 0.0), build.stock.get(name, 0.0)
        if _differs(was, now):
            unit = units[name].unit if name in units else ""
            text = f"{name} on the shelf: {was:.4g} {unit} then, {now:.4g} {unit} now"
            yield PlanChange("shelf", name, was, now, text)
