"""The load screen: rules out the hopeless, proves nothing. What people depend on needs a qualified judge."""

from __future__ import annotations

from math import pi

from routecost.routes.physics.domain import above_zero, not_negative, share


def stress_mpa(load_n: float, section_mm2: float) -> float:
    """Mean stress in a section square to the load: F / A. Bending and notches are not in it.

    >>> stress_mpa(500, 100)
    5.0
    """
    not_negative("load", load_n, "N")
    above_zero("section", section_mm2, "mm²")
    return load_n / section_mm2


def allowable_mpa(strength_mpa: float, direction_share: float, safety_factor: float) -> float:
    """Strength × what is left of it in the direction of the load / safety factor.

    Pulled across printed layers about half the strength is left (common practice, no source).

    >>> allowable_mpa(56, 0.5, 4)
    7.0
    """
    above_zero("strength", strength_mpa, "MPa")
    share("direction share", direction_share)
    if not 1.0 <= safety_factor < float("inf"):
        raise ValueError(f"safety factor is {safety_factor:g}; give 1 or more, 4 if unsure")
    return strength_mpa * direction_share / safety_factor


def buckling_load_n(
    section_mm2: float, thickness_mm: float, length_mm: float, modulus_gpa: float, end_factor: float
) -> float:
    """Load at which a straight post or wall bows out: Euler's π² E I / (K L)², with I = A t²/12.

    `thickness_mm` is the thinner side of a full rectangle of that section. K: 2 for a post fixed at the
    foot and free at the head (the safe side), 1 for both ends hinged, 0.5 for both held. No safety factor
    is in it. Valid for slender posts, where the result lies below the strength times the section.

    >>> round(buckling_load_n(100, 10, 200, 3.3, 2))
    170
    """
    above_zero("section", section_mm2, "mm²")
    above_zero("thickness", thickness_mm, "mm")
    above_zero("length", length_mm, "mm")
    above_zero("modulus", modulus_gpa, "GPa")
    above_zero("end factor", end_factor)
    second_moment_mm4 = section_mm2 * thickness_mm**2 / 12.0
    return pi**2 * modulus_gpa * 1e3 * second_moment_mm4 / (end_factor * length_mm) ** 2


def slenderness(height_mm: float, footprint_short_mm: float) -> float:
    """Height over the short side of the footprint. Prints beyond 8 or so wobble (common practice, no source).

    >>> slenderness(160, 20)
    8.0
    """
    above_zero("height", height_mm, "mm")
    above_zero("short side of the footprint", footprint_short_mm, "mm")
    return height_mm / footprint_short_mm
