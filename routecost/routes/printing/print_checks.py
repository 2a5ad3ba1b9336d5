"""Checks and finishes that everything printed in house shares: a part, a shell, a master for a mold."""

from __future__ import annotations

from routecost.routes.process.operation import Reason
from routecost.routes.process.part import Part
from routecost.routes.steps.surface_finish import FinishPlan, finish_options, target_rq_um
from routecost.shop.machines import Printer
from routecost.shop.materials import Coating
from routecost.shop.shop import Shop


def thin_reason(part: Part, printer: Printer) -> Reason | None:
    """Walls against the width of a line."""
    assert part.shape is not None
    thinnest, line = part.shape.walls.thinnest_mm, printer.line_mm
    if thinnest < line:
        text = f"walls of {thinnest:.2g} mm are thinner than a line of {line:g} mm: thicken to {line:g} mm"
        return Reason("changes", text)
    if thinnest < 2.0 * line:
        weak = f"walls of {thinnest:.2g} mm have room for one line of {line:g} mm"
        if part.demands.holds_liquid:
            return Reason("changes", f"{weak} and weep: thicken to {2.0 * line:g} mm")
        return Reason("suits", f"{weak}; two lines would be stiffer")
    return None


def void_reason(part: Part) -> Reason | None:
    """Closed voids print as they are, but nothing comes out of them any more."""
    assert part.shape is not None
    solid_ = part.shape.solid
    if not solid_.closed_voids:
        return None
    cm3 = solid_.closed_void_volume_mm3 / 1000.0
    text = f"{solid_.closed_voids} closed voids of {cm3:.2g} cm³: supports inside them stay for good"
    return Reason("suits", text)


def owned_reason(shop: Shop, printer: Printer) -> Reason | None:
    """A printer that the shop, whose machines are named, does not have."""
    if not shop.owned or printer.id in shop.owned:
        return None
    return Reason("changes", f"needs a {printer.id}, which is not in the shop")


def finishes_of_print(part: Part, shop: Shop, printer: Printer) -> tuple[FinishPlan, ...]:
    """Ways to finish the outside of a print as the part asks."""
    assert part.shape is not None
    d = part.demands
    target = target_rq_um(d, shop)
    if target is None:  # how much is out of reach need not be measured
        return (FinishPlan("no finishing", (), printer.surface_rq_um),)
    return finish_options(
        shop,
        area_mm2=part.shape.solid.area_mm2,
        reach=part.shape.reach(),
        start_rq_um=printer.surface_rq_um,
        target_rq_um=target,
        copies=part.copies,
        opaque=d.opaque or d.clarity == "any",
        clear=d.clarity in ("clear", "optical"),
        share=d.finish_share,
    )


def is_primed(finish: FinishPlan, shop: Shop) -> bool:
    """Whether filler primer hides the surface."""
    primers = {coating.id for coating in shop.all(Coating) if coating.purpose == "primer"}
    return any(usage.resource in primers for op in finish.operations for usage in op.usages)
