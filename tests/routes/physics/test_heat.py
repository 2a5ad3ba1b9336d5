from math import inf

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecost.routes.physics.heat import (
    adiabatic_rise_k,
    exotherm_rise_k,
    pour_cooling_h,
    pour_depth_for_rise,
    slab_cooling_h,
)

RESIN = (1.1, 1.9, 0.2)  # g/cm³, J/(g K), W/(m K): textbook values of cured epoxy, from memory
AIR = 10.0  # W/(m² K): still air and radiation, textbook value, from memory
gel = st.floats(0.1, 48.0)
length = st.floats(1.0, 300.0)


def test_adiabatic_rise():
    # derived: 450 J/g (memory, ±20 %) at 1.9 J/(g K)
    assert adiabatic_rise_k(450, 1.9) == pytest.approx(236.8, abs=0.05)


def slab_rise_share(thickness_mm: float, gel_h: float, film: float) -> float:
    """Rise at the centre of a slab with even heat release and a film on both faces, over the adiabatic rise.

    Derived: one-dimensional conduction by finite volumes over half the slab, implicit in time.
    """
    n, steps = 60, 400
    rho_c, k = RESIN[0] * RESIN[1] * 1e6, RESIN[2]
    dx = thickness_mm / 2000.0 / n
    dt = gel_h * 3600.0 / steps
    flow = np.full(n + 1, k / dx)  # conductance of the faces between cells
    flow[0] = 0.0  # middle of the slab: symmetry
    flow[-1] = 1.0 / (0.5 * dx / k + 1.0 / film)
    matrix = np.diag(rho_c * dx / dt + flow[:-1] + flow[1:])
    matrix -= np.diag(flow[1:-1], 1) + np.diag(flow[1:-1], -1)
    inverse = np.linalg.inv(matrix)
    rise = np.zeros(n)
    for _ in range(steps):
        rise = inverse @ (rho_c * dx / dt * (rise + 1.0 / steps))
    return float(rise[0])


@pytest.mark.parametrize("film", [5.0, 10.0, 1e6])
@pytest.mark.parametrize("thickness", [4.0, 10.0, 20.0, 40.0, 100.0])
@pytest.mark.parametrize("gel_h", [0.3, 2.0, 12.0])
def test_estimate_is_near_the_conduction_solution_of_a_slab(thickness, gel_h, film):
    exact = slab_rise_share(thickness, gel_h, film)
    estimate = exotherm_rise_k(1.0, gel_h, slab_cooling_h(thickness, *RESIN, film))
    assert 0.88 * exact <= estimate <= 1.01 * exact


def test_two_ways_out_are_near_the_exact_square():
    """A pour half as deep as its section is wide, cold faces, slow release: half of a square bar.

    Closed form: centre of a square bar, by its Fourier series (the soap-film value 0.0737).
    """
    odd = np.arange(1, 200, 2).astype(float)
    i, j = odd[:, None], odd[None, :]
    signs = (-1.0) ** ((i + j) / 2.0 - 1.0)
    square = 16.0 / np.pi**4 * (signs / (i * j * (i**2 + j**2))).sum()
    assert square == pytest.approx(0.0737, abs=5e-5)
    width = 0.03
    exact_h = square * width**2 * RESIN[0] * RESIN[1] * 1e6 / RESIN[2] / 3600.0
    assert 0.84 * exact_h <= pour_cooling_h(30, 15, *RESIN, 1e9) <= exact_h


@given(gel, length, length)
def test_rise_lies_between_nothing_and_adiabatic(gel_h, section, depth):
    assert 0.0 < exotherm_rise_k(200.0, gel_h, pour_cooling_h(section, depth, *RESIN, AIR)) <= 200.0


def test_limits():
    thick = pour_cooling_h(1e6, 1e6, *RESIN, AIR)
    assert exotherm_rise_k(200.0, 2.0, thick) == pytest.approx(200.0, rel=1e-4)
    assert exotherm_rise_k(200.0, 2.0, pour_cooling_h(1e-4, 1e6, *RESIN, AIR)) < 1e-3  # a thin section cools
    assert (
        exotherm_rise_k(200.0, 2.0, pour_cooling_h(1e6, 1e-4, *RESIN, AIR)) < 2e-3
    )  # so does a shallow pour
    # slow release: the steady rise of a slab with even heat generation (textbook): q''' (d²/8k + d/2h)
    source = 200.0 * 1.1 * 1.9e6 / (1000.0 * 3600.0)
    steady = source * (0.02**2 / (8 * 0.2) + 0.02 / (2 * 10))
    assert exotherm_rise_k(200.0, 1000.0, slab_cooling_h(20, *RESIN, AIR)) == pytest.approx(steady, rel=1e-9)


@given(gel, gel, length, length, length, length)
def test_slower_thinner_and_shallower_is_cooler(g1, g2, s1, s2, d1, d2):
    fast, slow = sorted((g1, g2))
    thin, thick = sorted((s1, s2))
    shallow, deep = sorted((d1, d2))
    calm = exotherm_rise_k(200.0, slow, pour_cooling_h(thin, shallow, *RESIN, AIR))
    hot = exotherm_rise_k(200.0, fast, pour_cooling_h(thick, deep, *RESIN, AIR))
    assert calm <= hot * (1 + 1e-12)


@given(st.floats(1.0, 190.0), gel, length)
def test_deepest_pour_rises_to_just_the_limit(limit, gel_h, section):
    depth = pour_depth_for_rise(limit, 200.0, gel_h, section, *RESIN, AIR)
    if depth == inf:
        assert exotherm_rise_k(200.0, gel_h, slab_cooling_h(section, *RESIN, AIR)) <= limit * (1 + 1e-9)
    else:
        rise = exotherm_rise_k(200.0, gel_h, pour_cooling_h(section, depth, *RESIN, AIR))
        assert rise == pytest.approx(limit, rel=1e-6)


def test_a_limit_above_the_adiabatic_rise_never_binds():
    assert pour_depth_for_rise(236.9, 236.8, 0.1, 500, *RESIN, AIR) == inf


def test_trade_depths_are_of_the_estimated_size():
    # common practice, no source: ordinary casting epoxy at most about 20 mm a pour, deep-pour grades about 50
    def depth(heat: float, gel_h: float) -> float:
        return pour_depth_for_rise(50.0, heat / 1.9, gel_h, 100.0, *RESIN, AIR)

    assert 10 <= depth(450, 5) <= 30
    assert 30 <= depth(420, 12) <= 80


def test_bad_input_says_what_to_give():
    with pytest.raises(ValueError, match="specific heat is 0"):
        adiabatic_rise_k(450, 0)
    with pytest.raises(ValueError, match="section is -1 mm"):
        pour_cooling_h(-1, 10, *RESIN, AIR)
    with pytest.raises(ValueError, match="gel time is nan h"):
        exotherm_rise_k(200, float("nan"), 1.0)
    with pytest.raises(ValueError, match="limit of the rise is 0 K"):
        pour_depth_for_rise(0, 200, 3, 20, *RESIN, AIR)
