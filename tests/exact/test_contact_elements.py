"""Grip and gap against finite elements of mould and laminate (tests/exact/elements.py).

Sizes and materials are of the size of the job; nobody's published numbers. The laminate is a
carbon or glass braid at one angle, its constants from the program's own micromechanics: what is
judged is how wall and core meet.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray

from mandrelwright.physics import contact, laminate, membrane, micromechanics
from tests.exact.elements import Model, Solid, Strain, isotropic, orthotropic

Array = NDArray[np.float64]

R, T = 0.049, 1.5e-3
PLASTIC, POISSON, EXPANSION = 1.8e9, 0.36, 90e-6
RESIN = micromechanics.Matrix(3e9, 0.35, 65e-6, 1150.0, -0.005)
FIBRES = {
    "carbon": micromechanics.Fibre(230e9, 15e9, 24e9, 0.2, -0.7e-6, 10e-6, 1780.0),
    "glass": micromechanics.Fibre(72e9, 72e9, 30e9, 0.2, 5e-6, 5e-6, 2550.0),
}
CORES = {"solid": (0.0, 0.0), "hollow": (0.75 * R, 0.0), "infilled": (0.875 * R, 0.15)}
WARMED, COOLED = 20.0, -40.0


@dataclass(frozen=True)
class Braid:
    """One braid: shell for the closed forms, stiffness for the elements, free strain per kelvin."""

    shell: contact.Shell
    stiffness: Array
    expansion: Array  # axial, hoop, radial


def braid(fibre: str, degrees: float) -> Braid:
    ply = micromechanics.ply(FIBRES[fibre], RESIN, 0.40)
    angle = np.radians(degrees)
    flat = laminate.pair_stiffness(ply, angle)
    S = np.linalg.inv(flat)
    through = laminate.radial_compliance(ply, np.full((1, 1), angle), np.full((1, 1), T))[0]
    Ex, Eh, Er = 1.0 / S[0, 0], 1.0 / S[1, 1], 1.0 / through[2]
    ratios = -through[1] * Er, -through[0] * Er, -S[1, 0] * Eh
    stiffness = orthotropic((Er, Eh, Ex), ratios, float(ply.G12))
    shell = contact.Shell(
        np.array(T), S[0, 0] / T, S[0, 1] / T, S[1, 1] / T, through[1], through[2]
    )
    free = laminate.pair_free_strain(ply, angle, ply.alpha1, ply.alpha2)
    return Braid(shell, stiffness, free)


def even(strain: float) -> Strain:
    return lambda r, x: (strain + 0.0 * r,) * 3


def wall_strain(made: Braid, change: float) -> Strain:
    axial, hoop, radial = made.expansion * change
    return lambda r, x: (radial + 0.0 * r, hoop + 0.0 * r, axial + 0.0 * r)


def cylinder(
    made: Braid, kind: str, change: float, length: float, mould: Strain | None = None
) -> Model:
    inner, infill = CORES[kind]
    filling = None
    if infill:
        E, share = PLASTIC * infill, contact.TRIANGLES
        flat, nu = share * E, contact.CELL_POISSON
        out = POISSON * share  # ν_rx = ν_xr E_r/E_x
        filling = orthotropic((flat, flat, E), (nu, out, out), 0.3 * flat)
    core = Solid(
        isotropic(PLASTIC, POISSON),
        mould or even(EXPANSION * change),
        lambda x: 0.0 * x + (0.0 if infill else inner),
        lambda x: 0.0 * x + R,
        16,
        filling=filling,
        filled=inner if infill else 0.0,
    )
    wall = Solid(
        made.stiffness,
        wall_strain(made, change),
        lambda x: 0.0 * x + R,
        lambda x: 0.0 * x + R + T,
        2,
    )
    return Model(core, wall, 0.0, length, max(int(length / 2.5e-3), 8))


def core_of(kind: str) -> contact.Core:
    inner, infill = CORES[kind]
    return contact.core(R, inner, PLASTIC, POISSON, infill)


BRAIDS = [("carbon", 45.0), ("carbon", 30.0), ("glass", 55.0)]


@pytest.mark.parametrize("kind", CORES)
@pytest.mark.parametrize(("fibre", "degrees"), BRAIDS)
def test_sliding_cylinder(fibre: str, degrees: float, kind: str) -> None:
    """Both ends free to slide, one held axially: the state is even along the length."""
    made = braid(fibre, degrees)
    _, hoop, radial = made.expansion
    core = EXPANSION * WARMED
    delta = contact.mismatch(R, T, core, hoop * WARMED, radial * WARMED)
    p = contact.sliding_pressure(delta, R, made.shell, core_of(kind))
    x, found = cylinder(made, kind, WARMED, 0.12).solve("sliding").pressure()
    assert p == pytest.approx(found[len(x) // 2], rel=5e-3)
    cold = cylinder(made, kind, COOLED, 0.12).solve("free").gap()
    delta = contact.mismatch(R, T, EXPANSION * COOLED, hoop * COOLED, radial * COOLED)
    assert -delta == pytest.approx(cold[len(cold) // 2], rel=2e-3)


@pytest.mark.parametrize("kind", CORES)
@pytest.mark.parametrize(("fibre", "degrees"), BRAIDS)
def test_bonded_cylinder(fibre: str, degrees: float, kind: str) -> None:
    """Bonded, ends free, half a metre long: mid-length is a generalised plane strain."""
    made = braid(fibre, degrees)
    axial, hoop, _ = made.expansion
    p, _ = contact.stuck(
        (EXPANSION - hoop) * WARMED, (EXPANSION - axial) * WARMED, R, made.shell, core_of(kind)
    )
    x, found = cylinder(made, kind, WARMED, 0.5).solve("bonded").pressure()
    assert p == pytest.approx(found[len(x) // 2], rel=0.03)


@pytest.mark.parametrize("kind", CORES)
def test_a_mould_that_has_cooled_outside_only(kind: str) -> None:
    """A parabola of temperature, as in a transient: only means over the section count."""
    made = braid("glass", 55.0)
    inner, infill = CORES[kind]

    def change(r: Array) -> Array:
        return -40.0 * (r / R) ** 2

    model = cylinder(made, kind, COOLED, 0.4, lambda r, x: (EXPANSION * change(r),) * 3)
    found = model.solve("free").gap()

    def mean(a: float, b: float) -> float:
        return -40.0 * 0.5 * (b**4 - a**4) / (b**2 - a**2) / R**2 if b > a else 0.0

    filling = mean(0.0, inner) if infill else 0.0
    core = contact.core_strain(core_of(kind), EXPANSION, mean(inner, R), filling)
    _, hoop, radial = made.expansion * COOLED
    delta = contact.mismatch(R, T, core, hoop, radial)
    assert -delta == pytest.approx(found[len(found) // 2], rel=5e-3)


SLOPE = np.tan(np.radians(10.0))
TIP, BASE = 0.12, 0.30  # x from the apex of the cone
COLUMNS = 90


def cone(made: Braid, change: float) -> Model:
    core = Solid(
        isotropic(PLASTIC, POISSON), even(EXPANSION * change), lambda x: 0.0 * x,
        lambda x: SLOPE * x, 16,
    )  # fmt: skip
    skin = Solid(
        made.stiffness, wall_strain(made, change), lambda x: SLOPE * x,
        lambda x: SLOPE * x + T, 2, square=True,
    )  # fmt: skip
    return Model(core, skin, TIP, BASE, COLUMNS, SLOPE)


def seat(made: Braid, x: Array) -> membrane.Seat:
    one = np.ones_like(x)
    shell = contact.Shell(
        *(one * v for v in (made.shell.thickness, made.shell.S_xx, made.shell.S_xh,
                            made.shell.S_hh, made.shell.hoop_radial, made.shell.radial))
    )  # fmt: skip
    core = contact.core(SLOPE * x, 0.0, PLASTIC, POISSON)
    norm = np.hypot(1.0, SLOPE)
    return membrane.Seat(x, SLOPE * x, one * SLOPE / norm, one / norm, shell, core)


def test_free_cone() -> None:
    """Both held axially at the base end of the surface between them; gap within 1 µm."""
    made = braid("glass", 55.0)
    solved = cone(made, COOLED).solve("free")
    axial, hoop, radial = made.expansion * COOLED
    x, norm = solved.x, np.hypot(1.0, SLOPE)
    delta = contact.mismatch(SLOPE * x, T / norm, EXPANSION * COOLED, hoop, radial)
    one = np.ones_like(x)
    shortens = contact.along_axis(x, SLOPE * x, axial * one, hoop * one)
    drift = contact.axial_drift(x, EXPANSION * COOLED - shortens)
    gap = contact.cone_gap(delta, drift - drift[-1], SLOPE / norm, 1.0 / norm, 0.0)
    away = (x > TIP + 0.02) & (x < BASE - 0.02)
    assert np.abs(gap - solved.gap())[away].max() < 1e-6


@pytest.mark.parametrize(("fibre", "degrees"), BRAIDS)
def test_sliding_cone(fibre: str, degrees: float) -> None:
    """Gripping and frictionless, mould and part held axially at the base: pressure within 5 %."""
    made = braid(fibre, degrees)
    axial, hoop, radial = made.expansion * WARMED
    middle, found = cone(made, WARMED).solve("sliding").pressure()
    x = np.linspace(TIP, BASE, 401)
    norm = np.hypot(1.0, SLOPE)
    delta = contact.mismatch(SLOPE * x, T / norm, EXPANSION * WARMED, hoop, radial)
    excess = np.full_like(x, EXPANSION * WARMED - axial)
    grip = membrane.grip(seat(made, x), delta, excess, 0.0, "base")
    away = (middle > TIP + 0.02) & (middle < BASE - 0.02)
    ours = np.interp(middle, x, grip.pressure)
    assert ours[away] == pytest.approx(found[away], rel=0.05)
