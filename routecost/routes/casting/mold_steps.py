"""Steps that block molds and brushed skins share."""

from __future__ import annotations

from collections.abc import Iterable

from routecost.routes.process.operation import OWN_HOUR, Operation, Usage, own_time
from routecost.routes.steps.running import protection
from routecost.shop.shop import Shop
from routecost.shop.standards import MoldingStandards


def for_molds(molds: int) -> str:
    """Ends a formula in words."""
    return f" x {molds} molds" if molds > 1 else ""


def hands_on_min(usages: Iterable[Usage]) -> float:
    return 60.0 * sum(usage.quantity for usage in usages if usage.resource == OWN_HOUR)


def release_operation(faces_cm2: float, molds: int, shop: Shop, s: MoldingStandards, name: str) -> Operation:
    """Release agent on the master, and on cured silicone that more silicone will meet."""
    minutes, each = molds * s.release_min, for_molds(molds)
    return Operation(
        f"release agent before {name}",
        (
            own_time(minutes, f"{s.release_min:g} min{each}", s.ref("release_min")),
            Usage(
                "release-agent",
                molds * faces_cm2 * s.release_g_per_cm2,
                f"{faces_cm2:.0f} cm² x {s.release_g_per_cm2:g} g/cm²{each}",
                s.ref("release_g_per_cm2"),
            ),
            *protection(shop, minutes, vapour=True),
        ),
        cautions=("solvent",),
    )


def open_operation(molds: int, shop: Shop, s: MoldingStandards) -> Operation:
    """The master comes out whole, to be molded again."""
    minutes, each = molds * s.demold_master_min, for_molds(molds)
    return Operation(
        "open the mold, free and clean the master, trim the mold",
        (
            own_time(minutes, f"{s.demold_master_min:g} min{each}", s.ref("demold_master_min")),
            Usage("blade", float(molds), f"a fresh one, a dull one tears{each}"),
            Usage("wipe", float(molds), f"one{each}"),
            *protection(shop, minutes),
        ),
        cautions=("blade",),
    )
