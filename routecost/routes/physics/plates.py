"""A flat wall that holds liquid back: a rectangular plate under uniform pressure.

Roark's *Formulas for Stress and Strain*, Table 11.4: case 1a, all edges simply supported; case 8a, all
edges clamped. ν = 0.3; a stiffer ν of 0.35 to 0.4, usual for plastics, bulges 4 to 8 % less, so the
result is on the safe side. Small-deflection theory: exact while the bulge stays below half the wall. Beyond that the
plate also stretches, which makes it stiffer, so the bulge found here is then too large, never too small.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Literal

import numpy as np

from routecost.routes.physics.domain import above_zero, not_negative

if TYPE_CHECKING:
    from scipy.interpolate import PchipInterpolator

Edges = Literal["clamped", "simply supported"]

GRAVITY_M_S2 = 9.80665
"""Standard gravity, ISO 80000-3."""

# long side over short side: deflection coefficient alpha
_TABLE: dict[Edges, dict[float, float]] = {
    # case 1a, read in a reprint
    "simply supported": {
        **{1.0: 0.0444, 1.2: 0.0616, 1.4: 0.0770, 1.6: 0.0906, 1.8: 0.1017},
        **{2.0: 0.1110, 3.0: 0.1335, 4.0: 0.1400, 5.0: 0.1417, np.inf: 0.1421},
    },
    # case 8a, from memory; agrees with a Ritz solution to 1 %
    "clamped": {1.0: 0.0138, 1.2: 0.0188, 1.4: 0.0226, 1.6: 0.0251, 1.8: 0.0267, 2.0: 0.0277, np.inf: 0.0284},
}


def head_pressure_pa(depth_mm: float, density_g_cm3: float) -> float:
    """Pressure under a liquid head, ρ g h (hydrostatics).

    >>> round(head_pressure_pa(50, 1.1), 2)
    539.37
    """
    not_negative("depth", depth_mm, "mm")
    above_zero("density", density_g_cm3, "g/cm³")
    return density_g_cm3 * 1000.0 * GRAVITY_M_S2 * depth_mm / 1000.0


def deflection_coefficient(long_over_short: float, edges: Edges = "clamped") -> float:
    """α of w = α q b⁴ / (E t³), for a/b from 1 to infinity; exact at the table's nodes, monotone between.

    >>> deflection_coefficient(1.4), deflection_coefficient(float("inf"), "simply supported")
    (0.0226, 0.1421)
    """
    if not long_over_short >= 1.0:
        raise ValueError(
            f"long over short side is {long_over_short:g}; give the longer side first: 1 or more"
        )
    if edges not in _TABLE:
        raise ValueError(f"edges are {edges!r}; say 'clamped' or 'simply supported'")
    return float(_curve(edges)(1.0 / long_over_short))


def plate_deflection_mm(
    pressure_pa: float,
    side_a_mm: float,
    side_b_mm: float,
    thickness_mm: float,
    modulus_gpa: float,
    edges: Edges = "clamped",
) -> float:
    """Bulge at the middle of a plate; either side may be the longer. Straight walls of even thickness.

    >>> round(plate_deflection_mm(539.37, 50, 50, 1.2, 3.5), 5)
    0.00769
    """
    short, long = _sides(side_a_mm, side_b_mm)
    not_negative("pressure", pressure_pa, "Pa")
    above_zero("thickness", thickness_mm, "mm")
    above_zero("modulus", modulus_gpa, "GPa")
    alpha = deflection_coefficient(long / short, edges)
    return alpha * (pressure_pa * 1e-6) * short**4 / (modulus_gpa * 1e3 * thickness_mm**3)


def pour_depth_for_bulge(
    bulge_limit_mm: float,
    side_a_mm: float,
    side_b_mm: float,
    thickness_mm: float,
    modulus_gpa: float,
    density_g_cm3: float,
    edges: Edges = "clamped",
) -> float:
    """Deepest single pour, mm, whose head bulges a panel by no more than the limit.

    The full head is taken to act all over the panel. A real head falls to nothing at the level and bulges a
    panel filled to its top half as much, and gelled resin below holds the wall, so this is the safe side.

    >>> round(pour_depth_for_bulge(0.3, 150, 100, 1.2, 3.5, 1.1), 1)
    70.1
    """
    not_negative("bulge limit", bulge_limit_mm, "mm")
    bulge_per_mm = plate_deflection_mm(
        head_pressure_pa(1.0, density_g_cm3), side_a_mm, side_b_mm, thickness_mm, modulus_gpa, edges
    )
    return bulge_limit_mm / bulge_per_mm


def _sides(side_a_mm: float, side_b_mm: float) -> tuple[float, float]:
    above_zero("side of the plate", side_a_mm, "mm")
    above_zero("side of the plate", side_b_mm, "mm")
    return min(side_a_mm, side_b_mm), max(side_a_mm, side_b_mm)


@cache
def _curve(edges: Edges) -> PchipInterpolator:
    """Monotone cubic over b/a, where the endless strip is the plain end point 0."""
    from scipy.interpolate import PchipInterpolator

    ratios, alphas = zip(*reversed(_TABLE[edges].items()), strict=True)
    return PchipInterpolator(1.0 / np.array(ratios), np.array(alphas))
