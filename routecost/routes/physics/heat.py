"""Heat of a curing pour: an estimate that tells a calm pour from a dangerous one, no more.

Lumped balance. The heat of reaction is released evenly over the gel time t; the middle of the pour loses
heat with a time constant τ, set so that under steady release its rise is the exact one of a slab cooled on
both faces:

    dT/dt = ΔT_ad / t − T / τ     so at the end of the gel time     T = ΔT_ad · x · (1 − e^(−1/x)),  x = τ / t
    τ = ρ c d · (d / 8k + 1 / 2h)

(d slab thickness, k conductivity, h heat transfer to air; d²/8k is the centre of a slab with even heat
generation, Carslaw & Jaeger, *Conduction of Heat in Solids*, or any heat-transfer textbook). Thin or slow
pours tend to the steady rise, which tends to 0 with them; thick or fast ones tend to the adiabatic rise,
which nothing exceeds. A pour cools through its thinnest section and through its free top at the same time,
so the rates 1/τ add; what it stands on is taken to hold the heat back, which makes the depth count as half
a slab.

Against the exact solution the balance is 0 to 12 % low for a slab, and up to 15 % lower where both ways out
are alike.

Real resin speeds up as it warms, so take the figure with the spread of the heat of reaction (±20 %) and of
the gel time (a factor of two), and the adiabatic rise as the bound.
"""

from __future__ import annotations

from math import exp, expm1, inf, sqrt

from routecost.routes.physics.domain import above_zero, not_negative


def adiabatic_rise_k(reaction_heat_j_g: float, heat_capacity_j_gk: float) -> float:
    """Rise if no heat leaves: ΔH / cp, the upper bound for any pour.

    >>> round(adiabatic_rise_k(450, 1.9), 1)
    236.8
    """
    not_negative("heat of reaction", reaction_heat_j_g, "J/g")
    above_zero("specific heat", heat_capacity_j_gk, "J/(g K)")
    return reaction_heat_j_g / heat_capacity_j_gk


def slab_cooling_h(
    thickness_mm: float,
    density_g_cm3: float,
    heat_capacity_j_gk: float,
    conductivity_w_mk: float,
    film_w_m2k: float,
) -> float:
    """Time constant τ of the middle of a slab cooled on both faces, in hours; derived above.

    Thickness above 0 (infinite allowed: it never cools).

    >>> round(slab_cooling_h(20, 1.1, 1.9, 0.2, 10), 3)
    0.726
    """
    if thickness_mm == inf:
        return inf
    above_zero("thickness", thickness_mm, "mm")
    above_zero("heat transfer to air", film_w_m2k, "W/(m² K)")
    above_zero("conductivity", conductivity_w_mk, "W/(m K)")
    d = thickness_mm / 1000.0
    stored = _stored_j_m3k(density_g_cm3, heat_capacity_j_gk)
    return stored * d * (d / (8.0 * conductivity_w_mk) + 1.0 / (2.0 * film_w_m2k)) / 3600.0


def pour_cooling_h(
    section_mm: float,
    depth_mm: float,
    density_g_cm3: float,
    heat_capacity_j_gk: float,
    conductivity_w_mk: float,
    film_w_m2k: float,
) -> float:
    """Time constant of a pour: through its thinnest section and, as half a slab, through its free top.

    >>> slab = slab_cooling_h(20, 1.1, 1.9, 0.2, 10)
    >>> pour_cooling_h(20, 10, 1.1, 1.9, 0.2, 10) == slab / 2
    True
    """
    above_zero("section", section_mm, "mm")
    above_zero("depth", depth_mm, "mm")
    resin = (density_g_cm3, heat_capacity_j_gk, conductivity_w_mk, film_w_m2k)
    rate = 1.0 / slab_cooling_h(section_mm, *resin) + 1.0 / slab_cooling_h(2.0 * depth_mm, *resin)
    return 1.0 / rate


def exotherm_rise_k(adiabatic_k: float, gel_h: float, cooling_h: float) -> float:
    """Estimated rise in the middle of a pour at the end of its gel time, by the balance above.

    >>> round(exotherm_rise_k(236.8, 3.0, pour_cooling_h(40, 20, 1.1, 1.9, 0.2, 10)))
    67
    """
    not_negative("adiabatic rise", adiabatic_k, "K")
    above_zero("gel time", gel_h, "h")
    above_zero("cooling time", cooling_h, "h")
    x = cooling_h / gel_h
    return adiabatic_k * x * -expm1(-1.0 / x)


def pour_depth_for_rise(
    rise_limit_k: float,
    adiabatic_k: float,
    gel_h: float,
    section_mm: float,
    density_g_cm3: float,
    heat_capacity_j_gk: float,
    conductivity_w_mk: float,
    film_w_m2k: float,
) -> float:
    """Deepest pour, mm, whose estimated rise stays within the limit; infinite if the section alone does it.

    >>> depth = pour_depth_for_rise(34, 236.8, 3.0, 40, 1.1, 1.9, 0.2, 10)
    >>> round(depth, 1), round(exotherm_rise_k(236.8, 3.0, pour_cooling_h(40, depth, 1.1, 1.9, 0.2, 10)), 6)
    (8.2, 34.0)
    """
    above_zero("limit of the rise", rise_limit_k, "K")
    above_zero("section", section_mm, "mm")
    above_zero("gel time", gel_h, "h")
    not_negative("adiabatic rise", adiabatic_k, "K")
    if rise_limit_k >= adiabatic_k:
        return inf
    allowed_h = gel_h * _release_over_rise(rise_limit_k / adiabatic_k)
    by_section = slab_cooling_h(section_mm, density_g_cm3, heat_capacity_j_gk, conductivity_w_mk, film_w_m2k)
    if by_section <= allowed_h:
        return inf
    by_depth_s = 3600.0 / (1.0 / allowed_h - 1.0 / by_section)
    # τ = ρc·d·(d/8k + 1/2h) for d, in the form that does not cancel for thin pours
    needed = by_depth_s / _stored_j_m3k(density_g_cm3, heat_capacity_j_gk)
    linear, square = 1.0 / (2.0 * film_w_m2k), 1.0 / (8.0 * conductivity_w_mk)
    slab_m = 2.0 * needed / (linear + sqrt(linear**2 + 4.0 * square * needed))
    return 1000.0 * slab_m / 2.0


def _release_over_rise(share: float) -> float:
    """x of share = x · (1 − e^(−1/x)), for 0 < share < 1, by Newton's method.

    Solved for y = 1/x: share·y − 1 + e^(−y) = 0. The function is convex and positive at y = 1/share, so the
    iteration from there falls to the root without overshooting.
    """
    y = 1.0 / share
    for _ in range(200):
        step = (share * y + expm1(-y)) / (share - exp(-y))
        y -= step
        if abs(step) <= 1e-15 * y:
            break
    return 1.0 / y


def _stored_j_m3k(density_g_cm3: float, heat_capacity_j_gk: float) -> float:
    above_zero("density", density_g_cm3, "g/cm³")
    above_zero("specific heat", heat_capacity_j_gk, "J/(g K)")
    return density_g_cm3 * heat_capacity_j_gk * 1e6
