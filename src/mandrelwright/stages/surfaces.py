"""The surfaces of the layers: built up from a mould, and the mould found below a drawn surface."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mandrelwright.physics.curves import Curve, Meridian
from mandrelwright.stages.layers import Layer, PlanError
from mandrelwright.stages.shape import LEAST_RADIUS, Shape

Array = NDArray[np.float64]

RAMP_NODES = 11
CLOSEST_NODES = 5e-5  # m
DENSE = 1500  # stations of the first, pointwise look along the part
CORRECTIONS = 8
CLOSED = 2e-10  # m: built-up surface against the wanted one
OPEN = 1e-9  # m: a build-up that misses by more has not closed
THICKER_STARTS = 16


def mould_under(
    shape: Shape, layers: list[Layer], scale: float, places: int
) -> tuple[float | None, Meridian, Curve, float]:
    """The mould below the layers it makes room for, from where it is thick enough.

    Near a place where the mould vanishes its meridian turns square to the axis and no normal
    leads back; the start then moves to a thicker core until the build-up closes.
    """
    room = [layer for layer in layers if layer.room]
    least = LEAST_RADIUS
    for _ in range(THICKER_STARTS):
        start, vanishes = _first_station(shape, room, scale, least)
        x = _stations(shape, layers, start, places)
        meridian, wanted = _on_grid(shape, scale, x)
        mould, closure = _solve_mould(meridian, wanted, room) if room else (wanted, 0.0)
        if closure < OPEN:
            break
        least *= 1.3
    return vanishes, meridian, mould, closure


def build(
    meridian: Meridian, mould: Curve, layers: list[Layer], ramp: float | None = None
) -> tuple[list[Curve], Array]:
    """Lay every layer on the surface below it, along that surface's own normals.

    Returns the surfaces (mould first) and the thicknesses (layer, place), m. ``ramp``
    replaces every layer's own ramp length.
    """
    surfaces, thickness = [mould], []
    for layer in layers:
        below = surfaces[-1]
        tangent = meridian.tangent(below)
        t = layer.over(below.r, tangent.cosine, layer.share(below.x, ramp))
        surfaces.append(below.moved(tangent, t))
        thickness.append(t)
    return surfaces, np.array(thickness)


def _solve_mould(meridian: Meridian, wanted: Curve, layers: list[Layer]) -> tuple[Curve, float]:
    """The mould on which the layers build up to the wanted surface, and the misfit left (m).

    A step d outside needs d·r_out/r_in at the mould, because a layer's area is conserved.
    """
    mould = wanted
    for layer in reversed(layers):
        tangent = meridian.tangent(mould)
        t = layer.under(mould.r, tangent.cosine, layer.share(mould.x))
        mould = mould.moved(tangent, -t)
    misfit = np.inf
    for _ in range(CORRECTIONS):
        outer = build(meridian, mould, layers)[0][-1]
        gap = meridian.distance(outer, wanted)
        misfit = float(np.abs(gap).max())
        if not np.isfinite(misfit):
            return mould, np.inf
        if misfit < CLOSED:
            break
        mould = mould.moved(meridian.tangent(mould), -gap * outer.r / mould.r)
    return mould, misfit


def peel_pointwise(shape: Shape, layers: list[Layer], scale: float, x: Array) -> Array:
    """Mould radius at x with the drawn slope for every layer, NaN where the axis is reached.

    Good to micrometres; used to look before the exact solution. x (place,), m.
    """
    r, slope = shape.profile(x)
    r, cosine = scale * r, 1.0 / np.hypot(1.0, scale * slope)
    for layer in reversed(layers):
        t = layer.under(r, cosine, layer.share(x))
        r = r - t * cosine
    return r


def build_pointwise(radius: Array, cosine: Array, layers: list[Layer], x: Array) -> Array:
    """Outside radius at x over a mould of given radius, with one slope for every layer."""
    for layer in layers:
        t = layer.over(radius, cosine, layer.share(x))
        radius = radius + t * cosine
    return radius


def _first_station(
    shape: Shape, room: list[Layer], scale: float, least: float
) -> tuple[float, float | None]:
    """Where the mould is first thick enough, and where it vanishes (None when it never does)."""
    x = np.linspace(shape.start, shape.stop, DENSE)
    mould = peel_pointwise(shape, room, scale, x)
    gone = np.flatnonzero(~np.isfinite(mould))
    thin = np.flatnonzero(~(mould >= least * (1.0 - 1e-9)))
    vanishes = float(x[gone[-1]]) if len(gone) else None
    if len(thin) == 0:
        return shape.start, vanishes
    if thin[-1] == len(x) - 1:
        raise PlanError(
            "the layers leave no mould at the base", "use fewer or lighter layers, or a larger part"
        )
    return float(x[thin[-1] + 1]), vanishes


def _stations(shape: Shape, layers: list[Layer], start: float, places: int) -> Array:
    """x of all places: cosine spacing on every piece, about ten more on every ramp."""
    length = shape.stop - start
    nodes = []
    for piece in shape.pieces:
        low = max(piece.start, start)
        if piece.stop - low <= CLOSEST_NODES:
            continue
        count = max(8, round(places * (piece.stop - low) / length))
        turn = np.linspace(0.0, np.pi, count)
        nodes.append(low + (piece.stop - low) * 0.5 * (1.0 - np.cos(turn)))
    joints = [piece[-1] for piece in nodes]
    for layer in layers:
        for end in (layer.start, layer.stop):
            if np.isfinite(end):
                nodes += [end + layer.ramp * np.linspace(-0.5, 0.5, RAMP_NODES)]
    x = np.unique(np.concatenate(nodes))
    x = x[(x >= start) & (x <= shape.stop)]
    near = np.min(np.abs(x[:, None] - np.array(joints)[None, :]), axis=1)
    fixed = near < 1e-12
    keep = [0]
    for i in range(1, len(x)):
        if x[i] - x[keep[-1]] >= CLOSEST_NODES:
            keep.append(i)
        elif fixed[i]:
            keep[-1] = i
    return np.asarray(x[keep])


def _on_grid(shape: Shape, scale: float, x: Array) -> tuple[Meridian, Curve]:
    """The drawn surface at x, and its arc length as the common parameter of all surfaces."""
    r, _ = shape.profile(x)
    point, weight = np.polynomial.legendre.leggauss(4)
    h = 0.5 * np.diff(x)
    inside = 0.5 * (x[1:] + x[:-1])[:, None] + h[:, None] * point
    slope = shape.profile(inside.ravel())[1].reshape(inside.shape)
    u = np.concatenate(([0.0], np.cumsum(h * (np.hypot(1.0, scale * slope) @ weight))))
    return Meridian(u, _joints(shape, x)), Curve(x, scale * r)


def _joints(shape: Shape, x: Array) -> tuple[int, ...]:
    """Nodes at which smooth pieces meet, so that every piece keeps at least four nodes."""
    joints: list[int] = []
    for piece in shape.pieces[:-1]:
        node = int(np.argmin(np.abs(x - piece.stop)))
        if node - (joints[-1] if joints else 0) >= 3 and node <= len(x) - 4:
            joints.append(node)
    return tuple(joints)
