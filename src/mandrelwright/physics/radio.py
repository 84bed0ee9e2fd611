"""Plane radio waves through a layered wall that loses and conducts, by transfer matrices.

Time runs as e^{+jωt}: a medium has the relative permittivity ε = ε'(1 − j tan δ) − jσ/(ωε₀), its
imaginary part negative where it loses.  TE: electric field along the wall; TM: magnetic.
Validity: a flat wall, wide against the wavelength; a curved wall close to an antenna is neither.
Source of the method: Born & Wolf, Principles of Optics, section 1.6 (from memory).
"""

from __future__ import annotations

import math
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]
Wave = Literal["TE", "TM"]

LIGHT = 299_792_458.0  # m/s, exact
MAGNETIC = 4e-7 * math.pi  # H/m, within 2e-10 of the measured constant
ELECTRIC = 1.0 / (MAGNETIC * LIGHT**2)  # F/m


class Passed(NamedTuple):
    """Shares of the power sent against a wall; transmission in dB too, which never underflows."""

    transmitted: Array
    reflected: Array
    decibels: Array

    @property
    def absorbed(self) -> Array:
        """What stays in the wall: 1 − T − R."""
        return 1.0 - self.transmitted - self.reflected


def skin_depth(frequency: ArrayLike, conductivity: ArrayLike) -> Array:
    """Depth at which a wave in a good conductor has fallen to 1/e: δ = 1/√(π f μ₀ σ), m.

    frequency f in Hz, conductivity σ in S/m, broadcast; not magnetic, σ ≫ ωε.
    Source: any textbook of electromagnetics (from memory).

    >>> round(float(skin_depth(1e6, 5.8e7)) * 1e6, 1)
    66.1
    """
    f, sigma = np.asarray(frequency, float), np.asarray(conductivity, float)
    return np.asarray(1.0 / np.sqrt(np.pi * f * MAGNETIC * sigma))


def permittivity(
    frequency: ArrayLike,
    relative: ArrayLike,
    loss_tangent: ArrayLike = 0.0,
    conductivity: ArrayLike = 0.0,
) -> Complex:
    """ε = ε'(1 − j tan δ) − jσ/(2πf ε₀), relative, broadcast; f in Hz, σ in S/m."""
    dielectric = np.asarray(relative, float) * (1.0 - 1j * np.asarray(loss_tangent, float))
    angular = 2.0 * np.pi * np.asarray(frequency, float)
    return np.asarray(dielectric - 1j * np.asarray(conductivity, float) / (angular * ELECTRIC))


def mixed(first: ArrayLike, second: ArrayLike, share: ArrayLike) -> Complex:
    """Permittivity of two stuffs mixed at random: ln ε = φ ln ε₁ + (1 − φ) ln ε₂.

    ``share`` φ by volume of the first, permittivities complex or real, broadcast.  Lies between
    layers in series and side by side.  Validity: both of them insulators; for E-glass in epoxy at
    φ of 0.35 to 0.5 it gives 4.1 to 4.6, where laminates are told to have 4.0 to 4.8.
    Source: Lichtenecker's logarithmic rule (from memory).
    """
    one, two = np.log(np.asarray(first, complex)), np.log(np.asarray(second, complex))
    part = np.asarray(share, float)
    return np.asarray(np.exp(part * one + (1.0 - part) * two))


def through(
    frequency: ArrayLike,
    permittivities: ArrayLike,
    thickness: ArrayLike,
    angle: ArrayLike = 0.0,
    wave: Wave = "TE",
) -> Passed:
    """Power through a stack of layers in air: [E, H] carried by a matrix per layer.

    k_z = k₀√(ε − sin²θ), φ = k_z d, q = √(ε − sin²θ) (TE) or ε/√(ε − sin²θ) (TM),
    M = ∏ [[cos φ, j sin φ/q], [j q sin φ, cos φ]], and with q₀ of air on both sides
    t = 2/(M₁₁ + M₁₂q₀ + M₂₁/q₀ + M₂₂), r = (M₁₁ + M₁₂q₀ − M₂₁/q₀ − M₂₂)/(…).
    e^{|Im φ|} is taken out of every layer and put back in decibels, so metal does not overflow.
    ``permittivities`` complex and ``thickness`` (m), (..., layer); ``frequency`` (Hz) and
    ``angle`` θ of incidence (rad, below π/2), (...); layers of no thickness change nothing.
    """
    eps = np.asarray(permittivities, complex)
    sine2 = np.square(np.sin(np.asarray(angle, float)))[..., None]
    root = np.sqrt(eps - sine2)  # principal root: its imaginary part is not positive
    q = root if wave == "TE" else eps / root
    k0 = 2.0 * np.pi * np.asarray(frequency, float)[..., None] / LIGHT
    phase = k0 * root * np.asarray(thickness, float)
    decay = -phase.imag
    ahead, back = np.exp(1j * phase.real), np.exp(-1j * phase.real - 2.0 * decay)
    cosine, sine = 0.5 * (ahead + back), (ahead - back) / 2j
    cos_air = np.cos(np.asarray(angle, float))
    air = cos_air if wave == "TE" else 1.0 / cos_air
    M = _product(cosine, sine, np.broadcast_to(q, phase.shape))
    sums = (M[0] + M[3], M[1] * air + M[2] / air, M[0] - M[3], M[1] * air - M[2] / air)
    below, above = sums[0] + sums[1], sums[2] + sums[3]
    decibels = 20.0 * (np.log10(2.0 / np.abs(below)) - decay.sum(axis=-1) / math.log(10.0))
    return Passed(10.0 ** (decibels / 10.0), np.abs(above / below) ** 2, decibels)


def _product(cosine: Complex, sine: Complex, q: Complex) -> list[Complex]:
    """Elements 11, 12, 21, 22 of the product of all layers' matrices, first layer first."""
    one, none = np.ones(cosine.shape[:-1], complex), np.zeros(cosine.shape[:-1], complex)
    M = [one, none, none, one]
    for layer in range(cosine.shape[-1]):
        c, s, y = cosine[..., layer], sine[..., layer], q[..., layer]
        a, b, d = c, 1j * s / y, 1j * y * s
        M = [
            M[0] * a + M[1] * d,
            M[0] * b + M[1] * a,
            M[2] * a + M[3] * d,
            M[2] * b + M[3] * a,
        ]
    return M
