"""Films laid over a mould: how thin a stretched sleeve gets, and where a flat strip lies."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def stretched_wall(wall: ArrayLike, stretch: ArrayLike) -> tuple[Array, Array]:
    """Thinnest and thickest wall of a tube stretched over a mould: w/λ and w/√λ, m.

    Volume is conserved: the tube held to its length thins by λ, free to shorten by √λ.
    ``wall`` w before, m; ``stretch`` λ, mould over tube diameter. Exact for a material that keeps
    its volume; where between the two depends on how it is pulled on.
    """
    w, stretched = np.asarray(wall, float), np.asarray(stretch, float)
    return np.asarray(w / stretched), np.asarray(w / np.sqrt(stretched))


def strip_strain(x: ArrayLike, radius: ArrayLike, width: float) -> Array:
    """Strain of a flat strip wound around a surface of revolution, at every place.

    ε = |r(s) − ½[r(s − b/2) + r(s + b/2)]|/r(s): a strip is a piece of cone, whose radius is
    straight along the meridian s; what the surface departs from it must be stretched or pleated.
    ``x``, ``radius`` (place,) of the meridian, m; ``width`` b of the strip, m. Near an end the
    strip is as wide as there is room on both sides. Zero on cylinders and cones; b²|κ|/(8 r) on a
    meridian of curvature κ.
    """
    x, r = np.asarray(x, float), np.asarray(radius, float)
    s = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(r)))])
    half = np.minimum(0.5 * width, np.minimum(s, s[-1] - s))
    chord = 0.5 * (np.interp(s - half, s, r) + np.interp(s + half, s, r))
    return np.asarray(np.abs(r - chord) / r)
