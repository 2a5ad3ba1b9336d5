"""How clear a part can be: what rough faces scatter.

Roughness is Rq (root mean square, ISO 21920). Refractive indices of clear plastics run from 1.45 to 1.60;
visible light from 380 to 780 nm, 550 nm where the eye sees best (CIE).
"""

from __future__ import annotations

from math import exp, inf, log, pi, sqrt

from routecost.routes.physics.domain import above_zero, not_negative

INDEX = 1.5
"""Refractive index of acrylic, epoxy and polyurethane within 0.05 (textbook tables, from memory)."""
WAVELENGTH_NM = 550.0
"""Peak of the eye's day vision is 555 nm (CIE)."""


def unscattered_share(rq_um: float, index: float = INDEX, wavelength_nm: float = WAVELENGTH_NM) -> float:
    """Share of the light passing one rough face that goes straight on: exp[−(2π σ (n − 1)/λ)²].

    Davies/Bennett form for transmission (from memory). Sound up to a phase of about 1, which is σ of 0.18
    µm here; beyond (Stover, Schröder, Germer, Proc. SPIE 8495 (2012) question it) it only says that next to
    all is scattered: take a measured haze for printed walls. Light thrown aside by less than 2.5° is no
    haze to ASTM D1003 but is scattered here, so long-waved roughness is judged harshly.

    >>> round(unscattered_share(0.05), 5)
    0.92167
    """
    not_negative("roughness", rq_um, "µm")
    return exp(-((_phase_per_um(index, wavelength_nm) * rq_um) ** 2))


def surface_haze_percent(
    front_rq_um: float, back_rq_um: float, index: float = INDEX, wavelength_nm: float = WAVELENGTH_NM
) -> float:
    """Haze from the two rough faces that light must pass.

    >>> round(surface_haze_percent(0.04, 0.04), 1), round(surface_haze_percent(0.2, 0.2), 1)
    (9.9, 92.6)
    """
    front = unscattered_share(front_rq_um, index, wavelength_nm)
    back = unscattered_share(back_rq_um, index, wavelength_nm)
    return 100.0 * (1.0 - front * back)


def total_haze_percent(*haze_percent: float) -> float:
    """Haze of several things in a row: what each leaves straight goes on to the next.

    >>> round(total_haze_percent(3, 5), 2)
    7.85
    """
    straight = 1.0
    for haze in haze_percent:
        _check_haze("haze", haze)
        straight *= 1.0 - haze / 100.0
    return 100.0 * (1.0 - straight)


def rq_for_haze_um(
    haze_percent: float,
    bulk_haze_percent: float = 0.0,
    index: float = INDEX,
    wavelength_nm: float = WAVELENGTH_NM,
) -> float:
    """Roughest that both faces may be for a haze, given the material's own; inverse of the two above.

    0 where the material alone uses up the limit or more, so nothing helps; infinite for a limit of 100 %.

    >>> round(rq_for_haze_um(10), 4), round(rq_for_haze_um(3), 4)
    (0.0402, 0.0216)
    """
    _check_haze("haze limit", haze_percent)
    _check_haze("haze of the material", bulk_haze_percent)
    per_um = _phase_per_um(index, wavelength_nm)
    if haze_percent == 100.0:
        return inf
    if bulk_haze_percent >= haze_percent:
        return 0.0
    both_faces = (100.0 - haze_percent) / (100.0 - bulk_haze_percent)
    return sqrt(-log(both_faces) / 2.0) / per_um


def _phase_per_um(index: float, wavelength_nm: float) -> float:
    _check_index(index)
    above_zero("wavelength", wavelength_nm, "nm")
    return 2.0 * pi * (index - 1.0) / (wavelength_nm / 1000.0)


def _check_index(index: float) -> None:
    if not 1.0 < index < 3.0:
        raise ValueError(
            f"refractive index is {index:g}; clear plastics lie between 1.3 and 1.7, take 1.5 if unsure"
        )


def _check_haze(name: str, haze_percent: float) -> None:
    if not 0.0 <= haze_percent <= 100.0:
        raise ValueError(f"{name} is {haze_percent:g} percent; give a percentage from 0 to 100")
