"""From a print profile to one closed solid: a wall of rings, its through holes and two flat faces.

A through hole parallel to the axis meets only the two faces, so the solid needs no boolean: each
wall is a grid of rings, each face a polygon with holes, and both share their vertices by number.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import manifold3d
import numpy as np
from numpy.typing import NDArray

from mandrelwright.stages.print import PrintForm
from mandrelwright.stages.turned import decimate

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

CHORD = 5e-6  # m; the mesh stays within this of the profile's surface of revolution
FEWEST_FACETS = 16  # of any circle, however small
MILLIMETRE = 1e-3  # m


class SolidError(RuntimeError):
    """A mesh is not one closed, outward solid with the expected number of through holes."""


@dataclass(frozen=True, eq=False)
class Mesh:
    """Triangles of a solid in millimetres, base at z = 0.

    `vertices_mm` is (n, 3) float32, no two alike; `triangles` is (m, 3) int64, vertex numbers
    counter-clockwise as seen from outside.
    """

    vertices_mm: NDArray[np.float32]
    triangles: Integers


def make_solid(form: PrintForm, chord: float = CHORD) -> Mesh:
    """Turn a print profile, its flange and its holes into one closed solid.

    The profile loses points that lie within a quarter of `chord` (m) of the line between their
    neighbours.  Circles become polygons of facets whose sagitta is at most `chord` at the largest
    radius, at equal area (see `polygon_factor`).  The pull-rod hole is on the axis; the vent is
    beside it, midway to the smallest radius, or on the axis when there is no rod.  A last radius of
    zero makes a point.
    Raises ValueError when the form makes no solid or a hole leaves less than 2 mm of wall, and
    SolidError when the result is not closed, outward and in one piece with just these holes.
    """
    _check_form(form)
    outline = _outline(form, chord)
    holes = form.holes()
    ends = outline[[0, -1], 1]
    walls = [_wall_vertices(outline[:, 0], outline[:, 1], 0.0, chord)]
    walls += [_wall_vertices(np.full(2, d / 2), ends, x, chord) for x, d in holes]
    mesh = _close(walls)
    verify(mesh, len(holes))
    return mesh


def polygon_factor(facets: int) -> float:
    """Circumradius of a regular polygon over the radius of the circle of equal area.

    k = [n/(2π) · sin(2π/n)]^(-1/2), from the polygon's area (n/2)(kR)² sin(2π/n) = πR².
    """
    return 1 / math.sqrt(facets / (2 * math.pi) * math.sin(2 * math.pi / facets))


def weld(vertices: NDArray[np.float32], triangles: Integers) -> Mesh:
    """Merge vertices (n, 3) equal in float32 and drop triangles that lose a corner by it."""
    unique, inverse = np.unique(vertices, axis=0, return_inverse=True)
    corners = inverse.reshape(-1)[triangles]
    whole = np.all(corners != np.roll(corners, 1, axis=1), axis=1)
    return Mesh(unique, corners[whole])


def volume(mesh: Mesh) -> float:
    """Volume in m³ of a closed mesh: V = Σ a·(b × c)/6 over its triangles (divergence theorem)."""
    a, b, c = (mesh.vertices_mm[mesh.triangles[:, corner]].astype(float) for corner in range(3))
    return float(np.sum(a * np.cross(b, c))) / 6 * MILLIMETRE**3


def verify(mesh: Mesh, holes: int) -> None:
    """Raise SolidError unless the mesh is closed, outward, one piece, with `holes` through holes.

    Closed and oriented: every directed edge occurs once, and so does its reverse.  Holes by
    Euler and Poincaré: V - E + F = 2 - 2 holes, with E = 3F/2.
    """
    start = mesh.triangles
    count = len(mesh.vertices_mm)
    stop = np.roll(start, -1, axis=1)
    directed = np.sort((start * count + stop).ravel())
    reverse = np.sort((stop * count + start).ravel())
    if not np.array_equal(directed, reverse) or np.any(directed[1:] == directed[:-1]):
        raise SolidError("the mesh is open or its triangles disagree on which side is out")
    found = 1 - (count - len(mesh.triangles) / 2) / 2
    if found != holes:
        raise SolidError(f"the mesh has {found:g} through holes where {holes} were asked for")
    kernel = manifold3d.Mesh(mesh.vertices_mm, mesh.triangles.astype(np.uint32))
    pieces = len(manifold3d.Manifold(kernel).decompose())
    if pieces != 1 or volume(mesh) <= 0:
        raise SolidError(f"the mesh has {pieces} pieces and {volume(mesh) * 1e9:.3f} mm³")


def _check_form(form: PrintForm) -> None:
    height, radius = np.asarray(form.height), np.asarray(form.radius)
    if height.ndim != 1 or height.shape != radius.shape or height.size < 2:
        raise ValueError(f"height {height.shape} and radius {radius.shape} must be equal rows")
    if not (np.all(np.isfinite(height)) and np.all(np.diff(height) > 0) and height[0] == 0):
        raise ValueError("height must be finite, start at 0 and increase")
    if not (np.all(np.isfinite(radius)) and np.all(radius[:-1] > 0) and radius[-1] >= 0):
        raise ValueError(f"radius must be finite and positive; its least is {np.min(radius):g} m")
    narrowest = 2.0 * float(np.min(radius))
    for name, needed in form.hole_room():
        if needed > narrowest:
            raise ValueError(
                f"the {name} needs {_mm(needed)} of diameter with its walls; the narrowest place "
                f"has {_mm(narrowest)}: make it smaller, leave it out, or end the part where it "
                "is wider"
            )
    if form.flange is not None:
        flange, thickness = form.flange
        if not (flange > radius[0] and thickness > 0):
            raise ValueError(
                f"a flange of {_mm(2 * flange)} diameter and {_mm(thickness)} thickness: it must "
                f"have thickness and be wider than the {_mm(2 * radius[0])} base that stands on it"
            )


def _outline(form: PrintForm, chord: float) -> Floats:
    """Radius and height (k, 2) of the outer wall from the bottom face up, m."""
    profile = np.column_stack([form.radius, form.height]).astype(float)
    profile = decimate(profile, chord / 4.0)
    if form.flange is None:
        return profile
    radius, thickness = form.flange
    profile[:, 1] += thickness
    return np.vstack([[radius, 0.0], [radius, thickness], profile])


def facets_of(radius: float, chord: float) -> int:
    """Facets of a circle: sagitta R(1 - cos(π/n)) at most `chord`, a multiple of four."""
    half_angle = math.acos(max(0.0, 1 - chord / radius))
    return max(FEWEST_FACETS, 4 * math.ceil(math.pi / half_angle / 4))


def _wall_vertices(radius: Floats, height: Floats, centre: float, chord: float) -> Floats:
    """Vertices (ring, facet, 3) in millimetres of a wall round (centre, 0), bottom up."""
    facets = facets_of(float(np.max(radius)), chord)
    turn = [2 * math.pi * i / facets for i in range(facets)]
    unit = polygon_factor(facets) * np.array([[math.cos(t), math.sin(t)] for t in turn])
    vertices = np.empty((len(radius), facets, 3))
    vertices[..., :2] = radius[:, None, None] * unit
    vertices[..., 0] += centre
    vertices[..., 2] = height[:, None]
    return vertices / MILLIMETRE


def _close(walls: list[Floats]) -> Mesh:
    """Join the outer wall (first) and the walls of the holes by a bottom and a top face."""
    vertices = np.concatenate([wall.reshape(-1, 3) for wall in walls]).astype(np.float32)
    sizes = [wall.shape[0] * wall.shape[1] for wall in walls]
    first = np.cumsum([0, *sizes[:-1]])
    grids = [
        start + np.arange(size).reshape(wall.shape[:2])
        for start, size, wall in zip(first, sizes, walls, strict=True)
    ]
    grids[1:] = [grid[:, ::-1] for grid in grids[1:]]  # a hole is walked the other way round
    triangles = [_wall_triangles(grid) for grid in grids]
    triangles.append(_face_triangles(vertices, [grid[-1] for grid in grids]))
    triangles.append(_face_triangles(vertices, [grid[0] for grid in grids])[:, ::-1])
    return weld(vertices, np.concatenate(triangles))


def _wall_triangles(grid: Integers) -> Integers:
    """Two triangles for each cell of a grid (ring, facet) of vertex numbers, rings bottom up."""
    turned = np.roll(grid, -1, axis=1)
    low, low_next, high, high_next = grid[:-1], turned[:-1], grid[1:], turned[1:]
    lower = np.stack([low, low_next, high_next], axis=-1)
    upper = np.stack([low, high_next, high], axis=-1)
    return np.concatenate([lower.reshape(-1, 3), upper.reshape(-1, 3)])


def _face_triangles(vertices: NDArray[np.float32], loops: list[Integers]) -> Integers:
    """Triangles, counter-clockwise from above, of the outer loop less the holes' loops."""
    polygons = [vertices[loop, :2].astype(float) for loop in loops]
    triangles: Integers = np.concatenate(loops)[manifold3d.triangulate(polygons)]
    return triangles


def _mm(length: float) -> str:
    return f"{length / MILLIMETRE:.4g} mm"
