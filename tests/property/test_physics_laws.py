"""Laws that hold for any sensible laminate, profile or reading."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mandrelwright.physics.laminate import (
    engineering_constants,
    pair_free_strain,
    pair_stiffness,
    reduced_stiffness,
    rotated_stiffness,
)
from mandrelwright.physics.micromechanics import Fibre, Matrix, Ply, ply
from mandrelwright.physics.profiles import nose
from mandrelwright.physics.uncertainty import condition, propagate

few = settings(max_examples=40, deadline=None)
angles = st.floats(0.0, np.pi / 2)


@st.composite
def plies(draw: st.DrawFn) -> Ply:
    """Plies of any fibre from aramid to carbon, any laminating resin, any packing."""
    E1 = draw(st.floats(60e9, 400e9))
    across = draw(st.floats(5e9, 80e9).filter(lambda E2: E2 <= E1))
    fibre = Fibre(
        E1=E1,
        E2=across,
        G12=draw(st.floats(2e9, 40e9)),
        nu12=draw(st.floats(0.15, 0.40)),
        alpha1=draw(st.floats(-5e-6, 6e-6)),
        alpha2=draw(st.floats(5e-6, 60e-6)),
        density=1800.0,
    )
    resin = Matrix(
        E=draw(st.floats(2e9, 4.5e9)),
        nu=draw(st.floats(0.30, 0.42)),
        alpha=draw(st.floats(40e-6, 100e-6)),
        density=1150.0,
        cure=draw(st.floats(-0.012, -0.001)),
    )
    return ply(fibre, resin, draw(st.floats(0.2, 0.7)))


@few
@given(plies(), angles)
def test_stiffness_is_positive_definite(one: Ply, angle: float) -> None:
    for stiffness in (
        rotated_stiffness(reduced_stiffness(one.E1, one.E2, one.G12, one.nu12), angle),
        pair_stiffness(one, angle),
    ):
        np.testing.assert_array_equal(stiffness, stiffness.T)
        assert np.linalg.eigvalsh(stiffness).min() > 0.0


@few
@given(plies(), angles)
def test_rotation_keeps_its_invariants(one: Ply, angle: float) -> None:
    """Q11 + Q22 + 2 Q12 and Q66 − Q12 do not turn (Tsai & Pagano 1968)."""
    Q = reduced_stiffness(one.E1, one.E2, one.G12, one.nu12)
    before, after = (
        np.array([M[0, 0] + M[1, 1] + 2.0 * M[0, 1], M[2, 2] - M[0, 1]])
        for M in (Q, rotated_stiffness(Q, angle))
    )
    np.testing.assert_allclose(after, before, rtol=1e-10, atol=1e-12 * Q[0, 0])


@few
@given(plies(), angles)
def test_pair_lies_between_its_plies(one: Ply, angle: float) -> None:
    Q = pair_stiffness(one, angle)
    Ex, Ey, _, _ = engineering_constants(Q * 1e-3, 1e-3)
    assert max(Ex, Ey) <= one.E1 * (1 + 1e-9)
    free = pair_free_strain(one, angle, 1.0, 1.0)
    np.testing.assert_allclose(free, 1.0, rtol=1e-9)  # a ply that only grows grows freely


@st.composite
def readings(draw: st.DrawFn) -> tuple[np.ndarray, ...]:
    """A covariance of k inputs and m readings of mixed quality."""
    generator = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    k, m = draw(st.integers(1, 6)), draw(st.integers(1, 4))
    root = generator.standard_normal((k, k)) * 10.0 ** generator.uniform(-4, 1, (k, 1))
    H, y = generator.standard_normal((m, k)), generator.standard_normal(m)
    return np.zeros(k), root @ root.T, H, y, np.diag(10.0 ** generator.uniform(-8, 1, m))


@few
@given(readings())
def test_reading_never_widens(case: tuple[np.ndarray, ...]) -> None:
    mean, V, H, y, R = case
    _, posterior = condition(mean, V, H, y, R)
    np.testing.assert_array_equal(posterior, posterior.T)
    scale = np.trace(V)
    assert np.linalg.eigvalsh(V - posterior).min() >= -1e-9 * scale
    assert np.linalg.eigvalsh(posterior).min() >= -1e-12 * scale
    assert np.all(np.diag(posterior) >= 0.0)


@few
@given(readings())
def test_spread_after_a_reading_is_that_of_any_linear_result(
    case: tuple[np.ndarray, ...],
) -> None:
    mean, V, H, y, R = case
    c = H[0]
    before = propagate(lambda x: x @ c, mean, V).spread
    after = propagate(lambda x: x @ c, *condition(mean, V, H, y, R)).spread
    assert after <= before * (1 + 1e-6)


KINDS = st.one_of(
    st.tuples(st.sampled_from(["cone", "tangent ogive", "ellipsoid", "von Karman"]), st.none()),
    st.tuples(st.just("parabola"), st.floats(0.0, 1.0)),
    st.tuples(st.just("power"), st.floats(0.3, 1.0)),
    st.tuples(st.just("Haack"), st.floats(0.0, 2.0 / 3.0)),
)


@few
@given(KINDS, st.floats(1.5, 8.0), st.floats(0.01, 0.2))
def test_noses_only_grow(shape: tuple[str, float | None], slenderness: float, R: float) -> None:
    kind, parameter = shape
    L = 2.0 * R * slenderness
    x = L * np.sin(0.5 * np.pi * np.linspace(0.0, 1.0, 101)) ** 2
    r, slope = nose(kind, x, L, R, parameter)
    assert r[0] == 0.0
    assert r[-1] == pytest.approx(R, rel=1e-12)
    assert np.all(np.diff(r) > -1e-15)
    assert np.all(slope > -1e-12)
    assert np.all(r >= R * x / L * (1 - 1e-12))  # none is thinner than the cone
