"""What running a machine, wearing gloves and mixing a batch draw: the small amounts every route shares."""

from __future__ import annotations

from routecost.routes.process.operation import Draw
from routecost.shop.machines import Printer, Vessel
from routecost.shop.shop import Shop
from routecost.shop.standards import SafetyStandards


def printer_draws(printer: Printer, hours: float, why: str) -> tuple[Draw, ...]:
    """An hour of a printer is its wear, its electricity and its upkeep.

    Wear is the share of the purchase that the hours use up: hours / life x (1 - resale share).
    """
    wear = hours / printer.life_h * (1.0 - printer.resale_share)
    kwh = hours * printer.power_w / 1000.0
    h = f"{hours:.2f} h ({why})"
    return (
        Draw(
            printer.id,
            wear,
            f"{h} of a life of {printer.life_h:g} h, less {printer.resale_share:.0%} resale",
            printer.ref("life_h", "resale_share"),
        ),
        Draw("electricity", kwh, f"{h} at {printer.power_w:g} W", printer.ref("power_w")),
        Draw(f"{printer.id} upkeep", hours, h),
    )


def vessel_draws(vessel: Vessel, cycles: float, why: str) -> tuple[Draw, ...]:
    """Wear and electricity of a pot or chamber by cycles; its hands-on minutes are the caller's."""
    c = f"{cycles:.3g} cycles ({why})"
    return (
        Draw(
            vessel.id,
            cycles / vessel.life_cycles,
            f"{c} of {vessel.life_cycles:g}",
            vessel.ref("life_cycles"),
        ),
        Draw("electricity", cycles * vessel.energy_kwh, c, vessel.ref("energy_kwh")),
    )


def protection(shop: Shop, hands_on_min: float, *, vapour: bool = False) -> tuple[Draw, ...]:
    """Gloves, and mask cartridges where there are vapours or dust, by the time of the work."""
    s = shop.the(SafetyStandards)
    hours = hands_on_min / 60.0
    draws = [
        Draw(
            "gloves",
            hours * s.gloves_pairs_per_h,
            f"{hours:.2f} h at {s.gloves_pairs_per_h:g} pairs an hour",
            s.ref("gloves_pairs_per_h"),
        )
    ]
    if vapour:
        why = f"{hours:.2f} h of a life of {s.cartridge_h:g} h"
        draws.append(Draw("mask-cartridges", hours / s.cartridge_h, why, s.ref("cartridge_h")))
    return tuple(draws)


def batch_draws(shop: Shop, batches: float) -> tuple[Draw, ...]:
    """Cup, cleaning alcohol, wipe and the waste of mixed batches."""
    s = shop.the(SafetyStandards)
    b = f"{batches:.3g} batches"
    return (
        Draw("mix-cup", batches, f"one for each of {b}"),
        Draw("wipe", 2 * batches, f"two for each of {b}"),
        Draw("isopropanol", batches * s.solvent_g_per_batch, f"{b} x {s.solvent_g_per_batch:g} g",
             s.ref("solvent_g_per_batch")),
        Draw("resin-waste", batches * s.waste_g_per_batch, f"{b} x {s.waste_g_per_batch:g} g left over, cured or "
             "brought to the depot", s.ref("waste_g_per_batch")),
    )  # fmt: skip
