"""Turned solids put together by the geometry kernel, checked before anybody sees them."""

from __future__ import annotations

import math
from collections.abc import Iterable

import manifold3d
import numpy as np
from numpy.typing import NDArray

from mandrelwright.out.solid import (
    CHORD,
    MILLIMETRE,
    Mesh,
    facets_of,
    polygon_factor,
    verify,
    weld,
)
from mandrelwright.stages.turned import Turned

Floats = NDArray[np.float64]


def turn(solid: Turned, facets: int | None = None) -> manifold3d.Manifold:
    """A turned solid in millimetres: ``facets`` at equal area, or as many as stay within 5 µm."""
    line = solid.contour
    count = facets or facets_of(float(line[:, 0].max()), CHORD)
    angle = 2.0 * math.pi * np.arange(count) / count
    around = polygon_factor(count) * np.column_stack([np.cos(angle), np.sin(angle)])
    vertices = np.empty((len(line), count, 3))
    vertices[..., :2] = line[:, None, :1] * around + (solid.x, solid.y)
    vertices[..., 2] = line[:, 1:]
    ring = np.arange(vertices.size // 3).reshape(vertices.shape[:2])
    on_axis = line[:, 0] == 0.0
    ring[on_axis] = ring[on_axis, :1]
    here, turned = ring, np.roll(ring, -1, axis=1)
    above, above_turned = np.roll(here, -1, axis=0), np.roll(turned, -1, axis=0)
    lower = np.stack([here, turned, above_turned], axis=-1).reshape(-1, 3)
    upper = np.stack([here, above_turned, above], axis=-1).reshape(-1, 3)
    triangles = np.concatenate([lower, upper])
    triangles = triangles[np.all(triangles != np.roll(triangles, 1, axis=1), axis=1)]
    used, numbers = np.unique(triangles, return_inverse=True)
    points = vertices.reshape(-1, 3)[used] / MILLIMETRE
    return _manifold(points, numbers.reshape(-1, 3))


def put_together(
    body: Turned,
    takes: Iterable[Turned | manifold3d.Manifold],
    adds: Iterable[Turned],
    genus: int,
    facets: int | None = None,
) -> Mesh:
    """The body, of so many ``facets``, less what is taken, with what is added, as a checked mesh.

    Raises SolidError unless it is closed, outward, one piece and of the genus counted beforehand.
    """
    whole = turn(body, facets)
    cutters = [turn(solid) if isinstance(solid, Turned) else solid for solid in takes]
    if cutters:
        whole -= manifold3d.Manifold.batch_boolean(cutters, manifold3d.OpType.Add)
    for solid in adds:
        whole += turn(solid)
    mesh = whole.to_mesh64()
    corners = np.asarray(mesh.vert_properties)[:, :3].astype(np.float32)
    welded = weld(corners, np.asarray(mesh.tri_verts).astype(np.int64))
    verify(welded, genus)
    return welded


def _manifold(points: Floats, triangles: NDArray[np.int64]) -> manifold3d.Manifold:
    mesh = manifold3d.Mesh64(np.ascontiguousarray(points), triangles.astype(np.uint64))
    return manifold3d.Manifold(mesh)
