"""Steps that block molds and brushed skins share."""

from __future__ import annotations

from routecost.routes.casting.molds import Mold
from routecost.routes.process.operation import Operation, Usage, timed, used
from routecost.routes.steps.running import protection
from routecost.shop.shop import Shop
from routecost.shop.standards import MoldingStandards


def release_operation(faces_cm2: float, molds: int, shop: Shop, s: MoldingStandards, name: str) -> Operation:
    """Release agent on the master, and on cured silicone that more silicone will meet."""
    each = (molds, "molds")
    work = timed(each, s.rate("release_min"))
    agent = used("release-agent", each, (faces_cm2, "cm²"), s.rate("release_g_per_cm2"))
    return Operation(
        f"release agent before {name}",
        (work, agent, *protection(shop, work, vapour=True)),
        cautions=("solvent",),
    )


def open_operation(molds: int, shop: Shop, s: MoldingStandards) -> Operation:
    """The master comes out whole, to be molded again."""
    each = (molds, "molds")
    work = timed(each, s.rate("demold_master_min"))
    return Operation(
        "open the mold, free and clean the master, trim the mold",
        (work, used("blade", each), used("wipe", each), *protection(shop, work)),
        cautions=("blade",),
        note="with a fresh blade: a dull one tears",
    )


def openings_work(mold: Mold, molds: int, s: MoldingStandards) -> Usage:
    """Placing sprue and vents."""
    return timed((molds, "molds"), (mold.openings, "sprue and vents"), s.rate("vent_min"))


def parting_work(mold: Mold, molds: int, s: MoldingStandards, of: str) -> Usage:
    """Clay along where the mold, or its jacket, will open."""
    return timed((molds, "molds"), (mold.parting_cm, f"cm of {of}"), s.rate("parting_min_per_cm"))
