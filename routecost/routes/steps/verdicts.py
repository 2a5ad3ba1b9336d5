"""Reasons in numbers for the demands that every route must meet the same way."""

from __future__ import annotations

from math import exp

from routecost.routes.physics.strength import allowable_mpa, stress_mpa
from routecost.routes.process.operation import Level, Reason
from routecost.routes.process.part import Demands, Part
from routecost.shop.shop import Shop
from routecost.shop.standards import JudgingStandards, PrintingStandards

ROUGH_HAZE_PERCENT = 99.0
"""Cap for rough clear faces, which scatter nearly all light but let it pass: a haze of 100 means opaque."""


def haze_limit_percent(demands: Demands, shop: Shop) -> float:
    """Largest haze that the demanded clarity allows; 100 where light may be scattered."""
    limits = shop.the(JudgingStandards)
    return {"clear": limits.clear_haze_percent, "optical": limits.optical_haze_percent}.get(
        demands.clarity, 100.0
    )


def haze_reason(demands: Demands, haze_percent: float, what: str, shop: Shop) -> Reason:
    """Whether what light meets is clear enough."""
    limit = haze_limit_percent(demands, shop)
    if limit >= 100.0:
        if demands.clarity == "translucent" and haze_percent >= 100.0:
            return Reason("ruled out", f"needs light to pass; {what} pass none")
        return Reason("suits", f"clarity '{demands.clarity}' is met by {what}")
    if haze_percent > limit:
        return Reason("ruled out", f"needs haze <= {limit:g} %; {what} scatter about {haze_percent:.0f} %")
    return Reason("suits", f"haze of about {haze_percent:.1f} % is within {limit:g} %")


def light_reason(
    demands: Demands, solid_path_mm: float, light_path_mm: float, least_share: float, what: str
) -> Reason | None:
    """Whether enough light comes through a scattering print: exp(-path / light path), Beer-Lambert.

    solid_path_mm: printed material that light crosses, air between infill not counted.

    >>> light_reason(Demands(clarity="translucent"), 12.0, 4.0, 0.1, "pla").text
    'passes 5 % of light through 12 mm of pla; a translucent part passes 10 %'
    """
    if demands.clarity != "translucent":
        return None
    passes = exp(-solid_path_mm / light_path_mm)
    text = f"passes {passes:.0%} of light through {solid_path_mm:.0f} mm of {what}".replace("%", " %")
    wanted = f"a translucent part passes {100 * least_share:.0f} %"
    return Reason("ruled out" if passes < least_share else "suits", f"{text}; {wanted}")


def heat_reason(demands: Demands, softens_degc: float, material: str, shop: Shop) -> Reason | None:
    """Service temperature against softening, with a margin between."""
    if demands.service_degc > softens_degc - shop.the(JudgingStandards).heat_margin_k:
        text = f"serves at {demands.service_degc:g} °C; {material} softens at {softens_degc:g} °C"
        return Reason("ruled out", text)
    return None


def tolerance_reason(part: Part, tolerance_mm_at_100: float, what: str, shop: Shop) -> Reason | None:
    """Tolerance held on a length of 100 mm, scaled to the part's longest side (not below 100 mm)."""
    wanted = part.demands.tolerance_mm
    if wanted is None or part.shape is None:
        return None
    longest = max(part.shape.solid.extents_mm)
    held = tolerance_mm_at_100 * max(1.0, longest / 100.0)
    if held > wanted:
        level: Level = "changes" if held <= shop.the(JudgingStandards).most_mended * wanted else "ruled out"
        mend = "; leave stock and fit by hand" if level == "changes" else ""
        text = f"needs ±{wanted:g} mm; {what} holds about ±{held:.2g} mm on {longest:.0f} mm{mend}"
        return Reason(level, text)
    return Reason("suits", f"±{held:.2g} mm is within ±{wanted:g} mm")


def load_reason(
    part: Part, strength_mpa: float, direction_share: float, shop: Shop, what: str
) -> Reason | None:
    """The load screen: stress on the smallest section square to the load, against strength / safety factor.

    It rules out the hopeless and proves nothing.
    """
    load, shape = part.demands.load_n, part.shape
    if load <= 0.0 or shape is None:
        return None
    section = shape.layers(part.demands.load_direction).smallest_section_mm2
    if section <= 0.0:
        return Reason("ruled out", f"carries {load:g} N; the section square to the load has no area")
    stress = stress_mpa(load, section)
    allowable = allowable_mpa(strength_mpa, direction_share, shop.the(PrintingStandards).safety_factor)
    numbers = f"{load:g} N on {section:.0f} mm² is {stress:.2g} MPa; {what} may bear {allowable:.2g} MPa"
    if stress > allowable:
        thicker = stress / allowable
        level: Level = "changes" if thicker <= shop.the(JudgingStandards).most_mended else "ruled out"
        return Reason(level, f"{numbers}: its section must grow {thicker:.1f}-fold")
    return Reason("suits", f"{numbers}; a screen, not a proof")


def opaque_reason(demands: Demands, transmits_light: bool, what: str) -> Reason | None:
    """A part that must be opaque, made of something that is not, needs paint or pigment."""
    if demands.opaque and transmits_light:
        return Reason("changes", f"must be opaque; {what} lets light through: pigment or paint it")
    return None


def present(*reasons: Reason | None) -> tuple[Reason, ...]:
    """Those that say something."""
    return tuple(reason for reason in reasons if reason is not None)
