"""The load screen: rules out the hopeless, proves nothing. What people depend on needs a qualified judge."""

from __future__ import annotations

from math import atan2, degrees, pi

from routecost.routes.physics.domain import above_zero, not_negative, share

SAFETY_FACTOR = 4.0
"""For plastics under a steady load whose creep nobody measured; common practice, no source."""


def stress_mpa(load_n: float, section_mm2: float) -> float:
    """Mean stress in a section square to the load: F / A. Bending and notches are not in it.

    >>> stress_mpa(500, 100)
    5.0
    """
    not_negative("load", load_n, "N")
    above_zero("section", section_mm2, "mm²")
    return load_n / section_mm2


def allowable_mpa(
    strength_mpa: float, direction_share: float = 1.0, safety_factor: float = SAFETY_FACTOR
) -> float:
    """Strength × what is left of it in the direction of the load / safety factor.

    Pulled across printed layers about half the strength is left (common practice, no source).

    >>> allowable_mpa(56, 0.5)
    7.0
    """
    above_zero("strength", strength_mpa, "MPa")
    share("direction share", direction_share)
    if not 1.0 <= safety_factor < float("inf"):
        raise ValueError(f"safety factor is {safety_factor:g}; give 1 or more, 4 if unsure")
    return strength_mpa * direction_share / safety_factor


def utilisation(load_n: float, section_mm2: float, allowable_stress_mpa: float) -> float:
    """Stress over allowable stress: above 1 the part is ruled out.

    >>> round(utilisation(500, 100, 7.0), 3)
    0.714
    """
    above_zero("allowable stress", allowable_stress_mpa, "MPa")
    return stress_mpa(load_n, section_mm2) / allowable_stress_mpa


def section_needed_mm2(load_n: float, allowable_stress_mpa: float) -> float:
    """Section that carries a load at the allowable stress.

    >>> section_needed_mm2(500, 5.0)
    100.0
    """
    not_negative("load", load_n, "N")
    above_zero("allowable stress", allowable_stress_mpa, "MPa")
    return load_n / allowable_stress_mpa


def thickness_needed_mm(load_n: float, width_mm: float, allowable_stress_mpa: float) -> float:
    """Thickness of a wall of given width that carries a load along itself.

    >>> thickness_needed_mm(500, 25, 5.0)
    4.0
    """
    above_zero("width", width_mm, "mm")
    return section_needed_mm2(load_n, allowable_stress_mpa) / width_mm


def buckling_load_n(
    section_mm2: float, thickness_mm: float, length_mm: float, modulus_gpa: float, end_factor: float = 2.0
) -> float:
    """Load at which a straight post or wall bows out: Euler's π² E I / (K L)², with I = A t²/12.

    `thickness_mm` is the thinner side of a full rectangle of that section. K: 2 for a post fixed at the
    foot and free at the head (the safe side), 1 for both ends hinged, 0.5 for both held. No safety factor
    is in it. Valid for slender posts, where the result lies below the strength times the section.

    >>> round(buckling_load_n(100, 10, 200, 3.3))
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


def tilt_angle_deg(centre_height_mm: float, footprint_short_mm: float) -> float:
    """Slope at which a standing part falls over its nearer edge, centre of mass over the middle (statics).

    >>> round(tilt_angle_deg(50, 100), 6)
    45.0
    """
    above_zero("height of the centre of mass", centre_height_mm, "mm")
    above_zero("short side of the footprint", footprint_short_mm, "mm")
    return degrees(atan2(footprint_short_mm / 2.0, centre_height_mm))
