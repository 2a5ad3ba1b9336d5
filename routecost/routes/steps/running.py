"""What running a machine, wearing gloves and mixing a batch draw: the small amounts every route shares."""

from __future__ import annotations

from routecost.routes.process.operation import Usage
from routecost.shop.machines import Printer, Vessel
from routecost.shop.shop import Shop
from routecost.shop.standards import SafetyStandards


def printer_usages(printer: Printer, hours: float, why: str) -> tuple[Usage, ...]:
    """An hour of a printer is its wear, its electricity and its upkeep.

    Wear is the share of the purchase that the hours use up: hours / life x (1 - resale share).
    """
    wear = hours / printer.life_h * (1.0 - printer.resale_share)
    kwh = hours * printer.power_w / 1000.0
    h = f"{hours:.2f} h ({why})"
    return (
        Usage(
            printer.id,
            wear,
            f"{h} of a life of {printer.life_h:g} h, less {printer.resale_share:.0%} resale",
            printer.ref("life_h", "resale_share"),
        ),
        Usage("electricity", kwh, f"{h} at {printer.power_w:g} W", printer.ref("power_w")),
        Usage(f"{printer.id} upkeep", hours, h),
    )


def vessel_usages(vessel: Vessel, cycles: float, why: str) -> tuple[Usage, ...]:
    """Wear and electricity of a pot or chamber by cycles; its hands-on minutes are the caller's."""
    c = f"{cycles:.3g} cycles ({why})"
    return (
        Usage(
            vessel.id,
            cycles / vessel.life_cycles,
            f"{c} of {vessel.life_cycles:g}",
            vessel.ref("life_cycles"),
        ),
        Usage("electricity", cycles * vessel.energy_kwh, c, vessel.ref("energy_kwh")),
    )


def protection(shop: Shop, hands_on_min: float, *, vapour: bool = False) -> tuple[Usage, ...]:
    """Gloves, and mask cartridges where there are vapours or dust, by the time of the work."""
    s = shop.the(SafetyStandards)
    hours = hands_on_min / 60.0
    usages = [
        Usage(
            "gloves",
            hours * s.gloves_pairs_per_h,
            f"{hours:.2f} h at {s.gloves_pairs_per_h:g} pairs an hour",
            s.ref("gloves_pairs_per_h"),
        )
    ]
    if vapour:
        why = f"{hours:.2f} h of a life of {s.cartridge_h:g} h"
        usages.append(Usage("mask-cartridges", hours / s.cartridge_h, why, s.ref("cartridge_h")))
    return tuple(usages)


def batch_usages(shop: Shop, batches: float) -> tuple[Usage, ...]:
    """Cup, cleaning alcohol, wipe and the waste of mixed batches."""
    s = shop.the(SafetyStandards)
    b = f"{batches:.3g} batches"
    return (
        Usage("mix-cup", batches, f"one for each of {b}"),
        Usage("wipe", 2 * batches, f"two for each of {b}"),
        Usage("isopropanol", batches * s.solvent_g_per_batch, f"{b} x {s.solvent_g_per_batch:g} g",
             s.ref("solvent_g_per_batch")),
        Usage("resin-waste", batches * s.waste_g_per_batch, f"{b} x {s.waste_g_per_batch:g} g left over, cured or "
             "brought to the depot", s.ref("waste_g_per_batch")),
    )  # fmt: skip
