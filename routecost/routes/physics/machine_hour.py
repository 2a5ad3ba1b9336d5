"""What an hour on a machine uses up, as quantities: a share of the machine, and electricity."""

from __future__ import annotations

from routecost.routes.physics.domain import above_zero, not_negative, share


def wear_share(run: float, life: float, resale_share: float = 0.0, upkeep_share: float = 0.0) -> float:
    """Share of a machine's price that a run uses up: run/life · (1 − resale + upkeep).

    Straight-line depreciation over working life. `run` and `life` in one unit: hours, or cycles of a
    vessel. `resale_share` is what the machine still brings at the end, `upkeep_share` what spares and
    servicing cost over its whole life, both over its price. A run may outlast a life: then more than one
    machine is used up.

    >>> round(wear_share(30, 3000, resale_share=0.2, upkeep_share=0.3), 6)
    0.011
    """
    not_negative("run", run)
    above_zero("life", life)
    share("resale share", resale_share)
    not_negative("upkeep share", upkeep_share)
    return run / life * (1.0 - resale_share + upkeep_share)


def energy_kwh(run_h: float, power_w: float) -> float:
    """Electricity of a run at mean power.

    >>> energy_kwh(30, 120)
    3.6
    """
    not_negative("run", run_h, "h")
    not_negative("power", power_w, "W")
    return run_h * power_w / 1000.0
