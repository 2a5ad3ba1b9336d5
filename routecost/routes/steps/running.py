"""What running a machine, wearing gloves and mixing a batch draw: the small amounts every route shares."""

from __future__ import annotations

from routecost.routes.process.operation import Usage, own_hours, rounded, timed, used
from routecost.shop.facts import Factor
from routecost.shop.machines import Printer, Vessel
from routecost.shop.shop import Shop
from routecost.shop.standards import PrintingStandards, SafetyStandards


def printer_usages(
    printer: Printer, hours: float, why: str, facts: tuple[str, ...] = ()
) -> tuple[Usage, ...]:
    """An hour of a printer is its wear, its electricity and its upkeep.

    Wear is the share of the purchase that the hours use up: hours / life x (1 - resale share).
    """
    h = Factor(hours, f"{rounded(hours)} h ({why})", facts)
    lost = Factor(
        1.0 - printer.resale_share,
        f"the {1.0 - printer.resale_share:.0%} that resale does not return",
        printer.ref("resale_share"),
    )
    return (
        used(printer.id, h, printer.rate("life_h", "of life"), lost),
        used("electricity", h, printer.rate("power_w"), Factor(1000.0, "1000 W a kW", divides=True)),
        used(f"{printer.id} upkeep", h),
    )


def cycle_usages(vessel: Vessel, cycles: float, what: str, facts: tuple[str, ...] = ()) -> tuple[Usage, ...]:
    """Hands-on minutes, wear and electricity of a pot or chamber, by its cycles.

    `facts`: what the number of cycles is proportional to.
    """
    c = (cycles, f"{what} in {vessel.id}")
    return (
        timed(c, vessel.rate("cycle_min", "to load, close and vent"), facts=facts),
        used(vessel.id, c, vessel.rate("life_cycles", "cycles in its life")),
        used("electricity", c, vessel.rate("energy_kwh")),
    )


def protection(shop: Shop, *work: Usage, vapour: bool = False) -> tuple[Usage, ...]:
    """Gloves, and mask cartridges where there are vapours or dust, by the hands-on time among the usages."""
    s, h = shop.the(SafetyStandards), (own_hours(work), "h of work")
    gloves = used("gloves", h, s.rate("gloves_pairs_per_h", "pairs an hour"))
    return (gloves, used("mask-cartridges", h, s.rate("cartridge_h", "of life"))) if vapour else (gloves,)


def batch_usages(shop: Shop, batches: float) -> tuple[Usage, ...]:
    """Cup, cleaning alcohol, wipes and the waste of mixed batches."""
    s, b = shop.the(SafetyStandards), (batches, "batches")
    return (
        used("mix-cup", b),
        used("wipe", (2, "wipes"), b),
        used("isopropanol", b, s.rate("solvent_g_per_batch")),
        used("resin-waste", b, s.rate("waste_g_per_batch", "left over, cured or brought to the depot")),
    )


def blades(shop: Shop, *work: Usage) -> Usage:
    """Blades that trimming takes, by the hands-on time among the usages."""
    return used(
        "blade",
        (60.0 * own_hours(work), "min"),
        shop.the(PrintingStandards).rate("blade_life_min", "a blade"),
    )
