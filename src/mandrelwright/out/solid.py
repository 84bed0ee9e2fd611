"""Triangle meshes of solids: facets of circles, welding, volume, and what makes one sound."""

from __future__ import annotations

import math
from dataclasses import dataclass

import manifold3d
import numpy as np
from numpy.typing import NDArray

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


def polygon_factor(facets: int) -> float:
    """Circumradius of a regular polygon over the radius of the circle of equal area.

    k = [n/(2π) · sin(2π/n)]^(-1/2), from the polygon's area (n/2)(kR)² sin(2π/n) = πR².
    """
    return 1 / math.sqrt(facets / (2 * math.pi) * math.sin(2 * math.pi / facets))


def facets_of(radius: float, chord: float) -> int:
    """Facets of a circle: sagitta R(1 - cos(π/n)) at most `chord`, a multiple of four."""
    half_angle = math.acos(max(0.0, 1 - chord / radius))
    return max(FEWEST_FACETS, 4 * math.ceil(math.pi / half_angle / 4))


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
