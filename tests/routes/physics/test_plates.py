from math import inf, pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecost.routes.physics.plates import (
    deflection_coefficient,
    head_pressure_pa,
    plate_deflection_mm,
    pour_depth_for_bulge,
)

RATIO = [1.0, 1.2, 1.4, 1.6, 1.8, 2.0, 3.0, 4.0, 5.0, inf]
# Roark's Formulas for Stress and Strain, Table 11.4, case 1a (read)
SUPPORTED_ALPHA = [0.0444, 0.0616, 0.0770, 0.0906, 0.1017, 0.1110, 0.1335, 0.1400, 0.1417, 0.1421]
# the same, case 8a (memory; agrees with a Ritz solution to 1 %)
CLAMPED_RATIO = [1.0, 1.2, 1.4, 1.6, 1.8, 2.0, inf]
CLAMPED_ALPHA = [0.0138, 0.0188, 0.0226, 0.0251, 0.0267, 0.0277, 0.0284]

sides = st.floats(5.0, 500.0)


@pytest.mark.parametrize(("ratio", "alpha"), [*zip(RATIO, SUPPORTED_ALPHA, strict=True)])
def test_simply_supported_nodes_are_the_table(ratio, alpha):
    assert deflection_coefficient(ratio, "simply supported") == pytest.approx(alpha, abs=1e-12)


@pytest.mark.parametrize(("ratio", "alpha"), [*zip(CLAMPED_RATIO, CLAMPED_ALPHA, strict=True)])
def test_clamped_nodes_are_the_table(ratio, alpha):
    assert deflection_coefficient(ratio) == pytest.approx(alpha, abs=1e-12)


def navier(ratio: float) -> float:
    """Alpha at the centre of a simply supported plate by Navier's series (derived), ν 0.3."""
    nu = 0.3
    m = np.arange(1, 400, 2)[:, None].astype(float)  # along the long side
    n = np.arange(1, 400, 2)[None, :].astype(float)
    sign = (-1.0) ** ((m + n) / 2.0 - 1.0)
    waves = (m / ratio) ** 2 + n**2
    w = 16.0 / pi**6 * (sign / (m * n * waves**2)).sum()  # times q b⁴ / D
    return 12.0 * (1.0 - nu**2) * w


@pytest.mark.parametrize("ratio", [1.0, 1.1, 1.3, 1.5, 1.7, 1.9, 2.0, 2.4, 2.8, 3.5, 4.5, 6.0, 9.0])
def test_simply_supported_agrees_with_the_series_between_the_nodes(ratio):
    alpha = navier(ratio)
    assert deflection_coefficient(ratio, "simply supported") == pytest.approx(alpha, rel=0.01)


def ritz(ratio: float) -> float:
    """Alpha of a clamped plate by a Ritz solution in polynomials (derived)."""
    points, weights = np.polynomial.legendre.leggauss(24)
    edge = np.polynomial.Polynomial([1.0, 0.0, -1.0]) ** 2
    basis = [edge * np.polynomial.Polynomial([0.0] * (2 * k) + [1.0]) for k in range(6)]
    f = np.array([p(points) for p in basis])
    f2 = np.array([p.deriv(2)(points) for p in basis])
    a, b = ratio / 2.0, 0.5  # half sides, short side 1
    pairs = [(i, j) for i in range(6) for j in range(6)]
    curved = [np.outer(f2[i] / a**2, f[j]) + np.outer(f[i], f2[j] / b**2) for i, j in pairs]
    area = np.outer(weights, weights)
    stiff = np.array([[(area * p * q).sum() for q in curved] for p in curved])
    load = np.array([(area * np.outer(f[i], f[j])).sum() for i, j in pairs])
    c = np.linalg.solve(stiff, load)
    w = sum(ck * basis[i](0.0) * basis[j](0.0) for ck, (i, j) in zip(c, pairs, strict=True))
    return 12.0 * (1.0 - 0.3**2) * w


@pytest.mark.parametrize("ratio", [1.0, 1.1, 1.3, 1.5, 1.7, 1.9, 2.0, 2.5, 3.0])
def test_clamped_agrees_with_a_ritz_solution_between_the_nodes(ratio):
    alpha = ritz(ratio)
    near = 0.015 if ratio <= 2.0 else 0.025  # beyond 2 the table has the endless strip only
    assert deflection_coefficient(ratio) == pytest.approx(alpha, rel=near)


@given(st.floats(1.0, 50.0), st.floats(1.0, 50.0), st.sampled_from(["clamped", "simply supported"]))
def test_coefficients_rise_with_the_ratio(r1, r2, edges):
    low, high = sorted((r1, r2))
    assert deflection_coefficient(low, edges) <= deflection_coefficient(high, edges) + 1e-15
    assert deflection_coefficient(high, edges) <= deflection_coefficient(inf, edges)


def test_worked_example():
    # derived: 50 mm square, 1.2 mm thick, 3.5 GPa, 50 mm head of 1100 kg/m³
    q = head_pressure_pa(50, 1.1)
    assert q == pytest.approx(539.37, abs=0.005)
    assert plate_deflection_mm(q, 50, 50, 1.2, 3.5) == pytest.approx(0.00769, abs=5e-6)
    assert plate_deflection_mm(q, 50, 50, 1.2, 3.5, "simply supported") == pytest.approx(0.02475, abs=5e-6)


@given(sides, sides, st.floats(0.4, 5.0), st.floats(0.5, 8.0))
def test_sides_may_be_named_either_way_and_clamping_stiffens(a, b, t, e):
    assert plate_deflection_mm(500, a, b, t, e) == plate_deflection_mm(500, b, a, t, e)
    assert plate_deflection_mm(500, a, b, t, e) < plate_deflection_mm(500, a, b, t, e, "simply supported")


@given(sides, sides, st.floats(0.4, 5.0), st.floats(0.1, 10.0))
def test_a_plate_scaled_in_all_lengths_bulges_in_proportion_under_the_same_pressure(a, b, t, k):
    # dimensional analysis: deflection over length depends on q/E and the shape only
    small, large = plate_deflection_mm(500, a, b, t, 3), plate_deflection_mm(500, k * a, k * b, k * t, 3)
    assert large == pytest.approx(k * small, rel=1e-9)


@given(st.floats(0.05, 1.0), sides, sides, st.floats(0.4, 5.0), st.floats(1.0, 8.0))
def test_the_deepest_pour_bulges_by_just_the_limit(limit, a, b, t, e):
    depth = pour_depth_for_bulge(limit, a, b, t, e, 1.1)
    assert plate_deflection_mm(head_pressure_pa(depth, 1.1), a, b, t, e) == pytest.approx(limit, rel=1e-9)
    assert pour_depth_for_bulge(limit, a, b, 1.5 * t, e, 1.1) > depth
    assert pour_depth_for_bulge(limit, 1.5 * a, 1.5 * b, t, e, 1.1) < depth


def test_bad_input_says_what_to_give():
    with pytest.raises(ValueError, match="give the longer side first"):
        deflection_coefficient(0.5)
    with pytest.raises(ValueError, match="give the longer side first"):
        deflection_coefficient(float("nan"))
    with pytest.raises(ValueError, match="say 'clamped' or 'simply supported'"):
        deflection_coefficient(1.0, "glued")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="thickness is 0 mm"):
        plate_deflection_mm(500, 50, 50, 0, 3)
    with pytest.raises(ValueError, match="side of the plate is -1 mm"):
        plate_deflection_mm(500, -1, 50, 1.2, 3)
    with pytest.raises(ValueError, match="modulus is inf GPa"):
        pour_depth_for_bulge(0.3, 50, 50, 1.2, inf, 1.1)
