"""Flat patterns of cloth: a surface of revolution unrolled about one of its meridians.

Every parallel of the surface becomes an arc of its true length, drawn with the radius it has
on the cone that touches the surface there (the polyconic map of cartography). On a cylinder
that is the rectangle and on a cone the annular sector, both exact; on a surface that curves
both ways the centre line and all parallels keep their lengths, and what is left over is a
strain along the meridians that grows with the square of the distance from the centre line.

Symbols: s arc length along the meridian from tip to base, r radius, β slope angle of the
surface (sin β = dr/ds), ψ azimuth from the piece's centre line, θ = ψ sin β angle by which the
unrolled meridian is turned, φ angle of the warp from the meridian, positive towards +ψ.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def unroll(arc: ArrayLike, radius: ArrayLike, sine: ArrayLike, azimuth: ArrayLike) -> Array:
    """Flat place of a point of the surface: X = s − (r/sin β)(1 − cos θ), Y = (r/sin β) sin θ.

    arc, radius in m, sine = sin β, azimuth in rad, broadcast; returns (..., 2) in m, X along the
    centre line towards the base, Y towards growing azimuth, seen from outside. sin β may be 0.
    Exact on cylinders and cones for any azimuth; see ``leftover`` for other surfaces.
    >>> [float(y) for y in np.round(unroll(0.1, 0.03, 0.0, np.pi), 6)]
    [0.1, 0.094248]
    """
    r, a = np.asarray(radius, float), np.asarray(sine, float)
    psi = np.asarray(azimuth, float)
    theta = psi * a
    half = np.sinc(theta / (2.0 * np.pi))  # sin(θ/2)/(θ/2)
    x = np.asarray(arc, float) - r * psi * 0.5 * theta * half**2
    y = r * psi * np.sinc(theta / np.pi)
    return np.stack(np.broadcast_arrays(x, y), axis=-1)


def leftover(radius: ArrayLike, sine: ArrayLike, turning: ArrayLike, azimuth: ArrayLike) -> Array:
    """Strain that lying down takes out of the flat cloth, along the meridian at an azimuth.

    ε = −(1 − cos θ)/θ²·ψ² r d(sin β)/ds: by so much the flat piece is longer there than the
    surface; zero on cylinders and cones, negative where the surface is hollow. The parallels
    keep their lengths exactly, and the shear is smaller by θ/3.
    radius in m, turning = d(sin β)/ds in 1/m, azimuth in rad, broadcast.
    """
    psi = np.asarray(azimuth, float)
    theta = psi * np.asarray(sine, float)
    half = np.sinc(theta / (2.0 * np.pi))
    bend = np.asarray(radius, float) * np.asarray(turning, float)
    return np.asarray(-0.5 * half**2 * psi**2 * bend)


def ply_angle(warp: ArrayLike, sine: ArrayLike, azimuth: ArrayLike) -> Array:
    """Angle of the warp from the local meridian on the laid piece: φ = φ0 − ψ sin β (rad).

    warp φ0 from the piece's centre line. On a cone it turns with azimuth, on a cylinder not.
    """
    return np.asarray(np.asarray(warp, float) - np.asarray(azimuth) * np.asarray(sine, float))


def outline_area(outline: Array) -> float:
    """Area inside a closed outline (n, 2), by the shoelace formula, m²."""
    x, y = outline[:, 0], outline[:, 1]
    return 0.5 * abs(float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1))))


def extent(outline: Array, direction: float) -> tuple[float, float]:
    """Length of an outline (n, 2) along and across a direction (rad from its X axis), m."""
    along = np.array([np.cos(direction), np.sin(direction)])
    across = np.array([-along[1], along[0]])
    return float(np.ptp(outline @ along)), float(np.ptp(outline @ across))
