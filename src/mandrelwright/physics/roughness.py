"""Roughness of printed layer lines, and what levelling them does to a diameter."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

SCALLOP_RA = 4.0 / (9.0 * np.sqrt(3.0))  # Ra of a parabolic scallop over its height, exact
PEAK_TO_MEAN = 1.0 / 3.0  # of a convex parabolic scallop's height, exact


def layer_line_roughness(
    layer: ArrayLike,
    slope: ArrayLike,
    wall_factor: ArrayLike,
    step_factor: ArrayLike,
    floor: ArrayLike,
) -> Array:
    """Ra of a surface printed upright: Ra = √[(k_w t)² + (k_s t |sin β|/4)²] + Ra0.

    ``layer`` t in m; ``slope`` β in rad, the angle between surface and build axis (0 is a
    vertical wall); ``wall_factor`` k_w and ``step_factor`` k_s (1 is a sharp staircase)
    without unit; ``floor`` Ra0 in m. All broadcast; returns m.
    Validity: outer walls from vertical to about 70 degrees; published models differ by half
    away from vertical, which belongs in the spread of k_s. Source: the staircase term is the
    exact Ra of a sawtooth of cusp height t sin β (Dolenc & Maekelae 1994, from memory); the
    combination with a vertical-wall term is an assumption of this project.

    >>> round(float(layer_line_roughness(0.2e-3, 0.0, 0.065, 0.6, 1e-6)) * 1e6, 1)
    14.0
    """
    t = np.asarray(layer, float)
    step = np.asarray(step_factor) * t * np.sin(slope) / 4.0
    return np.asarray(np.hypot(np.asarray(wall_factor) * t, step) + np.asarray(floor))


def scallop_height(roughness: ArrayLike) -> Array:
    """Peak-to-valley height of the parabolic scallops whose Ra is given: h = (9√3/4) Ra, m."""
    return np.asarray(np.asarray(roughness, float) / SCALLOP_RA)


def levelled_share(time: ArrayLike, time_constant: ArrayLike) -> Array:
    """Share of the layer lines that has levelled: 1 − e^(−t/τ); both in s.

    The remaining roughness is R(t) = R_inf + (R0 − R_inf)·(1 − share). Validity: a softened
    skin levelling by surface tension, τ from this builder's own coupons.
    """
    return np.asarray(-np.expm1(-np.asarray(time, float) / np.asarray(time_constant, float)))


def levelling_loss(height: ArrayLike, share: ArrayLike) -> Array:
    """What a caliper reads less on the diameter: 2 (h/3)·share, scallop height h in m.

    Levelling keeps the mean line; a caliper rides on the peaks, h/3 above it on both sides.
    Run-off and densification come on top and only a coupon tells them.

    >>> round(float(levelling_loss(scallop_height(0.0708 * 0.2e-3), 1.0)) * 1e3, 3)
    0.037
    """
    return np.asarray(2.0 * PEAK_TO_MEAN * np.asarray(height, float) * np.asarray(share, float))


def remaining_roughness(before: ArrayLike, left: ArrayLike, share: ArrayLike) -> Array:
    """Ra after levelling: R = R_inf + (R0 − R_inf)(1 − share), never rougher than before; m.

    ``before`` R0 and ``left`` R_inf Ra in m, ``share`` levelled. All broadcast.
    """
    rough, smooth = np.asarray(before, float), np.asarray(left, float)
    return np.asarray(np.minimum(rough, smooth + (rough - smooth) * (1.0 - np.asarray(share))))


def sanded_roughness(height: ArrayLike, off: ArrayLike) -> Array:
    """Ra of parabolic scallops whose peaks are cut flat: (4h/3)[((1 + 2k³)/3)^(3/2) − k³].

    k = √(off/h), the share of the surface that is flat; ``height`` h of the scallop and ``off``
    from its peaks in m. Exact for that form: SCALLOP_RA h uncut, nothing once off reaches h.

    >>> round(float(sanded_roughness(40e-6, 0.0)) * 1e6, 2)
    10.26
    """
    h = np.asarray(height, float)
    share = np.divide(np.asarray(off, float), h, out=np.ones_like(h), where=h > 0.0)
    k3 = np.clip(share, 0.0, 1.0) ** 1.5
    return np.asarray(4.0 / 3.0 * h * (((1.0 + 2.0 * k3) / 3.0) ** 1.5 - k3))
