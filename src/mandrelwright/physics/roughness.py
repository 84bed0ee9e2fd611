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
